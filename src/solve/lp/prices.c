/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Room for the integer duals of a relaxation, and their common denominator. */
#include "solve/lp/relax.h"

#include <stdlib.h>
#include <string.h>

/* Pieces on one bar at most. */
static double most_pieces(const struct dw_problem *p)
{
    int64_t least = INT64_MAX, most = 1;
    for (size_t i = 0; i < p->n_items; i++)
        least = p->items[i].size < least ? p->items[i].size : least;
    for (size_t k = 0; k < p->n_stocks; k++)
        most = p->stocks[k].cap > most ? p->stocks[k].cap : most;
    double pieces =
        least > 0 && p->n_items > 0 ? (double)most / (double)least + 1 : (double)p->n_pieces;
    return pieces > (double)p->n_pieces ? (double)p->n_pieces + 1 : pieces;
}

/* Whether a bar may add more than one. */
static bool many(enum dw_bar_count_kind kind)
{
    return kind == DW_COUNT_MADE || kind == DW_COUNT_CUT;
}

/* A power of two so large that no value of a bar passes 2^60. */
static int64_t choose_scale(const struct dw_master *master, const struct dw_relax *relax)
{
    const struct dw_problem *p = master->problem;
    double pieces = most_pieces(p), counted = 0;
    for (size_t c = 0; c < relax->n_counts; c++)
        counted += many(relax->counts[c].kind) ? pieces : 1;
    double value = 16 * (double)master->unit * DW_PRICES_FACTOR *
                   (1 + 0.02 * pieces + (p->missing ? pieces : 0) + counted);
    int64_t scale = 1;
    while ((double)scale * 2 * value < 0x1p60 && scale < INT64_C(1) << 44)
        scale *= 2;
    return scale;
}

bool dw_prices__make(const struct dw_master *master, const struct dw_relax *relax,
                     struct dw_prices *out)
{
    const struct dw_problem *p = master->problem;
    *out = (struct dw_prices){.scale = choose_scale(master, relax),
                              .n_counts = relax->n_counts,
                              .bar = relax->bar,
                              .demand = relax->demand};
    out->item = calloc(p->n_items + 1, sizeof *out->item);
    out->stock = calloc(p->n_stocks + 1, sizeof *out->stock);
    out->count = calloc(relax->n_counts + 1, sizeof *out->count);
    out->counts = malloc((relax->n_counts + 1) * sizeof *out->counts);
    if (out->counts && relax->n_counts > 0)
        memcpy(out->counts, relax->counts, relax->n_counts * sizeof *out->counts);
    return out->item && out->stock && out->count && out->counts;
}

void dw_prices__free(struct dw_prices *prices)
{
    free(prices->item);
    free(prices->stock);
    free(prices->count);
    free(prices->counts);
}
