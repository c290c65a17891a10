/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Errors of a call, and reports. */
#include "base/base.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void test_set(void **state)
{
    (void)state;
    struct dw_error error = {0};
    assert_int_equal(dw_error__set(&error, DW_ERR_LIMIT, "more than %d bars", 5), DW_ERR_LIMIT);
    assert_int_equal(error.code, DW_ERR_LIMIT);
    assert_string_equal(error.text, "more than 5 bars");
    assert_true(error.file[0] == '\0' && error.line == 0 && error.column == 0);
    /* the first one stays, the code of the second is still returned */
    assert_int_equal(dw_error__at(&error, DW_ERR_IO, "f", 1, 2, "other"), DW_ERR_IO);
    assert_int_equal(dw_error__nomem(&error), DW_ERR_NOMEM);
    assert_int_equal(error.code, DW_ERR_LIMIT);
    assert_string_equal(error.text, "more than 5 bars");
    assert_int_equal(dw_error__set(NULL, DW_ERR_IO, "x"), DW_ERR_IO);
    assert_int_equal(dw_error__at(NULL, DW_ERR_IO, "f", 1, 1, "x"), DW_ERR_IO);
    assert_int_equal(dw_error__nomem(NULL), DW_ERR_NOMEM);
}

static void test_at(void **state)
{
    (void)state;
    struct dw_error error = {0};
    (void)dw_error__at(&error, DW_ERR_INPUT, "parts.csv", 4, 12, "no length");
    assert_string_equal(error.file, "parts.csv");
    assert_true(error.line == 4 && error.column == 12);
    struct dw_error nomem = {0};
    assert_int_equal(dw_error__nomem(&nomem), DW_ERR_NOMEM);
    assert_string_equal(nomem.text, dw_err_text(DW_ERR_NOMEM));
}

/* A text that does not fit is cut between two characters. */
static void test_cut(void **state)
{
    (void)state;
    for (size_t shift = 0; shift < 4; shift++) {
        char text[1200] = "abcd";
        size_t n = shift;
        for (; n + 4 < sizeof text; n += 3)
            memcpy(text + n, "\xE2\x80\xB2", 4);
        struct dw_error error = {0};
        (void)dw_error__set(&error, DW_ERR_INPUT, "%s", text);
        size_t length = strlen(error.text);
        assert_true(length < sizeof error.text && length + 4 > sizeof error.text);
        assert_int_equal(dw_utf8__check(error.text, length), length);
        assert_memory_equal(error.text, text, length);
        (void)dw_error__at(&(struct dw_error){0}, DW_ERR_INPUT, text, 1, 1, "x");
    }
}

/* What a message cites can't break its line nor steer a terminal. */
static void test_one_line(void **state)
{
    (void)state;
    struct dw_error error = {0};
    (void)dw_error__at(&error, DW_ERR_INPUT, "a\nb", 1, 1, "`%s` is no unit",
                       "in\r\n\tx\033[2J\x7F\xC2\x9B\xC2\xA0\xC2\xBD");
    assert_string_equal(error.file, "a b");
    assert_string_equal(error.text, "`in   x?[2J???\xC2\xA0\xC2\xBD` is no unit");
}

static void test_names(void **state)
{
    (void)state;
    assert_string_equal(dw_err_name(DW_ERR_IO), "DW_ERR_IO");
    assert_string_equal(dw_err_name(DW_OK), "DW_OK");
    for (int code = DW_OK; code <= DW_ERR_INTERNAL; code++) {
        assert_non_null(strstr(dw_err_name((dw_err)code), code ? "DW_ERR_" : "DW_OK"));
        assert_true(dw_err_text((dw_err)code)[0] != '\0');
        for (int other = DW_OK; other < code; other++)
            assert_string_not_equal(dw_err_text((dw_err)code), dw_err_text((dw_err)other));
    }
    assert_string_equal(dw_err_text((dw_err)(DW_ERR_INTERNAL + 1)), "unknown error");
    assert_non_null(dw_err_name((dw_err)-1));
}

static void test_report(void **state)
{
    (void)state;
    struct dw_report report = {0};
    assert_int_equal(dw_report__add(&report, DW_NOTE, "job.yaml", 1, 1, "unit %s", "in"), DW_OK);
    assert_int_equal(dw_report__add(&report, DW_DOUBT, "job.yaml", 2, 3, "kerf of 0"), DW_OK);
    assert_int_equal(dw_report__add(&report, DW_WRONG, NULL, 0, 0, "no parts"), DW_OK);
    assert_int_equal(report.n_remarks, 3);
    assert_int_equal(report.n_wrong, 1);
    assert_string_equal(report.remarks[0].what.text, "unit in");
    assert_int_equal(report.remarks[1].severity, DW_DOUBT);
    assert_int_equal(report.remarks[1].what.column, 3);
    assert_int_equal(report.remarks[2].what.code, DW_ERR_INPUT);
    dw_report_free(&report);
    assert_true(report.n_remarks == 0 && report.remarks == NULL && report.n_wrong == 0);
    dw_report_free(&report);
}

/* Past the cap remarks are counted, wrong ones as wrong too. */
static void test_report_cap(void **state)
{
    (void)state;
    struct dw_report report = {0};
    for (int i = 0; i < DW_REPORT_MAX + 20; i++)
        assert_int_equal(dw_report__add(&report, i % 2 ? DW_WRONG : DW_NOTE, "f", i, 1, "%d", i),
                         DW_OK);
    assert_int_equal(report.n_remarks, DW_REPORT_MAX);
    assert_int_equal(report.n_dropped, 20);
    assert_int_equal(report.n_wrong, (DW_REPORT_MAX + 20) / 2);
    for (int i = 0; i < DW_REPORT_MAX; i++)
        assert_int_equal(report.remarks[i].what.line, i);
    dw_report_free(&report);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_set),        cmocka_unit_test(test_at),
        cmocka_unit_test(test_cut),        cmocka_unit_test(test_one_line),
        cmocka_unit_test(test_names),      cmocka_unit_test(test_report),
        cmocka_unit_test(test_report_cap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
