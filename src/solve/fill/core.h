/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of fill.h share: the bars and pieces in units of their common divisor, and the
 * bars that are fixed. Read fill.c for the order. */
#ifndef DW_SOLVE_FILL_CORE_H
#define DW_SOLVE_FILL_CORE_H

#include "solve/budget/random.h"
#include "solve/group/list.h"
#include "solve/fill/fill.h"
#include "solve/fill/gibbs.h"

/* Bars to be filled alike. */
struct dw_fill__sort {
    const struct dw_fill_bars *given;
    int64_t capacity;
    int64_t most_waste; /* of one */
    bool counted;       /* as exact when it leaves none */
};

struct dw_fill__made {
    size_t sort;
    int64_t waste;
};

struct dw_fill__state {
    size_t n;      /* items */
    int64_t *size; /* length n */
    int64_t *left; /* length n: pieces still to be cut */
    size_t n_sorts;
    struct dw_fill__sort *sorts; /* length n_sorts */
    int64_t *bars;               /* length n_sorts: still to be cut */
    int64_t waste;               /* that these leave in all */
    int64_t counted;             /* of these: */
    int64_t exact;               /* so many are to be filled exactly, or more */
    struct dw_layout_list list;  /* the layouts that are fixed */
    size_t made_room;
    struct dw_fill__made *made; /* length list.n: the bar each is of */
};

/* Bars that are counted and need not be exact. */
static inline int64_t dw_fill__open(const struct dw_fill__state *state)
{
    return state->counted - (state->exact > 0 ? state->exact : 0);
}

/* The most waste that the next bar of a sort may leave. */
static inline int64_t dw_fill__most(const struct dw_fill__state *state, size_t sort)
{
    const struct dw_fill__sort *of = &state->sorts[sort];
    if (of->counted && dw_fill__open(state) <= 0)
        return 0;
    return of->most_waste < state->waste ? of->most_waste : state->waste;
}

/* Fixes a bar, and takes the last one back. false: no memory. */
bool dw_fill__fix(struct dw_fill__state *state, size_t sort, const struct dw_type_count *items,
                  size_t n);
void dw_fill__take_back(struct dw_fill__state *state);

/* Cuts what is left from the bars that are left, depth first: a bar for the longest piece, all of
 * the layouts that fill it with that piece, those of longer pieces first (bin completion: Martello,
 * Toth 1990; Korf 2002), over the sums that the other pieces reach. true: found and fixed. Gives up
 * after *nodes steps, and counts them down. *nomem: set without memory. Cost: O(nodes). */
bool dw_fill__end(struct dw_fill__state *state, int64_t *nodes, bool *nomem);

#endif
