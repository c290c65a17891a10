/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random small jobs of every mix of features: the solver's money is the exhaustive reference's. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "versus.h"

static void agree(struct versus *versus, struct dw_job *(*make)(uint64_t seed), uint64_t n)
{
    for (uint64_t seed = 1; seed <= n; seed++) {
        struct dw_job *job = make(seed);
        assert_non_null(job);
        if (!versus_brute(versus, job, 0))
            fail_msg("seed %llu: %s", (unsigned long long)seed, versus->why);
        dw_job_free(job);
    }
    assert_true(versus->n_groups >= (int)n);
}

static void agrees_with_every_layout(void **state)
{
    (void)state;
    struct versus versus = {0};
    agree(&versus, random_job, 300);
    assert_true(versus.n_infeasible > 0);
}

static void agrees_where_no_grid_divides_lengths(void **state)
{
    (void)state;
    struct versus versus = {0};
    agree(&versus, random_job_fine, 300);
}

static void agrees_where_pieces_are_counted(void **state)
{
    (void)state;
    struct versus versus = {0};
    agree(&versus, random_job_counted, 600);
    assert_true(versus.n_infeasible > 0);
}

/* End allowance, bars that are not to be used, parts with priority where tube is short. */
static void agrees_with_wishes(void **state)
{
    (void)state;
    struct versus versus = {0};
    agree(&versus, random_job_wishes, 300);
    assert_true(versus.n_infeasible >= 50);
}

/* Greedy only, next to no work, some work, money given up for fewer layouts. */
static void end_early(struct versus *versus, struct dw_job *job, uint64_t seed)
{
    assert_non_null(job);
    for (int way = 0; way < 5; way++) {
        struct dw_settings settings;
        dw_settings_default(&settings);
        settings.time_ms = 0;
        settings.threads = 1;
        settings.greedy = way == 0;
        settings.work = way == 1 ? 1 : way == 2 ? 100 : way == 3 ? 3000 : 0;
        settings.few_layouts_ppm = way == 4 ? 100000 : 0;
        if (!versus_limits(versus, job, &settings))
            fail_msg("seed %llu, way %d: %s", (unsigned long long)seed, way, versus->why);
    }
    dw_job_free(job);
}

static void is_sound_when_ended_early(void **state)
{
    (void)state;
    struct versus versus = {0};
    for (uint64_t seed = 30200; seed < 30320; seed++)
        end_early(&versus, random_job(seed), seed);
    assert_true(versus.n_groups >= 600);
    for (uint64_t seed = 30320; seed < 30380; seed++)
        end_early(&versus, random_job_counted(seed), seed);
}

/* Where greedy finds no plan although there is one: too little work is no lack of tube. And a job
 * whose plan held a bent piece more than was wanted. */
static void past_mistakes(void **state)
{
    (void)state;
    static const uint64_t seeds[] = {30297, 32602, 32878, 32989, 33930, 34969, 40199};
    struct versus versus = {0};
    for (size_t i = 0; i < sizeof seeds / sizeof *seeds; i++) {
        struct dw_job *job = random_job(seeds[i]);
        assert_non_null(job);
        if (!versus_brute(&versus, job, 0))
            fail_msg("seed %llu: %s", (unsigned long long)seeds[i], versus.why);
        dw_job_free(job);
        end_early(&versus, random_job(seeds[i]), seeds[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_every_layout),
        cmocka_unit_test(agrees_where_no_grid_divides_lengths),
        cmocka_unit_test(agrees_with_wishes),
        cmocka_unit_test(agrees_where_pieces_are_counted),
        cmocka_unit_test(is_sound_when_ended_early),
        cmocka_unit_test(past_mistakes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
