/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The 18 classes of Foerster and Waescher 2000 (from memory), 100 problems each from CUTGEN1 with
 * seed 1994: every one is proven, and the mean number of bars is what column generation and dives
 * in a separate program proved for the same problems. */
#include "textbook.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <cmocka.h>

#define N_PROBLEMS 100

static const double means[18] = {11.48, 110.25, 22.13,  215.93,  42.95,  424.68,
                                 50.24, 499.62, 93.65,  932.26,  176.90, 1763.44,
                                 63.47, 632.36, 119.59, 1192.00, 224.85, 2242.58};

static int64_t bars_of(const struct textbook_part *parts, size_t n)
{
    const struct textbook_bar bar = {1000, DW_MONEY_ONE, DW_UNLIMITED};
    struct dw_job *job = textbook_job(DW_NM_PER_MM, &bar, 1, parts, n);
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    assert_non_null(job);
    if (dw_solve(job, NULL, NULL, &plan, &error) != DW_OK)
        fail_msg("%s", error.text);
    assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
    int64_t bars = plan->totals.n_bars;
    dw_plan_free(plan);
    dw_job_free(job);
    return bars;
}

static void test_classes(void **state)
{
    (void)state;
    static const double v1[] = {0.01, 0.01, 0.2}, v2[] = {0.2, 0.8, 0.8};
    static const size_t m[] = {10, 20, 40};
    for (size_t class = 0; class < 18; class ++) {
        struct textbook_part parts[40];
        int64_t seed = 1994, sum = 0;
        for (int i = 0; i < N_PROBLEMS; i++) {
            size_t n = textbook_cutgen1(&seed, m[class / 2 % 3], 1000, v1[class / 6], v2[class / 6],
                                        class % 2 ? 100 : 10, parts);
            sum += bars_of(parts, n);
        }
        print_message("class %zu: %.2f bars\n", class + 1, (double)sum / N_PROBLEMS);
        assert_true(fabs((double)sum / N_PROBLEMS - means[class]) < 0.001);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_classes)};
    return cmocka_run_group_tests_name("solve: CUTGEN1 classes", tests, NULL, NULL);
}
