/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The way of one group: which methods run, in which order, and what is kept of them. */
#include "solve/engine.h"
#include "solve/bulk/group.h"
#include "solve/textbook/group.h"
#include "solve/plans/dive.h"
#include "solve/plans/few.h"
#include "solve/plans/greedy.h"
#include "solve/search/search.h"
#include "solve/plans/tidy.h"

#include <stdlib.h>

struct engine {
    struct dw_problem *p;
    struct dw_pool *pool;
    struct dw_effort *effort;
    struct dw_lp_env env;
    struct dw_pricer *pricer;
    struct dw_master master;
    struct dw_relax root;
    int64_t *demand;  /* length n_items */
    int64_t *avail;   /* length n_stocks */
    dw_money *bar;    /* length n_stocks */
    int64_t *scratch; /* length n_items + n_stocks */
    const struct dw_col **greedy_cols;
    struct dw_start start; /* columns of the greedy plan */
};

/* --- making it ---------------------------------------------------------------------------- */

static bool make(struct engine *e)
{
    const struct dw_problem *p = e->p;
    e->demand = calloc(p->n_items + 1, sizeof *e->demand);
    e->avail = calloc(p->n_stocks + 1, sizeof *e->avail);
    e->bar = calloc(p->n_stocks + 1, sizeof *e->bar);
    e->scratch = calloc(p->n_items + p->n_stocks + 1, sizeof *e->scratch);
    e->pricer = dw_pricer__new(p);
    if (!e->demand || !e->avail || !e->bar || !e->scratch || !e->pricer)
        return false;
    for (size_t i = 0; i < p->n_items; i++)
        e->demand[i] = p->items[i].count;
    for (size_t k = 0; k < p->n_stocks; k++) {
        e->avail[k] = p->stocks[k].count;
        e->bar[k] = p->stocks[k].price;
    }
    dw_master__init(&e->master, p, e->pool, e->pricer, &e->env, e->effort);
    e->root = (struct dw_relax){
        .demand = e->demand, .avail = e->avail, .bar = e->bar, .cutoff = INT64_MAX / 2};
    return true;
}

static void unmake(struct engine *e)
{
    dw_master__free(&e->master);
    dw_pricer__free(e->pricer);
    dw_lp__env_free(&e->env);
    free(e->demand);
    free(e->avail);
    free(e->bar);
    free(e->scratch);
    free(e->greedy_cols);
}

static bool start_from(struct engine *e, const struct dw_solution *solution)
{
    free(e->greedy_cols);
    e->greedy_cols = calloc(solution->n + 1, sizeof(const struct dw_col *));
    if (!e->greedy_cols)
        return false;
    for (size_t u = 0; u < solution->n; u++)
        e->greedy_cols[u] = solution->uses[u].col;
    e->start = (struct dw_start){.n_cols = solution->n, .cols = e->greedy_cols};
    e->root.start = &e->start;
    return true;
}

/* --- the stages --------------------------------------------------------------------------- */

/* Column generation at the root without side rows: the certificate. */
static dw_err certify(struct engine *e, struct dw_relaxed *root, struct dw_certified *certified,
                      struct dw_error *error)
{
    dw_err code = dw_relax__solve(&e->master, &e->root, root, error);
    if (code == DW_OK && root->prices.item && root->bound > INT64_MIN / 2 &&
        !dw_certify__relaxed(&e->master, &e->root, root, certified))
        code = dw_error__nomem(error);
    return code;
}

static dw_err search(struct engine *e, const struct dw_relaxed *root, struct dw_solution *best,
                     struct dw_certified *certified, bool *finished, struct dw_error *error)
{
    const struct dw_search_limits limits = {0};
    dw_money bound = INT64_MIN / 2;
    dw_err code = dw_search__run(&e->master, &e->root, root, &limits, best, &bound, error);
    *finished = code == DW_OK && bound == best->money;
    certified->searched = code == DW_OK && bound > certified->bound && certified->scale > 0;
    certified->searched_bound = bound;
    return code;
}

static dw_err improve(struct engine *e, struct dw_solution *best, struct dw_certified *certified,
                      bool *finished, struct dw_error *error)
{
    struct dw_relaxed root = {0};
    dw_err code = start_from(e, best) ? DW_OK : dw_error__nomem(error);
    if (code == DW_OK)
        code = certify(e, &root, certified, error);
    if (code == DW_OK && certified->scale > 0 && certified->bound >= best->money &&
        best->missing == 0)
        *finished = true;
    else if (code == DW_OK && !e->effort->stopped)
        code = search(e, &root, best, certified, finished, error);
    dw_relaxed__free(&root);
    return code;
}

