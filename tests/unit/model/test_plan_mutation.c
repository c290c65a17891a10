/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verifier refuses a right plan after any one change to it, and accepts it again when the
 * change is taken back. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "brute.h"
#include "random_job.h"

#include <string.h>

static bool accepted(const struct dw_job *job, const struct dw_plan *plan)
{
    struct dw_report report = {0};
    dw_err err = dw_plan_check(job, plan, &report, NULL);
    assert_true(err == DW_OK || err == DW_ERR_CHECK);
    dw_report_free(&report);
    return err == DW_OK;
}

/* A plan whose lists may be written to. */
struct bench {
    struct dw_job *job;
    struct dw_plan *plan;
    struct random random;
};

static void refuse(const struct bench *bench, const char *what)
{
    if (accepted(bench->job, bench->plan))
        fail_msg("accepted after: %s", what);
}

static size_t pick(struct bench *bench, size_t n)
{
    return (size_t)random_in(&bench->random, 0, (int64_t)n - 1);
}

/* Each 64-bit figure of a run of memory one up, one down, and turned round. */
static void change_figures(const struct bench *bench, void *figures, size_t size, const char *what)
{
    int64_t *figure = figures;
    for (size_t i = 0; i < size / sizeof *figure; i++) {
        int64_t right = figure[i];
        figure[i] = right + 1;
        refuse(bench, what);
        figure[i] = right - 1;
        refuse(bench, what);
        figure[i] = right ? -right : INT64_MAX;
        refuse(bench, what);
        figure[i] = right;
    }
}

static void change_plan(struct bench *bench)
{
    struct dw_plan *plan = bench->plan;
    struct dw_plan right = *plan;
    change_figures(bench, &plan->totals, sizeof plan->totals, "a total");
    plan->job_digest ^= 1;
    refuse(bench, "digest");
    plan->job_digest = right.job_digest;
    plan->bound++;
    refuse(bench, "bound of the plan");
    plan->bound = right.bound;
    for (int status = DW_STATUS_WITHIN; status <= DW_STATUS_INFEASIBLE; status++) {
        plan->status = (enum dw_status)status;
        refuse(bench, "status of the plan");
    }
    plan->status = right.status;
    plan->n_groups--;
    refuse(bench, "a group less");
    plan->n_groups = right.n_groups;
    plan->n_layouts--;
    refuse(bench, "a layout less");
    plan->n_layouts = right.n_layouts;
    plan->n_takes--;
    refuse(bench, "a take less");
    plan->n_takes = right.n_takes;
}

static void change_take(struct bench *bench)
{
    struct dw_take *take = &bench->plan->takes[pick(bench, bench->plan->n_takes)];
    change_figures(bench, take, sizeof *take, "a take");
}

static void change_layout(struct bench *bench)
{
    struct dw_layout *layout = &bench->plan->layouts[pick(bench, bench->plan->n_layouts)];
    struct dw_layout right = *layout;
    change_figures(bench, &layout->bar, sizeof layout->bar, "number of a layout's first bar");
    change_figures(bench, &layout->count, sizeof layout->count, "count of a layout");
    change_figures(bench, &layout->leftover, sizeof layout->leftover, "leftover");
    for (size_t k = 0; k <= bench->job->n_supplies; k++) {
        layout->supply = k;
        if (k != right.supply)
            refuse(bench, "supply of a layout");
    }
    layout->supply = right.supply;
    for (size_t g = 0; g <= bench->plan->n_groups; g++) {
        layout->group = g;
        if (g != right.group)
            refuse(bench, "group of a layout");
    }
    layout->group = right.group;
    for (int rest = 0; rest <= DW_REST_KEPT + 1; rest++) {
        layout->rest = (enum dw_rest)rest;
        if (layout->rest != right.rest)
            refuse(bench, "what becomes of the rest");
    }
    layout->rest = right.rest;
    layout->n_pieces--;
    refuse(bench, "a piece less");
    layout->n_pieces = right.n_pieces;
}

static void change_piece(struct bench *bench)
{
    struct dw_layout *layout = &bench->plan->layouts[pick(bench, bench->plan->n_layouts)];
    const struct dw_piece *right = layout->pieces;
    struct dw_piece pieces[64];
    assert_true(layout->n_pieces <= 64);
    memcpy(pieces, right, layout->n_pieces * sizeof *pieces);
    struct dw_piece *piece = &pieces[pick(bench, layout->n_pieces)];
    struct dw_piece one = *piece;
    layout->pieces = pieces;
    change_figures(bench, &piece->length, sizeof piece->length, "length of a piece");
    change_figures(bench, &piece->count, sizeof piece->count, "count of a piece");
    for (int use = 0; use <= DW_USE_BEND_END + 1; use++) {
        piece->use = (enum dw_use)use;
        if (piece->use != one.use)
            refuse(bench, "use of a piece");
    }
    piece->use = one.use;
    for (size_t i = 0; i <= bench->job->n_parts; i++) {
        piece->part = i;
        if (i != one.part)
            refuse(bench, "part of a piece");
    }
    layout->pieces = right;
}

