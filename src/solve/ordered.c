/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Branch and bound over what is bought of sellers that charge.
 *
 * A node is a box of what is bought of each ware and a range of each seller's goods. Over it the
 * charges of a seller are not below a line (ordered_line.c), whose slope makes its wares dearer or
 * cheaper. Bars that are bought anyhow cost what they are worth if they stay whole. With that the
 * sets of materials have nothing to do with each other, and each is planned by the engine as any
 * group; their bounds, the lines' rests and what is paid for the bars that are bought anyhow add up
 * to a bound of the node (Lagrangian relaxation of the range, Geoffrion 1974). Its plans, bought as
 * is cheapest for them, are plans of the whole.
 *
 * Where a line is below what the charges of that plan are, the node is split: whether anything is
 * ordered of the seller, then at a threshold, then at a price break, then by how much is bought of
 * a ware. With all that is bought decided, line and charges are one. */
#include "solve/ordered_core.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_SLICE INT64_C(2000000) /* work of one plan of a set, at first */
#define SLICE_GROWS 4
#define NO_END      (INT64_MAX / 4)

/* What a node comes to with the slopes that it has. */
struct reckoned {
    bool possible;
    bool bounded;
    dw_money bound;
    dw_money open;                 /* by so much the bounds of its sets are below their plans */
    const struct dw_priced **sets; /* length n_sets */
    int64_t *bought;               /* length n_wares: of what its sets ask for */
    dw_money *price;               /* length n_wares */
    dw_money *rest;                /* length n_sellers */
    double *excess;                /* length n_sellers: goods beyond where the line touches */
};

struct market_search {
    struct dw_market market;
    struct dw_priced_list plans;
    const struct dw_wish *wish;
    struct dw_effort *effort;
    struct dw_error *error;
    size_t n_open, open_capacity;
    struct dw_branch_node **open; /* length n_open: a heap by bound */
    size_t n_aside, aside_capacity;
    struct dw_branch_node **aside; /* length n_aside: to be split when sets are planned longer */
    int64_t slice;
    bool has_best;
    dw_money best;
    const struct dw_priced **best_sets; /* length n_sets */
    struct reckoned now, then;
    int64_t *eff_lo; /* length n_wares */
};

/* --- nodes -------------------------------------------------------------------------------- */

static void free_node(struct dw_branch_node *node)
{
    if (!node)
        return;
    free(node->lo);
    free(node->range);
    free(node);
}

static struct dw_branch_node *new_node(const struct dw_market *market,
                                       const struct dw_branch_node *from)
{
    struct dw_branch_node *node = calloc(1, sizeof *node);
    if (!node)
        return NULL;
    node->lo = calloc(2 * market->n_wares + 1, sizeof *node->lo);
    node->range = calloc(market->n_sellers + 1, sizeof *node->range);
    if (!node->lo || !node->range) {
        free_node(node);
        return NULL;
    }
    node->hi = node->lo + market->n_wares;
    if (!from)
        return node;
    memcpy(node->lo, from->lo, 2 * market->n_wares * sizeof *node->lo);
    memcpy(node->range, from->range, market->n_sellers * sizeof *node->range);
    node->bound = from->bound;
    node->depth = from->depth + 1;
    return node;
}

static bool comes_before(const struct dw_branch_node *a, const struct dw_branch_node *b)
{
    return a->bound != b->bound ? a->bound < b->bound : a->depth > b->depth;
}

static bool push(struct market_search *s, struct dw_branch_node *node)
{
    if (!node || !dw_array__grow(&s->open, &s->open_capacity, s->n_open + 1, sizeof(void *))) {
        free_node(node);
        return false;
    }
    size_t i = s->n_open++;
    for (; i > 0 && comes_before(node, s->open[(i - 1) / 2]); i = (i - 1) / 2)
        s->open[i] = s->open[(i - 1) / 2];
    s->open[i] = node;
    return true;
}

static struct dw_branch_node *pop(struct market_search *s)
{
    struct dw_branch_node *first = s->open[0], *last = s->open[--s->n_open];
    size_t i = 0;
    for (size_t child = 1; child < s->n_open; child = 2 * i + 1) {
        if (child + 1 < s->n_open && comes_before(s->open[child + 1], s->open[child]))
            child++;
        if (!comes_before(s->open[child], last))
            break;
        s->open[i] = s->open[child];
        i = child;
    }
    if (s->n_open > 0)
        s->open[i] = last;
    return first;
}

