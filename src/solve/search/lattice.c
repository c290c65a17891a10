/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns (a_c, cost_c) span a lattice; (demand, V) must lie in it. Integer elimination by columns
 * (Hermite normal form; Cohen 1993, algorithm 2.4.4, without the final reduction) leaves one
 * column for each independent row and others that are zero but for their cost: V is known modulo
 * the gcd of those costs. */
#include "solve/search/lattice.h"

#include <stdlib.h>

#define MAX_VALUES 64 /* that are tried one after the other */

struct lattice {
    size_t n_rows; /* parts, then the cost */
    size_t n_cols;
    int64_t *entries; /* n_cols x n_rows */
    size_t *order;    /* length n_cols: the first ones are used up */
    int64_t *target;  /* length n_rows */
    bool overflow;
};

static int64_t *column(const struct lattice *l, size_t j)
{
    return l->entries + l->order[j] * l->n_rows;
}

/* to -= times from */
static void subtract(struct lattice *l, int64_t *to, const int64_t *from, int64_t times)
{
    for (size_t r = 0; r < l->n_rows; r++) {
        int64_t product;
        if (!dw_mul__i64(from[r], times, &product) || !dw_sub__i64(to[r], product, &to[r]))
            l->overflow = true;
    }
}

/* The column >= first with the least entry in the row that is not 0; DW_NONE. */
static size_t least_entry(const struct lattice *l, size_t first, size_t row)
{
    size_t best = DW_NONE;
    int64_t least = 0;
    for (size_t j = first; j < l->n_cols; j++) {
        int64_t entry = column(l, j)[row];
        entry = entry < 0 ? -entry : entry;
        if (entry != 0 && (best == DW_NONE || entry < least)) {
            best = j;
            least = entry;
        }
    }
    return best;
}

/* Euclid over the columns >= first until one alone has an entry in the row; it comes to `first`.
 * false: none has. */
static bool eliminate(struct lattice *l, size_t first, size_t row)
{
    bool others = true;
    while (others && !l->overflow) {
        size_t pivot = least_entry(l, first, row);
        if (pivot == DW_NONE)
            return false;
        size_t swap = l->order[first];
        l->order[first] = l->order[pivot];
        l->order[pivot] = swap;
        others = false;
        for (size_t j = first + 1; j < l->n_cols; j++) {
            int64_t entry = column(l, j)[row];
            if (entry == 0)
                continue;
            subtract(l, column(l, j), column(l, first), entry / column(l, first)[row]);
            others = others || column(l, j)[row] != 0;
        }
    }
    return true;
}

/* Clears the target's parts. false: the demands are not in the lattice. */
static bool reduce(struct lattice *l, size_t *n_used)
{
    for (size_t row = 0; row + 1 < l->n_rows && !l->overflow; row++) {
        if (!eliminate(l, *n_used, row)) {
            if (l->target[row] != 0)
                return false;
            continue;
        }
        const int64_t *pivot = column(l, (*n_used)++);
        if (l->target[row] % pivot[row] != 0)
            return l->overflow;
        subtract(l, l->target, pivot, l->target[row] / pivot[row]);
    }
    return true;
}

/* --- what a value leaves room for ------------------------------------------------------------- */

struct scope {
    const struct dw_problem *p;
    const struct dw_relax *relax;
    const struct dw_prices *prices;
    int64_t *values; /* length n_list: minus the reduced costs */
    dw_wide room;    /* numerator: what reduced costs and slack may take */
};

static bool tight(const struct scope *s, int64_t dual)
{
    return (dw_wide)dual > s->room || -(dw_wide)dual > s->room;
}

/* Numbers the rows in use: of item i at [i], of stock k at [n_items + k], then of the counts.
 * Returns how many; the cost comes after them. */
static size_t number_rows(const struct scope *s, size_t *row_of)
{
    const struct dw_problem *p = s->p;
    size_t n = 0, at = 0;
    for (size_t i = 0; i < p->n_items; i++)
        row_of[at++] = !p->items[i].post || tight(s, s->prices->item[i]) ? n++ : DW_NONE;
    for (size_t k = 0; k < p->n_stocks; k++)
        row_of[at++] = p->stocks[k].limited && tight(s, s->prices->stock[k]) ? n++ : DW_NONE;
    for (size_t c = 0; c < s->relax->n_counts; c++)
        row_of[at++] = tight(s, s->prices->count[c]) ? n++ : DW_NONE;
    return n;
}

static void fill_target(const struct scope *s, const size_t *row_of, int64_t *target)
{
    const struct dw_problem *p = s->p;
    const size_t *stocks = row_of + p->n_items, *counts = stocks + p->n_stocks;
    for (size_t i = 0; i < p->n_items; i++)
        if (row_of[i] != DW_NONE)
            target[row_of[i]] = s->relax->demand[i];
    for (size_t k = 0; k < p->n_stocks; k++)
        if (stocks[k] != DW_NONE)
            target[stocks[k]] = s->relax->avail[k];
    for (size_t c = 0; c < s->relax->n_counts; c++)
        if (counts[c] != DW_NONE)
            target[counts[c]] = s->prices->count[c] > 0 ? s->relax->lo[c] : s->relax->hi[c];
}

