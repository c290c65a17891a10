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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_every_layout),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