/* A bound without an LP. */
static dw_err certify_material(struct engine *e, struct dw_certified *certified,
                               struct dw_error *error)
{
    bool ok = !dw_bulk__suits(e->p) || dw_bulk__certify(e->p, certified);
    if (ok && certified->scale == 0)
        ok = dw_certify__material(&e->master, &e->root, certified);
    return ok ? DW_OK : dw_error__nomem(error);
}

static dw_err bulk(struct engine *e, struct dw_solution *best, struct dw_certified *certified,
                   struct dw_error *error)
{
    dw_err code = certify_material(e, certified, error);
    if (code == DW_OK)
        code = dw_bulk__group(e->p, e->pool, e->effort, &e->env, best, certified, error);
    return code;
}

#define BRIEF_WORK 20000 /* for fewer layouts when the group's time is over */

/* *best, whole, with fewer layouts; `ppm` of its money may be given up for them. Not when the whole
 * job's time is over too: there may be a thousand groups. */
static bool fewer_layouts(struct engine *e, int64_t ppm, struct dw_solution *best,
                          const struct dw_certified *certified)
{
    if (!dw_solution__settle(e->p, best, e->scratch))
        return true;
    const int64_t *values = certified->scale > 0 ? certified->item : NULL;
    struct dw_effort brief = {
        .hooks = e->effort->hooks, .limit = BRIEF_WORK, .deadline_ms = e->effort->overtime_ms};
    if (e->effort->stopped && dw_effort__spend(&brief, 0))
        return true;
    struct dw_effort *effort = e->effort->stopped ? &brief : e->effort;
    bool ok = dw_few__run(e->p, e->pool, effort, &e->env, values,
                          dw_few__allowance(best->money, ppm), best, e->scratch);
    e->effort->work += brief.work;
    return ok;
}

/* Few layouts at equal money, then at the money that may be given up for them: that no plan was
 * cheaper than the one before is a bound then. */
static bool refine(struct engine *e, const struct dw_wish *wish, struct dw_solution *best,
                   struct dw_certified *certified, bool *finished)
{
    if (!dw_solution__trim(e->p, e->pool, best, e->scratch))
        return false;
    if (!wish->greedy_only && !fewer_layouts(e, 0, best, certified))
        return false;
    if (!dw_tidy__run(e->p, e->pool, e->effort, best, e->scratch))
        return false;
    const dw_money money = best->money;
    if (wish->few_ppm > 0 && !fewer_layouts(e, wish->few_ppm, best, certified))
        return false;
    certified->given_up = best->money > money ? best->money - money : 0;
    if (certified->given_up > 0 && *finished) {
        certified->searched = certified->scale > 0 && money > certified->bound;
        certified->searched_bound = money;
        *finished = false;
    }
    return true;
}

/* Greedy, then the exact method, for one objective. */
static dw_err solve(struct dw_problem *p, struct dw_pool *pool, struct dw_effort *effort,
                    const struct dw_wish *wish, struct dw_solution *best,
                    struct dw_certified *certified, bool *finished, struct dw_error *error)
{
    struct engine e = {
        .p = p, .pool = pool, .effort = effort, .env = {.stop = dw_effort__stop, .user = effort}};
    *finished = false;
    dw_err code = make(&e) ? DW_OK : dw_error__nomem(error);
    if (code == DW_OK && wish->greedy_only) {
        if (!p->missing)
            code = certify_material(&e, certified, error);
    } else if (code == DW_OK && dw_bulk__suits(p)) {
        code = bulk(&e, best, certified, error);
    } else if (code == DW_OK && dw_csp__suits(p)) {
        code = dw_csp__group(p, pool, effort, &e.env, best, certified, finished, error);
    } else if (code == DW_OK) {
        code = improve(&e, best, certified, finished, error);
    }
    if (code == DW_OK && !refine(&e, wish, best, certified, finished))
        code = dw_error__nomem(error);
    if (code == DW_OK)
        dw_solution__settle(p, best, e.scratch);
    unmake(&e);
    return code;
}

/* The columns of a solution in another pool over the same items and stocks. */
static bool transfer(struct dw_pool *to, const struct dw_solution *from, struct dw_solution *out)
{
    dw_solution__clear(out);
    for (size_t u = 0; u < from->n; u++) {
        struct dw_col draft = *from->uses[u].col;
        draft.kept = draft.kept && (!to->problem->missing || to->problem->max_kept == DW_UNLIMITED);
        const struct dw_col *col = dw_pool__add(to, &draft);
        if (!col || !dw_solution__add(out, col, from->uses[u].count))
            return false;
    }
    out->missing = from->missing;
    out->method = from->method;
    return true;
}

