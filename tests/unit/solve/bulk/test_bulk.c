/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The method for very many pieces: every plan is recounted here, every bound is held against a
 * published optimum or against the material. */
#include "solve/bulk/bulk.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <cmocka.h>

/* Counts pieces, lengths, bars and money of the plan again. */
static void recount(const struct dw_bulk *problem, const struct dw_bulk_plan *plan)
{
    int64_t *made = calloc(problem->n, sizeof *made);
    int64_t *used = calloc(problem->n_stocks, sizeof *used);
    int64_t value = 0;
    assert_non_null(made);
    assert_non_null(used);
    for (size_t j = 0; j < plan->n_layouts; j++) {
        const struct dw_bulk_layout *layout = &plan->layouts[j];
        int64_t length = 0;
        assert_true(layout->bars >= 1);
        for (size_t i = 0; i < layout->n_items; i++) {
            made[layout->items[i].type] += layout->bars * layout->items[i].count;
            length += problem->size[layout->items[i].type] * layout->items[i].count;
        }
        assert_true(length <= problem->stocks[layout->stock].capacity);
        used[layout->stock] += layout->bars;
        int64_t left = problem->stocks[layout->stock].capacity - length;
        value +=
            layout->bars * (problem->stocks[layout->stock].cost - dw_bulk__credit(problem, left));
    }
    for (size_t i = 0; i < problem->n; i++)
        assert_true(plan->complete ? made[i] == problem->demand[i] : made[i] <= problem->demand[i]);
    for (size_t k = 0; k < problem->n_stocks; k++)
        assert_true(problem->stocks[k].count < 0 || used[k] <= problem->stocks[k].count);
    assert_int_equal(value, plan->value);
    free(made);
    free(used);
}

static struct dw_bulk_plan *run_within(const struct dw_bulk *problem, size_t max_classes,
                                       struct dw_effort *effort)
{
    struct dw_lp_env env = {0};
    struct dw_error error = {0};
    struct dw_bulk_plan *plan = NULL;
    assert_int_equal(dw_bulk__solve(problem, max_classes, effort, &env, &plan, &error), DW_OK);
    dw_lp__env_free(&env);
    recount(problem, plan);
    return plan;
}

static struct dw_bulk_plan *run(const struct dw_bulk *problem, size_t max_classes)
{
    struct dw_effort effort = {0};
    return run_within(problem, max_classes, &effort);
}

static void expect_optimum_between(const struct dw_bulk *problem, int64_t optimum)
{
    struct dw_bulk_plan *plan = run(problem, 200);
    assert_true(plan->complete);
    assert_true(plan->bound <= optimum);
    assert_true(plan->value >= optimum);
    assert_true(plan->bound * 10 >= optimum * 9);
    dw_bulk__free(plan);
}

/* Gau, Waescher 1995 (CUTGEN1), p. 576, no. 1: 394 bars, and no. 150: 322. */
static void holds_published_one_bar_optima(void **state)
{
    (void)state;
    const struct dw_bulk_stock stock = {.capacity = 1000, .cost = 1, .count = -1};
    const int64_t size1[] = {577, 570, 544, 539, 526, 512, 504, 459, 446, 378};
    const int64_t demand1[] = {63, 64, 85, 84, 54, 20, 24, 31, 48, 27};
    expect_optimum_between(&(struct dw_bulk){10, size1, demand1, 1, &stock, {0}}, 394);
    const int64_t size2[] = {570, 558, 543, 540, 513, 490, 476, 453, 434};
    const int64_t demand2[] = {16, 94, 20, 99, 59, 48, 78, 35, 51};
    expect_optimum_between(&(struct dw_bulk){9, size2, demand2, 1, &stock, {0}}, 322);
}

/* Gilmore, Gomory 1961: stock 5, 6, 9 at 6, 7, 10; least cost 170. */
static void holds_published_priced_optimum(void **state)
{
    (void)state;
    const struct dw_bulk_stock stocks[] = {{5, 6, -1}, {6, 7, -1}, {9, 10, -1}};
    const int64_t size[] = {4, 3, 2};
    const int64_t demand[] = {20, 10, 20};
    expect_optimum_between(&(struct dw_bulk){3, size, demand, 3, stocks, {0}}, 170);
}

/* GLPK-java's CutSimple (limited stock): 586 needed of 900, 600 is the least that can be taken. */
static void keeps_to_limited_stock(void **state)
{
    (void)state;
    const struct dw_bulk_stock stocks[] = {{50, 50, 2}, {100, 100, 3}, {200, 200, 2}};
    const int64_t size[] = {63, 40, 25, 20, 16, 10};
    const int64_t demand[] = {1, 2, 7, 6, 3, 10};
    expect_optimum_between(&(struct dw_bulk){6, size, demand, 3, stocks, {0}}, 600);
}

