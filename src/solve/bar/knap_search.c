/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded knapsack by depth-first branch and bound over the types in order of value a length
 * (Gilmore, Gomory 1963; Horowitz, Sahni 1974): insensitive to the capacity. Two bounds on what the
 * types to come can add: all the room at the worth of the next, and the knapsack over lengths
 * rounded down to cells, which is close where few pieces share a bar:
 *
 *   sum l_i a_i <= room   implies   sum floor(l_i / g) a_i <= floor(room / g). */
#include "solve/bar/knap_inner.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct ranked {
    int64_t value, size;
    size_t type;
};

/* Decreasing value / size, compared crosswise; values and sizes multiply within 2^62. */
static int by_worth(const void *a, const void *b)
{
    const struct ranked *x = a, *y = b;
    int64_t left = x->value * y->size, right = y->value * x->size;
    if (left != right)
        return left < right ? 1 : -1;
    return x->type < y->type ? -1 : 1;
}

static size_t sort_types(const struct dw_knap *knap, struct ranked *ranked)
{
    size_t n = 0;
    for (size_t i = 0; i < knap->n; i++)
        if (knap->value[i] > 0 && knap->top[i] > 0)
            ranked[n++] = (struct ranked){knap->value[i], knap->size[i], i};
    qsort(ranked, n, sizeof *ranked, by_worth);
    for (size_t d = 0; d < n; d++)
        knap->order[d] = ranked[d].type;
    return n;
}

struct node {
    size_t depth;
    int64_t value, room;
};

/* Row j [t] = most that the last j types of the order add within t cells, in units of 2^shift,
 * values rounded up. */
struct coarse {
    const int32_t *rows; /* n + 1 rows of cells + 1, or NULL: none */
    size_t cells;
    int64_t grain; /* lengths a cell, g */
    int shift;
};

static int64_t above(const struct coarse *coarse, const struct ranked *ranked, size_t n,
                     const struct node *node)
{
    if (node->depth == n)
        return node->value;
    const struct ranked *next = &ranked[node->depth];
    int64_t worth = node->room * next->value / next->size;
    if (coarse->rows) {
        size_t row = (n - node->depth) * (coarse->cells + 1);
        int64_t most = (int64_t)coarse->rows[row + (size_t)(node->room / coarse->grain)]
                       << coarse->shift;
        worth = most < worth ? most : worth;
    }
    return node->value + worth;
}

/* So that no entry passes 2^30: rounding down at most halves the pieces of a cell or more, and
 * those of less than a cell may all come. */
static int coarse_shift(const struct dw_knap *knap, const struct ranked *ranked, size_t n,
                        int64_t grain)
{
    double most = 0;
    for (size_t d = 0; d < n; d++) {
        double value = (double)ranked[d].value, size = (double)ranked[d].size;
        most = fmax(most, 2 * value / size * (double)knap->capacity);
    }
    for (size_t d = 0; d < n; d++)
        if (ranked[d].size < grain)
            most += (double)ranked[d].value * (double)knap->top[ranked[d].type];
    int shift = 0;
    while (ldexp(most, -shift) > 0x1p29)
        shift++;
    return shift;
}

/* Fills the table of the coarse bound. Cost: O(cells sum b_i). */
static void fill_coarse(struct dw_knap *knap, struct dw_effort *effort, const struct ranked *ranked,
                        size_t n, struct coarse *coarse)
{
    if (!knap->coarse)
        return;
    *coarse = (struct coarse){.rows = knap->coarse, .cells = knap->coarse_cells};
    coarse->grain = knap->capacity / (int64_t)coarse->cells;
    coarse->cells = (size_t)(knap->capacity / coarse->grain);
    coarse->shift = coarse_shift(knap, ranked, n, coarse->grain);
    size_t width = coarse->cells + 1;
    memset(knap->coarse, 0, width * sizeof *knap->coarse);
    int64_t steps = 0;
    for (size_t j = 0; j < n; j++) {
        const struct ranked *one = &ranked[n - 1 - j];
        int64_t unit = INT64_C(1) << coarse->shift;
        int32_t *in = knap->coarse + j * width;
        size_t size = (size_t)(one->size / coarse->grain);
        int64_t top = knap->top[one->type];
        dw_knap__add_type(in + width, in, width, size, top,
                          (int32_t)((one->value + unit - 1) / unit));
        steps += top;
    }
    dw_effort__spend(effort, 1 + steps * (int64_t)width / 4000);
}

static bool record(struct dw_knap *knap, size_t depth)
{
    size_t n = 0;
    for (size_t i = 0; i < knap->n; i++)
        knap->items[i].count = 0;
    for (size_t d = 0; d < depth; d++)
        knap->items[knap->order[d]].count = knap->count[d];
    for (size_t i = 0; i < knap->n; i++)
        if (knap->items[i].count > 0)
            knap->items[n++] = (struct dw_type_count){i, knap->items[i].count};
    return dw_layout_list__add(&knap->found, 1, knap->items, n);
}

/* Takes back one copy of the last type that has one. false: the tree is done. */
static bool step_back(const struct dw_knap *knap, const struct ranked *ranked, struct node *node)
{
    while (node->depth > 0 && knap->count[node->depth - 1] == 0)
        node->depth--;
    if (node->depth == 0)
        return false;
    size_t d = node->depth - 1;
    knap->count[d]--;
    node->room += ranked[d].size;
    node->value -= ranked[d].value;
    return true;
}

static void step_down(const struct dw_knap *knap, const struct ranked *ranked, struct node *node)
{
    size_t d = node->depth++;
    int64_t copies = node->room / ranked[d].size;
    if (copies > knap->top[ranked[d].type])
        copies = knap->top[ranked[d].type];
    knap->count[d] = copies;
    node->room -= copies * ranked[d].size;
    node->value += copies * ranked[d].value;
}

enum { SPELL = 1 << 14, PATIENCE = 1 << 20 };

/* Past PATIENCE steps, branches that could gain no more than `give` are left out; the answer is
 * then that much too high, which keeps it an upper bound. */
static int64_t climb(struct dw_knap *knap, struct dw_effort *effort, const struct ranked *ranked,
                     size_t n, const struct coarse *coarse, int64_t least)
{
    struct node node = {0, 0, knap->capacity};
    int64_t best = least, give = 0;
    for (int64_t steps = 1;; steps++) {
        if (steps % SPELL == 0 && dw_effort__spend(effort, SPELL / 100))
            return DW_KNAP_STOPPED;
        if (steps % PATIENCE == 0)
            give = give > 0 ? give * 2 : best / 1000000 + 1;
        if (node.depth < n && above(coarse, ranked, n, &node) > best + give) {
            step_down(knap, ranked, &node);
            continue;
        }
        if (node.depth == n && node.value > best) {
            best = node.value;
            if (!record(knap, n))
                return DW_KNAP_NO_MEMORY;
        }
        do {
            if (!step_back(knap, ranked, &node))
                return best + give;
        } while (above(coarse, ranked, n, &node) <= best + give);
    }
}

int64_t dw_knap__search(struct dw_knap *knap, struct dw_effort *effort, int64_t least)
{
    struct ranked *ranked = malloc((knap->n + 1) * sizeof *ranked);
    if (!ranked)
        return DW_KNAP_NO_MEMORY;
    dw_layout_list__cut(&knap->found, 0);
    size_t n = sort_types(knap, ranked);
    struct coarse coarse = {0};
    fill_coarse(knap, effort, ranked, n, &coarse);
    int64_t best = climb(knap, effort, ranked, n, &coarse, least);
    free(ranked);
    return best;
}
