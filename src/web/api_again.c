/* SPDX-License-Identifier: GPL-3.0-or-later */
/* At the saw: a bar that went wrong, or the true length of what was to be measured first, and the
 * new plan for the rest; or that alone, once there is tube for it. */
#include "web/planned.h"
#include "web/stock.h"

#include <dropwise/miscut.h>
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define BUSY_MS   5000
#define TIME_MS   10000
#define TRUE_MOST 10000 /* lengths in one call */

/* --- the work --------------------------------------------------------------------------------- */

/* The work of a task; all texts are in its own arena, that of a job. */
struct mishap {
    struct dw_job *job; /* as written */
    struct dw_miscut miscut;
    struct dw_planned_note note;
    struct dw_act act;
};

static void free_mishap(void *work)
{
    struct mishap *mishap = work;
    dw_job_free(mishap->job);
    free(mishap);
}

static void put_result(struct dw_out *out, const struct mishap *mishap,
                       const struct dw_miscut_result *result, const char *key)
{
    dw_out__int(out, "step", result->step);
    dw_out__int(out, "held", result->new_plan);
    dw_out__int(out, "replaces", mishap->miscut.plan);
    dw_out__text(out, "plan", key);
    dw_out__yes(out, "short", result->plan && result->plan->status == DW_STATUS_INFEASIBLE);
    dw_out__yes(out, "finished", !result->plan);
    dw_out__int(out, "locked", result->n_locked);
    dw_out__text(out, "currency", mishap->job->currency);
    dw_out__money(out, "before", result->before);
    dw_out__money(out, "spent", result->spent);
    dw_out__money(out, "after", result->after);
    dw_out__money(out, "difference", result->difference);
    dw_out__money(out, "revalued", result->revalued);
    dw_out__money(out, "counted", result->after + result->revalued);
    dw_out__open(out, "back", '[');
    for (size_t i = 0; result->back && i < result->back->n; i++)
        dw_out__text(out, NULL, result->back->rows[i].number);
    dw_out__close(out, '[');
}

/* Pieces that came off the bar: their numbers have to be written on them. */
static dw_err put_off(struct dw_out *out, struct dw_ledger *ledger, int64_t step,
                      struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    dw_err err = step ? dw_miscut_at_saw(ledger, step, &list, error) : DW_OK;
    dw_out__open(out, "shelf", '[');
    for (size_t i = 0; list && i < list->n; i++)
        if (dw_stock_there(&list->rows[i]) && dw_miscut_came_off(list, &list->rows[i]))
            dw_stock__put(out, NULL, &list->rows[i]);
    dw_out__close(out, '[');
    dw_stock_list_free(list);
    return err;
}

/* The new plan is stored under the job as written, with the parts that remain. */
static dw_err store(struct dw_ledger *ledger, struct mishap *mishap,
                    const struct dw_miscut_result *result, char **key, struct dw_error *error)
{
    *key = NULL;
    if (!result->plan)
        return DW_OK;
    mishap->note.replaces = mishap->miscut.plan;
    dw_err err = dw_planned__save(ledger, &mishap->act, &mishap->note, mishap->job, result->plan,
                                  NULL, 0, key, error);
    if (!err && result->new_plan)
        err = dw_planned__mark_held(ledger, &mishap->act, *key, result->new_plan, error);
    return err;
}

static dw_err run_mishap(void *work, const char *shelf, const struct dw_hooks *hooks, char **out,
                         struct dw_error *error)
{
    struct mishap *mishap = work;
    struct dw_miscut_result result = {0};
    struct dw_report report = {0};
    struct dw_ledger *ledger = NULL;
    struct dw_job_request request = {.hooks = *hooks};
    char *key = NULL;
    dw_settings_default(&request.settings);
    request.settings.time_ms = TIME_MS;
    dw_err err = dw_ledger_open(shelf, DW_LEDGER_WRITE, BUSY_MS, &ledger, error);
    if (!err)
        err = dw_miscut_run(ledger, &mishap->act, mishap->job, &mishap->miscut, &request, &result,
                            &report, error);
    if (!err)
        err = store(ledger, mishap, &result, &key, error);
    if (!err) {
        struct dw_buf buf = {0};
        struct dw_out json = {
            .buf = &buf, .style = dw_job__style(mishap->job), .currency = mishap->job->currency};
        dw_out__open(&json, NULL, '{');
        put_result(&json, mishap, &result, key);
        err = put_off(&json, ledger, result.step, error);
        dw_out__close(&json, '{');
        if (err)
            dw_buf__free(&buf);
        else if (!(*out = dw_buf__take(&buf)))
            err = dw_error__nomem(error);
    }
    free(key);
    dw_miscut_result_free(&result);
    dw_report_free(&report);
    dw_ledger_close(ledger);
    return err;
}

