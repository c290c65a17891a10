/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The method of bulk.h applied to a group of a job. */
#ifndef DW_SOLVE_BULK_GROUP_H
#define DW_SOLVE_BULK_GROUP_H

#include "solve/group/solution.h"
#include "solve/lp/certify.h"

/* Whether the group is too large for an exact finish and plain enough for the method: straight bars
 * of one material at fixed prices, no posts, no ranges, no zone or cap on leftovers. */
bool dw_bulk__suits(const struct dw_problem *problem);

/* Duals and a bound without an LP or a table, of a group that suits; *certified stays as it is
 * where they would prove nothing. false: no memory. */
bool dw_bulk__certify(const struct dw_problem *problem, struct dw_certified *certified);

/* Takes the better of *best and its own plan, and the better of *certified and its own bound.
 * Errors as dw_bulk__solve. */
dw_err dw_bulk__group(const struct dw_problem *problem, struct dw_pool *pool,
                      struct dw_effort *effort, struct dw_lp_env *env, struct dw_solution *best,
                      struct dw_certified *certified, struct dw_error *error);

#endif
