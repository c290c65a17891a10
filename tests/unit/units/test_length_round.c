/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Properties over random lengths, styles and texts; the seed is fixed. */
#include <dropwise/length.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define INCH INT64_C(25400000)

/* splitmix64 (Steele, Lea and Flood 2014). */
static uint64_t draw(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ z >> 30) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ z >> 27) * UINT64_C(0x94D049BB133111EB);
    return z ^ z >> 31;
}

static int64_t draw_below(uint64_t *seed, int64_t limit)
{
    return (int64_t)(draw(seed) % (uint64_t)limit);
}

static const int64_t unit_nm[] = {
    [DW_UNIT_MM] = 1000000, [DW_UNIT_CM] = 10000000,  [DW_UNIT_M] = 1000000000,
    [DW_UNIT_IN] = INCH,    [DW_UNIT_FT] = 12 * INCH,
};

/* Lengths that shops write, and some that nobody does. */
static int64_t draw_length(uint64_t *seed)
{
    switch (draw_below(seed, 8)) {
    case 0:
        return draw_below(seed, 64 * 300) * 396875;
    case 1:
        return draw_below(seed, 16 * 1200) * (INCH / 16);
    case 2:
        return draw_below(seed, 300000) * 25400;
    case 3:
        return draw_below(seed, 12001) * 1000000;
    case 4:
        return draw_below(seed, 12001000) * 1000;
    case 5:
        return draw_below(seed, 5000) * 12 * INCH;
    case 6:
        return draw_below(seed, 13 * INCH);
    default:
        return draw_below(seed, DW_LENGTH_MAX) >> draw_below(seed, 50);
    }
}

static struct dw_length_style draw_style(uint64_t *seed)
{
    return (struct dw_length_style){
        .unit = (enum dw_unit)(1 + draw_below(seed, 5)),
        .denominator = draw_below(seed, 2) ? 1 << draw_below(seed, 7) : 0,
        .decimals = (int)draw_below(seed, 10),
        .bare = draw_below(seed, 4) == 0,
        .decimal_mark = "\0.,"[draw_below(seed, 3)],
    };
}

static int64_t power_of_ten(int exponent)
{
    int64_t power = 1;
    while (exponent-- > 0)
        power *= 10;
    return power;
}

/* How many of the smallest steps of the style make a unit, and what that unit is in nanometres. */
static int64_t steps_of(const struct dw_length_style *style, int64_t *unit)
{
    bool inches = style->unit == DW_UNIT_IN || style->unit == DW_UNIT_FT;
    *unit = inches ? INCH : unit_nm[style->unit];
    if (inches && style->denominator > 0)
        return style->denominator;
    int most = style->unit == DW_UNIT_M ? 9 : style->unit == DW_UNIT_CM ? 7 : 6;
    return power_of_ten(style->decimals < most ? style->decimals : most);
}

/* What has no "~" reads back as itself; "~" stands there if and only if the style can't hold it. */
static void test_round_trip(void **state)
{
    (void)state;
    uint64_t seed = 1;
    int n_exact = 0;
    for (int i = 0; i < 200000; i++) {
        int64_t nm = draw_length(&seed);
        struct dw_length_style style = draw_style(&seed);
        char text[DW_LENGTH_TEXT];
        size_t n = dw_length_print(text, nm, &style);
        int64_t unit = 0;
        int64_t steps = steps_of(&style, &unit);
        bool exact = (nm % unit) * steps % unit == 0;
        if (exact == (text[0] == '~'))
            fail_msg("%lld nm printed as %s", (long long)nm, text);
        if (!exact)
            continue;
        n_exact++;
        dw_length back = -1;
        struct dw_error error = {0};
        dw_err err =
            dw_length_parse(text, n, style.bare ? style.unit : DW_UNIT_NONE, &back, &error);
        if (err != DW_OK || back != nm)
            fail_msg("%lld nm printed as %s, read as %lld: %s", (long long)nm, text,
                     (long long)back, error.text);
    }
    assert_true(n_exact > 50000);
}

/* A rounded figure is the nearest one; a half goes away from zero; a negative length mirrors. */
static void test_nearest(void **state)
{
    (void)state;
    uint64_t seed = 2;
    int n_rounded = 0;
    for (int i = 0; i < 100000; i++) {
        int64_t nm = draw_length(&seed);
        struct dw_length_style style = draw_style(&seed);
        if (style.denominator == 0 || style.unit < DW_UNIT_IN)
            style.decimals = (int)draw_below(&seed, 6); /* these all read back exactly */
        char text[DW_LENGTH_TEXT], mirrored[DW_LENGTH_TEXT];
        dw_length_print(text, nm, &style);
        dw_length_print(mirrored, -nm, &style);
        int64_t unit = 0, back = -1;
        int64_t steps = steps_of(&style, &unit);
        const char *figure = text + (text[0] == '~');
        if (dw_length_parse(figure, strlen(figure), style.unit, &back, NULL) != DW_OK)
            continue; /* rounded past the limit of lengths */
        int64_t gap = back - nm;
        if (2 * gap * steps > unit || 2 * -gap * steps >= unit)
            fail_msg("%lld nm printed as %s", (long long)nm, text);
        n_rounded += gap != 0;
        const char *other = mirrored + (mirrored[0] == '~');
        other += *other == '-';
        assert_string_equal(figure, other);
        assert_true(back == 0 || strchr(mirrored, '-') == mirrored + (mirrored[0] == '~'));
    }
    assert_true(n_rounded > 20000);
}

