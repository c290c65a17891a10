/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A wrong cut, a bar measured, a true length: each is one step and one undo, whatever others do at
 * the same shelf meanwhile; and in the end each part is there once. */
#include "base/base.h"
#include "job/rest.h"
#include "tests/support/saw.h"
#include "tests/support/shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

/* --- one step, one undo ----------------------------------------------------------------------- */

static void test_one_undo_takes_all_of_it_back(void **state)
{
    struct saw *saw = *state;
    saw_add(saw, "K1", 1250 * MM, 2 * DW_MONEY_ONE);
    int64_t plan = saw_plan_and_hold(saw, SAW_BOOTH), n = 0;
    const struct dw_true_length length = {4, 1810 * MM};
    const struct dw_miscut whats[] = {
        {.kind = DW_MISCUT_SHORT, .piece = 1, .came_out = 900 * MM},
        {.kind = DW_MISCUT_WRONG_BAR, .number = "K9", .n_done = -1},
        {.kind = DW_MISCUT_BAR_SHORT, .measured = 5980 * MM},
        {.kind = DW_MISCUT_TRUE, .n_trues = 1, .trues = &length},
        {.kind = DW_MISCUT_TRUE, .n_trues = 1, .trues = &length, .n_done = 2},
    };
    saw_add(saw, "K9", 2500 * MM, 3 * DW_MONEY_ONE);
    const struct dw_balance before = saw_balance(saw);
    for (size_t i = 0; i < DW_COUNT(whats); i++) {
        struct dw_miscut what = whats[i];
        struct dw_miscut_result result;
        struct dw_error error = {0};
        struct dw_job *job = NULL;
        int64_t step = saw_last_step(saw);
        what.plan = plan;
        what.bar = saw_bar_with(saw, plan, "leg", &n);
        struct dw_true_length last = {n, 1810 * MM};
        if (what.n_trues)
            what.trues = &last;
        dw_err err = saw_redo(saw, SAW_BOOTH, &what, NULL, NULL, &job, &result, &error);
        if (err)
            fail_msg("%zu: %s", i, error.text);
        assert_int_equal(result.step, step + 1);
        assert_int_equal(saw_last_step(saw), step + 1);
        assert_true(result.new_plan > plan);
        assert_int_equal(result.plan->number, result.new_plan);
        assert_int_equal(result.plan->replaces, plan);
        dw_miscut_result_free(&result);
        dw_job_free(job);
        saw_undo(saw);
        saw_is_untouched(saw, plan);
        struct dw_balance after = saw_balance(saw);
        assert_memory_equal(&before, &after, sizeof after);
    }
}

static void test_bars_are_one_step(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), step = 0, before = saw_last_step(saw);
    size_t n = 0;
    const int64_t wrong[] = {1, 3}, one[] = {2};
    struct dw_error error = {0};
    assert_int_equal(
        dw_ledger_cut_bars(saw->ledger, &saw_act, plan, wrong, 2, NULL, &n, &step, &error),
        DW_ERR_NOTFOUND);
    saw_is_untouched(saw, plan);
    assert_int_equal(dw_ledger_cut_bars(saw->ledger, &saw_act, plan, one, 1, NULL, &n, &step, NULL),
                     DW_OK);
    saw_undo(saw);
    assert_int_equal(
        dw_ledger_cut_bars(saw->ledger, &saw_act, plan, NULL, 0, "bin", &n, &step, NULL), DW_OK);
    assert_int_equal(n, 2);
    assert_int_equal(step, before + 3);
    error = (struct dw_error){0};
    assert_int_equal(
        dw_ledger_cut_bars(saw->ledger, &saw_act, plan, NULL, 0, NULL, &n, NULL, &error),
        DW_ERR_STATE);
    assert_non_null(strstr(error.text, "every bar of plan 1 is cut already"));
    saw_undo(saw);
    saw_is_untouched(saw, plan);
}

/* A part that failed spoils the whole, also when the caller goes on as if it had not. */
static void test_a_failed_part_fails_the_step(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), before = saw_last_step(saw), step = 1;
    assert_int_equal(dw_ledger_step_begin(saw->ledger, &saw_act, DW_STEP_CUT, plan, NULL), DW_OK);
    assert_int_equal(dw_ledger_cut(saw->ledger, &saw_act, plan, 1, NULL, NULL, NULL, NULL), DW_OK);
    assert_int_equal(dw_ledger_cut(saw->ledger, &saw_act, plan, 1, NULL, NULL, NULL, NULL),
                     DW_ERR_STATE);
    assert_int_equal(dw_ledger_step_end(saw->ledger, DW_OK, &step, NULL), DW_ERR_STATE);
    assert_int_equal(step, 0);
    assert_int_equal(saw_last_step(saw), before);
    saw_is_untouched(saw, plan);
}

