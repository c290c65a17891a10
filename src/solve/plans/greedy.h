/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First plans: first-fit decreasing with multiplicities, bars chosen by several rules. */
#ifndef DW_SOLVE_PLANS_GREEDY_H
#define DW_SOLVE_PLANS_GREEDY_H

#include "solve/budget/effort.h"
#include "solve/group/solution.h"

/* The best plan of the rules, settled; with missing > 0 if none gives every part. DW_ERR_NOMEM.
 * Cost: O(layouts stocks pieces a bar) a rule; layouts is about the number of items. */
dw_err dw_greedy__solve(const struct dw_problem *problem, struct dw_pool *pool,
                        struct dw_effort *effort, struct dw_solution *out, struct dw_error *error);

#endif
