/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading lengths and ranges. 1 in = 25.4 mm exactly (international inch, 1959; NIST SP 811,
 * appendix B), 1 ft = 12 in. The forms are common practice of the trade unless a source is named.
 */
#include <dropwise/length.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define INCH       INT64_C(25400000)
#define IN64(n)    ((int64_t)(n)*396875) /* n / 64 in */
#define MICRON(um) ((int64_t)(um)*1000)
#define MM(mm)     ((int64_t)(mm)*1000000)

struct accepted {
    const char *text;
    enum dw_unit bare;
    int64_t nm;
};

static const struct accepted accepted[] = {
    /* fractions of an inch */
    {"24 3/8\"", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24-3/8 in", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24 3/8", DW_UNIT_IN, IN64(24 * 64 + 24)},
    {"5/8\"", DW_UNIT_NONE, IN64(40)},
    {"10/16\"", DW_UNIT_NONE, IN64(40)},
    {"9/8\"", DW_UNIT_NONE, IN64(72)},
    {"0/8\"", DW_UNIT_NONE, 0},
    {"24 0/8\"", DW_UNIT_NONE, 24 * INCH},
    {"1/64 in", DW_UNIT_NONE, 396875},
    {"3/10 in", DW_UNIT_NONE, 7620000},
    {"1/127 in", DW_UNIT_NONE, 200000},
    {"1/2 ft", DW_UNIT_NONE, 6 * INCH},
    {"2 1/2 ft", DW_UNIT_NONE, 30 * INCH},
    {"1/2 m", DW_UNIT_NONE, MM(500)},
    {"1 1/4 cm", DW_UNIT_NONE, MICRON(12500)},
    /* feet and inches */
    {"2' 6-1/2\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2' 6 1/2\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2'6-1/2\"", DW_UNIT_MM, IN64(30 * 64 + 32)},
    {"2'-6 1/2\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2'-11 5/8\"", DW_UNIT_NONE, IN64(35 * 64 + 40)},
    {"2' - 6 1/2\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2'- 6 1/2\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2 ft 6 in", DW_UNIT_NONE, 30 * INCH},
    {"2ft6in", DW_UNIT_NONE, 30 * INCH},
    {"2 ft. 6 in.", DW_UNIT_NONE, 30 * INCH},
    {"2 feet 6 inches", DW_UNIT_NONE, 30 * INCH},
    {"1 foot 1 inch", DW_UNIT_NONE, 13 * INCH},
    {"2' 6", DW_UNIT_IN, 30 * INCH},
    {"2' 6", DW_UNIT_FT, 30 * INCH},
    {"2'6 1/2", DW_UNIT_IN, IN64(30 * 64 + 32)},
    {"2' 6.5\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2' 6,5\"", DW_UNIT_NONE, IN64(30 * 64 + 32)},
    {"2' 0\"", DW_UNIT_NONE, 24 * INCH},
    {"2'-0\"", DW_UNIT_NONE, 24 * INCH},
    {"0' 6\"", DW_UNIT_NONE, 6 * INCH},
    {"8'", DW_UNIT_NONE, 96 * INCH},
    {"8", DW_UNIT_FT, 96 * INCH},
    {"8.5'", DW_UNIT_NONE, 102 * INCH},
    /* read as 100.625 in by a spreadsheet user; it is 8 ft and 5/8 in, 96.625 in */
    {"8'-5/8\"", DW_UNIT_NONE, IN64(96 * 64 + 40)},
    {"8'-4 5/8\"", DW_UNIT_NONE, IN64(100 * 64 + 40)},
    {"8' 5/8\"", DW_UNIT_NONE, IN64(96 * 64 + 40)},
    {"8' - 5/8\"", DW_UNIT_NONE, IN64(96 * 64 + 40)},
    /* decimals */
    {"24.375 in", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24,375 in", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24.375", DW_UNIT_IN, IN64(24 * 64 + 24)},
    {".065\"", DW_UNIT_NONE, MICRON(1651)},
    {"0.00001 in", DW_UNIT_NONE, 254},
    {"619 mm", DW_UNIT_NONE, MM(619)},
    {"619mm", DW_UNIT_NONE, MM(619)},
    {"619", DW_UNIT_MM, MM(619)},
    {"619,5 mm", DW_UNIT_NONE, MICRON(619500)},
    {"1.2 m", DW_UNIT_NONE, MM(1200)},
    {"1,5 cm", DW_UNIT_NONE, MM(15)},
    {"1.250 mm", DW_UNIT_NONE, MICRON(1250)},
    {"1,2500 mm", DW_UNIT_NONE, MICRON(1250)},
    {"0,250 mm", DW_UNIT_NONE, MICRON(250)},
    {"1250,375 mm", DW_UNIT_NONE, MICRON(1250375)},
    {"1,250 m", DW_UNIT_NONE, MM(1250)},
    {"0.000001 mm", DW_UNIT_NONE, 1},
    {"0.000000001 m", DW_UNIT_NONE, 1},
    {"5.0000000000000000 mm", DW_UNIT_NONE, MM(5)},
    {"0 mm", DW_UNIT_NONE, 0},
    {"0", DW_UNIT_MM, 0},
    {"007 mm", DW_UNIT_NONE, MM(7)},
    /* thousands that can't be anything else */
    {"1,250.5 mm", DW_UNIT_NONE, MICRON(1250500)},
    {"1.250,5 mm", DW_UNIT_NONE, MICRON(1250500)},
    {"1,250,000 mm", DW_UNIT_NONE, MM(1250000)},
    {"1.250.000 mm", DW_UNIT_NONE, MM(1250000)},
    {"1,250,000.25 mm", DW_UNIT_NONE, MICRON(1250000250)},
    {"1\xC2\xA0"
     "250 mm",
     DW_UNIT_NONE, MM(1250)}, /* no-break space */
    {"1\xE2\x80\xAF"
     "250,5 mm",
     DW_UNIT_NONE, MICRON(1250500)}, /* narrow no-break space */
    {"12\xE2\x80\x89"
     "192 mm",
     DW_UNIT_NONE, MM(12192)}, /* thin space */
    /* the published traps: 24-3/4 in = 628.65 mm, 1-3/8 in = 34.925 mm (woodworkingnetwork.com,
     * onlinemetals.com/metrics.cfm) */
    {"24-3/4 in", DW_UNIT_NONE, MICRON(628650)},
    {"628.65 mm", DW_UNIT_NONE, IN64(24 * 64 + 48)},
    {"1-3/8 in", DW_UNIT_NONE, MICRON(34925)},
    {"34.925 mm", DW_UNIT_NONE, IN64(88)},
    {"6 m", DW_UNIT_NONE, MM(6000)},
    {"20 ft", DW_UNIT_NONE, MM(6096)},
    {"3 cm", DW_UNIT_NONE, MM(30)},
    /* characters that word processors and phones put in */
    {"\xC2\xBD\"", DW_UNIT_NONE, IN64(32)},
    {"24\xE2\x85\x9C\"", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24 \xE2\x85\x9C\"", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24-\xE2\x85\x9C\"", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"\xE2\x85\x95 m", DW_UNIT_NONE, MM(200)},
    {"\xE2\x85\x92 m", DW_UNIT_NONE, MM(100)},
    {"2\xE2\x80\xB2 6\xC2\xBD\xE2\x80\xB3", DW_UNIT_NONE, IN64(30 * 64 + 32)}, /* primes */
    {"2\xE2\x80\x99 6\xC2\xBD\xE2\x80\x9D", DW_UNIT_NONE, IN64(30 * 64 + 32)}, /* quotes */
    {"2\xE2\x80\x98 6\xE2\x80\x9C", DW_UNIT_NONE, 30 * INCH},
    {"2\xC2\xB4 6\xC2\xB4\xC2\xB4", DW_UNIT_NONE, 30 * INCH}, /* acute accents */
    {"24''", DW_UNIT_NONE, 24 * INCH},
    {"2' 6''", DW_UNIT_NONE, 30 * INCH},
    {"24\xE2\x80\xB2\xE2\x80\xB2", DW_UNIT_NONE, 24 * INCH},
    {"1\xE2\x81\x84"
     "2 in",
     DW_UNIT_NONE, IN64(32)}, /* fraction slash */
    {"24\xC2\xA0"
     "3/8 in",
     DW_UNIT_NONE, IN64(24 * 64 + 24)},
    {"24\xC2\xA0"
     "125/128 m",
     DW_UNIT_NONE, INT64_C(24976562500)},
    {"24\xE2\x80\x93"
     "3/8 in",
     DW_UNIT_NONE, IN64(24 * 64 + 24)}, /* en dash */
    {"24\xE2\x80\x91"
     "3/8 in",
     DW_UNIT_NONE, IN64(24 * 64 + 24)}, /* no-break hyphen */
    {"\t 619\xE2\x80\xAFmm \xC2\xA0", DW_UNIT_NONE, MM(619)},
    {"24 3/8 \"", DW_UNIT_NONE, IN64(24 * 64 + 24)},
    /* unit words */
    {"5 MM", DW_UNIT_NONE, MM(5)},
    {"5 In", DW_UNIT_NONE, 5 * INCH},
    {"5 ins", DW_UNIT_NONE, 5 * INCH},
    {"1 inch", DW_UNIT_NONE, INCH},
    {"5 inches", DW_UNIT_NONE, 5 * INCH},
    {"5 foot", DW_UNIT_NONE, 60 * INCH},
    {"5 millimetres", DW_UNIT_NONE, MM(5)},
    {"5 millimeter", DW_UNIT_NONE, MM(5)},
    {"5 centimetres", DW_UNIT_NONE, MM(50)},
    {"5 centimeters", DW_UNIT_NONE, MM(50)},
    {"1 metre", DW_UNIT_NONE, MM(1000)},
    {"5 meters", DW_UNIT_NONE, MM(5000)},
    /* the limit, 1 000 km */
    {"1000000 m", DW_UNIT_NONE, DW_LENGTH_MAX},
    {"1000000000 mm", DW_UNIT_NONE, DW_LENGTH_MAX},
};

