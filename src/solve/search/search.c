/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order of the search: which node is next, and what is done with it. */
#include "solve/search/search.h"
#include "solve/search/branch.h"
#include "solve/plans/dive.h"
#include "solve/search/known.h"
#include "solve/plans/polish.h"
#include "solve/search/core.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SETTLE_GAP 2.0 /* cuts between bound and plan where open counts are settled */
#define MAX_OPEN   100000
#define PART_NODES 12 /* of a search that is part of another */

/* --- plans found -------------------------------------------------------------------------- */

/* Dives take a third of the work, neighbourhoods come whenever it has grown by half. */
static dw_err look_for_plans(struct dw_search *s, const struct dw_node_relax *own,
                             const struct dw_relaxed *relaxed)
{
    const struct dw_effort *effort = s->master->effort;
    dw_err code = DW_OK;
    int64_t before = effort->work;
    if (before >= s->dive_at) {
        struct dw_relax whole =
            own->relax; /* with what is released: the plan is to be of this node */
        whole.lo = own->least;
        whole.hi = own->most;
        code = dw_dive__run(s->master, s->limits->inner ? NULL : s->root, &whole, relaxed,
                            dw_search__part, s->best, s->error);
        s->dive_at = effort->work + 2 * (effort->work - before);
    }
    if (code != DW_OK || s->limits->inner || s->best->missing > 0 || effort->work < s->polish_at)
        return code;
    before = effort->work;
    code = dw_polish__run(s->master, s->root, &s->solved->prices, relaxed, before / 8,
                          &s->polish_round, dw_search__part, s->best, s->error);
    s->polish_at = effort->work / 2 * 3;
    return code;
}

/* --- branching ---------------------------------------------------------------------------- */

static bool add_child(struct dw_search *s, const struct dw_search_node *node,
                      const struct dw_relax *relax, const struct dw_relaxed *relaxed,
                      struct dw_known *known, size_t count, int64_t lo, int64_t hi)
{
    const struct dw_bar_count *what = &s->counts[count];
    dw_money bound = dw_search__fewer(s, relax, relaxed, what, hi);
    if (dw_search__has_plan(s) && bound >= s->best->money)
        return true;
    struct dw_search_node *child = dw_search_node__new(node, &relaxed->start, known, bound);
    if (!child)
        return false;
    /* Each bar has a piece that counts. */
    int64_t most = what->kind == DW_COUNT_STOCK ? s->p->stocks[what->a].count : s->p->n_pieces;
    hi = most < hi ? most : hi;
    bool empty = false,
         ok = dw_search_node__limit(child, (struct dw_limit){count, lo, hi, false}, &empty) &&
              (empty || dw_heap__push(&s->open, child));
    if (empty || !ok)
        dw_search_node__free(child);
    return ok;
}

static size_t levels_of(const struct dw_search *s, const struct dw_search_node *node, size_t item)
{
    size_t n = 0;
    for (size_t i = 0; i < node->n_limits; i++) {
        const struct dw_bar_count *count = &s->counts[node->limits[i].count];
        n += count->kind == DW_COUNT_LEVEL && count->a == item;
    }
    return n;
}

/* Where plans could differ in money by more than steps, a count that makes the difference. */
static bool find_open(const struct dw_search *s, struct dw_search_node *node,
                      const struct dw_relax *relax, const struct dw_relaxed *relaxed,
                      const struct dw_known *known, struct dw_branch *open)
{
    double gap = (double)s->best->money - relaxed->value;
    if (node->ladder.step > 0 || !dw_search__has_plan(s) || s->limits->inner ||
        gap > SETTLE_GAP * (double)s->p->cut_cost)
        return false;
    return dw_search__ladder(s, node, relax, relaxed, known, open);
}