/* --- others meanwhile ------------------------------------------------------------------------- */

/* What happens once, while the rest is planned. */
struct meanwhile {
    struct saw *saw;
    void (*act)(struct meanwhile *);
    int64_t plan, bar;
    char path[96];
    int times;
};

static bool interfere(void *user)
{
    struct meanwhile *meanwhile = user;
    if (meanwhile->times++ == 0)
        meanwhile->act(meanwhile);
    return false;
}

static struct dw_ledger *other_door(struct saw *saw)
{
    char path[96];
    struct dw_ledger *ledger = NULL;
    snprintf(path, sizeof path, "%s/shelf.db", saw->folder);
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_WRITE, 1000, &ledger, NULL), DW_OK);
    return ledger;
}

static void cut_another_bar(struct meanwhile *meanwhile)
{
    struct dw_ledger *ledger = other_door(meanwhile->saw);
    assert_int_equal(dw_ledger_cut(ledger, &saw_act, meanwhile->plan, 3 - meanwhile->bar, NULL,
                                   NULL, NULL, NULL),
                     DW_OK);
    dw_ledger_close(ledger);
}

/* Somebody cuts the plan's other bar while the rest is planned: it is planned again without it. */
static void test_another_bar_is_cut_meanwhile(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    int64_t bar = saw_bar_with(saw, plan, "leg", &n);
    struct meanwhile meanwhile = {.saw = saw, .act = cut_another_bar, .plan = plan, .bar = bar};
    struct dw_hooks hooks = {.stop = interfere, .user = &meanwhile};
    struct dw_miscut what = {.plan = plan, .bar = bar, .piece = 2, .came_out = 900 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, NULL, &hooks, &job, &result, NULL), DW_OK);
    assert_true(meanwhile.times > 0);
    assert_int_equal(result.n_locked, 2);
    assert_int_equal(result.plan->totals.in_parts,
                     (1200 + 500) * MM); /* of two legs' bars, a leg */
    assert_int_equal(saw_balance(saw).parts, (1200 + 2400 + 500) * MM);
    dw_miscut_result_free(&result);
    dw_job_free(job);
    saw_undo(saw); /* the mishap alone */
    struct dw_held_list *list = NULL;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    assert_true(list->rows[0].open);
    assert_int_equal(list->rows[0].n_cut, 1);
    dw_held_list_free(list);
}

static void scrap_the_offcut(struct meanwhile *meanwhile)
{
    struct dw_ledger *ledger = other_door(meanwhile->saw);
    const char *numbers[] = {"K5"};
    assert_int_equal(dw_ledger_scrap(ledger, &saw_act, numbers, 1, NULL, NULL), DW_OK);
    dw_ledger_close(ledger);
}

/* An offcut that the new plan would take is thrown away meanwhile. */
static void test_a_piece_goes_meanwhile(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    saw_add(saw, "K5", 1250 * MM, 0);
    struct meanwhile meanwhile = {.saw = saw, .act = scrap_the_offcut};
    struct dw_hooks hooks = {.stop = interfere, .user = &meanwhile};
    struct dw_miscut what = {
        .plan = plan, .bar = saw_bar_with(saw, plan, "leg", &n), .piece = 2, .came_out = 900 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, NULL, &hooks, &job, &result, NULL), DW_OK);
    for (size_t i = 0; i < result.plan->n_takes; i++)
        assert_string_not_equal(job->supplies[result.plan->takes[i].supply].id, "K5");
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

static void make_the_file(struct meanwhile *meanwhile)
{
    assert_int_equal(dw_file__write(meanwhile->path, "mine", 4, false, NULL), DW_OK);
}

