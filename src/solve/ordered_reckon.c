/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a node of the search over what is bought comes to: the sets' bounds at the prices that lines
 * below the charges make, and which lines serve best. */
#include "solve/ordered_core.h"

#include <math.h>

#define SLOPE_GAIN 0.0002 /* of the bound, that a further slope has to promise */

bool dw_market__is_fixed(const struct dw_market *m, const struct dw_branch_node *node,
                         size_t seller)
{
    for (size_t k = 0; k < m->n_wares; k++)
        if (m->wares[k].seller == seller && node->lo[k] < node->hi[k])
            return false;
    return true;
}

/* Whether something can be ordered of the seller. */
static bool can_order(const struct dw_market *m, const struct dw_branch_node *node, size_t seller)
{
    bool can = m->sellers[seller].fittings.any;
    for (size_t k = 0; k < m->n_wares; k++)
        can = can || (m->wares[k].seller == seller && node->hi[k] > 0);
    return can;
}

/* Prices of the wares, and what is paid for bars that are bought anyhow. */
static dw_wide set_prices(struct dw_market_search *s, const struct dw_branch_node *node,
                          struct dw_reckoned *r)
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
        r->price[k] = price > DW_NO_END ? DW_NO_END : (dw_money)price;
        s->eff_lo[k] = r->price[k] < ware->worth ? node->hi[k] : node->lo[k];
        sum += (dw_wide)(r->price[k] - ware->worth) * s->eff_lo[k];
    }
    return sum;
}

/* What the slope makes of the fittings, rounded down. */
dw_wide dw_seller__on_fittings(const struct dw_seller *seller, const struct dw_range *range)
{
    dw_wide money = (dw_wide)range->slope * seller->fittings.goods;
    return (money - (money < 0 ? DW_PPM_ONE - 1 : 0)) / DW_PPM_ONE;
}

/* The rests of the lines. Answers whether there are such orders. */
static bool set_rests(const struct dw_market_search *s, struct dw_branch_node *node,
                      struct dw_reckoned *r, dw_wide *sum)
{
    const struct dw_market *m = &s->market;
    for (size_t c = 0; c < m->n_sellers; c++) {
        const struct dw_seller *seller = &m->sellers[c];
        const struct dw_span span = dw_span__of(m, node, c);
        if (dw_market__is_fixed(m, node, c))
            node->range[c].slope = node->range[c].cut_slope = 0;
        if (node->range[c].dealing == DW_DEALING_SOME && !can_order(m, node, c))
            return false;
        if (!dw_range__touch(seller, &node->range[c], &span, &r->touch[c]))
            return false;
        *sum += r->touch[c].rest + dw_seller__on_fittings(seller, &node->range[c]);
    }
    return true;
}

/* What is bought when the sets' plans are followed. */
static void set_bought(const struct dw_market_search *s, const struct dw_branch_node *node,
                       struct dw_reckoned *r)
{
    const struct dw_market *m = &s->market;
    for (size_t c = 0; c < m->n_sellers; c++)
        r->goods[c] = (double)m->sellers[c].fittings.goods;
    for (size_t k = 0; k < m->n_wares; k++) {
        const struct dw_ware *ware = &m->wares[k];
        const struct dw_supply *supply = &m->job->supplies[ware->supply];
        int64_t used = 0;
        for (size_t i = 0; i < m->n_sets; i++)
            used += r->sets[i]->used[k];
        used = dw_supply__packed(supply, used);
        r->bought[k] = used > s->eff_lo[k] ? used : s->eff_lo[k];
        r->goods[ware->seller] +=
            (double)dw_ware__lowest(m, ware, node->lo[k], node->hi[k]) * (double)r->bought[k];
    }
}

static dw_err reckon(struct dw_market_search *s, struct dw_branch_node *node, struct dw_reckoned *r)
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
    r->bound = sum > DW_NO_END ? DW_NO_END : sum < -DW_NO_END ? -DW_NO_END : (dw_money)sum;
    set_bought(s, node, r);
    return dw_market__offer(s, r->sets);
}

