/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plain groups: straight bars of one material at fixed prices, parts of fixed lengths. Methods for
 * them know lengths and counts alone; here their layouts become columns again. */
#ifndef DW_SOLVE_GROUP_PLAIN_H
#define DW_SOLVE_GROUP_PLAIN_H

#include "solve/group/list.h"
#include "solve/group/solution.h"

/* No posts, no ranges, no packs or price breaks, no zone or cap on leftovers, no bar that could
 * hold more pieces than it may. */
bool dw_plain__is(const struct dw_problem *problem);
/* Whether leftovers can't earn. */
bool dw_plain__earns_nothing(const struct dw_problem *problem);

/* Adds `bars` bars of the stock with these items, whose types are indices of the problem's items.
 * entries: length n_items of the problem. false: no memory. */
bool dw_plain__add(const struct dw_problem *problem, struct dw_pool *pool, size_t stock,
                   int64_t bars, size_t n, const struct dw_type_count *items,
                   struct dw_entry *entries, struct dw_solution *out);

/* Settles *mine and swaps it with *best if it is whole and better. false: no memory. */
bool dw_plain__offer(const struct dw_problem *problem, struct dw_solution *mine,
                     struct dw_solution *best);

#endif
