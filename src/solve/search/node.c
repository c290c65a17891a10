/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits of a node, and the heap of the nodes that are open. */
#include "solve/search/node.h"

#include <stdlib.h>
#include <string.h>

struct dw_search_node *dw_search_node__new(const struct dw_search_node *parent,
                                           const struct dw_start *start, struct dw_known *known,
                                           dw_money bound)
{
    struct dw_search_node *node = calloc(1, sizeof *node);
    size_t n = parent ? parent->n_limits : 0;
    if (!node)
        return NULL;
    node->bound = bound;
    node->depth = parent ? parent->depth + 1 : 0;
    node->listed = parent && parent->known ? parent->listed + 1 : 0;
    node->limits = calloc(n + 1, sizeof *node->limits);
    if (!node->limits || !dw_start__copy(&node->start, start)) {
        dw_search_node__free(node);
        return NULL;
    }
    if (n > 0)
        memcpy(node->limits, parent->limits, n * sizeof *node->limits);
    node->n_limits = n;
    node->known = dw_known__share(known);
    node->too_wide = parent ? parent->too_wide : 0;
    node->tried = parent ? parent->tried : 0;
    node->ladder = parent ? parent->ladder : (struct dw_ladder){0};
    return node;
}

void dw_search_node__free(struct dw_search_node *node)
{
    if (!node)
        return;
    free(node->limits);
    dw_start__free(&node->start);
    dw_known__drop(node->known);
    free(node);
}

bool dw_search_node__limit(struct dw_search_node *node, struct dw_limit limit, bool *empty)
{
    for (size_t i = 0; i < node->n_limits; i++) {
        struct dw_limit *old = &node->limits[i];
        if (old->count != limit.count)
            continue;
        old->released = old->released && limit.lo <= old->lo && limit.hi >= old->hi;
        old->lo = limit.lo > old->lo ? limit.lo : old->lo;
        old->hi = limit.hi < old->hi ? limit.hi : old->hi;
        *empty = old->lo > old->hi;
        return true;
    }
    struct dw_limit *limits = realloc(node->limits, (node->n_limits + 1) * sizeof *limits);
    if (!limits)
        return false;
    node->limits = limits;
    node->limits[node->n_limits++] = limit;
    *empty = limit.lo > limit.hi;
    return true;
}

/* --- heap --------------------------------------------------------------------------------- */

static bool before(const struct dw_search_node *a, const struct dw_search_node *b)
{
    if (a->bound != b->bound)
        return a->bound < b->bound;
    if (a->depth != b->depth)
        return a->depth > b->depth;
    return a->serial > b->serial;
}

/* Moves the node from a free place towards the first, as far as it comes before others. */
static void rise(struct dw_heap *heap, struct dw_search_node *node, size_t at)
{
    while (at > 0 && before(node, heap->nodes[(at - 1) / 2])) {
        heap->nodes[at] = heap->nodes[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    heap->nodes[at] = node;
}

bool dw_heap__push(struct dw_heap *heap, struct dw_search_node *node)
{
    if (!dw_array__grow(&heap->nodes, &heap->capacity, heap->n + 1,
                        sizeof(struct dw_search_node *)))
        return false;
    node->serial = heap->serial++;
    rise(heap, node, heap->n++);
    return true;
}

struct dw_search_node *dw_heap__pop(struct dw_heap *heap)
{
    struct dw_search_node *top = heap->nodes[0], *last = heap->nodes[--heap->n];
    size_t at = 0;
    for (;;) {
        size_t child = 2 * at + 1;
        if (child >= heap->n)
            break;
        if (child + 1 < heap->n && before(heap->nodes[child + 1], heap->nodes[child]))
            child++;
        if (!before(heap->nodes[child], last))
            break;
        heap->nodes[at] = heap->nodes[child];
        at = child;
    }
    heap->nodes[at] = last;
    return top;
}

void dw_heap__free(struct dw_heap *heap)
{
    for (size_t i = 0; i < heap->n; i++)
        dw_search_node__free(heap->nodes[i]);
    free(heap->nodes);
}
