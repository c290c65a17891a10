/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A group without money: how many pieces can be made at all, and how many are missing. */
#include "solve/group/problem.h"

#include <string.h>

static void forget_money(struct dw_problem *p)
{
    p->cut_cost = 0;
    p->grid = p->stated = 1;
    p->missing = true;
    p->equal = p->job->rules.no_middling;
    for (size_t i = 0; i < p->n_items; i++)
        p->items[i].worth = 0;
    for (size_t k = 0; k < p->n_stocks; k++) {
        p->stocks[k].price = p->stocks[k].fixed = 0;
        p->stocks[k].stepped = false;
    }
}

/* The items of kinds and of bent firsts keep their indices: posts stay, with nothing to earn. */
dw_err dw_problem__missing(const struct dw_problem *problem, struct dw_problem **out,
                           struct dw_error *error)
{
    *out = NULL;
    struct dw_arena *arena = problem->arena;
    struct dw_problem *p = dw_arena__alloc(arena, 1, sizeof *p);
    struct dw_item *items = dw_arena__alloc(arena, problem->n_items, sizeof *items);
    struct dw_bar_kind *kinds = dw_arena__alloc(arena, problem->n_kinds, sizeof *kinds);
    struct dw_bar_stock *stocks = dw_arena__alloc(arena, problem->n_stocks, sizeof *stocks);
    if (!p || !items || !kinds || !stocks)
        return dw_error__nomem(error);
    *p = *problem;
    memcpy(items, problem->items, problem->n_items * sizeof *items);
    memcpy(kinds, problem->kinds, problem->n_kinds * sizeof *kinds);
    memcpy(stocks, problem->stocks, problem->n_stocks * sizeof *stocks);
    p->items = items;
    p->kinds = kinds;
    p->stocks = stocks;
    forget_money(p);
    if (!dw_problem__credits(p))
        return dw_error__nomem(error);
    *out = p;
    return DW_OK;
}
