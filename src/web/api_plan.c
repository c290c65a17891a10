/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans: made by a task, stored, shown, held. */
#include "web/planned.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define TIME_DEFAULT_MS 10000
#define TIME_MOST_MS    (INT64_C(3600) * 1000)
#define SOLVE_THREADS   2
#define BUSY_MS         5000
#define LISTED_MOST     200
#define RUNNING_MOST    8

/* --- the work of a task ----------------------------------------------------------------------- */

struct planning {
    struct dw_job *job;
    struct dw_settings settings;
    struct dw_planned_note note; /* its texts are the job's */
    char when[DW_WEB_WHEN];
    char *who;
};

static void free_planning(void *work)
{
    struct planning *planning = work;
    dw_job_free(planning->job);
    free(planning);
}

static dw_err store(struct planning *planning, const char *shelf, const struct dw_plan *plan,
                    const struct dw_cure *cures, size_t n_cures, char **result,
                    struct dw_error *error)
{
    struct dw_ledger *ledger = NULL;
    struct dw_act act = {.when = planning->when, .who = planning->who};
    char *key = NULL;
    dw_err err = dw_ledger_open(shelf, DW_LEDGER_CREATE, BUSY_MS, &ledger, error);
    if (!err)
        err = dw_planned__save(ledger, &act, &planning->note, planning->job, plan, cures, n_cures,
                               &key, error);
    dw_ledger_close(ledger);
    struct dw_buf buf = {0};
    dw_buf__format(&buf, "{\"plan\":\"%s\"}", key ? key : "");
    free(key);
    *result = dw_buf__take(&buf);
    if (!err && !*result)
        err = dw_error__nomem(error);
    return err;
}

static dw_err run_planning(void *work, const char *shelf, const struct dw_hooks *hooks,
                           char **result, struct dw_error *error)
{
    struct planning *planning = work;
    struct dw_plan *plan = NULL;
    struct dw_cure *cures = NULL;
    size_t n_cures = 0;
    struct dw_job_request request = {.settings = planning->settings, .hooks = *hooks};
    int64_t began = hooks->now_ms(hooks->user);
    dw_err err = dw_job_plan(planning->job, &request, &plan, error);
    if (!err && plan->status == DW_STATUS_INFEASIBLE && !hooks->stop(hooks->user))
        err = dw_job_cure(planning->job, plan, hooks, &cures, &n_cures, error);
    planning->note.took_ms = hooks->now_ms(hooks->user) - began;
    if (!err)
        err = store(planning, shelf, plan, cures, n_cures, result, error);
    free(cures);
    dw_plan_free(plan);
    return err;
}

/* --- starting one ----------------------------------------------------------------------------- */

static dw_err offer_shelf(struct dw_web_call *call, struct planning *planning)
{
    struct dw_ledger *ledger = NULL;
    struct dw_shelf_found found = {0};
    struct dw_shelf_request request = {.today = call->today};
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_shelf_supply(planning->job, ledger, &request, &found, &call->report, &call->error);
    dw_call__shelf_end(call);
    planning->note.digest = found.digest;
    planning->note.shelf = true;
    return err;
}

static dw_err read_settings(struct dw_web_call *call, struct planning *planning)
{
    planning->settings.threads = SOLVE_THREADS;
    planning->settings.time_ms = TIME_DEFAULT_MS;
    planning->settings.greedy = dw_call__yes(call, "quick");
    dw_err err =
        dw_call__int(call, "time_ms", false, 100, TIME_MOST_MS, &planning->settings.time_ms);
    planning->note.time_ms = planning->settings.time_ms;
    if (!err)
        err = dw_call__int(call, "work", false, 0, INT64_MAX, &planning->settings.work);
    if (!err)
        err = dw_call__int(call, "revision", false, 0, INT64_MAX, &planning->note.job_revision);
    return err;
}

