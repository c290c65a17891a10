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

/* U >= l when nothing is left over; else a tail of w + g must stay behind, of a new bar. */
dw_length dw_job_need(const struct dw_job *job, dw_length length)
{
    const struct dw_supply bar = {.source = DW_SOURCE_NEW};
    dw_length tail = dw_supply_tail(&job->saw, &bar);
    return tail > 0 ? length + job->saw.kerf + tail : length;
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

/* Whether a bar or offcut that the job says not to use could give the part. */
static bool barred_gives(const struct dw_job *job, const struct dw_supply *supply,
                         const struct dw_part *part)
{
    size_t straight = supply->bend > 0 ? supply->tail_material : supply->material;
    dw_length tail = dw_supply_tail(&job->saw, supply);
    dw_length room = dw_supply_usable(supply) - (tail > 0 ? job->saw.kerf + tail : 0) -
                     (supply->bend > 0 ? supply->bend + job->saw.kerf : 0);
    bool accepts = false;
    for (size_t i = 0; i < part->n_materials; i++)
        accepts = accepts || part->materials[i] == straight;
    return supply->usage == DW_USAGE_NO && accepts && part->min <= room;
}

bool dw_job_barred(const struct dw_job *job, size_t part)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (barred_gives(job, &job->supplies[k], &job->parts[part]))
            return true;
    return false;
}

/* Whether the bar, which is not to be used, is the only hope of a part. */
static bool is_only_hope(const struct dw_job *job, const struct dw_plan *plan,
                         const struct dw_supply *supply)
{
    for (size_t g = 0; g < plan->n_groups; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages; i++) {
            const struct dw_shortage *shortage = &plan->groups[g].shortages[i];
            if (shortage->never && barred_gives(job, supply, &job->parts[shortage->part]))
                return true;
        }
    return false;
}

static dw_err note_longer(const struct dw_job *job, const struct dw_plan *plan,
                          struct cure_list *list, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t g = 0; g < plan->n_groups && !err; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages && !err; i++)
            if (plan->groups[g].shortages[i].never &&
                !dw_job_barred(job, plan->groups[g].shortages[i].part))
                err = note_missing(job, &plan->groups[g].shortages[i], DW_CURE_LONGER, list, error);
    return err;
}

/* Whether new bars of the material can be bought, or may be. */
static bool has_new(const struct dw_job *job, size_t material)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (job->supplies[k].source == DW_SOURCE_NEW && job->supplies[k].material == material &&
            job->supplies[k].usage != DW_USAGE_NO)
            return true;
    return false;
}

/* The job with the counts of its bars lifted: of new bars that may be bought, and of what
 * is not to be used where nothing else will do. Offcuts are single pieces; there are no more of
 * them. Parts that no bar can give are left out. The arrays are freed by free_relaxed; all else is
 * borrowed from `job`. */
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
        bool buys = supply->source == DW_SOURCE_NEW && supply->usage != DW_USAGE_NO;
        if ((supply->source != DW_SOURCE_OFFCUT && (buys || !has_new(job, supply->material))) ||
            is_only_hope(job, plan, supply))
            supply->count = DW_UNLIMITED;
    }
    for (size_t g = 0; g < plan->n_groups; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages; i++)
            never[plan->groups[g].shortages[i].part] =
                plan->groups[g].shortages[i].never &&
                !dw_job_barred(job, plan->groups[g].shortages[i].part);
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

/* The longest leftover between the longest scrap and what is kept; 0: none. */
static dw_length longest_middling(const struct dw_job *job, const struct dw_plan *plan)
{
    dw_length longest = 0;
    for (size_t i = 0; i < plan->n_layouts; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        const struct dw_supply *supply = &job->supplies[layout->supply];
        size_t material = supply->bend > 0 ? supply->tail_material : supply->material;
        if (layout->leftover > job->rules.scrap_max && layout->leftover > longest &&
            layout->leftover < job->materials[material].worth.keep)
            longest = layout->leftover;
    }
    return longest;
}

/* Whether the bars at hand would do but for the rule of the longest scrap. */
static dw_err note_rule(const struct dw_job *job, const struct dw_hooks *hooks,
                        struct cure_list *list, struct dw_error *error)
{
    if (!job->rules.no_middling)
        return DW_OK;
    struct dw_job free_of = *job;
    struct dw_settings settings = {0};
    struct dw_plan *plan = NULL;
    free_of.rules.no_middling = false;
    dw_settings_default(&settings);
    settings.time_ms = CURE_TIME_MS;
    dw_err err = dw_solve(&free_of, &settings, hooks, &plan, error);
    if (!err && plan->status != DW_STATUS_INFEASIBLE) {
        struct dw_cure cure = {.kind = DW_CURE_RULE,
                               .material = DW_NONE,
                               .supply = DW_NONE,
                               .length = longest_middling(job, plan),
                               .money = plan->totals.value};
        err = add_cure(list, &cure, error);
    }
    dw_plan_free(plan);
    return err;
}

dw_err dw_job_cure(const struct dw_job *job, const struct dw_plan *plan,
                   const struct dw_hooks *hooks, struct dw_cure **cures, size_t *n_cures,
                   struct dw_error *error)
{
    *cures = NULL;
    *n_cures = 0;
    struct cure_list list = {0};
    dw_err err = note_rule(job, hooks, &list, error);
    if (!err && list.n == 0)
        err = note_longer(job, plan, &list, error);
    if (!err && (list.n == 0 || list.items[0].kind != DW_CURE_RULE))
        err = plan_relaxed(job, plan, hooks, &list, error);
    if (err) {
        free(list.items);
        return err;
    }
    *cures = list.items;
    *n_cures = list.n;
    return DW_OK;
}
