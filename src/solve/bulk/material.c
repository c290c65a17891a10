/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tube alone costs: every piece at the money a length of the dearest stock that is needed when
 * the cheapest is used up first, the dual solution of the relaxation that only counts lengths. With
 * lambda of that stock, dual_i = lambda l_i, a layout of stock k that leaves x comes to
 *
 *   lambda (C_k - x) - c_k + v(x),   v(x) <= rho max(0, x + plus) + [x = 0] exact
 *
 * which is convex in x but for the last term, so greatest where nothing is cut or nothing is left:
 *
 *   z_k <= max(lambda C_k - c'_k, rho (C_k + plus) - c_k),  c'_k = c_k - exact - rho max(0, plus)
 *
 * and lambda = c'_b / C_b of the marginal stock b. */
#include "solve/bulk/bulk.h"

#include <stdlib.h>

__extension__ typedef __int128 wide;

struct source {
    size_t stock;
    int64_t cost; /* c'_k */
    int64_t cap;
};

static wide ceil_of(wide num, wide den)
{
    return (num + den - 1) / den;
}

static int compare_sources(const void *a, const void *b)
{
    const struct source *x = a, *y = b;
    wide left = (wide)x->cost * y->cap, right = (wide)y->cost * x->cap;
    if (left != right)
        return left < right ? -1 : 1;
    return (x->stock > y->stock) - (x->stock < y->stock);
}

/* By money a length. */
static void list_sources(const struct dw_bulk *problem, struct source *sources)
{
    const struct dw_bulk_credit *credit = &problem->credit;
    int64_t gain = credit->exact;
    if (credit->num > 0 && credit->plus > 0)
        gain += (int64_t)ceil_of((wide)credit->num * credit->plus, credit->den);
    for (size_t k = 0; k < problem->n_stocks; k++)
        sources[k] =
            (struct source){k, problem->stocks[k].cost - gain, problem->stocks[k].capacity};
    qsort(sources, problem->n_stocks, sizeof *sources, compare_sources);
}

/* The source that covers the last of the demand, the cheaper ones used up. */
static const struct source *marginal(const struct dw_bulk *problem, const struct source *sources)
{
    wide wanted = 0;
    for (size_t i = 0; i < problem->n; i++)
        wanted += (wide)problem->size[i] * problem->demand[i];
    for (size_t s = 0; s < problem->n_stocks; s++) {
        const struct dw_bulk_stock *stock = &problem->stocks[sources[s].stock];
        wanted -= (wide)stock->count * stock->capacity;
        if (stock->count < 0 || wanted <= 0)
            return &sources[s];
    }
    return &sources[problem->n_stocks - 1];
}

/* rho (C + plus) */
static wide most_worth(const struct dw_bulk_credit *credit, int64_t capacity, int64_t scale)
{
    wide length = (wide)capacity + credit->plus;
    return credit->num > 0 && length > 0 ? (wide)scale * credit->num * length / credit->den : 0;
}

#define VALUE_MAX ((wide)1 << 60)

/* A scale at which no value of a bar passes 2^60; 0 if there is none. */
static int64_t choose_scale(const struct dw_bulk *problem, const struct source *b)
{
    const struct dw_bulk_credit *credit = &problem->credit;
    wide most = credit->exact > credit->num ? credit->exact : credit->num;
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        wide tube = ceil_of((wide)b->cost * stock->capacity, b->cap);
        wide kept = most_worth(credit, stock->capacity, 1) + 1;
        most = tube > most ? tube : most;
        most = kept > most ? kept : most;
        most = stock->cost > most ? stock->cost : most;
    }
    int64_t scale = INT64_C(1) << 30;
    while (scale > 0 && most * scale >= VALUE_MAX)
        scale /= 2;
    return scale;
}

/* scale sum u_k max(0, z_k); negative if there is no limit to a stock that would have to be charged
 * for. */
static wide charges(const struct dw_bulk *problem, const struct source *b,
                    const struct source *sources, int64_t scale)
{
    wide sum = 0;
    for (size_t s = 0; s < problem->n_stocks; s++) {
        const struct dw_bulk_stock *stock = &problem->stocks[sources[s].stock];
        wide full =
            (wide)scale * b->cost * stock->capacity / b->cap - (wide)sources[s].cost * scale;
        wide empty =
            most_worth(&problem->credit, stock->capacity, scale) - (wide)stock->cost * scale;
        wide most = full > empty ? full : empty;
        if (most > 0 && stock->count < 0)
            return -1;
        sum += most > 0 ? most * stock->count : 0;
    }
    return sum;
}

dw_err dw_bulk__material(const struct dw_bulk *problem, int64_t *dual, int64_t *scale,
                         int64_t *bound)
{
    *bound = 0;
    if (problem->n_stocks == 0)
        return DW_OK;
    struct source *sources = calloc(problem->n_stocks + 1, sizeof *sources);
    if (!sources)
        return DW_ERR_NOMEM;
    list_sources(problem, sources);
    const struct source *b = marginal(problem, sources);
    int64_t s = b->cost > 0 ? choose_scale(problem, b) : 0;
    wide charged = s > 0 ? charges(problem, b, sources, s) : -1;
    if (charged >= 0) {
        wide sum = -charged;
        for (size_t i = 0; i < problem->n; i++) {
            dual[i] = (int64_t)((wide)s * b->cost * problem->size[i] / b->cap);
            sum += (wide)dual[i] * problem->demand[i];
        }
        wide proven = ceil_of(sum, s);
        *bound = sum > 0 && proven <= INT64_MAX ? (int64_t)proven : 0;
        *scale = s;
    }
    free(sources);
    return DW_OK;
}
