/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The LP seam: small covering LPs that are solved again with more to cover, up to a limit. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "solve/lp/lp.h"

#include <math.h>

#define N_ROWS  6
#define N_COLS  12
#define MOST_X  40.0 /* of a column */
#define N_CASES 400

struct covering {
    double cost[N_COLS], a[N_ROWS][N_COLS], least[N_ROWS], most[N_ROWS];
};

/* Each row is in at least one column; the last row bounds the number of all. */
static struct covering draw(struct random *random)
{
    struct covering c = {.cost = {0}};
    for (size_t j = 0; j < N_COLS; j++) {
        c.cost[j] = (double)random_in(random, 20, 60) / 8;
        for (size_t i = 0; i + 1 < N_ROWS; i++)
            c.a[i][j] = (double)(random_chance(random, 30) ? random_in(random, 1, 3) : 0);
        c.a[j % (N_ROWS - 1)][j] += 1;
        c.a[N_ROWS - 1][j] = 1;
    }
    for (size_t i = 0; i < N_ROWS; i++) {
        c.least[i] = i + 1 < N_ROWS ? (double)random_in(random, 1, 20) : -DW_LP_INF;
        c.most[i] = i + 1 < N_ROWS ? DW_LP_INF : (double)random_in(random, 25, 50);
    }
    return c;
}

static struct dw_lp *build(struct dw_lp_env *env, const struct covering *c)
{
    struct dw_lp *lp = dw_lp__new(env);
    assert_non_null(lp);
    for (size_t i = 0; i < N_ROWS; i++)
        assert_int_equal(dw_lp__add_row(lp, c->least[i], c->most[i]), i);
    for (size_t j = 0; j < N_COLS; j++) {
        size_t rows[N_ROWS], n = 0;
        double values[N_ROWS];
        for (size_t i = 0; i < N_ROWS; i++)
            if (c->a[i][j] != 0) {
                rows[n] = i;
                values[n++] = c->a[i][j];
            }
        assert_int_equal(dw_lp__add_col(lp, c->cost[j], 0, MOST_X, n, rows, values), j);
    }
    return lp;
}

/* sum_i y_i b_i + sum_j min over 0 <= x_j <= MOST_X of (c_j - y A_j) x_j: no solution is cheaper.
 * The signs of the duals are checked. */
static double bound(const struct dw_lp *lp, const struct covering *c)
{
    double sum = 0;
    for (size_t i = 0; i < N_ROWS; i++) {
        const double dual = dw_lp__row_dual(lp, i);
        assert_true(i + 1 < N_ROWS ? dual > -1e-7 : dual < 1e-7);
        sum += dual * (i + 1 < N_ROWS ? c->least[i] : c->most[i]);
    }
    for (size_t j = 0; j < N_COLS; j++) {
        double reduced = c->cost[j];
        for (size_t i = 0; i < N_ROWS; i++)
            reduced -= dw_lp__row_dual(lp, i) * c->a[i][j];
        sum += reduced < 0 ? reduced * MOST_X : 0;
    }
    return sum;
}

/* Objective of the LP on its own; negative: there is no solution. */
static double solve_alone(struct dw_lp_env *env, const struct covering *c)
{
    struct dw_lp *lp = build(env, c);
    enum dw_lp_result result = dw_lp__solve(lp, false, 0);
    assert_true(result == DW_LP_OPTIMAL || result == DW_LP_INFEASIBLE);
    double objective = result == DW_LP_OPTIMAL ? dw_lp__objective(lp) : -1;
    if (result == DW_LP_OPTIMAL)
        assert_true(fabs(bound(lp, c) - objective) < 1e-6);
    dw_lp__free(lp);
    return objective;
}