/* *split: the node's children take its place. false: no memory. */
static bool branch(struct dw_search *s, struct dw_search_node *node,
                   const struct dw_node_relax *own, const struct dw_relaxed *relaxed,
                   struct dw_known *known, bool *split)
{
    const struct dw_relax *relax = &own->relax;
    struct dw_branch choice;
    bool ok;
    const struct dw_branch_limits limits = {node->n_limits, own->counts, own->least, own->most};
    struct dw_branch open;
    bool settle = find_open(s, node, relax, relaxed, known, &open);
    bool found = dw_branch__choose(s->p, relaxed, own->lines, &limits, settle ? &open : NULL,
                                   known != NULL, &choice, &ok);
    bool full = found && choice.count.kind == DW_COUNT_LEVEL &&
                levels_of(s, node, choice.count.a) + 1 >= DW_LEVELS_MAX;
    *split = ok && found && !full && s->open.n < MAX_OPEN;
    if (!*split)
        return ok;
    size_t count = dw_search__find_count(s, &choice.count);
    if (count == SIZE_MAX)
        return false;
    int64_t below = (int64_t)floor(choice.value + (choice.at_point ? 0.5 : 0));
    if (!choice.at_point)
        return add_child(s, node, relax, relaxed, known, count, 0, below) &&
               add_child(s, node, relax, relaxed, known, count, below + 1, DW_NO_LIMIT);
    return add_child(s, node, relax, relaxed, known, count, 0, below - 1) &&
           add_child(s, node, relax, relaxed, known, count, below, below) &&
           add_child(s, node, relax, relaxed, known, count, below + 1, DW_NO_LIMIT);
}

/* --- one node ----------------------------------------------------------------------------- */

/* Children take the node's place, if need be after a longer list. */
static dw_err split(struct dw_search *s, struct dw_search_node *node,
                    const struct dw_node_relax *own, const struct dw_relaxed *relaxed,
                    struct dw_known **known, bool *done)
{
    if (!branch(s, node, own, relaxed, *known, done))
        return dw_error__nomem(s->error);
    if (*done || *known)
        return DW_OK;
    dw_err code = dw_known__list(s->master, &own->relax, relaxed, NULL, s->best->money,
                                 DW_KNOWN_MANY, known, s->error);
    if (code == DW_OK && *known && !branch(s, node, own, relaxed, *known, done))
        code = dw_error__nomem(s->error);
    return code;
}

/* A relaxation that is solved and below the best plan: look for plans, list columns, branch.
 * *done: nothing cheaper is below the node, or its children take its place. */
static dw_err expand(struct dw_search *s, struct dw_search_node *node, struct dw_node_relax *own,
                     struct dw_relaxed *relaxed, bool *done)
{
    bool whole = false;
    struct dw_known *known = NULL;
    if (!dw_search__take_whole(s, relaxed, &whole))
        return dw_error__nomem(s->error);
    dw_err code = DW_OK;
    if (!whole && relaxed->bound < s->best->money)
        code = look_for_plans(s, own, relaxed);
    if (code == DW_OK && relaxed->bound < s->best->money && !s->master->effort->stopped)
        code = dw_search__release(s, node, own, relaxed);
    *done = relaxed->bound >= s->best->money;
    if (code != DW_OK || *done || s->master->effort->stopped)
        return code;
    code = dw_search__list(s, node, own, relaxed, &known);
    *done = relaxed->bound >= s->best->money;
    if (code == DW_OK && !*done)
        code = split(s, node, own, relaxed, &known, done);
    dw_known__drop(known);
    return code;
}

static void put_aside(struct dw_search *s, struct dw_search_node *node, dw_money bound,
                      dw_err *code)
{
    node->bound = bound;
    if (dw_heap__push(&s->aside, node))
        return;
    dw_search_node__free(node);
    *code = dw_error__nomem(s->error);
}

/* Takes the node. */
static dw_err solve_node(struct dw_search *s, struct dw_search_node *node)
{
    struct dw_node_relax own = {0};
    struct dw_relaxed relaxed = {0};
    if (!dw_search__relax(s, node, &own)) {
        dw_node_relax__free(&own);
        dw_search_node__free(node);
        return dw_error__nomem(s->error);
    }
    dw_err code = dw_relax__solve(s->master, &own.relax, &relaxed, s->error);
    s->n_solved++;
    if (relaxed.bound < node->bound)
        relaxed.bound = node->bound;
    bool done = relaxed.status == DW_RELAX_PRUNED;
    if (code == DW_OK && relaxed.status == DW_RELAX_OPTIMAL)
        code = expand(s, node, &own, &relaxed, &done);
    if (done)
        dw_search_node__free(node);
    else
        put_aside(s, node, relaxed.bound, &code);
    dw_node_relax__free(&own);
    dw_relaxed__free(&relaxed);
    return code;
}

