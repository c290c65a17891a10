/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Charges of a range of orders, from below by a line: see struct dw_range. */
#include "solve/ordered_core.h"

dw_money dw_seller__charge(const struct dw_seller *seller, dw_money goods)
{
    struct dw_charge charge;
    if (!dw_charges__of(seller->terms, goods, 0, &charge))
        return 0;
    return charge.minimum + charge.small + charge.freight;
}

dw_money dw_ware__lowest(const struct dw_market *market, const struct dw_ware *ware, int64_t lo,
                         int64_t hi)
{
    const struct dw_supply *supply = &market->job->supplies[ware->supply];
    dw_money price = supply->price;
    (void)lo;
    for (size_t i = 0; i < supply->n_breaks && supply->breaks[i].from <= hi; i++)
        price = supply->breaks[i].price;
    return price;
}

static dw_money highest(const struct dw_supply *supply, int64_t lo)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks && supply->breaks[i].from <= lo; i++)
        price = supply->breaks[i].price;
    return price;
}

static dw_money add_up(dw_money sum, dw_money price, int64_t bars)
{
    dw_money money = 0;
    if (!dw_mul__i64(price, bars, &money) || money > DW_NO_END - sum)
        return DW_NO_END;
    return sum + money;
}

struct dw_span dw_span__of(const struct dw_market *market, const struct dw_branch_node *node,
                           size_t seller)
{
    const struct dw_seller *of = &market->sellers[seller];
    struct dw_span span = {.least = of->fittings.goods, .most = of->fittings.goods};
    for (size_t k = 0; k < market->n_wares; k++) {
        const struct dw_ware *ware = &market->wares[k];
        const struct dw_supply *supply = &market->job->supplies[ware->supply];
        if (ware->seller != seller)
            continue;
        span.least = add_up(span.least, dw_ware__lowest(market, ware, node->lo[k], node->hi[k]),
                            node->lo[k]);
        span.most = add_up(span.most, highest(supply, node->lo[k]), node->hi[k]);
        span.least_cuts += node->lo[k] / ware->pack * of->terms->cuts_a_pack;
    }
    return span;
}

/* slope x goods / 1 000 000 rounded up, as it is taken off. */
static dw_wide slope_of(int64_t slope, dw_money goods)
{
    dw_wide product = (dw_wide)slope * goods;
    return product >= 0 ? (product + DW_PPM_ONE - 1) / DW_PPM_ONE : product / DW_PPM_ONE;
}

/* The line lies below the charges where it does at the ends of the range, at each threshold in it
 * and, if nothing need be ordered, at nothing: between these, charges fall by as much as the goods
 * rise, or not at all, and drop at the next. */
#define MAX_CORNERS 6

struct corners {
    size_t n;
    dw_money goods[MAX_CORNERS], charge[MAX_CORNERS]; /* by goods */
};

static void add_corner(struct corners *c, dw_money from, dw_money to, dw_money goods,
                       dw_money charge)
{
    size_t i = c->n;
    if (goods < from || goods > to)
        return;
    for (; i > 0 && c->goods[i - 1] > goods; i--) {
        c->goods[i] = c->goods[i - 1];
        c->charge[i] = c->charge[i - 1];
    }
    c->goods[i] = goods;
    c->charge[i] = charge;
    c->n++;
}

static struct corners corners_of(const struct dw_seller *seller, const struct dw_range *range,
                                 const struct dw_span *span)
{
    const dw_money from = span->least > range->from ? span->least : range->from;
    const dw_money to = span->most < range->to ? span->most : range->to;
    const struct dw_supplier *terms = seller->terms;
    const dw_money at[] = {from, terms->minimum, terms->small_under, terms->freight_free, to};
    struct corners c = {0};
    for (size_t i = 0; i < DW_COUNT(at); i++)
        add_corner(&c, from, to, at[i], dw_seller__charge(seller, at[i]));
    if (range->dealing == DW_DEALING_OPEN && span->least == 0)
        add_corner(&c, 0, 0, 0, 0);
    return c;
}

/* The same for cuts: none is charged up to the free ones, then the least charge, then each. */
static dw_wide cuts_rest(const struct dw_seller *seller, const struct dw_range *range,
                         int64_t least_cuts)
{
    const struct dw_supplier *terms = seller->terms;
    int64_t to_minimum = terms->cut_charge > 0 ? terms->cut_minimum / terms->cut_charge : 0;
    const int64_t at[] = {least_cuts, terms->cuts_free, terms->cuts_free + 1,
                          terms->cuts_free + to_minimum, terms->cuts_free + to_minimum + 1};
    dw_wide rest = INT64_MAX;
    for (size_t i = 0; i < DW_COUNT(at); i++) {
        struct dw_charge charge;
        if (at[i] < least_cuts || !dw_charges__of(terms, 0, at[i], &charge))
            continue;
        dw_wide here = charge.cutting - (dw_wide)range->cut_slope * at[i];
        rest = here < rest ? here : rest;
    }
    return rest;
}

bool dw_range__touch(const struct dw_seller *seller, const struct dw_range *range,
                     const struct dw_span *span, struct dw_touch *touch)
{
    *touch = (struct dw_touch){0};
    if (range->dealing == DW_DEALING_NONE)
        return span->least == 0 && !seller->fittings.any;
    const struct corners c = corners_of(seller, range, span);
    if (c.n == 0)
        return false;
    dw_wide cuts = cuts_rest(seller, range, span->least_cuts), lowest = 0;
    for (size_t i = 0; i < c.n; i++) {
        dw_wide rest = c.charge[i] - slope_of(range->slope, c.goods[i]);
        bool nothing = range->dealing == DW_DEALING_OPEN && c.goods[i] == 0 && c.charge[i] == 0;
        rest += nothing && cuts > 0 ? 0 : cuts;
        if (i == 0 || rest < lowest) {
            lowest = rest;
            touch->from = c.goods[i];
        }
        if (rest == lowest)
            touch->to = c.goods[i];
    }
    if (lowest > INT64_MAX / 4 || lowest < INT64_MIN / 4)
        lowest = INT64_MIN / 4;
    touch->rest = (dw_money)lowest;
    return true;
}

bool dw_range__slope(const struct dw_seller *seller, const struct dw_range *range,
                     const struct dw_span *span, dw_money goods, int64_t *slope)
{
    const struct corners c = corners_of(seller, range, span);
    bool found = false;
    double best = 0;
    for (size_t i = 0; i < c.n; i++)
        for (size_t j = i + 1; j < c.n; j++) {
            if (c.goods[i] > goods || c.goods[j] <= goods)
                continue;
            double here = (double)(c.charge[j] - c.charge[i]) / (double)(c.goods[j] - c.goods[i]);
            double at = (double)c.charge[i] + here * (double)(goods - c.goods[i]);
            if (found && at >= best)
                continue;
            found = true;
            best = at;
            *slope = (int64_t)(here * (double)DW_PPM_ONE) - (here < 0);
        }
    return found;
}
