/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What came off a bar that was cut wrong, to the nanometre and the cent: worked by hand. */
#include "saw.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

static const char job_text[] = SAW_JOB;

/* --- what came off, to the nanometre ------------------------------------------------------------
 */

static void balance_is(struct saw *saw, dw_length parts, dw_length kept, dw_length scrap,
                       dw_length trim, dw_length chips)
{
    struct dw_balance b;
    assert_int_equal(dw_ledger_balance(saw->ledger, &b, NULL), DW_OK);
    assert_int_equal(b.parts, parts);
    assert_int_equal(b.kept, kept);
    assert_int_equal(b.scrap, scrap);
    assert_int_equal(b.trim, trim);
    assert_int_equal(b.chips, chips);
}

/* Spent on the bar that begins with the part `label` when its n-th piece comes out at `came_out`.
 */
static dw_money spent_on(struct saw *saw, const char *text, const char *label, int64_t piece,
                         dw_length came_out)
{
    struct dw_miscut_result result;
    struct dw_error error = {0};
    int64_t plan = saw_plan_and_hold(saw, text), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_SHORT,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, label, &n),
                             .piece = piece,
                             .came_out = came_out};
    dw_err err = saw_miscut(saw, text, &what, &result, &error);
    if (err)
        fail_msg("%s", error.text);
    dw_money spent = result.spent;
    dw_miscut_result_free(&result);
    return spent;
}

static dw_money spent_on_short(struct saw *saw, int64_t piece, dw_length came_out)
{
    return spent_on(saw, job_text, "leg", piece, came_out);
}

/* The first leg of 1200 comes out at 1000: no kerf before it, 2990 - 1002 = 1988 are sound, worth 4
 * a metre. 24 and three cuts, less 7.952. */
static void test_first_piece_too_short(void **state)
{
    dw_money spent = spent_on_short(*state, 1, 1000 * MM);
    assert_int_equal(spent, 240000 + 15000 - 79520);
    balance_is(*state, 0, (1000 + 1988) * MM, 0, 10 * MM, 2 * MM);
}

/* The brace behind two legs at 400: 2990 - 2404 - 402 = 184 is scrap. 24 and five cuts. */
static void test_last_piece_too_short(void **state)
{
    dw_money spent = spent_on_short(*state, 3, 400 * MM);
    assert_int_equal(spent, 240000 + 25000);
    balance_is(*state, 2400 * MM, 400 * MM, 184 * MM, 10 * MM, 6 * MM);
}

/* A nanometre short is short. It is an offcut, and the nanometre is left with the 586 behind it. */
static void test_a_nanometre_too_short(void **state)
{
    spent_on_short(*state, 2, 1200 * MM - 1);
    balance_is(*state, 1200 * MM, 1200 * MM + 586 * MM, 0, 10 * MM, 4 * MM);
}

/* Kept from 600, or from 500 since the brace can come of it; 2990 - 1202 - 502 = 1286 is sound. */
static char keep_600[sizeof job_text];
static void test_spoiled_but_of_use(void **state)
{
    memcpy(keep_600, job_text, sizeof keep_600);
    memcpy(strstr(keep_600, "keep: 300"), "keep: 600", 9);
    spent_on(*state, keep_600, "leg", 2, 500 * MM);
    balance_is(*state, 1200 * MM, (500 + 1286) * MM, 0, 10 * MM, 4 * MM);
}

/* Not even for the brace: 2990 - 1202 - 502 = 1286, and the nanometre. */
static void test_spoiled_of_no_use(void **state)
{
    memcpy(keep_600, job_text, sizeof keep_600);
    memcpy(strstr(keep_600, "keep: 300"), "keep: 600", 9);
    spent_on(*state, keep_600, "leg", 2, 500 * MM - 1);
    balance_is(*state, 1200 * MM, 1286 * MM + 1, 500 * MM - 1, 10 * MM, 4 * MM);
}

/* One end-bent bar of 2000 gives a hook and a rail; the straight tube costs 8 a metre. */
static const char hook_text[] =
    "dropwise: 1\nname: swan\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2, cost per cut: 0.50}\n"
    "rules: {keep: 300, leftover worth: 50 %}\nmaterials: [{id: S48}, {id: H48, end-bent: yes}]\n"
    "bars:\n  - {id: swan, material: H48, tail material: S48, bend: 200, length: 2 m, price: 20}\n"
    "  - {id: new, material: S48, length: 3 m, price: 24}\n"
    "parts:\n  - {label: hook, material: H48, length: 600}\n"
    "  - {label: rail, material: S48, length: 800}\n";

static void shelf_has(struct saw *saw, const char *material, dw_length length, dw_money value)
{
    struct dw_stock_query query = {0};
    struct dw_stock_list *list = NULL;
    bool found = false;
    assert_int_equal(dw_ledger_list(saw->ledger, &query, &list, NULL), DW_OK);
    for (size_t i = 0; i < list->n; i++)
        found |= strcmp(list->rows[i].material, material) == 0 && list->rows[i].length == length &&
                 list->rows[i].value == value;
    dw_stock_list_free(list);
    if (!found)
        fail_msg("no %s of %lld nm", material, (long long)length);
}

