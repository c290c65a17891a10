/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One step of the shelf out of what happened at the saw and a new plan for the rest.
 *
 * Planning takes longer than a transaction may last. So the acts are done once and taken back, and
 * what the shelf then is like is planned with; afterwards they are done again, the plan is held,
 * and all is committed, if no other step touched the plan or a piece that it takes in between. */
#include "job/redo.h"

#include "base/base.h"

#include <stdlib.h>
#include <string.h>

/* What one call works on. */
struct work {
    struct dw_ledger *ledger;
    const struct dw_act *act;
    struct dw_job *job;
    const struct dw_redo *redo;
    const struct dw_job_request *request;
    struct dw_miscut_result *result;
    struct dw_report *report;
    dw_money *values; /* length n_supplies of the job of the rest: of pieces of the shelf, the one
                         that they have before and after */
    struct dw_file_ready file;
};

static dw_err book(const struct work *work, const struct dw_act *act, struct dw_error *error)
{
    const struct dw_redo *redo = work->redo;
    if (redo->cut)
        return dw_ledger_cut(work->ledger, act, redo->held->id, redo->bar, redo->cut, redo->place,
                             NULL, error);
    if (redo->measured)
        return dw_ledger_measure(work->ledger, act, redo->held->id, redo->bar, redo->measured, NULL,
                                 error);
    return DW_OK;
}

/* --- the shelf as it will be ------------------------------------------------------------------ */

/* A bar that has just been bought for the job is paid for: where it counts what its length is worth
 * by the rules, none is bought in its stead. */
static void count_bought(const struct dw_job *job, struct dw_supply *supply)
{
    size_t left = supply->bend > 0 ? supply->tail_material : supply->material;
    dw_length actual = supply->measured ? supply->measured : supply->length;
    dw_money worth = dw_job_worth(job, left, actual);
    supply->price = worth < supply->paid ? worth : supply->paid;
    supply->counted = worth < supply->paid ? DW_COUNTED_BOUGHT : DW_COUNTED_PAID;
}

/* Came with the acts: the old plan holds it and did not have it before. */
static bool just_came(const struct work *work, const char *number)
{
    const struct dw_stock_list *held = work->result->back;
    bool came = false;
    for (size_t i = 0; i < held->n; i++)
        came = came || strcmp(held->rows[i].number, number) == 0;
    return came;
}

/* A piece that the old plan was offered, or bought and got, counts as it did there: the two plans
 * differ by what happened alone, and no bar that is here is left for one to be bought. */
static void count_as_before(const struct work *work, const struct dw_job *planned,
                            struct dw_supply *supply, dw_money *value)
{
    const struct dw_held_plan *held = work->redo->held;
    size_t was = dw_rest__supply(planned, supply->id);
    const struct dw_held_bar *here = dw_rest__here(held, supply->id);
    if (was != DW_NONE) {
        supply->price = planned->supplies[was].price;
        supply->counted = planned->supplies[was].counted;
        if (supply->counted == DW_COUNTED_PAID && supply->price != supply->paid)
            supply->counted = DW_COUNTED_BEFORE; /* the job lists it at other money */
        *value = dw_rest__value(supply);
    } else if (here) {
        supply->price = *value = dw_rest__counted(held, here);
        supply->counted = supply->price == supply->paid ? DW_COUNTED_PAID : DW_COUNTED_BEFORE;
    } else {
        *value = dw_supply_paid(supply);
        if (work->redo->measured && just_came(work, supply->id))
            count_bought(work->job, supply);
    }
}

static dw_err set_values(struct work *work, const struct dw_job *planned, struct dw_error *error)
{
    struct dw_job *job = work->job;
    work->values = dw_job_alloc(job, job->n_supplies + 1, sizeof *work->values);
    if (!work->values)
        return dw_error__nomem(error);
    for (size_t i = 0; i < job->n_supplies; i++)
        if (job->supplies[i].brought)
            count_as_before(work, planned, &job->supplies[i], &work->values[i]);
    return DW_OK;
}

/* Makes the job that of the rest, with the shelf as it is after the acts. */
static dw_err look_ahead(struct work *work, struct dw_error *error)
{
    struct dw_job *job = work->job;
    const struct dw_redo *redo = work->redo;
    struct dw_job planned = *job;
    struct dw_shelf_found found;
    char today[11] = {0};
    memcpy(today, work->act->when, strnlen(work->act->when, 10));
    struct dw_shelf_request request = {.today = today, .replaces = redo->held->id};
    struct dw_stock_query held = {.states = 1u << DW_STATE_HELD, .plan = redo->held->id};
    size_t n_own = 0;
    while (n_own < job->n_supplies && !job->supplies[n_own].brought)
        n_own++;
    job->n_supplies = n_own;
    dw_err err = dw_rest__reduce(work->ledger, redo->held, redo->trues, redo->n_trues, job,
                                 &work->result->n_locked, error);
    if (!err)
        err = dw_shelf_supply(job, work->ledger, &request, &found, work->report, error);
    if (!err)
        err = dw_ledger_list(work->ledger, &held, &work->result->back, error);
    return err ? err : set_values(work, &planned, error);
}

static dw_err rehearse(struct work *work, struct dw_error *error)
{
    dw_err err = dw_ledger_step_begin(work->ledger, work->act, work->redo->kind,
                                      work->redo->held->id, error);
    if (err)
        return err;
    err = book(work, work->act, error);
    if (!err)
        err = look_ahead(work, error);
    dw_ledger_step_drop(work->ledger);
    return err;
}