static bool put_aside(struct market_search *s, struct dw_branch_node *node)
{
    if (!dw_array__grow(&s->aside, &s->aside_capacity, s->n_aside + 1, sizeof(void *))) {
        free_node(node);
        return false;
    }
    s->aside[s->n_aside++] = node;
    return true;
}

/* --- plans -------------------------------------------------------------------------------- */

/* Money of the sets' plans, bought as is cheapest for them. false: no memory. */
static dw_err sum_plans(struct market_search *s, const struct dw_priced *const *sets,
                        dw_money *money)
{
    const struct dw_market *m = &s->market;
    const size_t n = m->n_wares + 1;
    int64_t *used = calloc(2 * n, sizeof *used), *bought = used ? used + n : NULL;
    size_t *supplies = calloc(n, sizeof *supplies);
    dw_money *worth = calloc(n, sizeof *worth);
    dw_err code = used && supplies && worth ? DW_OK : dw_error__nomem(s->error);
    *money = 0;
    for (size_t i = 0; i < m->n_sets; i++)
        *money += sets[i]->apart;
    for (size_t c = 0; c < m->n_sellers && code == DW_OK; c++) {
        struct dw_buy buy = {.job = m->job,
                             .supplier = m->sellers[c].supplier,
                             .fittings = m->sellers[c].fittings,
                             .supplies = supplies,
                             .worth = worth,
                             .used = used};
        struct dw_charge charge;
        dw_money bars = 0;
        for (size_t k = 0; k < m->n_wares; k++) {
            if (m->wares[k].seller != c)
                continue;
            supplies[buy.n] = m->wares[k].supply;
            worth[buy.n] = m->wares[k].worth;
            used[buy.n] = 0;
            for (size_t i = 0; i < m->n_sets; i++)
                used[buy.n] += sets[i]->used[k];
            buy.n++;
        }
        code = dw_buy__choose(&buy, bought, &bars, &charge, s->error);
        if (code == DW_OK)
            *money += bars - charge.spare + dw_charge_sum(&charge);
    }
    free(used);
    free(supplies);
    free(worth);
    return code;
}

static dw_err offer_plans(struct market_search *s, const struct dw_priced *const *sets)
{
    dw_money money = 0;
    for (size_t i = 0; i < s->market.n_sets; i++)
        if (!sets[i]->planned)
            return DW_OK;
    dw_err code = sum_plans(s, sets, &money);
    if (code != DW_OK || (s->has_best && money >= s->best))
        return code;
    s->has_best = true;
    s->best = money;
    memcpy(s->best_sets, sets, s->market.n_sets * sizeof *sets);
    return DW_OK;
}

/* --- a node at its slopes ----------------------------------------------------------------- */

static bool is_fixed(const struct dw_market *m, const struct dw_branch_node *node, size_t seller)
{
    for (size_t k = 0; k < m->n_wares; k++)
        if (m->wares[k].seller == seller && node->lo[k] < node->hi[k])
            return false;
    return true;
}

/* Prices of the wares, and what is paid for bars that are bought anyhow. */
static dw_wide set_prices(struct market_search *s, const struct dw_branch_node *node,
                          struct reckoned *r)
{
    const struct dw_market *m = &s->market;
    dw_wide sum = 0;
    for (size_t k = 0; k < m->n_wares; k++) {
        const struct dw_ware *ware = &m->wares[k];
        const struct dw_range *range = &node->range[ware->seller];
        const dw_money lowest = dw_ware__lowest(m, ware, node->lo[k], node->hi[k]);
        const int64_t cuts = m->sellers[ware->seller].terms->cuts_a_pack;
        dw_wide price = (dw_wide)(DW_PPM_ONE + range->slope) * lowest / DW_PPM_ONE +
                        (dw_wide)range->cut_slope * cuts / ware->pack;
        r->price[k] = price > NO_END ? NO_END : (dw_money)price;
        s->eff_lo[k] = r->price[k] < ware->worth ? node->hi[k] : node->lo[k];
        sum += (dw_wide)(r->price[k] - ware->worth) * s->eff_lo[k];
    }
    return sum;
}

