/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nodes of the search over what is bought, and the heap of those that are open. */
#include "solve/ordered_core.h"

#include <stdlib.h>
#include <string.h>

void dw_branch_node__free(struct dw_branch_node *node)
{
    if (!node)
        return;
    free(node->lo);
    free(node->range);
    free(node);
}

struct dw_branch_node *dw_branch_node__new(const struct dw_market *market,
                                           const struct dw_branch_node *from)
{
    struct dw_branch_node *node = calloc(1, sizeof *node);
    if (!node)
        return NULL;
    node->lo = calloc(2 * market->n_wares + 1, sizeof *node->lo);
    node->range = calloc(market->n_sellers + 1, sizeof *node->range);
    if (!node->lo || !node->range) {
        dw_branch_node__free(node);
        return NULL;
    }
    node->hi = node->lo + market->n_wares;
    if (!from)
        return node;
    memcpy(node->lo, from->lo, 2 * market->n_wares * sizeof *node->lo);
    memcpy(node->range, from->range, market->n_sellers * sizeof *node->range);
    node->bound = from->bound;
    node->depth = from->depth + 1;
    return node;
}

static bool comes_before(const struct dw_branch_node *a, const struct dw_branch_node *b)
{
    return a->bound != b->bound ? a->bound < b->bound : a->depth > b->depth;
}

bool dw_market__push(struct dw_market_search *s, struct dw_branch_node *node)
{
    if (!node || !dw_array__grow(&s->open, &s->open_capacity, s->n_open + 1, sizeof(void *))) {
        dw_branch_node__free(node);
        return false;
    }
    size_t i = s->n_open++;
    for (; i > 0 && comes_before(node, s->open[(i - 1) / 2]); i = (i - 1) / 2)
        s->open[i] = s->open[(i - 1) / 2];
    s->open[i] = node;
    return true;
}

struct dw_branch_node *dw_market__pop(struct dw_market_search *s)
{
    struct dw_branch_node *first = s->open[0], *last = s->open[--s->n_open];
    size_t i = 0;
    for (size_t child = 1; child < s->n_open; child = 2 * i + 1) {
        if (child + 1 < s->n_open && comes_before(s->open[child + 1], s->open[child]))
            child++;
        if (!comes_before(s->open[child], last))
            break;
        s->open[i] = s->open[child];
        i = child;
    }
    if (s->n_open > 0)
        s->open[i] = last;
    return first;
}

bool dw_market__put_aside(struct dw_market_search *s, struct dw_branch_node *node)
{
    if (!dw_array__grow(&s->aside, &s->aside_capacity, s->n_aside + 1, sizeof(void *))) {
        dw_branch_node__free(node);
        return false;
    }
    s->aside[s->n_aside++] = node;
    return true;
}
