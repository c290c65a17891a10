/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The smoothest way to cut: the distribution of layouts against the sum over all of them, and the
 * number of plans against counting them. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "solve/fill/gibbs.h"

#include <math.h>

#define N_SETS  12 /* pieces, each of its own length, whose subsets are tried */
#define N_SORTS 3

/* Pieces of the subset `set`, and their weight. */
static int64_t length_of(unsigned set, const int64_t *size, const double *w, double *weight)
{
    int64_t length = 0;
    *weight = 1;
    for (size_t i = 0; i < N_SETS; i++)
        if (set >> i & 1u) {
            length += size[i];
            *weight *= w[i];
        }
    return length;
}

/* What all of the bars have and leave on average. */
struct sums {
    double with[N_SETS]; /* bars that have the piece */
    double waste;
    double exact; /* of the counted ones */
    double z[N_SORTS];
};

/* u^waste prod w, times v where a counted bar leaves nothing. */
static double weight_of(const struct dw_gibbs_bars *bars, unsigned set, const int64_t *size,
                        struct dw_gibbs *gibbs, int64_t *rest)
{
    double weight;
    *rest = bars->capacity - length_of(set, size, dw_gibbs__weights(gibbs), &weight);
    if (*rest < 0 || *rest > bars->most_waste)
        return 0;
    weight *= pow(dw_gibbs__waste_weight(gibbs), (double)*rest);
    return *rest == 0 && bars->counted ? weight * dw_gibbs__exact_weight(gibbs) : weight;
}

static struct sums sum_sets(const struct dw_gibbs_bars *bars, size_t n_bars, const int64_t *size,
                            struct dw_gibbs *gibbs)
{
    struct sums sums = {0};
    for (size_t k = 0; k < n_bars; k++) {
        double z = 0, one[N_SETS] = {0}, left = 0, exact = 0;
        for (unsigned set = 0; set < 1u << N_SETS; set++) {
            int64_t rest;
            double weight = weight_of(&bars[k], set, size, gibbs, &rest);
            z += weight;
            left += weight * (double)rest;
            exact += rest == 0 && bars[k].counted ? weight : 0;
            for (size_t i = 0; i < N_SETS; i++)
                one[i] += set >> i & 1u ? weight : 0;
        }
        sums.z[k] = z;
        sums.waste += (double)bars[k].n * left / z;
        sums.exact += (double)bars[k].n * exact / z;
        for (size_t i = 0; i < N_SETS; i++)
            sums.with[i] += (double)bars[k].n * one[i] / z;
    }
    return sums;
}

/* A layout is expected n p(a) times. */
static void check_draws(struct dw_gibbs *gibbs, const struct dw_gibbs_bars *bars, size_t n_bars,
                        const int64_t *size, const struct sums *sums)
{
    uint64_t seed = 3;
    assert_true(dw_gibbs__ready(gibbs));
    for (size_t k = 0; k < n_bars; k++) {
        dw_gibbs__aim(gibbs, k);
        for (int turn = 0; turn < 100; turn++) {
            struct dw_type_count items[N_SETS];
            int64_t waste, rest;
            double expected;
            unsigned set = 0;
            size_t n = dw_gibbs__draw(gibbs, &seed, items, &waste, &expected);
            assert_true(n > 0);
            for (size_t i = 0; i < n; i++)
                set |= 1u << items[i].type;
            double weight = weight_of(&bars[k], set, size, gibbs, &rest);
            assert_int_equal(waste, rest);
            assert_true(fabs(weight / sums->z[k] * (double)bars[k].n / expected - 1) < 1e-9);
        }
    }
}

