/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mis-cuts: what is booked, what is planned again, what it costs; and that a job is finished with
 * exactly its parts however often something goes wrong. */
#include "base/base.h"
#include "job/miscut.h"
#include "tests/support/shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

static const struct dw_act act = {.when = "2026-06-30T08:00:00Z"};

/* Kerf 2, squaring 5 a mill end, a cut 0.50; leftovers from 300 mm on at half of 8 a metre. */
static const char job_text[] = "dropwise: 1\n"
                               "name: stall\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"
                               "rules: {keep: 300, leftover worth: 50 %}\n"
                               "materials:\n"
                               "  - {id: S48, outside: 48.3 mm, wall: 3.2 mm}\n"
                               "bars:\n"
                               "  - {id: new, material: S48, length: 3 m, price: 24}\n"
                               "parts:\n"
                               "  - {label: leg, length: 1200, count: 4}\n"
                               "  - {label: brace, length: 500, count: 2}\n";

struct saw {
    char folder[64];
    struct dw_ledger *ledger;
    struct dw_report report;
};

static int setup(void **state)
{
    struct saw *saw = calloc(1, sizeof *saw);
    char path[96];
    snprintf(saw->folder, sizeof saw->folder, "/tmp/dw_miscut_XXXXXX");
    assert_non_null(mkdtemp(saw->folder));
    snprintf(path, sizeof path, "%s/shelf.db", saw->folder);
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &saw->ledger, NULL), DW_OK);
    *state = saw;
    return 0;
}

static int teardown(void **state)
{
    struct saw *saw = *state;
    char command[128];
    struct dw_report report = {0};
    dw_err err = dw_ledger_check(saw->ledger, &report, NULL);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    dw_report_free(&report);
    dw_ledger_close(saw->ledger);
    dw_report_free(&saw->report);
    snprintf(command, sizeof command, "rm -rf %s", saw->folder);
    assert_int_equal(system(command), 0);
    free(saw);
    return 0;
}

static struct dw_job *load(struct saw *saw, const char *text)
{
    struct dw_job *job = NULL;
    assert_int_equal(
        dw_job_read_text(text, strlen(text), "stall.yaml", NULL, &job, &saw->report, NULL), DW_OK);
    return job;
}

