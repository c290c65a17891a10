/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces that may be longer than they must. On one bar that helps only at the end of a layout: to
 * fill the bar exactly, or to leave scrap where a middling leftover is not allowed. The items with
 * slack are the last of a kind's order; where few of them go on a bar, each combination is tried.
 */
#include "solve/bar/table.h"

bool dw_stretch__scraps(const struct dw_pricer *pricer, int64_t x, int64_t slack)
{
    return pricer->scrap >= 0 && x > pricer->scrap && x - pricer->scrap <= slack &&
           pricer->scrapped > DW_NEVER / 2;
}

/* What is thrown earns by filling the bar exactly, and is allowed where it is short: nothing else
 * can be gained by longer pieces, as an offcut too long to be thrown is better kept whole. */
static int64_t stretched(const struct dw_pricer *pricer, int64_t x, int64_t slack)
{
    int64_t best = dw_pricer__thrown(pricer, x);
    if (slack > 0 && x <= slack)
        best = dw_table__larger(best, pricer->filled);
    return dw_stretch__scraps(pricer, x, slack) ? dw_table__larger(best, pricer->scrapped) : best;
}

int64_t dw_stretch__best(const struct dw_pricer *pricer, size_t j, int64_t x, int64_t slack,
                         int64_t pieces)
{
    if (j == pricer->n_stages)
        return dw_table__larger(dw_pricer__kept(pricer, x), stretched(pricer, x, slack));
    const struct dw_stage *stage = &pricer->stages[j];
    int64_t best = dw_stretch__best(pricer, j + 1, x, slack, pieces);
    const int64_t most = stage->most < pieces ? stage->most : pieces;
    for (int64_t a = 1; a <= most && a * stage->size <= x; a++)
        best = dw_table__larger(best, dw_stage__value(stage, a) +
                                          dw_stretch__best(pricer, j + 1, x - a * stage->size,
                                                           slack + a * stage->slack, pieces - a));
    return best;
}

/* --- a row at a time ---------------------------------------------------------------------- */

/* First of the points in rising order that is at least x. */
static size_t first_point(const struct dw_points *points, int64_t x)
{
    size_t lo = 0, hi = points->n;
    while (lo < hi) {
        size_t middle = lo + (hi - lo) / 2;
        if (points->x[points->rising[middle]] < x)
            lo = middle + 1;
        else
            hi = middle;
    }
    return lo;
}

/* row[x] of one layer is at least `value` for lo <= x <= hi nm. */
static void raise_between(const struct dw_pricer *pricer, int64_t *row, int64_t lo, int64_t hi,
                          int64_t value)
{
    const struct dw_bar_kind *kind = pricer->kind;
    const struct dw_points *points = kind->points;
    if (points) {
        for (size_t i = first_point(points, lo);
             i < points->n && points->x[points->rising[i]] <= hi; i++)
            row[points->rising[i]] = dw_table__larger(row[points->rising[i]], value);
        return;
    }
    size_t end = (size_t)(hi / kind->cell);
    for (size_t x = (size_t)dw_ceil__div(lo, kind->cell); x <= end && x < kind->n_cells; x++)
        row[x] = dw_table__larger(row[x], value);
}

/* Combinations of the stages from j on, added to `size` nm of pieces with `slack`, in all layers of
 * the row for that many pieces. */
static void combine(const struct dw_pricer *pricer, int64_t *row, size_t j, int64_t size,
                    int64_t slack, int64_t value, size_t pieces)
{
    const size_t n_layers = pricer->kind->n_layers;
    if (size > pricer->kind->max_cap || (pieces >= n_layers && n_layers > 1))
        return;
    if (j < pricer->n_stages) {
        const struct dw_stage *stage = &pricer->stages[j];
        for (int64_t a = 0; a <= stage->most; a++)
            combine(pricer, row, j + 1, size + a * stage->size, slack + a * stage->slack,
                    value + dw_stage__value(stage, a), pieces + (size_t)a);
        return;
    }
    int64_t scrap = pricer->scrap;
    if (slack == 0)
        return;
    for (size_t n = n_layers > 1 ? pieces : 0; n < n_layers; n++) {
        int64_t *layer = row + n * pricer->layer;
        if (pricer->filled > DW_NEVER / 2)
            raise_between(pricer, layer, size, size + slack, value + pricer->filled);
        if (scrap > 0 && pricer->scrapped > DW_NEVER / 2)
            raise_between(pricer, layer, size + scrap, size + scrap + slack,
                          value + pricer->scrapped);
    }
}

void dw_stretch__row(const struct dw_pricer *pricer, int64_t *row)
{
    combine(pricer, row, pricer->n_rows, 0, 0, 0, 0);
}
