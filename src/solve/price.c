/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded knapsack over the cells of a kind (Gilmore, Gomory 1963; Kellerer, Pferschy, Pisinger,
 * Knapsack Problems, 2004, ch. 7), with the credit of the leftover as its bottom row, so that one
 * table serves every stock of the kind:
 *
 *   rows[n][x] = credit(x)
 *   rows[j][x] = max over 0 <= a <= most_j, 0 <= t <= a slack_j of
 *                value_j(a) + rows[j+1][x - a size_j - t] */
#include "solve/table.h"

#include <stdlib.h>
#include <string.h>

/* --- counts ------------------------------------------------------------------------------- */

static int64_t made(const struct dw_col *col, size_t item)
{
    for (size_t i = 0; i < col->n; i++)
        if (col->entries[i].item == item)
            return col->entries[i].count;
    return 0;
}

int64_t dw_count__of(const struct dw_problem *problem, const struct dw_count *count,
                     const struct dw_col *col)
{
    switch (count->kind) {
    case DW_COUNT_BARS:
        return 1;
    case DW_COUNT_STOCK:
        return col->stock == count->a;
    case DW_COUNT_MADE:
        return made(col, count->a);
    case DW_COUNT_KEPT:
        return col->kept && dw_col__kept_length(problem, col) >= count->b;
    case DW_COUNT_EXACT:
        return dw_col__exact(problem, col);
    case DW_COUNT_LEVEL:
        return dw_col__tail_count(problem, col, count->a) >= count->b;
    case DW_COUNT_PAIR:
        return dw_col__tail_count(problem, col, count->a) > 0 &&
               dw_col__tail_count(problem, col, (size_t)count->b) > 0;
    case DW_COUNT_COL:
        return col->index == count->a;
    }
    return 0;
}

int64_t dw_prices__value(const struct dw_problem *problem, const struct dw_prices *prices,
                         const struct dw_col *col)
{
    int64_t value =
        prices->stock[col->stock] - prices->scale * (prices->bar[col->stock] + col->money);
    for (size_t i = 0; i < col->n; i++)
        value += prices->item[col->entries[i].item] * col->entries[i].count;
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->count[c] != 0)
            value += prices->count[c] * dw_count__of(problem, &prices->counts[c], col);
    return value;
}

/* --- values ------------------------------------------------------------------------------- */

int64_t dw_stage__value(const struct dw_stage *stage, int64_t count)
{
    int64_t value = count * stage->unit;
    for (size_t i = 0; i < stage->n_levels; i++)
        if (stage->threshold[i] <= count)
            value += stage->dual[i];
    return value;
}

int64_t dw_pricer__unit(const struct dw_pricer *pricer, size_t item)
{
    const struct dw_problem *p = pricer->problem;
    const struct dw_prices *prices = pricer->prices;
    int64_t unit = prices->item[item] + prices->scale * (p->items[item].worth - p->cut_cost);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == DW_COUNT_MADE && prices->counts[c].a == item)
            unit += prices->count[c];
    return unit;
}

int64_t dw_pricer__constant(const struct dw_pricer *pricer, size_t stock)
{
    const struct dw_prices *prices = pricer->prices;
    int64_t value = pricer->bars + prices->stock[stock] -
                    prices->scale * (prices->bar[stock] + pricer->problem->stocks[stock].fixed);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == DW_COUNT_STOCK && prices->counts[c].a == stock)
            value += prices->count[c];
    return value;
}

static bool keepable(const struct dw_pricer *pricer, int64_t r)
{
    const struct dw_problem *p = pricer->problem;
    return r > 0 && r >= p->job->materials[pricer->kind->material].worth.keep &&
           !(p->missing && p->max_kept != DW_UNLIMITED);
}

/* `credit` of x nm kept, with the duals of kept leftovers. */
static int64_t kept_value(const struct dw_pricer *pricer, int64_t x, dw_money credit)
{
    const struct dw_prices *prices = pricer->prices;
    if (credit == DW_NEVER)
        return DW_NEVER;
    int64_t value = prices->scale * credit;
    int64_t r = dw_problem__leftover(pricer->problem, x);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == DW_COUNT_KEPT && r >= prices->counts[c].b)
            value += prices->count[c];
    return value;
}

