/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The certificate of struct dw_certificate: duals of parts and posts alone, the limits of supply
 * folded into the largest value of a layout of each stock. */
#include "solve/lp/certify.h"

#include <stdlib.h>
#include <string.h>

static bool keep(const struct dw_problem *p, const int64_t *item, int64_t scale, dw_money bound,
                 struct dw_certified *out)
{
    if (out->scale > 0 && bound <= out->bound)
        return true;
    if (!out->item)
        out->item = dw_arena__alloc(p->arena, p->n_items, sizeof *out->item);
    if (!out->item)
        return false;
    memcpy(out->item, item, p->n_items * sizeof *item);
    out->scale = scale;
    out->bound = bound;
    return true;
}

/* sum y d - sum u_k max(0, z_k), z_k from the tables. *late: given up. */
static bool evaluate(struct dw_master *master, const struct dw_prices *prices,
                     const struct dw_relax *relax, dw_money *bound, bool *late)
{
    const struct dw_problem *p = master->problem;
    dw_wide sum = 0;
    int64_t work = 0;
    for (size_t i = 0; i < p->n_items; i++)
        sum += (dw_wide)prices->item[i] * p->items[i].count;
    for (size_t q = 0; q < p->n_kinds; q++) {
        enum dw_load how = dw_pricer__load(master->pricer, prices, q, master->effort, &work);
        *late = how == DW_LOAD_LATE;
        if (how != DW_LOAD_DONE)
            return *late;
        for (size_t k = 0; k < p->n_stocks; k++) {
            *late = dw_effort__late(master->effort);
            if (*late)
                return true;
            int64_t best = p->stocks[k].kind == q ? dw_pricer__best(master->pricer, k) : 0;
            if (best > 0)
                sum -= (dw_wide)best * p->stocks[k].certain;
        }
    }
    dw_effort__spend(master->effort, work / 1000);
    *bound = dw_relax__round(p->stated, sum, prices->scale, relax->base);
    return true;
}

static bool certify(struct dw_master *master, const struct dw_relax *relax, int64_t *item,
                    int64_t scale, struct dw_certified *out)
{
    const struct dw_problem *p = master->problem;
    int64_t *stock = calloc(p->n_stocks + 1, sizeof *stock);
    struct dw_prices prices = {
        .scale = scale, .item = item, .stock = stock, .bar = relax->bar, .demand = relax->demand};
    dw_money bound = 0;
    bool late = false;
    bool ok = stock && evaluate(master, &prices, relax, &bound, &late) &&
              (late || keep(p, item, scale, bound, out));
    free(stock);
    return ok;
}

bool dw_certify__relaxed(struct dw_master *master, const struct dw_relax *relax,
                         const struct dw_relaxed *relaxed, struct dw_certified *out)
{
    const struct dw_problem *p = master->problem;
    bool same = true;
    for (size_t i = 0; i < p->n_items; i++)
        same = same && (p->items[i].post || relaxed->prices.item[i] >= 0);
    for (size_t k = 0; k < p->n_stocks; k++)
        same = same && p->stocks[k].certain == p->stocks[k].count;
    if (same)
        return keep(p, relaxed->prices.item, relaxed->prices.scale,
                    dw_relax__round(p->stated, relaxed->numer, relaxed->prices.scale, relax->base),
                    out);
    int64_t *item = calloc(p->n_items + 1, sizeof *item);
    if (!item)
        return false;
    for (size_t i = 0; i < p->n_items; i++) {
        item[i] = relaxed->prices.item[i];
        if (!p->items[i].post && item[i] < 0)
            item[i] = 0;
    }
    bool ok = certify(master, relax, item, relaxed->prices.scale, out);
    free(item);
    return ok;
}

bool dw_certify__material(struct dw_master *master, const struct dw_relax *relax,
                          struct dw_certified *out)
{
    const struct dw_problem *p = master->problem;
    int64_t scale = INT64_C(1) << 12;
    int64_t *item = calloc(p->n_items + 1, sizeof *item);
    if (!item)
        return false;
    for (size_t i = 0; i < p->n_items; i++) {
        const struct dw_item *it = &p->items[i];
        dw_wide least = -1;
        for (size_t k = 0; k < p->n_stocks && !it->post; k++) {
            const struct dw_bar_stock *s = &p->stocks[k];
            dw_wide rate = ((dw_wide)s->price * it->size << 12) / (s->cap > 0 ? s->cap : 1);
            least = least < 0 || rate < least ? rate : least;
        }
        item[i] = it->post ? -it->worth * scale : least > 0 ? (int64_t)least : 0;
    }
    bool ok = certify(master, relax, item, scale, out);
    free(item);
    return ok;
}
