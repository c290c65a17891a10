/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan from the linear program over classes: its layouts hold slots that any piece of the class
 * fits, as often as whole bars go; what is left is cut by the greedy. */
#include "solve/bulk/find.h"
#include "solve/bulk/classes.h"

#include <stdlib.h>
#include <string.h>

struct filler {
    const struct dw_bulk *problem;
    const struct dw_bulk_classes *classes;
    struct dw_bulk_draft *draft;
    bool exact; /* bars are filled exactly where that can be */
    struct dw_bulk_finder finder;
    size_t *at;             /* length classes->n: first type of the class with demand left */
    struct dw_bulk_bar bar; /* a type may come more than once until it is settled */
};

static void take(struct filler *filler, size_t type, int64_t count)
{
    filler->bar.items[filler->bar.n_items++] = (struct dw_type_count){.type = type, .count = count};
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
    const struct dw_type_count *x = a, *y = b;
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
    struct dw_bulk_bar *bar = &filler->bar;
    qsort(bar->items, bar->n_items, sizeof *bar->items, by_type);
    size_t n = 0;
    for (size_t j = 0; j < bar->n_items; j++) {
        if (n > 0 && bar->items[n - 1].type == bar->items[j].type)
            bar->items[n - 1].count += bar->items[j].count;
        else
            bar->items[n++] = bar->items[j];
    }
    bar->n_items = n;
    int64_t repeat = INT64_MAX;
    for (size_t j = 0; j < n; j++) {
        int64_t times = filler->draft->left[bar->items[j].type] / bar->items[j].count;
        repeat = times < repeat ? times : repeat;
    }
    return repeat;
}

#define REACH 32 /* types beyond a class */

/* Pieces for the last two slots, of classes c and d or nearly so, that leave nothing. Few types
 * beyond the classes: the demands that the linear program counts on stay as they are. */
static bool fill_last_two(struct filler *filler, size_t c, size_t d, int64_t room)
{
    const size_t *first = filler->classes->first, n = filler->problem->n;
    struct dw_bulk_pair pair = {.from = first[c] > REACH ? first[c] - REACH : 0,
                                .to = first[c + 1] + REACH < n ? first[c + 1] + REACH : n,
                                .low = first[d] > REACH ? first[d] - REACH : 0,
                                .high = first[d + 1] + REACH < n ? first[d + 1] + REACH : n};
    if (!dw_bulk__pair(&filler->finder, &filler->bar, room, &pair))
        return false;
    take(filler, pair.first, 1);
    take(filler, pair.second, 1);
    return true;
}

/* The slots of the column with nothing left of the bar. false: that can't be found. */
static bool fill_exactly(struct filler *filler, const struct dw_bulk_column *column)
{
    int64_t room = filler->problem->stocks[column->stock].capacity, slots = -2;
    for (size_t j = 0; j < column->n; j++)
        slots += column->items[j].count;
    filler->bar.n_items = 0;
    if (!filler->exact || slots < 0)
        return false;
    size_t j = 0;
    for (; slots >= column->items[j].count; j++) {
        room -= take_class(filler, column->items[j].type, column->items[j].count);
        slots -= column->items[j].count;
    }
    if (slots > 0)
        room -= take_class(filler, column->items[j].type, slots);
    return fill_last_two(filler, column->items[j].type, column->items[column->n - 1].type, room);
}

/* All slots of the column, and what fits beside them. */
static void fill_slots(struct filler *filler, const struct dw_bulk_column *column, int64_t *taken)
{
    struct dw_bulk_bar *bar = &filler->bar;
    int64_t room = filler->problem->stocks[column->stock].capacity;
    bar->n_items = 0;
    for (size_t j = 0; j < column->n; j++)
        room -= take_class(filler, column->items[j].type, column->items[j].count);
    size_t n = bar->n_items;
    for (size_t j = 0; j < n; j++)
        taken[bar->items[j].type] += bar->items[j].count;
    if (n > 0)
        top_up(filler, room, taken);
    for (size_t j = 0; j < n; j++)
        taken[bar->items[j].type] = 0;
}

/* `bars` bars of one class layout, as few different real layouts as the pieces allow. */
static dw_err fill_column(struct filler *filler, const struct dw_bulk_column *column, int64_t bars,
                          int64_t *taken)
{
    while (bars > 0) {
        if (!fill_exactly(filler, column))
            fill_slots(filler, column, taken);
        if (filler->bar.n_items == 0)
            return DW_OK;
        int64_t repeat = settle(filler);
        repeat = repeat < bars ? repeat : bars;
        dw_err err = dw_bulk__draft_add(filler->problem, filler->draft, column->stock, repeat,
                                        filler->bar.n_items, filler->bar.items);
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

/* A draft of its own for the solved master, whole bars first, what is left by the greedy. */
static dw_err make_draft(const struct dw_bulk_master *master, const struct dw_bulk_classes *classes,
                         bool exact, struct dw_bulk_draft *draft, bool *complete)
{
    const struct dw_bulk *problem = master->problem;
    struct filler filler = {.problem = problem, .classes = classes, .draft = draft, .exact = exact};
    filler.at = calloc(classes->n + 1, sizeof *filler.at);
    filler.bar.items = calloc(2 * problem->n + 3, sizeof *filler.bar.items);
    bool ok = dw_bulk__finder_init(&filler.finder, problem, draft->left);
    dw_err err = ok && filler.at && filler.bar.items ? DW_OK : DW_ERR_NOMEM;
    if (err == DW_OK) {
        memcpy(filler.at, classes->first, classes->n * sizeof *filler.at);
        err = fill_floor(&filler, master);
    }
    if (err == DW_OK)
        err = dw_bulk__greedy(problem, exact, draft, complete);
    free(filler.at);
    free(filler.bar.items);
    dw_bulk__finder_free(&filler.finder);
    return err;
}

dw_err dw_bulk__fill(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                     struct dw_effort *effort, struct dw_lp_env *env, dw_bulk_offer *offer,
                     void *user)
{
    struct dw_bulk_master master = {.problem = problem, .effort = effort};
    dw_err err = dw_bulk__master_solve(&master, classes, true, env);
    for (int exact = 0; exact < 2 && err == DW_OK; exact++) {
        struct dw_bulk_draft draft;
        bool complete = false;
        err = dw_bulk__draft_new(problem, &draft);
        if (err == DW_OK)
            err = make_draft(&master, classes, exact, &draft, &complete);
        if (err == DW_OK)
            offer(user, &draft, complete);
        dw_bulk__draft_free(&draft);
    }
    dw_bulk__master_free(&master);
    return err;
}
