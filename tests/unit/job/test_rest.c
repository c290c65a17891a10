/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plan of a rest: its document, its money, the bars that are in the shop, true lengths. */
#include "base/base.h"
#include "tests/support/saw.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

/* --- the document ----------------------------------------------------------------------------- */

static void test_document_of_the_rest(void **state)
{
    struct saw *saw = *state;
    char path[96];
    snprintf(path, sizeof path, "%s/rest.json", saw->folder);
    saw_add(saw, "K1", 1250 * MM, 2 * DW_MONEY_ONE);
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    struct dw_miscut what = {
        .plan = plan, .bar = saw_bar_with(saw, plan, "leg", &n), .piece = 1, .came_out = 700 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, path, NULL, &job, &result, NULL), DW_OK);
    assert_true(result.written);
    struct dw_job *fresh = saw_load(saw, SAW_JOB);
    struct dw_plan *read = NULL;
    struct dw_job_source source = {.path = path};
    assert_int_equal(dw_job_verify(fresh, &source, &read, NULL, &saw->report, NULL), DW_OK);
    assert_int_equal(read->number, result.new_plan);
    assert_int_equal(read->replaces, plan);
    assert_int_equal(read->totals.value, result.plan->totals.value);
    assert_int_equal(fresh->n_parts, job->n_parts);
    for (size_t i = 0; i < job->n_parts; i++) {
        assert_int_equal(fresh->part_of[i], job->part_of[i]);
        assert_int_equal(fresh->parts[i].count, job->parts[i].count);
    }
    dw_plan_free(read);
    dw_job_free(fresh);
    /* the shelf keeps the same text */
    struct dw_held_list *list = NULL;
    char *text = NULL;
    size_t size = 0;
    assert_int_equal(dw_file__read(path, 1 << 20, &text, &size, NULL), DW_OK);
    assert_int_equal(dw_ledger_plan(saw->ledger, result.new_plan, &list, NULL), DW_OK);
    assert_string_equal(list->rows[0].document, text);
    dw_held_list_free(list);
    free(text);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* What a document may not say of the rest. */
static void test_documents_that_are_refused(void **state)
{
    struct saw *saw = *state;
    static const struct {
        const char *rest;
        const char *words;
    } cases[] = {
        {"{\"parts\": []}", "member `bars` is missing"},
        {"{\"parts\": [], \"bars\": [], \"cuts\": []}", "member `cuts` is not known"},
        {"{\"parts\": [{\"part\": {\"index\": 3, \"label\": \"leg\"}, \"count\": 1, \"measured\":"
         " {\"nm\": 0, \"text\": \"0 mm\"}}], \"bars\": []}",
         "no part has index 3"},
        {"{\"parts\": [{\"part\": {\"index\": 0, \"label\": \"arm\"}, \"count\": 1, \"measured\":"
         " {\"nm\": 0, \"text\": \"0 mm\"}}], \"bars\": []}",
         "part 0 of the job is `leg`"},
        {"{\"parts\": [{\"part\": {\"index\": 0, \"label\": \"leg\"}, \"count\": 5, \"measured\":"
         " {\"nm\": 0, \"text\": \"0 mm\"}}], \"bars\": []}",
         "more of leg than the job has"},
        {"{\"parts\": [{\"part\": {\"index\": 0, \"label\": \"leg\"}, \"count\": 1, \"measured\":"
         " {\"nm\": 5, \"text\": \"0.000005 mm\"}}], \"bars\": []}",
         "not one to be measured first"},
        {"{\"parts\": [{\"part\": null, \"count\": 1, \"measured\": {\"nm\": 0, \"text\": \"0 "
         "mm\"}}],"
         " \"bars\": []}",
         "what remains is of a part"},
        {"{\"parts\": [], \"bars\": [{\"supply\": {\"index\": 0, \"id\": \"new\"}, \"count\": "
         "-1}]}",
         "-1 is out of range"},
    };
    for (size_t i = 0; i < DW_COUNT(cases); i++) {
        struct dw_job *job = saw_load(saw, SAW_BOOTH);
        struct dw_error error = {0};
        char text[512];
        int n = snprintf(text, sizeof text,
                         "{\"format\": \"dropwise plan\", \"version\": 2, \"rest\": %s}",
                         cases[i].rest);
        assert_int_equal(dw_plan_bring(text, (size_t)n, "plan.json", job, &error), DW_ERR_INPUT);
        if (!strstr(error.text, cases[i].words))
            fail_msg("%zu: %s", i, error.text);
        assert_int_equal(job->n_parts, 3);
        assert_null(job->part_of);
        dw_job_free(job);
    }
}

/* --- what it costs ---------------------------------------------------------------------------- */

/* K1, 1250 mm, is booked at 2.00 and counted at 4 (1250 - 500 - 2) mm = 2.992 a metre. It is to
 * give a leg; one bar two legs, with 2990 - 2404 = 586 mm left; one a leg and two braces, with 2990
 * - 2206 = 784 mm left. A leg of another bar is cut from K1: its own comes from there instead, and
 * all is as it was to be. */
