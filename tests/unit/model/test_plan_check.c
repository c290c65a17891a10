/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verifier against exhaustive plans: it accepts what is right, bounds included, and refuses
 * each of many single changes. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "brute.h"
#include "random_job.h"

#include <stdio.h>
#include <stdlib.h>

__extension__ typedef __int128 wide;

#define N_JOBS 300

/* true if the verifier finds nothing wrong. */
static bool accepted(const struct dw_job *job, const struct dw_plan *plan, bool tell)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_plan_check(job, plan, &report, &error);
    for (size_t i = 0; tell && i < report.n_remarks; i++)
        if (report.remarks[i].severity == DW_WRONG)
            print_error("%s\n", report.remarks[i].what.text);
    assert_true(err == DW_OK || err == DW_ERR_CHECK);
    assert_int_equal(err == DW_OK, report.n_wrong == 0);
    dw_report_free(&report);
    return err == DW_OK;
}

static struct dw_job *checked_job(uint64_t seed)
{
    struct dw_job *job = random_job(seed);
    assert_non_null(job);
    struct dw_report report = {0};
    struct dw_error error = {0};
    if (dw_job_check(job, &report, &error) != DW_OK) {
        for (size_t i = 0; i < report.n_remarks; i++)
            print_error("seed %llu: %s\n", (unsigned long long)seed, report.remarks[i].what.text);
        fail();
    }
    dw_report_free(&report);
    return job;
}

static void accepts_exhaustive_plans(void **state)
{
    (void)state;
    int n_plans = 0;
    for (uint64_t seed = 1; seed <= N_JOBS; seed++) {
        struct dw_job *job = checked_job(seed);
        struct dw_plan *plan = brute_plan(job);
        if (plan && !accepted(job, plan, true))
            fail_msg("seed %llu", (unsigned long long)seed);
        n_plans += plan != NULL;
        dw_plan_free(plan);
        dw_job_free(job);
    }
    assert_true(n_plans > N_JOBS / 2);
}

/* --- bounds -------------------------------------------------------------------------------------
 */

static int64_t gcd(int64_t a, int64_t b)
{
    return b ? gcd(b, a % b) : a;
}

/* scale x max(0, z_k), from the list of all layouts. */
static wide best_layout(const struct brute *brute, size_t k, int64_t scale, const int64_t *duals)
{
    const struct dw_job *job = brute->job;
    const struct dw_supply *supply = &job->supplies[k];
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks; i++)
        price = supply->breaks[i].price < price ? supply->breaks[i].price : price;
    wide best = 0;
    for (size_t i = 0; i < brute->n_layouts; i++) {
        const struct brute_layout *layout = &brute->layouts[i];
        wide value = -(wide)scale * (price + layout->money);
        for (size_t j = 0; j < brute->n_items; j++) {
            wide y = duals[j] * (wide)layout->made[j];
            value += job->parts[brute->items[j]].post ? -y : y;
        }
        if (layout->supply == k && value > best)
            best = value;
    }
    return best;
}

static wide proven_sum(const struct brute *brute, int64_t scale, const int64_t *duals)
{
    const struct dw_job *job = brute->job;
    wide sum = 0;
    int64_t pieces = 0;
    for (size_t j = 0; j < brute->n_items; j++) {
        const struct dw_part *part = &job->parts[brute->items[j]];
        sum += (part->post ? -1 : 1) * (wide)duals[j] * part->count;
        pieces += part->count;
    }
    for (size_t i = 0; i < brute->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[brute->supplies[i]];
        int64_t bars = pieces;
        if (supply->count != DW_UNLIMITED && supply->count / supply->pack * supply->pack < bars)
            bars = supply->count / supply->pack * supply->pack;
        sum -= bars * best_layout(brute, brute->supplies[i], scale, duals);
    }
    return sum;
}

/* The money grid from its definition in plan.h. */
static dw_money grid_of(const struct brute *brute, const size_t *materials, size_t n)
{
    const struct dw_job *job = brute->job;
    dw_money grid = job->saw.cut_cost;
    for (size_t i = 0; i < brute->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[brute->supplies[i]];
        grid = gcd(grid, supply->price);
        for (size_t j = 0; j < supply->n_breaks; j++)
            grid = gcd(grid, supply->breaks[j].price);
    }
    for (size_t j = 0; j < brute->n_items; j++)
        grid = gcd(grid, job->parts[brute->items[j]].worth);
    for (size_t i = 0; i < n; i++) {
        const struct dw_worth *worth = &job->materials[materials[i]].worth;
        if ((worth->kind == DW_WORTH_RATE && worth->rate > 0) ||
            (worth->kind == DW_WORTH_SHARE && worth->share > 0))
            return 1;
        for (size_t j = 0; worth->kind == DW_WORTH_CLASSES && j < worth->n_classes; j++) {
            const struct dw_worth_class *row = &worth->classes[j];
            dw_length from = row->from > worth->keep ? row->from : worth->keep;
            if (row->worth > 0 && brute_worth(job, materials[i], from) != row->worth)
                return 1;
            grid = gcd(grid, row->worth);
        }
    }
    return grid > 0 ? grid : 1;
}

/* Any duals prove something: exactly what the list of layouts proves, and never more than the
 * cheapest plan costs. */
static void try_duals(struct random *random, const struct dw_job *job, struct dw_plan *plan)
{
    struct dw_group *group = &plan->groups[0];
    struct brute brute = {0};
    assert_int_equal(brute_solve(&brute, job, group->materials, group->n_materials), 0);
    int64_t duals[BRUTE_ITEMS] = {0};
    int64_t scale = random_chance(random, 30) ? 1 : random_in(random, 1, 1000000);
    for (size_t j = 0; j < brute.n_items; j++) {
        wide top = (wide)group->value * scale / (job->parts[brute.items[j]].count + 1);
        int64_t most = top > 0 ? (int64_t)top : scale * DW_MONEY_ONE;
        duals[j] = random_chance(random, 20) ? 0 : random_in(random, 0, most);
    }
    wide sum = proven_sum(&brute, scale, duals);
    dw_money grid = grid_of(&brute, group->materials, group->n_materials);
    wide steps = sum / ((wide)scale * grid);
    if (steps * scale * grid < sum)
        steps++;
    dw_money proven = (dw_money)(steps * grid);
    assert_true(proven <= group->value);
    struct dw_certificate *c = &group->certificate;
    *c = (struct dw_certificate){
        .scale = scale, .n_duals = brute.n_items, .parts = brute.items, .duals = duals};
    c->bound = proven;
    if (!accepted(job, plan, true))
        fail_msg("a proven bound was refused");
    c->bound = proven + 1;
    assert_false(accepted(job, plan, false));
    *c = (struct dw_certificate){0};
    brute_free(&brute);
}

static void bounds_are_exact(void **state)
{
    (void)state;
    struct random random = {77};
    int n_tried = 0;
    for (uint64_t seed = 1; seed <= N_JOBS; seed++) {
        struct dw_job *job = checked_job(seed);
        struct dw_plan *plan = brute_plan(job);
        for (int i = 0; plan && i < 3; i++, n_tried++)
            try_duals(&random, job, plan);
        dw_plan_free(plan);
        dw_job_free(job);
    }
    assert_true(n_tried > N_JOBS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(accepts_exhaustive_plans),
        cmocka_unit_test(bounds_are_exact),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
