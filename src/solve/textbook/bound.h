/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounds before any LP. */
#ifndef DW_SOLVE_TEXTBOOK_BOUND_H
#define DW_SOLVE_TEXTBOOK_BOUND_H

#include "solve/textbook/core.h"

/* Offers the duals of the dual-feasible functions to state. Cost: O(n^2). */
void dw_csp__bound(struct dw_csp__state *state);

#endif
