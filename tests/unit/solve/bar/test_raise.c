/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows are raised as the definition says: of any length, from any offset, and in place. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "solve/bar/raise.h"

#include <string.h>

#define MOST 40

static void draw(struct random *random, int64_t *row, size_t n)
{
    for (size_t x = 0; x < n; x++)
        row[x] = random_chance(random, 25) ? INT64_MIN / 4
                                           : random_in(random, -5, 5) * (INT64_C(1) << 55);
}

static void each_place_is_raised(void **state)
{
    (void)state;
    struct random random = {7};
    int64_t keep[MOST], from[MOST], to[MOST];
    for (size_t n = 0; n < MOST; n++) {
        int64_t add = random_in(&random, -3, 3);
        draw(&random, keep, MOST);
        draw(&random, from, MOST);
        memset(to, 0, sizeof to);
        dw_raise__row(to, keep, from, add, n);
        for (size_t x = 0; x < n; x++)
            assert_true(to[x] == (from[x] + add > keep[x] ? from[x] + add : keep[x]));
        for (size_t x = n; x < MOST; x++)
            assert_true(to[x] == 0);
    }
}

static void in_place_all_is_read_before_it_is_raised(void **state)
{
    (void)state;
    struct random random = {8};
    int64_t old[MOST], row[MOST];
    for (size_t offset = 0; offset < MOST; offset++) {
        int64_t add = random_in(&random, -3, 3);
        draw(&random, old, MOST);
        memcpy(row, old, sizeof row);
        dw_raise__row(row + offset, row + offset, row, add, MOST - offset);
        for (size_t x = offset; x < MOST; x++)
            assert_true(row[x] ==
                        (old[x - offset] + add > old[x] ? old[x - offset] + add : old[x]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_place_is_raised),
        cmocka_unit_test(in_place_all_is_read_before_it_is_raised),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
