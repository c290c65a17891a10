/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars that hold hundreds of pieces of one part: tables that take them in leaps find what taking
 * them one by one finds, bounds stay bounds, and a stop is answered while a table is filled. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include <dropwise/files.h>

#include "group.h"
#include "random_job.h"
#include "solve/group/points.h"
#include "solve/bar/price.h"

#include <stdio.h>
#include <string.h>

#define MANY     ((size_t)1 << 22)
#define SCALE    16
#define N_LEVELS 4
#define N_ITEMS  3  /* at most */
#define N_STOCKS 10 /* at most */

/* 400 chips and 300 strips would leave room for a leg. */
static const char chips_text[] = "dropwise: 1\n"
                                 "unit: mm\n"
                                 "currency: EUR\n"
                                 "saw: {kerf: 0}\n"
                                 "materials: [{id: al38}]\n"
                                 "bars: [{length: 2000, price: 20}]\n"
                                 "parts:\n"
                                 "  - {label: chip, length: 2, count: 400}\n"
                                 "  - {label: strip, length: 3, count: 300}\n"
                                 "  - {label: leg, length: 299, count: 2}\n";

/* Bars that hold 13, 100, 103, 151 to 154, 200 and 285 links
 * of 7 mm. */
static const char links_text[] = "dropwise: 1\n"
                                 "unit: mm\n"
                                 "currency: EUR\n"
                                 "saw: {kerf: 0}\n"
                                 "materials: [{id: al38}]\n"
                                 "bars:\n"
                                 "  - {length: 97, price: 20}\n"
                                 "  - {length: 701, price: 20}\n"
                                 "  - {length: 727, price: 20}\n"
                                 "  - {length: 1061, price: 20}\n"
                                 "  - {length: 1069, price: 20}\n"
                                 "  - {length: 1071, price: 20}\n"
                                 "  - {length: 1079, price: 20}\n"
                                 "  - {length: 1403, price: 20}\n"
                                 "  - {length: 1999, price: 20}\n"
                                 "parts:\n";

struct bench {
    struct dw_job *job;
    struct dw_arena *arena;
    struct dw_problem *problem;
};

static struct bench make(const char *text)
{
    struct bench bench = {.arena = dw_arena__new()};
    struct dw_report report = {0};
    struct dw_error error = {0};
    assert_non_null(bench.arena);
    assert_int_equal(
        dw_job_read_text(text, strlen(text), "chips.yaml", NULL, &bench.job, &report, &error),
        DW_OK);
    bench.problem = group_of_job(bench.job, bench.arena);
    assert_non_null(bench.problem);
    assert_in_range(bench.problem->n_items, 1, N_ITEMS);
    assert_in_range(bench.problem->n_stocks, 1, N_STOCKS);
    assert_int_equal(bench.problem->n_kinds, 1);
    dw_report_free(&report);
    return bench;
}

static void unmake(struct bench *bench)
{
    dw_arena__free(bench->arena);
    dw_job_free(bench->job);
}

/* --- prices: what a piece is worth, and what is added from so many pieces on a bar -------------
 */

struct drawn {
    int64_t item[N_ITEMS], stock[N_STOCKS], demand[N_ITEMS], count[N_LEVELS];
    struct dw_bar_count counts[N_LEVELS];
    dw_money bar[N_STOCKS];
    struct dw_prices prices;
};

static void draw(struct random *random, const struct dw_problem *p, size_t n_levels,
                 struct drawn *drawn)
{
    *drawn = (struct drawn){0};
    for (size_t k = 0; k < p->n_stocks; k++)
        drawn->bar[k] = p->stocks[k].price;
    for (size_t i = 0; i < p->n_items; i++) {
        drawn->demand[i] = p->items[i].count;
        drawn->item[i] = random_in(random, -20, 400) * p->items[i].size / DW_NM_PER_MM * SCALE;
    }
    for (size_t c = 0; c < N_LEVELS; c++) {
        const size_t item = (size_t)random_in(random, 0, (int64_t)p->n_items - 1);
        drawn->counts[c] = (struct dw_bar_count){
            .kind = DW_COUNT_LEVEL, .a = item, .b = random_in(random, 1, p->items[item].count + 1)};
        drawn->count[c] = random_in(random, -30000, 30000) * SCALE;
    }
    drawn->prices = (struct dw_prices){SCALE,         drawn->item,  drawn->stock, n_levels,
                                       drawn->counts, drawn->count, drawn->bar,   drawn->demand};
}

static int64_t best_of(struct dw_problem *p, const struct dw_bar_kind *kind,
                       const struct dw_prices *prices)
{
    struct dw_bar_kind own = *kind;
    struct dw_problem with = *p;
    int64_t work = 0;
    with.kinds = &own;
    struct dw_pricer *pricer = dw_pricer__new(&with);
    assert_non_null(pricer);
    assert_int_equal(dw_pricer__load(pricer, prices, 0, NULL, &work), DW_LOAD_DONE);
    int64_t best = dw_pricer__best(pricer, 0);
    dw_pricer__free(pricer);
    return best;
}

/* Cells so long that many pieces go into one. */
static struct dw_bar_kind coarse_kind(const struct dw_bar_kind *kind, int64_t cell)
{
    struct dw_bar_kind coarse = *kind;
    coarse.cell = cell;
    coarse.n_cells = (size_t)(kind->max_cap / cell) + 1;
    coarse.coarse = true;
    coarse.few_slack = false;
    return coarse;
}