/* From the optimum of `before`, that of `after` up to a limit. */
static enum dw_lp_result go_on(struct dw_lp_env *env, const struct covering *before,
                               const struct covering *after, double limit, double objective)
{
    struct dw_lp *lp = build(env, before);
    assert_int_equal(dw_lp__solve(lp, false, 0), DW_LP_OPTIMAL);
    for (size_t i = 0; i < N_ROWS; i++)
        dw_lp__row_bounds(lp, i, after->least[i], after->most[i]);
    enum dw_lp_result result = dw_lp__solve_up_to(lp, limit);
    if (result == DW_LP_PASSED)
        assert_true(bound(lp, after) >= limit - 1e-6);
    if (result == DW_LP_OPTIMAL)
        assert_true(fabs(dw_lp__objective(lp) - objective) < 1e-6);
    /* The limit is of that call alone. */
    assert_int_equal(dw_lp__solve(lp, true, 0), objective < 0 ? DW_LP_INFEASIBLE : DW_LP_OPTIMAL);
    if (objective >= 0)
        assert_true(fabs(dw_lp__objective(lp) - objective) < 1e-6);
    dw_lp__free(lp);
    return result;
}

static void test_up_to_a_limit(void **unused)
{
    (void)unused;
    struct dw_lp_env env = {0};
    struct random random = {31};
    int n_passed = 0, n_optimal = 0, n_none = 0;
    for (int turn = 0; turn < N_CASES; turn++) {
        const struct covering before = draw(&random);
        struct covering after = before;
        const double first = solve_alone(&env, &before);
        if (first < 0)
            continue;
        for (size_t i = 0; i + 1 < N_ROWS; i++)
            after.least[i] += (double)(random_chance(&random, 50) ? random_in(&random, 0, 40) : 0);
        const double second = solve_alone(&env, &after);
        if (second < 0) {
            enum dw_lp_result result = go_on(&env, &before, &after, first + 1, second);
            assert_true(result == DW_LP_INFEASIBLE || result == DW_LP_PASSED);
            n_none++;
            continue;
        }
        assert_int_equal(go_on(&env, &before, &after, second + 0.01, second), DW_LP_OPTIMAL);
        n_optimal++;
        if (second < first + 0.1)
            continue;
        double part = (double)random_in(&random, 1, 9) / 10;
        assert_int_equal(go_on(&env, &before, &after, first + part * (second - first), second),
                         DW_LP_PASSED);
        n_passed++;
    }
    dw_lp__env_free(&env);
    assert_true(n_passed > 100 && n_optimal > 100 && n_none > 10);
}

/* min x + y, x >= 1, y >= 1, then y >= 3: the objective goes from 2 to 4 and passes 3. */
static void test_by_hand(void **unused)
{
    (void)unused;
    struct dw_lp_env env = {0};
    struct dw_lp *lp = dw_lp__new(&env);
    assert_non_null(lp);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(dw_lp__add_row(lp, 1, DW_LP_INF), i);
    for (size_t j = 0; j < 2; j++)
        assert_int_equal(dw_lp__add_col(lp, 1, 0, DW_LP_INF, 1, &j, &(double){1}), j);
    assert_int_equal(dw_lp__solve(lp, false, 0), DW_LP_OPTIMAL);
    assert_true(fabs(dw_lp__objective(lp) - 2) < 1e-9);
    dw_lp__row_bounds(lp, 1, 3, DW_LP_INF);
    assert_int_equal(dw_lp__solve_up_to(lp, 3), DW_LP_PASSED);
    assert_true(fabs(dw_lp__row_dual(lp, 0) - 1) < 1e-9); /* 1 x 1 + 1 x 3 = 4 >= 3 */
    assert_true(fabs(dw_lp__row_dual(lp, 1) - 1) < 1e-9);
    assert_int_equal(dw_lp__solve_up_to(lp, 5), DW_LP_OPTIMAL);
    assert_true(fabs(dw_lp__objective(lp) - 4) < 1e-9);
    dw_lp__free(lp);
    dw_lp__env_free(&env);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_up_to_a_limit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
