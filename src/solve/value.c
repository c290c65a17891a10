/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/value.h"

#include <stdlib.h>
#include <string.h>

static bool make_room(struct dw_valuer *v, size_t n)
{
    if (v->unit && n <= v->room)
        return true;
    size_t units = v->room, constants = v->room, firsts = v->room, levels = v->room, rest = v->room;
    if (!dw_array__grow(&v->unit, &units, n + 1, sizeof *v->unit) ||
        !dw_array__grow(&v->constant, &constants, n + 1, sizeof *v->constant) ||
        !dw_array__grow(&v->first, &firsts, n + 1, sizeof *v->first) ||
        !dw_array__grow(&v->levels, &levels, n + 1, sizeof *v->levels) ||
        !dw_array__grow(&v->rest, &rest, n + 1, sizeof *v->rest))
        return false;
    v->room = n;
    return true;
}

/* Of all kinds but levels. */
static void load_counts(struct dw_valuer *v)
{
    const struct dw_prices *prices = v->prices;
    int64_t bars = 0;
    for (size_t c = 0; c < prices->n_counts; c++) {
        const struct dw_count *count = &prices->counts[c];
        if (count->kind == DW_COUNT_BARS)
            bars += prices->count[c];
        else if (count->kind == DW_COUNT_STOCK)
            v->constant[count->a] += prices->count[c];
        else if (count->kind == DW_COUNT_MADE)
            v->unit[count->a] += prices->count[c];
        else if (count->kind == DW_COUNT_EXACT)
            v->exact += prices->count[c];
        else if (count->kind != DW_COUNT_LEVEL && prices->count[c] != 0)
            v->rest[v->n_rest++] = c;
    }
    for (size_t k = 0; k < v->problem->n_stocks; k++)
        v->constant[k] += bars;
}

static bool is_level(const struct dw_prices *prices, size_t c)
{
    return prices->counts[c].kind == DW_COUNT_LEVEL && prices->count[c] != 0;
}

/* Sorted by item: first[i] is where the next one of item i goes, then where they end. */
static void load_levels(struct dw_valuer *v)
{
    const struct dw_prices *prices = v->prices;
    size_t n_items = v->problem->n_items;
    memset(v->first, 0, (n_items + 1) * sizeof *v->first);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (is_level(prices, c))
            v->first[prices->counts[c].a + 1]++;
    for (size_t i = 0; i < n_items; i++)
        v->first[i + 1] += v->first[i];
    for (size_t c = 0; c < prices->n_counts; c++)
        if (is_level(prices, c))
            v->levels[v->first[prices->counts[c].a]++] =
                (struct dw_value_level){prices->counts[c].b, prices->count[c]};
    for (size_t i = n_items; i > 0; i--)
        v->first[i] = v->first[i - 1];
    v->first[0] = 0;
}

bool dw_valuer__load(struct dw_valuer *valuer, const struct dw_problem *problem,
                     const struct dw_prices *prices)
{
    if (!make_room(valuer, problem->n_items + problem->n_stocks + prices->n_counts))
        return false;
    valuer->problem = problem;
    valuer->prices = prices;
    valuer->exact = 0;
    valuer->n_rest = 0;
    for (size_t i = 0; i < problem->n_items; i++)
        valuer->unit[i] = prices->item[i];
    for (size_t k = 0; k < problem->n_stocks; k++)
        valuer->constant[k] = prices->stock[k] - prices->scale * prices->bar[k];
    load_counts(valuer);
    load_levels(valuer);
    return true;
}

/* What an item's pieces add. `bent`: the bar's bent first part is one of them, and is no straight
 * piece. */
static int64_t of_entry(const struct dw_valuer *v, const struct dw_entry *entry, bool bent)
{
    int64_t value = v->unit[entry->item] * entry->count;
    for (size_t l = v->first[entry->item]; l < v->first[entry->item + 1]; l++)
        if (entry->count - bent >= v->levels[l].least)
            value += v->levels[l].dual;
    return value;
}

int64_t dw_valuer__of(const struct dw_valuer *valuer, const struct dw_col *col)
{
    const struct dw_problem *p = valuer->problem;
    const struct dw_prices *prices = valuer->prices;
    int64_t value = valuer->constant[col->stock] - prices->scale * col->money;
    size_t bent = col->first == DW_NONE ? DW_NONE : p->stocks[col->stock].firsts[col->first].item;
    for (size_t i = 0; i < col->n; i++)
        value += of_entry(valuer, &col->entries[i], col->entries[i].item == bent);
    if (valuer->exact != 0 && dw_col__exact(p, col))
        value += valuer->exact;
    for (size_t r = 0; r < valuer->n_rest; r++)
        value +=
            prices->count[valuer->rest[r]] * dw_count__of(p, &prices->counts[valuer->rest[r]], col);
    return value;
}

void dw_valuer__free(struct dw_valuer *valuer)
{
    free(valuer->unit);
    free(valuer->constant);
    free(valuer->first);
    free(valuer->levels);
    free(valuer->rest);
    *valuer = (struct dw_valuer){0};
}