/* The hook at 590 is a bent offcut; what is behind it is straight: 2000 - 592 = 1408 at 4 a metre.
 */
static void test_hook_too_short(void **state)
{
    dw_money spent = spent_on(*state, hook_text, "hook", 1, 590 * MM);
    assert_int_equal(spent, 200000 + 5000 - 56320);
    shelf_has(*state, "H48", 590 * MM, 0);
    shelf_has(*state, "S48", 1408 * MM, 56320);
    balance_is(*state, 0, (590 + 1408) * MM, 0, 0, 2 * MM);
}

/* The rail behind the hook at 700 is straight, and so is what is left: 2000 - 602 - 702 = 696. */
static void test_rail_too_short(void **state)
{
    dw_money spent = spent_on(*state, hook_text, "hook", 2, 700 * MM);
    assert_int_equal(spent, 200000 + 10000 - 27840);
    shelf_has(*state, "S48", 700 * MM, 0);
    shelf_has(*state, "S48", 696 * MM, 27840);
    balance_is(*state, 600 * MM, (700 + 696) * MM, 0, 0, 4 * MM);
}

/* A leg's bar is cut from B9, of the given length and ends and worth 8.00. */
static dw_err cut_b9(struct saw *saw, dw_length length, enum dw_end end, int64_t n_done,
                     struct dw_miscut_result *result, struct dw_error *error)
{
    int64_t plan = saw_plan_and_hold(saw, job_text), n = 0;
    struct dw_stock stock = {.number = "B9",
                             .material = "S48",
                             .length = length,
                             .value = 8 * DW_MONEY_ONE,
                             .ends = {end, end}};
    assert_int_equal(dw_ledger_add(saw->ledger, &saw_act, &stock, 1, NULL, NULL), DW_OK);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .number = "B9",
                             .n_done = n_done};
    return saw_miscut(saw, job_text, &what, result, error);
}

/* 1200 + 2 + 1200 = 2402: both legs, nothing is left, and the one cut between them. */
static void test_wrong_bar_used_up(void **state)
{
    struct dw_miscut_result result;
    assert_int_equal(cut_b9(*state, 2402 * MM, DW_END_SAWN, -1, &result, NULL), DW_OK);
    assert_int_equal(result.spent, 80000 + 5000);
    balance_is(*state, 2400 * MM, 0, 0, 0, 2 * MM);
    dw_miscut_result_free(&result);
}

/* A nanometre more, and the second leg is cut off: two cuts, the nanometre is chips. */
static void test_wrong_bar_all_but_used_up(void **state)
{
    struct dw_miscut_result result;
    assert_int_equal(cut_b9(*state, 2402 * MM + 1, DW_END_SAWN, -1, &result, NULL), DW_OK);
    assert_int_equal(result.spent, 80000 + 10000);
    balance_is(*state, 2400 * MM, 0, 0, 0, 2 * MM + 1);
    dw_miscut_result_free(&result);
}

/* A nanometre less gives one leg, and 2402 - 1202 = 1200 but for the nanometre are left at 4.00 a
 * metre: 4.7999, rounded down. */
static void test_wrong_bar_one_leg(void **state)
{
    struct dw_miscut_result result;
    assert_int_equal(cut_b9(*state, 2402 * MM - 1, DW_END_SAWN, -1, &result, NULL), DW_OK);
    assert_int_equal(result.spent, 80000 + 5000 - 47999);
    balance_is(*state, 1200 * MM, 1200 * MM - 1, 0, 0, 2 * MM);
    dw_miscut_result_free(&result);
}

/* 2412 with two mill ends: 10 mm squared off in two more cuts. Fewer legs than it gives may be
 * said: 2412 - 10 - 1202 = 1200 are left then. */
static void test_wrong_bar_with_mill_ends(void **state)
{
    struct dw_miscut_result result;
    assert_int_equal(cut_b9(*state, 2412 * MM, DW_END_MILL, 1, &result, NULL), DW_OK);
    assert_int_equal(result.spent, 80000 + 15000 - 48000);
    balance_is(*state, 1200 * MM, 1200 * MM, 0, 10 * MM, 2 * MM);
    dw_miscut_result_free(&result);
}

static void test_wrong_bar_too_short(void **state)
{
    struct dw_miscut_result result;
    struct dw_error error = {0};
    assert_int_equal(cut_b9(*state, 2402 * MM, DW_END_SAWN, 3, &result, &error), DW_ERR_INPUT);
    assert_non_null(strstr(error.text, "long enough for 2 of the pieces, not for 3"));
    dw_miscut_result_free(&result);
}

static void test_wrong_bar_gives_nothing(void **state)
{
    struct dw_miscut_result result;
    struct dw_error error = {0};
    assert_int_equal(cut_b9(*state, 1200 * MM - 1, DW_END_SAWN, -1, &result, &error), DW_ERR_INPUT);
    assert_non_null(strstr(error.text, "nothing to book"));
    dw_miscut_result_free(&result);
}

