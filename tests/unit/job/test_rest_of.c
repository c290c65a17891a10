/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rest of a plan after a wrong cut that left too little tube: planned once other tube is there,
 * as one step, in place of the old plan, and cut to the last bar. All sums are worked by hand. */
#include "base/base.h"
#include "job/rest.h"
#include "tests/support/saw.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

/* SAW_JOB, of whose bars there are two: just enough. */
static const char *scarce(void)
{
    static const char text[] = SAW_JOB;
    static char out[sizeof text + 16];
    const char *price = strstr(text, "price: 24");
    snprintf(out, sizeof out, "%.*scount: 2, %s", (int)(price - text), text, price);
    return out;
}

/* The second leg of a bar comes out as 900 mm: it and the brace behind it are missing, and there is
 * no bar for the leg. */
static int64_t spoil(struct saw *saw, int64_t plan)
{
    struct dw_miscut_result result;
    int64_t n = 0;
    struct dw_miscut what = {
        .plan = plan, .bar = saw_bar_with(saw, plan, "leg", &n), .piece = 2, .came_out = 900 * MM};
    assert_int_equal(saw_miscut(saw, scarce(), &what, &result, NULL), DW_OK);
    assert_int_equal(result.plan->status, DW_STATUS_INFEASIBLE);
    assert_int_equal(result.new_plan, 0);
    dw_miscut_result_free(&result);
    return what.bar;
}

static dw_err plan_rest(struct saw *saw, const char *text, int64_t plan, const char *path,
                        struct dw_miscut_result *result, struct dw_error *error)
{
    struct dw_miscut what = {.kind = DW_MISCUT_REST, .plan = plan};
    struct dw_job *job = NULL;
    dw_err err = saw_redo(saw, text, &what, path, NULL, &job, result, error);
    dw_job_free(job);
    return err;
}

static void plan_is(struct saw *saw, int64_t plan, bool open, int64_t n_cut, int64_t n_missing)
{
    struct dw_held_list *list = NULL;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    assert_int_equal(list->rows[0].open, open);
    assert_int_equal(list->rows[0].n_cut, n_cut);
    assert_int_equal(list->rows[0].n_missing, n_missing);
    dw_held_list_free(list);
}

static enum dw_state state_of(struct saw *saw, const char *number)
{
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.number = number, .states = ~0u};
    assert_int_equal(dw_ledger_list(saw->ledger, &query, &list, NULL), DW_OK);
    assert_int_equal(list->n, 1);
    enum dw_state state = list->rows[0].state;
    dw_stock_list_free(list);
    return state;
}

static void refused(struct saw *saw, const char *text, int64_t plan, dw_err code, const char *words)
{
    struct dw_miscut_result result;
    struct dw_error error = {0};
    int64_t before = saw_last_step(saw);
    assert_int_equal(plan_rest(saw, text, plan, NULL, &result, &error), code);
    if (!strstr(error.text, words))
        fail_msg("%s", error.text);
    assert_int_equal(saw_last_step(saw), before);
    dw_miscut_result_free(&result);
}

/* --- the whole way ---------------------------------------------------------------------------- */

/* T1, 1300 mm for 5.00, gives the leg and 98 mm of scrap: 5.50 with the cut. One brace comes from
 * the spoiled leg: it counts 398 mm at 4 a metre, 1.592, and leaves as much, so that it adds its
 * cut of 0.50; booked at 0 it stands for 0.50 - 1.592. The other one comes from the sound
 * rest, 3.544 for 886 mm, of which 384 mm are kept for 1.536: 2.508. So the bar that is left, which
 * was to be cut for 24 and five cuts, 26.50, gives two legs by four cuts and keeps 586 mm
 * for 2.344: 23.656. Together 32.164; with the brace from that bar and no sound rest it would
 * be 32.50. */
