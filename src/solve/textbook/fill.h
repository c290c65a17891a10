/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Are so many bars enough?", answered by finding the plan. */
#ifndef DW_SOLVE_TEXTBOOK_FILL_H
#define DW_SOLVE_TEXTBOOK_FILL_H

#include "solve/textbook/core.h"

/* Looks for a plan with `bars` bars by fixing, step by step, layouts that the distribution of
 * fill/gibbs.h says are nearly sure, with jumps back from dead ends. Offers what it finds. Gives up
 * after `tries` dead ends. true: found. */
bool dw_csp__fill(struct dw_csp__state *state, int64_t bars, int tries);

/* The same for what is left of the problem, left[n]; appends the layouts to list. */
bool dw_csp__fill_rest(struct dw_csp__state *state, const int64_t *left, int64_t bars, int tries,
                       struct dw_layout_list *list);

#endif
