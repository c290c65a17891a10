/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which lengths to carry: the same as trying every set of lengths on every job. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <string.h>

#define MM(x) ((dw_length)(x)*DW_NM_PER_MM)

static const size_t tube[] = {0};

static uint64_t seed;
static int64_t pick(int64_t least, int64_t most)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return least + (int64_t)((seed >> 33) % (uint64_t)(most - least + 1));
}

static void *room(struct dw_job *job, size_t n, size_t size)
{
    void *out = dw_job_alloc(job, n, size);
    assert_non_null(out);
    return out;
}

static struct dw_job *empty_job(size_t n_lengths, size_t n_jobs)
{
    static const char *const ids[] = {"a", "b", "c", "d", "e", "f"};
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    job->n_materials = 1;
    job->materials = room(job, 1, sizeof *job->materials);
    job->materials[0].id = "m";
    job->materials[0].worth.keep = MM(300);
    job->n_orders = n_jobs;
    job->orders = room(job, n_jobs, sizeof *job->orders);
    job->n_supplies = n_lengths;
    job->supplies = room(job, n_lengths, sizeof *job->supplies);
    for (size_t k = 0; k < n_lengths; k++)
        job->supplies[k] = (struct dw_supply){
            .id = ids[k], .count = DW_UNLIMITED, .pack = 1, .tail_material = DW_NONE};
    job->parts = room(job, 6 * n_jobs, sizeof *job->parts);
    return job;
}

static void add_part(struct dw_job *job, size_t order, dw_length length, int64_t count)
{
    job->parts[job->n_parts++] = (struct dw_part){.label = "p",
                                                  .order = order,
                                                  .min = length,
                                                  .max = length,
                                                  .count = count,
                                                  .n_materials = 1,
                                                  .materials = tube};
}

static struct dw_job *random_job(size_t n_lengths, size_t n_jobs)
{
    struct dw_job *job = empty_job(n_lengths, n_jobs);
    job->saw = (struct dw_saw){.kerf = MM(pick(0, 4)), .cut_cost = pick(0, 1) * 2500};
    for (size_t k = 0; k < n_lengths; k++) {
        int64_t mm = 1500 + 900 * (int64_t)k + pick(0, 600);
        job->supplies[k].length = MM(mm);
        job->supplies[k].price = (mm / 25 + pick(0, 15)) * 1000;
        job->supplies[k].trim = MM(pick(0, 5));
    }
    for (size_t j = 0; j < n_jobs; j++) {
        int64_t n = pick(1, 5);
        for (int64_t i = 0; i < n; i++)
            add_part(job, j, MM(pick(200, 1700)), pick(1, 4));
    }
    return job;
}

/* One past job on a set of lengths, by the planner alone; -1: not to be cut. Squaring cuts are put
 * in the price of a bar, and a cut is counted for each piece. */
static dw_money cost_of(const struct dw_job *all, size_t order, unsigned set)
{
    struct dw_job *job = empty_job(all->n_supplies, 1);
    dw_money cuts = 0;
    job->saw = (struct dw_saw){.kerf = all->saw.kerf};
    job->materials[0].worth.keep = MM(1000000); /* leftovers are waste */
    job->n_supplies = 0;
    for (size_t k = 0; k < all->n_supplies; k++) {
        if (!(set >> k & 1))
            continue;
        struct dw_supply *supply = &job->supplies[job->n_supplies++];
        *supply = all->supplies[k];
        supply->price += dw_supply_squarings(supply) * all->saw.cut_cost;
    }
    for (size_t i = 0; i < all->n_parts; i++) {
        if (all->parts[i].order != order)
            continue;
        add_part(job, 0, all->parts[i].min, all->parts[i].count);
        cuts += all->parts[i].count * all->saw.cut_cost;
    }
    struct dw_settings settings;
    struct dw_plan *plan = NULL;
    dw_settings_default(&settings);
    assert_int_equal(dw_solve(job, &settings, NULL, &plan, NULL), DW_OK);
    dw_money money = plan->status == DW_STATUS_INFEASIBLE ? -1 : plan->totals.value + cuts;
    if (money >= 0)
        assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
    dw_plan_free(plan);
    dw_job_free(job);
    return money;
}

static int bits(unsigned set)
{
    int n = 0;
    for (; set; set &= set - 1)
        n++;
    return n;
}

/* The least money over all sets of at most `most` lengths; -1: none serves all. */
static dw_money by_trying(const struct dw_job *job, int most)
{
    dw_money best = -1;
    for (unsigned set = 1; set < 1u << job->n_supplies; set++) {
        dw_money sum = 0;
        for (size_t o = 0; o < job->n_orders && bits(set) <= most && sum >= 0; o++) {
            dw_money money = cost_of(job, o, set);
            sum = money < 0 ? -1 : sum + money;
        }
        if (bits(set) <= most && sum >= 0 && (best < 0 || sum < best))
            best = sum;
    }
    return best;
}

