/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans for a relaxation that is whole in all that costs money: of bars that pieces fill exactly
 * the best is known; of random jobs, whatever comes out is a plan. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "group.h"
#include "random_job.h"
#include "solve/search/branch.h"
#include "solve/fill/settled.h"
#include "textbook.h"

#include <stdlib.h>

#define JOB_LENGTHS 30
#define JOB_BARS    20

/* Offcuts that some pieces fill exactly, each length of them once, and new bars that cost more a
 * length. */
static struct dw_job *planted_job(struct random *random, dw_money cut, dw_money *least)
{
    struct textbook_part parts[JOB_LENGTHS];
    struct textbook_bar bars[JOB_BARS + 1] = {{6000, 6000 * 60, DW_UNLIMITED}};
    *least = 0;
    for (size_t i = 0; i < JOB_LENGTHS; i++)
        parts[i] = (struct textbook_part){1500 - 40 * (int64_t)i - random_in(random, 0, 39), 0};
    for (size_t k = 1; k <= JOB_BARS; k++) {
        bars[k].count = 1;
        for (int piece = 0; piece < 6; piece++) {
            size_t i = (size_t)random_in(random, 0, JOB_LENGTHS - 1);
            bars[k].length += parts[i].length;
            parts[i].count++;
        }
        bars[k].price = bars[k].length * 45;
        *least += bars[k].price + 5 * cut;
    }
    size_t n_parts = 0;
    for (size_t i = 0; i < JOB_LENGTHS; i++)
        if (parts[i].count > 0)
            parts[n_parts++] = parts[i];
    struct dw_job *job = textbook_job(DW_NM_PER_MM, bars, JOB_BARS + 1, parts, n_parts);
    assert_non_null(job);
    job->saw.cut_cost = cut;
    return job;
}

/* --- what is found -------------------------------------------------------------------------- */

static void check_col(const struct dw_problem *p, const struct dw_col *col, int64_t *made)
{
    const struct dw_bar_stock *stock = &p->stocks[col->stock];
    const struct dw_bar_kind *kind = &p->kinds[stock->kind];
    int64_t length = col->left, slack = 0;
    if (col->first != DW_NONE) {
        length += stock->firsts[col->first].size;
        slack += stock->firsts[col->first].slack;
    }
    for (size_t i = 0; i < col->n; i++) {
        const size_t item = col->entries[i].item;
        const int64_t tail = dw_col__tail_count(p, col, item);
        made[item] += col->entries[i].count;
        length += tail * p->items[item].size;
        slack += tail * p->items[item].slack;
    }
    assert_int_equal(length, stock->cap);
    assert_true(col->left >= 0 && col->slack >= 0 && col->slack <= col->left);
    assert_true(col->slack <= slack);
    const int64_t rest = col->left - col->slack;
    assert_true((col->kept ? dw_bar_kind__kept(p, kind, rest)
                           : dw_bar_kind__thrown(p, kind, rest)) != DW_NEVER);
}

static void check_plan(const struct dw_problem *p, const struct dw_solution *plan)
{
    int64_t *made = calloc(p->n_items + 1, sizeof *made),
            *one = calloc(p->n_items + 1, sizeof *one);
    int64_t *bars = calloc(p->n_stocks + 1, sizeof *bars), kept = 0;
    dw_money money = 0;
    assert_true(made && one && bars);
    for (size_t u = 0; u < plan->n; u++) {
        const struct dw_col *col = plan->uses[u].col;
        const int64_t n = plan->uses[u].count;
        for (size_t i = 0; i < p->n_items; i++)
            one[i] = 0;
        check_col(p, col, one);
        for (size_t i = 0; i < p->n_items; i++)
            made[i] += n * one[i];
        bars[col->stock] += n;
        kept += col->kept ? n : 0;
        money += n * dw_col__money(p, col);
    }
    for (size_t i = 0; i < p->n_items; i++)
        assert_true(p->items[i].post ? made[i] <= p->items[i].count : made[i] == p->items[i].count);
    for (size_t k = 0; k < p->n_stocks; k++) {
        assert_true(!p->stocks[k].limited || bars[k] <= p->stocks[k].count);
        money += dw_bar_stock__money(p, k, bars[k]);
    }
    assert_true(p->max_kept == DW_UNLIMITED || kept <= p->max_kept);
    assert_int_equal(plan->money, money);
    free(made);
    free(one);
    free(bars);
}

