/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Diving: round some columns up, re-price what remains, go on (Vanderbeck 1999; Belov and
 * Scheithauer 2006). Finds plans; proves nothing. */
#ifndef DW_SOLVE_PLANS_DIVE_H
#define DW_SOLVE_PLANS_DIVE_H

#include "solve/plans/residual.h"

/* Dives from a solved relaxation and replaces *best by what it finds if that is cheaper. With
 * `root`, the relaxation without counts, the last bars are planned by `finish`: it is there that
 * rounding goes wrong. NULL: they are not. DW_ERR_NOMEM. */
dw_err dw_dive__run(struct dw_master *master, const struct dw_relax *root,
                    const struct dw_relax *relax, const struct dw_relaxed *solved,
                    dw_finish *finish, struct dw_solution *best, struct dw_error *error);

#endif
