/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The LP seam: all that the solver asks of GLPK. `double` lives behind it and in what it returns;
 * nothing decided on its figures is called proven.
 *
 *   min c x   row_lo <= A x <= row_hi,   col_lo <= x <= col_hi
 *
 * Rows and columns count from 0. An LP belongs to the thread that made it. */
#ifndef DW_SOLVE_LP_LP_H
#define DW_SOLVE_LP_LP_H

#include "base/base.h"

struct dw_lp;

/* GLPK's environment of one thread. A fault inside GLPK (it would abort the process) is caught,
 * frees the environment and with it every LP of the thread: `dead` is set, each later call of
 * theirs answers DW_LP_FAILED or 0. Zero-initialise, with or without a stop; end with
 * dw_lp__env_free in the same thread. Once stop answers true, an LP that takes long is left where
 * it is: it answers as a dead one then, the others of the thread as ever. */
struct dw_lp_env {
    bool (*stop)(void *user);
    void *user;
    bool dead;
    void *back; /* where the simplex method is left to */
};
void dw_lp__env_free(struct dw_lp_env *env);

#define DW_LP_INF 1e300 /* no bound; minus this: none below */

enum dw_lp_result {
    DW_LP_OPTIMAL,
    DW_LP_INFEASIBLE,
    DW_LP_UNBOUNDED,
    DW_LP_LIMIT,  /* of iterations */
    DW_LP_PASSED, /* the objective is beyond what was asked for */
    DW_LP_FAILED, /* numerical trouble or a fault caught in the library; the LP is dead */
};

/* NULL: no memory. env outlives the LP. */
struct dw_lp *dw_lp__new(struct dw_lp_env *env);
void dw_lp__free(struct dw_lp *lp);

/* Index of the new row or column, or SIZE_MAX: no memory. rows[n], values[n]. */
size_t dw_lp__add_row(struct dw_lp *lp, double lo, double hi);
size_t dw_lp__add_col(struct dw_lp *lp, double cost, double lo, double hi, size_t n,
                      const size_t *rows, const double *values);
void dw_lp__row_bounds(struct dw_lp *lp, size_t row, double lo, double hi);
void dw_lp__col_bounds(struct dw_lp *lp, size_t col, double lo, double hi);
void dw_lp__col_cost(struct dw_lp *lp, size_t col, double cost);
size_t dw_lp__n_rows(const struct dw_lp *lp);
size_t dw_lp__n_cols(const struct dw_lp *lp);

/* Solves from the basis of the last call. Primal simplex, or dual when `dual` is set (after bound
 * changes). max_iterations 0 = as many as it takes, unless it goes round in circles. */
enum dw_lp_result dw_lp__solve(struct dw_lp *lp, bool dual, int64_t max_iterations);
/* Dual simplex that ends with DW_LP_PASSED as soon as the objective is known to pass `limit`: the
 * duals tell so, the values of columns nothing. */
enum dw_lp_result dw_lp__solve_up_to(struct dw_lp *lp, double limit);
double dw_lp__objective(const struct dw_lp *lp);
double dw_lp__row_dual(const struct dw_lp *lp, size_t row);
double dw_lp__col_value(const struct dw_lp *lp, size_t col);
double dw_lp__col_dual(const struct dw_lp *lp, size_t col);
int64_t dw_lp__iterations(const struct dw_lp *lp); /* simplex iterations so far: a work count */

/* Basis status of every row and column, to be put back after a branch. length rows + cols. */
void dw_lp__basis_get(const struct dw_lp *lp, unsigned char *status);
void dw_lp__basis_set(struct dw_lp *lp, const unsigned char *status, size_t n_rows, size_t n_cols);

#endif