static void says_when_stock_runs_out(void **state)
{
    (void)state;
    const struct dw_bulk_stock stock = {.capacity = 100, .cost = 7, .count = 2};
    const int64_t size[] = {60, 30};
    const int64_t demand[] = {3, 1};
    struct dw_bulk_plan *plan = run(&(struct dw_bulk){2, size, demand, 1, &stock, {0}}, 200);
    assert_false(plan->complete);
    dw_bulk__free(plan);
}

static uint64_t draw(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return *seed >> 33;
}

/* Many lengths: the gap closes as classes get finer, and the same call gives the same plan. */
static void closes_in_on_large_problems(void **state)
{
    (void)state;
    enum { N = 1500, L = 240000 };
    int64_t size[N], demand[N];
    uint64_t seed = 1961;
    for (size_t i = 0; i < N; i++) {
        size[i] = L / 2 - (int64_t)i * 40;
        demand[i] = 1 + (int64_t)(draw(&seed) % 300);
    }
    const struct dw_bulk_stock stocks[] = {{L, 410000, -1}, {L * 3 / 4, 300000, -1}};
    const struct dw_bulk problem = {N, size, demand, 2, stocks, {0}};
    struct dw_effort first = {0}, second = {0};
    struct dw_bulk_plan *coarse = run(&problem, 0), *fine = run_within(&problem, 200, &first),
                        *again = run_within(&problem, 200, &second);
    assert_true(fine->bound >= coarse->bound && fine->value <= coarse->value);
    assert_true((fine->value - fine->bound) * 100 < fine->bound);
    assert_int_equal(fine->value, again->value);
    assert_int_equal(fine->bound, again->bound);
    assert_true(first.work > 0 && first.work == second.work);
    dw_bulk__free(coarse);
    dw_bulk__free(fine);
    dw_bulk__free(again);
}

/* What is earned where nothing is left is earned nearly always: there are pairs enough. */
static void fills_bars_exactly(void **state)
{
    (void)state;
    enum { N = 1500, L = 60000 };
    int64_t size[N], demand[N];
    uint64_t seed = 1973;
    for (size_t i = 0; i < N; i++) {
        size[i] = i == 0 ? L / 4 : size[i - 1] - 1 - (int64_t)(draw(&seed) % 15);
        demand[i] = 1 + (int64_t)(draw(&seed) % 300);
    }
    const struct dw_bulk_stock stocks[] = {{L, 400000, -1}, {L * 2 / 3, 280000, -1}};
    const struct dw_bulk_credit credit = {.exact = 20000, .den = 1};
    const struct dw_bulk problem = {N, size, demand, 2, stocks, credit};
    struct dw_bulk_plan *plan = run(&problem, 50);
    int64_t bars = 0, filled = 0;
    for (size_t j = 0; j < plan->n_layouts; j++) {
        const struct dw_bulk_layout *layout = &plan->layouts[j];
        int64_t left = stocks[layout->stock].capacity;
        for (size_t i = 0; i < layout->n_items; i++)
            left -= size[layout->items[i].type] * layout->items[i].count;
        bars += layout->bars;
        filled += left == 0 ? layout->bars : 0;
    }
    assert_true(plan->complete);
    assert_true(filled * 100 > bars * 95);
    assert_true((plan->value - plan->bound) * 200 < plan->bound);
    dw_bulk__free(plan);
}

/* dual_i a_i over any layout stays under scale c_k: tried on the layouts of the plan itself and on
 * random full bars. */
static void proves_the_bound(void **state)
{
    (void)state;
    enum { N = 40, L = 5000 };
    int64_t size[N], demand[N];
    uint64_t seed = 1990;
    for (size_t i = 0; i < N; i++) {
        size[i] = 3000 - (int64_t)i * 70;
        demand[i] = 100 + (int64_t)(draw(&seed) % 900);
    }
    const struct dw_bulk_stock stock = {L, 999, -1};
    const struct dw_bulk problem = {N, size, demand, 1, &stock, {0}};
    struct dw_bulk_plan *plan = run(&problem, 100);
    for (int trial = 0; trial < 20000; trial++) {
        int64_t room = L, worth = 0;
        for (int tries = 0; tries < 30; tries++) {
            size_t i = draw(&seed) % N;
            if (size[i] <= room) {
                room -= size[i];
                worth += plan->dual[i];
            }
        }
        assert_true(worth <= plan->scale * stock.cost);
    }
    dw_bulk__free(plan);
}

/* Worth in steps, as a leftover's is. */
static int64_t steps(const void *user, int64_t x)
{
    const int64_t *step = user;
    return x / step[0] * step[1];
}

