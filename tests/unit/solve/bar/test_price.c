/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one-bar subproblem: a grid and the points that can be reached give the same best layouts, as
 * does trying every stretch of a piece, and what is listed is worth what the tables say,
 * one at a time or many. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "group.h"
#include "random_job.h"
#include "solve/group/points.h"
#include "solve/bar/price.h"
#include "solve/bar/value.h"

#include <stdlib.h>
#include <string.h>

#define MANY     ((size_t)1 << 22)
#define N_COUNTS 6
#define N_ALL    (N_COUNTS + 8) /* with those that no table knows */

struct side {
    struct dw_problem problem;
    struct dw_bar_kind *kinds; /* its own */
    struct dw_pricer *pricer;
};

static struct dw_problem *make_problem(struct dw_job *job, struct dw_arena *arena)
{
    struct dw_problem *problem = group_of_job(job, arena);
    assert_non_null(problem);
    return problem;
}

static void copy_side(struct side *side, const struct dw_problem *problem)
{
    side->problem = *problem;
    side->kinds = calloc(problem->n_kinds + 1, sizeof *side->kinds);
    assert_non_null(side->kinds);
    memcpy(side->kinds, problem->kinds, problem->n_kinds * sizeof *side->kinds);
    side->problem.kinds = side->kinds;
}

static void make_pricer(struct side *side)
{
    side->pricer = dw_pricer__new(&side->problem);
    assert_non_null(side->pricer);
}

static void free_side(struct side *side)
{
    dw_pricer__free(side->pricer);
    free(side->kinds);
}

static bool all_few(const struct dw_problem *problem)
{
    for (size_t q = 0; q < problem->n_kinds; q++)
        if (!problem->kinds[q].few_slack || problem->kinds[q].coarse || problem->kinds[q].points)
            return false;
    return true;
}

static void use_points(struct side *side)
{
    struct dw_problem *p = &side->problem;
    for (size_t q = 0; q < p->n_kinds; q++) {
        struct dw_bar_kind *kind = &side->kinds[q];
        assert_true(dw_points__make(p, q, MANY, &kind->points));
        assert_non_null(kind->points);
        kind->n_cells = kind->points->n;
        assert_true(dw_bar_kind__credits(p, kind));
    }
}

static void use_windows(struct side *side)
{
    for (size_t q = 0; q < side->problem.n_kinds; q++)
        side->kinds[q].few_slack = false;
}

/* --- prices ------------------------------------------------------------------------------- */

struct drawn {
    struct dw_prices prices;
    struct dw_bar_count counts[N_ALL];
    int64_t count[N_ALL];
};

/* More thresholds and pairs, some of them twice. */
static void draw_others(struct random *random, const struct dw_problem *p,
                        struct dw_bar_count *counts)
{
    const int64_t last = p->n_items > 0 ? (int64_t)p->n_items - 1 : 0, cap = p->kinds[0].max_cap;
    for (size_t c = 0; c < N_ALL - N_COUNTS; c++) {
        const size_t a = (size_t)random_in(random, 0, last);
        const struct dw_bar_count kinds[] = {
            {.kind = DW_COUNT_PAIR, .a = a, .b = random_in(random, 0, last)},
            {.kind = DW_COUNT_WASTE, .b = random_in(random, 1, cap / 8 + 1)},
            {.kind = DW_COUNT_KEPT, .b = random_in(random, 0, cap)},
            {.kind = DW_COUNT_LEVEL, .a = a, .b = random_in(random, 1, 2)},
        };
        counts[c] = kinds[c % DW_COUNT(kinds)];
    }
}

static void draw_prices(struct random *random, const struct dw_problem *p, struct drawn *drawn)
{
    struct dw_prices *prices = &drawn->prices;
    int64_t *item = calloc(p->n_items + 1, sizeof *item);
    int64_t *stock = calloc(p->n_stocks + 1, sizeof *stock);
    int64_t *demand = calloc(p->n_items + 1, sizeof *demand);
    dw_money *bar = calloc(p->n_stocks + 1, sizeof *bar);
    assert_true(item && stock && demand && bar);
    for (size_t i = 0; i < p->n_items; i++) {
        demand[i] = random_in(random, 0, p->items[i].count);
        item[i] = (p->items[i].post ? -1 : 1) * random_in(random, 0, 80000) * 16;
    }
    for (size_t k = 0; k < p->n_stocks; k++) {
        bar[k] = p->stocks[k].price;
        stock[k] = -random_in(random, 0, 20000) * 16;
    }
    size_t a = p->n_items > 0 ? (size_t)random_in(random, 0, (int64_t)p->n_items - 1) : 0;
    drawn->counts[0] = (struct dw_bar_count){.kind = DW_COUNT_BARS};
    drawn->counts[1] = (struct dw_bar_count){.kind = DW_COUNT_EXACT};
    drawn->counts[2] =
        (struct dw_bar_count){.kind = DW_COUNT_LEVEL, .a = a, .b = random_in(random, 1, 3)};
    drawn->counts[3] = (struct dw_bar_count){.kind = DW_COUNT_MADE, .a = a};
    drawn->counts[4] = (struct dw_bar_count){.kind = DW_COUNT_KEPT,
                                             .b = random_in(random, 0, p->kinds[0].max_cap)};
    drawn->counts[5] = (struct dw_bar_count){
        .kind = DW_COUNT_WASTE, .b = random_in(random, 1, p->kinds[0].max_cap / 4 + 1)};
    draw_others(random, p, drawn->counts + N_COUNTS);
    for (size_t c = 0; c < N_ALL; c++)
        drawn->count[c] = random_in(random, c == 4 ? 0 : -30000, 30000) * 16;
    *prices =
        (struct dw_prices){16, item, stock, N_COUNTS, drawn->counts, drawn->count, bar, demand};
}