/* The file appears while the rest is planned: it stays, and nothing is booked. */
static void test_no_file_no_booking(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0, before = saw_last_step(saw);
    struct meanwhile meanwhile = {.saw = saw, .act = make_the_file};
    snprintf(meanwhile.path, sizeof meanwhile.path, "%s/rest.json", saw->folder);
    struct dw_hooks hooks = {.stop = interfere, .user = &meanwhile};
    struct dw_miscut what = {
        .plan = plan, .bar = saw_bar_with(saw, plan, "leg", &n), .piece = 2, .came_out = 900 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, meanwhile.path, &hooks, &job, &result, NULL),
                     DW_ERR_EXISTS);
    assert_int_equal(result.step, 0);
    assert_int_equal(result.new_plan, 0);
    assert_false(result.written);
    assert_int_equal(saw_last_step(saw), before);
    saw_is_untouched(saw, plan);
    char *text = NULL;
    size_t size = 0;
    assert_int_equal(dw_file__read(meanwhile.path, 100, &text, &size, NULL), DW_OK);
    assert_string_equal(text, "mine");
    free(text);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* --- shelves of older programs ---------------------------------------------------------------- */

/* A mishap as two steps: the cut, and a plan whose document does not say what of the job it is. */
static int64_t older_mishap(struct saw *saw, int64_t plan)
{
    struct dw_held_list *list = NULL;
    struct dw_job *job = saw_load(saw, SAW_JOB);
    struct dw_job_request how = {0};
    struct dw_plan *rest = NULL;
    struct dw_off off[] = {{.length = 900 * MM, .keep = true, .far = DW_END_SAWN},
                           {.length = 886 * MM, .keep = true, .value = 35440, .far = DW_END_SAWN}};
    struct dw_cut cut = {.n_done = 1, .trim = 10 * MM, .n_loose = 2, .loose = off};
    int64_t n_cut = 0, id = 0, n = 0;
    assert_int_equal(dw_ledger_cut(saw->ledger, &saw_act, plan, saw_bar_with(saw, plan, "leg", &n),
                                   &cut, NULL, NULL, NULL),
                     DW_OK);
    dw_settings_default(&how.settings);
    how.settings.work = 1000;
    assert_int_equal(dw_rest__open(saw->ledger, plan, job, &list, NULL), DW_OK);
    struct dw_hold hold = {.job_digest = list->rows[0].job_digest, .replaces = plan};
    assert_int_equal(dw_rest__reduce(saw->ledger, &list->rows[0], NULL, 0, job, &n_cut, NULL),
                     DW_OK);
    assert_int_equal(dw_job_plan(job, &how, &rest, NULL), DW_OK);
    const size_t *part_of = job->part_of;
    char *text = NULL;
    job->part_of = NULL;
    assert_int_equal(dw_plan_to_json(job, rest, &text, NULL), DW_OK);
    assert_null(strstr(text, "\"rest\": {"));
    job->part_of = part_of;
    hold.document = text;
    assert_int_equal(dw_ledger_hold(saw->ledger, &saw_act, job, rest, &hold, &id, NULL, NULL),
                     DW_OK);
    free(text);
    dw_plan_free(rest);
    dw_held_list_free(list);
    dw_job_free(job);
    return id;
}