static struct dw_lengths *choose(const struct dw_job *job, size_t most)
{
    struct dw_settings settings;
    struct dw_lengths *out = NULL;
    struct dw_error error = {0};
    dw_settings_default(&settings);
    if (dw_lengths_choose(job, 0, most, &settings, NULL, &out, &error))
        fail_msg("%s", error.text);
    return out;
}

static void test_equals_trying(void **state)
{
    (void)state;
    seed = 5;
    for (int round = 0; round < 6; round++) {
        struct dw_job *job = random_job(4, 4);
        for (int most = 1; most <= 3; most++) {
            struct dw_lengths *out = choose(job, (size_t)most);
            dw_money wanted = by_trying(job, most);
            if (wanted < 0) {
                assert_int_equal(out->status, DW_STATUS_INFEASIBLE);
            } else {
                assert_int_equal(out->status, DW_STATUS_OPTIMAL);
                assert_int_equal(out->value, wanted);
                assert_int_equal(out->bound, wanted);
                assert_true(out->n_uses <= (size_t)most);
                dw_money bars = 0;
                for (size_t i = 0; i < out->n_uses; i++)
                    bars += out->uses[i].money;
                assert_true(bars <= out->value);
            }
            dw_lengths_free(out);
        }
        dw_job_free(job);
    }
}

/* By hand. Jobs of 3 x 2000 and of 2 x 1450; bars of 3000 at 15 and of 6000 at 29. The first job
 * takes one 6000 (29, three 3000 are 45), the second one 3000 (15). One length: 6000 costs 29 + 29,
 * 3000 costs 45 + 15. Two: 29 + 15. */
static void test_by_hand(void **state)
{
    (void)state;
    struct dw_job *job = empty_job(2, 2);
    job->supplies[0].length = MM(3000);
    job->supplies[0].price = 150000;
    job->supplies[1].length = MM(6000);
    job->supplies[1].price = 290000;
    add_part(job, 0, MM(2000), 3);
    add_part(job, 1, MM(1450), 2);
    struct dw_lengths *out = choose(job, 1);
    assert_int_equal(out->value, 580000);
    assert_int_equal(out->n_uses, 1);
    assert_int_equal(out->uses[0].supply, 1);
    assert_int_equal(out->uses[0].bars, 2);
    dw_lengths_free(out);
    out = choose(job, 2);
    assert_int_equal(out->value, 440000);
    assert_int_equal(out->n_uses, 2);
    assert_int_equal(out->uses[0].n_jobs, 1);
    assert_int_equal(out->bought, MM(9000));
    assert_int_equal(out->needed, MM(8900));
    assert_int_equal(out->n_jobs, 2);
    dw_lengths_free(out);
    out = choose(job, 9); /* more than there are */
    assert_int_equal(out->value, 440000);
    dw_lengths_free(out);
    dw_job_free(job);
}

/* A price break is what a shop pays that carries the length; shelf bars and posts don't count. */
static void test_what_counts(void **state)
{
    (void)state;
    static const struct dw_price_break lot = {.from = 50, .price = 100000};
    struct dw_job *job = empty_job(2, 1);
    job->supplies[0].length = job->supplies[1].length = MM(3000);
    job->supplies[0].price = 150000;
    job->supplies[0].breaks = &lot;
    job->supplies[0].n_breaks = 1;
    job->supplies[1].price = 1;
    job->supplies[1].source = DW_SOURCE_SHELF;
    add_part(job, 0, MM(2000), 1);
    add_part(job, 0, MM(900), 5);
    job->parts[1].post = true;
    struct dw_lengths *out = choose(job, 2);
    assert_int_equal(out->n_catalogue, 1);
    assert_int_equal(out->value, 100000);
    dw_lengths_free(out);
    dw_job_free(job);
}

static void test_refusals(void **state)
{
    (void)state;
    struct dw_settings settings;
    struct dw_lengths *out = NULL;
    struct dw_job *job = empty_job(1, 1);
    dw_settings_default(&settings);
    job->supplies[0].length = MM(3000);
    assert_int_equal(dw_lengths_choose(job, 0, 1, &settings, NULL, &out, NULL), DW_ERR_INPUT);
    add_part(job, 0, MM(3500), 1);
    assert_int_equal(dw_lengths_choose(job, 0, 0, &settings, NULL, &out, NULL), DW_ERR_INPUT);
    assert_int_equal(dw_lengths_choose(job, 1, 1, &settings, NULL, &out, NULL), DW_ERR_INPUT);
    assert_null(out);
    out = choose(job, 1);
    assert_int_equal(out->status, DW_STATUS_INFEASIBLE);
    dw_lengths_free(out);
    job->supplies[0].source = DW_SOURCE_OFFCUT;
    assert_int_equal(dw_lengths_choose(job, 0, 1, &settings, NULL, &out, NULL), DW_ERR_INPUT);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_what_counts),
        cmocka_unit_test(test_equals_trying),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
