/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "group.h"

struct dw_problem *group_of_job(const struct dw_job *job, struct dw_arena *arena)
{
    struct dw_problem *problem = NULL;
    struct dw_error error = {0};
    size_t *group_of = dw_arena__alloc(arena, job->n_materials, sizeof *group_of);
    bool *never = dw_arena__alloc(arena, job->n_parts, sizeof *never);
    if (!group_of || !never ||
        dw_problem__new(job, group_of, 0, arena, never, &problem, &error) != DW_OK)
        return NULL;
    return problem;
}

struct dw_relax group_relax(const struct dw_problem *problem)
{
    const struct dw_problem *p = problem;
    int64_t *demand = dw_arena__alloc(p->arena, p->n_items + 1, sizeof *demand);
    int64_t *avail = dw_arena__alloc(p->arena, p->n_stocks + 1, sizeof *avail);
    dw_money *bar = dw_arena__alloc(p->arena, p->n_stocks + 1, sizeof *bar);
    if (!demand || !avail || !bar)
        return (struct dw_relax){.demand = NULL};
    for (size_t i = 0; i < p->n_items; i++)
        demand[i] = p->items[i].count;
    for (size_t k = 0; k < p->n_stocks; k++) {
        avail[k] = p->stocks[k].count;
        bar[k] = p->stocks[k].price;
    }
    return (struct dw_relax){.demand = demand, .avail = avail, .bar = bar, .cutoff = INT64_MAX / 2};
}
