/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: the driver, and whether the plan is well formed at all. */
#include "model/plan_check.h"

#include <stdio.h>
#include <stdlib.h>

/* Counts and lengths within what a job can ask for, so that all sums of products fit 128 bits. */
static void shape_layout(struct dw_audit *audit, size_t i)
{
    const struct dw_plan *plan = audit->plan;
    const struct dw_layout *layout = &plan->layouts[i];
    if (layout->supply >= audit->job->n_supplies)
        dw_audit__wrong(audit, "layout %zu is of no supply of the job", i + 1);
    if (layout->group >= plan->n_groups)
        dw_audit__wrong(audit, "layout %zu belongs to no group of the plan", i + 1);
    if (layout->count < 1 || layout->count > DW_MAX_PIECES)
        dw_audit__wrong(audit, "layout %zu is cut %lld times; 1 to %lld is possible", i + 1,
                        (long long)layout->count, (long long)DW_MAX_PIECES);
    if (layout->n_pieces < 1 || !layout->pieces) {
        dw_audit__wrong(audit, "layout %zu has no pieces", i + 1);
        return;
    }
    for (size_t j = 0; j < layout->n_pieces; j++) {
        const struct dw_piece *piece = &layout->pieces[j];
        bool named = piece->use == DW_USE_BEND_END ? piece->part == DW_NONE
                                                   : piece->part < audit->job->n_parts;
        if (piece->use < DW_USE_PART || piece->use > DW_USE_BEND_END || !named)
            dw_audit__wrong(audit, "layout %zu: piece %zu is no part or post of the job", i + 1,
                            j + 1);
        if (piece->count < 1 || piece->count > DW_LENGTH_MAX || piece->length < 1 ||
            piece->length > DW_LENGTH_MAX)
            dw_audit__wrong(audit, "layout %zu: piece %zu has an impossible length or count", i + 1,
                            j + 1);
    }
}

static void shape_group(struct dw_audit *audit, size_t g)
{
    const struct dw_group *group = &audit->plan->groups[g];
    const struct dw_certificate *c = &group->certificate;
    if (group->n_materials < 1 || !group->materials)
        dw_audit__wrong(audit, "group %zu has no material", g + 1);
    for (size_t i = 0; i < group->n_materials && group->materials; i++)
        if (group->materials[i] >= audit->job->n_materials)
            dw_audit__wrong(audit, "group %zu has a material that the job has not", g + 1);
    if (group->status < DW_STATUS_OPTIMAL || group->status > DW_STATUS_INFEASIBLE ||
        group->proof < DW_PROOF_NONE || group->proof > DW_PROOF_SEARCH)
        dw_audit__wrong(audit, "group %zu has a status or proof that is not known", g + 1);
    if ((group->n_shortages > 0 && !group->shortages) ||
        (c->n_duals > 0 && (!c->parts || !c->duals)))
        dw_audit__wrong(audit, "group %zu lacks a list that it counts", g + 1);
    for (size_t i = 0; i < group->n_shortages && group->shortages; i++)
        if (group->shortages[i].part >= audit->job->n_parts)
            dw_audit__wrong(audit, "group %zu lacks a part that the job has not", g + 1);
    for (size_t i = 0; i < c->n_duals && c->parts; i++)
        if (c->parts[i] >= audit->job->n_parts)
            dw_audit__wrong(audit, "group %zu has a dual of a part that the job has not", g + 1);
}

static void check_shape(struct dw_audit *audit)
{
    const struct dw_plan *plan = audit->plan;
    if ((plan->n_groups && !plan->groups) || (plan->n_layouts && !plan->layouts) ||
        (plan->n_takes && !plan->takes) || (plan->n_charges && !plan->charges)) {
        dw_audit__wrong(audit, "the plan lacks a list that it counts");
        return;
    }
    for (size_t i = 0; i < plan->n_groups; i++)
        shape_group(audit, i);
    for (size_t i = 0; i < plan->n_layouts; i++)
        shape_layout(audit, i);
    for (size_t i = 0; i < plan->n_takes; i++)
        if (plan->takes[i].supply >= audit->job->n_supplies)
            dw_audit__wrong(audit, "the plan takes from a supply that the job has not");
    for (size_t i = 0; i < plan->n_charges && plan->charges; i++)
        if (plan->charges[i].supplier >= audit->job->n_suppliers)
            dw_audit__wrong(audit, "the plan has charges of a supplier that the job has not");
}

