/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The methods for very many lengths on small jobs, where every plan can be listed: no plan costs
 * less than a bound, and the verifier proves the bound again from its duals. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "brute.h"
#include "random_job.h"
#include "solve/bulk/group.h"
#include "solve/groups.h"
#include "solve/group/plain.h"

#include <stdlib.h>

/* One material, straight bars at fixed prices, parts of fixed lengths; every way to cut and to earn
 * by leftovers that a plain group may have. */
static struct dw_job *plain_job(struct random *random)
{
    struct dw_job *job = NULL;
    do {
        dw_job_free(job);
        job = random_job(random_next(random));
        assert_non_null(job);
        job->rules.no_middling = false;
        job->rules.max_new_offcuts = DW_UNLIMITED;
        for (size_t k = 0; k < job->n_supplies; k++) {
            job->supplies[k].pack = 1;
            job->supplies[k].n_breaks = 0;
        }
    } while (job->n_materials != 1);
    return job;
}

struct fixture {
    struct dw_job *job;
    struct dw_plan *cheapest;
    struct dw_arena *arena;
    struct dw_problem *problem;
};

/* false: the job is not plain, or has no plan. */
static bool set_up(struct fixture *f, struct random *random)
{
    struct dw_error error = {0};
    size_t group_of = 0, n_groups = 0;
    *f = (struct fixture){.job = plain_job(random), .arena = dw_arena__new()};
    assert_non_null(f->arena);
    bool *never = dw_arena__alloc(f->arena, f->job->n_parts, sizeof *never);
    assert_non_null(never);
    assert_int_equal(dw_groups__find(f->job, &group_of, &n_groups, &error), DW_OK);
    assert_int_equal(dw_problem__new(f->job, &group_of, 0, f->arena, never, &f->problem, &error),
                     DW_OK);
    if (!dw_plain__is(f->problem))
        return false;
    f->cheapest = brute_plan(f->job);
    return f->cheapest != NULL;
}

static void tear_down(struct fixture *f)
{
    dw_plan_free(f->cheapest);
    dw_arena__free(f->arena);
    dw_job_free(f->job);
}

/* The cheapest plan with these duals passes the verifier. */
static void hold_against_all(struct fixture *f, const struct dw_certified *certified)
{
    const struct dw_problem *p = f->problem;
    struct dw_group *group = &f->cheapest->groups[0];
    struct dw_report report = {0};
    struct dw_error error = {0};
    size_t parts[BRUTE_ITEMS], n = 0;
    int64_t duals[BRUTE_ITEMS];
    for (size_t i = 0; i < p->n_items; i++)
        for (size_t m = 0; m < p->items[i].n_members; m++) {
            parts[n] = p->items[i].members[m];
            duals[n++] = certified->item[i];
        }
    assert_true(certified->bound <= f->cheapest->bound);
    group->certificate = (struct dw_certificate){.scale = certified->scale,
                                                 .n_duals = n,
                                                 .parts = parts,
                                                 .duals = duals,
                                                 .bound = certified->bound};
    if (dw_plan_check(f->job, f->cheapest, &report, &error) != DW_OK)
        fail_msg("%s", error.text);
    group->certificate = (struct dw_certificate){0};
    dw_report_free(&report);
}

static void material_is_proven(void **state)
{
    (void)state;
    struct random random = {1961};
    int n_proven = 0, n_close = 0;
    for (int round = 0; round < 3000; round++) {
        struct fixture f;
        struct dw_certified certified = {0};
        if (set_up(&f, &random)) {
            assert_true(dw_bulk__certify(f.problem, &certified));
            if (certified.scale > 0) {
                hold_against_all(&f, &certified);
                n_proven++;
                n_close += 5 * certified.bound >= 4 * f.cheapest->bound;
            }
        }
        tear_down(&f);
    }
    assert_true(n_proven > 300);
    assert_true(n_close > 30);
}

/* The plan is settled here, by columns whose money the tests of whole plans hold against the
 * reference. */
static void classes_are_proven(void **state)
{
    (void)state;
    struct random random = {1981};
    int n_planned = 0, n_cheapest = 0, n_close = 0;
    for (int round = 0; round < 2000; round++) {
        struct fixture f;
        struct dw_certified certified = {0};
        struct dw_solution best = {.missing = INT64_MAX};
        struct dw_effort effort = {0};
        struct dw_lp_env env = {0};
        struct dw_pool pool = {0};
        struct dw_error error = {0};
        if (set_up(&f, &random)) {
            dw_pool__init(&pool, f.problem);
            assert_int_equal(
                dw_bulk__group(f.problem, &pool, &effort, &env, &best, &certified, &error), DW_OK);
            if (certified.scale > 0)
                hold_against_all(&f, &certified);
            n_close += 10 * certified.bound >= 9 * f.cheapest->bound;
            if (best.missing == 0) {
                assert_true(best.money >= f.cheapest->bound);
                n_planned++;
                n_cheapest += best.money == f.cheapest->bound;
            }
        }
        dw_solution__free(&best);
        dw_pool__free(&pool);
        dw_lp__env_free(&env);
        tear_down(&f);
    }
    assert_true(n_planned > 300);
    assert_true(n_cheapest > 100);
    assert_true(n_close > 100);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(material_is_proven),
        cmocka_unit_test(classes_are_proven),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