/* One part alone: what a count of it is worth is reckoned for each. */
static void leaps_leave_no_count_out(void **state)
{
    (void)state;
    char text[1024];
    snprintf(text, sizeof text, "%s  - {label: link, length: 7, count: 250}\n", links_text);
    struct bench bench = make(text);
    struct dw_problem *p = bench.problem;
    struct dw_pricer *pricer = dw_pricer__new(p);
    struct random random = {16};
    assert_int_equal(p->n_stocks, 9);
    assert_non_null(pricer);
    for (int round = 0; round < 60; round++) {
        static const int64_t from[N_LEVELS] = {1, 2, 151, 152};
        struct drawn drawn;
        int64_t work = 0;
        draw(&random, p, N_LEVELS, &drawn);
        for (size_t c = 0; c < N_LEVELS; c++)
            drawn.counts[c].b = from[(c + (size_t)round) % N_LEVELS];
        assert_int_equal(dw_pricer__load(pricer, &drawn.prices, 0, NULL, &work), DW_LOAD_DONE);
        for (size_t k = 0; k < p->n_stocks; k++) {
            int64_t best = INT64_MIN;
            for (int64_t a = 1; a <= 250 && a * p->items[0].size <= p->stocks[k].cap; a++) {
                int64_t value = a * drawn.item[0] - SCALE * p->stocks[k].price;
                for (size_t c = 0; c < N_LEVELS; c++)
                    value += a >= drawn.counts[c].b ? drawn.count[c] : 0;
                best = value > best ? value : best;
            }
            assert_int_equal(dw_pricer__best(pricer, k), best);
        }
    }
    dw_pricer__free(pricer);
    unmake(&bench);
}

static void leaps_find_what_single_pieces_find(void **state)
{
    (void)state;
    struct bench bench = make(chips_text);
    struct dw_problem *p = bench.problem;
    struct dw_bar_kind points = p->kinds[0];
    struct random random = {17};
    struct dw_problem with = *p;
    with.kinds = &points;
    assert_false(p->kinds[0].points || p->kinds[0].coarse);
    assert_true(dw_points__make(&with, 0, MANY, &points.points));
    assert_non_null(points.points);
    points.n_cells = points.points->n;
    assert_true(dw_bar_kind__credits(&with, &points));
    for (int round = 0; round < 60; round++) {
        struct drawn drawn;
        draw(&random, p, round % 3 == 0 ? 0 : N_LEVELS, &drawn);
        assert_int_equal(best_of(p, &p->kinds[0], &drawn.prices),
                         best_of(p, &points, &drawn.prices));
    }
    unmake(&bench);
}

/* Never less than the best layout; and with cells of a strip's length not half as much again, so
 * that it says something. */
static void coarse_leaps_bound_from_above(void **state)
{
    (void)state;
    struct bench bench = make(chips_text);
    struct dw_problem *p = bench.problem;
    struct random random = {18};
    for (int round = 0; round < 60; round++) {
        struct drawn drawn;
        draw(&random, p, round % 3 == 0 ? 0 : N_LEVELS, &drawn);
        int64_t best = best_of(p, &p->kinds[0], &drawn.prices);
        for (int64_t mm = 3; mm <= 50; mm += 47) {
            struct dw_bar_kind coarse = coarse_kind(&p->kinds[0], mm * DW_NM_PER_MM - 1);
            int64_t bound = best_of(p, &coarse, &drawn.prices);
            assert_true(bound >= best);
            if (mm == 3 && best > 100000 * SCALE)
                assert_true(bound < best + best / 2);
        }
    }
    unmake(&bench);
}

/* --- the stop --------------------------------------------------------------------------------- */

struct clock {
    int64_t now_ms;
    int64_t looks;
};

static int64_t look(void *user)
{
    struct clock *clock = user;
    clock->looks++;
    return clock->now_ms += 100;
}

static bool stops(void *user)
{
    (void)user;
    return true;
}

/* A clock that is 100 ms on at each look: half a second after the stop no piece is added to a row
 * any more. */
static void a_table_is_given_up_when_it_is_late(void **state)
{
    (void)state;
    char text[1024];
    snprintf(text, sizeof text,
             "%s  - {label: link, length: 7 to 12, count: 250}\n"
             "  - {label: loop, length: 9 to 13, count: 250}\n"
             "rules: {keep: 60, longest scrap: 5}\n",
             links_text);
    struct bench bench = make(text);
    struct random random = {19};
    struct clock clock = {0};
    const struct dw_hooks hooks = {.now_ms = look, .stop = stops, .user = &clock};
    struct dw_effort effort = {.hooks = &hooks}, untimed = {0};
    struct drawn drawn;
    int64_t work = 0;
    draw(&random, bench.problem, 0, &drawn);
    struct dw_pricer *pricer = dw_pricer__new(bench.problem);
    assert_non_null(pricer);
    assert_int_equal(dw_pricer__load(pricer, &drawn.prices, 0, &effort, &work), DW_LOAD_LATE);
    assert_true(clock.looks <= 6);
    assert_int_equal(dw_pricer__load(pricer, &drawn.prices, 0, &untimed, &work), DW_LOAD_DONE);
    dw_pricer__free(pricer);
    unmake(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(leaps_leave_no_count_out),
        cmocka_unit_test(leaps_find_what_single_pieces_find),
        cmocka_unit_test(coarse_leaps_bound_from_above),
        cmocka_unit_test(a_table_is_given_up_when_it_is_late),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
