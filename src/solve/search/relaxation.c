/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The relaxation of a node, made of the root's and the node's limits. */
#include "solve/search/core.h"

#include <stdlib.h>

static bool make_room(struct dw_node_relax *own, size_t n, size_t n_stocks)
{
    if (!own->bar)
        own->bar = calloc(n_stocks + 1, sizeof *own->bar);
    if (!own->lines)
        own->lines = calloc(n_stocks + 1, sizeof *own->lines);
    if (!own->bar || !own->lines)
        return false;
    if (n <= own->room)
        return true;
    int64_t **arrays[] = {&own->lo, &own->hi, &own->least, &own->most};
    size_t counts = own->room;
    if (!dw_array__grow(&own->counts, &counts, n, sizeof *own->counts))
        return false;
    for (size_t a = 0; a < DW_COUNT(arrays); a++) {
        size_t room = own->room;
        if (!dw_array__grow(arrays[a], &room, n, sizeof **arrays[a]))
            return false;
    }
    own->room = counts;
    return true;
}

void dw_node_relax__free(struct dw_node_relax *own)
{
    free(own->counts);
    free(own->lo);
    free(own->hi);
    free(own->least);
    free(own->most);
    free(own->bar);
    free(own->lines);
    *own = (struct dw_node_relax){0};
}

static void stock_limits(const struct dw_search *s, const struct dw_search_node *node, size_t stock,
                         int64_t *lo, int64_t *hi)
{
    *lo = 0;
    *hi = s->p->stocks[stock].count;
    for (size_t i = 0; i < node->n_limits; i++) {
        const struct dw_bar_count *count = &s->counts[node->limits[i].count];
        if (count->kind != DW_COUNT_STOCK || count->a != stock)
            continue;
        *lo = node->limits[i].lo > *lo ? node->limits[i].lo : *lo;
        *hi = node->limits[i].hi < *hi ? node->limits[i].hi : *hi;
    }
}

bool dw_search__relax(const struct dw_search *s, const struct dw_search_node *node,
                      struct dw_node_relax *own)
{
    struct dw_relax *relax = &own->relax;
    *relax = *s->root;
    if (!make_room(own, node->n_limits + 1, s->p->n_stocks))
        return false;
    for (size_t i = 0; i < node->n_limits; i++) {
        own->counts[i] = s->counts[node->limits[i].count];
        own->least[i] = node->limits[i].lo;
        own->most[i] = node->limits[i].hi;
        own->lo[i] = node->limits[i].released ? 0 : own->least[i];
        own->hi[i] = node->limits[i].released ? DW_NO_LIMIT : own->most[i];
    }
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        int64_t lo, hi;
        stock_limits(s, node, k, &lo, &hi);
        own->lines[k] = s->p->missing ? (struct dw_line){0, 0} : dw_branch__line(s->p, k, lo, hi);
        own->bar[k] = own->lines[k].slope;
        relax->base += own->lines[k].base;
    }
    relax->bar = own->bar;
    /* A part of a surplus piece could fill a bar exactly: with none, counts tell more. */
    relax->equal = s->p->cut_cost > 0 && !s->p->missing;
    relax->n_counts = node->n_limits;
    relax->counts = own->counts;
    relax->lo = own->lo;
    relax->hi = own->hi;
    relax->start = &node->start;
    relax->cutoff = dw_search__has_plan(s) ? s->best->money : INT64_MAX / 2;
    relax->ladder = node->ladder;
    if (node->known) {
        relax->list = dw_known__cols(node->known);
        relax->n_list = dw_known__n(node->known);
    }
    return true;
}
