/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fewer set-ups: the pieces that some layouts of a plan give, cut with fewer layouts. */
#ifndef DW_SOLVE_PLANS_FEW_H
#define DW_SOLVE_PLANS_FEW_H

#include "solve/budget/effort.h"
#include "solve/lp/lp.h"
#include "solve/group/solution.h"

/* Replaces *solution, settled and whole, by a plan with fewer layouts, never more, whose money is
 * higher by at most `allowance` >= 0. `values` (length n_items, >= 0, any scale) guides the search:
 * duals of the items, or NULL. Every stock keeps giving the same pieces. scratch: length n_items +
 * n_stocks. false: no memory. Cost: bounded, see few.c; the same answer for the same input. */
bool dw_few__run(const struct dw_problem *problem, struct dw_pool *pool, struct dw_effort *effort,
                 struct dw_lp_env *env, const int64_t *values, dw_money allowance,
                 struct dw_solution *solution, int64_t *scratch);

/* What may be given up of `money` at so many parts per million; 0 if money <= 0. */
dw_money dw_few__allowance(dw_money money, int64_t ppm);

#endif