/* What the slope makes of the fittings, rounded down. */
static dw_wide on_fittings(const struct dw_seller *seller, const struct dw_range *range)
{
    dw_wide money = (dw_wide)range->slope * seller->fittings.goods;
    return (money - (money < 0 ? DW_PPM_ONE - 1 : 0)) / DW_PPM_ONE;
}

/* The rests of the lines. Answers whether there are such orders. */
static bool set_rests(const struct market_search *s, struct dw_branch_node *node,
                      struct reckoned *r, dw_wide *sum)
{
    const struct dw_market *m = &s->market;
    for (size_t c = 0; c < m->n_sellers; c++) {
        const struct dw_seller *seller = &m->sellers[c];
        const struct dw_span span = dw_span__of(m, node, c);
        dw_money at = 0;
        if (is_fixed(m, node, c))
            node->range[c].slope = node->range[c].cut_slope = 0;
        if (!dw_range__rest(seller, &node->range[c], &span, &r->rest[c], &at))
            return false;
        r->excess[c] = -(double)at;
        *sum += r->rest[c] + on_fittings(seller, &node->range[c]);
    }
    return true;
}

/* What is bought when the sets' plans are followed. */
static void set_bought(const struct market_search *s, const struct dw_branch_node *node,
                       struct reckoned *r)
{
    const struct dw_market *m = &s->market;
    for (size_t c = 0; c < m->n_sellers; c++)
        r->excess[c] += (double)m->sellers[c].fittings.goods;
    for (size_t k = 0; k < m->n_wares; k++) {
        const struct dw_ware *ware = &m->wares[k];
        const struct dw_supply *supply = &m->job->supplies[ware->supply];
        int64_t used = 0;
        for (size_t i = 0; i < m->n_sets; i++)
            used += r->sets[i]->used[k];
        used = dw_supply__packed(supply, used);
        r->bought[k] = used > s->eff_lo[k] ? used : s->eff_lo[k];
        r->excess[ware->seller] +=
            (double)dw_ware__lowest(m, ware, node->lo[k], node->hi[k]) * (double)r->bought[k];
    }
}

static dw_err reckon(struct market_search *s, struct dw_branch_node *node, struct reckoned *r)
{
    const struct dw_market *m = &s->market;
    dw_wide sum = 0;
    dw_err code = DW_OK;
    r->bounded = true;
    r->open = 0;
    r->possible = set_rests(s, node, r, &sum);
    if (!r->possible)
        return DW_OK;
    sum += set_prices(s, node, r);
    for (size_t i = 0; i < m->n_sets; i++) {
        r->sets[i] = dw_priced__find(m, &s->plans, i, s->eff_lo, node->hi, r->price, s->slice,
                                     s->wish, s->effort, &code, s->error);
        if (!r->sets[i])
            return code;
        if (r->sets[i]->never)
            r->possible = false;
        if (!r->possible)
            return DW_OK;
        r->bounded = r->bounded && r->sets[i]->bounded;
        sum += r->sets[i]->bounded ? r->sets[i]->bound : 0;
        r->open += r->sets[i]->planned ? r->sets[i]->value - r->sets[i]->bound : 0;
    }
    for (size_t i = 0; i < m->n_sets; i++)
        r->bounded = r->bounded && r->sets[i]->planned;
    r->bound = sum > NO_END ? NO_END : sum < -NO_END ? -NO_END : (dw_money)sum;
    set_bought(s, node, r);
    return offer_plans(s, r->sets);
}

static void swap(struct market_search *s)
{
    struct reckoned other = s->now;
    s->now = s->then;
    s->then = other;
}

/* --- slopes ------------------------------------------------------------------------------- */

/* The slope at which bars for the shelf cost no more than they are worth: with a lower one all that
 * can be is bought. */
static int64_t least_slope(const struct dw_market *m, const struct dw_branch_node *node, size_t c)
{
    int64_t least = -DW_PPM_ONE;
    for (size_t k = 0; k < m->n_wares; k++) {
        const struct dw_ware *ware = &m->wares[k];
        const dw_money lowest = dw_ware__lowest(m, ware, node->lo[k], node->hi[k]);
        int64_t slope = 0;
        if (ware->seller != c || node->lo[k] == node->hi[k] || lowest <= 0 ||
            !dw_muldiv__i64(ware->worth, DW_PPM_ONE, lowest, &slope))
            continue;
        slope += 1 - DW_PPM_ONE;
        least = slope > least ? slope : least;
    }
    return least;
}

