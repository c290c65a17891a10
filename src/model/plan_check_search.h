/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The search for the best layout of a bar (plan_check_bar.c), and the items it is given
 * (plan_check_items.c). */
#ifndef DW_MODEL_PLAN_CHECK_SEARCH_H
#define DW_MODEL_PLAN_CHECK_SEARCH_H

#include "model/plan_check.h"

struct dw_bar_state {
    dw_length used;
    dw_length reach;
    int64_t value;
    int64_t pieces;
};

/* So many pieces of one kind, taken all or none: copies 1, 2, 4, ... of a kind, and a rest. */
struct dw_bar_chunk {
    dw_length used;
    dw_length reach;
    int64_t value;
    int64_t pieces;
    uint64_t slope; /* ceil(2^shift value / used) of a chunk worth its length */
};

#define DW_BAR_NO_LIMIT INT64_MAX

struct dw_bar_search {
    const struct dw_audit *audit;
    const struct dw_bar *bar;
    dw_length room;     /* U + w */
    dw_length capacity; /* the most that `used` may come to: the grip taken off */
    int64_t exact;      /* 0 with a grip: nothing can be used up */
    bool no_middling;
    bool plain; /* neither: how long pieces are stretched makes no difference */
    int shift;
    uint64_t rho; /* ceil(2^shift scale max phi(r) / r) */
    struct dw_bar_chunk *chunks;
    size_t n_chunks;
    size_t n_worth;    /* so many chunks are worth more than 0 */
    size_t n_steep;    /* so many are worth more a length than rho */
    dw_wide *sum_used; /* length n_worth + 1: of the chunks before */
    dw_wide *sum_value;
    int64_t most;     /* pieces; DW_BAR_NO_LIMIT where more do not fit anyway */
    int64_t *dearest; /* length n_chunks + 1: greatest value of a piece from that chunk on, or 0 */
    int64_t *tops;    /* length most + 1: of the states of a list with so many pieces or fewer */
    struct dw_bar_state seed; /* the bar before any item ... */
    bool has_seed;            /* ... which is no layout by itself */
    size_t most_states;
    int64_t best;
};

/* Folds the kerf in, bounds copies, drops and joins kinds that make no difference, and forgets a
 * limit of pieces that no bar can reach. How many of the n items are left. */
size_t dw_bar__prepare(struct dw_bar_search *search, struct dw_bar_item *items, size_t n);
/* By value a length, falling. Their products must fit. */
void dw_bar__sort(struct dw_bar_item *items, size_t n);
/* ceil(2^shift value / used) */
uint64_t dw_bar__slope(const struct dw_bar_search *search, dw_wide value, dw_wide used);
/* Fills the search's chunks, and the sums over them, from sorted items. */
void dw_bar__chunks(struct dw_bar_search *search, const struct dw_bar_item *items, size_t n);

#endif
