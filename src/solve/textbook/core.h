/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the stages of the textbook engine share: the problem scaled down, lists of layouts, the best
 * plan and bound so far, and the account of work. Read csp.c for the order of the stages. */
#ifndef DW_SOLVE_TEXTBOOK_CORE_H
#define DW_SOLVE_TEXTBOOK_CORE_H

#include "solve/budget/random.h"
#include "solve/group/problem.h"
#include "solve/textbook/csp.h"

/* --- state of a solve ----------------------------------------------------------------------- */

/* Working copy of the problem: lengths divided by their common factor, capacity lowered to a
 * sum that some pieces reach. Types and demands are those of the caller. */
struct dw_csp__state {
    int64_t capacity;
    size_t n;
    int64_t *size;   /* length n */
    int64_t *demand; /* length n */
    int64_t pieces;  /* sum of demand */
    dw_wide total;   /* sum of size demand */

    struct dw_lp_env *env;
    struct dw_effort *effort;
    bool failed; /* no memory */

    int fills; /* dives so far: they alternate between two ways to choose */

    struct dw_layout_list best; /* a plan that meets every demand exactly */
    int64_t bars;               /* of it */
    int64_t bound;              /* proved, by duals or by search */
    int64_t dual_bound;
    int64_t scale;
    int64_t *dual; /* length n */
    const char *method;
    struct dw_arena *arena; /* size, demand, dual, and what the plan keeps */
};

/* Books work and asks stop(). false: end now with the best so far. */
bool dw_csp__spend(struct dw_csp__state *state, int64_t work);
bool dw_csp__go(const struct dw_csp__state *state);

/* true when nothing is left to find. */
bool dw_csp__closed(const struct dw_csp__state *state);

/* Duals with sum dual_i a_i <= scale for every layout: takes the bound they prove if it is better.
 * Cost: O(n). */
void dw_csp__offer_duals(struct dw_csp__state *state, const int64_t *dual, int64_t scale);

/* A plan that meets every demand at least once over: surplus pieces are taken out, empty layouts
 * dropped; kept if it has fewer bars. Cost: O(items). */
void dw_csp__offer_plan(struct dw_csp__state *state, const struct dw_layout_list *list,
                        const char *method);

#endif
