/* SPDX-License-Identifier: GPL-3.0-or-later */
/* At the saw: bars ticked off, a bar that went wrong, the new plan. */
#include "web/planned.h"
#include "web/stock.h"

#include "job/deliver.h"
#include "job/miscut.h"
#include "job/shelf_record.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define BUSY_MS 5000
#define TIME_MS 10000

/* --- what is held ----------------------------------------------------------------------------- */

static dw_err list_plans(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_held_list *list = NULL;
    bool all = dw_web__query(call->request, "all") != NULL;
    dw_err err = dw_ledger_plans(ledger, !all, &list, &call->error);
    if (err)
        return err;
    dw_out__open(&call->out, NULL, '{');
    dw_out__open(&call->out, "plans", '[');
    for (size_t i = 0; i < list->n; i++) {
        const struct dw_held_plan *plan = &list->rows[i];
        dw_out__open(&call->out, NULL, '{');
        dw_out__int(&call->out, "held", plan->id);
        dw_out__text(&call->out, "name", plan->job);
        dw_out__text(&call->out, "when", plan->when);
        dw_out__yes(&call->out, "open", plan->open);
        dw_out__int(&call->out, "bars", (int64_t)plan->n_bars);
        dw_out__int(&call->out, "cut", plan->n_cut);
        dw_out__close(&call->out, '{');
    }
    dw_out__close(&call->out, '[');
    dw_out__close(&call->out, '{');
    dw_held_list_free(list);
    return DW_OK;
}

dw_err dw_api__held_list(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, list_plans);
}

/* Squared off at an end; the ledger knows the sum of both. */
static dw_length trim_at(const struct dw_held_bar *bar, size_t end)
{
    int mill = (bar->ends[0] == DW_END_MILL) + (bar->ends[1] == DW_END_MILL);
    return bar->ends[end] == DW_END_MILL ? bar->trim / mill : 0;
}

/* Stop and running mark of each piece, counts written out. */
static void put_marks(const struct dw_record_out *to, const struct dw_held_bar *bar, dw_length kerf)
{
    dw_length at = 0;
    dw_out__open(to->out, "marks", '[');
    for (size_t i = 0; i < bar->n_pieces; i++)
        for (int64_t k = 0; k < bar->pieces[i].count; k++) {
            struct dw_mark mark = {i, bar->pieces[i].length, at + bar->pieces[i].length};
            dw_record__object(to, NULL, &dw_mark__members, &mark);
            at = mark.running + kerf;
        }
    dw_out__close(to->out, '[');
}

/* What came off a bar that is cut and has a number. */
static void put_left(struct dw_out *out, const struct dw_held_bar *bar,
                     const struct dw_stock_list *pieces)
{
    dw_out__open(out, "left", '[');
    for (size_t i = 0; i < pieces->n && bar->cut && bar->number; i++)
        if (pieces->rows[i].from && strcmp(pieces->rows[i].from, bar->number) == 0)
            dw_stock__put(out, NULL, &pieces->rows[i]);
    dw_out__close(out, '[');
}

/* The job of a held plan if the page held it; else the shelf's materials stand for it. */
struct held_job {
    struct dw_planned planned; /* its job is NULL: not held by the page */
    struct dw_job *catalogue;  /* NULL: planned.job is known */
    const struct dw_job *job;
    bool kerf_known;
    dw_length kerf;
};

