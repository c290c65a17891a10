/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Other ways to plan a job: with fewer bars on offer, or without offcuts to keep. */
#include <dropwise/compare.h>

#include "base/base.h"
#include "model/charges.h"

#include <stdlib.h>
#include <string.h>

const char *dw_compare_kind_word(enum dw_compare_kind kind)
{
    static const char *const words[] = {
#define WORD(name, word) [name] = word,
        DW_COMPARE_LIST(WORD)
#undef WORD
    };
    return words[kind];
}

struct comparing {
    const struct dw_job *job;
    const struct dw_settings *settings;
    const struct dw_hooks *hooks;
    struct dw_supply *supplies; /* length n_supplies: the job's, some of them not to be had */
    struct dw_compared *rows;
    size_t n;
    struct dw_error *error;
};

static bool is_new(const struct dw_supply *supply)
{
    return supply->source == DW_SOURCE_NEW && supply->count != 0;
}

static bool same_name(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

/* Whether supply k is the first new bar of a named supplier. */
static bool is_first(const struct dw_job *job, size_t k)
{
    const struct dw_supply *supply = &job->supplies[k];
    if (!is_new(supply) || !supply->supplier)
        return false;
    for (size_t i = 0; i < k; i++)
        if (is_new(&job->supplies[i]) && same_name(job->supplies[i].supplier, supply->supplier))
            return false;
    return true;
}

static size_t count_suppliers(const struct dw_job *job, bool *charged)
{
    size_t n = 0;
    *charged = false;
    for (size_t k = 0; k < job->n_supplies; k++) {
        n += is_first(job, k);
        *charged = *charged || (is_new(&job->supplies[k]) &&
                                dw_supply__charger(job, &job->supplies[k]) != DW_NONE);
    }
    return n;
}

static bool is_first_length(const struct dw_job *job, size_t k)
{
    if (!is_new(&job->supplies[k]) || job->supplies[k].bend > 0)
        return false;
    for (size_t i = 0; i < k; i++)
        if (is_new(&job->supplies[i]) && job->supplies[i].bend == 0 &&
            job->supplies[i].length == job->supplies[k].length)
            return false;
    return true;
}

static size_t count_lengths(const struct dw_job *job)
{
    size_t n = 0;
    for (size_t k = 0; k < job->n_supplies; k++)
        n += is_first_length(job, k);
    return n;
}

size_t dw_job_compare_room(const struct dw_job *job)
{
    bool charged;
    return 2 * count_suppliers(job, &charged) + 5;
}

/* --- one way -------------------------------------------------------------------------------- */

static bool has_length(const struct dw_job *job, size_t material, dw_length length)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (is_new(&job->supplies[k]) && job->supplies[k].bend == 0 &&
            job->supplies[k].material == material && job->supplies[k].length == length)
            return true;
    return false;
}

/* Whether a supply is not to be had in this way. Bars of no named supplier are in all of them. */
static bool is_out(const struct dw_job *job, const struct dw_compared *way,
                   const struct dw_supply *supply)
{
    switch (way->kind) {
    case DW_COMPARE_ALONE:
        return is_new(supply) && supply->supplier && !same_name(supply->supplier, way->supplier);
    case DW_COMPARE_WITHOUT:
        return is_new(supply) && same_name(supply->supplier, way->supplier);
    case DW_COMPARE_NO_SHELF:
        return supply->source != DW_SOURCE_NEW;
    case DW_COMPARE_ONE_LENGTH:
        return is_new(supply) && supply->bend == 0 && supply->length != way->length &&
               has_length(job, supply->material, way->length);
    case DW_COMPARE_NO_OFFCUTS:
    case DW_COMPARE_ANY_SCRAP:
    case DW_COMPARE_ANY_OFFCUTS:
        break;
    }
    return false;
}

