/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Forged plans of random small jobs: what the verifier proves is never more than is so. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "forge.h"

#define PLANS 50
#define EACH  40

/* A good share has to get past the checks with a claim that is not so, and a good share to be
 * proved, or the test would show little. */
static void none_is_vouched_for(void **state)
{
    (void)state;
    struct forge forge = {0};
    for (uint64_t seed = 1; seed <= PLANS; seed++)
        if (!forge_plans(&forge, seed, EACH))
            fail_msg("seed %llu: %s", (unsigned long long)seed, forge.why);
    assert_int_equal(forge.n_forged, PLANS * EACH);
    assert_true(forge.n_false > forge.n_forged / 50);
    assert_true(forge.n_settled > forge.n_forged / 50);
    assert_true(forge.n_refused > forge.n_forged / 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(none_is_vouched_for)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
