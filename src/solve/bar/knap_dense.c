/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded knapsack by dynamic programming (Bellman 1957), 32-bit values, several lanes at a time.
 */
#include "solve/bar/knap_inner.h"

#include <stdlib.h>
#include <string.h>

enum { LANES = 16 };
typedef int32_t lanes __attribute__((vector_size(LANES * sizeof(int32_t)), aligned(4), may_alias));

#define INLINE static inline __attribute__((always_inline))

/* out[t] = max(old[t], in[t] + p), t < n; old may be out. */
INLINE void max_sum(int32_t *out, const int32_t *old, const int32_t *in, size_t n, int32_t p)
{
    size_t t = 0;
    for (; t + LANES <= n; t += LANES) {
        lanes sum = *(const lanes *)(in + t) + p, was = *(const lanes *)(old + t);
        lanes more = sum > was;
        *(lanes *)(out + t) = (sum & more) | (was & ~more);
    }
    for (; t < n; t++)
        out[t] = in[t] + p > old[t] ? in[t] + p : old[t];
}

INLINE void add_type(int32_t *out, const int32_t *in, size_t cells, size_t size, int64_t top,
                     int32_t p)
{
    memcpy(out, in, size * sizeof *out);
    max_sum(out + size, in + size, in, cells - size, p);
    for (size_t k = 2; k <= (size_t)top; k++)
        max_sum(out + k * size, out + k * size, in, cells - k * size, (int32_t)k * p);
}

#ifdef __x86_64__
__attribute__((target("avx2"))) static void
add_type_wide(int32_t *out, const int32_t *in, size_t cells, size_t size, int64_t top, int32_t p)
{
    add_type(out, in, cells, size, top, p);
}

static int wide(void)
{
    return __builtin_cpu_supports("avx2");
}
#else
#define add_type_wide add_type
static int wide(void)
{
    return 0;
}
#endif

void dw_knap__add_type(int32_t *out, const int32_t *in, size_t cells, size_t size, int64_t top,
                       int32_t p)
{
    if (wide())
        add_type_wide(out, in, cells, size, top, p);
    else
        add_type(out, in, cells, size, top, p);
}

/* Cost: O(capacity sum b_i). */
int64_t dw_knap__dense(struct dw_knap *knap, struct dw_effort *effort)
{
    size_t cells = knap->cells;
    int64_t steps = 0;
    for (size_t t = 0; t < cells; t++)
        knap->table[t] = t <= knap->slack ? 0 : DW_KNAP_NONE;
    for (size_t j = 0; j < knap->n_active; j++) {
        size_t type = knap->active[j], size = (size_t)knap->size[type];
        int32_t *in = knap->table + j * cells, *out = in + cells;
        int32_t p = (int32_t)knap->value[type];
        dw_knap__add_type(out, in, cells, size, knap->top[type], p);
        steps += 1 + knap->top[type];
        if (steps * (int64_t)cells > 4000000) {
            if (dw_effort__spend(effort, steps * (int64_t)cells / 4000))
                return DW_KNAP_STOPPED;
            steps = 0;
        }
    }
    if (dw_effort__spend(effort, 1 + steps * (int64_t)cells / 4000))
        return DW_KNAP_STOPPED;
    return knap->table[knap->n_active * cells + cells - 1];
}

/* Appends the best layout of the first j active types within length t to items[n..). New n. */
static size_t walk_back(struct dw_knap *knap, size_t j, size_t t, size_t n)
{
    for (; j > 0; j--) {
        const int32_t *in = knap->table + (j - 1) * knap->cells, *out = in + knap->cells;
        size_t type = knap->active[j - 1], size = (size_t)knap->size[type];
        int32_t p = (int32_t)knap->value[type], k = 0;
        while (out[t] != in[t - (size_t)k * size] + k * p)
            k++;
        if (k > 0)
            knap->items[n++] = (struct dw_type_count){type, k};
        t -= (size_t)k * size;
    }
    return n;
}

struct candidate {
    int32_t value;
    int32_t copies;
    size_t row; /* of the shortest of the layout among the active */
};

static int by_value(const void *a, const void *b)
{
    const struct candidate *x = a, *y = b;
    if (x->value != y->value)
        return x->value < y->value ? 1 : -1;
    return x->row > y->row ? 1 : -1;
}

/* The best layout with the active type j as its shortest. */
static struct candidate best_with(const struct dw_knap *knap, size_t j)
{
    struct candidate best = {INT32_MIN, 0, j};
    size_t type = knap->active[j];
    const int32_t *in = knap->table + j * knap->cells;
    for (int32_t k = 1; k <= (int32_t)knap->top[type]; k++) {
        size_t used = (size_t)k * (size_t)knap->size[type];
        int32_t value = in[knap->cells - 1 - used] + k * (int32_t)knap->value[type];
        if (value > best.value)
            best = (struct candidate){value, k, j};
    }
    return best;
}

static bool add_candidate(struct dw_knap *knap, const struct candidate *one,
                          struct dw_layout_list *list)
{
    size_t type = knap->active[one->row];
    size_t used = (size_t)one->copies * (size_t)knap->size[type];
    knap->items[0] = (struct dw_type_count){type, one->copies};
    size_t n = walk_back(knap, one->row, knap->cells - 1 - used, 1);
    for (size_t i = 0; i < n / 2; i++) {
        struct dw_type_count swap = knap->items[i];
        knap->items[i] = knap->items[n - 1 - i];
        knap->items[n - 1 - i] = swap;
    }
    return dw_layout_list__add(list, 1, knap->items, n);
}