static void test_a_mishap_in_two_steps(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    int64_t next = older_mishap(saw, plan);
    struct dw_miscut what = {
        .plan = next, .bar = saw_bar_with(saw, next, "leg", &n), .piece = 1, .came_out = 300 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_int_equal(result.n_locked, 2);
    assert_int_equal(result.plan->totals.in_parts, (3 * 1200 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
    dw_job_free(job);
    saw_undo(saw); /* of this one */
    saw_undo(saw); /* of the plan */
    struct dw_held_list *list = NULL;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    assert_true(list->rows[0].open);
    assert_int_equal(list->rows[0].n_cut, 1);
    assert_int_equal(list->rows[0].n_missing, 2); /* a leg and the brace behind it */
    dw_held_list_free(list);
    saw_undo(saw); /* of the cut */
    saw_is_untouched(saw, plan);
}

/* --- to the end, come what may ---------------------------------------------------------------- */

/* Good pieces of each part of the job as written that its plans have cut. */
static void count_parts(struct saw *saw, int64_t plan, int64_t count[3])
{
    memset(count, 0, 3 * sizeof *count);
    while (plan) {
        struct dw_held_list *list = NULL;
        struct dw_rest_piece piece;
        assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
        for (size_t i = 0; i < list->rows[0].n_bars; i++)
            for (int64_t k = 0; k < list->rows[0].bars[i].n_done &&
                                dw_rest__piece(&list->rows[0].bars[i], k, &piece);
                 k++)
                if (piece.use == DW_USE_PART)
                    count[piece.part]++;
        plan = list->rows[0].replaces;
        dw_held_list_free(list);
    }
}

/* What goes wrong with a bar, or what is measured of it; kind 4: nothing. */
static struct dw_miscut draw_mishap(struct saw *saw, struct shop *dice, int64_t plan,
                                    const struct dw_held_bar *bar, struct dw_true_length *length)
{
    struct dw_miscut what = {.plan = plan, .bar = bar->bar, .n_done = 0};
    struct dw_job *job = saw_load(saw, SAW_BOOTH);
    struct dw_held_list *list = NULL;
    struct dw_rest_piece piece;
    int64_t n = 0;
    assert_int_equal(dw_rest__open(saw->ledger, plan, job, &list, NULL), DW_OK);
    while (dw_rest__piece(&list->rows[0].bars[bar->bar - 1], n, &piece))
        n++;
    bool unknown = job->parts[piece.part].measure_first;
    uint64_t drawn = shop_draw(dice, 4);
    if (drawn == 0) {
        what.kind = DW_MISCUT_SHORT;
        what.piece = 1 + (int64_t)shop_draw(dice, (uint64_t)n);
        what.came_out = (dw_length)(1 + shop_draw(dice, 399)) * MM;
    } else if (drawn == 1 && unknown) {
        *length = (struct dw_true_length){n, (dw_length)(1700 + shop_draw(dice, 150)) * MM};
        what.kind = DW_MISCUT_TRUE;
        what.n_trues = 1;
        what.trues = length;
        what.n_done = (int64_t)shop_draw(dice, (uint64_t)n);
    } else if (drawn == 2) {
        what.kind = DW_MISCUT_BAR_SHORT;
        what.measured = bar->length - (dw_length)shop_draw(dice, 100) * MM;
    } else {
        what.bar = 0;
    }
    dw_held_list_free(list);
    dw_job_free(job);
    return what;
}

/* The plan that goes on; *last is the one that was cut from. 0 = all is cut. */
static int64_t cut_one(struct saw *saw, struct shop *dice, int64_t plan)
{
    struct dw_held_list *list = NULL;
    const struct dw_held_bar *bar = NULL;
    struct dw_error error = {0};
    struct dw_true_length length;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    for (size_t i = 0; i < list->rows[0].n_bars && !bar; i++)
        bar = list->rows[0].bars[i].cut ? NULL : &list->rows[0].bars[i];
    int64_t next = bar ? plan : 0;
    struct dw_miscut what = {0};
    if (bar)
        what = draw_mishap(saw, dice, plan, bar, &length);
    dw_err err = DW_OK;
    if (what.bar) {
        struct dw_miscut_result result;
        struct dw_job *job = NULL;
        err = saw_redo(saw, SAW_BOOTH, &what, NULL, NULL, &job, &result, &error);
        bool back = !err && result.step && shop_draw(dice, 4) == 0;
        next = result.new_plan && !back ? result.new_plan : plan;
        if (back)
            saw_undo(saw);
        dw_miscut_result_free(&result);
        dw_job_free(job);
    } else if (bar) {
        err = dw_ledger_cut(saw->ledger, &saw_act, plan, bar->bar, NULL, NULL, NULL, &error);
    }
    if (err)
        fail_msg("%s", error.text);
    dw_held_list_free(list);
    return next;
}

static void test_each_part_exactly_once(void **state)
{
    struct saw *saw = *state;
    struct shop dice = {.seed = 2027};
    struct dw_report report = {0};
    char text[sizeof SAW_BOOTH];
    memcpy(text, SAW_BOOTH, sizeof text);
    for (int i = 0; i < 12; i++) {
        int64_t count[3], plan = saw_plan_and_hold(saw, text), last = 0;
        for (int k = 0; plan && k < 60; k++) {
            last = plan;
            plan = cut_one(saw, &dice, plan);
        }
        assert_int_equal(plan, 0);
        count_parts(saw, last, count);
        assert_int_equal(count[0], 4);
        assert_int_equal(count[1], 2);
        assert_int_equal(count[2], 2);
    }
    assert_int_equal(dw_ledger_check(saw->ledger, &report, NULL), DW_OK);
    dw_report_free(&report);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_one_undo_takes_all_of_it_back), SAW(test_bars_are_one_step),
        SAW(test_a_failed_part_fails_the_step),  SAW(test_another_bar_is_cut_meanwhile),
        SAW(test_a_piece_goes_meanwhile),        SAW(test_no_file_no_booking),
        SAW(test_a_mishap_in_two_steps),         SAW(test_each_part_exactly_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