static dw_err plan_way(struct comparing *c, struct dw_compared *way)
{
    struct dw_job job = *c->job;
    struct dw_plan *plan = NULL;
    job.supplies = c->supplies;
    memcpy(c->supplies, c->job->supplies, job.n_supplies * sizeof *c->supplies);
    for (size_t k = 0; k < job.n_supplies; k++)
        if (is_out(c->job, way, &job.supplies[k]))
            job.supplies[k].count = 0;
    if (way->kind == DW_COMPARE_NO_OFFCUTS)
        job.rules.max_new_offcuts = 0;
    if (way->kind == DW_COMPARE_ANY_SCRAP)
        job.rules.no_middling = false;
    if (way->kind == DW_COMPARE_ANY_OFFCUTS)
        job.rules.max_new_offcuts = DW_UNLIMITED;
    dw_err err = dw_solve(&job, c->settings, c->hooks, &plan, c->error);
    if (!err) {
        way->planned = plan->status != DW_STATUS_INFEASIBLE;
        way->known = plan->status == DW_STATUS_OPTIMAL;
        for (size_t g = 0; g < plan->n_groups && !way->planned; g++)
            way->known = way->known || (plan->groups[g].status == DW_STATUS_INFEASIBLE &&
                                        plan->groups[g].proof == DW_PROOF_SEARCH);
        way->value = plan->totals.value;
    }
    dw_plan_free(plan);
    return err;
}

static dw_err add_way(struct comparing *c, struct dw_compared way)
{
    if (c->hooks && c->hooks->stop && c->hooks->stop(c->hooks->user))
        return DW_OK;
    dw_err err = plan_way(c, &way);
    if (!err)
        c->rows[c->n++] = way;
    return err;
}

static dw_err add_suppliers(struct comparing *c, enum dw_compare_kind kind)
{
    dw_err err = DW_OK;
    for (size_t k = 0; k < c->job->n_supplies && !err; k++)
        if (is_first(c->job, k))
            err = add_way(
                c, (struct dw_compared){.kind = kind, .supplier = c->job->supplies[k].supplier});
    return err;
}

/* The best of the lengths. */
static dw_err add_lengths(struct comparing *c)
{
    struct dw_compared best = {.kind = DW_COMPARE_ONE_LENGTH};
    dw_err err = DW_OK;
    bool stopped = false;
    for (size_t k = 0; k < c->job->n_supplies && !err && !stopped; k++) {
        struct dw_compared way = {.kind = DW_COMPARE_ONE_LENGTH,
                                  .length = c->job->supplies[k].length};
        if (!is_first_length(c->job, k))
            continue;
        stopped = c->hooks && c->hooks->stop && c->hooks->stop(c->hooks->user);
        if (!stopped)
            err = plan_way(c, &way);
        if (!err && !stopped &&
            (best.length == 0 || (way.planned && (!best.planned || way.value < best.value))))
            best = way;
    }
    if (!err && best.length > 0)
        c->rows[c->n++] = best;
    return err;
}

static bool has_shelf(const struct dw_job *job)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (job->supplies[k].source != DW_SOURCE_NEW && job->supplies[k].count != 0)
            return true;
    return false;
}

dw_err dw_job_compare(const struct dw_job *job, const struct dw_settings *settings,
                      const struct dw_hooks *hooks, bool alone, struct dw_compared *rows, size_t *n,
                      struct dw_error *error)
{
    struct comparing c = {
        .job = job, .settings = settings, .hooks = hooks, .rows = rows, .error = error};
    bool charged = false;
    const size_t n_suppliers = count_suppliers(job, &charged);
    dw_err err = DW_OK;
    *n = 0;
    c.supplies = calloc(job->n_supplies + 1, sizeof *c.supplies);
    if (!c.supplies)
        return dw_error__nomem(error);
    if (n_suppliers > 1 && (charged || !alone))
        err = add_suppliers(&c, DW_COMPARE_ALONE);
    if (!err && !alone && n_suppliers > 2) /* of two, without one is the other alone */
        err = add_suppliers(&c, DW_COMPARE_WITHOUT);
    if (!err && !alone && has_shelf(job))
        err = add_way(&c, (struct dw_compared){.kind = DW_COMPARE_NO_SHELF});
    if (!err && !alone && count_lengths(job) > 1)
        err = add_lengths(&c);
    if (!err && !alone && job->rules.max_new_offcuts != 0)
        err = add_way(&c, (struct dw_compared){.kind = DW_COMPARE_NO_OFFCUTS});
    if (!err && !alone && job->rules.no_middling)
        err = add_way(&c, (struct dw_compared){.kind = DW_COMPARE_ANY_SCRAP});
    if (!err && !alone && job->rules.max_new_offcuts != DW_UNLIMITED)
        err = add_way(&c, (struct dw_compared){.kind = DW_COMPARE_ANY_OFFCUTS});
    *n = c.n;
    free(c.supplies);
    return err;
}