static void test_accepted(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof accepted / sizeof accepted[0]; i++) {
        const struct accepted *row = &accepted[i];
        struct dw_error error = {0};
        dw_length nm = 77, lo = 77, hi = 77;
        dw_err err = dw_length_parse(row->text, strlen(row->text), row->bare, &nm, &error);
        if (err != DW_OK || nm != row->nm)
            fail_msg("%s: %lld nm, not %lld; %s", row->text, (long long)nm, (long long)row->nm,
                     error.text);
        assert_int_equal(error.code, DW_OK);
        err = dw_range_parse(row->text, strlen(row->text), row->bare, &lo, &hi, NULL);
        if (err != DW_OK || lo != nm || hi != nm)
            fail_msg("%s: another length as a range", row->text);
    }
}

struct refused {
    const char *text;
    size_t n; /* 0: strlen(text) */
    enum dw_unit bare;
    dw_err err;
    int column;
    const char *says;
};

#define S DW_ERR_SYNTAX
#define R DW_ERR_RANGE

static const struct refused refused[] = {
    {"", 0, DW_UNIT_MM, S, 1, "missing"},
    {"   ", 0, DW_UNIT_MM, S, 1, "missing"},
    {"in", 0, DW_UNIT_MM, S, 1, "a number is missing"},
    {"\"", 0, DW_UNIT_MM, S, 1, "a number is missing"},
    {"24", 0, DW_UNIT_NONE, S, 1, "the unit is missing"},
    {"24 3/8", 0, DW_UNIT_NONE, S, 1, "the unit is missing"},
    /* two readings */
    {"1,250 mm", 0, DW_UNIT_NONE, S, 2, "thousands or decimals"},
    {"1,250", 0, DW_UNIT_MM, S, 2, "thousands or decimals"},
    {"619,125 mm", 0, DW_UNIT_NONE, S, 4, "thousands or decimals? write 619125 or 619.1250"},
    {"1,250 cm", 0, DW_UNIT_NONE, S, 2, "thousands or decimals"},
    {"1,250 ft", 0, DW_UNIT_NONE, S, 2, "thousands or decimals"},
    {"2 600 mm", 0, DW_UNIT_NONE, S, 3, "two numbers"},
    {"2 6 1/2", 0, DW_UNIT_IN, S, 3, "2' 6-1/2\""},
    {"2-6-1/2\"", 0, DW_UNIT_NONE, S, 2, "a range, feet and inches"},
    {"10-20", 0, DW_UNIT_IN, S, 3, "a range, feet and inches"},
    {"10-20 in", 0, DW_UNIT_NONE, S, 3, "10 to 20 in"},
    {"10 -20 in", 0, DW_UNIT_NONE, S, 4, "a range, feet and inches"},
    {"2' 6", 0, DW_UNIT_MM, S, 4, "the inch mark is missing"},
    {"2' 6", 0, DW_UNIT_NONE, S, 4, "the inch mark is missing"},
    {"24 - 3/8\" ", 0, DW_UNIT_NONE, S, 4, "a range, feet and inches"},
    {"2' - 6", 0, DW_UNIT_IN, S, 6, "end of a range"},
    {"2' -6\"", 0, DW_UNIT_NONE, S, 4, "a blank on one side"},
    /* more than one length, or none that is whole */
    {"14 to 20 in", 0, DW_UNIT_NONE, S, 4, "not a range"},
    {"14 in to 20 in", 0, DW_UNIT_NONE, S, 7, "not a range"},
    {"14..20 in", 0, DW_UNIT_NONE, S, 3, "not a range"},
    {"14\xE2\x80\xA6"
     "20 in",
     0, DW_UNIT_NONE, S, 3, "not a range"},
    {"2'6'", 0, DW_UNIT_NONE, S, 3, "inches are expected"},
    {"6\" 2'", 0, DW_UNIT_NONE, S, 4, "feet come first"},
    {"2' 3\" 4\"", 0, DW_UNIT_NONE, S, 7, "a second number"},
    {"2' 30 cm", 0, DW_UNIT_NONE, S, 4, "inches are expected"},
    {"2.5' 6\"", 0, DW_UNIT_NONE, S, 1, "a whole number"},
    {"2 1/2' 6\"", 0, DW_UNIT_NONE, S, 1, "a whole number"},
    {"2' 12\"", 0, DW_UNIT_NONE, S, 4, "less than 12"},
    {"2' 12.5\"", 0, DW_UNIT_NONE, S, 4, "less than 12"},
    {"2' 97/8\"", 0, DW_UNIT_NONE, S, 4, "less than 12"},
    {"5 mm cm", 0, DW_UNIT_NONE, S, 6, "a second unit"},
    {"5 mm \"", 0, DW_UNIT_NONE, S, 6, "a second unit"},
    {"5'''", 0, DW_UNIT_NONE, S, 4, "a second unit"},
    {"5 mm 3 mm", 0, DW_UNIT_NONE, S, 6, "a second number"},
    {"1'250 mm", 0, DW_UNIT_NONE, S, 3, "inches are expected"},
    /* fractions */
    {"1/2/3", 0, DW_UNIT_IN, S, 4, "a second slash"},
    {"24 1/2/3", 0, DW_UNIT_IN, S, 7, "a second slash"},
    {"2 10/8\"", 0, DW_UNIT_NONE, S, 3, "less than 1"},
    {"2 8/8\"", 0, DW_UNIT_NONE, S, 3, "less than 1"},
    {"2-8/8\"", 0, DW_UNIT_NONE, S, 3, "less than 1"},
    {"3/0 in", 0, DW_UNIT_NONE, S, 3, "divided by 0"},
    {"1 3/00 in", 0, DW_UNIT_NONE, S, 5, "divided by 0"},
    {"5/\"", 0, DW_UNIT_NONE, S, 2, "must follow the slash"},
    {"5/ 8\"", 0, DW_UNIT_NONE, S, 2, "must follow the slash"},
    {"5 /8\"", 0, DW_UNIT_NONE, S, 3, "without blanks"},
    {"/8\"", 0, DW_UNIT_NONE, S, 1, "a number is missing"},
    {"24.5 3/8\"", 0, DW_UNIT_NONE, S, 6, "decimals and a fraction"},
    {"1,250 3/8 mm", 0, DW_UNIT_NONE, S, 7, "decimals and a fraction"},
    {"24 3/8 1/2", 0, DW_UNIT_IN, S, 8, "two numbers"},
    {"\xC2\xBD\xC2\xBD", 0, DW_UNIT_IN, S, 2, "two numbers"},
    {"\xC2\xBD/2", 0, DW_UNIT_IN, S, 2, "a fraction reads"},
    /* decimal marks */
    {"24.", 0, DW_UNIT_IN, S, 3, "digits are missing"},
    {"24, in", 0, DW_UNIT_NONE, S, 3, "digits are missing"},
    {".", 0, DW_UNIT_IN, S, 1, "digits are missing"},
    {",5", 0, DW_UNIT_MM, S, 1, "write 0,5"},
    {".5.5", 0, DW_UNIT_MM, S, 3, "a second decimal mark"},
    {"1.2.3", 0, DW_UNIT_MM, S, 4, "don't add up"},
    {"1.250.5", 0, DW_UNIT_MM, S, 6, "don't add up"},
    {"1,25,000", 0, DW_UNIT_MM, S, 5, "don't add up"},
    {"0,250,000", 0, DW_UNIT_MM, S, 6, "don't add up"},
    {"1250,250,000", 0, DW_UNIT_MM, S, 9, "don't add up"},
    {"1,250.250,5", 0, DW_UNIT_MM, S, 10, "don't add up"},
    /* not exact: 1/128 in = 198 437.5 nm */
    {"1/3 in", 0, DW_UNIT_NONE, R, 1, "not exact"},
    {"1/128 in", 0, DW_UNIT_NONE, R, 1, "not exact"},
    {"2' 6 1/3\"", 0, DW_UNIT_NONE, R, 4, "not exact"},
    {"\xE2\x85\x93 m", 0, DW_UNIT_NONE, R, 1, "at most 9 decimals of m"},
    {"0.0000001 mm", 0, DW_UNIT_NONE, R, 1, "at most 6 decimals of mm"},
    {"0.00000001 cm", 0, DW_UNIT_NONE, R, 1, "at most 7 decimals of cm"},
    {"0.000001 in", 0, DW_UNIT_NONE, R, 1, "at most 5 decimals of in"},
    {"0.0000001 ft", 0, DW_UNIT_NONE, R, 1, "at most 5 decimals of ft"},
    {"0.0000000000000000000000001 mm", 0, DW_UNIT_NONE, R, 3, "too many digits"},
    /* out of range */
    {"-5 mm", 0, DW_UNIT_NONE, R, 1, "negative"},
    {"\xE2\x88\x92"
     "5 mm",
     0, DW_UNIT_NONE, R, 1, "negative"},
    {" -1/2\"", 0, DW_UNIT_NONE, R, 2, "negative"},
    {"5 \xE2\x88\x92 3 mm", 0, DW_UNIT_NONE, S, 3, "minus"},
    {"1000000.000000001 m", 0, DW_UNIT_NONE, R, 1, "limit"},
    {"3280839' 11\"", 0, DW_UNIT_NONE, R, 1, "limit"},
    {"1000001 m", 0, DW_UNIT_NONE, R, 1, "limit"},
    {"9223372036854775807 m", 0, DW_UNIT_NONE, R, 1, "limit"},
    {"9223372036854775807/1 m", 0, DW_UNIT_NONE, R, 1, "limit"},
    {"9223372036854775808 mm", 0, DW_UNIT_NONE, R, 1, "too many digits"},
    {"99999999999999999999999 mm", 0, DW_UNIT_NONE, R, 1, "too many digits"},
    {"1,000,000,000,000,000,000,000 mm", 0, DW_UNIT_NONE, R, 1, "too many digits"},
    /* not a length at all */
    {"five in", 0, DW_UNIT_NONE, S, 1, "a number is missing"},
    {"5 yards", 0, DW_UNIT_NONE, S, 3, "unknown unit yards"},
    {"5 km", 0, DW_UNIT_NONE, S, 3, "unknown unit km"},
    {"1e3 mm", 0, DW_UNIT_NONE, S, 2, "unknown unit e"},
    {"0x10 mm", 0, DW_UNIT_NONE, S, 2, "unknown unit x"},
    {"inf", 0, DW_UNIT_MM, S, 1, "a number is missing"},
    {"+5 mm", 0, DW_UNIT_NONE, S, 1, "unexpected +"},
    {"~5 mm", 0, DW_UNIT_NONE, S, 1, "rounded"},
    {"5 mm;", 0, DW_UNIT_NONE, S, 5, "unexpected ;"},
    {"$5", 0, DW_UNIT_MM, S, 1, "currency"},
    {"5\nmm", 0, DW_UNIT_NONE, S, 2, "U+000A"},
    {"5\xE2\x80\x8B mm", 0, DW_UNIT_NONE, S, 2, "U+200B"},
    {"\xD9\xA5 mm", 0, DW_UNIT_NONE, S, 1, "U+0665"},
    {"2\xE2\x80\xB2 6\xC2\xBD\xE2\x80\xB3 x", 0, DW_UNIT_NONE, S, 8, "a second unit"},
    {"5\0 mm", 5, DW_UNIT_NONE, S, 2, "U+0000"},
    {"5 mm\0", 5, DW_UNIT_NONE, S, 5, "U+0000"},
    {"5 \xFF mm", 0, DW_UNIT_NONE, S, 3, "not UTF-8"},
    {"5 \xC0\xA0mm", 0, DW_UNIT_NONE, S, 3, "not UTF-8"},
    {"5 \xE2\x80", 0, DW_UNIT_NONE, S, 3, "not UTF-8"},
    {"\xED\xA0\x80", 0, DW_UNIT_NONE, S, 1, "not UTF-8"},
};