static void test_a_piece_has_one_value(void **state)
{
    struct saw *saw = *state;
    saw_add(saw, "K1", 1250 * MM, 2 * DW_MONEY_ONE);
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .number = "K1",
                             .n_done = -1};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    /* two bars, K1, ten cuts, less what is left; then K1 and one cut; then the rest */
    assert_int_equal(result.before, 480000 + 29920 + 50000 - 23440 - 31360);
    assert_int_equal(result.spent, 29920 + 5000);
    assert_int_equal(result.after, 480000 + 45000 - 23440 - 31360);
    assert_int_equal(result.difference, 0);
    assert_int_equal(result.revalued, 0);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* --- bars that are in the shop ---------------------------------------------------------------- */

/* The second leg of a bar comes out as 900 mm. */
static void leg_too_short(struct saw *saw, const char *text, struct dw_job **job,
                          struct dw_miscut_result *result)
{
    int64_t n = 0, plan = 1;
    struct dw_error error = {0};
    struct dw_miscut what = {
        .plan = plan, .bar = saw_bar_with(saw, plan, "leg", &n), .piece = 2, .came_out = 900 * MM};
    if (saw_redo(saw, text, &what, NULL, NULL, job, result, &error))
        fail_msg("%s", error.text);
}

/* Bars come in packs of four, two are needed, leftovers are worth nothing. With the bar that is cut
 * wrong the whole pack comes; the plan of the rest has enough with it and buys nothing. It costs a
 * bar and, with 4 made on the spoiled one and 9 for the rest, three cuts more than the 10 planned.
 */