static dw_money least_of(const struct dw_heap *heap, dw_money bound)
{
    return heap->n > 0 && heap->nodes[0]->bound < bound ? heap->nodes[0]->bound : bound;
}

/* What no plan can pass: the least bound of the nodes that are left. */
static dw_money least_bound(const struct dw_search *s)
{
    dw_money bound = least_of(&s->aside, least_of(&s->open, s->best->money));
    return dw_search__has_plan(s) ? bound : INT64_MIN / 2;
}

/* --- the search --------------------------------------------------------------------------- */

static bool make(struct dw_search *s)
{
    s->scratch = calloc(s->p->n_items + s->p->n_stocks + 1, sizeof *s->scratch);
    s->arena = dw_arena__new();
    return s->scratch && s->arena;
}

static bool push_root(struct dw_search *s, const struct dw_relaxed *solved)
{
    struct dw_search_node *node = dw_search_node__new(NULL, &solved->start, NULL, INT64_MIN / 2);
    if (!node)
        return false;
    if (s->p->max_kept != DW_UNLIMITED) {
        size_t count = dw_search__find_count(s, &(struct dw_bar_count){.kind = DW_COUNT_KEPT});
        if (count == SIZE_MAX) {
            dw_search_node__free(node);
            return false;
        }
        bool empty;
        if (!dw_search_node__limit(node, (struct dw_limit){count, 0, s->p->max_kept, false},
                                   &empty)) {
            dw_search_node__free(node);
            return false;
        }
    }
    if (dw_heap__push(&s->open, node))
        return true;
    dw_search_node__free(node);
    return false;
}

static void unmake(struct dw_search *s)
{
    dw_heap__free(&s->open);
    dw_heap__free(&s->aside);
    free(s->counts);
    free(s->scratch);
    dw_arena__free(s->arena);
}

static bool may_go_on(const struct dw_search *s)
{
    return !s->master->effort->stopped &&
           (s->limits->max_nodes == 0 || s->n_solved < s->limits->max_nodes);
}

static dw_err search_open(struct dw_search *s)
{
    dw_err code = DW_OK;
    while (code == DW_OK && s->open.n > 0 && may_go_on(s)) {
        struct dw_search_node *node = dw_heap__pop(&s->open);
        if (!dw_search__has_plan(s) || node->bound < s->best->money)
            code = solve_node(s, node);
        else
            dw_search_node__free(node);
    }
    return code;
}

/* Only a better plan helps nodes that were put aside: with a narrower gap fewer columns matter
 * below them. *found: they are open again. */
static dw_err take_up(struct dw_search *s, bool *found)
{
    dw_money before = s->best->money;
    dw_err code = dw_polish__run(s->master, s->root, &s->solved->prices, s->solved, INT64_MAX / 4,
                                 &s->polish_round, dw_search__part, s->best, s->error);
    *found = code == DW_OK && s->best->money < before;
    while (*found && s->aside.n > 0) {
        struct dw_search_node *node = dw_heap__pop(&s->aside);
        if (dw_heap__push(&s->open, node))
            continue;
        dw_search_node__free(node);
        return dw_error__nomem(s->error);
    }
    return code;
}

dw_err dw_search__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_relaxed *solved, const struct dw_search_limits *limits,
                      struct dw_solution *best, dw_money *bound, struct dw_error *error)
{
    struct dw_search s = {.master = master,
                          .p = master->problem,
                          .root = root,
                          .solved = solved,
                          .limits = limits,
                          .best = best,
                          .error = error};
    dw_err code = make(&s) && push_root(&s, solved) ? DW_OK : dw_error__nomem(error);
    bool again = true;
    while (code == DW_OK && again) {
        code = search_open(&s);
        again = false;
        if (code == DW_OK && s.open.n == 0 && least_bound(&s) < best->money && !limits->inner &&
            best->missing == 0 && !s.p->missing && may_go_on(&s))
            code = take_up(&s, &again);
    }
    *bound = least_bound(&s);
    unmake(&s);
    return code;
}

dw_err dw_search__part(struct dw_master *master, const struct dw_relax *root,
                       const struct dw_relaxed *solved, struct dw_solution *best,
                       struct dw_error *error)
{
    const struct dw_search_limits limits = {.max_nodes = PART_NODES, .inner = true};
    dw_money bound = 0;
    return dw_search__run(master, root, solved, &limits, best, &bound, error);
}