/* One end of what is known of the bound as a concave function of a slope. */
struct end {
    int64_t slope;
    double bound, excess;
};

/* Reckons the node with another slope; s->now is the better of both then. */
static dw_err try_slope(struct market_search *s, struct dw_branch_node *node, size_t c,
                        int64_t slope, struct end *end)
{
    const int64_t before = node->range[c].slope;
    node->range[c].slope = slope;
    dw_err code = reckon(s, node, &s->then);
    *end = (struct end){slope, (double)s->then.bound, s->then.excess[c]};
    if (code == DW_OK && s->then.possible && s->then.bounded && s->then.bound > s->now.bound)
        swap(s);
    else if (code == DW_OK && s->then.possible)
        node->range[c].slope = before;
    else
        s->now.possible = s->then.possible;
    return code;
}

static bool is_done(const struct market_search *s)
{
    return s->effort->stopped || !s->now.possible || !s->now.bounded ||
           (s->has_best && s->now.bound >= s->best);
}

/* Where two tangents of the bound meet, until that gives nothing more. */
static dw_err find_slope(struct market_search *s, struct dw_branch_node *node, size_t c)
{
    struct end a = {node->range[c].slope, (double)s->now.bound, s->now.excess[c]}, b, next;
    const int64_t least = least_slope(&s->market, node, c);
    int64_t far = a.excess < 0 ? least : a.slope + DW_PPM_ONE / 10;
    if (a.excess == 0 || far == a.slope || (a.excess < 0 && far > a.slope))
        return DW_OK;
    dw_err code = try_slope(s, node, c, far, &b);
    for (int round = 0; code == DW_OK && round < 3 && !is_done(s); round++) {
        if ((a.excess < 0) == (b.excess < 0) || a.excess == b.excess)
            break;
        const double scale = (double)DW_PPM_ONE;
        double at = (b.bound - a.bound + (a.excess * (double)a.slope - b.excess * (double)b.slope) / scale) /
                    ((a.excess - b.excess) / scale);
        int64_t slope = (int64_t)floor(at);
        if (slope == a.slope || slope == b.slope || slope < -DW_PPM_ONE || slope > 100 * DW_PPM_ONE)
            break;
        double best = (double)s->now.bound;
        code = try_slope(s, node, c, slope, &next);
        if ((next.excess < 0) == (a.excess < 0))
            a = next;
        else
            b = next;
        if (next.bound <= best + 1)
            break;
    }
    return code;
}

/* The line for cuts: level, or as steep as each cut beyond the free ones. */
static dw_err find_cut_slope(struct market_search *s, struct dw_branch_node *node, size_t c)
{
    const struct dw_market *m = &s->market;
    const struct dw_supplier *terms = m->sellers[c].terms;
    int64_t cuts = 0;
    for (size_t k = 0; k < m->n_wares; k++)
        if (m->wares[k].seller == c)
            cuts += s->now.bought[k] / m->wares[k].pack * terms->cuts_a_pack;
    if (terms->cut_charge == 0 || terms->cuts_a_pack == 0 || cuts <= terms->cuts_free ||
        node->range[c].cut_slope > 0 || is_fixed(m, node, c))
        return DW_OK;
    node->range[c].cut_slope = terms->cut_charge;
    dw_err code = reckon(s, node, &s->then);
    if (code == DW_OK && s->then.possible && s->then.bounded && s->then.bound > s->now.bound)
        swap(s);
    else if (code == DW_OK && s->then.possible)
        node->range[c].cut_slope = 0;
    else
        s->now.possible = s->then.possible;
    return code;
}

/* The node with the best slopes that are found; s->now says what it comes to. */
static dw_err reckon_best(struct market_search *s, struct dw_branch_node *node)
{
    dw_err code = reckon(s, node, &s->now);
    for (size_t c = 0; code == DW_OK && c < s->market.n_sellers && !is_done(s); c++) {
        if (node->range[c].dealing == DW_DEALING_NONE || is_fixed(&s->market, node, c))
            continue;
        code = find_cut_slope(s, node, c);
        if (code == DW_OK && !is_done(s))
            code = find_slope(s, node, c);
    }
    return code;
}

/* --- splitting ---------------------------------------------------------------------------- */

