/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Limits that probing puts on a node: every plan cheaper than the best keeps them. The best is
 * taken to cost one step more than the optimum, so that an optimal plan has to. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "group.h"
#include "random_job.h"
#include "solve/plans/greedy.h"
#include "solve/search/core.h"
#include "textbook.h"

#include <stdlib.h>

#define JOBS    40
#define NODES   10 /* a job */
#define PARTS   8
#define OFFCUTS 14
#define FIXED   20 /* limits that there are to be at least, so that the test says something */

struct fixture {
    const struct dw_problem *p;
    struct dw_lp_env env;
    struct dw_effort effort;
    struct dw_pool pool;
    struct dw_pricer *pricer;
    struct dw_master master;
    struct dw_relax root;
    struct dw_relaxed solved;
    struct dw_solution plan; /* optimal */
    struct dw_error error;
};

static void make(struct fixture *f, const struct dw_problem *p)
{
    *f = (struct fixture){.p = p, .root = group_relax(p), .pricer = dw_pricer__new(p)};
    assert_true(f->root.demand && f->pricer);
    dw_pool__init(&f->pool, p);
    dw_master__init(&f->master, p, &f->pool, f->pricer, &f->env, &f->effort);
}

static void unmake(struct fixture *f)
{
    dw_solution__free(&f->plan);
    dw_relaxed__free(&f->solved);
    dw_master__free(&f->master);
    dw_pricer__free(f->pricer);
    dw_lp__env_free(&f->env);
    dw_pool__free(&f->pool);
}

/* false: there is no plan. */
static bool find_optimum(struct fixture *f)
{
    const struct dw_search_limits limits = {0};
    dw_money bound = 0;
    assert_int_equal(dw_greedy__solve(f->p, &f->pool, &f->effort, &f->plan, &f->error), DW_OK);
    assert_int_equal(dw_relax__solve(&f->master, &f->root, &f->solved, &f->error), DW_OK);
    if (f->plan.missing > 0 || f->solved.status != DW_RELAX_OPTIMAL)
        return false;
    assert_int_equal(
        dw_search__run(&f->master, &f->root, &f->solved, &limits, &f->plan, &bound, &f->error),
        DW_OK);
    return bound == f->plan.money;
}

static int64_t count_in(const struct fixture *f, const struct dw_bar_count *count)
{
    int64_t n = 0;
    for (size_t u = 0; u < f->plan.n; u++)
        n += f->plan.uses[u].count * dw_bar_count__of(f->p, count, f->plan.uses[u].col);
    return n;
}

static void give(const struct fixture *f, struct dw_search *s, struct dw_search_node *node,
                 struct dw_bar_count count)
{
    const int64_t n = count_in(f, &count);
    const size_t at = dw_search__find_count(s, &count);
    bool empty = false;
    assert_true(at != SIZE_MAX);
    assert_true(dw_search_node__limit(node, (struct dw_limit){at, n, n, false}, &empty) && !empty);
}

/* With as many bars as the plan has, as many of them filled exactly, and some of its stocks. */
static struct dw_search_node *make_node(const struct fixture *f, struct dw_search *s,
                                        struct random *random)
{
    struct dw_search_node *node = dw_search_node__new(NULL, &f->solved.start, NULL, INT64_MIN / 2);
    assert_non_null(node);
    give(f, s, node, (struct dw_bar_count){.kind = DW_COUNT_BARS});
    give(f, s, node, (struct dw_bar_count){.kind = DW_COUNT_EXACT});
    for (size_t k = 0; k < f->p->n_stocks; k++)
        if (random_chance(random, 30))
            give(f, s, node, (struct dw_bar_count){.kind = DW_COUNT_STOCK, .a = k});
    return node;
}

/* Answers how many limits probing gives. */
static size_t probe(struct fixture *f, struct random *random)
{
    struct dw_solution best = {.money = f->plan.money + f->p->grid};
    const struct dw_search_limits limits = {0};
    struct dw_search s = {.master = &f->master,
                          .p = f->p,
                          .root = &f->root,
                          .solved = &f->solved,
                          .limits = &limits,
                          .best = &best,
                          .error = &f->error};
    struct dw_search_node *node = make_node(f, &s, random);
    const size_t given = node->n_limits;
    struct dw_node_relax own = {0};
    struct dw_relaxed relaxed = {0};
    assert_true(node && dw_search__relax(&s, node, &own));
    assert_int_equal(dw_relax__solve(&f->master, &own.relax, &relaxed, &f->error), DW_OK);
    assert_int_equal(relaxed.status, DW_RELAX_OPTIMAL);
    const dw_money before = relaxed.bound;
    assert_int_equal(dw_search__probe(&s, node, &own, &relaxed), DW_OK);
    assert_int_equal(relaxed.status, DW_RELAX_OPTIMAL);
    assert_true(relaxed.bound >= before && relaxed.bound <= f->plan.money);
    const size_t n = node->n_limits;
    for (size_t i = 0; i < n; i++) {
        const struct dw_limit *limit = &node->limits[i];
        const int64_t has = count_in(f, &s.counts[limit->count]);
        assert_true(has >= limit->lo && has <= limit->hi);
    }
    dw_relaxed__free(&relaxed);
    dw_search_node__free(node);
    free(s.counts);
    dw_node_relax__free(&own);
    return n - given;
}

/* A shop job in millimetres and thousandths: bars by the price list, offcuts at two thirds of it,
 * each cut at a cost. */
static struct dw_job *make_job(uint64_t seed)
{
    struct random random = {seed};
    struct textbook_bar bars[OFFCUTS + 1] = {{3000, 13500, DW_UNLIMITED}};
    struct textbook_part parts[PARTS];
    for (size_t k = 1; k <= OFFCUTS; k++) {
        const int64_t length = random_in(&random, 400, 2400);
        bars[k] = (struct textbook_bar){length, length * random_in(&random, 24, 34) / 10, 1};
    }
    for (size_t i = 0; i < PARTS; i++)
        parts[i] = (struct textbook_part){random_in(&random, 150, 900), random_in(&random, 1, 3)};
    struct dw_job *job = textbook_job(1, bars, OFFCUTS + 1, parts, PARTS);
    assert_non_null(job);
    job->saw.kerf = 3;
    job->saw.cut_cost = 400;
    return job;
}

static size_t try_job(uint64_t seed)
{
    struct dw_job *job = make_job(seed);
    struct dw_arena *arena = dw_arena__new();
    assert_true(job && arena);
    struct dw_problem *problem = group_of_job(job, arena);
    assert_non_null(problem);
    struct fixture f;
    make(&f, problem);
    struct random random = {seed};
    size_t n = 0;
    const bool found = find_optimum(&f);
    for (int turn = 0; found && turn < NODES; turn++)
        n += probe(&f, &random);
    unmake(&f);
    dw_arena__free(arena);
    dw_job_free(job);
    return n;
}

static void test_limits(void **unused)
{
    (void)unused;
    size_t n = 0;
    for (uint64_t seed = 1; seed <= JOBS; seed++)
        n += try_job(seed);
    assert_true(n >= FIXED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_limits)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
