/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What would make an infeasible job feasible. */
#include <dropwise/work.h>

#include "base/base.h"

#include <stdlib.h>
#include <string.h>

/* Effort of the second plan: it need not be good, only valid. */
#define CURE_TIME_MS 5000

struct cure_list {
    struct dw_cure *items;
    size_t n;
    size_t capacity;
};

static dw_err add_cure(struct cure_list *list, const struct dw_cure *cure, struct dw_error *error)
{
    if (!dw_array__grow(&list->items, &list->capacity, list->n + 1, sizeof *list->items))
        return dw_error__nomem(error);
    list->items[list->n++] = *cure;
    return DW_OK;
}

/* U >= l when nothing is left over; with a grip a tail of w + g must stay behind. */
dw_length dw_job_need(const struct dw_job *job, dw_length length)
{
    return job->saw.grip > 0 ? length + job->saw.kerf + job->saw.grip : length;
}

/* The cure of the kind for that material, if it is listed; else NULL. */
static struct dw_cure *find_cure(struct cure_list *list, enum dw_cure_kind kind, size_t material)
{
    for (size_t i = 0; i < list->n; i++)
        if (list->items[i].kind == kind && list->items[i].material == material)
            return &list->items[i];
    return NULL;
}

/* Adds up, by material, what is missing: the longest piece and how many. */
static dw_err note_missing(const struct dw_job *job, const struct dw_shortage *shortage,
                           enum dw_cure_kind kind, struct cure_list *list, struct dw_error *error)
{
    const struct dw_part *part = &job->parts[shortage->part];
    size_t material = part->materials[0];
    dw_length need = dw_job_need(job, part->min);
    struct dw_cure *known = find_cure(list, kind, material);
    if (known) {
        known->count += shortage->missing;
        if (need > known->length)
            known->length = need;
        return DW_OK;
    }
    struct dw_cure cure = {.kind = kind,
                           .material = material,
                           .supply = DW_NONE,
                           .length = need,
                           .count = shortage->missing};
    return add_cure(list, &cure, error);
}

static dw_err note_longer(const struct dw_job *job, const struct dw_plan *plan,
                          struct cure_list *list, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t g = 0; g < plan->n_groups && !err; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages && !err; i++)
            if (plan->groups[g].shortages[i].never)
                err = note_missing(job, &plan->groups[g].shortages[i], DW_CURE_LONGER, list, error);
    return err;
}

/* Whether new bars of the material can be bought at all. */
static bool has_new(const struct dw_job *job, size_t material)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (job->supplies[k].source == DW_SOURCE_NEW && job->supplies[k].material == material)
            return true;
    return false;
}

/* The job with the counts of its bars lifted: of new bars, and of shelf bars where the material
 * has no new ones. Offcuts are single pieces; there are no more of them. Parts that no bar can give
 * are left out. The arrays are freed by free_relaxed; all else is borrowed from `job`. */
static dw_err relax(const struct dw_job *job, const struct dw_plan *plan, struct dw_job *relaxed,
                    struct dw_error *error)
{
    *relaxed = *job;
    relaxed->supplies = calloc(job->n_supplies ? job->n_supplies : 1, sizeof *job->supplies);
    relaxed->parts = calloc(job->n_parts ? job->n_parts : 1, sizeof *job->parts);
    char *never = calloc(job->n_parts ? job->n_parts : 1, 1);
    if (!relaxed->supplies || !relaxed->parts || !never) {
        free(never);
        return dw_error__nomem(error);
    }
    for (size_t k = 0; k < job->n_supplies; k++) {
        struct dw_supply *supply = &relaxed->supplies[k];
        *supply = job->supplies[k];
        if (supply->source == DW_SOURCE_NEW ||
            (supply->source == DW_SOURCE_SHELF && !has_new(job, supply->material)))
            supply->count = DW_UNLIMITED;
    }
    for (size_t g = 0; g < plan->n_groups; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages; i++)
            never[plan->groups[g].shortages[i].part] = plan->groups[g].shortages[i].never;
    relaxed->n_parts = 0;
    for (size_t i = 0; i < job->n_parts; i++)
        if (!never[i] && !job->parts[i].post)
            relaxed->parts[relaxed->n_parts++] = job->parts[i];
    free(never);
    return DW_OK;
}

static void free_relaxed(struct dw_job *relaxed)
{
    free(relaxed->supplies);
    free(relaxed->parts);
}

/* Bars that the relaxed plan takes beyond the counts of the job. */
static dw_err note_more(const struct dw_job *job, const struct dw_plan *relaxed,
                        struct cure_list *list, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; i < relaxed->n_takes && !err; i++) {
        const struct dw_take *take = &relaxed->takes[i];
        int64_t count = job->supplies[take->supply].count;
        if (count == DW_UNLIMITED || take->used <= count)
            continue;
        struct dw_cure cure = {.kind = DW_CURE_MORE,
                               .material = job->supplies[take->supply].material,
                               .supply = take->supply,
                               .length = job->supplies[take->supply].length,
                               .count = take->used - count};
        err = add_cure(list, &cure, error);
    }
    return err;
}

/* Shortages that remain although the counts are lifted. */
static dw_err note_any(const struct dw_job *job, const struct dw_plan *relaxed,
                       struct cure_list *list, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t g = 0; g < relaxed->n_groups && !err; g++)
        for (size_t i = 0; i < relaxed->groups[g].n_shortages && !err; i++)
            err = note_missing(job, &relaxed->groups[g].shortages[i], DW_CURE_ANY, list, error);
    return err;
}

static dw_err plan_relaxed(const struct dw_job *job, const struct dw_plan *plan,
                           const struct dw_hooks *hooks, struct cure_list *list,
                           struct dw_error *error)
{
    struct dw_job relaxed = {0};
    struct dw_plan *second = NULL;
    dw_err err = relax(job, plan, &relaxed, error);
    if (!err && relaxed.n_parts > 0) {
        struct dw_settings settings = {0};
        dw_settings_default(&settings);
        settings.greedy = 1;
        settings.time_ms = CURE_TIME_MS;
        err = dw_solve(&relaxed, &settings, hooks, &second, error);
    }
    if (!err && second) {
        err = note_more(job, second, list, error);
        if (!err)
            err = note_any(&relaxed, second, list, error);
    }
    dw_plan_free(second);
    free_relaxed(&relaxed);
    return err;
}

dw_err dw_job_cure(const struct dw_job *job, const struct dw_plan *plan,
                   const struct dw_hooks *hooks, struct dw_cure **cures, size_t *n_cures,
                   struct dw_error *error)
{
    *cures = NULL;
    *n_cures = 0;
    struct cure_list list = {0};
    dw_err err = note_longer(job, plan, &list, error);
    if (!err)
        err = plan_relaxed(job, plan, hooks, &list, error);
    if (err) {
        free(list.items);
        return err;
    }
    *cures = list.items;
    *n_cures = list.n;
    return DW_OK;
}
