/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The kernel that fits a capacity is chosen here, and what both have in common. */
#include "solve/bar/knap_inner.h"

#include <stdlib.h>

/* Numbers, four bytes each; and the cells of the coarse table. */
enum { DENSE_TABLE = 40000000, COARSE_TABLE = 10000000, COARSE_CELLS = 8000 };
/* Cells of a table that take so much longer to fill than the coarse one that search is faster. */
enum { LONG_CELLS = 8 * COARSE_CELLS };

bool dw_knap__has_table(int64_t capacity, size_t n)
{
    return capacity < DENSE_TABLE / ((int64_t)n + 1);
}

bool dw_knap__is_long(int64_t capacity, size_t n)
{
    return capacity >= LONG_CELLS || !dw_knap__has_table(capacity, n);
}

struct dw_knap *dw_knap__new(int64_t capacity, size_t n, const int64_t *size, const int64_t *demand,
                             bool table)
{
    struct dw_knap *knap = calloc(1, sizeof *knap);
    if (!knap)
        return NULL;
    knap->capacity = capacity;
    knap->n = n;
    knap->size = size;
    knap->top = malloc((n + 1) * sizeof *knap->top);
    knap->items = malloc((n + 1) * sizeof *knap->items);
    knap->order = malloc((n + 1) * sizeof *knap->order);
    knap->count = malloc((n + 1) * sizeof *knap->count);
    knap->active = malloc((n + 1) * sizeof *knap->active);
    bool dense = table && dw_knap__has_table(capacity, n);
    if (dense) {
        knap->cells = (size_t)capacity + 1;
        knap->slack = (size_t)capacity;
        knap->table = malloc((n + 1) * knap->cells * sizeof *knap->table);
    }
    if (!dense && COARSE_TABLE / (n + 1) > 500) {
        size_t most = COARSE_TABLE / (n + 1) - 1;
        knap->coarse_cells = most < COARSE_CELLS ? most : COARSE_CELLS;
        if (capacity < (int64_t)knap->coarse_cells)
            knap->coarse_cells = (size_t)capacity;
        knap->coarse = malloc((n + 1) * 2 * (knap->coarse_cells + 1) * sizeof *knap->coarse);
    }
    if (!knap->top || !knap->items || !knap->order || !knap->count || !knap->active ||
        (dense && !knap->table) || (knap->coarse_cells > 0 && !knap->coarse)) {
        dw_knap__free(knap);
        return NULL;
    }
    for (size_t i = 0; i < n; i++) {
        int64_t fit = capacity / size[i];
        knap->top[i] = fit < demand[i] ? fit : demand[i];
    }
    dw_knap__activate(knap);
    return knap;
}

void dw_knap__free(struct dw_knap *knap)
{
    if (!knap)
        return;
    free(knap->top);
    free(knap->items);
    free(knap->order);
    free(knap->active);
    free(knap->count);
    free(knap->table);
    free(knap->coarse);
    dw_layout_list__free(&knap->found);
    free(knap);
}

void dw_knap__activate(struct dw_knap *knap)
{
    knap->n_active = 0;
    for (size_t i = 0; i < knap->n; i++)
        if (knap->top[i] > 0)
            knap->active[knap->n_active++] = i;
}

bool dw_knap__retarget(struct dw_knap *knap, const int64_t *demand, int64_t waste)
{
    if (!knap->table)
        return false;
    knap->slack = (size_t)(waste < knap->capacity ? waste : knap->capacity);
    for (size_t i = 0; i < knap->n; i++) {
        int64_t fit = knap->capacity / knap->size[i];
        knap->top[i] = fit < demand[i] ? fit : demand[i];
    }
    dw_knap__activate(knap);
    return true;
}

int64_t dw_knap__most(const struct dw_knap *knap)
{
    if (knap->table)
        return INT64_C(1) << 29;
    int64_t most = (INT64_C(1) << 62) / knap->capacity;
    if (most > INT64_C(1) << 40)
        return INT64_C(1) << 40;
    return most < 1 << 24 ? 0 : most;
}

struct share {
    double worth; /* value a length */
    double value; /* of all copies */
    double size;  /* of all copies */
};

static int by_worth(const void *a, const void *b)
{
    const struct share *x = a, *y = b;
    return x->worth < y->worth ? 1 : x->worth > y->worth ? -1 : 0;
}

/* The fractional knapsack (Dantzig 1957). */
double dw_knap__above(struct dw_knap *knap, const double *value, double sign)
{
    struct share *shares = malloc((knap->n_active + 1) * sizeof *shares);
    size_t n = 0;
    double room = (double)knap->capacity, sum = 0;
    for (size_t r = 0; shares && r < knap->n_active; r++) {
        size_t i = knap->active[r];
        double copies = (double)knap->top[i], size = (double)knap->size[i];
        if (sign * value[i] > 0)
            shares[n++] =
                (struct share){sign * value[i] / size, copies * sign * value[i], copies * size};
    }
    if (n > 0)
        qsort(shares, n, sizeof *shares, by_worth);
    for (size_t k = 0; k < n && room > 0; k++) {
        sum += shares[k].size <= room ? shares[k].value : room * shares[k].worth;
        room -= shares[k].size;
    }
    sum = shares ? sum : -1;
    free(shares);
    return sum;
}

int64_t dw_knap__solve(struct dw_knap *knap, struct dw_effort *effort, const int64_t *value,
                       int64_t least)
{
    knap->value = value;
    if (!knap->table)
        return dw_knap__search(knap, effort, least);
    int64_t best = dw_knap__dense(knap, effort);
    return best <= DW_KNAP_NO_MEMORY || best > least ? best : least;
}

bool dw_knap__layouts(struct dw_knap *knap, int64_t least, size_t most, struct dw_layout_list *list)
{
    if (knap->table)
        return dw_knap__dense_layouts(knap, least, most, list);
    const struct dw_layout_list *found = &knap->found;
    for (size_t k = found->n; k > 0 && most > 0; k--, most--) {
        const struct dw_list_cut *cut = &found->cuts[k - 1];
        int64_t sum = 0;
        for (size_t i = 0; i < cut->n; i++) {
            const struct dw_type_count *item = &found->items[cut->first + i];
            sum += knap->value[item->type] * item->count;
        }
        if (sum > least && !dw_layout_list__add(list, 1, found->items + cut->first, cut->n))
            return false;
    }
    return true;
}

int64_t dw_knap__walked(struct dw_knap *knap)
{
    int64_t steps = knap->walked;
    knap->walked = 0;
    return steps;
}