/* A plan from the relaxation, when that is solved and settled. */
static void try_settled(struct dw_master *master, const struct dw_relax *relax, uint64_t seed,
                        struct dw_solution *best)
{
    struct dw_relaxed relaxed = {0};
    struct dw_error error = {0};
    bool ok;
    assert_int_equal(dw_relax__solve(master, relax, &relaxed, &error), DW_OK);
    if (relaxed.status == DW_RELAX_OPTIMAL && dw_branch__settled(master->problem, &relaxed, &ok)) {
        assert_true(ok);
        assert_int_equal(dw_settled__plan(master, relax, &relaxed, 10000000, seed, best, &error),
                         DW_OK);
    }
    dw_relaxed__free(&relaxed);
}

/* All bars of limited stocks are cut. */
static void fix_bars(const struct dw_problem *p, struct dw_relax *relax)
{
    struct dw_bar_count *counts = dw_arena__alloc(p->arena, p->n_stocks, sizeof *counts);
    int64_t *n = dw_arena__alloc(p->arena, p->n_stocks, sizeof *n);
    assert_true(counts && n);
    for (size_t k = 0; k < p->n_stocks; k++) {
        if (!p->stocks[k].limited)
            continue;
        counts[relax->n_counts] = (struct dw_bar_count){.kind = DW_COUNT_STOCK, .a = k};
        n[relax->n_counts++] = p->stocks[k].count;
    }
    relax->counts = counts;
    relax->lo = relax->hi = n;
}

/* Money of the plan that the root's relaxation leads to, when it is below `below`; that otherwise.
 * all: of all bars. */
static dw_money plan_settled(const struct dw_problem *p, uint64_t seed, bool all, dw_money below)
{
    struct dw_lp_env env = {0};
    struct dw_effort effort = {0};
    struct dw_master master;
    struct dw_pool pool;
    struct dw_solution best = {.money = below};
    struct dw_pricer *pricer = dw_pricer__new(p);
    struct dw_relax relax = group_relax(p);
    assert_true(pricer && relax.demand);
    if (all)
        fix_bars(p, &relax);
    dw_pool__init(&pool, p);
    dw_master__init(&master, p, &pool, pricer, &env, &effort);
    try_settled(&master, &relax, seed, &best);
    dw_money money = best.money;
    if (money != below)
        check_plan(p, &best);
    dw_solution__free(&best);
    dw_master__free(&master);
    dw_pricer__free(pricer);
    dw_lp__env_free(&env);
    dw_pool__free(&pool);
    return money;
}

static void test_planted(void **unused)
{
    (void)unused;
    struct random random = {11};
    for (uint64_t turn = 0; turn < 5; turn++) {
        dw_money least;
        struct dw_job *job = planted_job(&random, 4000, &least);
        struct dw_arena *arena = dw_arena__new();
        assert_non_null(arena);
        struct dw_problem *problem = group_of_job(job, arena);
        assert_non_null(problem);
        assert_int_equal(plan_settled(problem, turn, false, INT64_MAX / 4), least);
        dw_arena__free(arena);
        dw_job_free(job);
    }
}

/* --- random jobs ---------------------------------------------------------------------------- */

/* 1: a plan is found. */
static int try_job(struct dw_job *job, uint64_t seed, bool all)
{
    struct dw_arena *arena = dw_arena__new();
    const dw_money below = INT64_MAX / 8;
    assert_true(job && arena);
    struct dw_problem *problem = group_of_job(job, arena);
    assert_non_null(problem);
    int found = problem->n_kinds == 1 && problem->n_items > 0 &&
                plan_settled(problem, seed, all, below) != below;
    dw_arena__free(arena);
    dw_job_free(job);
    return found;
}

static void test_random_jobs(void **unused)
{
    (void)unused;
    int n_found = 0;
    for (uint64_t seed = 1; seed <= 3000; seed++)
        n_found += try_job(random_job_large(seed, 100000), seed, false);
    assert_true(n_found > 300);
}

/* Leftovers are scrap or long enough to keep: bars leave little or nothing. */
static void test_no_middling(void **unused)
{
    (void)unused;
    struct random random = {13};
    int n_found = 0;
    for (uint64_t turn = 0; turn < 10; turn++) {
        dw_money least;
        struct dw_job *job = planted_job(&random, 0, &least);
        job->rules.no_middling = true;
        job->rules.scrap_max = 20 * DW_NM_PER_MM;
        job->materials[0].worth.keep = 100000 * DW_NM_PER_MM;
        for (size_t k = 1; k < job->n_supplies; k++)
            job->supplies[k].length += random_in(&random, 0, 20) * DW_NM_PER_MM;
        n_found += try_job(job, turn, true);
    }
    assert_true(n_found > 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_planted),
        cmocka_unit_test(test_random_jobs),
        cmocka_unit_test(test_no_middling),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
