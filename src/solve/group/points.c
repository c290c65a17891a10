/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lengths that can be left, found by forward reaching. */
#include "solve/group/points.h"

#include <stdlib.h>
#include <string.h>

struct reaching {
    const struct dw_problem *p;
    const struct dw_bar_kind *kind;
    size_t most;
    struct dw_points *points;
    size_t capacity;
    int64_t *x;      /* length points->n */
    uint32_t *slots; /* length points->n_slots */
    size_t *reach;
    size_t total; /* points of all orders so far */
};

static size_t slot_of(const uint32_t *slots, size_t n_slots, const int64_t *x, int64_t value)
{
    uint64_t hash = (uint64_t)value * UINT64_C(0x9e3779b97f4a7c15);
    size_t slot = (size_t)(hash >> 20) & (n_slots - 1);
    while (slots[slot] && x[slots[slot] - 1] != value)
        slot = (slot + 1) & (n_slots - 1);
    return slot;
}

uint32_t dw_points__find(const struct dw_points *points, int64_t x)
{
    return points->slots[slot_of(points->slots, points->n_slots, points->x, x)] - 1;
}

/* --- reaching ------------------------------------------------------------------------------- */

static bool grow_slots(struct reaching *r)
{
    struct dw_points *points = r->points;
    size_t n_slots = points->n_slots ? 2 * points->n_slots : 1024;
    uint32_t *slots = calloc(n_slots, sizeof *slots);
    if (!slots)
        return false;
    for (size_t i = 0; r->x && i < points->n; i++)
        slots[slot_of(slots, n_slots, r->x, r->x[i])] = (uint32_t)i + 1;
    free(r->slots);
    r->slots = slots;
    points->n_slots = n_slots;
    return true;
}

/* *at: the number of the point. false: no memory. */
static bool reach(struct reaching *r, int64_t x, size_t *at)
{
    struct dw_points *points = r->points;
    if ((!r->slots || 2 * (points->n + 1) > points->n_slots) && !grow_slots(r))
        return false;
    size_t slot = slot_of(r->slots, points->n_slots, r->x, x);
    if (!r->slots[slot]) {
        if (!dw_array__grow(&r->x, &r->capacity, points->n + 1, sizeof *r->x))
            return false;
        r->x[points->n++] = x;
        r->slots[slot] = (uint32_t)points->n;
    }
    *at = r->slots[slot] - 1;
    return true;
}

static bool reach_bars(struct reaching *r)
{
    const struct dw_problem *p = r->p;
    size_t at;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_bar_stock *stock = &p->stocks[k];
        if (&p->kinds[stock->kind] != r->kind)
            continue;
        if (stock->n_firsts == 0 && !reach(r, stock->cap, &at))
            return false;
        for (size_t f = 0; f < stock->n_firsts; f++)
            if (stock->firsts[f].size <= stock->cap &&
                !reach(r, stock->cap - stock->firsts[f].size, &at))
                return false;
    }
    return true;
}

/* Points never become fewer: every order from j on has as many as there are now. */
static bool may_fit(const struct reaching *r, size_t j)
{
    return r->total + (r->kind->n_items - j) * r->points->n <= r->most;
}

/* Up to as many pieces of order j as are wanted, off every point so far: only down to the next such
 * point, for what lies below that is reached from there. Cost: O(points). */
static bool reach_item(struct reaching *r, size_t j)
{
    const struct dw_item *item = &r->p->items[r->kind->order[j]];
    size_t n = r->points->n;
    for (size_t i = 0; r->x && i < n && may_fit(r, j); i++) {
        size_t at = n;
        for (int64_t a = 1; a <= item->count && a * item->size <= r->x[i] && at >= n; a++)
            if (!reach(r, r->x[i] - a * item->size, &at))
                return false;
    }
    return true;
}

/* *fits: within the limit. false: no memory. */
static bool reach_all(struct reaching *r, bool *fits)
{
    *fits = true;
    if (!reach_bars(r))
        return false;
    r->reach[0] = r->total = r->points->n;
    for (size_t j = 0; j < r->kind->n_items && *fits; j++) {
        if (!reach_item(r, j))
            return false;
        *fits = may_fit(r, j);
        r->reach[j + 1] = r->points->n;
        r->total += r->points->n;
    }
    return true;
}

/* --- what is kept --------------------------------------------------------------------------- */

static bool make_next(struct reaching *r, size_t j)
{
    struct dw_points *points = r->points;
    size_t n = points->reach[j + 1];
    int64_t size = r->p->items[r->kind->order[j]].size;
    uint32_t *next = dw_arena__alloc(r->p->arena, n, sizeof *next);
    if (!next)
        return false;
    for (size_t i = 0; i < n; i++) {
        next[i] =
            points->x[i] < size ? DW_POINT_NONE : dw_points__find(points, points->x[i] - size);
        if (next[i] >= n)
            next[i] = DW_POINT_NONE;
    }
    points->next[j] = next;
    return true;
}

struct placed {
    int64_t x;
    uint32_t point;
};

static int compare_placed(const void *a, const void *b)
{
    const struct placed *p = a, *q = b;
    return (p->x > q->x) - (p->x < q->x);
}

static bool make_rising(struct reaching *r)
{
    struct dw_points *points = r->points;
    struct placed *placed = calloc(points->n + 1, sizeof *placed);
    points->rising = dw_arena__alloc(r->p->arena, points->n, sizeof *points->rising);
    bool ok = placed && points->rising;
    for (size_t i = 0; ok && i < points->n; i++)
        placed[i] = (struct placed){points->x[i], (uint32_t)i};
    if (ok)
        qsort(placed, points->n, sizeof *placed, compare_placed);
    for (size_t i = 0; ok && i < points->n; i++)
        points->rising[i] = placed[i].point;
    free(placed);
    return ok;
}

static bool keep(struct reaching *r)
{
    struct dw_points *points = r->points;
    struct dw_arena *arena = r->p->arena;
    size_t n_items = r->kind->n_items;
    points->x = dw_arena__alloc(arena, points->n, sizeof *points->x);
    points->reach = dw_arena__alloc(arena, n_items + 1, sizeof *points->reach);
    points->next = dw_arena__alloc(arena, n_items, sizeof *points->next);
    points->slots = dw_arena__alloc(arena, points->n_slots, sizeof *points->slots);
    if (!points->x || !points->reach || !points->next || !points->slots)
        return false;
    memcpy(points->x, r->x, points->n * sizeof *points->x);
    memcpy(points->reach, r->reach, (n_items + 1) * sizeof *points->reach);
    memcpy(points->slots, r->slots, points->n_slots * sizeof *points->slots);
    for (size_t j = 0; j < n_items; j++)
        if (!make_next(r, j))
            return false;
    return make_rising(r);
}

bool dw_points__make(const struct dw_problem *problem, size_t kind, size_t most,
                     struct dw_points **out)
{
    struct reaching r = {.p = problem, .kind = &problem->kinds[kind], .most = most};
    bool fits = false;
    *out = NULL;
    r.points = dw_arena__alloc(problem->arena, 1, sizeof *r.points);
    r.reach = calloc(r.kind->n_items + 1, sizeof *r.reach);
    bool ok = r.points && r.reach && reach_all(&r, &fits);
    fits = fits && r.x && r.slots;
    if (ok && fits)
        ok = keep(&r);
    if (ok && fits)
        *out = r.points;
    free(r.x);
    free(r.slots);
    free(r.reach);
    return ok;
}
