/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The master problem over listed columns as a MIP of the LP library: finds plans, proves nothing.
 */
#ifndef DW_SOLVE_POOL_MIP_H
#define DW_SOLVE_POOL_MIP_H

#include "solve/relax.h"
#include "solve/solution.h"

/* Replaces *best by a cheaper plan of the columns relax->list, if one is found within max_nodes.
 * *empty: the library found none to exist, in floating point. `scratch`: length n_items + n_stocks.
 * DW_ERR_NOMEM. */
dw_err dw_pool_mip__run(struct dw_master *master, const struct dw_relax *relax, int64_t max_nodes,
                        int64_t *scratch, struct dw_solution *best, bool *empty,
                        struct dw_error *error);

#endif
