/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans for a relaxation that is whole in all that costs money. */
#ifndef DW_SOLVE_FILL_SETTLED_H
#define DW_SOLVE_FILL_SETTLED_H

#include "solve/lp/relax.h"
#include "solve/group/solution.h"

/* The relaxation says how many bars of each stock are cut, how many posts are made and how many
 * leftovers are kept (dw_branch__settled): looks for a plan of just these with as many exact fills
 * as it takes to be cheaper than *best. What bars with posts, bent first parts, parts of a range or
 * kept leftovers begin and end with is rounded at random; all other pieces are drawn by
 * dw_fill__run, with up to so much work. Replaces *best by what it finds if that is cheaper.
 * DW_ERR_NOMEM. */
dw_err dw_settled__plan(struct dw_master *master, const struct dw_relax *relax,
                        const struct dw_relaxed *solved, int64_t work, uint64_t seed,
                        struct dw_solution *best, struct dw_error *error);

#endif
