/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Haessler, "Controlling cutting pattern changes in one-dimensional trim problems", Operations
 * Research 23 (1975): layouts are chosen one by one; each must be usable often and waste no more
 * than its share of what may be wasted in all. When none is found, the aspiration to use it often
 * is lowered. Beside waste of length, waste of dual value counts: with sum_i y_i a_i <= v for each
 * layout, the layouts of a plan of b bars may lose b v - sum_i y_i d_i in all. */
#include "solve/plans/few_core.h"

#include <string.h>

#define LAYOUT_STEPS 400 /* of the search for one layout at one level */

struct sequential {
    struct dw_few *few;
    int64_t *demand;                   /* length n: still to be cut */
    int64_t bars;                      /* left */
    int64_t waste;                     /* length that may still be wasted */
    int64_t loss;                      /* dual value that may still be wasted */
    int64_t share;                     /* a layout may use share / 4 times its even share of both */
    int64_t *most;                     /* length n: pieces on a layout */
    int64_t *order;                    /* length n: lengths in the order of the search */
    int64_t *size_below, *value_below; /* length n + 1: of the lengths from there on */
    size_t n_order;
    int64_t *count; /* length n: the layout */
    int64_t max_waste, min_value;
    int64_t steps_left;
};

/* --- one layout ------------------------------------------------------------------------------- */

static bool search(struct sequential *s, size_t j, int64_t room, int64_t value, int64_t pieces)
{
    if (s->steps_left-- <= 0 || room - s->size_below[j] > s->max_waste ||
        value + s->value_below[j] < s->min_value)
        return false;
    if (j == s->n_order)
        return room < s->few->cap && dw_few__credit(s->few, room) != DW_NEVER;
    size_t i = (size_t)s->order[j];
    int64_t size = s->few->size[i];
    int64_t most = room / size < s->most[i] ? room / size : s->most[i];
    most = most < pieces ? most : pieces;
    for (int64_t c = most; c >= 0; c--) {
        s->count[i] = c;
        if (search(s, j + 1, room - c * size, value + c * s->few->value[i], pieces - c))
            return true;
    }
    s->count[i] = 0;
    return false;
}

/* What a layout that is cut `times` times may waste of `total` on each bar. */
static int64_t level(const struct sequential *s, int64_t total, int64_t times)
{
    dw_wide even = (dw_wide)total * s->share / (4 * s->bars);
    dw_wide all = total / times;
    return (int64_t)(even < all && times > 1 ? even : all);
}

/* Looks for a layout that can be cut `times` times. */
static bool find_layout(struct sequential *s, int64_t times)
{
    const struct dw_few *few = s->few;
    size_t n = 0;
    memset(s->count, 0, few->n * sizeof *s->count);
    s->max_waste = level(s, s->waste, times);
    s->min_value = few->most - level(s, s->loss, times);
    for (size_t j = 0; j < s->n_order; j++) {
        size_t i = (size_t)s->order[j];
        s->most[i] = s->demand[i] / times;
        if (s->most[i] > few->cap / few->size[i])
            s->most[i] = few->cap / few->size[i];
        n++;
    }
    s->size_below[n] = s->value_below[n] = 0;
    for (size_t j = n; j-- > 0;) {
        size_t i = (size_t)s->order[j];
        s->size_below[j] = s->size_below[j + 1] + s->most[i] * few->size[i];
        s->value_below[j] = s->value_below[j + 1] + s->most[i] * few->value[i];
    }
    s->steps_left = LAYOUT_STEPS;
    bool found = search(s, 0, few->cap, 0, few->pieces);
    s->few->steps += LAYOUT_STEPS - s->steps_left + (int64_t)n / 2;
    return found;
}

/* --- one after the other ---------------------------------------------------------------------- */

