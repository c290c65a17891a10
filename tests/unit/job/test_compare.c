/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What other ways would cost, reckoned by hand: six legs of 1 m, no kerf, nothing for leftovers;
 * and of what the lengths to carry are chosen. */
#include <dropwise/compare.h>
#include "job/lengths.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define M (1000 * DW_NM_PER_MM)

/* Quay sells 6 m for 60 and 3 m for 33, Northgate 2 m for 21; a metre on the shelf is worth 4. */
static const char two_yards[] =
    "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 0}\nrules: {leftover worth: none}\n"
    "materials: [{id: t}]\n"
    "bars:\n"
    "  - {length: 6 m, price: 60, supplier: Quay}\n"
    "  - {length: 3 m, price: 33, supplier: Quay}\n"
    "  - {length: 2 m, price: 21, supplier: Northgate}\n"
    "offcuts: [{id: o1, length: 1000, book value: 4}]\n"
    "parts: [{label: leg, length: 1000, count: 6}]\n";

/* And Ferry 4 m for 37, nothing on the shelf. */
static const char three_yards[] =
    "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 0}\nrules: {leftover worth: none}\n"
    "materials: [{id: t}]\n"
    "bars:\n"
    "  - {length: 6 m, price: 60, supplier: Quay}\n"
    "  - {length: 3 m, price: 33, supplier: Quay}\n"
    "  - {length: 2 m, price: 21, supplier: Northgate}\n"
    "  - {length: 4 m, price: 37, supplier: Ferry}\n"
    "parts: [{label: leg, length: 1000, count: 6}]\n";

struct row {
    enum dw_compare_kind kind;
    const char *supplier;
    dw_length length;
    int64_t euros;
};

static struct dw_job *read_job(const char *text)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    assert_int_equal(dw_job_read_text(text, strlen(text), "legs.yaml", NULL, &job, &report, &error),
                     DW_OK);
    dw_report_free(&report);
    return job;
}

static void expect(const char *text, bool alone, const struct row *wanted, size_t n_wanted)
{
    struct dw_job *job = read_job(text);
    struct dw_settings settings;
    struct dw_error error = {0};
    size_t n = 0;
    struct dw_compared *rows = calloc(dw_job_compare_room(job), sizeof *rows);
    assert_non_null(rows);
    dw_settings_default(&settings);
    settings.time_ms = 0;
    assert_int_equal(dw_job_compare(job, &settings, NULL, alone, rows, &n, &error), DW_OK);
    assert_int_equal(n, n_wanted);
    assert_true(n <= dw_job_compare_room(job));
    for (size_t i = 0; i < n; i++) {
        assert_int_equal(rows[i].kind, wanted[i].kind);
        assert_true(rows[i].planned && rows[i].known);
        assert_int_equal(rows[i].value, wanted[i].euros * DW_MONEY_ONE);
        if (wanted[i].supplier)
            assert_string_equal(rows[i].supplier, wanted[i].supplier);
        if (wanted[i].length)
            assert_int_equal(rows[i].length, wanted[i].length);
    }
    free(rows);
    dw_job_free(job);
}

/* Best is the metre of the shelf with 3 m and 2 m: 4 + 33 + 21 = 58. Without it 6 m for 60; of
 * Northgate alone three bars, 63; the best single length is 6 m. */
static void test_two_suppliers(void **state)
{
    (void)state;
    static const struct row wanted[] = {
        {DW_COMPARE_ALONE, "Quay", 0, 60},    {DW_COMPARE_ALONE, "Northgate", 0, 63},
        {DW_COMPARE_NO_SHELF, NULL, 0, 60},   {DW_COMPARE_ONE_LENGTH, NULL, 6 * M, 60},
        {DW_COMPARE_NO_OFFCUTS, NULL, 0, 58},
    };
    expect(two_yards, false, wanted, sizeof wanted / sizeof *wanted);
    expect(two_yards, true, NULL, 0); /* no charges: money alone decides, and the plan has it */
}

/* Best is 4 m and 2 m: 58. Of Ferry alone two bars, 74. */
static void test_three_suppliers(void **state)
{
    (void)state;
    static const struct row wanted[] = {
        {DW_COMPARE_ALONE, "Quay", 0, 60},        {DW_COMPARE_ALONE, "Northgate", 0, 63},
        {DW_COMPARE_ALONE, "Ferry", 0, 74},       {DW_COMPARE_WITHOUT, "Quay", 0, 58},
        {DW_COMPARE_WITHOUT, "Northgate", 0, 60}, {DW_COMPARE_WITHOUT, "Ferry", 0, 60},
        {DW_COMPARE_ONE_LENGTH, NULL, 6 * M, 60}, {DW_COMPARE_NO_OFFCUTS, NULL, 0, 58},
    };
    expect(three_yards, false, wanted, sizeof wanted / sizeof *wanted);
}

/* Two bars of one length leave nothing to compare lengths by, and one supplier none to compare. */
static void test_nothing_to_compare(void **state)
{
    (void)state;
    static const struct row wanted[] = {{DW_COMPARE_NO_OFFCUTS, NULL, 0, 60}};
    expect("dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 0}\nrules: {leftover worth: none}\n"
           "materials: [{id: t}]\n"
           "bars:\n"
           "  - {id: a, length: 6 m, price: 60, supplier: Quay}\n"
           "  - {id: b, length: 6 m, price: 66, supplier: Quay}\n"
           "parts: [{label: leg, length: 1000, count: 6}]\n",
           false, wanted, 1);
}

/* Lengths are chosen of what is bought new, straight, and cut into parts. */
static void test_what_lengths_are_chosen_of(void **state)
{
    (void)state;
    struct dw_job *job =
        read_job("dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 0}\n"
                 "materials: [{id: t}, {id: p}, {id: s}, {id: cane, end bent: yes}, {id: u}]\n"
                 "bars:\n"
                 "  - {length: 6 m, price: 60, material: t}\n"
                 "  - {length: 6 m, price: 60, material: p}\n"
                 "  - {length: 6 m, count: 2, source: shelf, material: s}\n"
                 "  - {length: 2 m, price: 20, material: cane, bend: 250, tail material: t}\n"
                 "  - {length: 6 m, price: 60, material: u}\n"
                 "parts:\n"
                 "  - {label: leg, length: 1000, material: t}\n"
                 "  - {label: rung, length: 400, material: s}\n"
                 "  - {label: crook, length: 1000, material: cane}\n"
                 "posts: [{label: hook, length: 200, material: p, worth: 1}]\n");
    static const bool wanted[] = {true, false, false, false, false};
    for (size_t m = 0; m < 5; m++)
        assert_int_equal(dw_lengths__choosable(job, m), wanted[m]);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_suppliers),
        cmocka_unit_test(test_three_suppliers),
        cmocka_unit_test(test_nothing_to_compare),
        cmocka_unit_test(test_what_lengths_are_chosen_of),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
