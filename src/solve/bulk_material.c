/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tube alone costs: every piece at the money a length of the dearest stock that is needed when
 * the cheapest is used up first, the dual solution of the relaxation that only counts lengths
 * (Gilmore, Gomory 1961, their first bound). With lambda = c_b / C_b of that stock b,
 *
 *   y_i = lambda size_i + cut,   value(a) = lambda (C_k - x) - c'_k + phi(r) + [x = 0] cut
 *
 * for a layout a of stock k that leaves x, c'_k its price and squaring cuts. phi(r) <= rho r makes
 * that convex in x, so that it is greatest where nothing is cut or nothing is left:
 *
 *   z_k <= max(lambda C_k - c_k, rho U_k - c'_k),   c_k = c'_k - cut, or c'_k - rho grip. */
#include "solve/bulk_group.h"

#include <stdlib.h>

/* rho = num / den */
struct slope {
    dw_wide num, den;
};

struct source {
    size_t stock;
    dw_money cost; /* c_k */
    int64_t cap;
};

static struct slope lesser(struct slope a, struct slope b)
{
    return a.num * b.den < b.num * a.den ? a : b;
}

/* phi(r) <= rho r */
static struct slope steepest_worth(const struct dw_problem *p)
{
    const struct dw_kind *kind = &p->kinds[0];
    const struct dw_worth *worth = &p->job->materials[kind->material].worth;
    struct slope most = {0, 1}, cap = {kind->cap_num, kind->cap_den};
    if (worth->kind == DW_WORTH_SHARE && kind->cap_den > 0)
        return cap; /* of which it is a share */
    if (worth->kind == DW_WORTH_RATE)
        most = (struct slope){worth->rate, worth->per};
    for (size_t i = 0; worth->kind == DW_WORTH_CLASSES && i < worth->n_classes; i++) {
        int64_t from = worth->classes[i].from > worth->keep ? worth->classes[i].from : worth->keep;
        if (worth->classes[i].worth * most.den > most.num * from)
            most = (struct slope){worth->classes[i].worth, from};
    }
    return kind->cap_den > 0 ? lesser(most, cap) : most;
}

static dw_wide ceil_of(dw_wide num, dw_wide den)
{
    return (num + den - 1) / den;
}

static int compare_sources(const void *a, const void *b)
{
    const struct source *x = a, *y = b;
    dw_wide left = (dw_wide)x->cost * y->cap, right = (dw_wide)y->cost * x->cap;
    if (left != right)
        return left < right ? -1 : 1;
    return (x->stock > y->stock) - (x->stock < y->stock);
}

/* The stocks that a piece fits, by money a length. */
static size_t list_sources(const struct dw_problem *p, struct slope rho, struct source *sources)
{
    size_t n = 0;
    dw_wide gain = p->grip > 0 ? ceil_of(rho.num * p->grip, rho.den) : p->cut_cost;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_stock *stock = &p->stocks[k];
        if (stock->cap >= p->items[p->n_items - 1].size)
            sources[n++] =
                (struct source){k, (dw_money)(stock->price + stock->fixed - gain), stock->cap};
    }
    qsort(sources, n, sizeof *sources, compare_sources);
    return n;
}

/* The source that covers the last of the demand, the cheaper ones used up. */
static const struct source *marginal(const struct dw_problem *p, const struct source *sources,
                                     size_t n)
{
    dw_wide wanted = 0;
    for (size_t i = 0; i < p->n_items; i++)
        wanted += (dw_wide)p->items[i].size * p->items[i].count;
    for (size_t s = 0; s < n; s++) {
        const struct dw_stock *stock = &p->stocks[sources[s].stock];
        wanted -= (dw_wide)stock->certain * stock->cap;
        if (!stock->limited || wanted <= 0)
            return &sources[s];
    }
    return n > 0 ? &sources[n - 1] : NULL;
}

#define VALUE_MAX ((dw_wide)1 << 60)

/* A scale at which no value of a bar passes 2^60; 0 if there is none. */
static int64_t choose_scale(const struct dw_problem *p, struct slope rho, const struct source *b)
{
    dw_wide most = p->cut_cost > rho.num ? p->cut_cost : rho.num;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_stock *stock = &p->stocks[k];
        dw_wide tube = ceil_of((dw_wide)b->cost * stock->cap, b->cap);
        dw_wide kept = ceil_of(rho.num * stock->cap, rho.den);
        dw_wide price = stock->price + stock->fixed;
        most = tube > most ? tube : most;
        most = kept > most ? kept : most;
        most = price > most ? price : most;
    }
    int64_t scale = INT64_C(1) << 30;
    while (scale > 0 && most * scale >= VALUE_MAX)
        scale /= 2;
    return scale;
}

/* scale sum u_k max(0, z_k) */
static dw_wide charges(const struct dw_problem *p, struct slope rho, const struct source *b,
                       const struct source *sources, size_t n, int64_t scale)
{
    dw_wide sum = 0;
    for (size_t s = 0; s < n; s++) {
        const struct dw_stock *stock = &p->stocks[sources[s].stock];
        dw_wide price = (dw_wide)(stock->price + stock->fixed) * scale;
        dw_wide usable = p->grip > 0 ? stock->cap + p->grip : stock->cap - p->kerf;
        dw_wide full =
            (dw_wide)scale * b->cost * stock->cap / b->cap - (dw_wide)sources[s].cost * scale;
        dw_wide empty = scale * rho.num * usable / rho.den - price;
        dw_wide most = full > empty ? full : empty;
        sum += most > 0 ? most * stock->certain : 0;
    }
    return sum;
}

static bool certify(const struct dw_problem *p, struct slope rho, const struct source *b,
                    const struct source *sources, size_t n, struct dw_certified *certified)
{
    int64_t scale = choose_scale(p, rho, b);
    int64_t *item = dw_arena__alloc(p->arena, p->n_items, sizeof *item);
    if (!item)
        return false;
    if (scale == 0)
        return true;
    dw_wide sum = -charges(p, rho, b, sources, n, scale);
    for (size_t i = 0; i < p->n_items; i++) {
        dw_wide tube = (dw_wide)scale * b->cost * p->items[i].size / b->cap;
        item[i] = (int64_t)(tube + (dw_wide)scale * p->cut_cost);
        sum += (dw_wide)item[i] * p->items[i].count;
    }
    dw_money bound = dw_relax__round(p->stated, sum, scale, 0);
    if (bound > 0)
        *certified = (struct dw_certified){.scale = scale, .item = item, .bound = bound};
    return true;
}

bool dw_bulk__material(const struct dw_problem *problem, struct dw_certified *certified)
{
    struct slope rho = steepest_worth(problem);
    struct source *sources = calloc(problem->n_stocks + 1, sizeof *sources);
    if (!sources)
        return false;
    size_t n = list_sources(problem, rho, sources);
    const struct source *b = marginal(problem, sources, n);
    bool ok = true;
    if (b && b->cost > 0)
        ok = certify(problem, rho, b, sources, n, certified);
    free(sources);
    return ok;
}
