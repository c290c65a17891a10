/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much is best bought of what one supplier sells, for what is cut of it. */
#include "base/base.h"
#include "model/charges.h"

#include <stdlib.h>

/* Ways that are kept from supply to supply. Those that another is sure to beat are not among them.
 */
#define MAX_WAYS ((size_t)2048)
/* Lots of one supply that are tried. */
#define MAX_LOTS ((int64_t)4096)

/* What is bought of the first supplies. */
struct way {
    dw_money goods; /* fittings included; at most the highest threshold, past which all is alike */
    int64_t cuts;
    dw_money net; /* what the bars cost, less what those for the shelf are worth */
    int64_t bars;
    size_t before; /* way of the supplies before the last */
    int64_t lot;   /* of the last supply */
};

struct layer {
    size_t n, capacity;
    struct way *ways; /* length n */
};

struct choice {
    const struct dw_buy *buy;
    const struct dw_supplier *terms;
    dw_money highest;
    dw_money best;        /* money of the best order so far */
    struct layer *layers; /* length n + 1 */
    bool overflow;
};

/* --- lots --------------------------------------------------------------------------------- */

/* The least number of bars from which on neither a threshold nor a price break is left to reach. */
static int64_t last_lot(const struct choice *c, size_t k)
{
    const struct dw_supply *supply = &c->buy->job->supplies[c->buy->supplies[k]];
    int64_t last = c->buy->used[k];
    dw_money price = supply->price;
    if (supply->n_breaks > 0) {
        price = supply->breaks[supply->n_breaks - 1].price;
        int64_t from = supply->breaks[supply->n_breaks - 1].from;
        last = from > last && (c->buy->used[k] > 0 || c->highest > 0) ? from : last;
    }
    if (price > 0 && c->highest > 0) {
        int64_t reach = dw_ceil__div(c->highest, price);
        last = reach > last ? reach : last;
    }
    last = dw_supply__packed(supply, last);
    if (supply->count != DW_UNLIMITED && last > supply->count)
        last = supply->count / supply->pack * supply->pack;
    return last;
}

/* --- ways --------------------------------------------------------------------------------- */

/* a is sure to be as good as b: charges do not grow with the goods, nor fall with the cuts. */
static bool beats(const struct way *a, const struct way *b)
{
    return a->goods >= b->goods && a->cuts <= b->cuts &&
           (a->net != b->net ? a->net < b->net : a->bars <= b->bars);
}

static int compare_ways(const void *a, const void *b)
{
    const struct way *x = a, *y = b;
    if (x->net != y->net)
        return x->net < y->net ? -1 : 1;
    if (x->bars != y->bars)
        return x->bars < y->bars ? -1 : 1;
    if (x->goods != y->goods)
        return x->goods > y->goods ? -1 : 1;
    if (x->cuts != y->cuts)
        return x->cuts < y->cuts ? -1 : 1;
    if (x->before != y->before)
        return x->before < y->before ? -1 : 1;
    return (x->lot > y->lot) - (x->lot < y->lot);
}

/* Drops the ways that others beat. Cost: O(ways x those that stay). */
static void thin(struct layer *layer)
{
    size_t n = 0;
    if (layer->n > 0)
        qsort(layer->ways, layer->n, sizeof *layer->ways, compare_ways);
    for (size_t i = 0; i < layer->n; i++) {
        bool beaten = false;
        for (size_t j = n; j-- > 0 && !beaten;)
            beaten = beats(&layer->ways[j], &layer->ways[i]);
        if (!beaten)
            layer->ways[n++] = layer->ways[i];
    }
    layer->n = n > MAX_WAYS ? MAX_WAYS : n;
}

/* The least that an order with this way can come to. */
static dw_money least_of(struct choice *c, const struct way *way)
{
    struct dw_charge charge;
    dw_money sum = 0;
    if (!dw_charges__of(c->terms, c->highest, way->cuts, &charge) ||
        !dw_add__i64(way->net, dw_charge_sum(&charge), &sum))
        c->overflow = true;
    return sum;
}

static bool add_way(struct choice *c, size_t k, size_t before, int64_t lot)
{
    const struct dw_supply *supply = &c->buy->job->supplies[c->buy->supplies[k]];
    const struct way *from = &c->layers[k].ways[before];
    struct layer *to = &c->layers[k + 1];
    dw_money money = 0, worth = 0;
    int64_t extra = lot - dw_supply__packed(supply, c->buy->used[k]), cuts = 0;
    struct way way = *from;
    way.before = before;
    way.lot = lot;
    if (!dw_supply__lot(supply, lot, &money) || !dw_mul__i64(c->buy->worth[k], extra, &worth) ||
        !dw_mul__i64(lot / supply->pack, c->terms->cuts_a_pack, &cuts) ||
        !dw_add__i64(way.cuts, cuts, &way.cuts) || !dw_add__i64(way.goods, money, &way.goods) ||
        !dw_add__i64(way.net, money - worth, &way.net)) {
        c->overflow = true;
        return true;
    }
    way.bars += lot;
    if (way.goods > c->highest)
        way.goods = c->highest;
    if (least_of(c, &way) > c->best)
        return true;
    if (to->n >= 16 * MAX_WAYS)
        thin(to);
    if (!dw_array__grow(&to->ways, &to->capacity, to->n + 1, sizeof *to->ways))
        return false;
    to->ways[to->n++] = way;
    return true;
}

/* Whether more bars than this lot can be of use to the way. */
static bool may_grow(const struct choice *c, size_t k, size_t before, int64_t lot, int64_t last)
{
    const struct dw_supply *supply = &c->buy->job->supplies[c->buy->supplies[k]];
    dw_money money = 0;
    return lot < last && (supply->n_breaks > 0 || !dw_supply__lot(supply, lot, &money) ||
                          c->layers[k].ways[before].goods + money < c->highest);
}

