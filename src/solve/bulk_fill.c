/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan from the linear program over classes: its layouts hold slots that any piece of the class
 * fits, as often as whole bars go; what is left is cut by the greedy. */
#include "solve/bulk_lp.h"

#include <stdlib.h>
#include <string.h>

struct filler {
    const struct dw_bulk *problem;
    const struct dw_bulk_classes *classes;
    struct dw_bulk_draft *draft;
    size_t *at;                /* length classes->n: first type of the class with demand left */
    struct dw_csp_item *items; /* length n */
    size_t n_items;
};

static void take(struct filler *filler, size_t type, int64_t count)
{
    filler->items[filler->n_items++] = (struct dw_csp_item){.type = type, .count = count};
}

/* Real pieces for `need` slots of class c, longest first; slots may stay empty. */
static int64_t take_class(struct filler *filler, size_t c, int64_t need)
{
    const int64_t *left = filler->draft->left;
    size_t end = filler->classes->first[c + 1];
    int64_t used = 0;
    while (filler->at[c] < end && left[filler->at[c]] == 0)
        filler->at[c]++;
    for (size_t i = filler->at[c]; i < end && need > 0; i++) {
        int64_t count = left[i] < need ? left[i] : need;
        if (count == 0)
            continue;
        take(filler, i, count);
        used += count * filler->problem->size[i];
        need -= count;
    }
    return used;
}

static int by_type(const void *a, const void *b)
{
    const struct dw_csp_item *x = a, *y = b;
    return x->type < y->type ? -1 : x->type > y->type;
}

/* What is left of the bar takes the longest classes that fit, a piece each. */
static void top_up(struct filler *filler, int64_t room, int64_t *taken)
{
    const struct dw_bulk *problem = filler->problem;
    for (size_t c = 0; c < filler->classes->n && room > 0; c++) {
        size_t end = filler->classes->first[c + 1];
        if (problem->size[end - 1] > room)
            continue;
        for (size_t i = filler->at[c]; i < end; i++)
            if (problem->size[i] <= room && filler->draft->left[i] > taken[i]) {
                take(filler, i, 1);
                room -= problem->size[i];
                break;
            }
    }
}

/* Sorts and merges the items; returns how often the layout can be cut. */
static int64_t settle(struct filler *filler)
{
    qsort(filler->items, filler->n_items, sizeof *filler->items, by_type);
    size_t n = 0;
    for (size_t j = 0; j < filler->n_items; j++) {
        if (n > 0 && filler->items[n - 1].type == filler->items[j].type)
            filler->items[n - 1].count += filler->items[j].count;
        else
            filler->items[n++] = filler->items[j];
    }
    filler->n_items = n;
    int64_t repeat = INT64_MAX;
    for (size_t j = 0; j < n; j++) {
        int64_t times = filler->draft->left[filler->items[j].type] / filler->items[j].count;
        repeat = times < repeat ? times : repeat;
    }
    return repeat;
}

/* `bars` bars of one class layout, as few different real layouts as the pieces allow. */
static dw_err fill_column(struct filler *filler, const struct dw_bulk_column *column, int64_t bars,
                          int64_t *taken)
{
    const struct dw_bulk_stock *stock = &filler->problem->stocks[column->stock];
    while (bars > 0) {
        filler->n_items = 0;
        int64_t used = 0;
        for (size_t j = 0; j < column->n; j++)
            used += take_class(filler, column->items[j].type, column->items[j].count);
        if (filler->n_items == 0)
            return DW_OK;
        size_t n = filler->n_items;
        for (size_t j = 0; j < n; j++)
            taken[filler->items[j].type] += filler->items[j].count;
        top_up(filler, stock->capacity - used, taken);
        for (size_t j = 0; j < n; j++)
            taken[filler->items[j].type] = 0;
        int64_t repeat = settle(filler);
        repeat = repeat < bars ? repeat : bars;
        dw_err err = dw_bulk__draft_add(filler->problem, filler->draft, column->stock, repeat,
                                        filler->n_items, filler->items);
        if (err != DW_OK)
            return err;
        bars -= repeat;
    }
    return DW_OK;
}

static dw_err fill_floor(struct filler *filler, const struct dw_bulk_master *master)
{
    int64_t *taken = calloc(master->problem->n + 1, sizeof *taken);
    if (!taken)
        return DW_ERR_NOMEM;
    dw_err err = DW_OK;
    for (size_t j = 0; j < master->n_columns && err == DW_OK; j++) {
        const struct dw_bulk_column *column = &master->columns[j];
        double x = dw_lp__col_value(master->lp, master->m + j);
        int64_t bars = x > 0 ? (int64_t)(x + 1e-6) : 0;
        if (bars > filler->draft->stock[column->stock])
            bars = filler->draft->stock[column->stock];
        err = fill_column(filler, column, bars, taken);
    }
    free(taken);
    return err;
}

dw_err dw_bulk__fill(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                     const struct dw_csp_limits *limits, struct dw_lp_env *env,
                     struct dw_bulk_draft *draft, bool *complete, int64_t *work)
{
    struct dw_bulk_master master = {.problem = problem, .work = work};
    struct filler filler = {.problem = problem, .classes = classes, .draft = draft};
    filler.at = calloc(classes->n + 1, sizeof *filler.at);
    filler.items = calloc(2 * problem->n + 1, sizeof *filler.items);
    dw_err err = filler.at && filler.items
                     ? dw_bulk__master_solve(&master, classes, true, limits, env)
                     : DW_ERR_NOMEM;
    if (err == DW_OK) {
        memcpy(filler.at, classes->first, classes->n * sizeof *filler.at);
        err = fill_floor(&filler, &master);
    }
    if (err == DW_OK)
        err = dw_bulk__greedy(problem, draft, complete);
    dw_bulk__master_free(&master);
    free(filler.at);
    free(filler.items);
    return err;
}