/* The most that a layout from type i on comes to: duals, and what is left. */
static int64_t best_layout(const struct dw_bulk *problem, const int64_t *dual, int64_t scale,
                           size_t i, int64_t left, bool empty)
{
    if (i == problem->n)
        return empty ? INT64_MIN / 2 : scale * dw_bulk__credit(problem, left);
    int64_t best = INT64_MIN / 2;
    for (int64_t a = 0; a * problem->size[i] <= left; a++) {
        int64_t value = a * dual[i] + best_layout(problem, dual, scale, i + 1,
                                                  left - a * problem->size[i], empty && a == 0);
        best = value > best ? value : best;
    }
    return best;
}

/* What every layout that there is leaves of the duals' sum. */
static int64_t proven_by_all(const struct dw_bulk *problem, const int64_t *dual, int64_t scale)
{
    __extension__ __int128 sum = 0;
    for (size_t i = 0; i < problem->n; i++)
        sum += dual[i] * problem->demand[i];
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        int64_t over =
            best_layout(problem, dual, scale, 0, stock->capacity, true) - scale * stock->cost;
        assert_true(over <= 0 || stock->count >= 0);
        sum -= over > 0 ? over * stock->count : 0;
    }
    return sum > 0 ? (int64_t)((sum + scale - 1) / scale) : 0;
}

/* Classes of several lengths, cells longer than a unit of length, credits and limits of all kinds,
 * many ways to fill a bar exactly. */
static void proves_bounds_by_classes(void **state)
{
    (void)state;
    enum { N = 6 };
    uint64_t seed = 1981;
    int n_proven = 0;
    for (int round = 0; round < 200; round++) {
        int64_t size[N], demand[N], unit = 1000 + (int64_t)(draw(&seed) % 3000), length = 30 * unit;
        const int64_t step[] = {length / 8 + (int64_t)(draw(&seed) % 9000), 20};
        for (size_t i = 0; i < N; i++) {
            size[i] = unit * (i == 0 ? 13 + (int64_t)(draw(&seed) % 7)
                                     : size[i - 1] / unit - 1 - (int64_t)(draw(&seed) % 2));
            demand[i] = 1 + (int64_t)(draw(&seed) % 90);
        }
        const struct dw_bulk_stock stocks[] = {{length, 400, -1},
                                               {length * 2 / 3, draw(&seed) % 2 ? 20 : 260, 30}};
        const struct dw_bulk problem = {.n = N,
                                        .size = size,
                                        .demand = demand,
                                        .n_stocks = 2,
                                        .stocks = stocks,
                                        .credit = {.exact = (int64_t)(draw(&seed) % 200),
                                                   .worth = draw(&seed) % 2 ? steps : NULL,
                                                   .user = step,
                                                   .num = 20,
                                                   .den = step[0]}};
        size_t first[] = {0, 1 + draw(&seed) % 2, 3 + draw(&seed) % 2, N};
        int64_t sums[3] = {0}, dual[N], scale = 1, bound = 0;
        for (size_t c = 0; c < 3; c++)
            for (size_t i = first[c]; i < first[c + 1]; i++)
                sums[c] += demand[i];
        const struct dw_bulk_classes classes = {3, first, sums};
        struct dw_lp_env env = {0};
        struct dw_effort effort = {0};
        assert_int_equal(dw_bulk__bound(&problem, &classes, &effort, &env, dual, &scale, &bound),
                         DW_OK);
        dw_lp__env_free(&env);
        n_proven += bound > 0;
        assert_true(bound == 0 || bound <= proven_by_all(&problem, dual, scale));
        assert_int_equal(dw_bulk__material(&problem, dual, &scale, &bound), DW_OK);
        assert_true(bound == 0 || bound <= proven_by_all(&problem, dual, scale));
    }
    assert_true(n_proven > 190);
}

static void refuses_a_broken_problem(void **state)
{
    (void)state;
    const struct dw_bulk_stock stock = {.capacity = 100, .cost = 7, .count = -1};
    const int64_t size[] = {30, 60};
    const int64_t demand[] = {3, 1};
    struct dw_lp_env env = {0};
    struct dw_error error = {0};
    struct dw_bulk_plan *plan = NULL;
    struct dw_effort effort = {0};
    const struct dw_bulk problem = {2, size, demand, 1, &stock, {0}};
    assert_int_equal(dw_bulk__solve(&problem, 50, &effort, &env, &plan, &error), DW_ERR_RANGE);
    assert_null(plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(holds_published_one_bar_optima),
        cmocka_unit_test(holds_published_priced_optimum),
        cmocka_unit_test(keeps_to_limited_stock),
        cmocka_unit_test(says_when_stock_runs_out),
        cmocka_unit_test(closes_in_on_large_problems),
        cmocka_unit_test(fills_bars_exactly),
        cmocka_unit_test(proves_the_bound),
        cmocka_unit_test(proves_bounds_by_classes),
        cmocka_unit_test(refuses_a_broken_problem),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