/* Copies what the task needs of the call. */
static dw_err keep_texts(struct dw_web_call *call, struct planning *planning, const char *text,
                         const char *key)
{
    struct dw_job *job = planning->job;
    memcpy(planning->when, call->when, sizeof planning->when);
    planning->note.text = dw_job_text(job, text);
    planning->note.job_key = key ? dw_job_text(job, key) : NULL;
    planning->who = call->who[0] ? dw_job_text(job, call->who) : NULL;
    bool good =
        planning->note.text && (!key || planning->note.job_key) && (!call->who[0] || planning->who);
    return good ? DW_OK : dw_error__nomem(&call->error);
}

static dw_err ready_planning(struct dw_web_call *call, struct planning *planning)
{
    const char *text = NULL, *key = NULL;
    dw_settings_default(&planning->settings);
    dw_err err = read_settings(call, planning);
    if (!err)
        err = dw_call__text(call, "text", true, &text);
    if (!err)
        err = dw_call__text(call, "job", false, &key);
    if (err)
        return err;
    err = dw_call__load(call, text, &planning->job);
    if (!err)
        err = keep_texts(call, planning, text, key);
    if (!err)
        planning->note.digest = dw_job_digest(planning->job);
    if (!err && dw_call__yes(call, "shelf"))
        err = offer_shelf(call, planning);
    return err;
}

/* {"text": job, "shelf": true, "time_ms": 10000, "quick": false, "job": key, "revision": 3} */
dw_err dw_api__plan_start(struct dw_web_call *call)
{
    struct planning *planning = calloc(1, sizeof *planning);
    if (!planning)
        return dw_error__nomem(&call->error);
    dw_err err = ready_planning(call, planning);
    if (err) {
        free_planning(planning);
        return err;
    }
    return dw_call__start(call, &(struct dw_task_work){.run = run_planning,
                                                       .free = free_planning,
                                                       .work = planning,
                                                       .about = planning->note.job_key});
}

/* --- stored plans ----------------------------------------------------------------------------- */

/* Plans that were stored before had two words of their own. */
static const char *status_of(const char *stored)
{
    return strcmp(stored, "short") == 0  ? dw_status_word(DW_STATUS_INFEASIBLE)
           : strcmp(stored, "good") == 0 ? dw_status_word(DW_STATUS_WITHIN)
                                         : stored;
}

/* The words of a stored plan's name, see planned.c. */
static void put_listed(struct dw_out *out, const struct dw_document *document)
{
    static const char *const keys[] = {"job", "value", "bars", "status"};
    const char *at = document->name ? document->name : "";
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "key", document->key);
    dw_out__text(out, "when", document->when);
    dw_out__text(out, "who", document->who);
    for (size_t i = 0; i < DW_COUNT(keys); i++) {
        char word[80] = {0};
        size_t n = strcspn(at, "|");
        memcpy(word, at, n < sizeof word ? n : sizeof word - 1);
        dw_out__text(out, keys[i], i == DW_COUNT(keys) - 1 ? status_of(word) : word);
        at += n + (at[n] == '|');
    }
    dw_out__text(out, "name", at);
    dw_out__close(out, '{');
}

static bool is_of_job(const struct dw_document *document, const char *job)
{
    size_t n = job ? strlen(job) : 0;
    return !job ||
           (document->name && strncmp(document->name, job, n) == 0 && document->name[n] == '|');
}

/* Plans of the job that are being made: whoever comes back follows them. */
static void put_running(struct dw_web_call *call, const char *job)
{
    int64_t ids[RUNNING_MOST];
    size_t n = job ? dw_tasks__about(&call->app->tasks, job, ids, DW_COUNT(ids)) : 0;
    dw_out__open(&call->out, "running", '[');
    for (size_t i = 0; i < n; i++)
        dw_out__int(&call->out, NULL, ids[i]);
    dw_out__close(&call->out, '[');
}

