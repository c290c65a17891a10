/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-fit and best-fit decreasing. */
#ifndef DW_SOLVE_TEXTBOOK_GREEDY_H
#define DW_SOLVE_TEXTBOOK_GREEDY_H

#include "solve/textbook/core.h"

/* First-fit decreasing for the demand left[n], bar by bar, equal bars at once; stops with false
 * after most_bars bars. Appends to list; left is used up. items is scratch, length n. Cost:
 * O(n layouts). */
bool dw_csp__first_fit(struct dw_csp__state *state, int64_t *left, int64_t most_bars,
                       struct dw_type_count *items, struct dw_layout_list *list);

/* Offers the plans of first-fit decreasing (always) and best-fit decreasing (up to a few thousand
 * pieces). */
void dw_csp__greedy(struct dw_csp__state *state);

#endif
