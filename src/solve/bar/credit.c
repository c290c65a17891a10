/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pieces, bars and leftovers are worth at the duals that are loaded. */
#include "solve/bar/table.h"

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

/* The duals of the counts of one kind whose threshold a length reaches. */
static int64_t reached(const struct dw_prices *prices, enum dw_bar_count_kind kind, int64_t length)
{
    int64_t value = 0;
    for (size_t c = 0; c < prices->n_counts; c++)
        if (prices->counts[c].kind == kind && length >= prices->counts[c].b)
            value += prices->count[c];
    return value;
}

int64_t dw_pricer__reckon_kept(const struct dw_pricer *pricer, int64_t x)
{
    const struct dw_problem *p = pricer->problem;
    dw_money credit = dw_bar_kind__kept(p, pricer->kind, x);
    if (credit == DW_NEVER)
        return DW_NEVER;
    return pricer->prices->scale * credit +
           reached(pricer->prices, DW_COUNT_KEPT, dw_bar_kind__leftover(p, pricer->kind, x));
}

int64_t dw_pricer__reckon_thrown(const struct dw_pricer *pricer, int64_t x)
{
    const struct dw_problem *p = pricer->problem;
    if (p->max_kept == DW_UNLIMITED &&
        dw_bar_kind__keepable(p, pricer->kind, dw_bar_kind__leftover(p, pricer->kind, x)))
        return DW_NEVER;
    dw_money credit = dw_bar_kind__thrown(p, pricer->kind, x);
    if (credit == DW_NEVER)
        return DW_NEVER;
    return pricer->prices->scale * credit +
           (x == 0 && pricer->kind->tail == 0 ? pricer->exact : 0) +
           reached(pricer->prices, DW_COUNT_WASTE, x);
}