/* What is stored of the plan; found->job is NULL if the page did not hold it, or an earlier version
 * stored it. */
static dw_err find_stored(struct dw_web_call *call, struct dw_planned *found)
{
    struct dw_ledger *ledger = NULL;
    struct dw_error why = {0};
    char *key = NULL;
    int64_t id = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__of_held(ledger, id, &key, &why);
    bool elsewhere = err == DW_ERR_NOTFOUND;
    if (!err)
        err = dw_planned__load(ledger, key, found, &why);
    if (elsewhere || err == DW_ERR_STATE)
        err = DW_OK;
    else if (err)
        dw_error__set(&call->error, err, "%s", why.text);
    dw_call__shelf_end(call);
    free(key);
    return err;
}

/* The job that the plan was made from: stored with it, or brought along. */
static dw_err load_as_written(struct dw_web_call *call, struct mishap *mishap)
{
    struct dw_planned stored = {0};
    const char *text = NULL, *key = NULL;
    dw_err err = find_stored(call, &stored);
    if (!err && stored.job) {
        mishap->note = stored.note;
        text = stored.note.text;
        key = stored.note.job_key;
    } else if (!err) {
        err = dw_call__text(call, "text", false, &text);
        if (!err && !text) {
            err = DW_ERR_STATE;
            dw_error__set(
                &call->error, err,
                "the page does not have the job of this plan: bring the one that it was made from, "
                "unchanged");
        }
    }
    if (!err)
        err = dw_call__load(call, text, &mishap->job);
    if (!err) {
        mishap->note.time_ms = TIME_MS;
        mishap->note.text = dw_job_text(mishap->job, text);
        mishap->note.job_key = key ? dw_job_text(mishap->job, key) : NULL;
        err = mishap->note.text && (!key || mishap->note.job_key) ? DW_OK
                                                                  : dw_error__nomem(&call->error);
    }
    dw_planned__free(&stored);
    return err;
}

/* Texts of the call, which ends before the task, are copied. false: no memory. */
static bool keep_texts(const struct dw_web_call *call, struct mishap *mishap)
{
    const char **texts[] = {&mishap->miscut.number, &mishap->miscut.place, &mishap->act.when,
                            &mishap->act.who};
    mishap->act = call->act;
    for (size_t i = 0; i < DW_COUNT(texts); i++)
        if (*texts[i] && !(*texts[i] = dw_job_text(mishap->job, *texts[i])))
            return false;
    return true;
}

/* Books what `read` finds in the body and plans the rest again, as a task. */
static dw_err start(struct dw_web_call *call,
                    dw_err (*read)(struct dw_web_call *, struct dw_job *, struct dw_miscut *))
{
    struct mishap *mishap = calloc(1, sizeof *mishap);
    if (!mishap)
        return dw_error__nomem(&call->error);
    dw_err err = load_as_written(call, mishap);
    if (!err)
        err = dw_call__number(call, 0, &mishap->miscut.plan);
    if (!err)
        err = read(call, mishap->job, &mishap->miscut);
    if (!err && !keep_texts(call, mishap))
        err = dw_error__nomem(&call->error);
    if (err) {
        free_mishap(mishap);
        return err;
    }
    return dw_call__start(
        call, &(struct dw_task_work){.run = run_mishap, .free = free_mishap, .work = mishap});
}

/* The bar that it is about, and where what came off it is put. */
static dw_err read_bar(struct dw_web_call *call, struct dw_miscut *miscut)
{
    dw_err err = dw_call__int(call, "bar", true, 1, INT64_MAX, &miscut->bar);
    return err ? err : dw_call__text(call, "place", false, &miscut->place);
}