static size_t add(char *text, size_t n, const char *more)
{
    strcpy(text + n, more);
    return n + strlen(more);
}

static const char *pick(uint64_t *seed, const char *const *from, size_t n)
{
    return from[draw_below(seed, (int64_t)n)];
}

#define PICK(seed, list) pick(seed, list, sizeof(list) / sizeof(list)[0])

static const char *const foot_marks[] = {
    "'", " ft", "ft ", " feet", "\xE2\x80\xB2", "\xE2\x80\x99", " ft.", " Foot"};
static const char *const inch_marks[] = {"\"",           "''",           " in",  " inches",
                                         "\xE2\x80\xB3", "\xE2\x80\x9D", " in.", "IN"};
static const char *const joints[] = {"-", " ", "\xC2\xA0", "\xE2\x80\x93"};
static const char *const slashes[] = {"/", "\xE2\x81\x84"};

/* Feet, whole inches and a fraction, written in any of the ways that the trade has. */
static void test_written_forms(void **state)
{
    (void)state;
    uint64_t seed = 3;
    for (int i = 0; i < 50000; i++) {
        int64_t feet = draw_below(&seed, 30);
        int64_t inches = draw_below(&seed, 12);
        int64_t denominator = INT64_C(1) << (1 + draw_below(&seed, 6));
        int64_t numerator = draw_below(&seed, denominator);
        bool has_feet = draw_below(&seed, 2), has_fraction = draw_below(&seed, 3);
        char text[128] = "";
        size_t n = 0;
        if (has_feet) {
            n += (size_t)sprintf(text, "%lld", (long long)feet);
            n = add(text, n, PICK(&seed, foot_marks));
            n = add(text, n, PICK(&seed, joints));
        }
        if (inches > 0 || !has_fraction)
            n += (size_t)sprintf(text + n, "%lld", (long long)inches);
        if (has_fraction) {
            n = inches > 0 ? add(text, n, PICK(&seed, joints)) : n;
            n += (size_t)sprintf(text + n, "%lld%s%lld", (long long)numerator, PICK(&seed, slashes),
                                 (long long)denominator);
        }
        n = add(text, n, PICK(&seed, inch_marks));
        int64_t nm = (has_feet ? feet * 12 * INCH : 0) + inches * INCH +
                     (has_fraction ? INCH / 64 * (64 / denominator) * numerator : 0);
        dw_length back = -1;
        struct dw_error error = {0};
        dw_err err = dw_length_parse(text, n, DW_UNIT_NONE, &back, &error);
        if (strstr(text, "ft -") || strstr(text, "ft \xE2\x80\x93"))
            assert_int_equal(err, DW_ERR_SYNTAX); /* a blank on one side of the dash */
        else if (err != DW_OK || back != nm)
            fail_msg("%s: %lld, not %lld: %s", text, (long long)back, (long long)nm, error.text);
    }
}

static const char *const pieces[] = {
    "0",
    "1",
    "2",
    "12",
    "250",
    "3/8",
    "1/3",
    ".",
    ",",
    "/",
    "-",
    " - ",
    " ",
    "'",
    "\"",
    "''",
    "in",
    " ft",
    "mm",
    "m",
    "cm",
    " to ",
    "..",
    "\xC2\xBD",
    "x",
    "00",
    "7",
    "\xC2\xA0",
    "\xE2\x80\xB2",
    "\xE2\x88\x92",
    "\xFF",
    "\xE2\x85",
};

/* Texts out of pieces of lengths: never a fault, never a length from a refusal, and a length that
 * is read is also read as a range, and prints and reads back. */
static void test_jumbled(void **state)
{
    (void)state;
    uint64_t seed = 4;
    int n_read = 0;
    for (int i = 0; i < 300000; i++) {
        char text[256] = "";
        size_t n = 0;
        for (int64_t left = 1 + draw_below(&seed, 7); left > 0; left--)
            n = add(text, n, PICK(&seed, pieces));
        enum dw_unit bare = (enum dw_unit)draw_below(&seed, 6);
        struct dw_error error = {0}, range_error = {0};
        dw_length nm = -1, lo = -1, hi = -1;
        dw_err err = dw_length_parse(text, n, bare, &nm, &error);
        dw_err range_err = dw_range_parse(text, n, bare, &lo, &hi, &range_error);
        assert_true(lo <= hi && (range_err == DW_OK || hi == 0));
        assert_int_equal(range_error.code, range_err);
        if (err != DW_OK) {
            assert_true(nm == 0 && error.code == err && error.text[0] != '\0');
            assert_true(error.column >= 1 && (size_t)error.column <= n + 1);
            continue;
        }
        n_read++;
        if (range_err != DW_OK || lo != nm || hi != nm)
            fail_msg("%s: another length as a range", text);
        struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 6};
        char printed[DW_LENGTH_TEXT];
        dw_length back = -1;
        size_t n_printed = dw_length_print(printed, nm, &style);
        assert_int_equal(dw_length_parse(printed, n_printed, DW_UNIT_NONE, &back, NULL), DW_OK);
        assert_int_equal(back, nm);
    }
    assert_true(n_read > 10000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_round_trip),
        cmocka_unit_test(test_nearest),
        cmocka_unit_test(test_written_forms),
        cmocka_unit_test(test_jumbled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
