/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Diving: round some columns up, re-price what remains, go on (Vanderbeck 1999; Belov and
 * Scheithauer 2006). Finds plans; proves nothing. */
#ifndef DW_SOLVE_DIVE_H
#define DW_SOLVE_DIVE_H

#include "solve/relax.h"
#include "solve/solution.h"

/* Dives from a solved relaxation and replaces *best by what it finds if that is cheaper. `avoid`
 * skips so many first choices of a rounded-up column, so that dives differ. DW_ERR_NOMEM. */
dw_err dw_dive__run(struct dw_master *master, const struct dw_relax *relax,
                    const struct dw_relaxed *solved, size_t avoid, struct dw_solution *best,
                    struct dw_error *error);

#endif
