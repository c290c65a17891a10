/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one-bar subproblem: the most valuable layout,
 *
 *   z = max sum p_i a_i   s.t.  sum l_i a_i <= C,  0 <= a_i <= b_i,   all integers, p_i >= 0.
 *
 * By dynamic programming over lengths where the table fits, by branch and bound for large C. */
#ifndef DW_SOLVE_BAR_KNAP_H
#define DW_SOLVE_BAR_KNAP_H

#include "solve/budget/effort.h"
#include "solve/group/list.h"

struct dw_knap;

/* Whether the table of dynamic programming would fit. */
bool dw_knap__has_table(int64_t capacity, size_t n);

/* Whether branch and bound is the faster way to one most valuable layout. */
bool dw_knap__is_long(int64_t capacity, size_t n);

/* size decreasing, borrowed; at most demand_i copies of each. By dynamic programming if `table` is
 * set and the table fits, else by branch and bound. NULL: no memory. */
struct dw_knap *dw_knap__new(int64_t capacity, size_t n, const int64_t *size, const int64_t *demand,
                             bool table);
void dw_knap__free(struct dw_knap *knap);

/* Another demand (0 allowed) and, with dynamic programming only, layouts that waste no more than
 * `waste`; values may then be negative. false: by branch and bound, not possible. */
bool dw_knap__retarget(struct dw_knap *knap, const int64_t *demand, int64_t waste);

/* Values must be so small that no layout passes this; 0: the capacity is too large for us. */
int64_t dw_knap__most(const struct dw_knap *knap);

/* At least the sum of sign value_i a_i over its positive terms, for any layout; -1: no memory. */
double dw_knap__above(struct dw_knap *knap, const double *value, double sign);

/* Solves for value[n], borrowed until the next call. An upper bound of z: max(z, least), or a
 * little more when the search was long; DW_KNAP_STOPPED when the effort said stop. */
#define DW_KNAP_STOPPED   INT64_MIN
#define DW_KNAP_NO_MEMORY (INT64_MIN + 1)
int64_t dw_knap__solve(struct dw_knap *knap, struct dw_effort *effort, const int64_t *value,
                       int64_t least);

/* Appends layouts of value > least found by the last solve, at most `most`, the best first among
 * them. false: no memory. */
bool dw_knap__layouts(struct dw_knap *knap, int64_t least, size_t most,
                      struct dw_layout_list *list);

/* Appends all layouts of value >= least that have the type, if they are at most `limit`; how many
 * there are, limit + 1 when more (some are then missing). By dynamic programming only, for the
 * values of the last solve; also limit + 1 when the walk over the table gets long. -1: no memory.
 */
int64_t dw_knap__list(struct dw_knap *knap, size_t type, int64_t least, int64_t limit, bool maximal,
                      struct dw_layout_list *list);

/* The same for all layouts of value >= least, whatever they hold. */
int64_t dw_knap__all(struct dw_knap *knap, int64_t least, int64_t limit,
                     struct dw_layout_list *list);

/* Steps of dw_knap__list and dw_knap__all since the last call of this. */
int64_t dw_knap__walked(struct dw_knap *knap);

#endif
