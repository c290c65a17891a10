/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan document that somebody brings: proved again from the job, and kept if that is asked. */
#include "web/planned.h"

#include "model/model.h"

#include <stdlib.h>
#include <string.h>

/* A job and a plan of it, out of the body. */
struct brought {
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_planned_note note;   /* borrows from the body */
    struct dw_plan_proven *proven; /* NULL: the plan is wrong */
    char *key;                     /* under which it is stored */
};

static dw_err read_job(struct dw_web_call *call, struct brought *brought)
{
    const char *text = NULL;
    dw_err err = dw_call__text(call, "text", true, &text);
    if (!err)
        err = dw_call__text(call, "job", false, &brought->note.job_key);
    if (!err)
        err = dw_call__int(call, "revision", false, 0, INT64_MAX, &brought->note.job_revision);
    if (err)
        return err;
    brought->note.text = text;
    return dw_call__load(call, text, &brought->job);
}

/* Remarks on a good job are not on the plan. A plan that differs is no failure of the call. */
static dw_err read_plan(struct dw_web_call *call, struct brought *brought)
{
    const char *text = NULL;
    dw_err err = dw_call__text(call, "plan", true, &text);
    if (err)
        return err;
    dw_report_free(&call->report);
    call->report = (struct dw_report){0};
    brought->note.digest = dw_job_digest(brought->job);
    size_t n_supplies = brought->job->n_supplies;
    struct dw_job_source source = {.path = "plan", .text = text, .n = strlen(text)};
    err = dw_job_verify(brought->job, &source, &brought->plan, &brought->proven, &call->report,
                        &call->error);
    brought->note.shelf = brought->job->n_supplies > n_supplies;
    if (err == DW_ERR_SCHEMA) /* it was brought: its user can mend it */
        err = DW_ERR_INPUT;
    return err == DW_ERR_CHECK ? DW_OK : err;
}

static dw_err keep(struct dw_web_call *call, struct brought *brought)
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__save(ledger, &call->act, &brought->note, brought->job, brought->plan, NULL, 0,
                           &brought->key, &call->error);
    dw_call__shelf_end(call);
    return err;
}

/* {"text": job, "plan": document, "keep": true, "job": key, "revision": 3}: the verifier's word;
 * with `keep` a plan that holds is stored and can be held, ordered, printed as one made here. */
dw_err dw_api__verify(struct dw_web_call *call)
{
    struct brought brought = {0};
    dw_err err = read_job(call, &brought);
    if (!err)
        err = read_plan(call, &brought);
    if (!err && brought.proven && dw_call__yes(call, "keep"))
        err = keep(call, &brought);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_planned__put_proven(&call->out, brought.job, brought.plan, brought.proven);
        dw_call__put_remarks(&call->out, &call->report);
        dw_out__text(&call->out, "plan", brought.key);
        dw_out__close(&call->out, '{');
    }
    free(brought.key);
    dw_plan_proven_free(brought.proven);
    dw_plan_free(brought.plan);
    dw_job_free(brought.job);
    return err;
}
