/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the search share. Read search.c for its order. */
#ifndef DW_SOLVE_SEARCH_CORE_H
#define DW_SOLVE_SEARCH_CORE_H

#include "solve/search/branch.h"
#include "solve/search/node.h"
#include "solve/search/search.h"

struct dw_search {
    struct dw_master *master;
    const struct dw_problem *p;
    const struct dw_relax *root;
    const struct dw_relaxed *solved; /* the root */
    const struct dw_search_limits *limits;
    struct dw_solution *best;
    struct dw_error *error;
    struct dw_arena *arena; /* owns the cuts */

    size_t n_counts, counts_capacity;
    struct dw_bar_count *counts; /* length n_counts: all that were branched on, and the cuts */
    struct dw_heap open;
    size_t n_solved;
    struct dw_heap aside; /* nodes that could neither be closed nor split at their gap */

    size_t polish_round;
    int64_t polish_at; /* work at which the next neighbourhoods are due */
    int64_t dive_at;   /* and the next dive */
    int64_t cut_at;    /* and the next rounds of cuts */

    int64_t *scratch; /* length n_items + n_stocks */
};

/* The relaxation of a node, with all that it points to but what the node has itself.
 * Zero-initialise; end with dw_node_relax__free. */
struct dw_node_relax {
    struct dw_relax relax; /* without the limits that are released */
    size_t room;
    struct dw_bar_count *counts; /* length n_limits of the node */
    int64_t *lo, *hi;            /* length n_limits: without what is released */
    int64_t *least, *most;       /* length n_limits: with it */
    dw_money *bar;               /* length n_stocks */
    struct dw_line *lines;       /* length n_stocks */
};

/* Makes it, or makes it anew; over the node's own list of columns where it has one. The node must
 * not change its limits, start or list while it is in use. false: no memory. */
bool dw_search__relax(const struct dw_search *s, const struct dw_search_node *node,
                      struct dw_node_relax *own);
void dw_node_relax__free(struct dw_node_relax *own);

/* Whether *best counts: then only cheaper plans matter. */
bool dw_search__has_plan(const struct dw_search *s);
/* Takes whole columns as a plan. false: no memory. */
bool dw_search__take_whole(struct dw_search *s, const struct dw_relaxed *relaxed, bool *whole);

/* The columns that matter below a node, if they are not too many, with cuts on them; *known is NULL
 * otherwise. Raises relaxed->bound where they tell more. DW_ERR_NOMEM. */
dw_err dw_search__list(struct dw_search *s, struct dw_search_node *node, struct dw_node_relax *own,
                       struct dw_relaxed *relaxed, struct dw_known **known);

/* Where limits of a node alone settle what its exact fills save, all layouts are alike to the
 * duals: the relaxation cannot do better than a limit allows, at whatever waste. Without these
 * limits the duals tell layouts apart, and the bound stays what it was. Releases them and solves
 * the node's relaxation again. DW_ERR_NOMEM. */
dw_err dw_search__release(struct dw_search *s, struct dw_search_node *node,
                          struct dw_node_relax *own, struct dw_relaxed *relaxed);

/* Whether plans below the node that are cheaper than the best differ in money by nothing but how
 * many cuts exact fills save: sets the node's ladder then. Limits, duals and reduced costs tell
 * which bars and posts are in all such plans, and which in none. known: the columns that matter, or
 * NULL. Answers whether some count is not given, *first being one. Cost: O(listed columns +
 * rows). */
bool dw_search__ladder(const struct dw_search *s, struct dw_search_node *node,
                       const struct dw_relax *relax, const struct dw_relaxed *relaxed,
                       const struct dw_known *known, struct dw_branch *first);

/* Least money that a plan below the node cannot have, of those that no cheaper plan is missed by.
 */
dw_money dw_search__cutoff(const struct dw_search *s, const struct dw_search_node *node);

/* Index of the count in s->counts, added if it is new; SIZE_MAX: no memory. */
size_t dw_search__find_count(struct dw_search *s, const struct dw_bar_count *count);
/* What a plan costs at least with no more than `most` bars of a limited stock: the bars that it
 * goes without were worth the dual of the limit each. */
dw_money dw_search__fewer(const struct dw_search *s, const struct dw_relax *relax,
                          const struct dw_relaxed *relaxed, const struct dw_bar_count *count,
                          int64_t most);
/* Puts cuts on a node, whose relaxation over the listed columns *known is solved, and solves it
 * again, while that raises its value. Replaces *known by those of the columns that still matter.
 * DW_ERR_NOMEM. */
dw_err dw_search__cut(struct dw_search *s, struct dw_search_node *node, struct dw_known **known,
                      struct dw_node_relax *own, struct dw_relaxed *relaxed);

#endif
