/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the search ask and change of it: its counts, its best plan, what matters. */
#include "solve/search/core.h"

#include <math.h>

size_t dw_search__find_count(struct dw_search *s, const struct dw_bar_count *count)
{
    for (size_t c = 0; c < s->n_counts; c++)
        if (s->counts[c].kind == count->kind && s->counts[c].a == count->a &&
            s->counts[c].b == count->b)
            return c;
    if (!dw_array__grow(&s->counts, &s->counts_capacity, s->n_counts + 1, sizeof *s->counts))
        return SIZE_MAX;
    s->counts[s->n_counts] = *count;
    return s->n_counts++;
}

bool dw_search__has_plan(const struct dw_search *s)
{
    return s->best->missing == 0 || s->p->missing;
}

bool dw_search__take_whole(struct dw_search *s, const struct dw_relaxed *relaxed, bool *whole)
{
    struct dw_solution plan = {.method = "branch and price"};
    *whole = true;
    bool ok = true;
    for (size_t j = 0; ok && *whole && j < relaxed->n; j++) {
        double x = relaxed->support[j].x;
        *whole = fabs(x - floor(x + 0.5)) < 1e-6;
        int64_t count = (int64_t)(x + 0.5);
        if (*whole && count > 0)
            ok = dw_solution__add(&plan, relaxed->support[j].col, count);
    }
    if (ok && *whole)
        ok = dw_solution__offer(s->p, &plan, s->scratch, s->best);
    dw_solution__free(&plan);
    return ok;
}

dw_money dw_search__fewer(const struct dw_search *s, const struct dw_relax *relax,
                          const struct dw_relaxed *relaxed, const struct dw_bar_count *count,
                          int64_t most)
{
    const struct dw_bar_stock *stock = &s->p->stocks[count->a];
    if (count->kind != DW_COUNT_STOCK || !stock->limited || stock->stepped || most >= stock->count)
        return relaxed->bound;
    dw_wide numer =
        relaxed->numer - (dw_wide)relaxed->prices.stock[count->a] * (stock->count - most);
    dw_money bound = dw_relax__round(s->p->grid, numer, relaxed->prices.scale, relax->base);
    return bound > relaxed->bound ? bound : relaxed->bound;
}

dw_money dw_search__cutoff(const struct dw_search *s, const struct dw_search_node *node)
{
    const dw_money best = s->best->money;
    if (node->ladder.step == 0)
        return best;
    return dw_ladder__up(&node->ladder, best) - node->ladder.step + s->p->grid;
}
