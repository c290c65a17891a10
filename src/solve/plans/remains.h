/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What remains of a relaxation when bars of it are fixed. */
#ifndef DW_SOLVE_PLANS_REMAINS_H
#define DW_SOLVE_PLANS_REMAINS_H

#include "solve/lp/relax.h"
#include "solve/group/solution.h"

struct dw_remains {
    const struct dw_problem *p;
    struct dw_relax relax; /* of what remains; its base has the money of what is fixed */
    int64_t *demand;       /* length n_items, of relax */
    int64_t *avail;        /* length n_stocks, of relax */
    int64_t *lo;           /* length n_counts, of relax */
    int64_t *hi;           /* length n_counts, of relax */
    struct dw_solution plan;
};

/* All of the relaxation remains. false: no memory. Give it back with dw_remains__unmake, also then.
 */
bool dw_remains__make(struct dw_remains *rest, const struct dw_problem *problem,
                      const struct dw_relax *relax);
void dw_remains__unmake(struct dw_remains *rest);

/* How often the column can still be cut. */
int64_t dw_remains__room(const struct dw_remains *rest, const struct dw_col *col);
/* Fixes so many bars. false: no memory. */
bool dw_remains__fix(struct dw_remains *rest, const struct dw_col *col, int64_t times);

#endif