static void change_group(struct bench *bench)
{
    struct dw_group *group = &bench->plan->groups[pick(bench, bench->plan->n_groups)];
    struct dw_group right = *group;
    change_figures(bench, &group->value, sizeof group->value, "value of a group");
    change_figures(bench, &group->bound, sizeof group->bound, "bound of a group");
    for (int status = DW_STATUS_WITHIN; status <= DW_STATUS_INFEASIBLE + 1; status++) {
        group->status = (enum dw_status)status;
        refuse(bench, "status of a group");
    }
    group->status = right.status;
    group->proof = DW_PROOF_DUALS;
    refuse(bench, "duals as proof, but none given");
    group->proof = right.proof;
    group->n_materials--;
    refuse(bench, "a material less");
    group->n_materials = right.n_materials;
    size_t other[4] = {0};
    assert_true(right.n_materials <= 4);
    memcpy(other, right.materials, right.n_materials * sizeof *other);
    group->materials = other;
    other[0] = bench->job->n_materials;
    refuse(bench, "a material that there is not");
    other[0] = right.materials[0] + 1;
    refuse(bench, "other materials");
    group->materials = right.materials;
    const struct dw_shortage shortage = {.part = 0, .missing = 1};
    group->shortages = &shortage;
    group->n_shortages = 1;
    refuse(bench, "a shortage where all is planned");
    *group = right;
}

/* Bars cost what the job says: with another price or rule the same layouts come to other money. */
static void change_job(struct bench *bench)
{
    struct dw_job *job = bench->job;
    struct dw_plan *plan = bench->plan;
    struct dw_supply *supply = &job->supplies[plan->takes[pick(bench, plan->n_takes)].supply];
    uint64_t digest = plan->job_digest;
    struct dw_supply right = *supply;
    if (supply->n_breaks == 0) {
        supply->price++;
        refuse(bench, "the price in the job");
        plan->job_digest = dw_job_digest(job);
        refuse(bench, "the price in the job, digest set right");
        *supply = right;
    }
    supply->count = plan->takes[0].supply == (size_t)(supply - job->supplies) ? 0 : right.count;
    plan->job_digest = dw_job_digest(job);
    if (supply->count == 0)
        refuse(bench, "no such bar");
    *supply = right;
    job->saw.kerf++;
    plan->job_digest = dw_job_digest(job);
    if (plan->totals.in_kept > 0)
        refuse(bench, "a wider kerf");
    job->saw.kerf--;
    plan->job_digest = digest;
}

/* Whatever figures stand as duals, no bound above the cheapest plan's money is accepted. */
static void change_duals(struct bench *bench)
{
    static const int64_t extremes[] = {
        0, 1, -1, INT64_MAX, INT64_MIN, INT64_C(1) << 61, INT64_MAX / 3, 7};
    struct dw_group *group = &bench->plan->groups[0];
    struct dw_certificate *c = &group->certificate;
    size_t parts[16] = {0};
    int64_t duals[16] = {0};
    *c = (struct dw_certificate){.parts = parts, .duals = duals};
    for (size_t i = 0; i < bench->job->n_parts; i++)
        for (size_t j = 0; j < group->n_materials; j++)
            if (bench->job->parts[i].materials[0] == group->materials[j])
                parts[c->n_duals++] = i;
    c->bound = group->value + 1;
    for (int i = 0; i < 20; i++) {
        c->scale = extremes[pick(bench, 8)];
        for (size_t j = 0; j < c->n_duals; j++)
            duals[j] = random_chance(&bench->random, 50)
                           ? extremes[pick(bench, 8)]
                           : random_in(&bench->random, 0, INT64_C(1) << 40);
        refuse(bench, "duals that prove more than there is to prove");
    }
    *c = (struct dw_certificate){0};
}

