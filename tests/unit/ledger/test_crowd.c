/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Eight processes on one shelf, briefly; tests/slow has the full minute. */
#include "tests/support/crowd.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static void test_eight_processes(void **state)
{
    (void)state;
    crowd_run(8, 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_eight_processes)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
