/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which types of a bulk problem still have demand and fit: by length, and by exact length. */
#ifndef DW_SOLVE_BULK_FIND_H
#define DW_SOLVE_BULK_FIND_H

#include "solve/bulk/bulk.h"

struct dw_bulk_finder {
    const struct dw_bulk *problem;
    const int64_t *left; /* length n, of the draft; only falls */
    size_t *next;        /* length n + 1: over types whose demand is met (union-find) */
    size_t n_slots;      /* a power of two */
    uint32_t *slots;     /* open addressing by size: type + 1, 0 empty */
};

/* false: no memory. Free it in any case. */
bool dw_bulk__finder_init(struct dw_bulk_finder *finder, const struct dw_bulk *problem,
                          const int64_t *left);
void dw_bulk__finder_free(struct dw_bulk_finder *finder);

/* First type >= from with demand; n if there is none. */
size_t dw_bulk__next(struct dw_bulk_finder *finder, size_t from);
/* The longest type >= from with demand and size <= room; n if there is none. Cost: O(log n). */
size_t dw_bulk__fitting(struct dw_bulk_finder *finder, size_t from, int64_t room);

/* What is on a bar. */
struct dw_bulk_bar {
    size_t n_items;
    struct dw_type_count *items; /* length n_items, each type once */
};
/* Two pieces that fill the room exactly, beside what is on the bar, the first as long as may be: of
 * types in [from, to) and [low, high). false: none among the first that were tried.
 * Cost: O(tries). */
struct dw_bulk_pair {
    size_t from, to, low, high;
    size_t first, second; /* found */
};
bool dw_bulk__pair(struct dw_bulk_finder *finder, const struct dw_bulk_bar *bar, int64_t room,
                   struct dw_bulk_pair *pair);
/* Puts count pieces of the type on the bar. */
void dw_bulk__put(struct dw_bulk_bar *bar, size_t type, int64_t count);

#endif
