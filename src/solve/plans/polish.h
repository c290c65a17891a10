/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Large neighbourhood search (Shaw 1998): free some bars of the best plan, those of high reduced
 * cost first, and plan their pieces anew by a short exact search, `finish`. */
#ifndef DW_SOLVE_PLANS_POLISH_H
#define DW_SOLVE_PLANS_POLISH_H

#include "solve/plans/residual.h"

/* Replaces *best by cheaper plans; ends after `patience` rounds without one, or at `bound`, which
 * no plan can pass. `round` numbers the rounds over all calls, so that later calls choose other
 * bars. DW_ERR_NOMEM. */
dw_err dw_polish__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_prices *prices, const struct dw_relaxed *solved, int64_t work,
                      size_t *round, dw_finish *finish, struct dw_solution *best,
                      struct dw_error *error);

#endif
