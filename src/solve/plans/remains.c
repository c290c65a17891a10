/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars fixed in a relaxation, and what they leave of it. */
#include "solve/plans/remains.h"

#include <stdlib.h>
#include <string.h>

bool dw_remains__make(struct dw_remains *rest, const struct dw_problem *problem,
                      const struct dw_relax *relax)
{
    const size_t n_items = problem->n_items, n_stocks = problem->n_stocks;
    *rest = (struct dw_remains){.p = problem, .relax = *relax};
    rest->demand = calloc(n_items + 1, sizeof *rest->demand);
    rest->avail = calloc(n_stocks + 1, sizeof *rest->avail);
    rest->lo = calloc(relax->n_counts + 1, sizeof *rest->lo);
    rest->hi = calloc(relax->n_counts + 1, sizeof *rest->hi);
    if (!rest->demand || !rest->avail || !rest->lo || !rest->hi)
        return false;
    memcpy(rest->demand, relax->demand, n_items * sizeof *rest->demand);
    memcpy(rest->avail, relax->avail, n_stocks * sizeof *rest->avail);
    for (size_t c = 0; c < relax->n_counts; c++) {
        rest->lo[c] = relax->lo[c];
        rest->hi[c] = relax->hi[c];
    }
    rest->relax.demand = rest->demand;
    rest->relax.avail = rest->avail;
    rest->relax.lo = rest->lo;
    rest->relax.hi = rest->hi;
    return true;
}

void dw_remains__unmake(struct dw_remains *rest)
{
    free(rest->demand);
    free(rest->avail);
    free(rest->lo);
    free(rest->hi);
    dw_solution__free(&rest->plan);
}

int64_t dw_remains__room(const struct dw_remains *rest, const struct dw_col *col)
{
    int64_t room = rest->avail[col->stock];
    for (size_t i = 0; i < col->n; i++) {
        int64_t fits = rest->demand[col->entries[i].item] / col->entries[i].count;
        room = fits < room ? fits : room;
    }
    for (size_t c = 0; c < rest->relax.n_counts; c++) {
        int64_t of = dw_bar_count__of(rest->p, &rest->relax.counts[c], col);
        if (of > 0 && rest->hi[c] != DW_NO_LIMIT && rest->hi[c] / of < room)
            room = rest->hi[c] / of;
    }
    return room;
}

bool dw_remains__fix(struct dw_remains *rest, const struct dw_col *col, int64_t times)
{
    for (size_t i = 0; i < col->n; i++)
        rest->demand[col->entries[i].item] -= col->entries[i].count * times;
    rest->avail[col->stock] -= times;
    for (size_t c = 0; c < rest->relax.n_counts; c++) {
        int64_t of = dw_bar_count__of(rest->p, &rest->relax.counts[c], col) * times;
        rest->lo[c] -= of;
        if (rest->hi[c] != DW_NO_LIMIT)
            rest->hi[c] -= of;
    }
    rest->relax.base += (rest->relax.bar[col->stock] + col->money) * times;
    return dw_solution__add(&rest->plan, col, times);
}
