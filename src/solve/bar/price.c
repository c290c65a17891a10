/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded knapsack over the cells of a kind (Gilmore, Gomory 1963; Kellerer, Pferschy, Pisinger,
 * Knapsack Problems, 2004, ch. 7), with the credit of the leftover as its bottom row, so that one
 * table serves every stock of the kind:
 *
 *   rows[n][x] = credit(x)
 *   rows[j][x] = max over 0 <= a <= most_j, 0 <= t <= a slack_j of
 *                value_j(a) + rows[j+1][x - a size_j - t]
 *
 * Where a bar may hold so many pieces only, there is such a row for each number n of them, filled
 * from that of n - a. */
#include "solve/bar/table.h"

#include <stdlib.h>

/* --- the tables --------------------------------------------------------------------------- */

struct dw_pricer *dw_pricer__new(const struct dw_problem *problem)
{
    struct dw_pricer *pricer = calloc(1, sizeof *pricer);
    if (!pricer)
        return NULL;
    pricer->problem = problem;
    for (size_t q = 0; q < problem->n_kinds; q++) {
        const struct dw_bar_kind *kind = &problem->kinds[q];
        size_t cells = kind->n_cells * kind->n_layers;
        pricer->block_cells = cells > pricer->block_cells ? cells : pricer->block_cells;
        pricer->n_blocks =
            kind->n_items + 1 > pricer->n_blocks ? kind->n_items + 1 : pricer->n_blocks;
    }
    pricer->stages = calloc(pricer->n_blocks + 1, sizeof *pricer->stages);
    pricer->rows = calloc(pricer->n_blocks + 1, sizeof *pricer->rows);
    pricer->blocks = calloc(pricer->n_blocks + 1, sizeof *pricer->blocks);
    pricer->scratch = calloc(3 * pricer->block_cells + 1, sizeof *pricer->scratch);
    pricer->kept = calloc(pricer->block_cells + 1, sizeof *pricer->kept);
    pricer->thrown = calloc(pricer->block_cells + 1, sizeof *pricer->thrown);
    pricer->queue = calloc(pricer->block_cells + 1, sizeof *pricer->queue);
    pricer->entries = calloc(pricer->n_blocks + 1, sizeof *pricer->entries);
    if (!pricer->stages || !pricer->rows || !pricer->blocks || !pricer->scratch || !pricer->queue ||
        !pricer->kept || !pricer->thrown || !pricer->entries) {
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
    free(pricer->thrown);
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

static void load_scrap(struct dw_pricer *pricer)
{
    const struct dw_problem *p = pricer->problem;
    pricer->scrap = -1;
    if (p->job->rules.no_middling)
        pricer->scrap =
            p->job->rules.scrap_max + (pricer->kind->tail > 0 ? -pricer->kind->tail : p->kerf);
    pricer->scrapped =
        pricer->scrap < 0 ? DW_NEVER : dw_pricer__reckon_thrown(pricer, pricer->scrap);
    pricer->filled = dw_pricer__reckon_thrown(pricer, 0);
}

static void load_levels(const struct dw_prices *prices, struct dw_stage *stage)
{
    for (size_t c = 0; c < prices->n_counts; c++) {
        const struct dw_bar_count *count = &prices->counts[c];
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
    const struct dw_bar_kind *kind = pricer->kind;
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
        if (kind->most < stage->most)
            stage->most = kind->most;
        load_levels(prices, stage);
        if (stage->most > 0)
            pricer->n_stages++;
        if (j < kind->n_firm || !kind->few_slack)
            pricer->n_rows = pricer->n_stages;
    }
}

enum dw_load dw_pricer__load(struct dw_pricer *pricer, const struct dw_prices *prices, size_t kind,
                             struct dw_effort *effort, int64_t *work)
{
    pricer->prices = prices;
    pricer->kind = &pricer->problem->kinds[kind];
    pricer->effort = effort;
    pricer->late = false;
    pricer->per_cell = 1 / (double)pricer->kind->cell;
    pricer->layer = pricer->kind->n_layers > 1 ? pricer->kind->n_cells : 0;
    load_counts(pricer);
    load_scrap(pricer);
    load_stages(pricer);
    size_t n = pricer->n_rows;
    for (size_t j = 0; j <= n; j++) {
        if (!pricer->blocks[j])
            pricer->blocks[j] = malloc((pricer->block_cells + 1) * sizeof **pricer->blocks);
        if (!pricer->blocks[j])
            return DW_LOAD_NO_MEMORY;
        pricer->rows[j] = pricer->blocks[j];
    }
    dw_pricer__fill(pricer, work);
    return pricer->late ? DW_LOAD_LATE : DW_LOAD_DONE;
}

/* --- best layouts ------------------------------------------------------------------------- */

int64_t dw_pricer__bound(const struct dw_pricer *pricer, size_t j, int64_t x, int64_t slack,
                         int64_t pieces)
{
    if (x < 0)
        return DW_NEVER;
    if (pricer->kind->few_slack && !pricer->kind->coarse &&
        (j > pricer->n_rows || (j == pricer->n_rows && slack > 0)))
        return dw_stretch__best(pricer, j, x, slack, pieces);
    const int64_t *row = dw_pricer__row(pricer, j, pieces);
    size_t hi = dw_pricer__cell(pricer, x);
    int64_t best = row[hi];
    if (slack == 0 || pricer->kind->coarse)
        return best;
    size_t lo = x > slack ? dw_pricer__cell(pricer, x - slack) : 0;
    for (size_t at = lo; at < hi; at++)
        best = dw_table__larger(best, row[at]);
    return best;
}

static int64_t best_stage_lead(const struct dw_pricer *pricer, size_t j, int64_t x)
{
    const struct dw_stage *stage = &pricer->stages[j];
    const int64_t pieces = pricer->kind->most;
    int64_t best = DW_NEVER;
    for (int64_t a = 1; a <= stage->most && a * stage->size <= x; a++)
        best = dw_table__larger(best, dw_stage__value(stage, a) +
                                          dw_pricer__bound(pricer, j + 1, x - a * stage->size,
                                                           a * stage->slack, pieces - a));
    return best;
}

static int64_t best_straight(const struct dw_pricer *pricer, int64_t x)
{
    int64_t best = DW_NEVER;
    for (size_t j = 0; j < pricer->n_stages; j++)
        best = dw_table__larger(best, best_stage_lead(pricer, j, x));
    return best;
}

size_t dw_pricer__n_leads(const struct dw_pricer *pricer, size_t stock)
{
    const struct dw_bar_stock *s = &pricer->problem->stocks[stock];
    return s->n_firsts > 0 ? s->n_firsts : pricer->n_stages;
}

static int64_t with_constant(const struct dw_pricer *pricer, size_t stock, int64_t value)
{
    return value <= DW_NEVER / 2 ? DW_NEVER : value + dw_pricer__constant(pricer, stock);
}

int64_t dw_pricer__best_lead(const struct dw_pricer *pricer, size_t stock, size_t lead)
{
    const struct dw_bar_stock *s = &pricer->problem->stocks[stock];
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
                             dw_pricer__bound(pricer, 0, x, first->slack, pricer->kind->most - 1));
}

int64_t dw_pricer__best(const struct dw_pricer *pricer, size_t stock)
{
    int64_t best = DW_NEVER;
    size_t n = dw_pricer__n_leads(pricer, stock);
    for (size_t lead = 0; lead < n; lead++)
        best = dw_table__larger(best, dw_pricer__best_lead(pricer, stock, lead));
    return best;
}
