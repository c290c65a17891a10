/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: the pieces that a bar may hold, made few: kinds that are alike joined, those that
 * another kind can always stand for left out, copies as chunks for a search. */
#include "model/plan_check_search.h"

#include <stdlib.h>

static int compare_kinds(const void *a, const void *b)
{
    const struct dw_bar_item *x = a, *y = b;
    if (x->min != y->min)
        return x->min < y->min ? -1 : 1;
    if (x->value != y->value)
        return x->value > y->value ? -1 : 1;
    return (x->max < y->max) - (x->max > y->max);
}

/* Value a length, falling; the kerf is folded into min by then. Values fit 61 bits. */
static int compare_slopes(const void *a, const void *b)
{
    const struct dw_bar_item *x = a, *y = b;
    dw_wide left = (dw_wide)x->value * y->min, right = (dw_wide)y->value * x->min;
    if (left != right)
        return left > right ? -1 : 1;
    return compare_kinds(a, b);
}

/* Folds the kerf in, bounds copies by the bar, drops what is too long, joins equal kinds. */
static size_t prepare_items(const struct dw_bar_search *search, struct dw_bar_item *items, size_t n)
{
    dw_length left = search->capacity - search->seed.used;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        struct dw_bar_item item = items[i];
        item.min += search->bar->kerf;
        item.max = search->plain ? item.min : item.max + search->bar->kerf;
        if (item.min <= left)
            items[kept++] = item;
    }
    if (kept == 0)
        return 0;
    qsort(items, kept, sizeof *items, compare_kinds);
    n = 0;
    for (size_t i = 0; i < kept; i++) {
        if (n > 0 && compare_kinds(&items[n - 1], &items[i]) == 0)
            items[n - 1].copies += items[i].copies;
        else
            items[n++] = items[i];
    }
    for (size_t i = 0; i < n; i++) {
        if (items[i].copies > left / items[i].min)
            items[i].copies = left / items[i].min;
        if (items[i].copies > search->most - search->seed.pieces)
            items[i].copies = search->most - search->seed.pieces;
    }
    return n;
}

/* Whether more pieces than are allowed could go on the bar at all. */
static bool counts(const struct dw_bar_search *search, const struct dw_bar_item *items, size_t n)
{
    dw_length least = search->room + 1;
    for (size_t i = 0; i < n; i++)
        least = items[i].min < least ? items[i].min : least;
    return search->most - search->seed.pieces < (search->capacity - search->seed.used) / least;
}

/* On a plain bar a piece can be replaced by one that is no longer and worth no less. A kind is of
 * no use when the kinds that can replace it have as many copies as pieces of their length go on
 * the bar: then one of them is always free. Looks back at most LOOK kinds. items in order of min.
 */
#define LOOK 1024

static size_t drop_replaceable(const struct dw_bar_search *search, struct dw_bar_item *items,
                               size_t n)
{
    dw_length left = search->capacity - search->seed.used;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        int64_t copies = 0;
        bool replaceable = false;
        for (size_t j = kept; j-- > 0 && kept - j <= LOOK && !replaceable;) {
            if (items[j].value < items[i].value)
                continue;
            copies += items[j].copies;
            replaceable = copies >= left / items[j].min;
        }
        if (!replaceable)
            items[kept++] = items[i];
    }
    return kept;
}

/* Where not only a plain bar is asked about: a kind takes over those that are longer and of equal
 * value, as if it could be cut as long as they are. Then more bars are filled exactly than can be,
 * no less is found, and few kinds are left. */
static size_t take_over_equal(const struct dw_bar_search *search, struct dw_bar_item *items,
                              size_t n)
{
    dw_length left = search->capacity - search->seed.used;
    size_t kept = 0;
    for (size_t i = 0; i < n; i++) {
        bool taken = false;
        for (size_t j = kept; j-- > 0 && kept - j <= LOOK && !taken;) {
            taken = items[j].value == items[i].value && items[j].copies >= left / items[j].min;
            if (taken && items[j].max < items[i].max)
                items[j].max = items[i].max;
        }
        if (!taken)
            items[kept++] = items[i];
    }
    return kept;
}

uint64_t dw_bar__slope(const struct dw_bar_search *search, dw_wide value, dw_wide used)
{
    return (uint64_t)(((value << search->shift) + used - 1) / used);
}

static void make_chunks(struct dw_bar_search *search, const struct dw_bar_item *items, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        int64_t left = items[i].copies;
        for (int64_t copies = 1; left > 0; copies *= 2) {
            int64_t c = copies < left ? copies : left;
            left -= c;
            dw_wide reach = (dw_wide)items[i].max * c;
            struct dw_bar_chunk *chunk = &search->chunks[search->n_chunks++];
            chunk->used = items[i].min * c;
            chunk->reach = reach > search->room ? search->room : (dw_length)reach;
            chunk->value = items[i].value * c;
            chunk->pieces = c;
            if (items[i].value > 0)
                chunk->slope = dw_bar__slope(search, items[i].value, items[i].min);
        }
    }
}

static void sum_chunks(struct dw_bar_search *search)
{
    for (size_t i = 0; i < search->n_chunks && search->chunks[i].value > 0; i++) {
        search->sum_used[i + 1] = search->sum_used[i] + search->chunks[i].used;
        search->sum_value[i + 1] = search->sum_value[i] + search->chunks[i].value;
        search->n_worth = i + 1;
        if (search->chunks[i].slope > search->rho)
            search->n_steep = i + 1;
    }
    for (size_t i = search->n_chunks; i-- > 0;) {
        int64_t each = search->chunks[i].value / search->chunks[i].pieces;
        search->dearest[i] = each > search->dearest[i + 1] ? each : search->dearest[i + 1];
    }
}

size_t dw_bar__prepare(struct dw_bar_search *search, struct dw_bar_item *items, size_t n)
{
    n = prepare_items(search, items, n);
    if (search->most != DW_BAR_NO_LIMIT && !counts(search, items, n))
        search->most = DW_BAR_NO_LIMIT;
    if (search->plain)
        return drop_replaceable(search, items, n);
    return search->bar->depth == DW_BAR_MERGED ? take_over_equal(search, items, n) : n;
}

void dw_bar__sort(struct dw_bar_item *items, size_t n)
{
    if (n > 0)
        qsort(items, n, sizeof *items, compare_slopes);
}

void dw_bar__chunks(struct dw_bar_search *search, const struct dw_bar_item *items, size_t n)
{
    make_chunks(search, items, n);
    sum_chunks(search);
}
