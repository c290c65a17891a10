/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Textbook problems at every price that a bar may have: the plan has as many bars as ever, and its
 * duals prove that, however little room the price leaves them in 64 bits. */
#include "textbook.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

/* Bars of 10: five of 3 and five of 7 fill five. Bars of 8: 5 x 4 + 4 x 3 + 8 x 2 = 48 fill six.
 * Bars of 30: 15 + 2 x 10 + 4 x 6 = 59 leave 1 of two bars, but that with 15 has 15 + 2 x 6 = 27 at
 * most: three. */
static const struct problem {
    int64_t bar;
    struct textbook_part parts[3];
    size_t n;
    int64_t bars;
} problems[] = {
    {10, {{7, 5}, {3, 5}}, 2, 5},
    {8, {{4, 5}, {3, 4}, {2, 8}}, 3, 6},
    {30, {{15, 1}, {10, 2}, {6, 4}}, 3, 3},
};

static void plan_at(const struct problem *problem, dw_money price)
{
    const struct textbook_bar bar = {problem->bar, price, DW_UNLIMITED};
    struct dw_job *job = textbook_job(1000000, &bar, 1, problem->parts, problem->n);
    struct dw_plan *plan = NULL;
    struct dw_plan_proven *proven = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    assert_non_null(job);
    if (dw_solve(job, NULL, NULL, &plan, &error) != DW_OK)
        fail_msg("at %lld: %s", (long long)price, error.text);
    assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
    assert_int_equal(plan->totals.n_bars, problem->bars);
    assert_int_equal(plan->totals.value, problem->bars * price);
    if (dw_plan_prove(job, plan, &report, &proven, &error) != DW_OK)
        fail_msg("at %lld: %s", (long long)price, error.text);
    const struct dw_certificate *c = &plan->groups[0].certificate;
    assert_true(c->n_duals > 0);
    assert_true(c->scale >= 1 && c->scale <= (INT64_C(1) << 60) / price + 1);
    if (plan->groups[0].proof == DW_PROOF_DUALS)
        assert_true(proven->settled);
    assert_int_equal(c->bound % price, 0);
    assert_true(c->bound >= (problem->bars - 1) * price);
    dw_plan_proven_free(proven);
    dw_report_free(&report);
    dw_plan_free(plan);
    dw_job_free(job);
}

static void test_prices(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof problems / sizeof *problems; i++) {
        for (dw_money price = 1; price <= DW_MONEY_MAX / 10; price *= 10)
            plan_at(&problems[i], price);
        for (dw_money price = 1; price <= DW_MONEY_MAX / 10; price *= 2)
            plan_at(&problems[i], price);
        plan_at(&problems[i], DW_MONEY_MAX);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_prices),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
