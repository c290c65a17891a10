/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-fit decreasing (Johnson 1973) by layout instead of by piece: the fill of one bar is
 * repeated as often as the demand of its scarcest length allows. On wish the last two pieces of a
 * bar are chosen together, so that nothing is left of it where that can be. */
#include "solve/bulk/find.h"

#include <stdlib.h>
#include <string.h>

struct fill {
    struct dw_bulk_bar bar; /* room for problem->n items */
    int64_t used;
    int64_t money;
};

struct greedy {
    const struct dw_bulk *problem;
    struct dw_bulk_draft *draft;
    bool exact;
    struct dw_bulk_finder finder;
    struct fill best;
    struct fill trial;
};

/* How many more of type i the bar takes. Exactly: one less than fit, for a pair to fill the rest.
 */
static int64_t copies(const struct greedy *greedy, const struct dw_bulk_bar *bar, size_t i,
                      int64_t room)
{
    const struct dw_type_count *last = bar->n_items > 0 ? &bar->items[bar->n_items - 1] : NULL;
    int64_t left = greedy->draft->left[i] - (last && last->type == i ? last->count : 0);
    int64_t fit = room / greedy->problem->size[i];
    if (greedy->exact && fit > 1)
        fit--;
    return fit < left ? fit : left;
}

/* The longest piece that fits is of type i. */
static bool pair_fills(struct greedy *greedy, const struct dw_bulk_bar *bar, size_t i, int64_t room,
                       struct dw_bulk_pair *pair)
{
    size_t n = greedy->problem->n;
    *pair = (struct dw_bulk_pair){.from = i, .to = n, .low = i, .high = n};
    return greedy->exact && greedy->problem->size[i] < room &&
           dw_bulk__pair(&greedy->finder, bar, room, pair);
}

/* Fills one bar: the longest that fits, as many of it as fit, and so on. */
static void fill_bar(struct greedy *greedy, const struct dw_bulk_stock *stock, struct fill *fill)
{
    const struct dw_bulk *problem = greedy->problem;
    fill->bar.n_items = 0;
    int64_t room = stock->capacity;
    size_t i = dw_bulk__fitting(&greedy->finder, 0, room);
    struct dw_bulk_pair pair;
    while (i < problem->n) {
        if (pair_fills(greedy, &fill->bar, i, room, &pair)) {
            dw_bulk__put(&fill->bar, pair.first, 1);
            dw_bulk__put(&fill->bar, pair.second, 1);
            room = 0;
            break;
        }
        int64_t count = copies(greedy, &fill->bar, i, room);
        if (count > 0)
            dw_bulk__put(&fill->bar, i, count);
        room -= count * problem->size[i];
        if (count == 0 || problem->size[i] > room)
            i = dw_bulk__fitting(&greedy->finder, i + 1, room);
    }
    fill->used = stock->capacity - room;
    fill->money = stock->cost - dw_bulk__credit(problem, room);
}

/* money_a / used_a < money_b / used_b without dividing. */
static bool cheaper(const struct fill *a, const struct fill *b)
{
    __extension__ typedef __int128 wide;
    return (wide)a->money * b->used < (wide)b->money * a->used;
}

/* The fill of least money a used length over the stocks that have bars; K if nothing fits. */
static size_t choose(struct greedy *greedy, size_t longest)
{
    const struct dw_bulk *problem = greedy->problem;
    size_t chosen = problem->n_stocks;
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        if (greedy->draft->stock[k] == 0 || stock->capacity < problem->size[longest])
            continue;
        fill_bar(greedy, stock, &greedy->trial);
        if (chosen < problem->n_stocks && !cheaper(&greedy->trial, &greedy->best))
            continue;
        struct fill swap = greedy->best;
        greedy->best = greedy->trial;
        greedy->trial = swap;
        chosen = k;
    }
    return chosen;
}

static int by_type(const void *a, const void *b)
{
    const struct dw_type_count *x = a, *y = b;
    return x->type < y->type ? -1 : x->type > y->type;
}

/* Sorts what is on the bar; returns how often the layout can be cut. */
static int64_t settle(const struct dw_bulk_draft *draft, size_t stock, struct dw_bulk_bar *bar)
{
    int64_t repeat = draft->stock[stock];
    qsort(bar->items, bar->n_items, sizeof *bar->items, by_type);
    for (size_t j = 0; j < bar->n_items; j++) {
        int64_t times = draft->left[bar->items[j].type] / bar->items[j].count;
        repeat = times < repeat ? times : repeat;
    }
    return repeat;
}

/* A piece that no bar takes any more is passed over. */
static dw_err run(struct greedy *greedy, bool *complete)
{
    *complete = true;
    size_t longest = 0, n = greedy->problem->n;
    while ((longest = dw_bulk__next(&greedy->finder, longest)) < n) {
        size_t k = choose(greedy, longest);
        if (k == greedy->problem->n_stocks) {
            *complete = false;
            longest++;
            continue;
        }
        struct dw_bulk_bar *bar = &greedy->best.bar;
        int64_t bars = settle(greedy->draft, k, bar);
        dw_err err =
            dw_bulk__draft_add(greedy->problem, greedy->draft, k, bars, bar->n_items, bar->items);
        if (err != DW_OK)
            return err;
    }
    return DW_OK;
}

dw_err dw_bulk__greedy(const struct dw_bulk *problem, bool exact, struct dw_bulk_draft *draft,
                       bool *complete)
{
    struct greedy greedy = {.problem = problem, .draft = draft, .exact = exact};
    bool ok = dw_bulk__finder_init(&greedy.finder, problem, draft->left);
    greedy.best.bar.items = calloc(problem->n + 2, sizeof *greedy.best.bar.items);
    greedy.trial.bar.items = calloc(problem->n + 2, sizeof *greedy.trial.bar.items);
    dw_err err = DW_ERR_NOMEM;
    if (ok && greedy.best.bar.items && greedy.trial.bar.items)
        err = run(&greedy, complete);
    dw_bulk__finder_free(&greedy.finder);
    free(greedy.best.bar.items);
    free(greedy.trial.bar.items);
    return err;
}
