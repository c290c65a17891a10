/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which groups are plain, and their layouts as columns. */
#include "solve/group/plain.h"

#include <stdlib.h>

bool dw_plain__is(const struct dw_problem *problem)
{
    if (problem->n_kinds != 1 || problem->missing || problem->max_kept != DW_UNLIMITED ||
        problem->job->rules.no_middling || dw_problem__counts_pieces(problem))
        return false;
    for (size_t i = 0; i < problem->n_items; i++) {
        const struct dw_item *item = &problem->items[i];
        if (item->post || item->slack > 0 || (i > 0 && item->size == problem->items[i - 1].size))
            return false;
    }
    for (size_t k = 0; k < problem->n_stocks; k++)
        if (problem->stocks[k].n_firsts > 0 || problem->stocks[k].stepped)
            return false;
    return true;
}

bool dw_plain__earns_nothing(const struct dw_problem *problem)
{
    return problem->job->materials[problem->kinds[0].material].worth.kind == DW_WORTH_NONE;
}

bool dw_plain__add(const struct dw_problem *problem, struct dw_pool *pool, size_t stock,
                   int64_t bars, size_t n, const struct dw_type_count *items,
                   struct dw_entry *entries, struct dw_solution *out)
{
    struct dw_col draft = {.stock = stock,
                           .first = DW_NONE,
                           .left = problem->stocks[stock].cap,
                           .n = n,
                           .entries = entries};
    for (size_t j = 0; j < n; j++) {
        entries[j] = (struct dw_entry){items[j].type, items[j].count};
        draft.left -= problem->items[items[j].type].size * items[j].count;
    }
    draft.kept = dw_bar_kind__kept(problem, &problem->kinds[0], draft.left) != DW_NEVER;
    const struct dw_col *col = dw_pool__add(pool, &draft);
    return col && dw_solution__add(out, col, bars);
}

bool dw_plain__offer(const struct dw_problem *problem, struct dw_solution *mine,
                     struct dw_solution *best)
{
    int64_t *scratch = calloc(problem->n_items + problem->n_stocks + 1, sizeof *scratch);
    if (!scratch)
        return false;
    if (dw_solution__settle(problem, mine, scratch) && mine->missing == 0 &&
        dw_solution__better(mine, best)) {
        struct dw_solution swap = *best;
        *best = *mine;
        *mine = swap;
    }
    free(scratch);
    return true;
}
