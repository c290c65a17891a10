/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/bulk_group.h"
#include "solve/bulk.h"
#include "solve/plain.h"

#include <stdlib.h>

#define LEAST_ITEMS 800 /* below, the exact method is still worth its while */
#define MAX_CLASSES 800

bool dw_bulk__suits(const struct dw_problem *problem)
{
    return problem->n_items >= LEAST_ITEMS && dw_plain__is(problem);
}

/* --- there -------------------------------------------------------------------------------- */

/* A bar with n pieces makes n - 1 or n cuts, so it costs at least price + squarings - cut + n cut:
 * the cut goes with the piece, the rest with the bar. Bars too short for any piece are left out. */
struct bulk_copy {
    struct dw_bulk bulk;
    int64_t *numbers;             /* sizes, then demands: length 2 n_items */
    struct dw_bulk_stock *stocks; /* length n_stocks */
    size_t *stock_of;             /* length n_stocks: back to the problem's */
};

static void free_copy(struct bulk_copy *copy)
{
    free(copy->numbers);
    free(copy->stocks);
    free(copy->stock_of);
}

static bool copy_problem(const struct dw_problem *p, struct bulk_copy *copy)
{
    copy->numbers = calloc(2 * p->n_items + 1, sizeof *copy->numbers);
    copy->stocks = calloc(p->n_stocks + 1, sizeof *copy->stocks);
    copy->stock_of = calloc(p->n_stocks + 1, sizeof *copy->stock_of);
    if (!copy->numbers || !copy->stocks || !copy->stock_of)
        return false;
    for (size_t i = 0; i < p->n_items; i++) {
        copy->numbers[i] = p->items[i].size;
        copy->numbers[p->n_items + i] = p->items[i].count;
    }
    size_t n = 0;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_stock *stock = &p->stocks[k];
        dw_money cost = stock->price + stock->fixed - p->cut_cost;
        if (stock->cap < p->items[p->n_items - 1].size)
            continue;
        copy->stocks[n] = (struct dw_bulk_stock){.capacity = stock->cap,
                                                 .cost = cost > 0 ? cost : 0,
                                                 .count = stock->limited ? stock->count : -1};
        copy->stock_of[n++] = k;
    }
    copy->bulk =
        (struct dw_bulk){p->n_items, copy->numbers, copy->numbers + p->n_items, n, copy->stocks};
    return true;
}

/* --- and back ----------------------------------------------------------------------------- */

static bool take_plan(const struct dw_problem *p, struct dw_pool *pool,
                      const struct bulk_copy *copy, const struct dw_bulk_plan *plan,
                      struct dw_solution *best)
{
    struct dw_solution mine = {.method = "classes of lengths"};
    struct dw_entry *entries = calloc(p->n_items + 1, sizeof *entries);
    bool ok = entries;
    for (size_t j = 0; j < plan->n_layouts && ok; j++) {
        const struct dw_bulk_layout *layout = &plan->layouts[j];
        ok = dw_plain__add(p, pool, copy->stock_of[layout->stock], layout->bars, layout->n_items,
                           layout->items, entries, &mine);
    }
    ok = ok && dw_plain__offer(p, &mine, best);
    dw_solution__free(&mine);
    free(entries);
    return ok;
}

/* y_i = dual_i + scale cut. Leftovers of worth would have to be charged to the layouts: then the
 * duals prove nothing and are not taken. */
static bool take_bound(const struct dw_problem *p, const struct dw_bulk_plan *plan,
                       struct dw_certified *certified)
{
    dw_wide pieces = 0;
    int64_t *item = dw_arena__alloc(p->arena, p->n_items, sizeof *item);
    if (!item)
        return false;
    for (size_t i = 0; i < p->n_items; i++) {
        int64_t cuts;
        if (!dw_mul__i64(plan->scale, p->cut_cost, &cuts) ||
            !dw_add__i64(plan->dual[i], cuts, &item[i]))
            return true;
        pieces += p->items[i].count;
    }
    dw_wide sum = ((dw_wide)plan->bound - 1) * plan->scale + 1 + pieces * p->cut_cost * plan->scale;
    dw_money bound = dw_relax__round(p->stated, sum, plan->scale, 0);
    if (plan->bound <= 0 || (certified->scale > 0 && bound <= certified->bound))
        return true;
    *certified = (struct dw_certified){.scale = plan->scale, .item = item, .bound = bound};
    return true;
}

dw_err dw_bulk__group(const struct dw_problem *problem, struct dw_pool *pool,
                      struct dw_effort *effort, struct dw_lp_env *env, struct dw_solution *best,
                      struct dw_certified *certified, struct dw_error *error)
{
    struct bulk_copy copy = {0};
    struct dw_bulk_plan *plan = NULL;
    const struct dw_csp_limits limits = {.work =
                                             effort->limit > 0 ? effort->limit - effort->work : 0,
                                         .stop = dw_effort__stop,
                                         .user = effort};
    dw_err err = copy_problem(problem, &copy) ? DW_OK : dw_error__nomem(error);
    if (err == DW_OK)
        err = dw_bulk__solve(&copy.bulk, MAX_CLASSES, &limits, env, &plan, error);
    if (err == DW_OK) {
        dw_effort__spend(effort, plan->work);
        if (plan->complete && !take_plan(problem, pool, &copy, plan, best))
            err = dw_error__nomem(error);
    }
    if (err == DW_OK && dw_plain__earns_nothing(problem) && !take_bound(problem, plan, certified))
        err = dw_error__nomem(error);
    dw_bulk__free(plan);
    free_copy(&copy);
    return err;
}