/* ?job=3: those of one job. The newest first. */
dw_err dw_api__plans(struct dw_web_call *call)
{
    struct dw_ledger *ledger = NULL;
    struct dw_document_list *list = NULL;
    const char *job = dw_web__query(call->request, "job");
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_ledger_documents(ledger, DW_STORE_PLAN, &list, &call->error);
    dw_call__shelf_end(call);
    if (!err) {
        size_t n = 0;
        dw_out__open(&call->out, NULL, '{');
        dw_out__open(&call->out, "plans", '[');
        for (size_t i = 0; i < list->n && n < LISTED_MOST; i++)
            if (is_of_job(&list->rows[i], job)) {
                put_listed(&call->out, &list->rows[i]);
                n++;
            }
        dw_out__close(&call->out, '[');
        put_running(call, job);
        dw_out__close(&call->out, '{');
    }
    dw_document_list_free(list);
    return err;
}

dw_err dw_api__plan(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    dw_err err = dw_planned__of_path(call, &planned);
    if (!err)
        dw_planned__put(&call->out, &planned);
    dw_planned__free(&planned);
    return err;
}

/* By the independent verifier. */
dw_err dw_api__plan_check(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    dw_err err = dw_planned__of_path(call, &planned);
    struct dw_plan_proven *proven = NULL;
    if (!err) {
        err = dw_plan_prove(planned.job, planned.plan, &call->report, &proven, &call->error);
        err = err == DW_ERR_CHECK ? DW_OK : err;
    }
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_planned__put_proven(&call->out, planned.job, planned.plan, proven);
        dw_call__put_remarks(&call->out, &call->report);
        dw_out__close(&call->out, '{');
    }
    dw_plan_proven_free(proven);
    dw_planned__free(&planned);
    return err;
}

/* A plan of the job as it was before it was changed cuts what is not wanted any more. */
static dw_err refuse_changed(struct dw_web_call *call, struct dw_ledger *ledger,
                             const struct dw_planned_note *note)
{
    struct dw_document_list *list = NULL;
    if (!note->job_key || note->job_revision == 0)
        return DW_OK;
    dw_err err = dw_ledger_document(ledger, DW_STORE_JOB, note->job_key, &list, NULL);
    if (err) /* it is gone: nothing speaks against the plan */
        return DW_OK;
    if (list->rows[0].revision != note->job_revision)
        err = dw_error__set(&call->error, DW_ERR_STATE,
                            "the job was changed after this plan was made: plan it again");
    dw_document_list_free(list);
    return err;
}

static dw_err hold(struct dw_web_call *call, struct dw_ledger *ledger,
                   const struct dw_planned *planned, int64_t *id)
{
    struct dw_shelf_hold how = {.digest = planned->note.digest,
                                .again = dw_call__yes(call, "again")};
    int64_t step = 0;
    if (planned->held)
        return dw_error__set(&call->error, DW_ERR_STATE, "this plan is held already, as %" PRId64,
                             planned->held);
    if (planned->note.replaces)
        return dw_error__set(&call->error, DW_ERR_STATE,
                             "this plan was made for the rest of "
                             "another one: make a new plan");
    if (planned->plan->status == DW_STATUS_INFEASIBLE)
        return dw_error__set(&call->error, DW_ERR_STATE, "there is not enough tube for this plan");
    dw_err err = refuse_changed(call, ledger, &planned->note);
    if (err)
        return err;
    err = dw_shelf_hold_plan(ledger, &call->act, planned->job, planned->plan, &how, id, &step,
                             &call->error);
    if (!err)
        err = dw_planned__mark_held(ledger, &call->act, call->params[0], *id, &call->error);
    return err;
}

dw_err dw_api__plan_hold(struct dw_web_call *call)
{
    struct dw_ledger *ledger = NULL;
    struct dw_planned planned = {0};
    int64_t id = 0;
    dw_err err = dw_call__text(call, "note", false, &call->act.note);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__load(ledger, call->params[0], &planned, &call->error);
    if (!err)
        err = hold(call, ledger, &planned, &id);
    dw_call__shelf_end(call);
    dw_planned__free(&planned);
    dw_out__open(&call->out, NULL, '{');
    dw_out__int(&call->out, "held", id);
    dw_out__close(&call->out, '{');
    return err;
}
