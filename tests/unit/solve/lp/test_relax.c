/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a relaxation gives back: prices that stay when the caller's rows are gone, the bound that
 * they and the best columns at them give, and the money that plans can have. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "group.h"
#include "random_job.h"
#include "solve/lp/relax.h"
#include "textbook.h"

#include <math.h>
#include <string.h>

#define N_PARTS  8
#define N_BARS   3
#define N_COUNTS 2
#define N_JOBS   60

struct solved {
    struct dw_job *job;
    struct dw_arena *arena;
    struct dw_problem *problem;
    struct dw_pool pool;
    struct dw_pricer *pricer;
    struct dw_lp_env env;
    struct dw_effort effort;
    struct dw_master master;
    int64_t demand[N_PARTS], avail[N_BARS];
    dw_money bar[N_BARS];
    struct dw_bar_count counts[N_COUNTS];
    int64_t lo[N_COUNTS], hi[N_COUNTS];
    struct dw_relax relax;
};

static void make_problem(struct random *random, struct solved *solved)
{
    struct textbook_part parts[N_PARTS];
    struct textbook_bar bars[N_BARS];
    for (size_t i = 0; i < N_PARTS; i++)
        parts[i] = (struct textbook_part){60 - 6 * (int64_t)i - random_in(random, 0, 5),
                                          random_in(random, 1, 9)};
    for (size_t k = 0; k < N_BARS; k++) {
        bars[k].length = 100 + 20 * (int64_t)k - random_in(random, 0, 9);
        bars[k].price = bars[k].length * random_in(random, 8, 12);
        bars[k].count = k == 0 ? DW_UNLIMITED : random_in(random, 1, 3);
    }
    solved->job = textbook_job(DW_NM_PER_MM, bars, N_BARS, parts, N_PARTS);
    solved->arena = dw_arena__new();
    assert_true(solved->job && solved->arena);
    solved->job->saw.cut_cost = random_in(random, 0, 20);
    solved->problem = group_of_job(solved->job, solved->arena);
    assert_non_null(solved->problem);
    assert_true(solved->problem->n_items <= N_PARTS && solved->problem->n_stocks <= N_BARS);
}

static void make(struct random *random, struct solved *solved)
{
    *solved = (struct solved){.job = NULL};
    make_problem(random, solved);
    const struct dw_problem *p = solved->problem;
    for (size_t i = 0; i < p->n_items; i++)
        solved->demand[i] = p->items[i].count;
    for (size_t k = 0; k < p->n_stocks; k++) {
        solved->avail[k] = p->stocks[k].count;
        solved->bar[k] = p->stocks[k].price;
    }
    solved->counts[0] = (struct dw_bar_count){.kind = DW_COUNT_BARS};
    solved->counts[1] = (struct dw_bar_count){.kind = DW_COUNT_LEVEL, .a = 0, .b = 1};
    solved->lo[0] = random_in(random, 0, p->n_pieces / 2);
    solved->hi[0] = DW_NO_LIMIT;
    solved->hi[1] = random_in(random, 1, 9);
    solved->relax = (struct dw_relax){.demand = solved->demand,
                                      .avail = solved->avail,
                                      .bar = solved->bar,
                                      .n_counts = N_COUNTS,
                                      .counts = solved->counts,
                                      .lo = solved->lo,
                                      .hi = solved->hi,
                                      .cutoff = INT64_MAX / 2};
    solved->pricer = dw_pricer__new(p);
    assert_non_null(solved->pricer);
    dw_pool__init(&solved->pool, p);
    dw_master__init(&solved->master, p, &solved->pool, solved->pricer, &solved->env,
                    &solved->effort);
}

static void unmake(struct solved *solved)
{
    dw_master__free(&solved->master);
    dw_pricer__free(solved->pricer);
    dw_lp__env_free(&solved->env);
    dw_pool__free(&solved->pool);
    dw_arena__free(solved->arena);
    dw_job_free(solved->job);
}

/* --- prices --------------------------------------------------------------------------------- */

static void check_counts(const struct dw_prices *prices)
{
    assert_int_equal(prices->n_counts, N_COUNTS);
    assert_int_equal(prices->counts[0].kind, DW_COUNT_BARS);
    assert_int_equal(prices->counts[1].kind, DW_COUNT_LEVEL);
    assert_int_equal(prices->counts[1].a, 0);
    assert_int_equal(prices->counts[1].b, 1);
}