bool dw_knap__dense_layouts(struct dw_knap *knap, int64_t least, size_t most,
                            struct dw_layout_list *list)
{
    struct candidate *found = malloc((knap->n_active + 1) * sizeof *found);
    bool ok = found != NULL;
    size_t n = 0;
    for (size_t j = 0; ok && j < knap->n_active; j++) {
        struct candidate one = best_with(knap, j);
        if (one.value > least)
            found[n++] = one;
    }
    if (ok)
        qsort(found, n, sizeof *found, by_value);
    for (size_t k = 0; ok && k < n && k < most; k++)
        ok = add_candidate(knap, &found[k], list);
    free(found);
    return ok;
}

/* --- all layouts of a value ------------------------------------------------------------------ */

struct walk {
    struct dw_knap *knap;
    struct dw_layout_list *list;
    size_t type; /* its copies are chosen first */
    int64_t least, limit, found;
    int64_t steps; /* still to be spent */
    size_t n_items;
    bool maximal;
    bool failed;
};

static void walk_on(struct walk *walk, size_t j, size_t t, int64_t value);

static int64_t spare_copies(const struct walk *walk, size_t type)
{
    int64_t copies = walk->knap->top[type];
    for (size_t k = 0; k < walk->n_items; k++)
        if (walk->knap->items[k].type == type)
            copies -= walk->knap->items[k].count;
    return copies;
}

/* A piece of the layout could give its place to a longer one that is not on it. */
static bool can_lengthen(const struct walk *walk, size_t type, int64_t room)
{
    const struct dw_knap *knap = walk->knap;
    for (size_t q = type; q > 0 && knap->size[q - 1] - knap->size[type] <= room; q--)
        if (knap->top[q - 1] > 0 && spare_copies(walk, q - 1) > 0)
            return true;
    return false;
}

/* Exchanging a piece for a longer one of another bar, or taking one over, keeps a plan a plan and
 * fills this bar more; so only layouts where neither is possible need be tried, of those that keep
 * walk->type (Martello, Toth 1990). */
static bool dominated(const struct walk *walk, int64_t room)
{
    const struct dw_knap *knap = walk->knap;
    for (size_t r = knap->n_active; r > 0 && knap->size[knap->active[r - 1]] <= room; r--)
        if (spare_copies(walk, knap->active[r - 1]) > 0)
            return true;
    for (size_t k = 0; k < walk->n_items; k++) {
        const struct dw_type_count *item = &knap->items[k];
        if ((item->type != walk->type || item->count > 1) && can_lengthen(walk, item->type, room))
            return true;
    }
    return false;
}

/* k copies of the active type j - 1, then those before. */
static void walk_with(struct walk *walk, size_t j, size_t t, int64_t value)
{
    struct dw_knap *knap = walk->knap;
    size_t type = knap->active[j - 1], size = (size_t)knap->size[type];
    for (int64_t k = 1; k <= knap->top[type] && (size_t)k * size <= t; k++) {
        knap->items[walk->n_items++] = (struct dw_type_count){type, k};
        walk_on(walk, j - 1, t - (size_t)k * size, value + k * knap->value[type]);
        walk->n_items--;
    }
}

/* Every completion by the first j active types, but for walk->type, within length t. row j [t]
 * bounds what they can add. */
static void walk_on(struct walk *walk, size_t j, size_t t, int64_t value)
{
    struct dw_knap *knap = walk->knap;
    while (j > 0 && walk->found <= walk->limit && !walk->failed) {
        if (--walk->steps < 0)
            walk->found = walk->limit + 1; /* as good as too many */
        if (value + knap->table[j * knap->cells + t] < walk->least)
            return;
        if (knap->active[j - 1] != walk->type)
            walk_with(walk, j, t, value);
        j--;
    }
    if (j > 0 || t > knap->slack || value < walk->least || walk->found > walk->limit)
        return;
    if (walk->maximal && t > 0 && dominated(walk, (int64_t)t))
        return;
    walk->found++;
    walk->failed |= !dw_layout_list__add(walk->list, 1, knap->items, walk->n_items);
}

static int by_type(const void *a, const void *b)
{
    const struct dw_type_count *x = a, *y = b;
    return x->type < y->type ? -1 : x->type > y->type;
}

int64_t dw_knap__list(struct dw_knap *knap, size_t type, int64_t least, int64_t limit, bool maximal,
                      struct dw_layout_list *list)
{
    /* With little waste allowed few walks end in a layout, but knowing them all is worth more. */
    const int64_t effort = knap->slack < knap->cells / 8 ? 5 : 1;
    const int64_t steps = effort * (1000 + 100 * limit);
    struct walk walk = {knap, list, type, least, limit, 0, steps, 1, maximal, false};
    size_t first = list->n, size = (size_t)knap->size[type];
    for (int64_t k = 1; k <= knap->top[type]; k++) {
        knap->items[0] = (struct dw_type_count){type, k};
        walk_on(&walk, knap->n_active, knap->cells - 1 - (size_t)k * size, k * knap->value[type]);
    }
    for (size_t k = first; k < list->n; k++)
        qsort(list->items + list->cuts[k].first, list->cuts[k].n, sizeof *list->items, by_type);
    knap->walked += steps - walk.steps;
    return walk.failed ? -1 : walk.found;
}

int64_t dw_knap__all(struct dw_knap *knap, int64_t least, int64_t limit,
                     struct dw_layout_list *list)
{
    const int64_t steps = 100000 + 500 * limit;
    struct walk walk = {knap, list, SIZE_MAX, least, limit, 0, steps, 0, false, false};
    size_t first = list->n;
    walk_on(&walk, knap->n_active, knap->cells - 1, 0);
    for (size_t k = first; k < list->n; k++)
        qsort(list->items + list->cuts[k].first, list->cuts[k].n, sizeof *list->items, by_type);
    knap->walked += steps - walk.steps;
    return walk.failed ? -1 : walk.found;
}