/* By how much the line is below what the order of s->now comes to; NO_END: that order is not in the
 * range. */
static dw_money gap_of(const struct market_search *s, const struct dw_branch_node *node, size_t c)
{
    const struct dw_market *m = &s->market;
    const struct dw_range *range = &node->range[c];
    const struct dw_seller *seller = &m->sellers[c];
    dw_wide goods = seller->fittings.goods, money = 0;
    dw_wide line = s->now.rest[c] + on_fittings(seller, range);
    int64_t cuts = 0;
    bool any = seller->fittings.any;
    for (size_t k = 0; k < m->n_wares; k++) {
        dw_money lot = 0;
        if (m->wares[k].seller != c || s->now.bought[k] == 0)
            continue;
        if (!dw_supply__lot(&m->job->supplies[m->wares[k].supply], s->now.bought[k], &lot))
            return NO_END;
        any = true;
        goods += lot;
        money += lot;
        line += (dw_wide)s->now.price[k] * s->now.bought[k];
        cuts += s->now.bought[k] / m->wares[k].pack * seller->terms->cuts_a_pack;
    }
    struct dw_charge charge = {0};
    if (goods > NO_END || (any && !dw_charges__of(seller->terms, (dw_money)goods, cuts, &charge)))
        return NO_END;
    if (any && (goods < range->from || goods > range->to))
        return NO_END;
    if (!any && range->dealing == DW_DEALING_SOME)
        return NO_END;
    dw_wide gap = money + dw_charge_sum(&charge) - line;
    return gap > NO_END ? NO_END : (dw_money)gap;
}

static bool split_dealing(struct market_search *s, const struct dw_branch_node *node, size_t c)
{
    struct dw_branch_node *none = new_node(&s->market, node), *some = new_node(&s->market, node);
    if (none) {
        none->range[c] = (struct dw_range){.dealing = DW_DEALING_NONE, .to = NO_END};
        for (size_t k = 0; k < s->market.n_wares; k++)
            if (s->market.wares[k].seller == c)
                none->hi[k] = 0;
    }
    if (some)
        some->range[c] = (struct dw_range){.dealing = DW_DEALING_SOME, .to = NO_END};
    bool ok = push(s, none);
    return push(s, some) && ok;
}

