/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The driver: greedy, then class LPs of growing M, the best plan and the best bound kept. */
#include "solve/bulk/bulk.h"

#include <stdlib.h>
#include <string.h>

__extension__ typedef __int128 wide;

#define FIRST_CLASSES 50
#define GOOD_ENOUGH   1000 /* a gap of the bound / GOOD_ENOUGH is not worth more work */

/* --- classes ------------------------------------------------------------------------------ */

/* Cuts the types into at most m runs of about equal piece count. Cost: O(n). */
static dw_err make_classes(const struct dw_bulk *problem, size_t m, struct dw_bulk_classes *classes)
{
    int64_t total = 0;
    for (size_t i = 0; i < problem->n; i++)
        total += problem->demand[i];
    classes->first = calloc(m + 2, sizeof *classes->first);
    classes->demand = calloc(m + 2, sizeof *classes->demand);
    if (!classes->first || !classes->demand)
        return DW_ERR_NOMEM;
    int64_t seen = 0;
    classes->n = 0;
    for (size_t i = 0; i < problem->n; i++) {
        bool full = (wide)seen * (int64_t)m >= (wide)total * (int64_t)classes->n;
        if (full && classes->n < m)
            classes->first[classes->n++] = i;
        classes->demand[classes->n - 1] += problem->demand[i];
        seen += problem->demand[i];
    }
    classes->first[classes->n] = problem->n;
    return DW_OK;
}

static void free_classes(struct dw_bulk_classes *classes)
{
    free(classes->first);
    free(classes->demand);
}

/* --- driver ------------------------------------------------------------------------------- */

struct climb {
    const struct dw_bulk *problem;
    struct dw_effort *effort;
    struct dw_lp_env *env;
    struct dw_bulk_draft best;
    bool complete;
    int64_t *bound_dual; /* length n: of the plan's bound */
    int64_t *trial_dual; /* length n */
    struct dw_bulk_plan *plan;
};

static bool must_stop(const struct climb *climb)
{
    return climb->env->dead || dw_effort__stop(climb->effort);
}

/* Keeps the draft if it is complete and cheaper, or the first complete one, or the first of all. */
static void keep_better(void *user, struct dw_bulk_draft *draft, bool complete)
{
    struct climb *climb = user;
    bool better = complete && (!climb->complete || draft->value < climb->best.value);
    if (!better && climb->best.arena)
        return;
    dw_bulk__draft_free(&climb->best);
    climb->best = *draft;
    climb->complete = complete;
    *draft = (struct dw_bulk_draft){0};
}

/* As it is, then with bars filled exactly. */
static dw_err try_greedy(struct climb *climb)
{
    dw_err err = DW_OK;
    for (int exact = 0; exact < 2 && err == DW_OK; exact++) {
        struct dw_bulk_draft trial;
        bool complete = false;
        err = dw_bulk__draft_new(climb->problem, &trial);
        if (err == DW_OK)
            err = dw_bulk__greedy(climb->problem, exact, &trial, &complete);
        if (err == DW_OK)
            keep_better(climb, &trial, complete);
        dw_bulk__draft_free(&trial);
        dw_effort__spend(climb->effort, (int64_t)climb->problem->n);
    }
    return err;
}

/* The duals in trial_dual, if they prove more than is known. */
static void keep_bound(struct climb *climb, int64_t scale, int64_t bound)
{
    if (bound <= climb->plan->bound)
        return;
    int64_t *swap = climb->bound_dual;
    climb->bound_dual = climb->trial_dual;
    climb->trial_dual = swap;
    climb->plan->bound = bound;
    climb->plan->scale = scale;
}

static dw_err try_bound(struct climb *climb, const struct dw_bulk_classes *classes)
{
    int64_t scale = 1, bound = 0;
    dw_err err = dw_bulk__bound(climb->problem, classes, climb->effort, climb->env,
                                climb->trial_dual, &scale, &bound);
    if (err == DW_OK)
        keep_bound(climb, scale, bound);
    return err;
}

static dw_err try_material(struct climb *climb)
{
    int64_t scale = 1, bound = 0;
    dw_err err = dw_bulk__material(climb->problem, climb->trial_dual, &scale, &bound);
    if (err == DW_OK)
        keep_bound(climb, scale, bound);
    return err;
}

static bool good_enough(const struct climb *climb)
{
    int64_t gap = climb->best.value - climb->plan->bound;
    return climb->complete && gap <= climb->plan->bound / GOOD_ENOUGH;
}