static void test_prices_keep_counts(void **unused)
{
    (void)unused;
    struct random random = {41};
    struct solved solved;
    struct dw_prices prices;
    make(&random, &solved);
    assert_true(dw_prices__make(&solved.master, &solved.relax, &prices));
    memset(solved.counts, 0x55, sizeof solved.counts);
    check_counts(&prices);
    assert_true(prices.scale >= 1);
    for (size_t i = 0; i < solved.problem->n_items; i++)
        assert_int_equal(prices.item[i], 0);
    for (size_t k = 0; k < solved.problem->n_stocks; k++)
        assert_int_equal(prices.stock[k], 0);
    for (size_t c = 0; c < N_COUNTS; c++)
        assert_int_equal(prices.count[c], 0);
    dw_prices__free(&prices);
    solved.relax.n_counts = 0;
    solved.relax.counts = NULL;
    assert_true(dw_prices__make(&solved.master, &solved.relax, &prices));
    assert_int_equal(prices.n_counts, 0);
    dw_prices__free(&prices);
    unmake(&solved);
}

/* --- the bound ------------------------------------------------------------------------------ */

/* sum y b + sum_k avail_k min(0, least reduced cost of stock k), times the scale. */
static dw_wide bound_of(const struct solved *solved, const struct dw_relaxed *relaxed)
{
    const struct dw_prices *prices = &relaxed->prices;
    dw_wide sum = 0;
    for (size_t i = 0; i < solved->problem->n_items; i++)
        sum += (dw_wide)prices->item[i] * solved->demand[i];
    for (size_t k = 0; k < solved->problem->n_stocks; k++) {
        sum += (dw_wide)prices->stock[k] * solved->avail[k];
        if (relaxed->most[k] > 0)
            sum -= (dw_wide)relaxed->most[k] * solved->avail[k];
    }
    for (size_t c = 0; c < N_COUNTS; c++) {
        assert_true(prices->count[c] >= 0 || solved->hi[c] != DW_NO_LIMIT);
        sum += (dw_wide)prices->count[c] * (prices->count[c] > 0 ? solved->lo[c] : solved->hi[c]);
    }
    return sum;
}

/* No column is worth more, and some are worth just as much: how many. */
static size_t check_most(const struct solved *solved, const struct dw_relaxed *relaxed)
{
    size_t n_best = 0;
    for (size_t j = 0; j < solved->pool.n; j++) {
        const struct dw_col *col = solved->pool.cols[j];
        int64_t value = dw_prices__value(solved->problem, &relaxed->prices, col);
        assert_true(value <= relaxed->most[col->stock]);
        n_best += value == relaxed->most[col->stock];
    }
    return n_best;
}

static void test_bound_by_most(void **unused)
{
    (void)unused;
    struct random random = {43};
    size_t n_optimal = 0, n_best = 0;
    for (int turn = 0; turn < N_JOBS; turn++) {
        struct solved solved;
        struct dw_relaxed relaxed;
        struct dw_error error = {0};
        make(&random, &solved);
        assert_int_equal(dw_relax__solve(&solved.master, &solved.relax, &relaxed, &error), DW_OK);
        memset(solved.counts, 0x55, sizeof solved.counts);
        check_counts(&relaxed.prices);
        assert_true(relaxed.numer == bound_of(&solved, &relaxed));
        n_best += check_most(&solved, &relaxed);
        n_optimal += relaxed.status == DW_RELAX_OPTIMAL;
        if (relaxed.status == DW_RELAX_OPTIMAL)
            assert_true((double)relaxed.numer <=
                        (relaxed.value + 0.01) * (double)relaxed.prices.scale);
        dw_relaxed__free(&relaxed);
        unmake(&solved);
    }
    assert_true(n_optimal > N_JOBS / 2 && n_best > N_JOBS);
}

/* --- from a start, up to a cutoff ----------------------------------------------------------- */

static void solve(struct solved *solved, struct dw_relaxed *relaxed)
{
    struct dw_error error = {0};
    assert_int_equal(dw_relax__solve(&solved->master, &solved->relax, relaxed, &error), DW_OK);
    assert_true(relaxed->numer == bound_of(solved, relaxed));
    dw_money bound = dw_relax__round(solved->problem->grid, relaxed->numer, relaxed->prices.scale,
                                     solved->relax.base);
    assert_int_equal(relaxed->bound, dw_ladder__up(&solved->relax.ladder, bound));
}

