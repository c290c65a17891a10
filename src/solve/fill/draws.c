/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts that were drawn: kept, ranked, compared. */
#include "solve/fill/draws.h"

#include "solve/budget/random.h"

#include <stdlib.h>
#include <string.h>

bool dw_draws__make(struct dw_draws *draws)
{
    draws->list = malloc(DW_DRAWS_MOST * sizeof *draws->list);
    return draws->list != NULL;
}

void dw_draws__free(struct dw_draws *draws)
{
    free(draws->list);
    free(draws->items);
}

void dw_draws__clear(struct dw_draws *draws)
{
    draws->n = draws->n_items = 0;
}

bool dw_draws__take(struct dw_draws *draws, struct dw_gibbs *gibbs, size_t n_types, bool noisy,
                    uint64_t *seed)
{
    struct dw_draw one = {.first = draws->n_items};
    if (!dw_array__grow(&draws->items, &draws->item_room, draws->n_items + n_types + 1,
                        sizeof *draws->items))
        return false;
    one.n = dw_gibbs__draw(gibbs, seed, draws->items + one.first, &one.waste, &one.expected);
    if (one.n == 0)
        return true;
    one.rank = one.expected;
    if (noisy)
        one.rank *= 1 + 0.25 * dw_random__uniform(seed);
    draws->n_items += one.n;
    draws->list[draws->n++] = one;
    return true;
}

static int by_rank(const void *a, const void *b)
{
    const struct dw_draw *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? 1 : -1;
    return x->first > y->first ? 1 : -1;
}

void dw_draws__rank(struct dw_draws *draws)
{
    if (draws->n > 0)
        qsort(draws->list, draws->n, sizeof *draws->list, by_rank);
}

bool dw_draws__same(const struct dw_draws *draws, const struct dw_draw *a, const struct dw_draw *b)
{
    return a->n == b->n && memcmp(draws->items + a->first, draws->items + b->first,
                                  a->n * sizeof *draws->items) == 0;
}