/* M = 50, 100, 200, ... while it can still help. */
static dw_err climb_classes(struct climb *climb, size_t max_classes)
{
    for (size_t m = FIRST_CLASSES; m <= max_classes; m *= 2) {
        if (must_stop(climb) || good_enough(climb))
            break;
        struct dw_bulk_classes classes = {0};
        dw_err err = make_classes(climb->problem, m, &classes);
        if (err == DW_OK)
            err = try_bound(climb, &classes);
        if (err == DW_OK && !must_stop(climb))
            err = dw_bulk__fill(climb->problem, &classes, climb->effort, climb->env, keep_better,
                                climb);
        bool finest = classes.n == climb->problem->n;
        free_classes(&classes);
        if (err != DW_OK)
            return err;
        if (finest)
            break;
    }
    return DW_OK;
}

/* Bars without limit that earn more than they cost, filled or left whole, would leave the linear
 * program without a limit. */
static bool can_climb(const struct dw_bulk *problem)
{
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        if (stock->count < 0 && (stock->cost < dw_bulk__credit(problem, 0) ||
                                 stock->cost < dw_bulk__worth(problem, stock->capacity)))
            return false;
    }
    return true;
}

static dw_err check_problem(const struct dw_bulk *problem)
{
    int64_t longest = 0, total = 0;
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        if (stock->capacity < 1 || stock->capacity > DW_LIST_MAX_CAPACITY || stock->cost < 0)
            return DW_ERR_RANGE;
        if (stock->capacity > longest)
            longest = stock->capacity;
    }
    for (size_t i = 0; i < problem->n; i++) {
        bool ordered = i == 0 || problem->size[i] < problem->size[i - 1];
        if (!ordered || problem->size[i] < 1 || problem->size[i] > longest ||
            problem->demand[i] < 1 || !dw_add__i64(total, problem->demand[i], &total) ||
            total > DW_LIST_MAX_PIECES)
            return DW_ERR_RANGE;
    }
    return DW_OK;
}

/* Hands the draft's layouts over to the plan, into its arena. */
static dw_err hand_over(struct climb *climb)
{
    struct dw_bulk_plan *plan = climb->plan;
    struct dw_bulk_layout *layouts =
        dw_arena__alloc(climb->best.arena, climb->best.n_layouts, sizeof *layouts);
    if (!layouts)
        return DW_ERR_NOMEM;
    if (climb->best.n_layouts)
        memcpy(layouts, climb->best.layouts, climb->best.n_layouts * sizeof *layouts);
    dw_arena__free(plan->arena);
    plan->arena = climb->best.arena;
    climb->best.arena = NULL;
    int64_t *kept = dw_arena__alloc(plan->arena, climb->problem->n, sizeof *kept);
    if (!kept)
        return DW_ERR_NOMEM;
    memcpy(kept, climb->bound_dual, climb->problem->n * sizeof *kept);
    plan->dual = kept;
    plan->layouts = layouts;
    plan->n_layouts = climb->best.n_layouts;
    plan->value = climb->best.value;
    plan->complete = climb->complete;
    return DW_OK;
}

void dw_bulk__free(struct dw_bulk_plan *plan)
{
    if (!plan)
        return;
    dw_arena__free(plan->arena);
    free(plan);
}

static dw_err solve(struct climb *climb, size_t max_classes)
{
    climb->plan->scale = 1;
    climb->bound_dual = calloc(climb->problem->n + 1, sizeof *climb->bound_dual);
    climb->trial_dual = calloc(climb->problem->n + 1, sizeof *climb->trial_dual);
    dw_err err = DW_ERR_NOMEM;
    if (climb->bound_dual && climb->trial_dual)
        err = try_material(climb);
    if (err == DW_OK)
        err = try_greedy(climb);
    if (err == DW_OK && can_climb(climb->problem))
        err = climb_classes(climb, max_classes);
    if (err == DW_OK)
        err = hand_over(climb);
    free(climb->bound_dual);
    free(climb->trial_dual);
    dw_bulk__draft_free(&climb->best);
    return err;
}

dw_err dw_bulk__solve(const struct dw_bulk *problem, size_t max_classes, struct dw_effort *effort,
                      struct dw_lp_env *env, struct dw_bulk_plan **out, struct dw_error *error)
{
    *out = NULL;
    if (check_problem(problem) != DW_OK)
        return dw_error__set(error, DW_ERR_RANGE, "the bulk problem breaks a rule of bulk.h");
    struct dw_bulk_plan *plan = calloc(1, sizeof *plan);
    if (!plan)
        return dw_error__nomem(error);
    struct climb climb = {.problem = problem, .effort = effort, .env = env, .plan = plan};
    dw_err err = problem->n_stocks ? solve(&climb, max_classes) : DW_ERR_RANGE;
    if (err != DW_OK) {
        dw_bulk__free(plan);
        return dw_error__set(error, err, "%s", dw_err_text(err));
    }
    *out = plan;
    return DW_OK;
}
