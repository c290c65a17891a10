/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The exact finish: best-first branch and price over counts, and complete listings of layouts. */
#ifndef DW_SOLVE_SEARCH_SEARCH_H
#define DW_SOLVE_SEARCH_SEARCH_H

#include "solve/lp/relax.h"
#include "solve/group/solution.h"

struct dw_search_limits {
    size_t max_nodes; /* 0 = none */
    /* Part of another search: no neighbourhoods, few dives, and *bound means nothing. */
    bool inner;
};

/* Replaces *best by cheaper plans as they are found. *bound: no plan is cheaper
 * than it; = best->money when the search was completed.
 * DW_ERR_NOMEM. */
dw_err dw_search__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_relaxed *solved, const struct dw_search_limits *limits,
                      struct dw_solution *best, dw_money *bound, struct dw_error *error);

/* The same as a part of another search, with few nodes: a dw_finish. */
dw_err dw_search__part(struct dw_master *master, const struct dw_relax *root,
                       const struct dw_relaxed *solved, struct dw_solution *best,
                       struct dw_error *error);

#endif
