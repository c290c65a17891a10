/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars that may give few pieces: with two at most, packing is matching; and limits so high that no
 * table counts up to them. */
#include "random_job.h"
#include "textbook.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <cmocka.h>

#define BAR 1000

static int longer_first(const void *a, const void *b)
{
    const int64_t *x = a, *y = b;
    return (*x < *y) - (*x > *y);
}

/* The fewest bars of two pieces each (k-item bin packing, Krause, Shen, Schwetman 1975): the
 * longest piece goes with the longest that fits beside it, or alone. */
static int64_t bars_of_two(int64_t *lengths, size_t n)
{
    int64_t bars = 0;
    qsort(lengths, n, sizeof *lengths, longer_first);
    for (size_t i = 0; i < n; i++) {
        if (lengths[i] == 0)
            continue;
        bars++;
        for (size_t j = i + 1; j < n; j++)
            if (lengths[j] > 0 && lengths[i] + lengths[j] <= BAR) {
                lengths[j] = 0;
                break;
            }
    }
    return bars;
}

/* Value in whole units of money, with `most` pieces on a bar; the verifier has passed the plan. */
static int64_t plan_value(const struct textbook_bar *bar, const struct textbook_part *parts,
                          size_t n, int64_t most, enum dw_status *status)
{
    struct dw_job *job = textbook_job(DW_NM_PER_MM, bar, 1, parts, n);
    struct dw_settings settings;
    struct dw_plan *plan = NULL;
    struct dw_report report = {0};
    assert_non_null(job);
    job->rules.most_pieces = most;
    dw_settings_default(&settings);
    settings.time_ms = 0;
    settings.work = 200000;
    assert_int_equal(dw_solve(job, &settings, NULL, &plan, NULL), DW_OK);
    assert_int_equal(dw_plan_check(job, plan, &report, NULL), DW_OK);
    int64_t value = plan->totals.value / DW_MONEY_ONE;
    *status = plan->status;
    dw_report_free(&report);
    dw_plan_free(plan);
    dw_job_free(job);
    return value;
}

static void two_on_a_bar_is_matching(void **state)
{
    (void)state;
    const struct textbook_bar bar = {BAR, DW_MONEY_ONE, DW_UNLIMITED};
    int n_bound = 0; /* jobs in which length alone would ask for fewer bars */
    for (uint64_t seed = 1; seed <= 60; seed++) {
        struct random random = {seed};
        struct textbook_part parts[40];
        int64_t lengths[200], sum = 0;
        size_t n = (size_t)random_in(&random, 5, 40), pieces = 0;
        for (size_t i = 0; i < n; i++) {
            parts[i].length = random_in(&random, 100, 900);
            parts[i].count = random_in(&random, 1, 5);
            for (int64_t c = 0; c < parts[i].count; c++)
                lengths[pieces++] = parts[i].length;
            sum += parts[i].length * parts[i].count;
        }
        int64_t bars = bars_of_two(lengths, pieces);
        enum dw_status status;
        assert_int_equal(plan_value(&bar, parts, n, 2, &status), bars);
        assert_int_equal(status, DW_STATUS_OPTIMAL);
        n_bound += (sum + BAR - 1) / BAR < bars;
    }
    assert_true(n_bound > 30);
}

/* 10 000 pieces, 11 m of tube: two bars of 6 m by length, three with 4 500 pieces on each. */
static void more_than_tables_count(void **state)
{
    (void)state;
    const struct textbook_bar bar = {6000, DW_MONEY_ONE, DW_UNLIMITED};
    const struct textbook_part parts[] = {{2, 1000}, {1, 9000}};
    enum dw_status status;
    assert_int_equal(plan_value(&bar, parts, 2, DW_UNLIMITED, &status), 2);
    assert_int_equal(status, DW_STATUS_OPTIMAL);
    assert_int_equal(plan_value(&bar, parts, 2, 4500, &status), 3);
    assert_int_equal(plan_value(&bar, parts, 2, 1000, &status), 10);
    assert_int_equal(status, DW_STATUS_OPTIMAL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_on_a_bar_is_matching),
        cmocka_unit_test(more_than_tables_count),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
