/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parity cuts: random plans of the same pieces keep every cut that is found, and the solution of
 * the relaxation over their layouts, which it was found for, does not. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "group.h"
#include "random_job.h"
#include "solve/search/parity.h"

#include <stdlib.h>
#include <string.h>

#define N_JOBS   3000
#define N_PLANS  8
#define N_COUNTS 6
#define MAX_COLS 4000
#define STATES   100000

struct bar {
    size_t stock;
    int64_t left;
    size_t n;
    struct dw_entry entries[64];
};

struct plans {
    struct dw_problem *problem;
    struct dw_pool pool;
    size_t n_bars[N_PLANS];
    const struct dw_col *bars[N_PLANS][MAX_COLS];
    struct dw_bar_count counts[N_COUNTS];
    int64_t lo[N_COUNTS], hi[N_COUNTS];
    int64_t *demand, *avail;
    dw_money *price;
};

static bool plain(const struct dw_problem *p)
{
    bool ok = p->n_kinds == 1 && p->n_items > 0 && p->n_stocks > 0 && p->n_pieces < 200 &&
              !p->job->rules.no_middling; /* any leftover is allowed */
    for (size_t i = 0; ok && i < p->n_items; i++)
        ok = !p->items[i].post && p->items[i].slack == 0;
    for (size_t k = 0; ok && k < p->n_stocks; k++)
        ok = p->stocks[k].n_firsts == 0;
    return ok;
}

static const struct dw_col *column(struct plans *plans, const struct bar *bar)
{
    const struct dw_problem *p = plans->problem;
    struct dw_col draft = {.stock = bar->stock,
                           .first = DW_NONE,
                           .left = bar->left,
                           .n = bar->n,
                           .entries = bar->entries};
    draft.kept = dw_bar_kind__kept(p, &p->kinds[0], bar->left) != DW_NEVER;
    const struct dw_col *col = dw_pool__add(&plans->pool, &draft);
    assert_non_null(col);
    return col;
}

/* All pieces, in random order, on bars of random stocks. */
static void draw_plan(struct random *random, struct plans *plans, size_t at)
{
    const struct dw_problem *p = plans->problem;
    int64_t left[256] = {0}, n_left = p->n_pieces;
    for (size_t i = 0; i < p->n_items; i++)
        left[i] = p->items[i].count;
    while (n_left > 0) {
        struct bar bar = {.stock = (size_t)random_in(random, 0, (int64_t)p->n_stocks - 1)};
        bar.left = p->stocks[bar.stock].cap;
        for (int tries = 0; tries < 12 && bar.n < 64; tries++) {
            size_t i = (size_t)random_in(random, 0, (int64_t)p->n_items - 1);
            if (left[i] == 0 || p->items[i].size > bar.left)
                continue;
            bar.entries[bar.n++] = (struct dw_entry){i, 1};
            bar.left -= p->items[i].size;
            left[i]--;
            n_left--;
        }
        if (bar.n == 0)
            continue;
        assert_true(plans->n_bars[at] < MAX_COLS);
        plans->bars[at][plans->n_bars[at]++] = column(plans, &bar);
    }
}

/* Coefficients of a row, summed over a plan. */
static int64_t sum_of(const struct plans *plans, size_t at, const struct dw_bar_count *count)
{
    int64_t sum = 0;
    for (size_t b = 0; b < plans->n_bars[at]; b++)
        sum += dw_bar_count__of(plans->problem, count, plans->bars[at][b]);
    return sum;
}

/* Rows that all of the plans keep. */
static void draw_rows(struct random *random, struct plans *plans)
{
    const struct dw_problem *p = plans->problem;
    size_t a = (size_t)random_in(random, 0, (int64_t)p->n_items - 1);
    plans->counts[0] = (struct dw_bar_count){.kind = DW_COUNT_BARS};
    plans->counts[1] = (struct dw_bar_count){.kind = DW_COUNT_EXACT};
    plans->counts[2] = (struct dw_bar_count){.kind = DW_COUNT_LEVEL, .a = a, .b = 1};
    plans->counts[3] = (struct dw_bar_count){.kind = DW_COUNT_KEPT};
    plans->counts[4] = (struct dw_bar_count){
        .kind = DW_COUNT_PAIR, .a = a, .b = (int64_t)(a + 1) % (int64_t)p->n_items};
    plans->counts[5] = (struct dw_bar_count){
        .kind = DW_COUNT_STOCK, .a = (size_t)random_in(random, 0, (int64_t)p->n_stocks - 1)};
    for (size_t c = 0; c < N_COUNTS; c++) {
        plans->lo[c] = INT64_MAX;
        plans->hi[c] = 0;
        for (size_t at = 0; at < N_PLANS; at++) {
            int64_t sum = sum_of(plans, at, &plans->counts[c]);
            plans->lo[c] = sum < plans->lo[c] ? sum : plans->lo[c];
            plans->hi[c] = sum > plans->hi[c] ? sum : plans->hi[c];
        }
        if (random_in(random, 0, 2) == 0)
            plans->hi[c] = DW_NO_LIMIT;
    }
    for (size_t i = 0; i < p->n_items; i++)
        plans->demand[i] = p->items[i].count;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct dw_bar_count bars = {.kind = DW_COUNT_STOCK, .a = k};
        plans->price[k] = p->stocks[k].price;
        for (size_t at = 0; at < N_PLANS; at++) {
            int64_t n = sum_of(plans, at, &bars);
            plans->avail[k] = n > plans->avail[k] ? n : plans->avail[k];
        }
    }
}

