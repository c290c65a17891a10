/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nodes of the search over counts, and the heap of those that are open. */
#ifndef DW_SOLVE_SEARCH_NODE_H
#define DW_SOLVE_SEARCH_NODE_H

#include "solve/search/known.h"
#include "solve/lp/start.h"

/* lo <= counts[count] <= hi, of the search's counts. */
struct dw_limit {
    size_t count;
    int64_t lo, hi;
    bool released; /* the node's bound has what it gives; relaxations go without it */
};

struct dw_search_node {
    dw_money bound;
    size_t depth;
    size_t listed; /* nodes above it that have a list of columns */
    size_t serial;
    size_t n_limits;
    struct dw_limit *limits; /* length n_limits */
    struct dw_start start;   /* of its parent's relaxation; owned */
    struct dw_known *known;  /* all columns that matter below it; NULL: not known */
    dw_money too_wide;       /* gap at which these were too many; 0: not tried */
    size_t tried;            /* length of a list of which not all plans could be tried; 0: none */
    struct dw_ladder ladder; /* of the money of all plans below it */
};

/* A node below `parent` (NULL: the root) with the limits of it. NULL: no memory. */
struct dw_search_node *dw_search_node__new(const struct dw_search_node *parent,
                                           const struct dw_start *start, struct dw_known *known,
                                           dw_money bound);
void dw_search_node__free(struct dw_search_node *node);

/* Adds a limit; limits of one count are joined. *empty: no number is left. false: no memory. */
bool dw_search_node__limit(struct dw_search_node *node, struct dw_limit limit, bool *empty);

/* By bound; among equals the deepest, then the latest first. Zero-initialise. */
struct dw_heap {
    size_t n, capacity, serial;
    struct dw_search_node **nodes; /* length n; the first is the next */
};

/* Takes the node. false: no memory. */
bool dw_heap__push(struct dw_heap *heap, struct dw_search_node *node);
/* Gives it back. n >= 1. */
struct dw_search_node *dw_heap__pop(struct dw_heap *heap);
/* With all nodes in it. */
void dw_heap__free(struct dw_heap *heap);

#endif
