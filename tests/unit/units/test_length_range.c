/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading ranges of lengths; the forms are common practice. */
#include <dropwise/length.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#define INCH   INT64_C(25400000)
#define MM(mm) ((int64_t)(mm)*1000000)

static const struct {
    const char *text;
    enum dw_unit bare;
    int64_t lo, hi;
} accepted[] = {
    {"14 to 20 in", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"14 to 20 in", DW_UNIT_MM, 14 * INCH, 20 * INCH},
    {"14 in to 20 in", DW_UNIT_MM, 14 * INCH, 20 * INCH},
    {"14in TO 20in", DW_UNIT_MM, 14 * INCH, 20 * INCH},
    {"14to20in", DW_UNIT_MM, 14 * INCH, 20 * INCH},
    {"14 to 20", DW_UNIT_IN, 14 * INCH, 20 * INCH},
    {"14 in to 20", DW_UNIT_IN, 14 * INCH, 20 * INCH},
    {"14..20 in", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"14 .. 20 in", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"14...20 in", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"14 in..20 in", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"14 in. to 20 in.", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"14\xE2\x80\xA6"
     "20 in",
     DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"350 - 400 mm", DW_UNIT_NONE, MM(350), MM(400)},
    {"350 \xE2\x80\x93 400 mm", DW_UNIT_NONE, MM(350), MM(400)},
    {"350\xC2\xA0-\xC2\xA0"
     "400 mm",
     DW_UNIT_NONE, MM(350), MM(400)},
    {"350 mm - 40 cm", DW_UNIT_NONE, MM(350), MM(400)},
    {"1 to 1,250 m", DW_UNIT_NONE, MM(1000), MM(1250)},
    {"1,5 to 2,5 cm", DW_UNIT_NONE, MM(15), MM(25)},
    {"1/2 to 3/4\"", DW_UNIT_NONE, INCH / 2, INCH * 3 / 4},
    {"13-1/2 - 14-3/4 in", DW_UNIT_NONE, INCH * 27 / 2, INCH * 59 / 4},
    {"1' 2\" to 1' 8\"", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"1'-2\" - 1'-8\"", DW_UNIT_NONE, 14 * INCH, 20 * INCH},
    {"1' 2 to 1' 8", DW_UNIT_IN, 14 * INCH, 20 * INCH},
    {"1 to 2'", DW_UNIT_MM, 12 * INCH, 24 * INCH},
    {"1' to 20\"", DW_UNIT_MM, 12 * INCH, 20 * INCH},
    {"2' - 30\"", DW_UNIT_NONE, 24 * INCH, 30 * INCH}, /* no inches of 2 ft, so a range */
    {"2' - 6\"", DW_UNIT_NONE, 30 * INCH, 30 * INCH},  /* can't be a range, so one length */
    {"2' - 6'", DW_UNIT_NONE, 24 * INCH, 72 * INCH},
    {"20 to 20 mm", DW_UNIT_NONE, MM(20), MM(20)},
    {"0 to 20 mm", DW_UNIT_NONE, 0, MM(20)},
    {"619 mm", DW_UNIT_NONE, MM(619), MM(619)},
};

static void test_accepted(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof accepted / sizeof accepted[0]; i++) {
        struct dw_error error = {0};
        dw_length lo = 77, hi = 77;
        dw_err err = dw_range_parse(accepted[i].text, strlen(accepted[i].text), accepted[i].bare,
                                    &lo, &hi, &error);
        if (err != DW_OK || lo != accepted[i].lo || hi != accepted[i].hi)
            fail_msg("%s: %lld to %lld; %s", accepted[i].text, (long long)lo, (long long)hi,
                     error.text);
    }
}

static const struct {
    const char *text;
    enum dw_unit bare;
    dw_err err;
    int column;
    const char *says;
} refused[] = {
    {"", DW_UNIT_MM, DW_ERR_SYNTAX, 1, "missing"},
    {"to", DW_UNIT_MM, DW_ERR_SYNTAX, 1, "missing"},
    {"..", DW_UNIT_MM, DW_ERR_SYNTAX, 1, "missing"},
    {"14 to", DW_UNIT_IN, DW_ERR_SYNTAX, 6, "missing"},
    {"14 to in", DW_UNIT_IN, DW_ERR_SYNTAX, 7, "a number is missing"},
    {"to 20 in", DW_UNIT_IN, DW_ERR_SYNTAX, 1, "missing"},
    {"14 to 20", DW_UNIT_NONE, DW_ERR_SYNTAX, 1, "the unit is missing"},
    {"14 in to 20", DW_UNIT_NONE, DW_ERR_SYNTAX, 10, "the unit is missing"},
    {"14 in to 20", DW_UNIT_MM, DW_ERR_SYNTAX, 10, "the unit is missing"},
    {"1' 2\" to 20", DW_UNIT_IN, DW_ERR_SYNTAX, 10, "the unit is missing"},
    {"1 to 2' 6\"", DW_UNIT_IN, DW_ERR_SYNTAX, 1, "feet or inches"},
    {"1' - 10", DW_UNIT_FT, DW_ERR_SYNTAX, 6, "the unit is missing"},
    {"20 to 14 in", DW_UNIT_NONE, DW_ERR_RANGE, 7, "below its start"},
    {"6' - 2'", DW_UNIT_NONE, DW_ERR_RANGE, 6, "below its start"},
    {"14 in to 20 mm", DW_UNIT_NONE, DW_ERR_RANGE, 10, "below its start"},
    {"10-20 in", DW_UNIT_NONE, DW_ERR_SYNTAX, 3, "10 to 20 in"},
    {"10 -20 in", DW_UNIT_NONE, DW_ERR_SYNTAX, 4, "10 to 20 in"},
    {"10- 20 in", DW_UNIT_NONE, DW_ERR_SYNTAX, 3, "10 to 20 in"},
    {"24 - 3/8 in", DW_UNIT_NONE, DW_ERR_RANGE, 6, "below its start"},
    {"10 to 20 to 30 in", DW_UNIT_NONE, DW_ERR_SYNTAX, 10, "not a range"},
    {"10 to 20 - 30 in", DW_UNIT_NONE, DW_ERR_SYNTAX, 10, "a range"},
    {"10..20..30 in", DW_UNIT_NONE, DW_ERR_SYNTAX, 7, "not a range"},
    {"-10 to 20 in", DW_UNIT_NONE, DW_ERR_RANGE, 1, "negative"},
    {"10 to -20 in", DW_UNIT_NONE, DW_ERR_RANGE, 7, "negative"},
    {"1,250 to 2,500 mm", DW_UNIT_NONE, DW_ERR_SYNTAX, 2, "thousands or decimals"},
    {"1 to 1/3 in", DW_UNIT_NONE, DW_ERR_RANGE, 6, "not exact"},
    {"10 to 20 x", DW_UNIT_NONE, DW_ERR_SYNTAX, 10, "unknown unit x"},
};

static void test_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        struct dw_error error = {0};
        dw_length lo = 77, hi = 77;
        dw_err err = dw_range_parse(refused[i].text, strlen(refused[i].text), refused[i].bare, &lo,
                                    &hi, &error);
        if (err != refused[i].err || error.line != 0 || error.column != refused[i].column ||
            !strstr(error.text, refused[i].says))
            fail_msg("%s: %s at %d: %s", refused[i].text, dw_err_name(err), error.column,
                     error.text);
        if (err != DW_OK)
            assert_true(lo == 0 && hi == 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_accepted),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
