/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounded knapsack by depth-first branch and bound over the types in order of value a length
 * (Gilmore, Gomory 1963; Horowitz, Sahni 1974): insensitive to the capacity. */
#include "solve/knap_inner.h"

#include <stdlib.h>

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

/* The fractional bound: all the room at the worth of the next type. */
static int64_t above(const struct ranked *ranked, size_t n, const struct node *node)
{
    if (node->depth == n)
        return node->value;
    const struct ranked *next = &ranked[node->depth];
    return node->value + node->room * next->value / next->size;
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
            knap->items[n++] = (struct dw_csp_item){i, knap->items[i].count};
    return dw_csp__list_add(&knap->found, 1, knap->items, n);
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
static int64_t climb(struct dw_knap *knap, struct dw_csp__state *state, const struct ranked *ranked,
                     size_t n, int64_t least)
{
    struct node node = {0, 0, knap->capacity};
    int64_t best = least, give = 0;
    for (int64_t steps = 1;; steps++) {
        if (steps % SPELL == 0 && !dw_csp__spend(state, SPELL / 100))
            return DW_KNAP_STOPPED;
        if (steps % PATIENCE == 0)
            give = give > 0 ? give * 2 : best / 1000000 + 1;
        if (node.depth < n && above(ranked, n, &node) > best + give) {
            step_down(knap, ranked, &node);
            continue;
        }
        if (node.depth == n && node.value > best) {
            best = node.value;
            if (!record(knap, n))
                return state->failed = true, DW_KNAP_STOPPED;
        }
        do {
            if (!step_back(knap, ranked, &node))
                return best + give;
        } while (above(ranked, n, &node) <= best + give);
    }
}

int64_t dw_knap__search(struct dw_knap *knap, struct dw_csp__state *state, int64_t least)
{
    struct ranked *ranked = malloc((knap->n + 1) * sizeof *ranked);
    if (!ranked)
        return state->failed = true, DW_KNAP_STOPPED;
    dw_csp__list_cut(&knap->found, 0);
    size_t n = sort_types(knap, ranked);
    int64_t best = climb(knap, state, ranked, n, least);
    free(ranked);
    return best;
}
