/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Charges of a range of orders, from below by a line: see struct dw_range. */
#include "solve/ordered_core.h"

#define NO_END (INT64_MAX / 4) /* goods without an end */

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
    if (!dw_mul__i64(price, bars, &money) || money > NO_END - sum)
        return NO_END;
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

struct lowest {
    dw_wide rest;
    dw_money at;
    bool any;
};

/* The line lies below the charges where it does at the ends of the range and at each threshold in
 * it: between them charges fall by as much as the goods rise, or not at all, and drop at the next. */
static void look_at(const struct dw_seller *seller, const struct dw_range *range, dw_money from,
                    dw_money to, dw_money goods, struct lowest *lowest)
{
    if (goods < from || goods > to)
        return;
    dw_wide rest = dw_seller__charge(seller, goods) - slope_of(range->slope, goods);
    if (lowest->any && rest >= lowest->rest)
        return;
    *lowest = (struct lowest){rest, goods, true};
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

bool dw_range__rest(const struct dw_seller *seller, const struct dw_range *range,
                    const struct dw_span *span, dw_money *rest, dw_money *at)
{
    const dw_money from = span->least > range->from ? span->least : range->from;
    const dw_money to = span->most < range->to ? span->most : range->to;
    const struct dw_supplier *terms = seller->terms;
    struct lowest lowest = {0};
    *rest = *at = 0;
    if (range->dealing == DW_DEALING_NONE)
        return span->least == 0 && !seller->fittings.any;
    look_at(seller, range, from, to, from, &lowest);
    look_at(seller, range, from, to, terms->minimum, &lowest);
    look_at(seller, range, from, to, terms->small_under, &lowest);
    look_at(seller, range, from, to, terms->freight_free, &lowest);
    look_at(seller, range, from, to, to, &lowest);
    if (!lowest.any)
        return false;
    lowest.rest += cuts_rest(seller, range, span->least_cuts);
    if (range->dealing == DW_DEALING_OPEN && span->least == 0 && lowest.rest > 0) {
        lowest.rest = 0;
        lowest.at = 0;
    }
    if (lowest.rest > INT64_MAX / 4 || lowest.rest < INT64_MIN / 4)
        lowest.rest = INT64_MIN / 4;
    *rest = (dw_money)lowest.rest;
    *at = lowest.at;
    return true;
}
