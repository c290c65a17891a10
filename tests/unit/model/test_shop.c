/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Series of numbers, worked by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/shop.h>

static void test_faults(void **state)
{
    (void)state;
    static const char *const good[] = {"{number}", "Q-{year}-{number:3}", "{number:9}/{year}",
                                       "{year}{month}-{number}", "A{number}Z"};
    static const char *const bad[] = {"",
                                      "Q-2027",
                                      "{number}{number}",
                                      "{numbr}",
                                      "{year",
                                      "{number",
                                      "Q-{month}-{number}",
                                      "{number:0}",
                                      "{day}1",
                                      "{number:12}",
                                      "{}",
                                      "{number} and so on, far too long a text"};
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        assert_null(dw_series_fault(good[i]));
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (!dw_series_fault(bad[i]))
            fail_msg("\"%s\" is taken for a series", bad[i]);
}

static void test_numbers(void **state)
{
    (void)state;
    static const struct {
        const char *series;
        int64_t n;
        const char *number;
    } rows[] = {
        {"Q-{year}-{number:3}", 1, "Q-2027-001"},
        {"Q-{year}-{number:3}", 1000, "Q-2027-1000"},
        {"{year}{month}/{number}", 7, "202704/7"},
        {"{number:4}-{year}", 12, "0012-2027"},
        {"{number}", 5, "5"},
        {"Q-{year}-{number:3}", 0, "Q-2027-"},
    };
    char number[DW_SERIES_TEXT];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        dw_series_number(rows[i].series, "2027-04-05", rows[i].n, number);
        assert_string_equal(number, rows[i].number);
        assert_int_equal(dw_series_place(rows[i].series, "2027-04-05", number), rows[i].n);
    }
}

/* Numbers of another period or another series are none of this one. */
static void test_places(void **state)
{
    (void)state;
    const char *series = "Q-{year}-{number:3}";
    assert_int_equal(dw_series_place(series, "2027-04-05", "Q-2027-0012"), 0);
    assert_int_equal(dw_series_place(series, "2027-04-05", "Q-2026-012"), 0);
    assert_int_equal(dw_series_place(series, "2027-04-05", "P-2027-012"), 0);
    assert_int_equal(dw_series_place(series, "2027-04-05", "Q-2027-12"), 0);
    assert_int_equal(dw_series_place(series, "2027-04-05", "Q-2027-012b"), 0);
    assert_int_equal(dw_series_place(series, "2027-04-05", "Q-2027-99999999999999999999"), 0);
    assert_int_equal(dw_series_place(series, "2027-04-05", "Q-2027-012"), 12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_faults),
                                       cmocka_unit_test(test_numbers),
                                       cmocka_unit_test(test_places)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