/* Of a tube that the job knows nothing of, nothing can be said. */
static void test_wrong_bar_of_unknown_tube(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct dw_error error = {0};
    int64_t plan = saw_plan_and_hold(saw, job_text), n = 0;
    struct dw_material other = {.id = "S99"};
    struct dw_stock stock = {.number = "T9", .material = "S99", .length = 2600 * MM};
    assert_int_equal(dw_ledger_material_put(saw->ledger, &saw_act, &other, NULL), DW_OK);
    assert_int_equal(dw_ledger_add(saw->ledger, &saw_act, &stock, 1, NULL, NULL), DW_OK);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .number = "T9",
                             .n_done = -1};
    assert_int_equal(saw_miscut(saw, job_text, &what, &result, &error), DW_ERR_INPUT);
    assert_non_null(strstr(error.text, "of a tube that this job does not use"));
    dw_miscut_result_free(&result);
}

/* Of two bars that can be bought one is spoiled. The other gives two legs and a brace; no offcut is
 * long enough for the third leg, so that there is no plan and the old one stays open. */
static void test_no_bar_left_to_buy(void **state)
{
    struct saw *saw = *state;
    char text[sizeof job_text + 16];
    const char *price = strstr(job_text, "price: 24");
    snprintf(text, sizeof text, "%.*scount: 2, %s", (int)(price - job_text), job_text, price);
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, text), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_SHORT,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .piece = 2,
                             .came_out = 900 * MM};
    assert_int_equal(saw_miscut(saw, text, &what, &result, NULL), DW_OK);
    assert_int_equal(result.plan->status, DW_STATUS_INFEASIBLE);
    assert_int_equal(result.new_plan, 0);
    dw_miscut_result_free(&result);
}

/* The bar that begins with a leg is cut from T1, of a tube that legs do not accept. */
static void cut_t1(struct saw *saw, const char *text, dw_length length, dw_money spent,
                   dw_length in_parts)
{
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, text), n = 0;
    struct dw_stock stock = {.number = "T1",
                             .material = "S42",
                             .length = length,
                             .value = 8 * DW_MONEY_ONE,
                             .ends = {DW_END_SAWN, DW_END_SAWN}};
    struct dw_material other = {.id = "S42"};
    assert_int_equal(dw_ledger_material_put(saw->ledger, &saw_act, &other, NULL), DW_OK);
    assert_int_equal(dw_ledger_add(saw->ledger, &saw_act, &stock, 1, NULL, NULL), DW_OK);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .number = "T1",
                             .n_done = -1};
    assert_int_equal(saw_miscut(saw, text, &what, &result, NULL), DW_OK);
    assert_int_equal(result.spent, spent);
    assert_int_equal(result.plan->totals.in_parts, in_parts);
    dw_miscut_result_free(&result);
}

#define TWO_TUBES                                                                                  \
    "dropwise: 1\nname: stall\nunit: mm\ncurrency: EUR\n"                                          \
    "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"                                            \
    "rules: {keep: 300, leftover worth: 50 %}\nmaterials: [{id: S48}, {id: S42}]\n"                \
    "bars:\n  - {id: new, material: S48, length: 3 m, price: 24}\n"                                \
    "  - {id: thin, material: S42, length: 3 m, price: 18}\n"                                      \
    "parts:\n  - {label: leg, material: S48, length: 1200, count: 2}\n"

/* Legs cut from another tube than theirs are no legs: two offcuts of 1200 of that tube, worth
 * nothing until somebody says so, and 2600 - 2404 = 196 of scrap. Both legs are still to be made.
 */
static void test_wrong_tube(void **state)
{
    cut_t1(*state, TWO_TUBES "  - {label: brace, material: S42, length: 500}\n", 2600 * MM,
           80000 + 10000, 2900 * MM);
    balance_is(*state, 0, 2400 * MM, 196 * MM, 0, 4 * MM);
}

/* A brace behind them that may be of either tube does not make legs of them, nor is it one: all
 * three pieces come off, and 2990 - 2906 = 84 of scrap. */
static void test_wrong_tube_for_some(void **state)
{
    cut_t1(*state, TWO_TUBES "  - {label: brace, material: [S48, S42], length: 500}\n", 2990 * MM,
           80000 + 15000, 2900 * MM);
    balance_is(*state, 0, 2900 * MM, 84 * MM, 0, 6 * MM);
}

#define SAW(name) cmocka_unit_test_setup_teardown(name, saw_setup, saw_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_first_piece_too_short),
        SAW(test_last_piece_too_short),
        SAW(test_a_nanometre_too_short),
        SAW(test_spoiled_but_of_use),
        SAW(test_spoiled_of_no_use),
        SAW(test_hook_too_short),
        SAW(test_rail_too_short),
        SAW(test_wrong_bar_used_up),
        SAW(test_wrong_bar_all_but_used_up),
        SAW(test_wrong_bar_one_leg),
        SAW(test_wrong_bar_with_mill_ends),
        SAW(test_wrong_bar_too_short),
        SAW(test_wrong_bar_gives_nothing),
        SAW(test_wrong_bar_of_unknown_tube),
        SAW(test_wrong_tube),
        SAW(test_wrong_tube_for_some),
        SAW(test_no_bar_left_to_buy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
