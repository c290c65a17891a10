/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A group as a bulk problem, and its plan and duals back in the group's terms. */
#include "solve/bulk/group.h"
#include "solve/bulk/bulk.h"
#include "solve/group/plain.h"

#include <stdlib.h>

#define LEAST_ITEMS 800 /* below, the exact method is still worth its while */
#define MAX_CLASSES 800

bool dw_bulk__suits(const struct dw_problem *problem)
{
    return problem->n_items >= LEAST_ITEMS && dw_plain__is(problem);
}

/* --- there -------------------------------------------------------------------------------- */

/* A bar with n pieces makes n cuts, or n - 1 where nothing is left: the cut goes with the piece,
 * and the one that is saved is earned by the bar. Bars too short for any piece are left out. */
struct bulk_copy {
    struct dw_bulk bulk;
    int64_t *numbers;             /* sizes, then demands: length 2 n_items */
    struct dw_bulk_stock *stocks; /* length n_stocks */
    size_t *stock_of;             /* length n_stocks: back to the problem's */
};

static int64_t worth_of_left(const void *user, int64_t x)
{
    const struct dw_problem *p = user;
    return dw_bar_kind__worth(p, &p->kinds[0], dw_bar_kind__leftover(p, &p->kinds[0], x));
}

/* phi(r) <= num / den r */
static void steepest_worth(const struct dw_problem *p, int64_t *num, int64_t *den)
{
    const struct dw_bar_kind *kind = &p->kinds[0];
    const struct dw_worth *worth = &p->job->materials[kind->material].worth;
    *num = worth->kind == DW_WORTH_RATE ? worth->rate : 0;
    *den = worth->kind == DW_WORTH_RATE ? worth->per : 1;
    for (size_t i = 0; worth->kind == DW_WORTH_CLASSES && i < worth->n_classes; i++) {
        int64_t from = worth->classes[i].from > worth->keep ? worth->classes[i].from : worth->keep;
        if ((dw_wide)worth->classes[i].worth * *den > (dw_wide)*num * from) {
            *num = worth->classes[i].worth;
            *den = from;
        }
    }
    if (worth->kind == DW_WORTH_SHARE && kind->cap_den > 0) {
        *num = (int64_t)(((dw_wide)worth->share * kind->cap_num + 999999) / 1000000);
        *den = kind->cap_den;
    }
    if (kind->cap_den > 0 && (dw_wide)kind->cap_num * *den < (dw_wide)*num * kind->cap_den) {
        *num = kind->cap_num;
        *den = kind->cap_den;
    }
}

static struct dw_bulk_credit credit_of(const struct dw_problem *p)
{
    const int64_t tail = p->kinds[0].tail;
    struct dw_bulk_credit credit = {.exact = tail == 0 ? p->cut_cost : 0, .den = 1};
    if (dw_plain__earns_nothing(p))
        return credit;
    credit.worth = worth_of_left;
    credit.user = p;
    credit.plus = tail > 0 ? tail : -p->kerf;
    steepest_worth(p, &credit.num, &credit.den);
    return credit;
}

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
        const struct dw_bar_stock *stock = &p->stocks[k];
        if (stock->cap < p->items[p->n_items - 1].size)
            continue;
        copy->stocks[n] = (struct dw_bulk_stock){.capacity = stock->cap,
                                                 .cost = stock->price + stock->fixed,
                                                 .count = stock->limited ? stock->count : -1};
        copy->stock_of[n++] = k;
    }
    copy->bulk = (struct dw_bulk){.n = p->n_items,
                                  .size = copy->numbers,
                                  .demand = copy->numbers + p->n_items,
                                  .n_stocks = n,
                                  .stocks = copy->stocks,
                                  .credit = credit_of(p)};
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

/* y_i = dual_i + scale cut. false: no memory. */
static bool take_bound(const struct dw_problem *p, const int64_t *dual, int64_t scale,
                       int64_t bound, struct dw_certified *certified)
{
    dw_wide pieces = 0;
    int64_t *item = dw_arena__alloc(p->arena, p->n_items, sizeof *item);
    if (!item)
        return false;
    for (size_t i = 0; i < p->n_items; i++) {
        int64_t cuts;
        if (!dw_mul__i64(scale, p->cut_cost, &cuts) || !dw_add__i64(dual[i], cuts, &item[i]))
            return true;
        pieces += p->items[i].count;
    }
    dw_wide sum = ((dw_wide)bound - 1) * scale + 1 + pieces * p->cut_cost * scale;
    dw_money proven = dw_relax__round(p->stated, sum, scale, 0);
    if (bound <= 0 || (certified->scale > 0 && proven <= certified->bound))
        return true;
    *certified = (struct dw_certified){.scale = scale, .item = item, .bound = proven};
    return true;
}

bool dw_bulk__certify(const struct dw_problem *problem, struct dw_certified *certified)
{
    struct bulk_copy copy = {0};
    int64_t *dual = calloc(problem->n_items + 1, sizeof *dual);
    int64_t scale = 1, bound = 0;
    bool ok = dual && copy_problem(problem, &copy) &&
              dw_bulk__material(&copy.bulk, dual, &scale, &bound) == DW_OK &&
              take_bound(problem, dual, scale, bound, certified);
    free(dual);
    free_copy(&copy);
    return ok;
}

dw_err dw_bulk__group(const struct dw_problem *problem, struct dw_pool *pool,
                      struct dw_effort *effort, struct dw_lp_env *env, struct dw_solution *best,
                      struct dw_certified *certified, struct dw_error *error)
{
    struct bulk_copy copy = {0};
    struct dw_bulk_plan *plan = NULL;
    struct dw_effort part = dw_effort__part(effort, 0);
    dw_err err = copy_problem(problem, &copy) ? DW_OK : dw_error__nomem(error);
    if (err == DW_OK)
        err = dw_bulk__solve(&copy.bulk, MAX_CLASSES, &part, env, &plan, error);
    if (err == DW_OK) {
        dw_effort__spend(effort, part.work);
        if (plan->complete && !take_plan(problem, pool, &copy, plan, best))
            err = dw_error__nomem(error);
    }
    if (err == DW_OK && !take_bound(problem, plan->dual, plan->scale, plan->bound, certified))
        err = dw_error__nomem(error);
    dw_bulk__free(plan);
    free_copy(&copy);
    return err;
}
