/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the tables are filled, from what is left of a bar up to all items. */
#include "solve/bar/raise.h"
#include "solve/bar/table.h"

#include <string.h>

/* Coarse: an upper bound for every length in the cell and below, so that the row increases. */
static void coarse_bottom(const struct dw_pricer *pricer, int64_t *row)
{
    const struct dw_problem *p = pricer->problem;
    const struct dw_prices *prices = pricer->prices;
    int64_t extra = dw_table__larger(pricer->exact, 0);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == DW_COUNT_KEPT || prices->counts[c].kind == DW_COUNT_WASTE)
            extra += dw_table__larger(prices->count[c], 0);
    dw_money thrown = pricer->kind->tail == 0 ? p->cut_cost : 0;
    for (size_t x = 0; x < pricer->kind->n_cells; x++) {
        int64_t top = (int64_t)(x + 1) * pricer->kind->cell - 1;
        dw_money kept = dw_bar_kind__kept(p, pricer->kind, top);
        row[x] = prices->scale * dw_table__larger(thrown, kept) + extra;
    }
}

/* --- one stage ---------------------------------------------------------------------------- */

/* `pieces` more of them: to[x] = max(keep[x], from[x - offset] + add) in each layer, `from` that of
 * so many pieces less; keep[x] where x < offset or there is no such layer. to may be from. */
static void raise_row(const struct dw_pricer *pricer, int64_t *to, const int64_t *keep,
                      const int64_t *from, int64_t pieces, size_t offset, int64_t add)
{
    const size_t n = pricer->kind->n_cells, below = offset < n ? offset : n;
    const size_t down = pricer->layer > 0 ? (size_t)pieces : 0;
    for (size_t layer = pricer->kind->n_layers; layer-- > 0;) {
        const size_t at = layer * n, stay = layer < down ? n : below;
        dw_raise__row(to + at + stay, keep + at + stay, from + (layer < down ? 0 : at - down * n),
                      add, n - stay);
        if (to != keep)
            memcpy(to + at, keep + at, stay * sizeof *to);
    }
}

/* to[x] = max over a <= most of from[x - a size] + a unit, most >= 1: how many pieces are allowed
 * is doubled from step to step, the last of which overlaps. Cost: O(cells log most). */
static void stage_doubling(const struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                           size_t size, int64_t most, int64_t unit)
{
    int64_t room = (int64_t)((pricer->kind->n_cells - 1) / size), reached = 1;
    most = room < most ? room : most;
    raise_row(pricer, to, from, from, 1, size, unit);
    while (reached < most) {
        int64_t step = reached + 1 < most - reached ? reached + 1 : most - reached;
        raise_row(pricer, to, to, to, step, (size_t)step * size, step * unit);
        reached += step;
    }
}

/* to[x] = max over 0 <= t <= slack of from[x - size - t]; DW_NEVER where x < size. */
static void widen_row(const struct dw_pricer *pricer, int64_t *to, const int64_t *from, size_t size,
                      size_t slack, size_t n)
{
    size_t *queue = pricer->queue;
    size_t head = 0, tail = 0;
    for (size_t x = 0; x < n && x < size; x++)
        to[x] = DW_NEVER;
    for (size_t x = size; x < n; x++) {
        size_t at = x - size;
        while (tail > head && from[queue[tail - 1]] <= from[at])
            tail--;
        queue[tail++] = at;
        while (at - queue[head] > slack)
            head++;
        to[x] = from[queue[head]];
    }
}

#define MANY_PIECES 100 /* on a bar: from there on not one by one */

/* to[x] = max over a <= most of from[x - a size] + value(a). Between two levels the value of a
 * piece more is always the same, so that doubling serves. Of coarse cells the sizes are rounded
 * down at each step, and what comes of it is an upper bound as before, since the rows increase.
 * Cost: O(cells levels log most). */
static void stage_spans(const struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                        const struct dw_stage *stage)
{
    int64_t *span = pricer->scratch + 2 * pricer->block_cells;
    const int64_t cell = pricer->kind->cell;
    const size_t n = pricer->kind->n_cells * pricer->kind->n_layers;
    memcpy(to, from, n * sizeof *to);
    for (int64_t first = 1, last; first <= stage->most; first = last + 1) {
        last = stage->most;
        for (size_t i = 0; i < stage->n_levels; i++)
            if (stage->threshold[i] > first && stage->threshold[i] <= last)
                last = stage->threshold[i] - 1;
        for (size_t x = 0; x < n; x++)
            span[x] = DW_NEVER;
        raise_row(pricer, span, span, from, first, (size_t)(first * stage->size / cell),
                  dw_stage__value(stage, first));
        for (int64_t reached = 0, step; reached < last - first; reached += step) {
            step = reached + 1 < last - first - reached ? reached + 1 : last - first - reached;
            raise_row(pricer, span, span, span, step, (size_t)(step * stage->size / cell),
                      step * stage->unit);
        }
        raise_row(pricer, to, to, span, 0, 0, 0);
    }
}

