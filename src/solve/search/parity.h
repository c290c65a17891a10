/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parity cuts over listed columns: the zero-half cuts of Chvatal-Gomory rank one (Caprara,
 * Fischetti 1996), in the form that counts what is odd. Take rows of the relaxed master whose right
 * sides have an odd sum. In a whole solution some column with an odd sum of coefficients is used,
 * or some inequality among the rows is not tight:
 *
 *   sum of x_c over c with odd sum_r a_rc  +  sum of the slacks of the inequalities  >=  1
 *
 * With each slack written out (b_r - sum a_rc x_c, or sum a_rc x_c - b_r) this is a row over the
 * columns alone. It holds for plans that make each part as often as wanted. The subproblem of one
 * bar cannot price such rows: they are for lists of columns alone. */
#ifndef DW_SOLVE_SEARCH_PARITY_H
#define DW_SOLVE_SEARCH_PARITY_H

#include "solve/lp/relax.h"

/* Cuts that the solution of a relaxation over listed columns violates, the most violated first, at
 * most `most` of them, from `arena`. Rows that are cuts take no part. *n: how many. NULL: no
 * memory. Cost: O(rows^2 columns / 64) for each of a few orders of elimination. */
struct dw_parity_cut **dw_parity__find(const struct dw_problem *problem,
                                       const struct dw_relax *relax,
                                       const struct dw_relaxed *relaxed, size_t most,
                                       struct dw_arena *arena, size_t *n);

#endif
