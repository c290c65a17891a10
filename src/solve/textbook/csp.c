/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Order of the stages: scale the problem down, bounds by dual-feasible functions, greedy plans,
 * then "are so many bars enough?" upwards from the bound. */
#include "solve/textbook/csp.h"

#include "solve/textbook/bound.h"
#include "solve/textbook/core.h"
#include "solve/textbook/dive.h"
#include "solve/textbook/fill.h"
#include "solve/textbook/greedy.h"
#include "solve/textbook/root.h"
#include "solve/textbook/tree.h"
#include "solve/bar/knap.h"

#include <stdlib.h>
#include <string.h>

/* --- input ---------------------------------------------------------------------------------- */

static dw_err check(const struct dw_csp *problem, struct dw_error *error)
{
    if (problem->capacity < 1 || problem->capacity > DW_LIST_MAX_CAPACITY)
        return dw_error__set(error, DW_ERR_RANGE, "capacity outside 1..2^46");
    int64_t pieces = 0, last = problem->capacity + 1;
    for (size_t i = 0; i < problem->n; i++) {
        if (problem->size[i] < 1 || problem->size[i] >= last)
            return dw_error__set(error, DW_ERR_RANGE, "lengths must decrease within 1..capacity");
        if (problem->demand[i] < 1 || problem->demand[i] > DW_LIST_MAX_PIECES)
            return dw_error__set(error, DW_ERR_RANGE, "demand outside 1..2^21");
        last = problem->size[i];
        pieces += problem->demand[i];
        if (pieces > DW_LIST_MAX_PIECES)
            return dw_error__set(error, DW_ERR_RANGE, "more than 2^21 pieces");
    }
    return DW_OK;
}

/* Lengths over their common factor g, capacity floor(C / g). */
static bool scale_down(struct dw_csp__state *state, const struct dw_csp *problem)
{
    size_t n = problem->n;
    state->n = n;
    state->size = dw_arena__alloc(state->arena, n, sizeof *state->size);
    state->demand = dw_arena__alloc(state->arena, n, sizeof *state->demand);
    state->dual = dw_arena__alloc(state->arena, n, sizeof *state->dual);
    if (!state->size || !state->demand || !state->dual)
        return false;
    int64_t factor = 0;
    for (size_t i = 0; i < n; i++)
        factor = dw_gcd__i64(factor, problem->size[i]);
    if (factor == 0)
        factor = 1;
    state->capacity = problem->capacity / factor;
    state->scale = 1;
    for (size_t i = 0; i < n; i++) {
        state->size[i] = problem->size[i] / factor;
        state->demand[i] = problem->demand[i];
        state->pieces += state->demand[i];
        state->total += (dw_wide)state->size[i] * state->demand[i];
    }
    state->bars = state->pieces + 1; /* one piece a bar is always a plan */
    return true;
}

/* --- stages --------------------------------------------------------------------------------- */

enum { QUICK_TRIES = 1, FIRST_TRIES = 4, FIRST_NODES = 100, FILL_TURN = 8, FIRST_DIVES = 4 };

/* Hardly any waste, over large tables: complete search proves or finds more quickly than tries
 * and dives. */
static bool tight(const struct dw_csp__state *state)
{
    dw_wide waste = (dw_wide)state->bound * state->capacity - state->total;
    return waste * 50 < state->capacity && state->capacity * (int64_t)state->n > 1000000;
}

/* Dives, now and then the distribution; turns 0: without end. true: found. */
static bool dive(struct dw_csp__state *state, const struct dw_csp__root *root, int turns)
{
    int64_t bars = state->bound;
    for (int turn = 0; dw_csp__go(state) && root->x && (turns == 0 || turn < turns); turn++)
        if (dw_csp__dive(state, bars, root, turn) ||
            (turn % FILL_TURN == FILL_TURN - 1 && dw_csp__fill(state, bars, FIRST_TRIES)))
            return true;
    return false;
}

/* Are as many bars as the bound enough? Complete search and quick tries take turns, each time with
 * a larger allowance; a plan with one bar more is looked for on the side. Long bars: dives first,
 * or, where they are too long for the tables of the complete search, only these. */