#undef S
#undef R

static size_t count_characters(const char *text, size_t n)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        count += (text[i] & 0xC0) != 0x80;
    return count;
}

static void check_refusal(const struct refused *row, const char *what, dw_err err,
                          const struct dw_error *error)
{
    size_t n = row->n ? row->n : strlen(row->text);
    if (err != row->err || error->code != err || error->column != row->column ||
        !strstr(error->text, row->says))
        fail_msg("%s %s: %s at %d: %s", what, row->text, dw_err_name(err), error->column,
                 error->text);
    assert_true((size_t)error->column <= count_characters(row->text, n) + 1);
    assert_null(strchr(error->text, '\n'));
}

static void test_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        const struct refused *row = &refused[i];
        size_t n = row->n ? row->n : strlen(row->text);
        struct dw_error error = {0};
        dw_length nm = 77;
        dw_err err = dw_length_parse(row->text, n, row->bare, &nm, &error);
        check_refusal(row, "length", err, &error);
        assert_int_equal(nm, 0);
        assert_int_equal(dw_length_parse(row->text, n, row->bare, &nm, NULL), err);
    }
}

/* The first error stays. */
static void test_first_error_wins(void **state)
{
    (void)state;
    struct dw_error error = {.code = DW_ERR_IO, .text = "before"};
    dw_length nm = 0;
    assert_int_equal(dw_length_parse("x", 1, DW_UNIT_MM, &nm, &error), DW_ERR_SYNTAX);
    assert_int_equal(error.code, DW_ERR_IO);
    assert_string_equal(error.text, "before");
}