int64_t dw_pricer__kept(const struct dw_pricer *pricer, int64_t x)
{
    if (pricer->kind->coarse)
        return kept_value(pricer, x, dw_kind__kept(pricer->problem, pricer->kind, x));
    return pricer->kept[dw_pricer__cell(pricer, x)];
}

int64_t dw_pricer__thrown(const struct dw_pricer *pricer, int64_t x)
{
    const struct dw_problem *p = pricer->problem;
    if (p->max_kept == DW_UNLIMITED && keepable(pricer, dw_problem__leftover(p, x)))
        return DW_NEVER;
    dw_money credit = dw_kind__thrown(p, pricer->kind, x);
    if (credit == DW_NEVER)
        return DW_NEVER;
    return pricer->prices->scale * credit + (x == 0 && p->grip == 0 ? pricer->exact : 0);
}

/* What is thrown earns by filling the bar exactly, and is allowed where it is short: nothing else
 * can be gained by longer pieces, as an offcut too long to be thrown is better kept whole. */
int64_t dw_pricer__stretched(const struct dw_pricer *pricer, int64_t x, int64_t slack,
                             int64_t *used)
{
    const struct dw_problem *p = pricer->problem;
    int64_t best = dw_pricer__thrown(pricer, x);
    *used = 0;
    if (slack <= 0)
        return best;
    int64_t scrap = p->job->rules.scrap_max + (p->grip > 0 ? -p->grip : p->kerf);
    if (scrap >= 0 && x > scrap && x - scrap <= slack && dw_pricer__thrown(pricer, scrap) > best) {
        *used = x - scrap;
        best = dw_pricer__thrown(pricer, scrap);
    }
    if (x <= slack && dw_pricer__thrown(pricer, 0) > best) {
        *used = x;
        best = dw_pricer__thrown(pricer, 0);
    }
    return best;
}

/* --- bottom row --------------------------------------------------------------------------- */

static int64_t larger(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* Coarse: an upper bound for every length in the cell and below, so that the row increases. */
static void coarse_bottom(const struct dw_pricer *pricer, int64_t *row)
{
    const struct dw_problem *p = pricer->problem;
    const struct dw_prices *prices = pricer->prices;
    int64_t extra = larger(pricer->exact, 0);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == DW_COUNT_KEPT)
            extra += larger(prices->count[c], 0);
    dw_money thrown = p->grip == 0 ? p->cut_cost : 0;
    for (size_t x = 0; x < pricer->kind->n_cells; x++) {
        int64_t top = (int64_t)(x + 1) * pricer->kind->cell - 1;
        dw_money kept = dw_kind__kept(p, pricer->kind, top);
        row[x] = prices->scale * larger(thrown, kept) + extra;
    }
}

static int64_t nm_of(const struct dw_kind *kind, size_t x)
{
    return kind->points ? kind->points->x[x] : (int64_t)x * kind->cell;
}

/* Stages from j on at their best, each count tried: x nm are left, and of them up to `slack` may
 * go into longer pieces. */
static int64_t try_all(const struct dw_pricer *pricer, size_t j, int64_t x, int64_t slack)
{
    if (j == pricer->n_stages) {
        int64_t used;
        return larger(dw_pricer__kept(pricer, x), dw_pricer__stretched(pricer, x, slack, &used));
    }
    const struct dw_stage *stage = &pricer->stages[j];
    int64_t best = try_all(pricer, j + 1, x, slack);
    for (int64_t a = 1; a <= stage->most && a * stage->size <= x; a++)
        best = larger(best, dw_stage__value(stage, a) + try_all(pricer, j + 1, x - a * stage->size,
                                                                slack + a * stage->slack));
    return best;
}

static void fill_bottom(struct dw_pricer *pricer, int64_t *row)
{
    const struct dw_kind *kind = pricer->kind;
    if (kind->coarse) {
        coarse_bottom(pricer, row);
        return;
    }
    size_t n = kind->n_cells;
    for (size_t x = 0; x < n; x++)
        pricer->kept[x] = kept_value(pricer, nm_of(kind, x), kind->kept[x]);
    if (kind->points && pricer->n_rows < kind->n_items)
        n = kind->points->reach[kind->n_firm];
    for (size_t x = 0; x < n; x++)
        row[x] = try_all(pricer, pricer->n_rows, nm_of(kind, x), 0);
    int64_t most = DW_NEVER;
    pricer->drop = 0;
    for (size_t x = 0; x < n && !kind->few_slack; x++) {
        most = larger(most, row[x]);
        pricer->drop = larger(pricer->drop, most - row[x]);
    }
}