/* --- a bar that went wrong -------------------------------------------------------------------- */

/* {"bar", "kind": "short" | "wrong bar" | "bar length", ...}. */
static dw_err read_miscut(struct dw_web_call *call, struct dw_job *job, struct dw_miscut *miscut)
{
    const char *kind = NULL;
    dw_err err = read_bar(call, miscut);
    if (!err)
        err = dw_call__text(call, "kind", true, &kind);
    if (err)
        return err;
    if (strcmp(kind, "short") == 0) {
        miscut->kind = DW_MISCUT_SHORT;
        err = dw_call__int(call, "piece", true, 1, INT64_MAX, &miscut->piece);
        return err ? err : dw_call__length(call, "length", true, job->unit, &miscut->came_out);
    }
    if (strcmp(kind, "wrong bar") == 0) {
        miscut->kind = DW_MISCUT_WRONG_BAR;
        miscut->n_done = -1;
        err = dw_call__int(call, "done", false, 0, 100000, &miscut->n_done);
        return err ? err : dw_call__text(call, "number", true, &miscut->number);
    }
    if (strcmp(kind, "bar length") == 0) {
        miscut->kind = DW_MISCUT_BAR_SHORT;
        return dw_call__length(call, "length", true, job->unit, &miscut->measured);
    }
    return dw_error__set(&call->error, DW_ERR_INPUT,
                         "kind must be `short`, `wrong bar` or `bar length`");
}

dw_err dw_api__held_miscut(struct dw_web_call *call)
{
    return start(call, read_miscut);
}

/* --- measured first --------------------------------------------------------------------------- */

static dw_err read_true_length(struct dw_web_call *call, const json_t *row, enum dw_unit unit,
                               struct dw_true_length *out)
{
    const json_t *piece = json_object_get(row, "piece");
    const char *text = json_string_value(json_object_get(row, "length"));
    struct dw_error why = {0};
    if (!json_is_integer(piece))
        return dw_call__wrong(call, "lengths", "each of the lengths must name its piece, from 1");
    out->piece = json_integer_value(piece);
    if (!text || !*text)
        return dw_call__wrong(call, "lengths", "each of the lengths must be a text");
    dw_err err = dw_length_parse(text, strlen(text), unit, &out->length, &why);
    if (err)
        call->field = "lengths";
    return err ? dw_error__at(&call->error, err, NULL, 0, why.column, "piece %lld: %s",
                              (long long)out->piece, why.text)
               : DW_OK;
}

/* {"bar", "lengths": [{"piece": 2, "length": "1768 mm"}], "done", "place"}. */
static dw_err read_true(struct dw_web_call *call, struct dw_job *job, struct dw_miscut *miscut)
{
    const json_t *rows = json_object_get(call->body, "lengths");
    size_t n = json_array_size(rows);
    if (n == 0 || n > TRUE_MOST)
        return dw_call__wrong(call, "lengths",
                              "lengths must be a list of pieces and how long each is to be");
    struct dw_true_length *lengths = dw_job_alloc(job, n, sizeof *lengths);
    if (!lengths)
        return dw_error__nomem(&call->error);
    miscut->kind = DW_MISCUT_TRUE;
    miscut->n_trues = n;
    miscut->trues = lengths;
    dw_err err = read_bar(call, miscut);
    if (!err)
        err = dw_call__int(call, "done", false, 0, DW_MAX_PIECES, &miscut->n_done);
    for (size_t i = 0; !err && i < n; i++)
        err = read_true_length(call, json_array_get(rows, i), job->unit, &lengths[i]);
    return err;
}

dw_err dw_api__held_true(struct dw_web_call *call)
{
    return start(call, read_true);
}

/* --- the rest alone --------------------------------------------------------------------------- */

static dw_err read_rest(struct dw_web_call *call, struct dw_job *job, struct dw_miscut *miscut)
{
    (void)call;
    (void)job;
    miscut->kind = DW_MISCUT_REST;
    return DW_OK;
}

/* {}: what is not cut yet, or not well, with the tube that there is now. */
dw_err dw_api__held_rest(struct dw_web_call *call)
{
    return start(call, read_rest);
}
