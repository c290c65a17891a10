/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Branch and bound over what is bought of sellers that charge.
 *
 * A node is a box of what is bought of each ware and a range of each seller's goods. Over it the
 * charges of a seller are not below a line (ordered_line.c), whose slope makes its wares dearer or
 * cheaper. Bars that are bought anyhow cost what they are worth if they stay whole. With that the
 * sets of materials have nothing to do with each other, and each is planned by the engine as any
 * group; their bounds, the lines' rests and what is paid for the bars that are bought anyhow add up
 * to a bound of the node (Lagrangian relaxation of the range, Geoffrion 1974). Its plans, bought as
 * is cheapest for them, are plans of the whole.
 *
 * Where a line is below what the charges of that plan are, the node is split: whether anything is
 * ordered of the seller, then at a threshold, then at a price break, then by how much is bought of
 * a ware. With all that is bought decided, line and charges are one. */
#include "solve/ordered_core.h"

#include <stdlib.h>
#include <string.h>

#define FIRST_SLICE INT64_C(100000) /* work of one plan of a set, at first */
#define SLICE_GROWS 4

/* Takes the node. */
static dw_err solve_node(struct dw_market_search *s, struct dw_branch_node *node)
{
    bool split = false;
    dw_err code = dw_market__reckon(s, node);
    if (code == DW_OK && s->now.possible && s->now.bounded && s->now.bound > node->bound)
        node->bound = s->now.bound;
    bool done = code != DW_OK || !s->now.possible || (s->has_best && node->bound >= s->best);
    if (!done && s->now.bounded && !s->effort->stopped && !dw_market__split(s, node, &split))
        code = dw_error__nomem(s->error);
    if (done || split || code != DW_OK)
        dw_branch_node__free(node);
    else if (!dw_market__put_aside(s, node))
        code = dw_error__nomem(s->error);
    return code;
}

/* Line through nothing ordered and below all charges: floor(min charge / goods). */
static int64_t first_slope(const struct dw_market_search *s, const struct dw_branch_node *node,
                           size_t c)
{
    const struct dw_seller *seller = &s->market.sellers[c];
    const struct dw_span span = dw_span__of(&s->market, node, c);
    const dw_money at[] = {seller->terms->minimum, seller->terms->small_under,
                           seller->terms->freight_free, span.most};
    int64_t least = INT64_MAX;
    for (size_t i = 0; i < DW_COUNT(at); i++) {
        int64_t slope = 0;
        if (at[i] > 0 && at[i] <= span.most &&
            dw_muldiv__i64(dw_seller__charge(seller, at[i]), DW_PPM_ONE, at[i], &slope) &&
            slope < least)
            least = slope;
    }
    return least == INT64_MAX ? 0 : least;
}

static struct dw_branch_node *make_root(const struct dw_market_search *s)
{
    const struct dw_market *m = &s->market;
    struct dw_branch_node *root = dw_branch_node__new(m, NULL);
    if (!root)
        return NULL;
    root->bound = -DW_NO_END;
    for (size_t k = 0; k < m->n_wares; k++)
        root->hi[k] = m->wares[k].most;
    for (size_t c = 0; c < m->n_sellers; c++) {
        root->range[c] = (struct dw_range){.dealing = m->sellers[c].fittings.any ? DW_DEALING_SOME
                                                                                 : DW_DEALING_OPEN,
                                           .to = DW_NO_END};
        if (root->range[c].dealing == DW_DEALING_OPEN)
            root->range[c].slope = first_slope(s, root, c);
    }
    return root;
}

/* Sets are planned longer, and the nodes that wait for it are open again. */
static dw_err go_on(struct dw_market_search *s)
{
    dw_err code = DW_OK;
    s->slice *= SLICE_GROWS;
    const size_t n = s->n_aside;
    s->n_aside = 0;
    for (size_t i = 0; i < n; i++)
        if (!dw_market__push(s, s->aside[i]))
            code = dw_error__nomem(s->error);
    return code;
}

static dw_err search(struct dw_market_search *s)
{
    dw_err code = DW_OK;
    do {
        while (code == DW_OK && s->n_open > 0 && !s->effort->stopped &&
               (!s->has_best || s->open[0]->bound < s->best))
            code = solve_node(s, dw_market__pop(s));
        if (code != DW_OK || s->n_aside == 0 || s->effort->stopped || s->wish->greedy_only)
            return code;
        code = go_on(s);
    } while (code == DW_OK && s->slice < DW_NO_END / SLICE_GROWS);
    return code;
}

static dw_money least_bound(const struct dw_market_search *s)
{
    dw_money bound = s->best;
    for (size_t i = 0; i < s->n_open; i++)
        bound = s->open[i]->bound < bound ? s->open[i]->bound : bound;
    for (size_t i = 0; i < s->n_aside; i++)
        bound = s->aside[i]->bound < bound ? s->aside[i]->bound : bound;
    return bound;
}

