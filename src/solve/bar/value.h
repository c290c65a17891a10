/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values of many columns at the same duals: what counts add is gathered once by item and by stock,
 * so that a column is not asked about each count. */
#ifndef DW_SOLVE_BAR_VALUE_H
#define DW_SOLVE_BAR_VALUE_H

#include "solve/bar/price.h"

/* A count with threshold or second item `b`. */
struct dw_value_step {
    int64_t b;
    int64_t dual;
};

/* Zero-initialise; end with dw_valuer__free. */
struct dw_valuer {
    const struct dw_problem *problem;
    const struct dw_prices *prices; /* borrowed */
    size_t room;                    /* of all arrays, in items + stocks + counts */
    int64_t *unit;                  /* length n_items: of one piece */
    int64_t *constant;              /* length n_stocks: of one bar, its money taken off */
    int64_t exact;                  /* of a bar filled exactly */
    size_t *first;                  /* length n_items + 1: where the levels of an item begin */
    struct dw_value_step *levels;
    size_t *first_pair; /* length n_items + 1: where the pairs of their first item begin */
    struct dw_value_step *pairs;
    size_t n_waste, n_kept;
    struct dw_value_step *waste; /* length n_waste: by threshold, duals summed up to each */
    struct dw_value_step *kept;  /* length n_kept: the same */
    size_t n_rest;
    size_t *rest; /* length n_rest: counts that are asked about each column */
};

/* false: no memory. */
bool dw_valuer__load(struct dw_valuer *valuer, const struct dw_problem *problem,
                     const struct dw_prices *prices);
/* What dw_prices__value answers. Cost: O(n), and that of the counts left. */
int64_t dw_valuer__of(const struct dw_valuer *valuer, const struct dw_col *col);
void dw_valuer__free(struct dw_valuer *valuer);

#endif