/* --- one stage ---------------------------------------------------------------------------- */

/* to[x] = max(to[x], from[x - offset] + add) */
static void raise_row(int64_t *to, const int64_t *from, size_t offset, int64_t add, size_t n)
{
    for (size_t x = offset; x < n; x++) {
        int64_t value = from[x - offset] + add;
        if (value > to[x])
            to[x] = value;
    }
}

/* No limit on the number of pieces: they are added one by one in place. */
static void stage_unbounded(int64_t *to, const int64_t *from, size_t size, int64_t unit, size_t n)
{
    memcpy(to, from, n * sizeof *to);
    raise_row(to, to, size, unit, n);
}

/* Many pieces: maximum over a sliding window in each residue class (Pferschy 1999).
 * to[x] = max over a <= most of from[x - a size] + a unit. Cost: O(cells). */
static void stage_window(const struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                         size_t size, const struct dw_stage *stage, size_t n)
{
    size_t *queue = pricer->queue;
    for (size_t residue = 0; residue < size && residue < n; residue++) {
        size_t head = 0, tail = 0;
        int64_t step = 0;
        for (size_t x = residue; x < n; x += size, step++) {
            int64_t value = from[x] - step * stage->unit;
            while (tail > head) {
                int64_t last = (int64_t)(queue[tail - 1] / size);
                if (from[queue[tail - 1]] - last * stage->unit > value)
                    break;
                tail--;
            }
            queue[tail++] = x;
            while ((int64_t)((x - queue[head]) / size) > stage->most)
                head++;
            to[x] = from[queue[head]] + (int64_t)((x - queue[head]) / size) * stage->unit;
        }
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

/* Pieces of a range: after each piece, the row is widened by its slack. */
static void stage_slack(const struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                        const struct dw_stage *stage, size_t n)
{
    size_t size = (size_t)(stage->size / pricer->kind->cell);
    size_t slack = (size_t)(stage->slack / pricer->kind->cell);
    int64_t *wide = pricer->scratch, *next = pricer->scratch + pricer->block_cells;
    memcpy(to, from, n * sizeof *to);
    for (int64_t a = 1; a <= stage->most; a++) {
        widen_row(pricer, next, a == 1 ? from : wide, size, slack, n);
        raise_row(to, next, 0, dw_stage__value(stage, a), n);
        int64_t *swap = wide;
        wide = next;
        next = swap;
    }
}

/* Over points: pieces are taken one by one along `next`. */
static void stage_points(const struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                         const struct dw_stage *stage)
{
    const struct dw_points *points = pricer->kind->points;
    const uint32_t *next = points->next[stage->place];
    size_t n = points->reach[stage->place];
    for (size_t x = 0; x < n; x++) {
        int64_t best = from[x];
        uint32_t at = next[x];
        for (int64_t a = 1; a <= stage->most && at != DW_POINT_NONE; a++, at = next[at])
            best = larger(best, from[at] + dw_stage__value(stage, a));
        to[x] = best;
    }
}

static void fill_stage(const struct dw_pricer *pricer, int64_t *to, const int64_t *from,
                       const struct dw_stage *stage)
{
    const struct dw_kind *kind = pricer->kind;
    size_t n = kind->n_cells;
    size_t size = (size_t)(stage->size / kind->cell);
    if (kind->points) {
        stage_points(pricer, to, from, stage);
    } else if (!kind->coarse && stage->slack > 0) {
        stage_slack(pricer, to, from, stage, n);
    } else if (!kind->coarse && stage->n_levels == 0 && stage->most > 3) {
        if ((size_t)stage->most >= (n - 1) / size)
            stage_unbounded(to, from, size, stage->unit, n);
        else
            stage_window(pricer, to, from, size, stage, n);
    } else {
        memcpy(to, from, n * sizeof *to);
        for (int64_t a = 1; a <= stage->most; a++)
            raise_row(to, from, (size_t)(a * stage->size / kind->cell), dw_stage__value(stage, a),
                      n);
    }
}

/* --- the tables --------------------------------------------------------------------------- */

struct dw_pricer *dw_pricer__new(const struct dw_problem *problem)
{
    struct dw_pricer *pricer = calloc(1, sizeof *pricer);
    if (!pricer)
        return NULL;
    pricer->problem = problem;
    for (size_t q = 0; q < problem->n_kinds; q++) {
        const struct dw_kind *kind = &problem->kinds[q];
        pricer->block_cells =
            kind->n_cells > pricer->block_cells ? kind->n_cells : pricer->block_cells;
        pricer->n_blocks =
            kind->n_items + 1 > pricer->n_blocks ? kind->n_items + 1 : pricer->n_blocks;
    }
    pricer->stages = calloc(pricer->n_blocks + 1, sizeof *pricer->stages);
    pricer->rows = calloc(pricer->n_blocks + 1, sizeof *pricer->rows);
    pricer->blocks = calloc(pricer->n_blocks + 1, sizeof *pricer->blocks);
    pricer->scratch = calloc(2 * pricer->block_cells + 1, sizeof *pricer->scratch);
    pricer->kept = calloc(pricer->block_cells + 1, sizeof *pricer->kept);
    pricer->queue = calloc(pricer->block_cells + 1, sizeof *pricer->queue);
    pricer->entries = calloc(pricer->n_blocks + 1, sizeof *pricer->entries);
    if (!pricer->stages || !pricer->rows || !pricer->blocks || !pricer->scratch || !pricer->queue ||
        !pricer->kept || !pricer->entries) {
        dw_pricer__free(pricer);
        return NULL;
    }
    return pricer;
}

void dw_pricer__free(struct dw_pricer *pricer)
{
    if (!pricer)
        return;
    for (size_t j = 0; pricer->blocks && j < pricer->n_blocks; j++)
        free(pricer->blocks[j]);
    free(pricer->stages);
    free(pricer->rows);
    free(pricer->blocks);
    free(pricer->kept);
    free(pricer->scratch);
    free(pricer->queue);
    free(pricer->entries);
    free(pricer);
}

static void load_counts(struct dw_pricer *pricer)
{
    const struct dw_prices *prices = pricer->prices;
    pricer->bars = pricer->exact = 0;
    for (size_t c = 0; c < prices->n_counts; c++) {
        if (prices->counts[c].kind == DW_COUNT_BARS)
            pricer->bars += prices->count[c];
        else if (prices->counts[c].kind == DW_COUNT_EXACT)
            pricer->exact += prices->count[c];
    }
}

static void load_levels(const struct dw_prices *prices, struct dw_stage *stage)
{
    for (size_t c = 0; c < prices->n_counts; c++) {
        const struct dw_count *count = &prices->counts[c];
        if (count->kind == DW_COUNT_LEVEL && count->a == stage->item && prices->count[c] != 0 &&
            stage->n_levels < DW_TABLE_LEVELS) {
            stage->threshold[stage->n_levels] = count->b;
            stage->dual[stage->n_levels++] = prices->count[c];
        }
    }
}

static void load_stages(struct dw_pricer *pricer)
{
    const struct dw_prices *prices = pricer->prices;
    const struct dw_kind *kind = pricer->kind;
    pricer->n_stages = pricer->n_rows = 0;
    for (size_t j = 0; j < kind->n_items; j++) {
        size_t i = kind->order[j];
        const struct dw_item *item = &pricer->problem->items[i];
        struct dw_stage *stage = &pricer->stages[pricer->n_stages];
        *stage = (struct dw_stage){.item = i, .place = j, .size = item->size, .slack = item->slack};
        stage->unit = dw_pricer__unit(pricer, i);
        stage->most = kind->max_cap / item->size;
        if (prices->demand[i] < stage->most)
            stage->most = prices->demand[i];
        load_levels(prices, stage);
        if (stage->most > 0)
            pricer->n_stages++;
        if (j < kind->n_firm || !kind->few_slack)
            pricer->n_rows = pricer->n_stages;
    }
}

bool dw_pricer__load(struct dw_pricer *pricer, const struct dw_prices *prices, size_t kind,
                     int64_t *work)
{
    pricer->prices = prices;
    pricer->kind = &pricer->problem->kinds[kind];
    pricer->per_cell = 1 / (double)pricer->kind->cell;
    load_counts(pricer);
    load_stages(pricer);
    size_t n = pricer->n_rows;
    for (size_t j = 0; j <= n; j++) {
        if (!pricer->blocks[j])
            pricer->blocks[j] = malloc((pricer->block_cells + 1) * sizeof **pricer->blocks);
        if (!pricer->blocks[j])
            return false;
        pricer->rows[j] = pricer->blocks[j];
    }
    fill_bottom(pricer, pricer->rows[n]);
    for (size_t j = n; j-- > 0;) {
        const struct dw_stage *stage = &pricer->stages[j];
        fill_stage(pricer, pricer->rows[j], pricer->rows[j + 1], stage);
        *work += (int64_t)pricer->kind->n_cells * (1 + (stage->most < 4 ? stage->most : 4));
    }
    return true;
}

/* --- best layouts ------------------------------------------------------------------------- */

int64_t dw_pricer__bound(const struct dw_pricer *pricer, size_t j, int64_t x, int64_t slack)
{
    if (x < 0)
        return DW_NEVER;
    if (pricer->kind->few_slack && !pricer->kind->coarse && j >= pricer->n_rows)
        return try_all(pricer, j, x, slack);
    size_t hi = dw_pricer__cell(pricer, x);
    int64_t best = pricer->rows[j][hi];
    if (slack == 0 || pricer->kind->coarse)
        return best;
    size_t lo = x > slack ? dw_pricer__cell(pricer, x - slack) : 0;
    for (size_t at = lo; at < hi; at++)
        best = larger(best, pricer->rows[j][at]);
    return best;
}

static int64_t best_stage_lead(const struct dw_pricer *pricer, size_t j, int64_t x)
{
    const struct dw_stage *stage = &pricer->stages[j];
    int64_t best = DW_NEVER;
    for (int64_t a = 1; a <= stage->most && a * stage->size <= x; a++)
        best = larger(best,
                      dw_stage__value(stage, a) +
                          dw_pricer__bound(pricer, j + 1, x - a * stage->size, a * stage->slack));
    return best;
}

static int64_t best_straight(const struct dw_pricer *pricer, int64_t x)
{
    int64_t best = DW_NEVER;
    for (size_t j = 0; j < pricer->n_stages; j++)
        best = larger(best, best_stage_lead(pricer, j, x));
    return best;
}

size_t dw_pricer__n_leads(const struct dw_pricer *pricer, size_t stock)
{
    const struct dw_stock *s = &pricer->problem->stocks[stock];
    return s->n_firsts > 0 ? s->n_firsts : pricer->n_stages;
}

static int64_t with_constant(const struct dw_pricer *pricer, size_t stock, int64_t value)
{
    return value <= DW_NEVER / 2 ? DW_NEVER : value + dw_pricer__constant(pricer, stock);
}

int64_t dw_pricer__best_lead(const struct dw_pricer *pricer, size_t stock, size_t lead)
{
    const struct dw_stock *s = &pricer->problem->stocks[stock];
    if (s->n_firsts == 0)
        return with_constant(pricer, stock, best_stage_lead(pricer, lead, s->cap));
    const struct dw_first *first = &s->firsts[lead];
    int64_t x = s->cap - first->size;
    if (x < 0)
        return DW_NEVER;
    if (first->item == DW_NONE) {
        int64_t cut = pricer->prices->scale * pricer->problem->cut_cost;
        int64_t value = best_straight(pricer, x);
        return with_constant(pricer, stock, value <= DW_NEVER / 2 ? value : value - cut);
    }
    if (pricer->prices->demand[first->item] == 0)
        return DW_NEVER;
    return with_constant(pricer, stock,
                         dw_pricer__unit(pricer, first->item) +
                             dw_pricer__bound(pricer, 0, x, first->slack));
}

int64_t dw_pricer__best(const struct dw_pricer *pricer, size_t stock)
{
    int64_t best = DW_NEVER;
    size_t n = dw_pricer__n_leads(pricer, stock);
    for (size_t lead = 0; lead < n; lead++)
        best = larger(best, dw_pricer__best_lead(pricer, stock, lead));
    return best;
}
