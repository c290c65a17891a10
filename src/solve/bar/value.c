/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Duals gathered by item and stock, and the values of columns at them. */
#include "solve/bar/value.h"

#include <stdlib.h>
#include <string.h>

static bool make_room(struct dw_valuer *v, size_t n)
{
    if (v->unit && n <= v->room)
        return true;
    void *const arrays[] = {&v->unit, &v->constant,   &v->first, &v->levels, &v->waste,
                            &v->kept, &v->first_pair, &v->pairs, &v->rest};
    const size_t sizes[] = {sizeof *v->unit,       sizeof *v->constant, sizeof *v->first,
                            sizeof *v->levels,     sizeof *v->waste,    sizeof *v->kept,
                            sizeof *v->first_pair, sizeof *v->pairs,    sizeof *v->rest};
    for (size_t a = 0; a < DW_COUNT(arrays); a++) {
        size_t room = v->room;
        if (!dw_array__grow(arrays[a], &room, n + 1, sizes[a]))
            return false;
    }
    v->room = n;
    return true;
}

/* Of all kinds but those that are sorted. */
static void load_counts(struct dw_valuer *v)
{
    const struct dw_prices *prices = v->prices;
    int64_t bars = 0;
    for (size_t c = 0; c < prices->n_counts; c++) {
        const struct dw_bar_count *count = &prices->counts[c];
        if (count->kind == DW_COUNT_BARS)
            bars += prices->count[c];
        else if (count->kind == DW_COUNT_STOCK)
            v->constant[count->a] += prices->count[c];
        else if (count->kind == DW_COUNT_MADE)
            v->unit[count->a] += prices->count[c];
        else if (count->kind == DW_COUNT_EXACT)
            v->exact += prices->count[c];
        else if ((count->kind == DW_COUNT_COL || count->kind == DW_COUNT_CUT) &&
                 prices->count[c] != 0)
            v->rest[v->n_rest++] = c;
    }
    for (size_t k = 0; k < v->problem->n_stocks; k++)
        v->constant[k] += bars;
}

/* Sorts the counts of a kind by item into `to`: first[i] is where the next one of item i goes, then
 * where they end. */
static void load_by_item(const struct dw_valuer *v, enum dw_bar_count_kind kind, size_t *first,
                         struct dw_value_step *to)
{
    const struct dw_prices *prices = v->prices;
    size_t n_items = v->problem->n_items;
    memset(first, 0, (n_items + 1) * sizeof *first);
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == kind && prices->count[c] != 0)
            first[prices->counts[c].a + 1]++;
    for (size_t i = 0; i < n_items; i++)
        first[i + 1] += first[i];
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == kind && prices->count[c] != 0)
            to[first[prices->counts[c].a]++] =
                (struct dw_value_step){prices->counts[c].b, prices->count[c]};
    for (size_t i = n_items; i > 0; i--)
        first[i] = first[i - 1];
    first[0] = 0;
}

static int compare_steps(const void *a, const void *b)
{
    const struct dw_value_step *x = a, *y = b;
    return (x->b > y->b) - (x->b < y->b);
}

/* The counts of a kind by their thresholds, with the duals of all up to there. */
static size_t load_thresholds(const struct dw_valuer *v, enum dw_bar_count_kind kind,
                              struct dw_value_step *to)
{
    const struct dw_prices *prices = v->prices;
    size_t n = 0;
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == kind && prices->count[c] != 0)
            to[n++] = (struct dw_value_step){prices->counts[c].b, prices->count[c]};
    if (n > 0)
        qsort(to, n, sizeof *to, compare_steps);
    for (size_t i = 1; i < n; i++)
        to[i].dual += to[i - 1].dual;
    return n;
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
    load_by_item(valuer, DW_COUNT_LEVEL, valuer->first, valuer->levels);
    load_by_item(valuer, DW_COUNT_PAIR, valuer->first_pair, valuer->pairs);
    valuer->n_waste = load_thresholds(valuer, DW_COUNT_WASTE, valuer->waste);
    valuer->n_kept = load_thresholds(valuer, DW_COUNT_KEPT, valuer->kept);
    return true;
}

/* Whether the column has a straight piece of the item. */
static bool has_straight(const struct dw_col *col, size_t item, size_t bent)
{
    for (size_t i = 0; i < col->n; i++)
        if (col->entries[i].item == item)
            return col->entries[i].count > (item == bent);
    return false;
}

/* What an item's pieces add. bent: item of the bar's bent first part, which is no straight piece.
 */
static int64_t of_entry(const struct dw_valuer *v, const struct dw_col *col,
                        const struct dw_entry *entry, size_t bent)
{
    const size_t item = entry->item;
    const int64_t straight = entry->count - (item == bent);
    int64_t value = v->unit[item] * entry->count;
    for (size_t l = v->first[item]; l < v->first[item + 1]; l++)
        if (straight >= v->levels[l].b)
            value += v->levels[l].dual;
    for (size_t l = v->first_pair[item]; straight > 0 && l < v->first_pair[item + 1]; l++)
        if (has_straight(col, (size_t)v->pairs[l].b, bent))
            value += v->pairs[l].dual;
    return value;
}

/* The duals of all thresholds that a length reaches. */
static int64_t reached(const struct dw_value_step *steps, size_t n, int64_t length)
{
    size_t low = 0, high = n;
    while (low < high) {
        const size_t middle = (low + high) / 2;
        if (steps[middle].b <= length)
            low = middle + 1;
        else
            high = middle;
    }
    return low > 0 ? steps[low - 1].dual : 0;
}

static int64_t of_end(const struct dw_valuer *v, const struct dw_col *col)
{
    int64_t value = 0;
    if (v->exact != 0 && dw_col__exact(v->problem, col))
        value += v->exact;
    if (col->kept && v->n_kept > 0)
        value += reached(v->kept, v->n_kept, dw_col__kept_length(v->problem, col));
    if (!col->kept && v->n_waste > 0)
        value += reached(v->waste, v->n_waste, col->left - col->slack);
    return value;
}

int64_t dw_valuer__of(const struct dw_valuer *valuer, const struct dw_col *col)
{
    const struct dw_problem *p = valuer->problem;
    const struct dw_prices *prices = valuer->prices;
    int64_t value = valuer->constant[col->stock] - prices->scale * col->money;
    size_t bent = col->first == DW_NONE ? DW_NONE : p->stocks[col->stock].firsts[col->first].item;
    for (size_t i = 0; i < col->n; i++)
        value += of_entry(valuer, col, &col->entries[i], bent);
    value += of_end(valuer, col);
    for (size_t r = 0; r < valuer->n_rest; r++)
        value += prices->count[valuer->rest[r]] *
                 dw_bar_count__of(p, &prices->counts[valuer->rest[r]], col);
    return value;
}

void dw_valuer__free(struct dw_valuer *valuer)
{
    free(valuer->unit);
    free(valuer->constant);
    free(valuer->first);
    free(valuer->levels);
    free(valuer->first_pair);
    free(valuer->pairs);
    free(valuer->waste);
    free(valuer->kept);
    free(valuer->rest);
    *valuer = (struct dw_valuer){0};
}
