/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded knapsack by dynamic programming (Bellman 1957), 32-bit values, several lanes at a time.
 */
#include "solve/knap_inner.h"

#include <stdlib.h>
#include <string.h>

enum { LANES = 16 };
typedef int32_t lanes __attribute__((vector_size(LANES * sizeof(int32_t)), aligned(4), may_alias));

#define INLINE static inline __attribute__((always_inline))

/* out[t] = max(out[t], in[t] + p), t < n. */
INLINE void max_sum(int32_t *out, const int32_t *in, size_t n, int32_t p)
{
    size_t t = 0;
    for (; t + LANES <= n; t += LANES) {
        lanes sum = *(const lanes *)(in + t) + p, old = *(lanes *)(out + t);
        lanes more = sum > old;
        *(lanes *)(out + t) = (sum & more) | (old & ~more);
    }
    for (; t < n; t++)
        if (in[t] + p > out[t])
            out[t] = in[t] + p;
}

INLINE void add_type(int32_t *out, const int32_t *in, size_t cells, size_t size, int64_t top,
                     int32_t p)
{
    memcpy(out, in, cells * sizeof *out);
    for (size_t k = 1; k <= (size_t)top; k++)
        max_sum(out + k * size, in, cells - k * size, (int32_t)k * p);
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

/* Cost: O(capacity sum b_i). */
int64_t dw_knap__dense(struct dw_knap *knap, struct dw_csp__state *state)
{
    size_t cells = knap->cells;
    int64_t steps = 0;
    for (size_t t = 0; t < cells; t++)
        knap->table[t] = t <= knap->slack ? 0 : DW_KNAP_NONE;
    for (size_t j = 0; j < knap->n; j++) {
        int32_t *in = knap->table + j * cells, *out = in + cells;
        int32_t p = (int32_t)knap->value[j];
        if (wide())
            add_type_wide(out, in, cells, (size_t)knap->size[j], knap->top[j], p);
        else
            add_type(out, in, cells, (size_t)knap->size[j], knap->top[j], p);
        steps += 1 + knap->top[j];
        if (steps * (int64_t)cells > 4000000) {
            if (!dw_csp__spend(state, steps * (int64_t)cells / 4000))
                return DW_KNAP_STOPPED;
            steps = 0;
        }
    }
    if (!dw_csp__spend(state, 1 + steps * (int64_t)cells / 4000))
        return DW_KNAP_STOPPED;
    return knap->table[knap->n * cells + cells - 1];
}

/* Appends the best layout of the first j types within length t to items[n..). New n. */
static size_t walk_back(struct dw_knap *knap, size_t j, size_t t, size_t n)
{
    for (; j > 0; j--) {
        const int32_t *in = knap->table + (j - 1) * knap->cells, *out = in + knap->cells;
        size_t size = (size_t)knap->size[j - 1];
        int32_t p = (int32_t)knap->value[j - 1], k = 0;
        while (out[t] != in[t - (size_t)k * size] + k * p)
            k++;
        if (k > 0)
            knap->items[n++] = (struct dw_csp_item){j - 1, k};
        t -= (size_t)k * size;
    }
    return n;
}

struct candidate {
    int32_t value;
    int32_t copies;
    size_t type; /* the shortest of the layout */
};

static int by_value(const void *a, const void *b)
{
    const struct candidate *x = a, *y = b;
    if (x->value != y->value)
        return x->value < y->value ? 1 : -1;
    return x->type > y->type ? 1 : -1;
}

/* The best layout with type j as its shortest. */
static struct candidate best_with(const struct dw_knap *knap, size_t j)
{
    struct candidate best = {INT32_MIN, 0, j};
    const int32_t *in = knap->table + j * knap->cells;
    for (int32_t k = 1; k <= (int32_t)knap->top[j]; k++) {
        size_t used = (size_t)k * (size_t)knap->size[j];
        int32_t value = in[knap->cells - 1 - used] + k * (int32_t)knap->value[j];
        if (value > best.value)
            best = (struct candidate){value, k, j};
    }
    return best;
}

static bool add_candidate(struct dw_knap *knap, const struct candidate *one,
                          struct dw_csp__list *list)
{
    size_t used = (size_t)one->copies * (size_t)knap->size[one->type];
    knap->items[0] = (struct dw_csp_item){one->type, one->copies};
    size_t n = walk_back(knap, one->type, knap->cells - 1 - used, 1);
    for (size_t i = 0; i < n / 2; i++) {
        struct dw_csp_item swap = knap->items[i];
        knap->items[i] = knap->items[n - 1 - i];
        knap->items[n - 1 - i] = swap;
    }
    return dw_csp__list_add(list, 1, knap->items, n);
}

bool dw_knap__dense_layouts(struct dw_knap *knap, int64_t least, size_t most,
                            struct dw_csp__list *list)
{
    struct candidate *found = malloc((knap->n + 1) * sizeof *found);
    bool ok = found != NULL;
    size_t n = 0;
    for (size_t j = 0; ok && j < knap->n; j++) {
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
    struct dw_csp__list *list;
    size_t type; /* its copies are chosen first */
    int64_t least, limit, found;
    size_t n_items;
    bool failed;
};

static void walk_on(struct walk *walk, size_t j, size_t t, int64_t value);

/* k copies of type j - 1, then the types before. */
static void walk_with(struct walk *walk, size_t j, size_t t, int64_t value)
{
    struct dw_knap *knap = walk->knap;
    size_t size = (size_t)knap->size[j - 1];
    for (int64_t k = 1; k <= knap->top[j - 1] && (size_t)k * size <= t; k++) {
        knap->items[walk->n_items++] = (struct dw_csp_item){j - 1, k};
        walk_on(walk, j - 1, t - (size_t)k * size, value + k * knap->value[j - 1]);
        walk->n_items--;
    }
}

/* Every completion by the first j types, but for walk->type, within length t. row j [t] bounds what
 * they can add. */
static void walk_on(struct walk *walk, size_t j, size_t t, int64_t value)
{
    struct dw_knap *knap = walk->knap;
    while (j > 0 && walk->found <= walk->limit && !walk->failed) {
        if (value + knap->table[j * knap->cells + t] < walk->least)
            return;
        if (j - 1 != walk->type && knap->top[j - 1] > 0)
            walk_with(walk, j, t, value);
        j--;
    }
    if (j > 0 || t > knap->slack || value < walk->least || walk->found > walk->limit)
        return;
    walk->found++;
    walk->failed |= !dw_csp__list_add(walk->list, 1, knap->items, walk->n_items);
}

static int by_type(const void *a, const void *b)
{
    const struct dw_csp_item *x = a, *y = b;
    return x->type < y->type ? -1 : x->type > y->type;
}

int64_t dw_knap__list(struct dw_knap *knap, size_t type, int64_t least, int64_t limit,
                      struct dw_csp__list *list)
{
    struct walk walk = {knap, list, type, least, limit, 0, 1, false};
    size_t first = list->n, size = (size_t)knap->size[type];
    for (int64_t k = 1; k <= knap->top[type]; k++) {
        knap->items[0] = (struct dw_csp_item){type, k};
        walk_on(&walk, knap->n, knap->cells - 1 - (size_t)k * size, k * knap->value[type]);
    }
    for (size_t k = first; k < list->n; k++)
        qsort(list->items + list->cuts[k].first, list->cuts[k].n, sizeof *list->items, by_type);
    return walk.failed ? -1 : walk.found;
}
