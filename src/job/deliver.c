/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Booking what came of what a plan buys. */
#include <dropwise/shelf.h>

#include "base/base.h"
#include "cost/cost.h"

#include <dropwise/quote.h>
#include <stdlib.h>
#include <string.h>

/* The arrivals as the ledger wants them, and the money of each bar. */
struct work {
    const struct dw_held_plan *plan;
    const struct dw_deliver *deliver;
    const char *currency;
    struct dw_arena *arena;
    struct dw_arrival *rows; /* length n */
    size_t n;
};

static const struct dw_held_buy *find_buy(const struct dw_held_plan *plan, const char *supply)
{
    for (size_t i = 0; i < plan->n_buys; i++)
        if (strcmp(plan->buys[i].supply, supply) == 0)
            return &plan->buys[i];
    return NULL;
}

static dw_err add_row(struct work *work, const char *supply, int64_t n, struct dw_error *error)
{
    const struct dw_held_buy *buy = find_buy(work->plan, supply);
    if (!buy)
        return dw_error__set(error, DW_ERR_NOTFOUND, "plan %lld buys no \"%.64s\"",
                             (long long)work->plan->id, supply);
    int64_t left = buy->bought - buy->came;
    if (n == 0 && left <= 0)
        return dw_error__set(error, DW_ERR_STATE, "all %lld of %.64s that plan %lld buys came",
                             (long long)buy->bought, supply, (long long)work->plan->id);
    work->rows[work->n++] = (struct dw_arrival){.supply = buy->supply, .n = n ? n : left};
    return DW_OK;
}

static dw_err choose_rows(struct work *work, struct dw_error *error)
{
    const struct dw_deliver *deliver = work->deliver;
    const struct dw_held_plan *plan = work->plan;
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < deliver->n; i++)
        err = add_row(work, deliver->rows[i].supply, deliver->rows[i].n, error);
    if (err || deliver->n > 0)
        return err;
    for (size_t i = 0; !err && i < plan->n_buys; i++) {
        const struct dw_held_buy *buy = &plan->buys[i];
        bool of_them =
            !deliver->supplier || (buy->supplier && strcmp(buy->supplier, deliver->supplier) == 0);
        if (of_them && buy->bought > buy->came)
            err = add_row(work, buy->supply, 0, error);
    }
    if (!err && work->n == 0)
        err = dw_error__set(error, DW_ERR_STATE,
                            "plan %lld buys nothing%s%.64s that is still to come",
                            (long long)plan->id, deliver->supplier ? " of " : "",
                            deliver->supplier ? deliver->supplier : "");
    return err;
}

/* What was paid for each bar of a row. */
static dw_err set_values(struct work *work, struct dw_arrival *row,
                         const struct dw_deliver_row *paid, struct dw_error *error)
{
    if (paid->each < 0 && paid->total < 0)
        return DW_OK;
    size_t n = (size_t)row->n;
    dw_money *values = dw_arena__alloc(work->arena, n, sizeof *values);
    int64_t *alike = dw_arena__alloc(work->arena, n, sizeof *alike);
    if (!values || !alike)
        return dw_error__nomem(error);
    for (size_t i = 0; i < n; i++) {
        values[i] = paid->each;
        alike[i] = 1;
    }
    row->values = values;
    return paid->each >= 0 ? DW_OK
                           : dw_share_split(paid->total, dw_cost__minor(work->currency), n, alike,
                                            values, error);
}

static dw_err set_money(struct work *work, struct dw_error *error)
{
    const struct dw_deliver *deliver = work->deliver;
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < deliver->n; i++)
        err = set_values(work, &work->rows[i], &deliver->rows[i], error);
    for (size_t k = 0; !err && k < deliver->n_paid; k++) {
        const struct dw_deliver_row *paid = &deliver->paid[k];
        size_t i = 0;
        while (i < work->n && strcmp(work->rows[i].supply, paid->supply) != 0)
            i++;
        err = i < work->n ? set_values(work, &work->rows[i], paid, error)
                          : dw_error__set(error, DW_ERR_INPUT,
                                          "what was paid for %.64s is said, but none of it came",
                                          paid->supply);
    }
    return err;
}

dw_err dw_shelf_deliver(struct dw_ledger *ledger, const struct dw_act *act,
                        const struct dw_deliver *deliver, int64_t *step, struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    struct dw_shelf_rules rules;
    dw_err err = dw_ledger_rules(ledger, &rules, error);
    if (!err)
        err = dw_ledger_plan(ledger, deliver->plan, &list, error);
    if (err)
        return err;
    struct work work = {.plan = &list->rows[0],
                        .deliver = deliver,
                        .currency = rules.currency,
                        .arena = list->arena};
    work.rows = dw_arena__alloc(list->arena, deliver->n + work.plan->n_buys + 1, sizeof *work.rows);
    err = work.rows ? choose_rows(&work, error) : dw_error__nomem(error);
    for (size_t i = 0; !err && i < work.n; i++) /* more than any purchase has */
        if (work.rows[i].n < 0 || work.rows[i].n > DW_MAX_PIECES)
            err = dw_error__set(error, DW_ERR_RANGE, "%.64s: that many bars do not come",
                                work.rows[i].supply);
    if (!err)
        err = set_money(&work, error);
    struct dw_delivery delivery = {
        .n = work.n, .rows = work.rows, .place = deliver->place, .mark = deliver->mark};
    if (!err)
        err = dw_ledger_deliver(ledger, act, deliver->plan, &delivery, step, error);
    dw_held_list_free(list);
    return err;
}
