/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Among plans of equal money: fewer bars, then fewer layouts, then one long leftover rather than
 * several short ones; of the pieces in the shop the short ones are cut, so that the long ones stay
 * whole. Local search; what it leaves is no worse in that order. */
#ifndef DW_SOLVE_PLANS_TIDY_H
#define DW_SOLVE_PLANS_TIDY_H

#include "solve/budget/effort.h"
#include "solve/group/solution.h"

/* false: no memory. `scratch`: length n_items + n_stocks. Cost: bounded, see BUDGET. */
bool dw_tidy__run(const struct dw_problem *problem, struct dw_pool *pool, struct dw_effort *effort,
                  struct dw_solution *solution, int64_t *scratch);

#endif