/* The row is tightened since the start. false: that leaves no plan, or the LP is not solved. */
static bool try_cutoffs(struct solved *solved, const struct dw_start *start)
{
    struct dw_relaxed all, some;
    const dw_money grid = solved->problem->grid;
    solve(solved, &all);
    const bool solvable = all.status == DW_RELAX_OPTIMAL;
    for (int above = 0; solvable && above < 2; above++) {
        solved->relax.start = start;
        /* A hundredth above a multiple of the grid counts as on it. */
        solved->relax.cutoff = (dw_money)ceil((all.value - 0.01) / (double)grid) * grid;
        solved->relax.cutoff += above * 3 * grid;
        solve(solved, &some);
        assert_int_equal(some.status, above ? DW_RELAX_OPTIMAL : DW_RELAX_PRUNED);
        if (above)
            assert_true(fabs(some.value - all.value) < 0.01);
        else
            assert_true(some.bound >= solved->relax.cutoff);
        dw_relaxed__free(&some);
        solved->relax.ladder = (struct dw_ladder){.step = 7 * grid, .phase = 2 * grid};
        solved->relax.cutoff = INT64_MAX / 2;
        solve(solved, &some);
        dw_relaxed__free(&some);
        solved->relax.ladder = (struct dw_ladder){.step = 0};
    }
    dw_relaxed__free(&all);
    return solvable;
}

static void test_start_and_cutoff(void **unused)
{
    (void)unused;
    struct random random = {47};
    int n_tried = 0;
    for (int turn = 0; turn < N_JOBS; turn++) {
        struct solved solved;
        struct dw_relaxed first;
        make(&random, &solved);
        solve(&solved, &first);
        if (first.status == DW_RELAX_OPTIMAL) {
            solved.lo[0] += random_in(&random, 0, solved.problem->n_pieces / 4);
            solved.hi[1] -= random_in(&random, 0, 1);
            n_tried += try_cutoffs(&solved, &first.start);
        }
        dw_relaxed__free(&first);
        unmake(&solved);
    }
    assert_true(n_tried > N_JOBS / 3);
}

/* --- without limits that held before -------------------------------------------------------- */

/* The start has the limits' rows at their bounds; where these are gone, no dual may be left. */
static bool try_released(struct solved *solved)
{
    struct dw_relaxed held, free_of_them, released;
    solved->lo[0] = solved->problem->n_pieces;
    solve(solved, &held);
    solved->lo[0] = 0;
    solved->hi[1] = DW_NO_LIMIT;
    solve(solved, &free_of_them);
    solved->relax.start = &held.start;
    solve(solved, &released);
    const bool optimal = free_of_them.status == DW_RELAX_OPTIMAL;
    if (optimal) {
        assert_int_equal(released.status, DW_RELAX_OPTIMAL);
        assert_int_equal(released.bound, free_of_them.bound);
    }
    for (size_t c = 0; c < N_COUNTS; c++)
        assert_int_equal(released.prices.count[c], 0);
    dw_relaxed__free(&held);
    dw_relaxed__free(&free_of_them);
    dw_relaxed__free(&released);
    return optimal;
}

static void test_released_limits(void **unused)
{
    (void)unused;
    struct random random = {53};
    int n_tried = 0;
    for (int turn = 0; turn < 4 * N_JOBS; turn++) {
        struct solved solved;
        make(&random, &solved);
        n_tried += try_released(&solved);
        unmake(&solved);
    }
    assert_true(n_tried > 2 * N_JOBS);
}

/* --- money that plans can have -------------------------------------------------------------- */

static void test_ladder(void **unused)
{
    (void)unused;
    const struct dw_ladder any = {.step = 0, .phase = 0}, tens = {.step = 10, .phase = 3};
    assert_int_equal(dw_ladder__up(&any, 17), 17);
    assert_int_equal(dw_ladder__up(&any, -17), -17);
    assert_int_equal(dw_ladder__up(&tens, 3), 3);
    assert_int_equal(dw_ladder__up(&tens, 4), 13);
    assert_int_equal(dw_ladder__up(&tens, 13), 13);
    assert_int_equal(dw_ladder__up(&tens, 2), 3);
    assert_int_equal(dw_ladder__up(&tens, 0), 3);
    assert_int_equal(dw_ladder__up(&tens, -7), -7);
    assert_int_equal(dw_ladder__up(&tens, -8), -7);
    assert_int_equal(dw_ladder__up(&tens, -6), 3);
    for (dw_money step = 1; step <= 7; step++)
        for (dw_money phase = 0; phase < step; phase++)
            for (dw_money money = -30; money <= 30; money++) {
                const struct dw_ladder ladder = {.step = step, .phase = phase};
                const dw_money up = dw_ladder__up(&ladder, money);
                assert_true(up >= money && up < money + step);
                assert_int_equal((up - phase) % step, 0);
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_prices_keep_counts),
        cmocka_unit_test(test_bound_by_most),
        cmocka_unit_test(test_start_and_cutoff),
        cmocka_unit_test(test_released_limits),
        cmocka_unit_test(test_ladder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
