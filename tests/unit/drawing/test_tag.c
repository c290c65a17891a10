/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tags of a DXF text, their places, and numbers to the nanometre. All values worked by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "drawing/tag.h"

#include <string.h>

static struct dw_tag tag_of(const char *text)
{
    return (struct dw_tag){.text = text, .n = strlen(text)};
}

static void test_lengths(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t unit;
        int64_t nm;
    } good[] = {
        {"0", 1000000, 0},
        {"-0.0", 1000000, 0},
        {"1200", 1000000, 1200000000},
        {"+1200.", 1000000, 1200000000},
        {".5", 1000000, 500000},
        {"-23.625", 25400000, -600075000},
        {"999.9999999999999", 1000000, 1000000000}, /* a double that is a hair short */
        {"0.0000005", 1000000, 1},                  /* half a nanometre, away from zero */
        {"-0.0000005", 1000000, -1},
        {"0.00000049999", 1000000, 0},
        {"1.5e3", 1000000, 1500000000},
        {"1500E-3", 1000000, 1500000},
        {"2D0", 1000000, 2000000},
        {"1e-300", 1000000, 0},
        {"0e300", 1000000, 0},
        {"0.333333333333333333333333333333333333333", 304800000, 101600000},
        {"1000000000", 1000000, 1000000000000000}, /* 1 000 km: the most */
        {"1000000.0000000000000000000000000", 1000000, 1000000000000},
    };
    static const char *const bad[] = {
        "",    "-",   ".",     "nan", "inf",          "1e",      "1e5x", "0x10",
        "1,5", "1 2", "1.2.3", "--1", "1000000000.1", "1e99999", "1e300"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        struct dw_tag tag = tag_of(good[i].text);
        int64_t nm = -7;
        assert_true(dw_tag__length(&tag, good[i].unit, DW_LENGTH_MAX, &nm));
        assert_int_equal(nm, good[i].nm);
    }
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct dw_tag tag = tag_of(bad[i]);
        int64_t nm = 0;
        if (dw_tag__length(&tag, 1000000, DW_LENGTH_MAX, &nm))
            fail_msg("`%s` was taken", bad[i]);
    }
}

static void test_reals(void **state)
{
    (void)state;
    long double value = 0;
    struct dw_tag tag = tag_of("-0.4142135623730951");
    assert_true(dw_tag__real(&tag, &value));
    assert_true(value > -0.41421356237309511L && value < -0.41421356237309509L);
    tag = tag_of("2.5e2");
    assert_true(dw_tag__real(&tag, &value) && value == 250);
    tag = tag_of("1e500");
    assert_false(dw_tag__real(&tag, &value));
    tag = tag_of("1e-5000");
    assert_true(dw_tag__real(&tag, &value) && value < 1e-700L);
}

static void test_tags(void **state)
{
    (void)state;
    static const char text[] = "  0\r\nLINE\r\n 10\r\n  1.5 \r\n5\n";
    struct dw_tags tags = dw_tags__start(text, sizeof text - 1, "a.dxf");
    struct dw_tag tag = {0};
    struct dw_error error = {0};
    assert_int_equal(dw_tags__next(&tags, &tag, &error), DW_OK);
    assert_true(dw_tag__is(&tag, 0, "LINE"));
    assert_int_equal(tag.line, 2);
    assert_false(dw_tag__is(&tag, 0, "LIN"));
    assert_false(dw_tag__is(&tag, 1, "LINE"));
    struct dw_tags again = tags;
    assert_int_equal(dw_tags__next(&tags, &tag, &error), DW_OK);
    assert_int_equal(tag.code, 10);
    assert_true(dw_tag__is(&tag, 10, "1.5"));
    assert_int_equal(dw_tags__next(&again, &tag, &error), DW_OK); /* a copy reads the same */
    assert_true(dw_tag__is(&tag, 10, "1.5"));
    assert_int_equal(dw_tags__next(&tags, &tag, &error), DW_ERR_SYNTAX); /* a code alone */
    assert_int_equal(error.line, 5);
    assert_string_equal(error.file, "a.dxf");
}

static void test_codes(void **state)
{
    (void)state;
    static const char *const bad[] = {"x\nLINE\n", "1072\na\n", "-6\na\n", "\na\n", "1.0\na\n"};
    struct dw_tag tag = {0};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct dw_tags tags = dw_tags__start(bad[i], strlen(bad[i]), NULL);
        assert_int_equal(dw_tags__next(&tags, &tag, NULL), DW_ERR_SYNTAX);
    }
    struct dw_tags tags = dw_tags__start("1071\na\n", 7, NULL);
    assert_int_equal(dw_tags__next(&tags, &tag, NULL), DW_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lengths),
        cmocka_unit_test(test_reals),
        cmocka_unit_test(test_tags),
        cmocka_unit_test(test_codes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