/* A limit that is passed before there is a plan at all would make one small step too little of work
 * look like too little tube: so much work and time there is in any case. */
#define FIND_WORK 1000000
#define FIND_MS   1000

static void grant(struct dw_effort *effort)
{
    const struct dw_hooks *hooks = effort->hooks;
    if (effort->limit > 0 && effort->limit < effort->work + FIND_WORK)
        effort->limit = effort->work + FIND_WORK;
    int64_t now = hooks && hooks->now_ms ? hooks->now_ms(hooks->user) : 0;
    if (effort->deadline_ms > 0 && effort->deadline_ms < now + FIND_MS)
        effort->deadline_ms = now + FIND_MS;
    effort->stopped = hooks && hooks->stop && hooks->stop(hooks->user);
}

/* Greedy gave no whole plan: asks for as few missing pieces as possible. */
static dw_err find_plan(struct dw_outcome *out, struct dw_effort *effort, struct dw_error *error)
{
    struct dw_problem *p = NULL;
    struct dw_pool pool = {0};
    struct dw_solution best = {0};
    struct dw_certified none = {0};
    const struct dw_wish exact = {0};
    bool finished = false;
    struct dw_effort given = *effort;
    grant(effort);
    dw_err code = dw_problem__missing(out->problem, &p, error);
    if (code == DW_OK) {
        dw_pool__init(&pool, p);
        code = transfer(&pool, &out->best, &best) ? DW_OK : dw_error__nomem(error);
    }
    best.money = best.missing;
    if (code == DW_OK)
        code = solve(p, &pool, effort, &exact, &best, &none, &finished, error);
    if (code == DW_OK && !transfer(&out->pool, &best, &out->best))
        code = dw_error__nomem(error);
    out->infeasible = code == DW_OK && best.missing > 0;
    out->finished = out->infeasible && finished;
    dw_solution__free(&best);
    dw_pool__free(&pool);
    effort->limit = given.limit;
    effort->deadline_ms = given.deadline_ms;
    dw_effort__spend(effort, 0);
    return code;
}

static dw_err settle(struct dw_outcome *out, struct dw_error *error)
{
    int64_t *scratch = calloc(out->problem->n_items + out->problem->n_stocks + 1, sizeof *scratch);
    if (!scratch)
        return dw_error__nomem(error);
    dw_solution__settle(out->problem, &out->best, scratch);
    free(scratch);
    return DW_OK;
}

static bool any_never(const struct dw_job *job, const struct dw_outcome *out)
{
    for (size_t i = 0; i < job->n_parts; i++)
        if (out->never[i] && !job->parts[i].post)
            return true;
    return false;
}

dw_err dw_outcome__problem(const struct dw_job *job, const size_t *group_of, size_t group,
                           struct dw_outcome *out, struct dw_error *error)
{
    out->arena = dw_arena__new();
    out->never = out->arena ? dw_arena__alloc(out->arena, job->n_parts, sizeof *out->never) : NULL;
    if (!out->never)
        return dw_error__nomem(error);
    return dw_problem__new(job, group_of, group, out->arena, out->never, &out->problem, error);
}

dw_err dw_engine__group(const struct dw_job *job, const size_t *group_of, size_t group,
                        const struct dw_wish *wish, struct dw_effort *effort,
                        struct dw_outcome *out, struct dw_error *error)
{
    *out = (struct dw_outcome){.arena = dw_arena__new()};
    if (!out->arena)
        return dw_error__nomem(error);
    out->never = dw_arena__alloc(out->arena, job->n_parts, sizeof *out->never);
    if (!out->never)
        return dw_error__nomem(error);
    dw_err code =
        dw_problem__new(job, group_of, group, out->arena, out->never, &out->problem, error);
    if (code != DW_OK)
        return code;
    dw_pool__init(&out->pool, out->problem);
    code = dw_greedy__solve(out->problem, &out->pool, effort, &out->best, error);
    if (code == DW_OK && out->best.missing > 0)
        code = find_plan(out, effort, error);
    if (code == DW_OK)
        code = settle(out, error);
    if (any_never(job, out))
        out->infeasible = out->finished = true;
    if (code == DW_OK && !out->infeasible)
        code = solve(out->problem, &out->pool, effort, wish, &out->best, &out->certified,
                     &out->finished, error);
    out->stopped = effort->stopped;
    out->work = effort->work;
    return code;
}

void dw_outcome__free(struct dw_outcome *outcome)
{
    dw_solution__free(&outcome->best);
    dw_pool__free(&outcome->pool);
    dw_arena__free(outcome->arena);
    *outcome = (struct dw_outcome){0};
}