static void free_prices(struct drawn *drawn)
{
    free(drawn->prices.item);
    free(drawn->prices.stock);
    free((void *)(uintptr_t)drawn->prices.bar);
    free((void *)(uintptr_t)drawn->prices.demand);
}

/* --- what is compared --------------------------------------------------------------------- */

struct heard {
    struct dw_pool pool;
    const struct dw_problem *problem;
    const struct dw_prices *prices;
    struct dw_prices all;
    struct dw_valuer valuer; /* at all of them */
    int64_t best;
    size_t n;
};

/* What is emitted as worth so much is worth it. */
static bool hear(void *user, const struct dw_col *draft, int64_t value, int64_t *least)
{
    struct heard *heard = user;
    const struct dw_col *col = dw_pool__add(&heard->pool, draft);
    assert_non_null(col);
    assert_true(dw_col__holds(heard->problem, col));
    assert_int_equal(dw_prices__value(heard->problem, heard->prices, col), value);
    assert_int_equal(dw_valuer__of(&heard->valuer, col),
                     dw_prices__value(heard->problem, &heard->all, col));
    heard->best = value > heard->best ? value : heard->best;
    *least = value + 1;
    heard->n++;
    return true;
}

static int64_t listed(struct side *side, const struct dw_prices *prices, size_t stock,
                      int64_t least)
{
    struct heard heard = {.problem = &side->problem, .prices = prices, .best = DW_NEVER};
    dw_pool__init(&heard.pool, &side->problem);
    heard.all = *prices;
    heard.all.n_counts = N_ALL;
    assert_true(dw_valuer__load(&heard.valuer, &side->problem, &heard.all));
    assert_int_equal(dw_pricer__list(side->pricer, stock, least, INT64_MAX / 2, hear, &heard),
                     DW_LISTING_ALL);
    dw_pool__free(&heard.pool);
    dw_valuer__free(&heard.valuer);
    return heard.best;
}

static void compare(struct side *grid, struct side *other, const struct dw_prices *prices,
                    size_t *n_compared)
{
    const struct dw_problem *p = &grid->problem;
    int64_t work = 0;
    for (size_t q = 0; q < p->n_kinds; q++) {
        assert_int_equal(dw_pricer__load(grid->pricer, prices, q, NULL, &work), DW_LOAD_DONE);
        assert_int_equal(dw_pricer__load(other->pricer, prices, q, NULL, &work), DW_LOAD_DONE);
        for (size_t k = 0; k < p->n_stocks; k++) {
            if (p->stocks[k].kind != q)
                continue;
            int64_t best = dw_pricer__best(grid->pricer, k);
            assert_int_equal(dw_pricer__best(other->pricer, k), best);
            if (best == DW_NEVER)
                continue;
            assert_int_equal(listed(grid, prices, k, best - 1000000), best);
            assert_int_equal(listed(other, prices, k, best - 1000000), best);
            ++*n_compared;
        }
    }
}

/* counted: with few pieces on a bar. */
static size_t compare_seeds(uint64_t last, bool counted, void (*use)(struct side *side))
{
    size_t n_compared = 0;
    for (uint64_t seed = 1; seed <= last; seed++) {
        struct random random = {seed};
        struct dw_job *job = random_job(seed);
        struct dw_arena *arena = dw_arena__new();
        assert_true(job && arena);
        if (counted)
            job->rules.most_pieces = 1 + (int64_t)(seed % 4);
        const struct dw_problem *problem = make_problem(job, arena);
        if (problem->n_kinds > 0 && all_few(problem)) {
            struct side grid = {0}, other = {0};
            copy_side(&grid, problem);
            copy_side(&other, problem);
            use(&other);
            make_pricer(&grid);
            make_pricer(&other);
            for (int round = 0; round < 5; round++) {
                struct drawn drawn;
                draw_prices(&random, problem, &drawn);
                if (use == use_windows)
                    drawn.count[5] = 0; /* windows stretch a piece to less waste of more worth */
                compare(&grid, &other, &drawn.prices, &n_compared);
                free_prices(&drawn);
            }
            free_side(&grid);
            free_side(&other);
        }
        dw_arena__free(arena);
        dw_job_free(job);
    }
    return n_compared;
}

static void points_are_as_good_as_a_grid(void **state)
{
    (void)state;
    assert_true(compare_seeds(400, false, use_points) > 2000);
}

static void stretches_are_tried_as_by_windows(void **state)
{
    (void)state;
    assert_true(compare_seeds(400, false, use_windows) > 2000);
}

static void few_pieces_on_a_bar(void **state)
{
    (void)state;
    assert_true(compare_seeds(400, true, use_points) > 2000);
    assert_true(compare_seeds(400, true, use_windows) > 2000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_are_as_good_as_a_grid),
        cmocka_unit_test(stretches_are_tried_as_by_windows),
        cmocka_unit_test(few_pieces_on_a_bar),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