/* The order of straight pieces on a bar is free, save for those measured first. */
static void turn_pieces(struct bench *bench)
{
    struct dw_layout *layout = &bench->plan->layouts[pick(bench, bench->plan->n_layouts)];
    const struct dw_piece *right = layout->pieces;
    size_t n = layout->n_pieces;
    size_t head = bench->job->supplies[layout->supply].bend > 0;
    struct dw_piece pieces[64];
    for (size_t i = 0; i < bench->job->n_parts; i++)
        if (bench->job->parts[i].measure_first)
            return;
    for (size_t i = 0; i < n; i++)
        pieces[i] = right[i < head ? i : head + n - 1 - i];
    layout->pieces = pieces;
    assert_true(accepted(bench->job, bench->plan));
    if (head > 0 && n > 1) {
        struct dw_piece first = pieces[0];
        memmove(pieces, pieces + 1, (n - 1) * sizeof *pieces);
        pieces[n - 1] = first;
        if (pieces[0].part != first.part)
            refuse(bench, "the bend not at its end");
    }
    layout->pieces = right;
}

static void each_change_is_refused(void **state)
{
    (void)state;
    int n_plans = 0;
    for (uint64_t seed = 1000; seed < 1120; seed++) {
        struct bench bench = {.job = random_job(seed), .random = {seed}};
        assert_non_null(bench.job);
        bench.plan = brute_plan(bench.job);
        if (bench.plan) {
            n_plans++;
            assert_true(accepted(bench.job, bench.plan));
            change_plan(&bench);
            change_group(&bench);
            change_duals(&bench);
            for (int i = 0; i < 2; i++) {
                change_take(&bench);
                change_layout(&bench);
                change_piece(&bench);
                turn_pieces(&bench);
            }
            change_job(&bench);
            assert_true(accepted(bench.job, bench.plan));
        }
        dw_plan_free(bench.plan);
        dw_job_free(bench.job);
    }
    assert_true(n_plans > 60);
}

/* --- a group without a plan
 * ------------------------------------------------------------------------ */

/* One bar of 3 m at hand, two pieces of 2 m wanted, and one of 4 m that no bar gives. */
static struct dw_job *short_job(void)
{
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    static const size_t materials[] = {0};
    job->n_orders = job->n_materials = job->n_supplies = 1;
    job->n_parts = 2;
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    job->materials = dw_job_alloc(job, 1, sizeof *job->materials);
    job->supplies = dw_job_alloc(job, 1, sizeof *job->supplies);
    job->parts = dw_job_alloc(job, 2, sizeof *job->parts);
    job->materials[0] = (struct dw_material){.id = "steel", .worth = {.keep = 300000000}};
    job->supplies[0] = (struct dw_supply){.id = "bar",
                                          .length = 3000 * DW_NM_PER_MM,
                                          .price = 10 * DW_MONEY_ONE,
                                          .count = 1,
                                          .pack = 1,
                                          .tail_material = DW_NONE};
    for (int i = 0; i < 2; i++) {
        dw_length length = (2 + 2 * i) * 1000 * DW_NM_PER_MM;
        job->parts[i] = (struct dw_part){.label = i ? "beam" : "leg",
                                         .min = length,
                                         .max = length,
                                         .count = 2 - i,
                                         .materials = materials,
                                         .n_materials = 1};
    }
    return job;
}

static void shortages_are_checked(void **state)
{
    (void)state;
    struct dw_job *job = short_job();
    struct dw_plan *plan = NULL;
    const size_t materials[] = {0};
    struct dw_shortage missing[] = {{.part = 0, .missing = 1},
                                    {.part = 1, .missing = 1, .never = true}};
    struct dw_group group = {.n_materials = 1,
                             .materials = materials,
                             .status = DW_STATUS_INFEASIBLE,
                             .n_shortages = 2,
                             .shortages = missing};
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    plan->groups = &group;
    plan->n_groups = 1;
    plan->status = DW_STATUS_INFEASIBLE;
    plan->job_digest = dw_job_digest(job);
    struct bench bench = {.job = job, .plan = plan};
    assert_true(accepted(job, plan));
    missing[1].never = false;
    refuse(&bench, "never not said");
    missing[1].never = missing[0].never = true;
    refuse(&bench, "never said of what fits");
    missing[0].never = false;
    missing[0].missing = 3;
    refuse(&bench, "more missing than wanted");
    missing[0].missing = 0;
    refuse(&bench, "none missing");
    missing[0].missing = 1;
    group.n_shortages = 0;
    refuse(&bench, "nothing missing");
    group.n_shortages = 2;
    group.value = 1;
    refuse(&bench, "money without a plan");
    group.value = 0;
    job->supplies[0].count = DW_UNLIMITED;
    job->supplies[0].length = 5000 * DW_NM_PER_MM;
    missing[1].never = false;
    plan->job_digest = dw_job_digest(job);
    refuse(&bench, "not enough tube where there is");
    dw_plan_free(plan);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_change_is_refused),
        cmocka_unit_test(shortages_are_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