/* Plans from the shelf and holds; the plan's number. */
static int64_t plan_and_hold(struct saw *saw, const char *text)
{
    struct dw_job *job = load(saw, text);
    struct dw_shelf_request request = {.today = "2026-06-30"};
    struct dw_shelf_found found;
    struct dw_job_request how = {0};
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    int64_t id = 0;
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    dw_err err = dw_shelf__supply(job, saw->ledger, &request, &found, &saw->report, &error);
    if (!err)
        err = dw_job__plan(job, &how, &plan, &error);
    struct dw_shelf_hold hold = {.digest = found.digest};
    if (!err)
        err = dw_shelf__hold(saw->ledger, &act, job, plan, &hold, &id, NULL, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    dw_plan_free(plan);
    dw_job_free(job);
    return id;
}

static dw_err miscut(struct saw *saw, const char *text, const struct dw_miscut *what,
                     struct dw_miscut_result *result, struct dw_error *error)
{
    struct dw_job *job = load(saw, text);
    struct dw_job_request how = {0};
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    dw_err err = dw_miscut__run(saw->ledger, &act, job, what, &how, result, &saw->report, error);
    dw_job_free(job);
    return err;
}

static void add(struct saw *saw, const char *number, dw_length length, dw_money value)
{
    struct dw_stock stock = {.number = number,
                             .material = "S48",
                             .length = length,
                             .value = value,
                             .ends = {DW_END_SAWN, DW_END_SAWN}};
    assert_int_equal(dw_ledger_add(saw->ledger, &act, &stock, 1, NULL, NULL), DW_OK);
}

/* The number of a bar of the plan whose first piece is the part, and its pieces. */
static int64_t bar_with(struct saw *saw, int64_t plan, const char *label, int64_t *n_pieces)
{
    struct dw_held_list *list = NULL;
    int64_t bar = 0;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    for (size_t i = 0; i < list->rows[0].n_bars && !bar; i++) {
        const struct dw_held_bar *row = &list->rows[0].bars[i];
        *n_pieces = 0;
        for (size_t k = 0; k < row->n_pieces; k++)
            *n_pieces += row->pieces[k].count;
        if (!row->cut && strcmp(row->pieces[0].label, label) == 0)
            bar = row->bar;
    }
    dw_held_list_free(list);
    assert_true(bar > 0);
    return bar;
}

/* Bars of 3 m less 10 mm of squaring hold two legs and one brace (2400 + 500 + 4, 86 mm over).
 * The second leg of one comes out as 900 mm: that leg needs another bar, the brace that was to
 * follow can come from the spoiled leg or the rest of 2990 - 1202 - 902 = 886 mm. */
static void test_piece_too_short(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct dw_error error = {0};
    int64_t plan = plan_and_hold(saw, job_text), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_SHORT,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .piece = 2,
                             .came_out = 900 * MM};
    assert_int_equal(n, 3);
    dw_err err = miscut(saw, job_text, &what, &result, &error);
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
    assert_int_equal(result.difference, result.after + result.spent - result.before);
    assert_int_equal(result.after, result.plan->totals.value);
    assert_true(result.difference > 0);
    assert_int_equal(result.plan->totals.in_parts, (3 * 1200 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
}

/* The layout of a new bar was cut from B9, 2600 mm: one leg comes out with sawn ends, the other
 * too, then 2600 - 2404 = 196 mm are scrap. */
static void test_wrong_bar(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = plan_and_hold(saw, job_text), n = 0;
    add(saw, "B9", 2600 * MM, 8 * DW_MONEY_ONE);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .number = "B9",
                             .n_done = -1};
    assert_int_equal(miscut(saw, job_text, &what, &result, NULL), DW_OK);
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
    int64_t plan = plan_and_hold(saw, job_text), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_BAR_SHORT,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .measured = 2995 * MM};
    assert_int_equal(miscut(saw, job_text, &what, &result, NULL), DW_OK);
    assert_int_equal(result.n_locked, 0);
    assert_int_equal(result.spent, 120200); /* 24, less 2.995 m at 4 a metre */
    assert_int_equal(result.difference, 0); /* it is cut as before */
    what.plan = result.new_plan;
    dw_miscut_result_free(&result);
    what.bar = bar_with(saw, what.plan, "leg", &n);
    what.measured = 2900 * MM;
    assert_int_equal(miscut(saw, job_text, &what, &result, NULL), DW_OK);
    assert_true(result.difference > 0);
    assert_int_equal(result.plan->totals.in_parts, (4 * 1200 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
}

static void test_refusals(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = plan_and_hold(saw, job_text), n = 0;
    int64_t bar = bar_with(saw, plan, "leg", &n);
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
        assert_int_equal(miscut(saw, job_text, &cases[i].what, &result, &error), cases[i].code);
        if (!strstr(error.text, cases[i].words))
            print_message("%s\n", error.text);
        assert_non_null(strstr(error.text, cases[i].words));
        dw_miscut_result_free(&result);
    }
    char other[sizeof job_text];
    struct dw_error error = {0};
    struct dw_miscut what = {.plan = plan, .bar = bar, .piece = 1, .came_out = MM};
    memcpy(other, job_text, sizeof other);
    memcpy(strstr(other, "count: 2"), "count: 3", 8);
    assert_int_equal(miscut(saw, other, &what, &result, &error), DW_ERR_STATE);
    assert_non_null(strstr(error.text, "not the job that plan 1 was made for"));
}

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
    int64_t plan = plan_and_hold(saw, text), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_SHORT,
                             .plan = plan,
                             .bar = bar_with(saw, plan, label, &n),
                             .piece = piece,
                             .came_out = came_out};
    dw_err err = miscut(saw, text, &what, &result, &error);
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