static void decide(struct dw_csp__state *state, const struct dw_csp__root *root)
{
    if (!dw_csp__spend(state, 1))
        return;
    if (!dw_knap__has_table(state->capacity, state->n)) {
        dive(state, root, 0);
        return;
    }
    if (dw_knap__is_long(state->capacity, state->n) && !tight(state) &&
        dive(state, root, FIRST_DIVES))
        return;
    int64_t bars = state->bound, nodes = FIRST_NODES;
    for (int tries = FIRST_TRIES; dw_csp__go(state); tries *= 2, nodes *= 4) {
        enum dw_csp__answer answer =
            dw_csp__tree(state, bars, nodes, nodes > FIRST_NODES, &root->columns);
        if (answer == DW_CSP_NO) {
            state->bound = bars + 1;
            state->method = "branch and price";
        }
        if (answer != DW_CSP_UNKNOWN || dw_csp__fill(state, bars, tries))
            return;
        if (bars + 1 < state->bars)
            dw_csp__fill(state, bars + 1, tries);
    }
}

static void run(struct dw_csp__state *state)
{
    dw_csp__bound(state);
    dw_csp__greedy(state);
    if (dw_csp__closed(state) || (!tight(state) && dw_csp__fill(state, state->bound, QUICK_TRIES)))
        return;
    struct dw_csp__root root = {0};
    int64_t bound = state->bound;
    dw_csp__root(state, &root);
    if (state->bound > bound && !dw_csp__closed(state) && !tight(state))
        dw_csp__fill(state, state->bound, QUICK_TRIES);
    while (dw_csp__go(state) && !dw_csp__closed(state)) {
        decide(state, &root);
        if (dw_csp__go(state) && !dw_csp__closed(state))
            dw_csp__fill(state, state->bound, QUICK_TRIES);
    }
    dw_csp__root_free(&root);
}

/* --- answer --------------------------------------------------------------------------------- */

static dw_err answer(struct dw_csp__state *state, struct dw_csp_plan **out, struct dw_error *error)
{
    size_t n = state->best.n, n_items = state->best.n_items;
    struct dw_csp_plan *plan = dw_arena__alloc(state->arena, 1, sizeof *plan);
    struct dw_csp_layout *layouts = dw_arena__alloc(state->arena, n, sizeof *layouts);
    struct dw_type_count *items = dw_arena__alloc(state->arena, n_items, sizeof *items);
    if (!plan || !layouts || !items)
        return dw_error__nomem(error);
    if (n_items > 0)
        memcpy(items, state->best.items, n_items * sizeof *items);
    for (size_t k = 0; k < n; k++) {
        const struct dw_list_cut *cut = &state->best.cuts[k];
        layouts[k] = (struct dw_csp_layout){cut->bars, cut->n, items + cut->first};
    }
    *plan = (struct dw_csp_plan){
        .n_layouts = n,
        .layouts = layouts,
        .bars = state->bars,
        .bound = state->bound,
        .dual_bound = state->dual_bound,
        .scale = state->scale,
        .dual = state->dual,
        .finished = dw_csp__closed(state),
        .method = state->method,
        .arena = state->arena,
    };
    *out = plan;
    return DW_OK;
}

dw_err dw_csp__solve(const struct dw_csp *problem, struct dw_effort *effort, struct dw_lp_env *env,
                     struct dw_csp_plan **out, struct dw_error *error)
{
    *out = NULL;
    dw_err code = check(problem, error);
    if (code != DW_OK)
        return code;
    struct dw_csp__state state = {.env = env, .effort = effort, .method = "none"};
    state.arena = dw_arena__new();
    if (!state.arena || !scale_down(&state, problem))
        code = dw_error__nomem(error);
    if (code == DW_OK && problem->n == 0)
        state.bars = 0;
    else if (code == DW_OK)
        run(&state);
    if (code == DW_OK && state.failed)
        code = dw_error__nomem(error);
    if (code == DW_OK)
        code = answer(&state, out, error);
    dw_layout_list__free(&state.best);
    if (code != DW_OK)
        dw_arena__free(state.arena);
    return code;
}

void dw_csp__free(struct dw_csp_plan *plan)
{
    if (plan)
        dw_arena__free(plan->arena);
}