static bool make_room(struct dw_audit *audit)
{
    const struct dw_job *job = audit->job;
    audit->arena = dw_arena__new();
    if (!audit->arena)
        return false;
    audit->phi = dw_arena__alloc(audit->arena, job->n_materials, sizeof *audit->phi);
    audit->group_of = dw_arena__alloc(audit->arena, job->n_materials, sizeof *audit->group_of);
    audit->groups = dw_arena__alloc(audit->arena, audit->plan->n_groups, sizeof *audit->groups);
    audit->used = dw_arena__alloc(audit->arena, job->n_supplies, sizeof *audit->used);
    audit->made = dw_arena__alloc(audit->arena, job->n_parts, sizeof *audit->made);
    return audit->phi && audit->group_of && audit->groups && audit->used && audit->made;
}

static void run_stages(struct dw_audit *audit, size_t wrong_before)
{
    void (*const stages[])(struct dw_audit *) = {
        check_shape,      dw_audit__phi_prepare, dw_audit__groups, dw_audit__layouts,
        dw_audit__counts, dw_audit__money,       dw_audit__status, dw_audit__bounds,
    };
    for (size_t i = 0; i < DW_COUNT(stages); i++)
        if (dw_audit__n_wrong(audit) == wrong_before && audit->say.err == DW_OK)
            stages[i](audit);
}

static dw_money within_money(dw_wide sum)
{
    return sum < INT64_MIN ? INT64_MIN : (dw_money)sum;
}

static dw_err tell_proven(const struct dw_audit *audit, struct dw_plan_proven **out)
{
    size_t n = audit->plan->n_groups;
    struct dw_plan_proven *proven = calloc(1, sizeof *proven + n * sizeof *proven->groups);
    if (!proven)
        return DW_ERR_NOMEM;
    *proven = (struct dw_plan_proven){
        .settled = true, .n_groups = n, .groups = (struct dw_group_proven *)(proven + 1)};
    dw_wide sum = 0;
    for (size_t g = 0; g < n; g++) {
        const struct dw_audit_group *group = &audit->groups[g];
        proven->groups[g] = (struct dw_group_proven){within_money(group->proven), group->settled};
        proven->settled = proven->settled && group->settled;
        sum += group->proven;
    }
    proven->bound = within_money(sum);
    *out = proven;
    return DW_OK;
}

void dw_plan_proven_free(struct dw_plan_proven *proven)
{
    free(proven);
}

dw_err dw_plan_prove(const struct dw_job *job, const struct dw_plan *plan, struct dw_report *report,
                     struct dw_plan_proven **out, struct dw_error *error)
{
    return dw_plan__check(job, plan, NULL, report, out, error);
}

dw_err dw_plan__check(const struct dw_job *job, const struct dw_plan *plan,
                      const struct dw_patience *patience, struct dw_report *report,
                      struct dw_plan_proven **out, struct dw_error *error)
{
    struct dw_audit audit = {
        .say = {.job = job, .report = report}, .job = job, .plan = plan, .patience = patience};
    size_t wrong_before = report->n_wrong, remarks_before = report->n_remarks;
    if (out)
        *out = NULL;
    if (plan->job_digest != dw_job_digest(job))
        dw_audit__wrong(&audit, "the plan was made for another job, or the job has changed since");
    if (audit.say.err == DW_OK && !make_room(&audit))
        audit.say.err = DW_ERR_NOMEM;
    run_stages(&audit, wrong_before);
    if (out && audit.say.err == DW_OK && report->n_wrong == wrong_before)
        audit.say.err = tell_proven(&audit, out);
    dw_arena__free(audit.arena);
    if (audit.say.err != DW_OK)
        return dw_error__nomem(error);
    if (report->n_wrong > wrong_before) {
        const char *first = "";
        for (size_t i = report->n_remarks; i-- > remarks_before;)
            if (report->remarks[i].severity == DW_WRONG)
                first = report->remarks[i].what.text;
        size_t n = report->n_wrong - wrong_before;
        return dw_error__set(error, DW_ERR_CHECK, "the plan is wrong in %zu place%s%s: %s", n,
                             n == 1 ? "" : "s", n == 1 ? "" : "; the first", first);
    }
    return DW_OK;
}

dw_err dw_plan_check(const struct dw_job *job, const struct dw_plan *plan, struct dw_report *report,
                     struct dw_error *error)
{
    return dw_plan__check(job, plan, NULL, report, NULL, error);
}
