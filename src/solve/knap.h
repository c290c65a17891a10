/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one-bar subproblem: the most valuable layout,
 *
 *   z = max sum p_i a_i   s.t.  sum l_i a_i <= C,  0 <= a_i <= b_i,   all integers, p_i >= 0.
 *
 * By dynamic programming over lengths where the table fits, by branch and bound for large C. */
#ifndef DW_SOLVE_KNAP_H
#define DW_SOLVE_KNAP_H

#include "solve/csp_core.h"

struct dw_knap;

/* size decreasing, borrowed; at most demand_i copies of each. NULL: no memory. */
struct dw_knap *dw_knap__new(int64_t capacity, size_t n, const int64_t *size,
                             const int64_t *demand);
void dw_knap__free(struct dw_knap *knap);

/* Values must be so small that no layout passes this; 0: the capacity is too large for us. */
int64_t dw_knap__most(const struct dw_knap *knap);

/* Solves for value[n] >= 0, borrowed until the next call. An upper bound of z: max(z, least), or a
 * little more when the search was long; -1 when state said stop. */
int64_t dw_knap__solve(struct dw_knap *knap, struct dw_csp__state *state, const int64_t *value,
                       int64_t least);

/* Appends layouts of value > least found by the last solve, at most `most`, the best first among
 * them. false: no memory. */
bool dw_knap__layouts(struct dw_knap *knap, int64_t least, size_t most, struct dw_csp__list *list);

#endif
