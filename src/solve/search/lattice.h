/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The money that whole plans over listed columns can have at all: where few columns matter, it is
 * often a much coarser grid than that of the prices, or none. In integers throughout. */
#ifndef DW_SOLVE_SEARCH_LATTICE_H
#define DW_SOLVE_SEARCH_LATTICE_H

#include "solve/lp/relax.h"

#define DW_LATTICE_COLS 1000 /* longer lists are not worth it */

/* Raises relaxed->bound, money by money, past all values that no whole plan over the listed columns
 * relax->list can have. A value V leaves room only for columns of reduced cost up to V less the
 * bound, and for slack in rows of duals up to it; with these, integers x of any sign must give
 *   sum a_ic x_c = demand_i, rows without room for slack = their limit, sum cost_c x_c = V.
 * pass 64 bits. false: no memory. Cost: O(rows^2 columns) or so, for each set of columns. */
bool dw_lattice__raise(const struct dw_problem *problem, const struct dw_relax *relax,
                       struct dw_relaxed *relaxed, dw_money cutoff);

#endif