/* Answers the weight of an exact bar. */
static double check_lengths(const struct dw_gibbs_bars *bars, int64_t exact)
{
    const int64_t size[N_SETS] = {60, 55, 50, 45, 40, 35, 30, 25, 20, 15, 10, 5};
    int64_t demand[N_SETS];
    for (size_t i = 0; i < N_SETS; i++)
        demand[i] = 1;
    struct dw_gibbs *gibbs = dw_gibbs__new(100, N_SETS, size, demand);
    assert_non_null(gibbs);
    assert_true(dw_gibbs__target(gibbs, demand, bars, N_SORTS, 10, exact));
    double error = 1;
    for (int sweep = 0; sweep < 3000 && error > 1e-9; sweep++)
        error = dw_gibbs__sweep(gibbs);
    assert_true(error >= 0 && error < 1e-6);
    const struct sums sums = sum_sets(bars, N_SORTS, size, gibbs);
    for (size_t i = 0; i < N_SETS; i++)
        assert_true(fabs(sums.with[i] - 1) < 1e-3);
    assert_true(fabs(sums.waste - 10) < 1e-2);
    const double v = dw_gibbs__exact_weight(gibbs);
    assert_true(v >= 1 && sums.exact > (double)exact - 1e-2);
    assert_true(v == 1 || fabs(sums.exact - (double)exact) < 1e-2);
    check_draws(gibbs, bars, N_SORTS, size, &sums);
    dw_gibbs__free(gibbs);
    return v;
}

static void test_several_lengths(void **unused)
{
    (void)unused;
    /* The lengths sum to 390: two bars of 100, one of 80, two of 60 leave 10 in all. */
    struct dw_gibbs_bars bars[N_SORTS] = {{100, 2, 0, false}, {80, 1, 15, true}, {60, 2, 15, true}};
    assert_true(check_lengths(bars, 0) == 1);
    assert_true(check_lengths(bars, 2) > 1);
    bars[1].counted = false;
    assert_true(check_lengths(bars, 1) == 1);
    bars[0] = (struct dw_gibbs_bars){100, 2, 15, true};
    assert_true(check_lengths(bars, 3) > 1);
}

/* Ways to cut the pieces of `left` from `n` bars alike, these in any order, `exact` of them or more
 * without waste: the first piece left is on the next bar. */
static int64_t count_plans(const int64_t *size, unsigned left, const struct dw_gibbs_bars *bars,
                           int64_t n, int64_t exact)
{
    if (left == 0 || n == 0)
        return left == 0 && n == 0 && exact <= 0;
    unsigned first = left & (0u - left);
    int64_t plans = 0;
    double weight;
    const double none[N_SETS] = {0};
    for (unsigned set = left; set > 0; set = (set - 1) & left) {
        int64_t rest = bars->capacity - length_of(set, size, none, &weight);
        if ((set & first) && rest >= 0 && rest <= bars->most_waste)
            plans += count_plans(size, left & ~set, bars, n - 1, exact - (rest == 0));
    }
    return plans;
}

static void check_number(const struct dw_gibbs_bars *bars, int64_t exact)
{
    const int64_t size[N_SETS] = {11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 12, 13}; /* sum 90 */
    int64_t demand[N_SETS];
    for (size_t i = 0; i < N_SETS; i++)
        demand[i] = 1;
    struct dw_gibbs *gibbs = dw_gibbs__new(bars->capacity, N_SETS, size, demand);
    assert_non_null(gibbs);
    assert_true(dw_gibbs__target(gibbs, demand, bars, 1, bars->n * bars->capacity - 90, exact));
    double error = 1;
    for (int sweep = 0; sweep < 200; sweep++)
        error = dw_gibbs__sweep(gibbs);
    assert_true(error >= 0 && error < 1e-6);
    assert_true(dw_gibbs__ready(gibbs));
    double counted = log((double)count_plans(size, (1u << N_SETS) - 1, bars, bars->n, exact));
    assert_true(counted > 3);
    double said = dw_gibbs__plans(gibbs);
    assert_true(said > counted - 4 && said < counted + 0.5);
    dw_gibbs__free(gibbs);
}

static void test_number_of_plans(void **unused)
{
    (void)unused;
    check_number(&(struct dw_gibbs_bars){30, 3, 0, false}, 0);
    check_number(&(struct dw_gibbs_bars){32, 3, 4, false}, 0);
    check_number(&(struct dw_gibbs_bars){32, 3, 6, true}, 1);
    check_number(&(struct dw_gibbs_bars){33, 3, 6, true}, 1);
    check_number(&(struct dw_gibbs_bars){32, 3, 8, true}, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_several_lengths),
        cmocka_unit_test(test_number_of_plans),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
