/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Probing (Savelsbergh 1994): what a branch that is closed at once tells is taken as a limit of the
 * node. Near the last steps of the money nearly every offcut that the relaxation takes in part is
 * needed whole; a branch on each of them would make a chain of nodes. */
#include "solve/search/core.h"

#include <math.h>
#include <stdlib.h>

/* A stock of which the solution takes a part of a bar. */
struct part {
    size_t stock;
    double bars;
    double over; /* the part */
};

struct probe {
    struct dw_search *s;
    struct dw_search_node *node;
    struct dw_node_relax *own;
    struct dw_relaxed *relaxed;
    size_t n;
    struct part *parts; /* length n, room for all stocks */
    double *bars;       /* length n_stocks: scratch */
    bool fixed;         /* something, in this pass */
    bool empty;         /* nothing is left of the node */
};

/* --- what to try -------------------------------------------------------------------------- */

static int compare(const void *a, const void *b)
{
    const struct part *x = a, *y = b;
    if (x->over < y->over || x->over > y->over)
        return x->over > y->over ? -1 : 1;
    return (x->stock > y->stock) - (x->stock < y->stock);
}

/* The largest parts first: to go without these costs most. */
static void find_parts(struct probe *probe)
{
    const struct dw_problem *p = probe->s->p;
    const double *bars = probe->bars;
    dw_relaxed__bars(p, probe->relaxed, probe->bars);
    probe->n = 0;
    for (size_t k = 0; k < p->n_stocks; k++)
        if (!dw_branch__is_whole(bars[k]))
            probe->parts[probe->n++] = (struct part){k, bars[k], bars[k] - floor(bars[k])};
    if (probe->n > 0)
        qsort(probe->parts, probe->n, sizeof *probe->parts, compare);
}

static bool is_whole(const struct probe *probe, enum dw_bar_count_kind kind)
{
    const struct dw_bar_count count = {.kind = kind};
    double value = dw_relaxed__count(probe->s->p, probe->relaxed, &count);
    return dw_branch__is_whole(value);
}

/* Counts of all bars are branched on before those of one stock. */
static bool may_go_on(const struct probe *probe)
{
    const struct dw_relaxed *relaxed = probe->relaxed;
    return relaxed->status == DW_RELAX_OPTIMAL && relaxed->bound < probe->s->best->money &&
           !probe->s->master->effort->stopped && is_whole(probe, DW_COUNT_BARS) &&
           is_whole(probe, DW_COUNT_KEPT);
}

/* --- trying ------------------------------------------------------------------------------- */

/* *closed: no plan of the node within the limit is cheaper than the best. */
static dw_err try_fewer(const struct probe *probe, struct dw_limit limit, bool *closed)
{
    struct dw_search *s = probe->s;
    bool empty = false;
    *closed = dw_search__fewer(s, &probe->own->relax, probe->relaxed, &s->counts[limit.count],
                               limit.hi) >= s->best->money;
    if (*closed)
        return DW_OK;
    struct dw_node_relax fewer = {0};
    struct dw_relaxed solved = {0};
    struct dw_search_node *node = dw_search_node__new(probe->node, &probe->relaxed->start,
                                                      probe->node->known, probe->node->bound);
    bool ok = node && dw_search_node__limit(node, limit, &empty) &&
              (empty || dw_search__relax(s, node, &fewer));
    dw_err code = ok ? DW_OK : dw_error__nomem(s->error);
    fewer.relax.glance = true;
    if (ok && !empty)
        code = dw_relax__solve(s->master, &fewer.relax, &solved, s->error);
    *closed = ok && (empty || solved.status == DW_RELAX_PRUNED);
    dw_node_relax__free(&fewer);
    dw_relaxed__free(&solved);
    dw_search_node__free(node);
    return code;
}

/* Goes without the part. Where that is closed, the node takes a whole bar. */
static dw_err try_part(struct probe *probe, const struct part *part, bool *closed)
{
    struct dw_search *s = probe->s;
    const struct dw_bar_count count = {.kind = DW_COUNT_STOCK, .a = part->stock};
    const int64_t below = (int64_t)floor(part->bars);
    const size_t at = dw_search__find_count(s, &count);
    if (at == SIZE_MAX)
        return dw_error__nomem(s->error);
    dw_err code = try_fewer(probe, (struct dw_limit){at, 0, below, false}, closed);
    if (code != DW_OK || !*closed)
        return code;
    const struct dw_limit more = {at, below + 1, s->p->stocks[part->stock].count, false};
    probe->fixed = true;
    return dw_search_node__limit(probe->node, more, &probe->empty) ? DW_OK
                                                                   : dw_error__nomem(s->error);
}

/* Solves the relaxation again with what was fixed. */
static dw_err solve_again(const struct probe *probe)
{
    struct dw_relaxed next = {0}, *relaxed = probe->relaxed;
    if (!dw_search__relax(probe->s, probe->node, probe->own))
        return dw_error__nomem(probe->s->error);
    probe->own->relax.start = &relaxed->start;
    dw_err code = dw_relax__solve(probe->s->master, &probe->own->relax, &next, probe->s->error);
    dw_relaxed__replace(relaxed, &next);
    probe->own->relax.start = &probe->node->start;
    return code;
}

/* One pass over the parts, as long as they are closed. */
static dw_err pass(struct probe *probe)
{
    dw_err code = DW_OK;
    bool closed = true;
    find_parts(probe);
    probe->fixed = false;
    for (size_t i = 0; code == DW_OK && closed && !probe->empty && i < probe->n; i++)
        code = try_part(probe, &probe->parts[i], &closed);
    if (code == DW_OK && probe->empty)
        probe->relaxed->status = DW_RELAX_PRUNED;
    else if (code == DW_OK && probe->fixed)
        code = solve_again(probe);
    return code;
}

dw_err dw_search__probe(struct dw_search *s, struct dw_search_node *node, struct dw_node_relax *own,
                        struct dw_relaxed *relaxed)
{
    struct probe probe = {.s = s, .node = node, .own = own, .relaxed = relaxed, .fixed = true};
    dw_err code = DW_OK;
    if (!dw_search__has_plan(s) || s->limits->inner)
        return DW_OK;
    probe.parts = calloc(s->p->n_stocks + 1, sizeof *probe.parts);
    probe.bars = calloc(s->p->n_stocks + 1, sizeof *probe.bars);
    if (!probe.parts || !probe.bars)
        code = dw_error__nomem(s->error);
    while (code == DW_OK && probe.fixed && may_go_on(&probe))
        code = pass(&probe);
    free(probe.parts);
    free(probe.bars);
    return code;
}