/* A threshold within the range, that nearest to the goods; 0: there is none. */
static dw_money threshold_of(const struct market_search *s, const struct dw_branch_node *node,
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

static bool split_range(struct market_search *s, const struct dw_branch_node *node, size_t c,
                        dw_money at)
{
    struct dw_branch_node *below = new_node(&s->market, node), *above = new_node(&s->market, node);
    if (below) {
        below->range[c].to = at - 1;
        below->range[c].slope = 0;
    }
    if (above) {
        above->range[c].from = at;
        above->range[c].slope = 0;
    }
    bool ok = push(s, below);
    return push(s, above) && ok;
}

/* Up to at - pack bars of the ware, or at and more. */
static bool split_ware(struct market_search *s, const struct dw_branch_node *node, size_t k,
                       int64_t at)
{
    struct dw_branch_node *fewer = new_node(&s->market, node), *more = new_node(&s->market, node);
    if (fewer)
        fewer->hi[k] = at - s->market.wares[k].pack;
    if (more)
        more->lo[k] = at;
    bool ok = push(s, fewer);
    return push(s, more) && ok;
}

/* The first lot of the next price that is not reached yet, within the node; 0: there is none. */
static int64_t next_price(const struct market_search *s, const struct dw_branch_node *node, size_t k)
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

static bool is_underpriced(const struct market_search *s, const struct dw_branch_node *node,
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
static bool split_wares(struct market_search *s, const struct dw_branch_node *node, size_t c,
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
        if (dearest == DW_NONE || s->now.price[k] * m->wares[k].pack >
                                      s->now.price[dearest] * m->wares[dearest].pack)
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

static bool split_seller(struct market_search *s, const struct dw_branch_node *node, size_t c,
                         bool *split)
{
    *split = true;
    if (node->range[c].dealing == DW_DEALING_OPEN)
        return split_dealing(s, node, c);
    dw_money at = node->range[c].dealing == DW_DEALING_SOME ? threshold_of(s, node, c) : 0;
    return at > 0 ? split_range(s, node, c, at) : split_wares(s, node, c, split);
}

/* By the seller whose line is furthest from its charges, or else by the next one that can be. */
static bool split_node(struct market_search *s, const struct dw_branch_node *node, bool *split)
{
    const size_t n = s->market.n_sellers;
    dw_money last = INT64_MAX;
    *split = false;
    for (size_t tried = 0; tried < n && !*split; tried++) {
        size_t widest = DW_NONE;
        dw_money gap = 0;
        for (size_t c = 0; c < n; c++) {
            dw_money here = gap_of(s, node, c);
            if (here > gap && here < last) {
                gap = here;
                widest = c;
            }
        }
        if (widest == DW_NONE || (gap < s->now.open && gap < NO_END))
            return true;
        last = gap;
        if (!split_seller(s, node, widest, split))
            return false;
    }
    return true;
}

/* --- the search --------------------------------------------------------------------------- */

/* Takes the node. */
static dw_err solve_node(struct market_search *s, struct dw_branch_node *node)
{
    bool split = false;
    dw_err code = reckon_best(s, node);
    if (code == DW_OK && s->now.possible && s->now.bounded && s->now.bound > node->bound)
        node->bound = s->now.bound;
    bool done = code != DW_OK || !s->now.possible || (s->has_best && node->bound >= s->best);
    if (!done && s->now.bounded && !s->effort->stopped && !split_node(s, node, &split))
        code = dw_error__nomem(s->error);
    if (done || split || code != DW_OK)
        free_node(node);
    else if (!put_aside(s, node))
        code = dw_error__nomem(s->error);
    return code;
}

/* Line through nothing ordered and below all charges: floor(min charge / goods). */
static int64_t first_slope(const struct market_search *s, const struct dw_branch_node *node,
                           size_t c)
{
    const struct dw_seller *seller = &s->market.sellers[c];
    const struct dw_span span = dw_span__of(&s->market, node, c);
    const dw_money at[] = {seller->terms->minimum, seller->terms->small_under,
                           seller->terms->freight_free, span.most};
    int64_t least = INT64_MAX;
    for (size_t i = 0; i < DW_COUNT(at); i++) {
        int64_t slope = 0;
        if (at[i] > 0 && at[i] <= span.most &&
            dw_muldiv__i64(dw_seller__charge(seller, at[i]), DW_PPM_ONE, at[i], &slope) &&
            slope < least)
            least = slope;
    }
    return least == INT64_MAX ? 0 : least;
}

static struct dw_branch_node *make_root(const struct market_search *s)
{
    const struct dw_market *m = &s->market;
    struct dw_branch_node *root = new_node(m, NULL);
    if (!root)
        return NULL;
    root->bound = -NO_END;
    for (size_t k = 0; k < m->n_wares; k++)
        root->hi[k] = m->wares[k].most;
    for (size_t c = 0; c < m->n_sellers; c++) {
        root->range[c] = (struct dw_range){.dealing = m->sellers[c].fittings.any ? DW_DEALING_SOME
                                                                                 : DW_DEALING_OPEN,
                                           .to = NO_END};
        if (root->range[c].dealing == DW_DEALING_OPEN)
            root->range[c].slope = first_slope(s, root, c);
    }
    return root;
}

/* Sets are planned longer, and the nodes that wait for it are open again. */
static dw_err go_on(struct market_search *s)
{
    dw_err code = DW_OK;
    s->slice *= SLICE_GROWS;
    const size_t n = s->n_aside;
    s->n_aside = 0;
    for (size_t i = 0; i < n; i++)
        if (!push(s, s->aside[i]))
            code = dw_error__nomem(s->error);
    return code;
}

static dw_err search(struct market_search *s)
{
    dw_err code = DW_OK;
    do {
        while (code == DW_OK && s->n_open > 0 && !s->effort->stopped &&
               (!s->has_best || s->open[0]->bound < s->best))
            code = solve_node(s, pop(s));
        if (code != DW_OK || s->n_aside == 0 || s->effort->stopped || s->wish->greedy_only)
            return code;
        code = go_on(s);
    } while (code == DW_OK && s->slice < NO_END / SLICE_GROWS);
    return code;
}

static dw_money least_bound(const struct market_search *s)
{
    dw_money bound = s->best;
    for (size_t i = 0; i < s->n_open; i++)
        bound = s->open[i]->bound < bound ? s->open[i]->bound : bound;
    for (size_t i = 0; i < s->n_aside; i++)
        bound = s->aside[i]->bound < bound ? s->aside[i]->bound : bound;
    return bound;
}

/* --- what comes of it --------------------------------------------------------------------- */

/* Layouts of the best plan; their pieces go along in the plans that own them. */
static dw_err hand_over(struct market_search *s, size_t group, struct dw_ordered *out)
{
    size_t n = 0;
    for (size_t i = 0; i < s->market.n_sets; i++)
        n += s->best_sets[i]->layouts.n;
    out->layouts.layouts = calloc(n + 1, sizeof *out->layouts.layouts);
    if (!out->layouts.layouts || dw_plan_new(&out->scratch, s->error) != DW_OK)
        return dw_error__nomem(s->error);
    out->layouts.capacity = n + 1;
    for (size_t i = 0; i < s->market.n_sets; i++)
        for (size_t u = 0; u < s->best_sets[i]->layouts.n; u++) {
            struct dw_layout layout = s->best_sets[i]->layouts.layouts[u];
            struct dw_piece *pieces =
                dw_plan_alloc(out->scratch, layout.n_pieces, sizeof *pieces);
            if (!pieces)
                return dw_error__nomem(s->error);
            memcpy(pieces, layout.pieces, layout.n_pieces * sizeof *pieces);
            layout.pieces = pieces;
            layout.group = group;
            out->layouts.layouts[out->layouts.n++] = layout;
        }
    out->used = true;
    out->method = "orders, branch and bound";
    out->value = s->best;
    out->bound = least_bound(s);
    out->bounded = out->bound > -NO_END;
    out->finished = out->bounded && out->bound == out->value;
    return DW_OK;
}

static bool make_reckoned(const struct dw_market *m, struct reckoned *r)
{
    r->sets = dw_arena__alloc(m->arena, m->n_sets, sizeof(struct dw_priced *));
    r->bought = dw_arena__alloc(m->arena, m->n_wares, sizeof *r->bought);
    r->price = dw_arena__alloc(m->arena, m->n_wares, sizeof *r->price);
    r->rest = dw_arena__alloc(m->arena, m->n_sellers, sizeof *r->rest);
    r->excess = dw_arena__alloc(m->arena, m->n_sellers, sizeof *r->excess);
    return r->sets && r->bought && r->price && r->rest && r->excess;
}

static bool make(struct market_search *s)
{
    struct dw_arena *arena = s->market.arena;
    s->best_sets = dw_arena__alloc(arena, s->market.n_sets, sizeof(struct dw_priced *));
    s->eff_lo = dw_arena__alloc(arena, s->market.n_wares, sizeof *s->eff_lo);
    return s->best_sets && s->eff_lo && make_reckoned(&s->market, &s->now) &&
           make_reckoned(&s->market, &s->then) && push(s, make_root(s));
}

static void unmake(struct market_search *s)
{
    for (size_t i = 0; i < s->n_open; i++)
        free_node(s->open[i]);
    for (size_t i = 0; i < s->n_aside; i++)
        free_node(s->aside[i]);
    free(s->open);
    free(s->aside);
    dw_priced_list__free(&s->plans);
    dw_arena__free(s->market.arena);
}

dw_err dw_ordered__group(const struct dw_job *job, const size_t *group_of, size_t group,
                         const struct dw_wish *wish, struct dw_effort *effort,
                         struct dw_ordered *out, struct dw_error *error)
{
    const struct dw_wish exact = {.greedy_only = wish->greedy_only};
    struct market_search s = {
        .wish = &exact, .effort = effort, .error = error, .slice = FIRST_SLICE};
    *out = (struct dw_ordered){0};
    struct dw_arena *arena = dw_arena__new();
    if (!arena)
        return dw_error__nomem(error);
    dw_err code = dw_market__make(job, group_of, group, arena, &s.market, error);
    if (code == DW_OK && !make(&s))
        code = dw_error__nomem(error);
    if (code == DW_OK)
        code = search(&s);
    if (code == DW_OK && s.has_best)
        code = hand_over(&s, group, out);
    s.market.arena = arena;
    unmake(&s);
    return code;
}

void dw_ordered__free(struct dw_ordered *ordered)
{
    free(ordered->layouts.layouts);
    dw_plan_free(ordered->scratch);
    *ordered = (struct dw_ordered){0};
}