static void put_bars(struct dw_out *out, const struct dw_held_plan *plan,
                     const struct held_job *held, const struct dw_stock_list *pieces)
{
    const struct dw_record_out to = {.out = out, .version = DW_RECORD_ALL};
    dw_out__open(out, "bars", '[');
    for (size_t i = 0; i < plan->n_bars; i++) {
        const struct dw_held_bar *bar = &plan->bars[i];
        struct dw_care care = {0};
        dw_length trims[] = {trim_at(bar, 0), trim_at(bar, 1)};
        dw_out__open(out, NULL, '{');
        dw_held__put_bar(&to, bar);
        dw_out__length(out, "trim", trims[0] ? trims[0] : trims[1]);
        dw_out__int(out, "trim_nm", trims[0]);
        dw_out__int(out, "far_trim_nm", trims[1]);
        if (held->kerf_known)
            put_marks(&to, bar, held->kerf);
        dw_held__care(&care, held->job, bar, 1);
        dw_care__put(out, "cautions", &care, DW_AT_BAR);
        put_left(out, bar, pieces);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static void put_buys(struct dw_out *out, const struct dw_held_plan *plan)
{
    dw_out__open(out, "buys", '[');
    for (size_t i = 0; i < plan->n_buys; i++) {
        const struct dw_held_buy *buy = &plan->buys[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "supply", buy->supply);
        dw_out__text(out, "supplier", buy->supplier);
        dw_out__length(out, "length", buy->length);
        dw_out__int(out, "bought", buy->bought);
        dw_out__int(out, "came", buy->came);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static dw_err find_job(struct dw_web_call *call, struct dw_ledger *ledger,
                       const struct dw_held_plan *plan, struct held_job *out)
{
    char *key = NULL;
    dw_err err = dw_planned__of_held(ledger, plan->id, &key, NULL);
    if (!err)
        err = dw_planned__load(ledger, key, &out->planned, NULL);
    bool ours = !err;
    if (!ours)
        err = dw_shelf__catalogue(ledger, &out->catalogue, &call->error);
    free(key);
    out->job = ours ? out->planned.job : out->catalogue;
    if (err)
        return err;
    out->kerf = out->job->saw.kerf;
    out->kerf_known = ours || dw_held__kerf(plan, &out->kerf);
    return DW_OK;
}

static void free_job(struct held_job *held)
{
    dw_planned__free(&held->planned);
    dw_job_free(held->catalogue);
}

/* The records that the indices of the plan's document mean, and lengths as the job has them, if the
 * page held it; else in the shop's unit, and the kerf as the bars tell it. */
static void put_job(struct dw_web_call *call, const struct dw_held_plan *plan,
                    const struct held_job *held)
{
    struct dw_care care = {0};
    bool ours = !held->catalogue;
    call->out.style = dw_job__style(held->job);
    call->out.currency = held->job->currency;
    dw_out__text(&call->out, "unit", dw_unit_name(held->job->unit));
    dw_out__text(&call->out, "plan", ours ? held->planned.list->rows[0].key : NULL);
    if (ours)
        dw_planned__put_job(&call->out, &held->planned);
    if (held->kerf_known)
        dw_out__int(&call->out, "kerf_nm", held->kerf);
    dw_held__care(&care, held->job, plan->bars, plan->n_bars);
    dw_care__put(&call->out, "cautions", &care, DW_AT_SAW);
}

/* All that the ledger has, whatever became of it. */
static dw_err all_pieces(struct dw_web_call *call, struct dw_ledger *ledger,
                         struct dw_stock_list **out)
{
    const struct dw_stock_query query = {.states = (1u << DW_STATE_VOID) - 1};
    return dw_ledger_list(ledger, &query, out, &call->error);
}

static dw_err show(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_held_list *list = NULL;
    struct dw_stock_list *pieces = NULL;
    struct held_job held = {0};
    int64_t id = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_ledger_plan(ledger, id, &list, &call->error);
    if (!err)
        err = all_pieces(call, ledger, &pieces);
    if (!err)
        err = find_job(call, ledger, &list->rows[0], &held);
    if (!err) {
        const struct dw_held_plan *plan = &list->rows[0];
        dw_out__open(&call->out, NULL, '{');
        dw_out__int(&call->out, "held", plan->id);
        dw_out__text(&call->out, "name", plan->job);
        dw_out__yes(&call->out, "open", plan->open);
        dw_out__int(&call->out, "replaces", plan->replaces);
        put_job(call, plan, &held);
        put_bars(&call->out, plan, &held, pieces);
        put_buys(&call->out, plan);
        dw_out__raw(&call->out, "document", plan->document ? plan->document : "null");
        dw_out__close(&call->out, '{');
    }
    free_job(&held);
    dw_stock_list_free(pieces);
    dw_held_list_free(list);
    return err;
}

dw_err dw_api__held(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, show);
}

/* --- cut, release ----------------------------------------------------------------------------- */

static dw_err cut(struct dw_web_call *call, struct dw_ledger *ledger)
{
    int64_t id = 0, bar = 0, step = 0;
    const char *place = NULL;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_call__int(call, "bar", true, 1, INT64_MAX, &bar);
    if (!err)
        err = dw_call__text(call, "place", false, &place);
    if (!err)
        err = dw_ledger_cut(ledger, &call->act, id, bar, NULL, place, &step, &call->error);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

/* {"bar": 3, "place": "rack 2"} */
dw_err dw_api__held_cut(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, cut);
}

/* -1 when it is not said. */
static dw_err read_paid(struct dw_web_call *call, const char *name, const char *currency,
                        dw_money *out)
{
    const char *text = NULL;
    *out = -1;
    dw_err err = dw_call__text(call, name, false, &text);
    if (err || !text)
        return err;
    err = dw_call__money(call, name, currency, out);
    if (!err && *out < 0)
        err = dw_call__wrong(call, name, "what was paid can't be below 0");
    return err;
}

static dw_err read_row(struct dw_web_call *call, const char *currency, struct dw_deliver_row *row)
{
    *row = (struct dw_deliver_row){.each = -1, .total = -1};
    dw_err err = dw_call__text(call, "supply", false, &row->supply);
    if (!err)
        err = dw_call__int(call, "bars", false, 1, DW_MAX_PIECES, &row->n);
    if (!err)
        err = read_paid(call, "paid", currency, &row->each);
    if (!err)
        err = read_paid(call, "total", currency, &row->total);
    if (!err && !row->supply && (row->n || row->each >= 0 || row->total >= 0))
        err = dw_error__set(&call->error, DW_ERR_INPUT,
                            "`bars`, `paid` and `total` are of one `supply`: name it");
    return err;
}

static dw_err deliver(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_shelf_rules rules;
    struct dw_deliver_row row;
    struct dw_deliver deliver = {.rows = &row};
    int64_t step = 0;
    dw_err err = dw_call__number(call, 0, &deliver.plan);
    if (!err)
        err = dw_ledger_rules(ledger, &rules, &call->error);
    if (!err)
        err = read_row(call, rules.currency, &row);
    deliver.n = !err && row.supply;
    if (!err)
        err = dw_call__text(call, "supplier", false, &deliver.supplier);
    if (!err)
        err = dw_call__text(call, "place", false, &deliver.place);
    if (!err)
        err = dw_call__text(call, "mark", false, &deliver.mark);
    if (!err)
        err = dw_shelf__deliver(ledger, &call->act, &deliver, &step, &call->error);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

/* {"supply": "six", "bars": 4, "paid": "24.00", "place": "yard"}; {} is all that is to come. */
dw_err dw_api__held_deliver(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, deliver);
}

static dw_err release(struct dw_web_call *call, struct dw_ledger *ledger)
{
    int64_t id = 0, step = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_ledger_release(ledger, &call->act, id, &step, &call->error);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

dw_err dw_api__held_release(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, release);
}

/* --- a bar that went wrong -------------------------------------------------------------------- */

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
    out->currency = mishap->job->currency;
    dw_out__open(out, NULL, '{');
    dw_out__int(out, "step", result->step);
    dw_out__int(out, "held", result->new_plan);
    dw_out__text(out, "plan", key);
    dw_out__yes(out, "short", result->plan && result->plan->status == DW_STATUS_INFEASIBLE);
    dw_out__yes(out, "finished", !result->plan);
    dw_out__int(out, "locked", result->n_locked);
    dw_out__text(out, "currency", mishap->job->currency);
    dw_out__money(out, "before", result->before);
    dw_out__money(out, "spent", result->spent);
    dw_out__money(out, "after", result->after);
    dw_out__money(out, "difference", result->difference);
    dw_out__close(out, '{');
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
        err = dw_miscut__run(ledger, &mishap->act, mishap->job, &mishap->miscut, &request, &result,
                             &report, error);
    if (!err)
        err = store(ledger, mishap, &result, &key, error);
    if (!err) {
        struct dw_buf buf = {0};
        struct dw_out json = {.buf = &buf, .style = dw_job__style(mishap->job)};
        put_result(&json, mishap, &result, key);
        *out = dw_buf__take(&buf);
        err = *out ? DW_OK : dw_error__nomem(error);
    }
    free(key);
    dw_miscut_result_free(&result);
    dw_report_free(&report);
    dw_ledger_close(ledger);
    return err;
}

/* What happened, out of the body: {"bar", "kind": "short" | "wrong bar" | "bar length", ...}. */
static dw_err read_miscut(struct dw_web_call *call, enum dw_unit unit, struct dw_miscut *miscut)
{
    const char *kind = NULL;
    dw_err err = dw_call__number(call, 0, &miscut->plan);
    if (!err)
        err = dw_call__int(call, "bar", true, 1, INT64_MAX, &miscut->bar);
    if (!err)
        err = dw_call__text(call, "kind", true, &kind);
    if (!err)
        err = dw_call__text(call, "place", false, &miscut->place);
    if (err)
        return err;
    if (strcmp(kind, "short") == 0) {
        miscut->kind = DW_MISCUT_SHORT;
        err = dw_call__int(call, "piece", true, 1, INT64_MAX, &miscut->piece);
        return err ? err : dw_call__length(call, "length", true, unit, &miscut->came_out);
    }
    if (strcmp(kind, "wrong bar") == 0) {
        miscut->kind = DW_MISCUT_WRONG_BAR;
        miscut->n_done = -1;
        err = dw_call__int(call, "done", false, 0, 100000, &miscut->n_done);
        return err ? err : dw_call__text(call, "number", true, &miscut->number);
    }
    if (strcmp(kind, "bar length") == 0) {
        miscut->kind = DW_MISCUT_BAR_SHORT;
        return dw_call__length(call, "length", true, unit, &miscut->measured);
    }
    return dw_error__set(&call->error, DW_ERR_INPUT,
                         "kind must be `short`, `wrong bar` or `bar length`");
}

/* What is stored of the plan, if the page held it; found->note.text is NULL if it did not. */
static dw_err find_stored(struct dw_web_call *call, struct dw_planned *found)
{
    struct dw_ledger *ledger = NULL;
    char *key = NULL;
    int64_t id = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__of_held(ledger, id, &key, NULL);
    if (!err)
        err = dw_planned__load(ledger, key, found, &call->error);
    else if (err == DW_ERR_NOTFOUND)
        err = DW_OK;
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
    if (!err && stored.note.text) {
        mishap->note = stored.note;
        text = stored.note.text;
        key = stored.note.job_key;
    } else if (!err) {
        err = dw_call__text(call, "text", false, &text);
        if (!err && !text) {
            err = DW_ERR_STATE;
            dw_error__set(&call->error, err,
                          "this plan was held elsewhere: bring the job that it was made from, "
                          "unchanged");
        }
    }
    if (!err) {
        struct dw_job_source source = {.path = "job", .text = text, .n = strlen(text)};
        err = dw_job__load(&source, &mishap->job, &call->report, &call->error);
    }
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

dw_err dw_api__held_miscut(struct dw_web_call *call)
{
    struct mishap *mishap = calloc(1, sizeof *mishap);
    if (!mishap)
        return dw_error__nomem(&call->error);
    dw_err err = load_as_written(call, mishap);
    if (!err)
        err = read_miscut(call, mishap->job->unit, &mishap->miscut);
    if (!err && !keep_texts(call, mishap))
        err = dw_error__nomem(&call->error);
    if (err) {
        free_mishap(mishap);
        return err;
    }
    return dw_call__start(call, &(struct dw_task_work){run_mishap, free_mishap, mishap});
}
