/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The smoothest way to cut: the distribution of layouts against the sum over all of them. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "solve/fill/gibbs.h"

#include <math.h>

#define N_SETS 12 /* pieces, each of its own length, whose subsets are tried */
#define ROOM   100

static const int64_t size[N_SETS] = {60, 55, 50, 45, 40, 35, 30, 25, 20, 15, 10, 5}; /* sum 390 */

/* u^waste prod w of the subset `set`; 0 where it does not fit or leaves too much. */
static double weight_of(struct dw_gibbs *gibbs, unsigned set, int64_t most_waste, int64_t *rest)
{
    double weight = 1;
    *rest = ROOM;
    for (size_t i = 0; i < N_SETS; i++)
        if (set >> i & 1u) {
            *rest -= size[i];
            weight *= dw_gibbs__weights(gibbs)[i];
        }
    if (*rest < 0 || *rest > most_waste)
        return 0;
    return weight * pow(dw_gibbs__waste_weight(gibbs), (double)*rest);
}

/* What a bar has and leaves on average. */
struct sums {
    double with[N_SETS];
    double waste;
    double z;
};

static struct sums sum_sets(struct dw_gibbs *gibbs, int64_t most_waste)
{
    struct sums sums = {0};
    for (unsigned set = 0; set < 1u << N_SETS; set++) {
        int64_t rest;
        double weight = weight_of(gibbs, set, most_waste, &rest);
        sums.z += weight;
        sums.waste += weight * (double)rest;
        for (size_t i = 0; i < N_SETS; i++)
            sums.with[i] += set >> i & 1u ? weight : 0;
    }
    sums.waste /= sums.z;
    for (size_t i = 0; i < N_SETS; i++)
        sums.with[i] /= sums.z;
    return sums;
}

/* A layout is expected n p(a) times. */
static void check_draws(struct dw_gibbs *gibbs, int64_t bars, int64_t most_waste, double z)
{
    uint64_t seed = 3;
    assert_true(dw_gibbs__ready(gibbs));
    for (int turn = 0; turn < 100; turn++) {
        struct dw_type_count items[N_SETS];
        int64_t waste, rest;
        double expected;
        unsigned set = 0;
        size_t n = dw_gibbs__draw(gibbs, &seed, items, &waste, &expected);
        assert_true(n > 0);
        for (size_t i = 0; i < n; i++)
            set |= 1u << items[i].type;
        double weight = weight_of(gibbs, set, most_waste, &rest);
        assert_int_equal(waste, rest);
        assert_true(fabs(weight / z * (double)bars / expected - 1) < 1e-9);
    }
}

/* One of each from so many bars. */
static void check(int64_t bars, int64_t most_waste)
{
    const int64_t waste = bars * ROOM - 390;
    int64_t demand[N_SETS];
    for (size_t i = 0; i < N_SETS; i++)
        demand[i] = 1;
    struct dw_gibbs *gibbs = dw_gibbs__new(ROOM, N_SETS, size, demand);
    assert_non_null(gibbs);
    dw_gibbs__target(gibbs, demand, bars, most_waste, waste);
    double error = 1;
    for (int sweep = 0; sweep < 3000 && error > 1e-9; sweep++)
        error = dw_gibbs__sweep(gibbs);
    assert_true(error >= 0 && error < 1e-6);
    const struct sums sums = sum_sets(gibbs, most_waste);
    for (size_t i = 0; i < N_SETS; i++)
        assert_true(fabs((double)bars * sums.with[i] - 1) < 1e-3);
    assert_true(fabs((double)bars * sums.waste - (double)waste) < 1e-2);
    check_draws(gibbs, bars, most_waste, sums.z);
    dw_gibbs__free(gibbs);
}

static void test_all_layouts(void **unused)
{
    (void)unused;
    check(4, 10);
    check(4, 30);
    check(5, 60);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_layouts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
