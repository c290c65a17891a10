/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One relaxation while it is solved: relax_build.c makes its LP, relax.c goes through the rounds.
 */
#ifndef DW_SOLVE_LP_RELAX_CORE_H
#define DW_SOLVE_LP_RELAX_CORE_H

#include "solve/lp/relax.h"

/* One lead of one stock whose best layout may enter. */
struct dw_relax_candidate {
    int64_t value;
    size_t stock;
    size_t lead;
};

struct dw_relax_run {
    struct dw_master *master;
    const struct dw_problem *p;
    const struct dw_relax *relax;
    struct dw_relaxed *out;
    struct dw_lp *lp;
    size_t *stock_row;  /* length n_stocks; SIZE_MAX: no row */
    size_t first_count; /* row of the first count */
    size_t n_rows;
    size_t n_artificial;
    double factor;
    dw_money rounded; /* the bound, before the step of the money */
    struct dw_prices prices;
    int64_t *most; /* length n_stocks: minus the least reduced cost; DW_NEVER: no column */
    size_t n_cols, col_capacity;
    const struct dw_col **cols; /* length n_cols: columns of the LP after the artificial ones */
    size_t n_found, found_capacity;
    struct dw_relax_candidate *found;
    size_t *scratch_rows;
    double *scratch_values;
    int64_t iterations;
    size_t n_added; /* columns added in this round */
    bool cut_short; /* stopped while layouts were priced */
    const struct dw_col *emitted;
    int64_t emitted_value;
};

/* The LP with its rows, artificial columns and the columns and basis of the start. false: no
 * memory. */
bool dw_relax__build(struct dw_relax_run *run);
/* A column of the LP, if it is not one yet. false: no memory. */
bool dw_relax__add_col(struct dw_relax_run *run, const struct dw_col *col);

/* Whether parts are made just as often as wanted. Where all columns are listed, those of a plan
 * without surplus are among them. */
bool dw_relax__exact_demand(const struct dw_relax_run *run);
/* Cost of going without a piece: its share of the largest bar, times a factor that is raised while
 * artificial columns stay in the solution. */
double dw_relax__artificial_cost(const struct dw_relax_run *run, size_t column);
/* No more pieces than are wanted, from a bar that is there: what the pricer may make. It counts a
 * bent first part by itself. */
bool dw_relax__fits(const struct dw_relax_run *run, const struct dw_col *col);

#endif
