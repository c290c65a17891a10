/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a node's complete list of columns gives: a bound from the money that is possible, cuts, and
 * plans. */
#include "solve/search/cover.h"
#include "solve/search/lattice.h"
#include "solve/search/core.h"

#define CUT_COLS       3000 /* of a list that cuts are put on */
#define INNER_CUT_COLS 200  /* the same in a search within another */
#define INNER_COLS     1000 /* of any list there */
#define COVER_COLS     100  /* of a list whose columns are all tried */
#define COVER_STEPS    10000

/* Tries all plans of a short list; again where it is a third shorter than one that had too many. */
static dw_err try_all(struct dw_search *s, struct dw_search_node *node,
                      const struct dw_relax *relax, struct dw_relaxed *relaxed)
{
    struct dw_solution plan = {.method = "branch and price"};
    int64_t steps = COVER_STEPS;
    if (relax->n_list > COVER_COLS || s->p->missing || !dw_search__has_plan(s) ||
        (node->tried > 0 && 3 * relax->n_list > 2 * node->tried))
        return DW_OK;
    enum dw_cover_result result =
        dw_cover__run(s->p, relax, relaxed, dw_search__cutoff(s, node), &steps, &plan);
    dw_effort__spend(s->master->effort, COVER_STEPS - steps);
    bool ok = result != DW_COVER_NOMEM;
    if (result == DW_COVER_FOUND)
        ok = dw_solution__offer(s->p, &plan, s->scratch, s->best);
    if (result == DW_COVER_NONE)
        relaxed->bound = s->best->money;
    if (result == DW_COVER_OPEN)
        node->tried = relax->n_list;
    dw_solution__free(&plan);
    return ok ? DW_OK : dw_error__nomem(s->error);
}

/* What a complete list of columns gives at once: a bound from the money that is possible at all,
 * and all plans of a short one. */
static dw_err use_list(struct dw_search *s, struct dw_search_node *node,
                       const struct dw_relax *relax, const struct dw_known *known,
                       struct dw_relaxed *relaxed)
{
    struct dw_relax listed = *relax;
    listed.list = dw_known__cols(known);
    listed.n_list = dw_known__n(known);
    if (listed.n_list <= DW_LATTICE_COLS && !s->p->missing &&
        !dw_lattice__raise(s->p, &listed, relaxed, s->best->money))
        return dw_error__nomem(s->error);
    if (relaxed->bound < s->best->money && !s->limits->inner)
        return try_all(s, node, &listed, relaxed);
    return DW_OK;
}

/* A list that was too long is tried again when the gap is a tenth narrower. */
static bool worth_listing(const struct dw_search *s, struct dw_search_node *node,
                          const struct dw_relaxed *relaxed)
{
    dw_money gap = dw_search__cutoff(s, node) - (dw_money)relaxed->value;
    bool worth = node->known || node->too_wide == 0 || gap <= node->too_wide - node->too_wide / 10;
    if (worth)
        node->too_wide = gap;
    return worth;
}

/* Where the money is settled but for a step, the bound rises to the next money that can be, and
 * fewer columns matter. */
static dw_err use_ladder(struct dw_search *s, struct dw_search_node *node, struct dw_relax *relax,
                         struct dw_relaxed *relaxed, struct dw_known **known)
{
    struct dw_branch open;
    struct dw_known *fewer;
    if (node->ladder.step == 0 && dw_search__has_plan(s))
        dw_search__ladder(s, node, relax, relaxed, *known, &open);
    if (node->ladder.step == 0 || relax->ladder.step > 0)
        return DW_OK;
    relax->ladder = node->ladder;
    relaxed->bound = dw_ladder__up(&node->ladder, relaxed->bound);
    if (!*known)
        return DW_OK;
    dw_err code = dw_known__list(s->master, relax, relaxed, *known, dw_search__cutoff(s, node),
                                 dw_known__n(*known), &fewer, s->error);
    if (code != DW_OK)
        return code;
    dw_known__drop(*known);
    *known = fewer;
    return DW_OK;
}

dw_err dw_search__list(struct dw_search *s, struct dw_search_node *node, struct dw_node_relax *own,
                       struct dw_relaxed *relaxed, struct dw_known **known)
{
    struct dw_relax *relax = &own->relax;
    bool whole;
    dw_err code = DW_OK;
    if (worth_listing(s, node, relaxed))
        code = dw_known__list(s->master, relax, relaxed, node->known, dw_search__cutoff(s, node),
                              s->limits->inner ? INNER_COLS : DW_KNOWN_FEW, known, s->error);
    if (code == DW_OK)
        code = use_ladder(s, node, relax, relaxed, known);
    if (code != DW_OK || !*known || relaxed->bound >= s->best->money)
        return code;
    /* Cuts hold for plans in which nothing is missing. */
    if (!s->p->missing && dw_known__n(*known) <= (s->limits->inner ? INNER_CUT_COLS : CUT_COLS))
        code = dw_search__cut(s, node, known, own, relaxed);
    if (code == DW_OK && !dw_search__take_whole(s, relaxed, &whole))
        code = dw_error__nomem(s->error);
    return code == DW_OK ? use_list(s, node, relax, *known, relaxed) : code;
}
