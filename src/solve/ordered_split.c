/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a node of the search over what is bought is split. */
#include "solve/ordered_core.h"

#include <math.h>

/* By how much the line is below what the order of s->now comes to; DW_NO_END: that order is not in
 * the range. */
static dw_money gap_of(const struct dw_market_search *s, const struct dw_branch_node *node,
                       size_t c)
{
    const struct dw_market *m = &s->market;
    const struct dw_range *range = &node->range[c];
    const struct dw_seller *seller = &m->sellers[c];
    dw_wide goods = seller->fittings.goods, money = 0;
    dw_wide line = s->now.touch[c].rest + dw_seller__on_fittings(seller, range);
    int64_t cuts = 0;
    bool any = seller->fittings.any;
    for (size_t k = 0; k < m->n_wares; k++) {
        dw_money lot = 0;
        if (m->wares[k].seller != c || s->now.bought[k] == 0)
            continue;
        if (!dw_supply__lot(&m->job->supplies[m->wares[k].supply], s->now.bought[k], &lot))
            return DW_NO_END;
        any = true;
        goods += lot;
        money += lot;
        line += (dw_wide)s->now.price[k] * s->now.bought[k];
        cuts += s->now.bought[k] / m->wares[k].pack * seller->terms->cuts_a_pack;
    }
    struct dw_charge charge = {0};
    if (goods > DW_NO_END ||
        (any && !dw_charges__of(seller->terms, (dw_money)goods, cuts, &charge)))
        return DW_NO_END;
    if (any && (goods < range->from || goods > range->to))
        return DW_NO_END;
    if (!any && range->dealing == DW_DEALING_SOME)
        return DW_NO_END;
    dw_wide gap = money + dw_charge_sum(&charge) - line;
    return gap > DW_NO_END ? DW_NO_END : (dw_money)gap;
}

static bool split_dealing(struct dw_market_search *s, const struct dw_branch_node *node, size_t c)
{
    struct dw_branch_node *none = dw_branch_node__new(&s->market, node),
                          *some = dw_branch_node__new(&s->market, node);
    if (none) {
        none->range[c] = (struct dw_range){.dealing = DW_DEALING_NONE, .to = DW_NO_END};
        for (size_t k = 0; k < s->market.n_wares; k++)
            if (s->market.wares[k].seller == c)
                none->hi[k] = 0;
    }
    if (some)
        some->range[c] = (struct dw_range){.dealing = DW_DEALING_SOME, .to = DW_NO_END};
    bool ok = dw_market__push(s, none);
    return dw_market__push(s, some) && ok;
}

/* A threshold within the range, that nearest to the goods; 0: there is none. */
static dw_money threshold_of(const struct dw_market_search *s, const struct dw_branch_node *node,
                             size_t c)
{
    const struct dw_supplier *terms = s->market.sellers[c].terms;
    const struct dw_range *range = &node->range[c];
    const struct dw_span span = dw_span__of(&s->market, node, c);
    const dw_money from = span.least > range->from ? span.least : range->from;
    const dw_money to = span.most < range->to ? span.most : range->to;
    const dw_money at[] = {terms->minimum, terms->small_charge > 0 ? terms->small_under : 0,
                           terms->freight > 0 ? terms->freight_free : 0};
    double goods = (double)s->market.sellers[c].fittings.goods, nearest = INFINITY;
    for (size_t k = 0; k < s->market.n_wares; k++)
        if (s->market.wares[k].seller == c)
            goods += (double)s->now.price[k] * (double)s->now.bought[k];
    dw_money found = 0;
    for (size_t i = 0; i < DW_COUNT(at); i++) {
        if (at[i] <= from || at[i] > to || fabs((double)at[i] - goods) >= nearest)
            continue;
        nearest = fabs((double)at[i] - goods);
        found = at[i];
    }
    return found;
}

static bool split_range(struct dw_market_search *s, const struct dw_branch_node *node, size_t c,
                        dw_money at)
{
    struct dw_branch_node *below = dw_branch_node__new(&s->market, node),
                          *above = dw_branch_node__new(&s->market, node);
    if (below) {
        below->range[c].to = at - 1;
        below->range[c].slope = 0;
    }
    if (above) {
        above->range[c].from = at;
        above->range[c].slope = 0;
    }
    bool ok = dw_market__push(s, below);
    return dw_market__push(s, above) && ok;
}

