/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Types with demand left, found by length and by exact length. */
#include "solve/bulk/find.h"

#include <stdlib.h>

#define TRIES 256 /* longer pieces of a pair */

/* --- making it ---------------------------------------------------------------------------- */

static size_t slot_of(const struct dw_bulk_finder *finder, int64_t size)
{
    uint64_t hash = (uint64_t)size * UINT64_C(0x9e3779b97f4a7c15);
    size_t slot = (size_t)(hash >> 20) & (finder->n_slots - 1);
    while (finder->slots[slot] && finder->problem->size[finder->slots[slot] - 1] != size)
        slot = (slot + 1) & (finder->n_slots - 1);
    return slot;
}

bool dw_bulk__finder_init(struct dw_bulk_finder *finder, const struct dw_bulk *problem,
                          const int64_t *left)
{
    *finder = (struct dw_bulk_finder){.problem = problem, .left = left, .n_slots = 16};
    while (finder->n_slots < 4 * problem->n)
        finder->n_slots *= 2;
    finder->next = calloc(problem->n + 1, sizeof *finder->next);
    finder->slots = calloc(finder->n_slots, sizeof *finder->slots);
    if (!finder->next || !finder->slots)
        return false;
    for (size_t i = 0; i <= problem->n; i++)
        finder->next[i] = i;
    for (size_t i = 0; i < problem->n; i++)
        finder->slots[slot_of(finder, problem->size[i])] = (uint32_t)i + 1;
    return true;
}

void dw_bulk__finder_free(struct dw_bulk_finder *finder)
{
    free(finder->next);
    free(finder->slots);
    *finder = (struct dw_bulk_finder){0};
}

/* --- by length ---------------------------------------------------------------------------- */

size_t dw_bulk__next(struct dw_bulk_finder *finder, size_t from)
{
    size_t *next = finder->next, i = from;
    while (i < finder->problem->n && finder->left[i] == 0) {
        if (next[i] == i)
            next[i] = i + 1;
        next[i] = next[next[i]];
        i = next[i];
    }
    return i;
}

size_t dw_bulk__fitting(struct dw_bulk_finder *finder, size_t from, int64_t room)
{
    const int64_t *size = finder->problem->size;
    size_t lo = from, hi = finder->problem->n;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (size[mid] <= room)
            hi = mid;
        else
            lo = mid + 1;
    }
    return dw_bulk__next(finder, lo);
}

/* --- by exact length ---------------------------------------------------------------------- */

/* Whether n more of the type are there beside what is on the bar. */
static bool has(const struct dw_bulk_finder *finder, const struct dw_bulk_bar *bar, size_t type,
                int64_t n)
{
    int64_t left = finder->left[type];
    for (size_t i = 0; i < bar->n_items; i++)
        if (bar->items[i].type == type)
            left -= bar->items[i].count;
    return left >= n;
}

bool dw_bulk__pair(struct dw_bulk_finder *finder, const struct dw_bulk_bar *bar, int64_t room,
                   struct dw_bulk_pair *pair)
{
    const struct dw_bulk *problem = finder->problem;
    size_t i = dw_bulk__fitting(finder, pair->from, room - problem->size[pair->high - 1]);
    for (int tries = 0; tries < TRIES && i < pair->to; tries++) {
        int64_t rest = room - problem->size[i];
        if (rest > problem->size[pair->low])
            return false;
        uint32_t found = finder->slots[slot_of(finder, rest)];
        pair->first = i;
        pair->second = found - 1;
        if (found > pair->low && found <= pair->high &&
            has(finder, bar, i, i == pair->second ? 2 : 1) && has(finder, bar, pair->second, 1))
            return true;
        i = dw_bulk__next(finder, i + 1);
    }
    return false;
}

void dw_bulk__put(struct dw_bulk_bar *bar, size_t type, int64_t count)
{
    for (size_t i = bar->n_items; i-- > 0;)
        if (bar->items[i].type == type) {
            bar->items[i].count += count;
            return;
        }
    bar->items[bar->n_items++] = (struct dw_type_count){.type = type, .count = count};
}