/* Lengths still wanted, longest first, now and then a shorter one before a longer one. */
static void set_order(struct sequential *s)
{
    s->n_order = 0;
    for (size_t i = 0; i < s->few->n; i++)
        if (s->demand[i] > 0)
            s->order[s->n_order++] = (int64_t)i;
    int64_t swaps = dw_random__below(&s->few->random, 4) * dw_random__below(&s->few->random, 3);
    for (int64_t w = 0; w < swaps && s->n_order > 1; w++) {
        size_t j = (size_t)dw_random__below(&s->few->random, (int64_t)s->n_order - 1);
        int64_t other = s->order[j];
        s->order[j] = s->order[j + 1];
        s->order[j + 1] = other;
    }
}

static int64_t waste_of(const struct sequential *s)
{
    int64_t left = s->few->cap;
    for (size_t i = 0; i < s->few->n; i++)
        left -= s->count[i] * s->few->size[i];
    return left;
}

static int64_t loss_of(const struct sequential *s)
{
    int64_t left = s->few->most;
    for (size_t i = 0; i < s->few->n; i++)
        left -= s->count[i] * s->few->value[i];
    return left;
}

/* How often the layout can be cut. */
static int64_t repeats(const struct sequential *s)
{
    int64_t times = s->bars;
    for (size_t i = 0; i < s->few->n; i++)
        if (s->count[i] > 0 && s->demand[i] / s->count[i] < times)
            times = s->demand[i] / s->count[i];
    int64_t waste = waste_of(s), loss = loss_of(s);
    if (waste > 0 && s->waste / waste < times)
        times = s->waste / waste;
    if (loss > 0 && s->loss / loss < times)
        times = s->loss / loss;
    return times;
}

static bool next_layout(struct sequential *s, int64_t *times)
{
    int64_t level_of = 0;
    set_order(s);
    for (size_t i = 0; i < s->few->n; i++)
        level_of = s->demand[i] > level_of ? s->demand[i] : level_of;
    level_of = level_of < s->bars ? level_of : s->bars;
    while (level_of > 0) {
        if (find_layout(s, level_of)) {
            int64_t can = repeats(s);
            *times = can > level_of ? can : level_of;
            return true;
        }
        int64_t step = 1 + level_of / 20;
        int64_t lower = level_of - 1 - dw_random__below(&s->few->random, 2 * step - 1);
        level_of = level_of > 1 && lower < 1 ? 1 : lower;
    }
    return false;
}

static void use(struct sequential *s, int64_t times)
{
    s->bars -= times;
    s->waste -= times * waste_of(s);
    s->loss -= times * loss_of(s);
    for (size_t i = 0; i < s->few->n; i++)
        s->demand[i] -= times * s->count[i];
}

static bool budgets(struct sequential *s)
{
    dw_wide waste = (dw_wide)s->bars * s->few->cap, loss = (dw_wide)s->bars * s->few->most;
    for (size_t i = 0; i < s->few->n; i++) {
        waste -= (dw_wide)s->demand[i] * s->few->size[i];
        loss -= (dw_wide)s->demand[i] * s->few->value[i];
    }
    s->waste = (int64_t)waste;
    s->loss = loss > 0 ? (int64_t)loss : 0;
    return waste >= 0 && waste < INT64_MAX / 64 && loss < INT64_MAX / 64;
}

bool dw_few__sequential(struct dw_few *few, int64_t *demand, int64_t bars, struct dw_few_set *out,
                        int64_t *scratch)
{
    static const int64_t shares[] = {4, 5, 6, 8, 12, 24};
    struct sequential s = {.few = few, .demand = demand, .bars = bars};
    s.most = scratch;
    s.order = s.most + few->n;
    s.size_below = s.order + few->n;
    s.value_below = s.size_below + few->n + 1;
    s.share = shares[dw_random__below(&few->random, sizeof shares / sizeof shares[0])];
    out->n_layouts = 0;
    if (!budgets(&s))
        return false;
    for (;;) {
        bool more = false;
        for (size_t i = 0; i < few->n; i++)
            more = more || demand[i] > 0;
        if (!more)
            return true;
        int64_t times = 0;
        s.count = out->count + out->n_layouts * few->n;
        if (out->n_layouts == out->room || s.bars <= 0 || few->steps >= few->end ||
            !next_layout(&s, &times))
            return false;
        use(&s, times);
        out->bars[out->n_layouts++] = times;
    }
}
