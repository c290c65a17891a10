/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The assignment problem: who gets what, so that the whole is worth most. */
#ifndef DW_SOLVE_CHOOSE_ASSIGN_H
#define DW_SOLVE_CHOOSE_ASSIGN_H

#include "base/base.h"

struct dw_assign_edge {
    size_t row;
    size_t col;
    int64_t gain; /* an edge without gain is never used */
};

/*   max sum g_ij x_ij,   sum_j x_ij <= 1 for each row i,   sum_i x_ij <= caps[j],   x >= 0
 *
 * The matrix is totally unimodular (Hoffman and Kruskal 1956), so the simplex method ends at
 * integers, primal and dual. Both are rounded and the optimum is then proven in integers by
 * duality: u_i + v_j >= g_ij on each edge, and sum u + sum caps v = the value.
 *
 * col_of[i], length n_rows, becomes the column of row i or SIZE_MAX. caps, length n_cols, >= 0.
 * DW_ERR_NOMEM, DW_ERR_RANGE (a sum that overflows), DW_ERR_SOLVER (the proof failed).
 * Cost: one LP with n_rows + n_cols rows and n_edges columns. */
dw_err dw_assign__solve(size_t n_rows, size_t n_cols, const int64_t *caps, size_t n_edges,
                        const struct dw_assign_edge *edges, size_t *col_of, struct dw_error *error);

#endif
