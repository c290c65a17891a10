/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounds on what a job costs on a set of lengths, by the surrogate cover problem. */
#include "solve/choose/lengths.h"

#include <stdlib.h>
#include <string.h>

#define GRID 16384 /* units in the longest bar */

/* --- how full a bar can be cut
 * ---------------------------------------------------------------------
 *
 * Sizes l_i + w, bars U_k + w. Both are rounded down to the grid: whatever fits a bar in nanometres
 * fits it on the grid, so the fullest on the grid is an upper bound. */

dw_length dw_lengths__capacity(const struct dw_lengths__case *c, size_t k)
{
    const struct dw_supply *supply = &c->job->supplies[c->supplies[k]];
    dw_length usable = dw_supply_usable(supply), tail = dw_supply_tail(&c->job->saw, supply);
    dw_length room = tail > 0 ? usable - tail : usable + c->job->saw.kerf;
    return room > 0 ? room : 0;
}

static dw_length grid_unit(const struct dw_lengths__case *c)
{
    dw_length most = 1;
    for (size_t k = 0; k < c->n; k++) {
        if (dw_lengths__capacity(c, k) > most)
            most = dw_lengths__capacity(c, k);
    }
    return most / GRID + 1;
}

/* best[s] = max(best[s], best[s - size] + weight): one more item. */
static void add_item(int64_t *best, int64_t size, int64_t weight)
{
    for (int64_t s = GRID; s >= size; s--) {
        int64_t with = best[s - size] + weight;
        if (with > best[s])
            best[s] = with;
    }
}

/* count copies as 1 + 2 + 4 + ... + rest. */
static void add_copies(int64_t *best, int64_t size, int64_t weight, int64_t count)
{
    if (size > 0 && count > GRID / size)
        count = GRID / size;
    for (int64_t some = 1; count > 0; some *= 2) {
        int64_t taken = some < count ? some : count;
        add_item(best, size * taken, weight * taken);
        count -= taken;
    }
}

/* A piece longer than every bar counts as one of the longest; no set serves it anyway. */
static int64_t grid_size(const struct dw_lengths__case *c, const struct dw_part *part)
{
    dw_length size = (part->min + c->job->saw.kerf) / grid_unit(c);
    return size < GRID ? size : GRID;
}

/* z_k = max sum v_i a_i over what fits a bar of k. Weights are at most GRID: all sums fit. */
static void add_view(struct dw_lengths__case *c, struct dw_lengths__past *past,
                     const int64_t *weights)
{
    struct dw_lengths__view *view = &past->views[past->n_views++];
    dw_length unit = grid_unit(c);
    *view = (struct dw_lengths__view){0};
    memset(c->table, 0, (GRID + 1) * sizeof *c->table);
    for (size_t i = 0; i < past->n_parts; i++) {
        int64_t count = past->parts[i]->count;
        view->demand += weights[i] * count;
        add_copies(c->table, grid_size(c, past->parts[i]), weights[i], count);
    }
    for (size_t k = 0; k < c->n; k++)
        view->fill[k] = c->table[dw_lengths__capacity(c, k) / unit];
}

/* Weights brought down to at most GRID each, rounded: other weights, and as good. */
void dw_lengths__learn(struct dw_lengths__case *c, struct dw_lengths__past *past,
                       const int64_t *weights)
{
    int64_t most = 0;
    for (size_t i = 0; i < past->n_parts; i++)
        most = weights[i] > most ? weights[i] : most;
    int64_t *small =
        most > 0 && past->n_views < DW_LENGTHS_VIEWS ? calloc(past->n_parts, sizeof *small) : NULL;
    if (!small) /* no memory: one bound less */
        return;
    for (size_t i = 0; i < past->n_parts; i++)
        dw_muldiv__i64(weights[i], GRID, most, &small[i]);
    add_view(c, past, small);
    free(small);
}

dw_err dw_lengths__fill(struct dw_lengths__case *c, struct dw_error *error)
{
    c->table = dw_arena__alloc(c->arena, GRID + 1, sizeof *c->table);
    if (!c->table)
        return dw_error__nomem(error);
    for (size_t j = 0; j < c->n_past; j++) {
        struct dw_lengths__past *past = &c->past[j];
        int64_t *sizes = calloc(past->n_parts, sizeof *sizes);
        if (!sizes)
            return dw_error__nomem(error);
        for (size_t i = 0; i < past->n_parts; i++)
            sizes[i] = grid_size(c, past->parts[i]);
        add_view(c, past, sizes);
        free(sizes);
    }
    return DW_OK;
}

