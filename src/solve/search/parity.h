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

/* A count that takes part: sign 0 an equality, -1 at most, 1 at least so many. */
struct dw_parity_count {
    struct dw_bar_count count;
    int sign;
};

struct dw_parity_cut {
    const unsigned char *item; /* length n_items: 1: its row takes part */
    bool posts;                /* rows of posts do */
    const unsigned char
        *odd;             /* length n_stocks: 1: rows of its bars, or of all bars, are odd ... */
    const int32_t *slack; /* ... and what a bar adds to their slacks */
    size_t n_counts;
    const struct dw_parity_count
        *counts;   /* length n_counts: those that ask for more than the stock */
    int64_t least; /* right side: sum of coefficients x >= least */
};

/* Coefficient of a column. Cost: that of the counts that take part. */
int64_t dw_parity__of(const struct dw_problem *problem, const struct dw_parity_cut *cut,
                      const struct dw_col *col);

/* Cuts that the solution of a relaxation over listed columns violates, the most violated first, at
 * most `most` of them, from `arena`. Rows that are cuts take no part. *n: how many. NULL: no
 * memory. Cost: O(rows^2 columns / 64) for each of a few orders of elimination. */
struct dw_parity_cut **dw_parity__find(const struct dw_problem *problem,
                                       const struct dw_relax *relax,
                                       const struct dw_relaxed *relaxed, size_t most,
                                       struct dw_arena *arena, size_t *n);

#endif