/* Bytes behind n are not read: the text ends with the page of its allocation under the sanitizer.
 */
static void test_not_terminated(void **state)
{
    (void)state;
    const char text[] = {'2', '\'', ' ', '6', '"'};
    dw_length nm = 0;
    assert_int_equal(dw_length_parse(text, sizeof text, DW_UNIT_NONE, &nm, NULL), DW_OK);
    assert_int_equal(nm, 30 * INCH);
    assert_int_equal(dw_length_parse("619 mm", 3, DW_UNIT_CM, &nm, NULL), DW_OK);
    assert_int_equal(nm, MM(6190));
    assert_int_equal(dw_length_parse(NULL, 0, DW_UNIT_CM, &nm, NULL), DW_ERR_SYNTAX);
}

static void test_long_texts(void **state)
{
    (void)state;
    static const char fill[] = " 1.,/-'\"m";
    static char text[100000];
    for (size_t f = 0; f < sizeof fill - 1; f++)
        for (size_t n = 1; n <= sizeof text; n = n * 3 / 2 + 1) {
            struct dw_error error = {0};
            dw_length nm = 77, hi = 77;
            memset(text, fill[f], n);
            if (dw_length_parse(text, n, DW_UNIT_MM, &nm, &error) != DW_OK)
                assert_true(nm == 0 && error.text[0] != '\0');
            (void)dw_range_parse(text, n, DW_UNIT_MM, &nm, &hi, NULL);
        }
    for (size_t i = 0; i < 200; i++)
        text[i] = i % 2 ? '/' : '1';
    dw_length nm = 0;
    assert_int_equal(dw_length_parse(text, 200, DW_UNIT_MM, &nm, NULL), DW_ERR_SYNTAX);
}