/* --- the cover problem
 * ------------------------------------------------------------------------------- */

/* min sum c_k n_k, sum z_k n_k >= demand, depth first over lengths by their price a unit. */
struct cover {
    size_t n;
    int64_t fill[DW_LENGTHS_MOST];
    dw_money price[DW_LENGTHS_MOST]; /* c_k >= 0, by c_k / z_k increasing */
    size_t length[DW_LENGTHS_MOST];  /* which length of the catalogue */
    int64_t bars[DW_LENGTHS_MOST];   /* n_k under way */
    int64_t chosen[DW_LENGTHS_MOST]; /* of the best */
    dw_money best;
    int64_t nodes;
};

#define MOST_NODES                                                                                 \
    2000 /* then what is found so far is a bound no more: the relaxation is taken                  \
          */

/* floor(c demand / z): the relaxation, as later lengths cost more a unit. */
static dw_money relaxed(const struct cover *cover, size_t k, int64_t demand)
{
    int64_t down = 0;
    if (!dw_muldiv__i64(demand, cover->price[k], cover->fill[k], &down))
        return 0;
    return down;
}

static void search(struct cover *cover, size_t k, int64_t demand, dw_money money)
{
    if (demand <= 0) {
        if (money < cover->best) {
            cover->best = money;
            memcpy(cover->chosen, cover->bars, sizeof cover->chosen);
        }
        return;
    }
    if (k == cover->n || ++cover->nodes > MOST_NODES)
        return;
    if (money + relaxed(cover, k, demand) >= cover->best)
        return;
    for (int64_t n = dw_ceil__div(demand, cover->fill[k]); n >= 0; n--) {
        cover->bars[k] = n;
        search(cover, k + 1, demand - n * cover->fill[k], money + n * cover->price[k]);
    }
    cover->bars[k] = 0;
}

/* Inserts length k in its place by price a unit. */
static void add_length(struct cover *cover, size_t k, int64_t fill, dw_money price)
{
    size_t at = cover->n++;
    while (at > 0 && (long double)cover->price[at - 1] * (long double)fill >
                         (long double)price * (long double)cover->fill[at - 1]) {
        cover->fill[at] = cover->fill[at - 1];
        cover->price[at] = cover->price[at - 1];
        cover->length[at] = cover->length[at - 1];
        at--;
    }
    cover->fill[at] = fill;
    cover->price[at] = price;
    cover->length[at] = k;
}

/* Solves the cover problem of a view; false: nothing to cover with. */
static bool solve_cover(const struct dw_lengths__case *c, const struct dw_lengths__view *view,
                        uint32_t set, struct cover *cover)
{
    *cover = (struct cover){.best = DW_LENGTHS_NEVER};
    for (size_t k = 0; k < c->n; k++) {
        if (set >> k & 1 && view->fill[k] > 0)
            add_length(cover, k, view->fill[k], c->price[k]);
    }
    if (cover->n > 0)
        search(cover, 0, view->demand, 0);
    return cover->n > 0;
}

bool dw_lengths__cover(const struct dw_lengths__case *c, const struct dw_lengths__view *view,
                       uint32_t set, int64_t bars[DW_LENGTHS_MOST])
{
    struct cover cover;
    memset(bars, 0, DW_LENGTHS_MOST * sizeof *bars);
    if (!solve_cover(c, view, set, &cover) || cover.nodes > MOST_NODES)
        return false;
    for (size_t i = 0; i < cover.n; i++)
        bars[cover.length[i]] = cover.chosen[i];
    return true;
}

/* The least money of bars that cover a view. */
static dw_money cover_view(const struct dw_lengths__case *c, const struct dw_lengths__view *view,
                           uint32_t set)
{
    struct cover cover;
    if (!solve_cover(c, view, set, &cover))
        return 0;
    dw_money least = relaxed(&cover, 0, view->demand);
    return cover.nodes > MOST_NODES || cover.best < least ? least : cover.best;
}

dw_money dw_lengths__bound(const struct dw_lengths__case *c, const struct dw_lengths__past *past,
                           uint32_t set, size_t n_views)
{
    bool serves = false;
    for (size_t k = 0; k < c->n; k++)
        serves |=
            set >> k & 1 && dw_supply_usable(&c->job->supplies[c->supplies[k]]) >= past->longest;
    if (!serves)
        return DW_LENGTHS_NEVER;
    dw_money bars = 0;
    for (size_t v = 0; v < n_views; v++) {
        dw_money money = cover_view(c, &past->views[v], set);
        bars = money > bars ? money : bars;
    }
    return bars + past->n_pieces * c->job->saw.cut_cost;
}