/* --- what comes of it --------------------------------------------------------------------- */

/* Layouts of the best plan; their pieces go along in the plans that own them. */
static dw_err hand_over(struct dw_market_search *s, size_t group, struct dw_ordered *out)
{
    size_t n = 0;
    for (size_t i = 0; i < s->market.n_sets; i++)
        n += s->best_sets[i]->layouts.n;
    out->layouts.layouts = calloc(n + 1, sizeof *out->layouts.layouts);
    if (!out->layouts.layouts || dw_plan_new(&out->scratch, s->error) != DW_OK)
        return dw_error__nomem(s->error);
    out->layouts.capacity = n + 1;
    for (size_t i = 0; i < s->market.n_sets; i++)
        for (size_t u = 0; u < s->best_sets[i]->layouts.n; u++) {
            struct dw_layout layout = s->best_sets[i]->layouts.layouts[u];
            struct dw_piece *pieces = dw_plan_alloc(out->scratch, layout.n_pieces, sizeof *pieces);
            if (!pieces)
                return dw_error__nomem(s->error);
            memcpy(pieces, layout.pieces, layout.n_pieces * sizeof *pieces);
            layout.pieces = pieces;
            layout.group = group;
            out->layouts.layouts[out->layouts.n++] = layout;
        }
    out->used = true;
    out->method = "orders, branch and bound";
    out->value = s->best;
    out->bound = least_bound(s);
    out->bounded = out->bound > -DW_NO_END;
    out->finished = out->bounded && out->bound == out->value;
    return DW_OK;
}

static bool make_reckoned(const struct dw_market *m, struct dw_reckoned *r)
{
    r->sets = dw_arena__alloc(m->arena, m->n_sets, sizeof(struct dw_priced *));
    r->bought = dw_arena__alloc(m->arena, m->n_wares, sizeof *r->bought);
    r->price = dw_arena__alloc(m->arena, m->n_wares, sizeof *r->price);
    r->touch = dw_arena__alloc(m->arena, m->n_sellers, sizeof *r->touch);
    r->goods = dw_arena__alloc(m->arena, m->n_sellers, sizeof *r->goods);
    return r->sets && r->bought && r->price && r->touch && r->goods;
}

static bool make(struct dw_market_search *s)
{
    struct dw_arena *arena = s->market.arena;
    s->best_sets = dw_arena__alloc(arena, s->market.n_sets, sizeof(struct dw_priced *));
    s->mixed = dw_arena__alloc(arena, s->market.n_sets, sizeof(struct dw_priced *));
    s->orders = dw_arena__alloc(arena, s->market.n_sellers, sizeof *s->orders);
    s->tried = dw_arena__alloc(arena, s->market.n_sellers, sizeof *s->tried);
    s->eff_lo = dw_arena__alloc(arena, s->market.n_wares, sizeof *s->eff_lo);
    return s->best_sets && s->mixed && s->orders && s->tried && s->eff_lo &&
           make_reckoned(&s->market, &s->now) && make_reckoned(&s->market, &s->then) &&
           dw_market__push(s, make_root(s));
}

static void unmake(struct dw_market_search *s)
{
    for (size_t i = 0; i < s->n_open; i++)
        dw_branch_node__free(s->open[i]);
    for (size_t i = 0; i < s->n_aside; i++)
        dw_branch_node__free(s->aside[i]);
    free(s->open);
    free(s->aside);
    dw_priced_list__free(&s->plans);
    dw_arena__free(s->market.arena);
}

dw_err dw_ordered__group(const struct dw_job *job, const size_t *group_of, size_t group,
                         const struct dw_wish *wish, struct dw_effort *effort,
                         struct dw_ordered *out, struct dw_error *error)
{
    const struct dw_wish exact = {.greedy_only = wish->greedy_only};
    struct dw_market_search s = {
        .wish = &exact, .effort = effort, .error = error, .slice = FIRST_SLICE};
    *out = (struct dw_ordered){0};
    struct dw_arena *arena = dw_arena__new();
    if (!arena)
        return dw_error__nomem(error);
    dw_err code = dw_market__make(job, group_of, group, arena, &s.market, error);
    if (code == DW_OK && !make(&s))
        code = dw_error__nomem(error);
    if (code == DW_OK)
        code = search(&s);
    if (code == DW_OK && s.has_best)
        code = hand_over(&s, group, out);
    s.market.arena = arena;
    unmake(&s);
    return code;
}

void dw_ordered__free(struct dw_ordered *ordered)
{
    free(ordered->layouts.layouts);
    dw_plan_free(ordered->scratch);
    *ordered = (struct dw_ordered){0};
}
