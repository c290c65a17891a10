/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of a plan that is partly cut counts as done, piece by piece. */
#include "tests/support/saw.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

/* Leftovers from 1500 mm on are worth keeping. */
#define JOB                                                                                        \
    "dropwise: 1\n"                                                                                \
    "unit: mm\n"                                                                                   \
    "currency: EUR\n"                                                                              \
    "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"                                            \
    "rules: {keep: 1500, leftover worth: none}\n"                                                  \
    "materials: [{id: S48, outside: 48.3 mm, wall: 3.2 mm}]\n"                                     \
    "bars: [{id: new, length: 3 m, price: 24}]\n"                                                  \
    "parts: [{label: leg, length: 1100, count: 3}]\n"

/* Plans for K1 and K2, 2300 mm, and holds; where a bar gives one leg of 1100 mm, a second is cut
 * beyond demand: 2300 - 2 (1100 + 2) = 96 mm are left. `bar` is that one. */
static int64_t hold_with_surplus(struct saw *saw, int64_t *bar)
{
    static struct dw_piece more[2];
    struct dw_job *job = saw_load(saw, JOB);
    struct dw_shelf_request request = {.today = "2026-06-30"};
    struct dw_shelf_found found;
    struct dw_job_request how = {0};
    struct dw_plan *plan = NULL;
    int64_t id = 0;
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    assert_int_equal(dw_shelf_supply(job, saw->ledger, &request, &found, &saw->report, NULL),
                     DW_OK);
    assert_int_equal(dw_job_plan(job, &how, &plan, NULL), DW_OK);
    assert_int_equal(plan->n_layouts, 2);
    for (size_t i = 0; i < 2; i++) {
        struct dw_layout *layout = &plan->layouts[i];
        if (layout->pieces[0].count == 2)
            continue;
        more[0] = layout->pieces[0];
        more[1] = (struct dw_piece){DW_USE_SURPLUS, 0, 1100 * MM, 1};
        layout->pieces = more;
        layout->n_pieces = 2;
        layout->rest = DW_REST_SCRAP;
        layout->leftover = 96 * MM;
        *bar = layout->bar;
    }
    assert_int_equal(dw_plan_sum(job, plan, NULL), DW_OK);
    plan->groups[0].value = plan->totals.value;
    plan->status = plan->groups[0].status = DW_STATUS_WITHIN;
    assert_int_equal(dw_plan_check(job, plan, &saw->report, NULL), DW_OK);
    struct dw_shelf_hold hold = {.digest = found.digest};
    assert_int_equal(dw_shelf_hold_plan(saw->ledger, &saw_act, job, plan, &hold, &id, NULL, NULL),
                     DW_OK);
    dw_plan_free(plan);
    dw_job_free(job);
    return id;
}

/* The bar with the surplus is cut: one leg of three. The first of the other's two is spoiled. Two
 * remain. */
static void test_surplus_is_not_done(void **state)
{
    struct saw *saw = *state;
    int64_t bar = 0;
    saw_add(saw, "K1", 2300 * MM, DW_MONEY_ONE);
    saw_add(saw, "K2", 2300 * MM, DW_MONEY_ONE);
    int64_t plan = hold_with_surplus(saw, &bar);
    assert_int_equal(dw_ledger_cut(saw->ledger, &saw_act, plan, bar, NULL, NULL, NULL, NULL),
                     DW_OK);
    struct dw_miscut what = {.plan = plan, .bar = 3 - bar, .piece = 1, .came_out = 500 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, JOB, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_int_equal(job->n_parts, 1);
    assert_int_equal(job->parts[0].count, 2);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* Two bars of the stall came for `paid` each, planned at 24.00; the second leg of one comes out
 * short. The other counts for the rest as it did, and says why where that is not what was paid. */
static void other_bar_counts(struct saw *saw, dw_money paid, enum dw_counted_as counted)
{
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    const dw_money values[] = {paid, paid};
    const struct dw_arrival row = {.supply = "new", .n = 2, .values = values};
    const struct dw_delivery delivery = {.n = 1, .rows = &row};
    assert_int_equal(dw_ledger_deliver(saw->ledger, &saw_act, plan, &delivery, NULL, NULL), DW_OK);
    struct dw_miscut what = {
        .plan = plan, .bar = saw_bar_with(saw, plan, "leg", &n), .piece = 2, .came_out = 900 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    size_t n_here = 0;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        if (supply->source != DW_SOURCE_SHELF)
            continue;
        n_here++;
        assert_int_equal(supply->price, 240000);
        assert_int_equal(supply->paid, paid);
        assert_int_equal(supply->counted, counted);
    }
    assert_int_equal(n_here, 1);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

static void test_a_bar_at_its_planned_price(void **state)
{
    other_bar_counts(*state, 240000, DW_COUNTED_PAID);
}

static void test_a_bar_at_another_price(void **state)
{
    other_bar_counts(*state, 260000, DW_COUNTED_BEFORE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_surplus_is_not_done),
        SAW(test_a_bar_at_its_planned_price),
        SAW(test_a_bar_at_another_price),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