static void fill_column(const struct scope *s, const size_t *row_of, const struct dw_col *col,
                        int64_t *entries, size_t cost_row)
{
    const struct dw_problem *p = s->p;
    const size_t *stocks = row_of + p->n_items, *counts = stocks + p->n_stocks;
    for (size_t i = 0; i < col->n; i++)
        if (row_of[col->entries[i].item] != DW_NONE)
            entries[row_of[col->entries[i].item]] = col->entries[i].count;
    if (stocks[col->stock] != DW_NONE)
        entries[stocks[col->stock]] = 1;
    for (size_t c = 0; c < s->relax->n_counts; c++)
        if (counts[c] != DW_NONE)
            entries[counts[c]] = dw_bar_count__of(p, &s->relax->counts[c], col);
    entries[cost_row] = s->relax->bar[col->stock] + col->money;
}

static bool fill(struct lattice *l, const struct scope *s)
{
    size_t n_names = s->p->n_items + s->p->n_stocks + s->relax->n_counts;
    size_t *row_of = calloc(n_names + 1, sizeof *row_of);
    if (!row_of)
        return false;
    size_t cost_row = number_rows(s, row_of);
    l->n_rows = cost_row + 1;
    l->entries = calloc(l->n_rows * s->relax->n_list + 1, sizeof *l->entries);
    l->order = calloc(s->relax->n_list + 1, sizeof *l->order);
    l->target = calloc(l->n_rows, sizeof *l->target);
    bool ok = l->entries && l->order && l->target;
    for (size_t j = 0; ok && j < s->relax->n_list; j++) {
        if (-(dw_wide)s->values[j] > s->room)
            continue;
        l->order[l->n_cols] = l->n_cols;
        fill_column(s, row_of, s->relax->list[j], l->entries + l->n_cols++ * l->n_rows, cost_row);
    }
    if (ok)
        fill_target(s, row_of, l->target);
    free(row_of);
    return ok;
}

/* --- values that are possible ------------------------------------------------------------------
 */

/* Money >= from that the lattice can give; INT64_MAX / 2: none, `from` where sums overflow. */
static dw_money least_value(struct lattice *l, dw_money base, dw_money from)
{
    size_t n_used = 0;
    bool inside = reduce(l, &n_used);
    if (l->overflow)
        return from;
    if (!inside)
        return INT64_MAX / 2;
    int64_t step = 0, value = base - l->target[l->n_rows - 1];
    for (size_t j = n_used; j < l->n_cols; j++)
        step = dw_gcd__i64(step, column(l, j)[l->n_rows - 1]);
    if (step > 0)
        return value + dw_ceil__div(from - value, step) * step;
    return value >= from ? value : INT64_MAX / 2;
}

/* The number of columns and rows within reach tells whether a larger value changes anything. */
static size_t reach(const struct scope *s)
{
    size_t n = 0;
    for (size_t j = 0; j < s->relax->n_list; j++)
        n += -(dw_wide)s->values[j] <= s->room;
    for (size_t i = 0; i < s->p->n_items; i++)
        n += s->p->items[i].post && !tight(s, s->prices->item[i]);
    for (size_t k = 0; k < s->p->n_stocks; k++)
        n += !tight(s, s->prices->stock[k]);
    for (size_t c = 0; c < s->relax->n_counts; c++)
        n += !tight(s, s->prices->count[c]);
    return n;
}

static bool raise_bound(struct scope *s, struct dw_relaxed *relaxed, dw_money cutoff)
{
    size_t last = SIZE_MAX;
    dw_money possible = relaxed->bound;
    for (int step = 0; step < MAX_VALUES && relaxed->bound < cutoff; step++) {
        s->room = ((dw_wide)relaxed->bound - s->relax->base) * s->prices->scale - relaxed->numer;
        size_t now = reach(s);
        if (now != last || possible < relaxed->bound) {
            struct lattice l = {0};
            bool ok = fill(&l, s);
            possible = ok ? least_value(&l, s->relax->base, relaxed->bound) : 0;
            free(l.entries);
            free(l.order);
            free(l.target);
            if (!ok)
                return false;
        }
        last = now;
        if (possible == relaxed->bound)
            return true;
        relaxed->bound += s->p->grid;
    }
    return true;
}

bool dw_lattice__raise(const struct dw_problem *problem, const struct dw_relax *relax,
                       struct dw_relaxed *relaxed, dw_money cutoff)
{
    struct scope s = {.p = problem, .relax = relax, .prices = &relaxed->prices};
    s.values = calloc(relax->n_list + 1, sizeof *s.values);
    if (!s.values)
        return false;
    for (size_t j = 0; j < relax->n_list; j++)
        s.values[j] = dw_prices__value(problem, &relaxed->prices, relax->list[j]);
    bool ok = raise_bound(&s, relaxed, cutoff);
    free(s.values);
    return ok;
}