/* Pieces of a range: after each piece, the row is widened by its slack. */
static void stage_slack(struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                        const struct dw_stage *stage)
{
    size_t n = pricer->kind->n_cells;
    size_t size = (size_t)(stage->size / pricer->kind->cell);
    size_t slack = (size_t)(stage->slack / pricer->kind->cell);
    int64_t *wide = pricer->scratch, *next = pricer->scratch + pricer->block_cells;
    for (int64_t a = 1; a <= stage->most && !dw_pricer__late(pricer); a++) {
        for (size_t layer = 0; layer < pricer->kind->n_layers; layer++)
            widen_row(pricer, next + layer * n, (a == 1 ? from : wide) + layer * n, size, slack, n);
        raise_row(pricer, to, a == 1 ? from : to, next, a, 0, dw_stage__value(stage, a));
        int64_t *swap = wide;
        wide = next;
        next = swap;
    }
}

#define GLANCE 256 /* points between two looks at the clock */

/* Over points, one layer: pieces, up to `most`, are taken one by one along `next`. */
static void stage_points(struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                         const struct dw_stage *stage, int64_t most)
{
    const struct dw_points *points = pricer->kind->points;
    const uint32_t *next = points->next[stage->place];
    size_t n = points->reach[stage->place];
    for (size_t x = 0; x < n && (x % GLANCE != 0 || !dw_pricer__late(pricer)); x++) {
        int64_t best = from[x];
        const int64_t *fewer = from;
        uint32_t at = next[x];
        for (int64_t a = 1; a <= most && at != DW_POINT_NONE; a++, at = next[at]) {
            fewer -= pricer->layer;
            best = dw_table__larger(best, fewer[at] + dw_stage__value(stage, a));
        }
        to[x] = best;
    }
}

/* Row of one stage from the next one's. With few_slack, pieces are at their least lengths here. */
static void fill_stage(struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                       const struct dw_stage *stage)
{
    const struct dw_bar_kind *kind = pricer->kind;
    size_t size = (size_t)(stage->size / kind->cell);
    for (size_t layer = 0; kind->points && layer < kind->n_layers; layer++) {
        bool fewer = pricer->layer > 0 && (int64_t)layer < stage->most;
        stage_points(pricer, to + layer * pricer->layer, from + layer * pricer->layer, stage,
                     fewer ? (int64_t)layer : stage->most);
    }
    if (kind->points)
        return;
    if (!kind->coarse && !kind->few_slack && stage->slack > 0) {
        stage_slack(pricer, to, from, stage);
    } else if (!kind->coarse && stage->n_levels == 0) {
        stage_doubling(pricer, to, from, size, stage->most, stage->unit);
    } else if (stage->most > MANY_PIECES) {
        stage_spans(pricer, to, from, stage);
    } else {
        for (int64_t a = 1; a <= stage->most; a++)
            raise_row(pricer, to, a == 1 ? from : to, from, a,
                      (size_t)(a * stage->size / kind->cell), dw_stage__value(stage, a));
    }
}

/* --- what is left ------------------------------------------------------------------------- */

static int64_t of_credit(const struct dw_prices *prices, dw_money credit)
{
    return credit == DW_NEVER ? DW_NEVER : prices->scale * credit;
}

/* Cell number i by increasing length. */
static size_t cell_of(const struct dw_bar_kind *kind, size_t i)
{
    return kind->points ? kind->points->rising[i] : i;
}

/* What a count of this kind compares with its threshold. */
static int64_t counted_length(const struct dw_pricer *pricer, enum dw_bar_count_kind what, size_t i)
{
    int64_t nm = dw_bar_kind__nm(pricer->kind, cell_of(pricer->kind, i));
    return what == DW_COUNT_KEPT ? dw_bar_kind__leftover(pricer->problem, pricer->kind, nm) : nm;
}

static size_t first_counted(const struct dw_pricer *pricer, enum dw_bar_count_kind what,
                            int64_t least)
{
    size_t lo = 0, hi = pricer->kind->n_cells;
    while (lo < hi) {
        size_t middle = lo + (hi - lo) / 2;
        if (counted_length(pricer, what, middle) < least)
            lo = middle + 1;
        else
            hi = middle;
    }
    return lo;
}

