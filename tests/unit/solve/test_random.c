/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random small jobs of every mix of features: the solver's money is the exhaustive reference's. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "versus.h"

static void agrees_with_every_layout(void **state)
{
    (void)state;
    struct versus versus = {0};
    for (uint64_t seed = 1; seed <= 300; seed++) {
        struct dw_job *job = random_job(seed);
        assert_non_null(job);
        if (!versus_brute(&versus, job, 0))
            fail_msg("seed %llu: %s", (unsigned long long)seed, versus.why);
        dw_job_free(job);
    }
    assert_true(versus.n_groups >= 300);
    assert_true(versus.n_infeasible > 0);
}

/* Greedy only, next to no work, some work, money given up for fewer layouts. */
static void is_sound_when_ended_early(void **state)
{
    (void)state;
    struct versus versus = {0};
    for (uint64_t seed = 30200; seed < 30320; seed++) {
        struct dw_job *job = random_job(seed);
        assert_non_null(job);
        for (int way = 0; way < 5; way++) {
            struct dw_settings settings;
            dw_settings_default(&settings);
            settings.time_ms = 0;
            settings.threads = 1;
            settings.greedy = way == 0;
            settings.work = way == 1 ? 1 : way == 2 ? 100 : way == 3 ? 3000 : 0;
            settings.few_layouts_ppm = way == 4 ? 100000 : 0;
            if (!versus_limits(&versus, job, &settings))
                fail_msg("seed %llu, way %d: %s", (unsigned long long)seed, way, versus.why);
        }
        dw_job_free(job);
    }
    assert_true(versus.n_groups >= 600);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_every_layout),
        cmocka_unit_test(is_sound_when_ended_early),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
