/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mis-cuts: what is booked, what is planned again, what it costs; and that a job is finished with
 * exactly its parts however often something goes wrong. */
#include "base/base.h"
#include "tests/support/saw.h"
#include "tests/support/shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

/* Bars of 3 m less 10 mm of squaring hold two legs and one brace (2400 + 500 + 4, 86 mm over).
 * The second leg of one comes out as 900 mm: that leg needs another bar, the brace that was to
 * follow can come from the spoiled leg or the rest of 2990 - 1202 - 902 = 886 mm. */
static void test_piece_too_short(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct dw_error error = {0};
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_SHORT,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .piece = 2,
                             .came_out = 900 * MM};
    assert_int_equal(n, 3);
    dw_err err = saw_miscut(saw, SAW_JOB, &what, &result, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    assert_int_equal(result.n_locked, 1);
    assert_int_equal(result.new_plan, plan + 1);
    struct dw_balance b;
    assert_int_equal(dw_ledger_balance(saw->ledger, &b, NULL), DW_OK);
    assert_int_equal(b.parts, 1200 * MM);
    assert_int_equal(b.trim, 10 * MM);
    assert_int_equal(b.chips, 4 * MM);
    assert_int_equal(b.kept, (900 + 886) * MM);
    /* Before: two bars of 24, each 2 squarings and 3 cuts: 48 + 5 = 53.
     * This bar: 24 and 2 + 2 cuts, less 886 mm at 4 a metre for the sound rest. */
    assert_int_equal(result.before, 53 * DW_MONEY_ONE);
    assert_int_equal(result.spent, 26 * DW_MONEY_ONE - 35440);
    /* The new plan takes the spoiled leg, booked at 0, for a brace: it counts as if nothing were
     * gained by keeping most of it, 900 - 500 - 2 = 398 mm at 4 a metre. */
    assert_int_equal(result.revalued, 15920);
    assert_int_equal(result.after + result.revalued, result.plan->totals.value);
    /* Of what is cut again two legs of a bar leave 586 mm and one leg 1788; the braces come from
     * 900 mm, which leaves 398, and from the sound 886, which leaves 384. Two bars are 48, the
     * sound rest 3.544, nine cuts 4.50, what is left at 4 a metre 12.624. */
    assert_int_equal(result.after, 480000 + 35440 + 45000 - 126240);
    assert_int_equal(result.difference, result.after + 260000 - 35440 - 530000);
    assert_int_equal(result.plan->totals.in_parts, (3 * 1200 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
}

/* The layout of a new bar was cut from B9, 2600 mm: one leg comes out with sawn ends, the other
 * too, then 2600 - 2404 = 196 mm are scrap. */
static void test_wrong_bar(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    saw_add(saw, "B9", 2600 * MM, 8 * DW_MONEY_ONE);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .number = "B9",
                             .n_done = -1};
    assert_int_equal(saw_miscut(saw, SAW_JOB, &what, &result, NULL), DW_OK);
    struct dw_balance b;
    assert_int_equal(dw_ledger_balance(saw->ledger, &b, NULL), DW_OK);
    assert_int_equal(b.parts, 2400 * MM);
    assert_int_equal(b.scrap, 196 * MM);
    assert_int_equal(b.in, 2600 * MM);                /* the new bar was not touched, nor bought */
    assert_int_equal(result.spent, 9 * DW_MONEY_ONE); /* 8 and two cuts */
    assert_int_equal(result.plan->totals.in_parts, (2 * 1200 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
}

/* 2995 mm is enough still; 2900 mm is one brace too short. */
static void test_bar_shorter_than_nominal(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_BAR_SHORT,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .measured = 2995 * MM};
    assert_int_equal(saw_miscut(saw, SAW_JOB, &what, &result, NULL), DW_OK);
    assert_int_equal(result.n_locked, 0);
    assert_int_equal(result.spent, 0);
    assert_int_equal(result.difference, 0); /* it is cut as before */
    what.plan = result.new_plan;
    dw_miscut_result_free(&result);
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.plan = what.plan};
    assert_int_equal(dw_ledger_list(saw->ledger, &query, &list, NULL), DW_OK);
    assert_int_equal(list->n, 1); /* the other bar is still to come */
    assert_int_equal(list->rows[0].measured, 2995 * MM);
    assert_int_equal(list->rows[0].value, 24 * DW_MONEY_ONE); /* what was paid for it */
    dw_stock_list_free(list);
    what.bar = saw_bar_with(saw, what.plan, "leg", &n);
    what.measured = 2900 * MM;
    assert_int_equal(saw_miscut(saw, SAW_JOB, &what, &result, NULL), DW_OK);
    /* another is bought in its stead; it lies on the shelf at what was paid for it */
    assert_int_equal(result.difference, 0);
    assert_int_equal(result.back->n, 1);
    assert_int_equal(result.plan->totals.in_parts, (4 * 1200 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
}

static void test_refusals(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    int64_t bar = saw_bar_with(saw, plan, "leg", &n);
    const struct {
        struct dw_miscut what;
        dw_err code;
        const char *words;
    } cases[] = {
        {{.plan = 9, .bar = 1}, DW_ERR_NOTFOUND, "no plan 9"},
        {{.plan = plan, .bar = 99}, DW_ERR_NOTFOUND, "has no bar 99: it has 1 to 2"},
        {{.plan = plan, .bar = bar, .piece = 4, .came_out = 1}, DW_ERR_INPUT, "no piece 4"},
        {{.plan = plan, .bar = bar, .piece = 1, .came_out = 1200 * MM},
         DW_ERR_INPUT,
         "no shorter than planned"},
        {{.plan = plan, .bar = bar, .piece = 1, .came_out = 0}, DW_ERR_INPUT, "no shorter"},
        {{.plan = plan, .bar = bar, .piece = 0, .came_out = MM}, DW_ERR_INPUT, "no piece 0"},
        {{.kind = DW_MISCUT_WRONG_BAR, .plan = plan, .bar = bar, .number = "X"},
         DW_ERR_NOTFOUND,
         "no piece X"},
    };
    for (size_t i = 0; i < DW_COUNT(cases); i++) {
        struct dw_error error = {0};
        assert_int_equal(saw_miscut(saw, SAW_JOB, &cases[i].what, &result, &error), cases[i].code);
        if (!strstr(error.text, cases[i].words))
            print_message("%s\n", error.text);
        assert_non_null(strstr(error.text, cases[i].words));
        dw_miscut_result_free(&result);
    }
    char other[sizeof SAW_JOB];
    struct dw_error error = {0};
    struct dw_miscut what = {.plan = plan, .bar = bar, .piece = 1, .came_out = MM};
    memcpy(other, SAW_JOB, sizeof other);
    memcpy(strstr(other, "count: 2"), "count: 3", 8);
    assert_int_equal(saw_miscut(saw, other, &what, &result, &error), DW_ERR_STATE);
    assert_non_null(strstr(error.text, "not the job that plan 1 was made for"));
}

/* --- to the end, come what may --------------------------------------------------------------- */

static struct dw_miscut draw_mishap(struct shop *dice, int64_t plan, const struct dw_held_bar *bar)
{
    struct dw_miscut what = {.plan = plan, .bar = bar->bar, .n_done = -1};
    if (shop_draw(dice, 3) == 0) {
        what.kind = DW_MISCUT_BAR_SHORT;
        what.measured = bar->length - (dw_length)shop_draw(dice, 200) * MM;
    } else {
        int64_t n = 0;
        for (size_t k = 0; k < bar->n_pieces; k++)
            n += bar->pieces[k].count;
        what.kind = DW_MISCUT_SHORT;
        what.piece = 1 + (int64_t)shop_draw(dice, (uint64_t)n);
        what.came_out = (dw_length)(1 + shop_draw(dice, 399)) * MM;
    }
    return what;
}

/* Cuts one bar, now and then wrong. The plan that goes on; 0 when all is cut. */
static int64_t cut_one(struct saw *saw, struct shop *dice, int64_t plan)
{
    struct dw_held_list *list = NULL;
    const struct dw_held_bar *bar = NULL;
    struct dw_error error = {0};
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    for (size_t i = 0; i < list->rows[0].n_bars && !bar; i++)
        bar = list->rows[0].bars[i].cut ? NULL : &list->rows[0].bars[i];
    int64_t next = bar ? plan : 0;
    dw_err err = DW_OK;
    if (bar && shop_draw(dice, 3) == 0) {
        struct dw_miscut what = draw_mishap(dice, plan, bar);
        struct dw_miscut_result result;
        err = saw_miscut(saw, SAW_JOB, &what, &result, &error);
        next = result.new_plan;
        dw_miscut_result_free(&result);
    } else if (bar) {
        err = dw_ledger_cut(saw->ledger, &saw_act, plan, bar->bar, NULL, NULL, NULL, &error);
    }
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    dw_held_list_free(list);
    return next;
}

static void test_finished_with_exactly_its_parts(void **state)
{
    struct saw *saw = *state;
    struct shop dice = {.seed = 99};
    for (int i = 0; i < 12; i++) {
        struct dw_balance before, after;
        assert_int_equal(dw_ledger_balance(saw->ledger, &before, NULL), DW_OK);
        int64_t plan = saw_plan_and_hold(saw, SAW_JOB);
        while (plan)
            plan = cut_one(saw, &dice, plan);
        assert_int_equal(dw_ledger_balance(saw->ledger, &after, NULL), DW_OK);
        assert_int_equal(after.parts - before.parts, (4 * 1200 + 2 * 500) * MM);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_piece_too_short),
        SAW(test_wrong_bar),
        SAW(test_bar_shorter_than_nominal),
        SAW(test_refusals),
        SAW(test_finished_with_exactly_its_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