static size_t check_cuts(struct plans *plans, const struct dw_relax *relax,
                         const struct dw_relaxed *relaxed)
{
    struct dw_arena *arena = dw_arena__new();
    size_t n = 0;
    assert_non_null(arena);
    struct dw_parity_cut **cuts = dw_parity__find(plans->problem, relax, relaxed, 20, arena, &n);
    assert_non_null(cuts);
    for (size_t k = 0; k < n; k++) {
        const struct dw_bar_count cut = {.kind = DW_COUNT_CUT, .cut = cuts[k]};
        for (size_t at = 0; at < N_PLANS; at++)
            assert_true(sum_of(plans, at, &cut) >= cuts[k]->least);
        double value = 0;
        for (size_t j = 0; j < relaxed->n; j++)
            value += relaxed->support[j].x *
                     (double)dw_bar_count__of(plans->problem, &cut, relaxed->support[j].col);
        assert_true(value < (double)cuts[k]->least - 0.01);
    }
    dw_arena__free(arena);
    return n;
}

/* How many cuts were found. */
static size_t try_plans(struct random *random, struct plans *plans)
{
    const struct dw_problem *p = plans->problem;
    struct dw_lp_env env = {0};
    struct dw_effort effort = {0};
    struct dw_master master;
    struct dw_relaxed relaxed = {0};
    struct dw_error error = {0};
    struct dw_pricer *pricer = dw_pricer__new(p);
    assert_non_null(pricer);
    dw_master__init(&master, p, &plans->pool, pricer, &env, &effort);
    for (size_t at = 0; at < N_PLANS; at++)
        draw_plan(random, plans, at);
    draw_rows(random, plans);
    const struct dw_col *list[MAX_COLS];
    assert_true(plans->pool.n < MAX_COLS);
    for (size_t j = 0; j < plans->pool.n; j++)
        list[j] = plans->pool.cols[j];
    const struct dw_relax relax = {.demand = plans->demand,
                                   .avail = plans->avail,
                                   .bar = plans->price,
                                   .n_counts = N_COUNTS,
                                   .counts = plans->counts,
                                   .lo = plans->lo,
                                   .hi = plans->hi,
                                   .list = list,
                                   .n_list = plans->pool.n,
                                   .cutoff = INT64_MAX / 2};
    assert_int_equal(dw_relax__solve(&master, &relax, &relaxed, &error), DW_OK);
    size_t n = relaxed.status == DW_RELAX_OPTIMAL && !relaxed.short_of
                   ? check_cuts(plans, &relax, &relaxed)
                   : 0;
    dw_relaxed__free(&relaxed);
    dw_master__free(&master);
    dw_pricer__free(pricer);
    dw_lp__env_free(&env);
    return n;
}

static size_t try_job(uint64_t seed)
{
    struct random random = {seed};
    struct dw_job *job = random_job_large(seed, STATES);
    struct dw_arena *arena = dw_arena__new();
    struct plans *plans = calloc(1, sizeof *plans);
    assert_non_null(job);
    assert_non_null(arena);
    assert_non_null(plans);
    size_t n = 0;
    plans->problem = group_of_job(job, arena);
    assert_non_null(plans->problem);
    if (plain(plans->problem)) {
        const struct dw_problem *p = plans->problem;
        plans->demand = dw_arena__alloc(arena, p->n_items, sizeof *plans->demand);
        plans->avail = dw_arena__alloc(arena, p->n_stocks, sizeof *plans->avail);
        plans->price = dw_arena__alloc(arena, p->n_stocks, sizeof *plans->price);
        assert_true(plans->demand && plans->avail && plans->price);
        dw_pool__init(&plans->pool, p);
        n = try_plans(&random, plans);
        dw_pool__free(&plans->pool);
    }
    free(plans);
    dw_arena__free(arena);
    dw_job_free(job);
    return n;
}

static void test_plans_keep_cuts(void **state)
{
    (void)state;
    size_t n = 0;
    for (uint64_t seed = 1; seed <= N_JOBS; seed++)
        n += try_job(seed);
    assert_true(n > 500);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_plans_keep_cuts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
