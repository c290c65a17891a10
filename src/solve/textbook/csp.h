/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The cutting-stock problem of the textbooks: one bar length, every bar costs the same, as few
 * bars as possible. Exact: the answer carries a lower bound in integers and says how it is known.
 *
 *   min sum x_a   s.t.  sum_a a_i x_a = d_i,   a in N^n with sum l_i a_i <= C,  a_i <= d_i
 *
 * Lengths are any integers (kerf folded in: l_i + w, C + w); only their ratios matter, so the
 * caller need not divide by a common factor. */
#ifndef DW_SOLVE_TEXTBOOK_CSP_H
#define DW_SOLVE_TEXTBOOK_CSP_H

#include "solve/budget/effort.h"
#include "solve/group/list.h"
#include "solve/lp/lp.h"

struct dw_csp {
    int64_t capacity;      /* C >= 1, at most DW_LIST_MAX_CAPACITY */
    size_t n;              /* distinct lengths, 0 allowed */
    const int64_t *size;   /* length n, strictly decreasing, 1 <= l_i <= C */
    const int64_t *demand; /* length n, >= 1; their sum at most DW_LIST_MAX_PIECES */
};

struct dw_csp_layout {
    int64_t bars; /* so many cut alike, >= 1 */
    size_t n_items;
    const struct dw_type_count *items; /* length n_items */
};

/* Valid on return even when stopped: layouts meet every demand exactly, no surplus.
 *
 * dual and scale prove dual_bound: every layout a has sum dual_i a_i <= scale, so
 *   bars >= ceil( sum dual_i d_i / scale ) = dual_bound       (Farley 1990, in integers).
 * finished: the search proved that no plan has fewer than `bars`; bound = bars then, also where
 * dual_bound is below it. */
struct dw_csp_plan {
    size_t n_layouts;
    const struct dw_csp_layout *layouts; /* length n_layouts */
    int64_t bars;
    int64_t bound; /* max(dual_bound, what the search proved) */
    int64_t dual_bound;
    int64_t scale;       /* >= 1 */
    const int64_t *dual; /* length n, >= 0 */
    bool finished;
    const char *method;     /* what ended it: "bound and greedy", "column generation", ... */
    struct dw_arena *arena; /* owns all of it */
};

/* DW_ERR_RANGE: the problem breaks a rule above. DW_ERR_NOMEM. env is the calling thread's, zeroed
 * or in use; a fault of the LP library leaves it dead and the best plan so far. */
dw_err dw_csp__solve(const struct dw_csp *problem, struct dw_effort *effort, struct dw_lp_env *env,
                     struct dw_csp_plan **out, struct dw_error *error);
void dw_csp__free(struct dw_csp_plan *plan);

#endif