/* Adds the duals of counts of one kind, which begin at a length each. step: scratch for a row. */
static void add_counts(const struct dw_pricer *pricer, enum dw_bar_count_kind what, int64_t *values,
                       const dw_money *credit, int64_t *step)
{
    const struct dw_prices *prices = pricer->prices;
    const size_t n = pricer->kind->n_cells;
    int64_t sum = 0;
    bool any = false;
    for (size_t c = 0; c < prices->n_counts; c++) {
        if (prices->counts[c].kind != what || prices->count[c] == 0)
            continue;
        if (!any)
            memset(step, 0, n * sizeof *step);
        any = true;
        size_t at = first_counted(pricer, what, prices->counts[c].b);
        if (at < n)
            step[at] += prices->count[c];
    }
    for (size_t i = 0; any && i < n; i++) {
        size_t x = cell_of(pricer->kind, i);
        sum += step[i];
        if (credit[x] != DW_NEVER)
            values[x] += sum;
    }
}

/* Nothing more is cut: kept or thrown away. */
static void fill_left(struct dw_pricer *pricer, int64_t *row)
{
    const struct dw_bar_kind *kind = pricer->kind;
    const struct dw_prices *prices = pricer->prices;
    for (size_t x = 0; x < kind->n_cells; x++) {
        pricer->kept[x] = of_credit(prices, kind->kept[x]);
        pricer->thrown[x] = of_credit(prices, kind->thrown[x]);
        if (dw_bar_kind__nm(kind, x) == 0)
            pricer->thrown[x] = pricer->filled;
    }
    add_counts(pricer, DW_COUNT_KEPT, pricer->kept, kind->kept, row);
    add_counts(pricer, DW_COUNT_WASTE, pricer->thrown, kind->thrown, row);
    for (size_t x = 0; x < kind->n_cells; x++)
        row[x] = dw_table__larger(pricer->kept[x], pricer->thrown[x]);
}

/* However many pieces may still come, nothing comes. */
static void spread(const struct dw_pricer *pricer, int64_t *row)
{
    const size_t n = pricer->kind->n_cells;
    for (size_t layer = 1; layer < pricer->kind->n_layers; layer++)
        memcpy(row + layer * n, row, n * sizeof *row);
}

/* The stages without a row, one after the other; then what they gain by slack. */
static void fill_slack(struct dw_pricer *pricer, int64_t *row)
{
    int64_t *from = pricer->scratch, *to = pricer->scratch + pricer->block_cells;
    fill_left(pricer, from);
    spread(pricer, from);
    for (size_t j = pricer->n_stages; j-- > pricer->n_rows && !dw_pricer__late(pricer);) {
        fill_stage(pricer, to, from, &pricer->stages[j]);
        int64_t *swap = from;
        from = to;
        to = swap;
    }
    memcpy(row, from, pricer->kind->n_cells * pricer->kind->n_layers * sizeof *row);
    if (!dw_pricer__late(pricer))
        dw_stretch__row(pricer, row);
}

static void measure_drop(struct dw_pricer *pricer, const int64_t *row)
{
    int64_t most = DW_NEVER;
    pricer->drop = 0; /* the layers of what is left are alike */
    for (size_t x = 0; x < pricer->kind->n_cells; x++) {
        most = dw_table__larger(most, row[x]);
        pricer->drop = dw_table__larger(pricer->drop, most - row[x]);
    }
}

void dw_pricer__fill(struct dw_pricer *pricer, int64_t *work)
{
    const struct dw_bar_kind *kind = pricer->kind;
    size_t n = pricer->n_rows;
    if (kind->coarse)
        coarse_bottom(pricer, pricer->rows[n]);
    else if (n < pricer->n_stages)
        fill_slack(pricer, pricer->rows[n]);
    else
        fill_left(pricer, pricer->rows[n]);
    if (n == pricer->n_stages)
        spread(pricer, pricer->rows[n]);
    if (!kind->coarse && !kind->few_slack)
        measure_drop(pricer, pricer->rows[n]);
    for (size_t j = n; j-- > 0 && !dw_pricer__late(pricer);)
        fill_stage(pricer, pricer->rows[j], pricer->rows[j + 1], &pricer->stages[j]);
    for (size_t j = 0; j < pricer->n_stages; j++) {
        const struct dw_stage *stage = &pricer->stages[j];
        size_t cells = kind->points ? kind->points->reach[stage->place] : kind->n_cells;
        *work += (int64_t)(cells * kind->n_layers) * (1 + (stage->most < 4 ? stage->most : 4));
    }
}
