/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The problem that some bars of a plan leave to the others, planned anew by a short exact search.
 */
#ifndef DW_SOLVE_PLANS_RESIDUAL_H
#define DW_SOLVE_PLANS_RESIDUAL_H

#include "solve/lp/relax.h"
#include "solve/group/solution.h"

/* A short exact search: replaces *best by cheaper plans, of `master->problem` from its solved
 * relaxation. An argument, as the search that plans are made for is built on them. DW_ERR_NOMEM. */
typedef dw_err dw_finish(struct dw_master *master, const struct dw_relax *root,
                         const struct dw_relaxed *solved, struct dw_solution *best,
                         struct dw_error *error);

struct dw_residual {
    struct dw_master *master;
    dw_finish *finish;
    const struct dw_problem *p;
    struct dw_problem sub;       /* what is left: its pieces and its supply */
    struct dw_item *items;       /* length n_items, of sub */
    struct dw_bar_stock *stocks; /* length n_stocks, of sub */
    struct dw_relax relax;       /* of sub */
    int64_t *demand;             /* length n_items */
    int64_t *avail;              /* length n_stocks */
    int64_t *scratch;            /* length n_items + n_stocks */
};

/* false: no memory. Give it back with dw_residual__unmake, also then. */
bool dw_residual__make(struct dw_residual *residual, struct dw_master *master,
                       const struct dw_relax *root, dw_finish *finish);
void dw_residual__unmake(struct dw_residual *residual);

/* Plans what the bars of `stay` leave; with them, a plan cheaper than *best replaces it, and
 * *better says so. `sideways`: so does another one of the same money. `cols`, length n_cols, are
 * columns to start from. DW_ERR_NOMEM. */
dw_err dw_residual__solve(struct dw_residual *residual, const struct dw_solution *stay,
                          const struct dw_col **cols, size_t n_cols, bool sideways,
                          const char *method, struct dw_solution *best, bool *better,
                          struct dw_error *error);

#endif
