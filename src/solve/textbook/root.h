/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The LP bound by column generation. */
#ifndef DW_SOLVE_TEXTBOOK_ROOT_H
#define DW_SOLVE_TEXTBOOK_ROOT_H

#include "solve/textbook/core.h"

/* min sum x_a, sum a_i x_a >= d_i, over the layouts with a_i <= d_i (the proper relaxation). Offers
 * the integer bound of every round's duals; ends when the bound meets the rounded-up value of the
 * LP or the plan at hand. Columns that are there at the start are taken on. Column pool and final
 * duals are kept in *columns, dual[n] (doubles). */
struct dw_csp__root {
    struct dw_layout_list columns; /* layouts in the LP */
    double *x;    /* length columns.n: bars cut so by the LP, or NULL: none solved */
    double *dual; /* length n */
    double value; /* of the LP at the end */
    bool optimal; /* the value is that of the full LP, but for tolerances */
};
void dw_csp__root(struct dw_csp__state *state, struct dw_csp__root *root);
void dw_csp__root_free(struct dw_csp__root *root);

#endif