static void test_bars_to_spare_cost_nothing(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    char text[sizeof SAW_JOB + 16];
    const char *price = strstr(SAW_JOB, "price: 24");
    snprintf(text, sizeof text, "%.*spack: 4, %s", (int)(price - SAW_JOB), SAW_JOB, price);
    memcpy(strstr(text, "50 %"), " 0 %", 4);
    assert_int_equal(saw_plan_and_hold(saw, text), 1);
    leg_too_short(saw, text, &job, &result);
    assert_int_equal(result.before, 480000 + 50000);
    assert_int_equal(result.spent, 240000 + 20000);
    assert_int_equal(result.after, 480000 + 45000);
    assert_int_equal(result.difference, 240000 + 15000);
    assert_int_equal(result.revalued, 0);
    assert_int_equal(result.plan->totals.bars, 0);
    assert_int_equal(saw_balance(saw).in, 4 * 3000 * MM);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* Both bars are here and were dearer than planned: the one that is left is cut nevertheless, not
 * one bought anew and this one sent back. */
static void test_a_bar_that_is_here_is_used(void **state)
{
    struct saw *saw = *state;
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB);
    const dw_money paid[] = {260000, 260000};
    const struct dw_arrival row = {.supply = "new", .n = 2, .values = paid};
    const struct dw_delivery delivery = {.n = 1, .rows = &row};
    assert_int_equal(dw_ledger_deliver(saw->ledger, &saw_act, plan, &delivery, NULL, NULL), DW_OK);
    leg_too_short(saw, SAW_JOB, &job, &result);
    assert_int_equal(result.difference,
                     128760); /* as in test_miscut.c, where they come at the saw */
    assert_int_equal(result.back->n, 0);
    assert_int_equal(result.plan->totals.bars, 240000);
    for (size_t i = 0; i < job->n_supplies; i++)
        if (job->supplies[i].source == DW_SOURCE_SHELF) {
            assert_int_equal(job->supplies[i].price, 240000);
            assert_int_equal(job->supplies[i].paid, 260000);
        }
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* Of three bars that there are, one is here and measured: two can still be bought. */
static void test_a_measured_bar_is_used(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_BOOTH), n = 0;
    struct dw_miscut what = {.kind = DW_MISCUT_BAR_SHORT,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .measured = 5990 * MM};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_BOOTH, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_int_equal(job->supplies[0].count, 2);
    assert_int_equal(result.back->n, 0);
    bool taken = false;
    for (size_t i = 0; i < result.plan->n_takes; i++)
        taken = taken || job->supplies[result.plan->takes[i].supply].brought;
    assert_true(taken);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* A bar that was cut from another piece is still to be bought: also in the plan after the next. */
static void test_a_bar_that_was_not_touched(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_BOOTH), n = 0;
    saw_add(saw, "K9", 2500 * MM, 3 * DW_MONEY_ONE);
    struct dw_miscut what = {.kind = DW_MISCUT_WRONG_BAR,
                             .plan = plan,
                             .bar = saw_bar_with(saw, plan, "leg", &n),
                             .number = "K9",
                             .n_done = -1};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_BOOTH, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_int_equal(job->supplies[0].count, 3);
    struct dw_miscut wrong = {.plan = result.new_plan, .bar = 1, .piece = 1, .came_out = MM};
    dw_miscut_result_free(&result);
    dw_job_free(job);
    assert_int_equal(saw_redo(saw, SAW_BOOTH, &wrong, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_int_equal(job->supplies[0].count, 2);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* K8 came to the shelf after the plan, paid with 8.00 and half a year old on the day of the mishap:
 * six times 0.50 less, which is more than the 2.992 that cutting it would leave, so that it earns
 * nothing by being cut. */
static void test_the_shelf_counts_as_of_the_day(void **state)
{
    struct saw *saw = *state;
    struct dw_shelf_rules rules;
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    const struct dw_stock old = {.number = "K8",
                                 .material = "S48",
                                 .length = 1250 * MM,
                                 .value = 8 * DW_MONEY_ONE,
                                 .date = "2025-12-31",
                                 .ends = {DW_END_SAWN, DW_END_SAWN}};
    assert_int_equal(saw_plan_and_hold(saw, SAW_JOB), 1);
    assert_int_equal(dw_ledger_rules(saw->ledger, &rules, NULL), DW_OK);
    rules.favour_old = DW_MONEY_ONE / 2;
    assert_int_equal(dw_ledger_rules_set(saw->ledger, NULL, &rules, NULL), DW_OK);
    assert_int_equal(dw_ledger_add(saw->ledger, &saw_act, &old, 1, NULL, NULL), DW_OK);
    leg_too_short(saw, SAW_JOB, &job, &result);
    size_t n = 0;
    for (size_t i = 0; i < job->n_supplies; i++)
        if (strcmp(job->supplies[i].id, "K8") == 0) {
            n++;
            assert_int_equal(job->supplies[i].price, 5 * DW_MONEY_ONE);
            assert_int_equal(job->supplies[i].paid, 8 * DW_MONEY_ONE);
            assert_int_equal(job->supplies[i].counted, DW_COUNTED_AGE);
        }
    assert_int_equal(n, 1);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* K1 was held for a leg. Every other bar is cut, and K1's leg comes from K9: K1 goes back, by name.
 */
static void test_what_goes_back_is_named(void **state)
{
    struct saw *saw = *state;
    saw_add(saw, "K1", 1250 * MM, 2 * DW_MONEY_ONE);
    int64_t plan = saw_plan_and_hold(saw, SAW_JOB), bar = 0;
    struct dw_held_list *list = NULL;
    saw_add(saw, "K9", 1210 * MM, 3 * DW_MONEY_ONE);
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    for (size_t i = 0; i < list->rows[0].n_bars; i++) {
        const struct dw_held_bar *row = &list->rows[0].bars[i];
        if (row->number)
            bar = row->bar;
        else
            assert_int_equal(
                dw_ledger_cut(saw->ledger, &saw_act, plan, row->bar, NULL, NULL, NULL, NULL),
                DW_OK);
    }
    dw_held_list_free(list);
    assert_true(bar > 0);
    struct dw_miscut what = {
        .kind = DW_MISCUT_WRONG_BAR, .plan = plan, .bar = bar, .number = "K9", .n_done = -1};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_JOB, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_null(result.plan);
    assert_int_equal(result.back->n, 1);
    assert_string_equal(result.back->rows[0].number, "K1");
    assert_int_equal(saw_balance(saw).held, 0);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

/* --- true lengths ----------------------------------------------------------------------------- */

static void test_a_true_length_stays_through_a_mishap(void **state)
{
    struct saw *saw = *state;
    int64_t plan = saw_plan_and_hold(saw, SAW_BOOTH), n = 0;
    int64_t bar = saw_bar_with(saw, plan, "leg", &n);
    const struct dw_true_length length = {n, 1830 * MM}; /* the lintel is cut last */
    struct dw_miscut what = {
        .kind = DW_MISCUT_TRUE, .plan = plan, .bar = bar, .n_trues = 1, .trues = &length};
    struct dw_miscut_result result;
    struct dw_job *job = NULL;
    assert_int_equal(saw_redo(saw, SAW_BOOTH, &what, NULL, NULL, &job, &result, NULL), DW_OK);
    /* 4 legs, a lintel as planned and one as measured, 2 braces */
    assert_int_equal(result.plan->totals.in_parts, (4 * 1200 + 1800 + 1830 + 2 * 500) * MM);
    plan = result.new_plan;
    dw_miscut_result_free(&result);
    dw_job_free(job);
    struct dw_miscut wrong = {.plan = plan, .bar = 2, .piece = 1, .came_out = 400 * MM};
    assert_int_equal(saw_redo(saw, SAW_BOOTH, &wrong, NULL, NULL, &job, &result, NULL), DW_OK);
    assert_int_equal(result.plan->totals.in_parts, (4 * 1200 + 1800 + 1830 + 2 * 500) * MM);
    dw_miscut_result_free(&result);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SAW(test_document_of_the_rest),       SAW(test_documents_that_are_refused),
        SAW(test_a_piece_has_one_value),      SAW(test_bars_to_spare_cost_nothing),
        SAW(test_a_bar_that_is_here_is_used), SAW(test_a_measured_bar_is_used),
        SAW(test_a_bar_that_was_not_touched), SAW(test_the_shelf_counts_as_of_the_day),
        SAW(test_what_goes_back_is_named),    SAW(test_a_true_length_stays_through_a_mishap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