/* --- planning --------------------------------------------------------------------------------- */

static bool needs_more(const struct dw_job *job)
{
    bool needs = false;
    for (size_t i = 0; i < job->n_parts; i++)
        needs = needs || !job->parts[i].post;
    return needs;
}

/* What of the plan's money stands against `before`: every piece of the shelf at its one value, and
 * no bars to spare. */
static dw_err value_plan(struct work *work, struct dw_error *error)
{
    const struct dw_plan *plan = work->result->plan;
    dw_money *after = &work->result->after;
    dw_err err = dw_rest__used_money(work->job, plan, after, error);
    for (size_t i = 0; !err && i < plan->n_takes; i++) {
        size_t supply = plan->takes[i].supply;
        dw_money change = 0;
        if (work->job->supplies[supply].brought &&
            (!dw_sub__i64(work->values[supply], plan->takes[i].money, &change) ||
             !dw_add__i64(*after, change, after)))
            err = dw_error__set(error, DW_ERR_RANGE, "the sums of the plan are too large to hold");
    }
    work->result->revalued = plan->totals.value - *after;
    return err;
}

static dw_err plan_rest(struct work *work, struct dw_error *error)
{
    struct dw_job_request request = *work->request;
    request.path = NULL;
    dw_err err = dw_job_plan(work->job, &request, &work->result->plan, error);
    return err || work->result->plan->status == DW_STATUS_INFEASIBLE ? err
                                                                     : value_plan(work, error);
}

/* --- one step --------------------------------------------------------------------------------- */

static dw_err hold(struct work *work, const struct dw_act *act, struct dw_error *error)
{
    struct dw_miscut_result *result = work->result;
    struct dw_shelf_hold how = {.digest = work->redo->held->job_digest,
                                .replaces = work->redo->held->id};
    char *text = NULL;
    dw_err err = dw_shelf_hold_plan(work->ledger, act, work->job, result->plan, &how,
                                    &result->new_plan, NULL, error);
    if (!err && work->request->path)
        err = dw_plan_to_json(work->job, result->plan, &text, error);
    if (!err && work->request->path)
        err = dw_file__ready(work->request->path, text, strlen(text), work->request->replace,
                             &work->file, error);
    free(text);
    return err;
}

/* The acts and what follows from the plan, within the step. */
static dw_err act_whole(struct work *work, const struct dw_act *act, struct dw_error *error)
{
    const struct dw_plan *plan = work->result->plan;
    int64_t held = work->redo->held->id;
    dw_err err = dw_ledger_plan_since(work->ledger, held, work->redo->seen, error);
    if (!err)
        err = book(work, act, error);
    if (!err && !plan)
        err = dw_ledger_release(work->ledger, act, held, NULL, error);
    else if (!err && plan->status != DW_STATUS_INFEASIBLE)
        err = hold(work, act, error);
    return err;
}

static dw_err commit(struct work *work, struct dw_error *error)
{
    struct dw_miscut_result *result = work->result;
    struct dw_act act = *work->act;
    act.seen = work->redo->seen;
    dw_err err =
        dw_ledger_step_begin(work->ledger, &act, work->redo->kind, work->redo->held->id, error);
    if (err)
        return err;
    err = act_whole(work, &act, error);
    err = dw_ledger_step_end(work->ledger, err, &result->step, error);
    if (err) {
        result->new_plan = 0;
        dw_file__drop(&work->file);
        return err;
    }
    err = dw_file__place(&work->file, error);
    result->written = !err && work->request->path && result->new_plan;
    return err;
}

/* Of what the old plan held, keeps in the list what is on the shelf again. */
static void find_back(const struct work *work)
{
    const struct dw_plan *plan = work->result->plan;
    struct dw_stock_list *back = work->result->back;
    size_t n = 0;
    for (size_t i = 0; i < back->n; i++) {
        bool taken = plan && plan->status == DW_STATUS_INFEASIBLE;
        for (size_t k = 0; plan && !taken && k < plan->n_takes; k++)
            taken =
                strcmp(work->job->supplies[plan->takes[k].supply].id, back->rows[i].number) == 0;
        if (!taken)
            back->rows[n++] = back->rows[i];
    }
    back->n = n;
}

dw_err dw_redo__run(struct dw_ledger *ledger, const struct dw_act *act, struct dw_job *job,
                    const struct dw_redo *redo, const struct dw_job_request *request,
                    struct dw_miscut_result *result, struct dw_report *report,
                    struct dw_error *error)
{
    struct work work = {.ledger = ledger,
                        .act = act,
                        .job = job,
                        .redo = redo,
                        .request = request,
                        .result = result,
                        .report = report};
    dw_err err = rehearse(&work, error);
    if (!err && needs_more(job))
        err = plan_rest(&work, error);
    bool idle = !redo->cut && !redo->measured;
    if (!err && idle && !result->plan)
        err = dw_error__set(error, DW_ERR_STATE,
                            "every part of plan %lld is cut: there is no rest to plan",
                            (long long)redo->held->id);
    bool nothing = !err && idle && result->plan->status == DW_STATUS_INFEASIBLE;
    if (!err)
        find_back(&work);
    return err || nothing ? err : commit(&work, error);
}