static void test_tube_comes_and_the_rest_is_planned(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct dw_error error = {0};
    char path[96];
    snprintf(path, sizeof path, "%s/rest.json", saw->folder);
    int64_t plan = saw_plan_and_hold(saw, scarce());
    spoil(saw, plan);
    plan_is(saw, plan, true, 1, 2);
    saw_add(saw, "T1", 1300 * MM, 5 * DW_MONEY_ONE);
    int64_t before = saw_last_step(saw);
    dw_err err = plan_rest(saw, scarce(), plan, path, &result, &error);
    if (err)
        fail_msg("%s", error.text);
    assert_int_equal(result.step, before + 1);
    assert_int_equal(saw_last_step(saw), before + 1);
    assert_int_equal(result.new_plan, plan + 1);
    assert_int_equal(result.plan->replaces, plan);
    assert_int_equal(result.plan->totals.in_parts, (3 * 1200 + 2 * 500) * MM);
    assert_int_equal(result.n_locked, 1);
    assert_int_equal(result.before, 240000 + 5 * 5000);
    assert_int_equal(result.spent, 0);
    assert_int_equal(result.after, 236560 + 55000 + 5000 - 15920 + 25080);
    assert_int_equal(result.difference, 40720);
    assert_int_equal(result.revalued, 15920);
    assert_int_equal(result.plan->totals.value, 321640);
    assert_true(result.written);
    plan_is(saw, plan, false, 1, 2);
    assert_int_equal(state_of(saw, "T1"), DW_STATE_HELD);
    dw_miscut_result_free(&result);
    /* its document is proved from the job as written */
    struct dw_job *fresh = saw_load(saw, scarce());
    struct dw_plan *read = NULL;
    struct dw_job_source source = {.path = path};
    assert_int_equal(dw_job_verify(fresh, &source, &read, NULL, &saw->report, NULL), DW_OK);
    assert_int_equal(read->replaces, plan);
    dw_plan_free(read);
    dw_job_free(fresh);
    /* to the last bar: each part is there once */
    size_t n = 0;
    assert_int_equal(
        dw_ledger_cut_bars(saw->ledger, &saw_act, plan + 1, NULL, 0, NULL, &n, NULL, NULL), DW_OK);
    assert_int_equal(n, 4);
    assert_int_equal(saw_balance(saw).parts, (4 * 1200 + 2 * 500) * MM);
    plan_is(saw, plan + 1, true, 4, 0);
    refused(saw, scarce(), plan + 1, DW_ERR_STATE, "every part of plan 2 is cut");
}

/* All bars are cut before tube comes: nothing was planned any more, what is missing costs all that
 * it takes. */
static void test_all_bars_are_cut_before(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    int64_t bar = spoil(saw, plan);
    assert_int_equal(dw_ledger_cut(saw->ledger, &saw_act, plan, 3 - bar, NULL, NULL, NULL, NULL),
                     DW_OK);
    plan_is(saw, plan, true, 2, 2);
    saw_add(saw, "T1", 1300 * MM, 5 * DW_MONEY_ONE);
    assert_int_equal(plan_rest(saw, scarce(), plan, NULL, &result, NULL), DW_OK);
    assert_int_equal(result.n_locked, 2);
    assert_int_equal(result.before, 0);
    assert_int_equal(result.after, 44080);
    assert_int_equal(result.plan->totals.in_parts, (1200 + 500) * MM);
    dw_miscut_result_free(&result);
    size_t n = 0;
    assert_int_equal(
        dw_ledger_cut_bars(saw->ledger, &saw_act, plan + 1, NULL, 0, NULL, &n, NULL, NULL), DW_OK);
    assert_int_equal(saw_balance(saw).parts, (4 * 1200 + 2 * 500) * MM);
}

static void test_one_undo(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    spoil(saw, plan);
    saw_add(saw, "T1", 1300 * MM, 5 * DW_MONEY_ONE);
    const struct dw_balance before = saw_balance(saw);
    assert_int_equal(plan_rest(saw, scarce(), plan, NULL, &result, NULL), DW_OK);
    struct dw_deed deed;
    assert_int_equal(dw_ledger_deed(saw->ledger, result.step, &deed, NULL), DW_OK);
    assert_string_equal(deed.what, "plan 2 held in place of plan 1");
    dw_miscut_result_free(&result);
    saw_undo(saw);
    struct dw_balance after = saw_balance(saw);
    assert_memory_equal(&before, &after, sizeof after);
    plan_is(saw, plan, true, 1, 2);
    assert_int_equal(state_of(saw, "T1"), DW_STATE_SHELF);
    /* and it is found once more */
    assert_int_equal(plan_rest(saw, scarce(), plan, NULL, &result, NULL), DW_OK);
    assert_int_equal(result.after, 305720);
    dw_miscut_result_free(&result);
}

/* --- when it is not possible ------------------------------------------------------------------ */

static void test_still_too_little_tube(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    spoil(saw, plan);
    saw_add(saw, "T1", 1200 * MM - 1, 5 * DW_MONEY_ONE); /* a nanometre less than the leg */
    int64_t before = saw_last_step(saw);
    assert_int_equal(plan_rest(saw, scarce(), plan, NULL, &result, NULL), DW_OK);
    assert_int_equal(result.plan->status, DW_STATUS_INFEASIBLE);
    assert_int_equal(result.step, 0);
    assert_int_equal(result.new_plan, 0);
    assert_int_equal(saw_last_step(saw), before);
    dw_miscut_result_free(&result);
    plan_is(saw, plan, true, 1, 2);
    saw_add(saw, "T2", 1200 * MM, 5 * DW_MONEY_ONE);
    assert_int_equal(plan_rest(saw, scarce(), plan, NULL, &result, NULL), DW_OK);
    assert_int_equal(result.new_plan, plan + 1);
    dw_miscut_result_free(&result);
}

