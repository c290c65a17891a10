/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The method of csp.h applied to a group of a job. */
#ifndef DW_SOLVE_TEXTBOOK_GROUP_H
#define DW_SOLVE_TEXTBOOK_GROUP_H

#include "solve/group/solution.h"
#include "solve/lp/certify.h"

/* Whether the group is the textbook's: plain (see group/plain.h), one stock, money for bars alone.
 */
bool dw_csp__suits(const struct dw_problem *problem);

/* Takes the better of *best and its own plan, its certificate, and whether the search ended with
 * the proof that no plan has fewer bars. Errors as dw_csp__solve. */
dw_err dw_csp__group(const struct dw_problem *problem, struct dw_pool *pool,
                     struct dw_effort *effort, struct dw_lp_env *env, struct dw_solution *best,
                     struct dw_certified *certified, bool *finished, struct dw_error *error);

#endif