/* Kept from 600, or from 500 where the brace can come of it; 2990 - 1202 - 552 = 1236 is sound. */
static char keep_600[sizeof job_text];
static void test_spoiled_but_of_use(void **state)
{
    memcpy(keep_600, job_text, sizeof keep_600);
    memcpy(strstr(keep_600, "keep: 300"), "keep: 600", 9);
    spent_on(*state, keep_600, "leg", 2, 550 * MM);
    balance_is(*state, 1200 * MM, (550 + 1236) * MM, 0, 10 * MM, 4 * MM);
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
    int64_t plan = plan_and_hold(saw, job_text), n = 0;
    struct dw_stock stock = {.number = "B9",
                             .material = "S48",
                             .length = length,
                             .value = 8 * DW_MONEY_ONE,
                             .ends = {end, end}};
    assert_int_equal(dw_ledger_add(saw->ledger, &act, &stock, 1, NULL, NULL), DW_OK);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .number = "B9",
                             .n_done = n_done};
    return miscut(saw, job_text, &what, result, error);
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
    int64_t plan = plan_and_hold(saw, job_text), n = 0;
    struct dw_material other = {.id = "S99"};
    struct dw_stock stock = {.number = "T9", .material = "S99", .length = 2600 * MM};
    assert_int_equal(dw_ledger_material_put(saw->ledger, &act, &other, NULL), DW_OK);
    assert_int_equal(dw_ledger_add(saw->ledger, &act, &stock, 1, NULL, NULL), DW_OK);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .number = "T9",
                             .n_done = -1};
    assert_int_equal(miscut(saw, job_text, &what, &result, &error), DW_ERR_INPUT);
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
    int64_t plan = plan_and_hold(saw, text), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_SHORT,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .piece = 2,
                             .came_out = 900 * MM};
    assert_int_equal(miscut(saw, text, &what, &result, NULL), DW_OK);
    assert_int_equal(result.plan->status, DW_STATUS_INFEASIBLE);
    assert_int_equal(result.new_plan, 0);
    dw_miscut_result_free(&result);
}

/* Legs cut from another tube than theirs are no legs: two offcuts of 1200 of that tube, worth
 * nothing until somebody says so, and 2600 - 2404 = 196 of scrap. Both legs are still to be made.
 */
static void test_wrong_tube(void **state)
{
    struct saw *saw = *state;
    static const char text[] =
        "dropwise: 1\nname: stall\nunit: mm\ncurrency: EUR\n"
        "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"
        "rules: {keep: 300, leftover worth: 50 %}\nmaterials: [{id: S48}, {id: S42}]\n"
        "bars:\n  - {id: new, material: S48, length: 3 m, price: 24}\n"
        "  - {id: thin, material: S42, length: 3 m, price: 18}\n"
        "parts:\n  - {label: leg, material: S48, length: 1200, count: 2}\n"
        "  - {label: brace, material: S42, length: 500, count: 1}\n";
    struct dw_miscut_result result;
    int64_t plan = plan_and_hold(saw, text), n = 0;
    struct dw_stock stock = {.number = "T1",
                             .material = "S42",
                             .length = 2600 * MM,
                             .value = 8 * DW_MONEY_ONE,
                             .ends = {DW_END_SAWN, DW_END_SAWN}};
    assert_int_equal(dw_ledger_add(saw->ledger, &act, &stock, 1, NULL, NULL), DW_OK);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = bar_with(saw, plan, "leg", &n),
                             .number = "T1",
                             .n_done = -1};
    assert_int_equal(miscut(saw, text, &what, &result, NULL), DW_OK);
    balance_is(saw, 0, 2400 * MM, 196 * MM, 0, 4 * MM);
    assert_int_equal(result.spent, 80000 + 10000);
    assert_int_equal(result.plan->totals.in_parts, 2900 * MM);
    dw_miscut_result_free(&result);
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
        err = miscut(saw, job_text, &what, &result, &error);
        next = result.new_plan;
        dw_miscut_result_free(&result);
    } else if (bar) {
        err = dw_ledger_cut(saw->ledger, &act, plan, bar->bar, NULL, NULL, NULL, &error);
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
        int64_t plan = plan_and_hold(saw, job_text);
        while (plan)
            plan = cut_one(saw, &dice, plan);
        assert_int_equal(dw_ledger_balance(saw->ledger, &after, NULL), DW_OK);
        assert_int_equal(after.parts - before.parts, (4 * 1200 + 2 * 500) * MM);
    }
}

#define SAW(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_piece_too_short),
        SAW(test_wrong_bar),
        SAW(test_bar_shorter_than_nominal),
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
        SAW(test_no_bar_left_to_buy),
        SAW(test_refusals),
        SAW(test_finished_with_exactly_its_parts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
