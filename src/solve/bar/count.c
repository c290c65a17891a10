/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a column adds to counts over the bars of a plan, and its value at duals. */
#include "solve/bar/count.h"

static int64_t made(const struct dw_col *col, size_t item)
{
    for (size_t i = 0; i < col->n && col->entries[i].item <= item; i++)
        if (col->entries[i].item == item)
            return col->entries[i].count;
    return 0;
}

static int64_t posts_of(const struct dw_problem *problem, const struct dw_parity_cut *cut,
                        const struct dw_col *col)
{
    int64_t n = 0;
    for (size_t i = 0; i < col->n; i++)
        if (cut->item[col->entries[i].item] && problem->items[col->entries[i].item].post)
            n += col->entries[i].count;
    return n;
}

int64_t dw_parity__of(const struct dw_problem *problem, const struct dw_parity_cut *cut,
                      const struct dw_col *col)
{
    int64_t odd = cut->odd[col->stock], sum = cut->slack[col->stock];
    for (size_t i = 0; i < col->n; i++)
        odd += cut->item[col->entries[i].item] * col->entries[i].count;
    if (cut->posts)
        sum -= posts_of(problem, cut, col);
    for (size_t c = 0; c < cut->n_counts; c++) {
        int64_t of = dw_bar_count__of(problem, &cut->counts[c].count, col);
        odd += of;
        sum += cut->counts[c].sign * of;
    }
    return (odd & 1) + sum;
}

int64_t dw_bar_count__of(const struct dw_problem *problem, const struct dw_bar_count *count,
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
    case DW_COUNT_WASTE:
        return !col->kept && col->left - col->slack >= count->b;
    case DW_COUNT_LEVEL:
        return dw_col__tail_count(problem, col, count->a) >= count->b;
    case DW_COUNT_PAIR:
        return dw_col__tail_count(problem, col, count->a) > 0 &&
               dw_col__tail_count(problem, col, (size_t)count->b) > 0;
    case DW_COUNT_COL:
        return col->index == count->a;
    case DW_COUNT_CUT:
        return dw_parity__of(problem, count->cut, col);
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
            value += prices->count[c] * dw_bar_count__of(problem, &prices->counts[c], col);
    return value;
}
