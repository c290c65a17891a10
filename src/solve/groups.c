/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Union-find with path halving (Tarjan, van Leeuwen 1984). */
#include "solve/groups.h"
#include "model/charges.h"

#include <stdlib.h>

static size_t find(size_t *parent, size_t m)
{
    while (parent[m] != m) {
        parent[m] = parent[parent[m]];
        m = parent[m];
    }
    return m;
}

/* The least material of a group is its root. */
static void join(size_t *parent, size_t a, size_t b)
{
    a = find(parent, a);
    b = find(parent, b);
    if (a < b)
        parent[b] = a;
    else
        parent[a] = b;
}

/* A cap on kept leftovers of the whole job links all groups. */
static void join_all(const struct dw_job *job, size_t *parent)
{
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        for (size_t j = 1; j < part->n_materials; j++)
            join(parent, part->materials[0], part->materials[j]);
    }
    for (size_t k = 0; k < job->n_supplies; k++)
        if (job->supplies[k].bend > 0)
            join(parent, job->supplies[k].material, job->supplies[k].tail_material);
    if (job->rules.max_new_offcuts != DW_UNLIMITED)
        for (size_t m = 1; m < job->n_materials; m++)
            join(parent, 0, m);
}

/* A supplier that charges links all that it sells. Cost: O(supplies suppliers). */
static bool join_suppliers(const struct dw_job *job, size_t *parent)
{
    if (!dw_job__is_charged(job))
        return true;
    size_t *first = calloc(job->n_suppliers, sizeof *first);
    for (size_t k = 0; first && k < job->n_supplies; k++) {
        size_t s = dw_supply__charger(job, &job->supplies[k]);
        if (s == DW_NONE)
            continue;
        if (first[s] > 0)
            join(parent, first[s] - 1, job->supplies[k].material);
        first[s] = job->supplies[k].material + 1;
    }
    bool ok = first != NULL;
    free(first);
    return ok;
}

static dw_err find_groups(const struct dw_job *job, bool suppliers, size_t *group_of,
                          size_t *n_groups, struct dw_error *error)
{
    *n_groups = 0;
    size_t *parent = calloc(job->n_materials + 1, sizeof *parent);
    if (!parent)
        return dw_error__nomem(error);
    for (size_t m = 0; m < job->n_materials; m++) {
        parent[m] = m;
        group_of[m] = DW_NONE;
    }
    join_all(job, parent);
    if (suppliers && !join_suppliers(job, parent)) {
        free(parent);
        return dw_error__nomem(error);
    }
    for (size_t i = 0; i < job->n_parts; i++)
        group_of[find(parent, job->parts[i].materials[0])] = 0;
    for (size_t m = 0; m < job->n_materials; m++)
        if (find(parent, m) == m && group_of[m] != DW_NONE)
            group_of[m] = (*n_groups)++;
    for (size_t m = 0; m < job->n_materials; m++)
        group_of[m] = group_of[find(parent, m)];
    free(parent);
    return DW_OK;
}

dw_err dw_groups__find(const struct dw_job *job, size_t *group_of, size_t *n_groups,
                       struct dw_error *error)
{
    return find_groups(job, true, group_of, n_groups, error);
}

dw_err dw_groups__find_sets(const struct dw_job *job, size_t *set_of, size_t *n_sets,
                            struct dw_error *error)
{
    return find_groups(job, false, set_of, n_sets, error);
}