static bool add_supply(struct choice *c, size_t k)
{
    const struct dw_supply *supply = &c->buy->job->supplies[c->buy->supplies[k]];
    const int64_t least = dw_supply__packed(supply, c->buy->used[k]), last = last_lot(c, k);
    for (size_t w = 0; w < c->layers[k].n && !c->overflow; w++) {
        int64_t lot = least;
        for (int64_t tries = 0; tries < MAX_LOTS; tries++) {
            if (!add_way(c, k, w, lot))
                return false;
            if (!may_grow(c, k, w, lot, last))
                break;
            lot += supply->pack;
        }
    }
    thin(&c->layers[k + 1]);
    return true;
}

/* --- the order ---------------------------------------------------------------------------- */

/* Money of an order with these lots; *charge and *bars say what it is made of. */
static bool sum_order(struct choice *c, const int64_t *bought, dw_money *bars,
                      struct dw_charge *charge, dw_money *sum)
{
    const struct dw_buy *buy = c->buy;
    dw_money goods = buy->fittings.goods, spare = 0;
    int64_t cuts = 0, n = 0;
    bool ok = true;
    *bars = 0;
    for (size_t k = 0; k < buy->n && ok; k++) {
        const struct dw_supply *supply = &buy->job->supplies[buy->supplies[k]];
        int64_t extra = bought[k] - dw_supply__packed(supply, buy->used[k]), some = 0;
        dw_money money = 0, worth = 0;
        ok = dw_supply__lot(supply, bought[k], &money) && dw_add__i64(*bars, money, bars) &&
             dw_mul__i64(extra, buy->worth[k], &worth) && dw_add__i64(spare, worth, &spare) &&
             dw_mul__i64(bought[k] / supply->pack, c->terms->cuts_a_pack, &some) &&
             dw_add__i64(cuts, some, &cuts);
        n += bought[k] > 0;
    }
    ok = ok && dw_add__i64(goods, *bars, &goods) && dw_charges__of(c->terms, goods, cuts, charge);
    if (ok && n == 0 && !buy->fittings.any)
        *charge = (struct dw_charge){0};
    charge->spare = spare;
    ok = ok && dw_add__i64(*bars - spare, dw_charge_sum(charge), sum);
    c->overflow = c->overflow || !ok;
    return ok;
}

static void read_lots(const struct choice *c, size_t way, int64_t *bought)
{
    for (size_t k = c->buy->n; k-- > 0;) {
        bought[k] = c->layers[k + 1].ways[way].lot;
        way = c->layers[k + 1].ways[way].before;
    }
}

/* Bars that are cut, in whole packs: the order to beat. */
static bool begin(struct choice *c, int64_t *bought)
{
    struct dw_charge charge;
    dw_money bars = 0;
    for (size_t k = 0; k < c->buy->n; k++)
        bought[k] = dw_supply__packed(&c->buy->job->supplies[c->buy->supplies[k]], c->buy->used[k]);
    c->layers[0].ways = calloc(1, sizeof *c->layers[0].ways);
    if (!c->layers[0].ways)
        return false;
    c->layers[0].n = 1;
    c->layers[0].ways[0].goods =
        c->buy->fittings.goods < c->highest ? c->buy->fittings.goods : c->highest;
    sum_order(c, bought, &bars, &charge, &c->best);
    return true;
}

static bool choose(struct choice *c, int64_t *bought, int64_t *lots)
{
    const size_t n = c->buy->n;
    bool ok = begin(c, bought);
    for (size_t k = 0; ok && k < n && !c->overflow; k++)
        ok = add_supply(c, k);
    dw_money best = c->best;
    int64_t fewest = 0;
    for (size_t k = 0; ok && k < n; k++)
        fewest += bought[k];
    for (size_t w = 0; ok && !c->overflow && w < c->layers[n].n; w++) {
        const int64_t n_bars = c->layers[n].ways[w].bars;
        struct dw_charge charge;
        dw_money bars = 0, sum = 0;
        read_lots(c, w, lots);
        if (!sum_order(c, lots, &bars, &charge, &sum) || sum > best ||
            (sum == best && n_bars >= fewest))
            continue;
        best = sum;
        fewest = n_bars;
        for (size_t k = 0; k < n; k++)
            bought[k] = lots[k];
    }
    return ok;
}

dw_err dw_buy__choose(const struct dw_buy *buy, int64_t *bought, dw_money *bars,
                      struct dw_charge *charge, struct dw_error *error)
{
    struct choice c = {.buy = buy,
                       .terms = &buy->job->suppliers[buy->supplier],
                       .highest = dw_supplier__highest(&buy->job->suppliers[buy->supplier])};
    dw_money sum = 0;
    int64_t *lots = calloc(buy->n + 1, sizeof *lots);
    c.layers = calloc(buy->n + 1, sizeof *c.layers);
    bool nothing = !buy->fittings.any, ok = lots && c.layers;
    for (size_t k = 0; k < buy->n; k++)
        nothing = nothing && buy->used[k] == 0;
    for (size_t k = 0; nothing && k < buy->n; k++)
        bought[k] = 0;
    if (ok && !nothing)
        ok = choose(&c, bought, lots);
    if (ok)
        sum_order(&c, bought, bars, charge, &sum);
    for (size_t k = 0; c.layers && k <= buy->n; k++)
        free(c.layers[k].ways);
    free(c.layers);
    free(lots);
    if (!ok)
        return dw_error__nomem(error);
    return c.overflow
               ? dw_error__set(error, DW_ERR_RANGE, "an order for more money than can be counted")
               : DW_OK;
}
