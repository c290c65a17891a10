/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of fill.h share: the bars and pieces in units of their common divisor, and the
 * bars that are fixed. Read fill.c for the order. */
#ifndef DW_SOLVE_FILL_CORE_H
#define DW_SOLVE_FILL_CORE_H

#include "solve/csp_core.h"
#include "solve/fill.h"
#include "solve/gibbs.h"

/* Bars of one stock that are to be filled alike. */
struct dw_fill__sort {
    size_t stock;
    int64_t capacity; /* to be filled exactly */
    int64_t waste;    /* that is left besides */
};

/* The bars that are given. */
struct dw_fill__given {
    size_t stock;
    int64_t capacity;
    int64_t n;
    int64_t most_waste; /* of one; 0: it is filled exactly */
};

struct dw_fill__state {
    size_t n;      /* items */
    int64_t *size; /* length n */
    int64_t *left; /* length n: pieces still to be cut */
    size_t n_given;
    struct dw_fill__given *given; /* length n_given */
    int64_t waste;                /* that these leave in all */
    size_t n_sorts;
    struct dw_fill__sort *sorts; /* length n_sorts: the given bars, waste shared out */
    int64_t *bars;               /* length n_sorts: still to be cut */
    struct dw_csp__list list;    /* the layouts that are fixed */
    size_t made_room;
    size_t *made; /* length list.n: of which sort each is */
};

/* Shares the waste out to the open bars, at random, each share as likely as there are layouts for
 * the bar it leaves, by the weights of `gibbs`, whose target are all pieces. Makes the sorts.
 * false: no memory, or *possible is: no shares sum up to it, or too many would have to be looked
 * at. Cost: O(open bars times waste times waste of a bar). */
bool dw_fill__share(struct dw_fill__state *state, const struct dw_gibbs *gibbs, uint64_t *seed,
                    bool *possible);

/* Fixes a bar, and takes the last one back. false: no memory. */
bool dw_fill__fix(struct dw_fill__state *state, size_t sort, const struct dw_csp_item *items,
                  size_t n);
void dw_fill__take_back(struct dw_fill__state *state);

/* Cuts what is left from the bars that are left, depth first: a bar for the longest piece, all of
 * the layouts that fill it with that piece, those of longer pieces first (bin completion: Martello,
 * Toth 1990; Korf 2002), over the sums that the other pieces reach. true: found and fixed. Gives up
 * after *nodes steps, and counts them down. *nomem: set without memory. Cost: O(nodes). */
bool dw_fill__end(struct dw_fill__state *state, int64_t *nodes, bool *nomem);

#endif