static void test_refusals(void **state)
{
    struct saw *saw = *state;
    size_t n = 0;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    refused(saw, scarce(), 9, DW_ERR_NOTFOUND, "there is no plan 9");
    refused(saw, SAW_JOB, plan, DW_ERR_STATE, "not the job that plan 1 was made for");
    assert_int_equal(dw_ledger_cut_bars(saw->ledger, &saw_act, plan, NULL, 0, NULL, &n, NULL, NULL),
                     DW_OK);
    refused(saw, scarce(), plan, DW_ERR_STATE,
            "every part of plan 1 is cut: there is no rest to plan");
    saw_undo(saw);
    assert_int_equal(dw_ledger_release(saw->ledger, &saw_act, plan, NULL, NULL), DW_OK);
    refused(saw, scarce(), plan, DW_ERR_STATE, "plan 1 is closed");
}

/* The job is not made once more because its bars are all cut: two of its pieces are missing. */
static void test_the_job_is_not_held_twice(void **state)
{
    struct saw *saw = *state;
    int64_t found = 0;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    struct dw_job *job = saw_load(saw, scarce());
    uint64_t digest = dw_job_digest(job);
    dw_job_free(job);
    int64_t bar = spoil(saw, plan);
    assert_int_equal(dw_ledger_cut(saw->ledger, &saw_act, plan, 3 - bar, NULL, NULL, NULL, NULL),
                     DW_OK);
    assert_int_equal(dw_ledger_plan_of(saw->ledger, digest, &found, NULL), DW_OK);
    assert_int_equal(found, plan);
    saw_undo(saw);
    saw_undo(saw);
    size_t n = 0;
    assert_int_equal(dw_ledger_cut_bars(saw->ledger, &saw_act, plan, NULL, 0, NULL, &n, NULL, NULL),
                     DW_OK);
    assert_int_equal(dw_ledger_plan_of(saw->ledger, digest, &found, NULL), DW_OK);
    assert_int_equal(found, 0);
}

/* --- and when nothing is missing -------------------------------------------------------------- */

/* A long offcut came that is cheaper than a bar: what is not cut is planned with it. 2990 mm with
 * sawn ends for 3.00 give what a bar gives for 24 and two squarings; it counts the worth of what it
 * would leave, 2990 - 500 - 2 = 2488 mm at 4 a metre, 9.952. */
static void test_other_tube_came(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    saw_add(saw, "T1", 2990 * MM, 3 * DW_MONEY_ONE);
    assert_int_equal(plan_rest(saw, scarce(), plan, NULL, &result, NULL), DW_OK);
    assert_int_equal(result.n_locked, 0);
    assert_int_equal(result.before, 2 * 265000);
    assert_int_equal(result.after, 265000 + 30000 + 3 * 5000);
    assert_int_equal(result.revalued, 99520 - 30000);
    dw_miscut_result_free(&result);
}

/* Somebody takes the tube while the rest is planned: it is planned again without, and there is
 * none. */
struct meanwhile {
    struct saw *saw;
    int times;
};

static bool scrap_once(void *user)
{
    struct meanwhile *meanwhile = user;
    static const char *const number = "T1";
    char path[96];
    struct dw_ledger *other = NULL;
    if (meanwhile->times++ > 0)
        return false;
    snprintf(path, sizeof path, "%s/shelf.db", meanwhile->saw->folder);
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_WRITE, 1000, &other, NULL), DW_OK);
    assert_int_equal(dw_ledger_scrap(other, &saw_act, &number, 1, NULL, NULL), DW_OK);
    dw_ledger_close(other);
    return false;
}

static void test_the_tube_is_taken_meanwhile(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct meanwhile meanwhile = {.saw = saw};
    struct dw_hooks hooks = {.stop = scrap_once, .user = &meanwhile};
    struct dw_job *job = NULL;
    int64_t plan = saw_plan_and_hold(saw, scarce());
    spoil(saw, plan);
    saw_add(saw, "T1", 1300 * MM, 5 * DW_MONEY_ONE);
    int64_t before = saw_last_step(saw);
    struct dw_miscut what = {.kind = DW_MISCUT_REST, .plan = plan};
    assert_int_equal(saw_redo(saw, scarce(), &what, NULL, &hooks, &job, &result, NULL), DW_OK);
    assert_true(meanwhile.times > 0);
    assert_int_equal(result.plan->status, DW_STATUS_INFEASIBLE);
    assert_int_equal(saw_last_step(saw), before + 1); /* the scrapping */
    dw_miscut_result_free(&result);
    dw_job_free(job);
    plan_is(saw, plan, true, 1, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_tube_comes_and_the_rest_is_planned),
        SAW(test_all_bars_are_cut_before),
        SAW(test_one_undo),
        SAW(test_still_too_little_tube),
        SAW(test_refusals),
        SAW(test_the_job_is_not_held_twice),
        SAW(test_other_tube_came),
        SAW(test_the_tube_is_taken_meanwhile),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