/* Up to at - pack bars of the ware, or at and more. */
static bool split_ware(struct dw_market_search *s, const struct dw_branch_node *node, size_t k,
                       int64_t at)
{
    struct dw_branch_node *fewer = dw_branch_node__new(&s->market, node),
                          *more = dw_branch_node__new(&s->market, node);
    if (fewer)
        fewer->hi[k] = at - s->market.wares[k].pack;
    if (more)
        more->lo[k] = at;
    bool ok = dw_market__push(s, fewer);
    return dw_market__push(s, more) && ok;
}

/* The first lot of the next price that is not reached yet, within the node; 0: there is none. */
static int64_t next_price(const struct dw_market_search *s, const struct dw_branch_node *node,
                          size_t k)
{
    const struct dw_supply *supply = &s->market.job->supplies[s->market.wares[k].supply];
    for (size_t i = 0; i < supply->n_breaks; i++) {
        int64_t lot = dw_supply__packed(supply, supply->breaks[i].from);
        if (lot > node->lo[k] && lot <= node->hi[k] &&
            (lot > s->now.bought[k] || lot == node->hi[k]))
            return lot;
    }
    return 0;
}

static bool is_underpriced(const struct dw_market_search *s, const struct dw_branch_node *node,
                           size_t k)
{
    const struct dw_ware *ware = &s->market.wares[k];
    const dw_money lowest = dw_ware__lowest(&s->market, ware, node->lo[k], node->hi[k]);
    dw_money lot = 0;
    return s->now.bought[k] > 0 &&
           (!dw_supply__lot(&s->market.job->supplies[ware->supply], s->now.bought[k], &lot) ||
            lot > lowest * s->now.bought[k]);
}

/* *split: children take the node's place. false: no memory. */
static bool split_wares(struct dw_market_search *s, const struct dw_branch_node *node, size_t c,
                        bool *split)
{
    const struct dw_market *m = &s->market;
    size_t dearest = DW_NONE;
    *split = true;
    for (size_t k = 0; k < m->n_wares; k++) {
        if (m->wares[k].seller != c || node->lo[k] >= node->hi[k])
            continue;
        int64_t lot = is_underpriced(s, node, k) ? next_price(s, node, k) : 0;
        if (lot > 0)
            return split_ware(s, node, k, lot);
        if (dearest == DW_NONE ||
            s->now.price[k] * m->wares[k].pack > s->now.price[dearest] * m->wares[dearest].pack)
            dearest = k;
    }
    *split = dearest != DW_NONE;
    if (!*split)
        return true;
    int64_t at = s->now.bought[dearest] + m->wares[dearest].pack;
    if (at > node->hi[dearest])
        at = node->hi[dearest];
    return split_ware(s, node, dearest, at);
}

/* What a split decides: first of whom something is ordered, then which thresholds are reached. */
enum stage { STAGE_DEALING, STAGE_RANGE, STAGE_WARES, N_STAGES };

static enum stage stage_of(const struct dw_market_search *s, const struct dw_branch_node *node,
                           size_t c)
{
    if (node->range[c].dealing == DW_DEALING_OPEN)
        return STAGE_DEALING;
    return node->range[c].dealing == DW_DEALING_SOME && threshold_of(s, node, c) > 0 ? STAGE_RANGE
                                                                                     : STAGE_WARES;
}

static bool split_seller(struct dw_market_search *s, const struct dw_branch_node *node, size_t c,
                         bool *split)
{
    *split = true;
    switch (stage_of(s, node, c)) {
    case STAGE_DEALING:
        return split_dealing(s, node, c);
    case STAGE_RANGE:
        return split_range(s, node, c, threshold_of(s, node, c));
    default:
        return split_wares(s, node, c, split);
    }
}

/* By the seller whose line is furthest from its charges, or else by the next one that can be; not
 * where the sets' own bounds are further from their plans. */
bool dw_market__split(struct dw_market_search *s, const struct dw_branch_node *node, bool *split)
{
    const size_t n = s->market.n_sellers;
    *split = false;
    for (size_t c = 0; c < n; c++)
        s->tried[c] = false;
    for (int stage = 0; stage < N_STAGES; stage++) {
        for (size_t widest = 0; widest != DW_NONE;) {
            dw_money gap = 0;
            widest = DW_NONE;
            for (size_t c = 0; c < n; c++) {
                if (s->tried[c] || (int)stage_of(s, node, c) != stage || gap_of(s, node, c) <= gap)
                    continue;
                gap = gap_of(s, node, c);
                widest = c;
            }
            if (widest == DW_NONE || (gap < s->now.open && gap < DW_NO_END))
                break;
            s->tried[widest] = true;
            if (!split_seller(s, node, widest, split))
                return false;
            if (*split)
                return true;
        }
    }
    return true;
}
