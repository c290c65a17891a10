/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-fit decreasing (Johnson 1973) by layout instead of by piece: the fill of one bar is
 * repeated as often as the demand of its scarcest length allows. */
#include "solve/bulk.h"

#include <stdlib.h>
#include <string.h>

/* First type at or after `from` with size <= room and demand left; n if none. next[i] leads over
 * types whose demand is met (union-find with path halving). */
static size_t find_left(size_t *next, size_t i)
{
    while (next[i] != i) {
        next[i] = next[next[i]];
        i = next[i];
    }
    return i;
}

static size_t first_fitting(const struct dw_bulk *problem, size_t *next, size_t from, int64_t room)
{
    size_t lo = from, hi = problem->n;
    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;
        if (problem->size[mid] <= room)
            hi = mid;
        else
            lo = mid + 1;
    }
    return find_left(next, lo);
}

struct fill {
    size_t n_items;
    struct dw_csp_item *items; /* length problem->n at most */
    int64_t used;
    int64_t money;
    int64_t repeat;
};

/* Fills one bar: the longest that fits, as many of it as fit, and so on. */
static void fill_bar(const struct dw_bulk *problem, const int64_t *left, size_t *next,
                     const struct dw_bulk_stock *stock, struct fill *fill)
{
    const int64_t capacity = stock->capacity;
    fill->n_items = 0;
    fill->used = 0;
    fill->repeat = INT64_MAX;
    size_t i = first_fitting(problem, next, 0, capacity);
    while (i < problem->n) {
        int64_t count = (capacity - fill->used) / problem->size[i];
        if (count > left[i])
            count = left[i];
        fill->items[fill->n_items++] = (struct dw_csp_item){.type = i, .count = count};
        fill->used += count * problem->size[i];
        int64_t times = count > 0 ? left[i] / count : 0;
        if (times < fill->repeat)
            fill->repeat = times;
        i = first_fitting(problem, next, i + 1, capacity - fill->used);
    }
    fill->money = stock->cost - dw_bulk__credit(problem, capacity - fill->used);
}

/* money_a / used_a < money_b / used_b without dividing. */
static bool cheaper(const struct fill *a, const struct fill *b)
{
    __extension__ typedef __int128 wide;
    return (wide)a->money * b->used < (wide)b->money * a->used;
}

struct greedy {
    size_t *next; /* length n + 1 */
    struct fill best;
    struct fill trial;
};

/* The fill of least money a used length over the stocks that have bars; K if nothing fits. */
static size_t choose(const struct dw_bulk *problem, const struct dw_bulk_draft *draft,
                     struct greedy *greedy)
{
    size_t chosen = problem->n_stocks;
    size_t longest = find_left(greedy->next, 0);
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        if (draft->stock[k] == 0 || stock->capacity < problem->size[longest])
            continue;
        fill_bar(problem, draft->left, greedy->next, stock, &greedy->trial);
        if (chosen < problem->n_stocks && !cheaper(&greedy->trial, &greedy->best))
            continue;
        struct fill swap = greedy->best;
        greedy->best = greedy->trial;
        greedy->trial = swap;
        chosen = k;
    }
    return chosen;
}

static dw_err run(const struct dw_bulk *problem, struct dw_bulk_draft *draft, struct greedy *greedy,
                  bool *complete)
{
    *complete = true;
    for (size_t i = 0; i <= problem->n; i++)
        greedy->next[i] = i < problem->n && draft->left[i] == 0 ? i + 1 : i;
    size_t longest;
    while ((longest = find_left(greedy->next, 0)) < problem->n) {
        size_t k = choose(problem, draft, greedy);
        if (k == problem->n_stocks) {
            *complete = false;
            greedy->next[longest] = longest + 1;
            continue;
        }
        int64_t bars =
            greedy->best.repeat < draft->stock[k] ? greedy->best.repeat : draft->stock[k];
        dw_err err =
            dw_bulk__draft_add(problem, draft, k, bars, greedy->best.n_items, greedy->best.items);
        if (err != DW_OK)
            return err;
        for (size_t j = 0; j < greedy->best.n_items; j++) {
            size_t i = greedy->best.items[j].type;
            if (draft->left[i] == 0)
                greedy->next[i] = i + 1;
        }
    }
    return DW_OK;
}

dw_err dw_bulk__greedy(const struct dw_bulk *problem, struct dw_bulk_draft *draft, bool *complete)
{
    struct greedy greedy = {0};
    greedy.next = calloc(problem->n + 1, sizeof *greedy.next);
    greedy.best.items = calloc(problem->n + 1, sizeof *greedy.best.items);
    greedy.trial.items = calloc(problem->n + 1, sizeof *greedy.trial.items);
    dw_err err = DW_ERR_NOMEM;
    if (greedy.next && greedy.best.items && greedy.trial.items)
        err = run(problem, draft, &greedy, complete);
    free(greedy.next);
    free(greedy.best.items);
    free(greedy.trial.items);
    return err;
}
