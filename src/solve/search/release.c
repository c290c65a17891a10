/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits that make all layouts alike to the duals, and solving without them. */
#include "solve/search/core.h"

#include <stdlib.h>

/* What one more exact fill would save by this limit; 0: the limit is of another kind. */
static int64_t gain_of(const struct dw_search *s, const struct dw_limit *limit, int64_t dual)
{
    const enum dw_bar_count_kind kind = s->counts[limit->count].kind;
    if (limit->released || (kind != DW_COUNT_EXACT && kind != DW_COUNT_WASTE))
        return 0;
    dual = kind == DW_COUNT_EXACT ? -dual : dual;
    return dual > 0 ? dual : 0;
}

/* Goes on without the limits that gain something. released: length n_limits, which these are. */
static void release(const struct dw_search *s, struct dw_search_node *node,
                    const struct dw_relaxed *relaxed, bool *released)
{
    for (size_t c = 0; c < node->n_limits; c++) {
        released[c] = gain_of(s, &node->limits[c], relaxed->prices.count[c]) > 0;
        node->limits[c].released |= released[c];
    }
}

static void take_back(struct dw_search_node *node, const bool *released)
{
    for (size_t c = 0; c < node->n_limits; c++)
        node->limits[c].released &= !released[c];
}

/* Whether as many bars are filled exactly as may be. */
static bool at_limit(const struct dw_search *s, const struct dw_search_node *node,
                     const struct dw_relaxed *relaxed)
{
    for (size_t c = 0; c < node->n_limits; c++) {
        const struct dw_bar_count *count = &s->counts[node->limits[c].count];
        if (count->kind == DW_COUNT_EXACT)
            return dw_relaxed__count(s->p, relaxed, count) > (double)node->limits[c].hi - 1e-5;
    }
    return false;
}

/* Whether limits take the whole gain of one more exact fill. */
static bool settles_cuts(const struct dw_search *s, const struct dw_search_node *node,
                         const struct dw_relaxed *relaxed)
{
    dw_wide gain = 0;
    if (!dw_problem__saves_cut(s->p) || !at_limit(s, node, relaxed))
        return false;
    for (size_t c = 0; c < node->n_limits; c++)
        gain += gain_of(s, &node->limits[c], relaxed->prices.count[c]);
    /* But for what rounding of the duals takes off. */
    return gain * 1000 >= (dw_wide)s->p->cut_cost * relaxed->prices.scale * 999;
}

dw_err dw_search__release(struct dw_search *s, struct dw_search_node *node,
                          struct dw_node_relax *own, struct dw_relaxed *relaxed)
{
    struct dw_relaxed next = {0};
    if (!settles_cuts(s, node, relaxed))
        return DW_OK;
    bool *released = calloc(node->n_limits + 1, sizeof *released);
    if (!released)
        return dw_error__nomem(s->error);
    release(s, node, relaxed, released);
    bool ok = dw_search__relax(s, node, own);
    own->relax.start = &relaxed->start;
    dw_err code = ok ? dw_relax__solve(s->master, &own->relax, &next, s->error) : DW_OK;
    if (ok && code == DW_OK && next.status != DW_RELAX_OPEN)
        dw_relaxed__replace(relaxed, &next);
    else
        take_back(node, released);
    dw_relaxed__free(&next);
    free(released);
    ok = ok && dw_search__relax(s, node, own);
    return ok ? code : dw_error__nomem(s->error);
}