static void swap(struct dw_market_search *s)
{
    struct dw_reckoned other = s->now;
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

/* Goods beyond where the line touches the charges, on either side. */
static double excess_of(const struct dw_reckoned *r, size_t c)
{
    if (r->goods[c] > (double)r->touch[c].to)
        return r->goods[c] - (double)r->touch[c].to;
    if (r->goods[c] < (double)r->touch[c].from)
        return r->goods[c] - (double)r->touch[c].from;
    return 0;
}

/* One end of what is known of the bound as a concave function of a slope. */
struct end {
    int64_t slope;
    double bound, excess;
};

/* Reckons the node with another slope; s->now is the better of both then. */
static dw_err try_slope(struct dw_market_search *s, struct dw_branch_node *node, size_t c,
                        int64_t slope, struct end *end)
{
    const int64_t before = node->range[c].slope;
    node->range[c].slope = slope;
    dw_err code = reckon(s, node, &s->then);
    *end = (struct end){slope, (double)s->then.bound, excess_of(&s->then, c)};
    if (code == DW_OK && s->then.possible && s->then.bounded && s->then.bound > s->now.bound)
        swap(s);
    else if (code == DW_OK && s->then.possible)
        node->range[c].slope = before;
    else
        s->now.possible = s->then.possible;
    return code;
}

static bool is_done(const struct dw_market_search *s)
{
    return s->effort->stopped || !s->now.possible || !s->now.bounded ||
           (s->has_best && s->now.bound >= s->best);
}

/* The slope of the edge of the charges below the goods that were asked for; beyond the edges, as
 * steep as bars for the shelf allow, or a tenth more. */
static int64_t next_slope(const struct dw_market_search *s, const struct dw_branch_node *node,
                          size_t c, const struct end *a)
{
    const struct dw_span span = dw_span__of(&s->market, node, c);
    int64_t slope = 0;
    if (dw_range__slope(&s->market.sellers[c], &node->range[c], &span, (dw_money)s->now.goods[c],
                        &slope) &&
        (a->excess < 0 ? slope < a->slope : slope > a->slope))
        return slope;
    if (a->excess > 0)
        return a->slope + DW_PPM_ONE / 10;
    slope = least_slope(&s->market, node, c);
    return slope < a->slope ? slope : a->slope;
}

/* Where two tangents of the bound meet. */
static int64_t crossing(const struct end *a, const struct end *b, double *bound)
{
    const double one = (double)DW_PPM_ONE;
    double at = (b->bound - a->bound +
                 (a->excess * (double)a->slope - b->excess * (double)b->slope) / one) *
                one / (a->excess - b->excess);
    *bound = a->bound + a->excess * (at - (double)a->slope) / one;
    return (int64_t)floor(at);
}

/* The bound is concave in the slope, and goods beyond where the line touches say which way it
 * rises. */
static dw_err find_slope(struct dw_market_search *s, struct dw_branch_node *node, size_t c)
{
    struct end a = {node->range[c].slope, (double)s->now.bound, excess_of(&s->now, c)}, b = a;
    dw_err code = DW_OK;
    for (int round = 0; code == DW_OK && round < 7 && a.excess != 0 && !is_done(s); round++) {
        const bool beyond = b.slope != a.slope;
        const double best = (double)s->now.bound;
        double most = INFINITY; /* what the bound can come to */
        int64_t slope = beyond ? crossing(&a, &b, &most) : next_slope(s, node, c, &a);
        struct end next;
        if (slope == a.slope || slope == b.slope || slope < -DW_PPM_ONE ||
            most - best < SLOPE_GAIN * fabs(best))
            break;
        code = try_slope(s, node, c, slope, &next);
        if (next.excess == 0)
            break;
        if ((next.excess < 0) == (a.excess < 0))
            a = next;
        else
            b = next;
    }
    return code;
}

/* The line for cuts: level, or as steep as each cut beyond the free ones. */
static dw_err find_cut_slope(struct dw_market_search *s, struct dw_branch_node *node, size_t c)
{
    const struct dw_market *m = &s->market;
    const struct dw_supplier *terms = m->sellers[c].terms;
    int64_t cuts = 0;
    for (size_t k = 0; k < m->n_wares; k++)
        if (m->wares[k].seller == c)
            cuts += s->now.bought[k] / m->wares[k].pack * terms->cuts_a_pack;
    if (terms->cut_charge == 0 || terms->cuts_a_pack == 0 || cuts <= terms->cuts_free ||
        node->range[c].cut_slope > 0 || dw_market__is_fixed(m, node, c))
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
dw_err dw_market__reckon(struct dw_market_search *s, struct dw_branch_node *node)
{
    dw_err code = reckon(s, node, &s->now);
    for (size_t c = 0; code == DW_OK && c < s->market.n_sellers && !is_done(s); c++) {
        if (node->range[c].dealing == DW_DEALING_NONE || dw_market__is_fixed(&s->market, node, c))
            continue;
        code = find_cut_slope(s, node, c);
        if (code == DW_OK && !is_done(s))
            code = find_slope(s, node, c);
    }
    return code;
}