static void test_units(void **state)
{
    (void)state;
    static const struct {
        enum dw_unit unit;
        const char *name;
    } names[] = {
        {DW_UNIT_NONE, ""}, {DW_UNIT_MM, "mm"}, {DW_UNIT_CM, "cm"},
        {DW_UNIT_M, "m"},   {DW_UNIT_IN, "in"}, {DW_UNIT_FT, "ft"},
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        assert_string_equal(dw_unit_name(names[i].unit), names[i].name);
        assert_int_equal(dw_unit_find(names[i].name, strlen(names[i].name)), names[i].unit);
    }
    assert_string_equal(dw_unit_name((enum dw_unit)99), "");
    assert_int_equal(dw_unit_find("Inches", 6), DW_UNIT_IN);
    assert_int_equal(dw_unit_find("inches", 2), DW_UNIT_IN);
    assert_int_equal(dw_unit_find("inche", 5), DW_UNIT_NONE);
    assert_int_equal(dw_unit_find("inchess", 7), DW_UNIT_NONE);
    assert_int_equal(dw_unit_find("mm\0x", 4), DW_UNIT_NONE);
    assert_int_equal(dw_unit_find("\"", 1), DW_UNIT_NONE);
    assert_int_equal(dw_unit_find("yard", 4), DW_UNIT_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_accepted),         cmocka_unit_test(test_refused),
        cmocka_unit_test(test_first_error_wins), cmocka_unit_test(test_not_terminated),
        cmocka_unit_test(test_long_texts),       cmocka_unit_test(test_units),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
