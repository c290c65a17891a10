/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The textbook engine against published examples, an exact recursion of our own, and its promises
 * on limits. */
#include "solve/textbook/csp.h"
#include "solve/textbook/core.h"
#include "solve/textbook/node.h"
#include "solve/textbook/tree.h"
#include "solve/bar/knap.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

enum { MOST = 16 };

struct example {
    const char *source;
    int64_t capacity;
    size_t n;
    int64_t size[MOST], demand[MOST];
    int64_t bars; /* the optimum */
};

/* Optima re-solved with GLPK on all layouts; data that were not seen are marked as remembered. */
static const struct example examples[] = {
    {"Chvatal, Linear Programming (1983), ch. 13, data of GAMS model library, CUTSTOCK",
     100,
     4,
     {45, 36, 31, 14},
     {97, 610, 395, 211},
     453},
    {"Fourer, Gay, Kernighan, AMPL (ampl.com), cut.mod",
     110,
     5,
     {75, 55, 50, 45, 20},
     {8, 10, 24, 35, 48},
     47},
    {"ampl.com, Java example on cutting with several layouts",
     6450,
     4,
     {1876, 1746, 756, 677},
     {10, 33, 40, 10},
     18},
    {"en.wikipedia.org, Cutting stock problem, paper mill",
     5600,
     13,
     {2200, 2150, 2140, 2100, 2050, 2000, 1930, 1880, 1820, 1710, 1560, 1520, 1380},
     {20, 18, 16, 14, 12, 10, 20, 18, 18, 14, 12, 25, 22},
     73},
    {"jump.dev, tutorial on column generation, tenths",
     1000,
     16,
     {750, 538, 530, 510, 502, 322, 308, 298, 201, 162, 145, 110, 86, 82, 66, 51},
     {189, 33, 36, 41, 35, 37, 44, 49, 37, 36, 42, 33, 47, 35, 49, 42},
     334},
    {"Taha, Operations Research, paper rolls, from memory", 20, 3, {9, 7, 5}, {300, 200, 150}, 263},
    {"Haessler 1988, Table 2, eighths of a unit",
     1376,
     16,
     {200, 198, 144, 140, 124, 123, 111, 100, 98, 96, 82, 81, 80, 70, 68, 62},
     {5, 73, 14, 4, 23, 5, 29, 87, 9, 31, 6, 14, 43, 15, 21, 5},
     33},
    {"Delorme, Iori, Martello 2016, example 1", 9, 3, {4, 3, 2}, {2, 2, 2}, 2},
    {"Goulimis, arXiv:2004.01937: not IRUP without the cap on copies",
     132,
     3,
     {44, 33, 12},
     {2, 3, 6},
     3},
    {"Fieldhouse 1990, from memory: the same", 30, 3, {15, 10, 6}, {1, 2, 4}, 3},
    {"CUTGEN1 (Gau, Waescher 1995) p. 576, no. 1",
     1000,
     10,
     {577, 570, 544, 539, 526, 512, 504, 459, 446, 378},
     {63, 64, 85, 84, 54, 20, 24, 31, 48, 27},
     394},
    {"CUTGEN1 (Gau, Waescher 1995) p. 576, no. 150",
     1000,
     9,
     {570, 558, 543, 540, 513, 490, 476, 453, 434},
     {16, 94, 20, 99, 59, 48, 78, 35, 51},
     322},
    {"Winston, Operations Research, Woodco, from memory", 17, 3, {9, 5, 3}, {15, 20, 25}, 19},
    {"Valerio de Carvalho 2002, from memory", 8, 3, {4, 3, 2}, {5, 4, 8}, 6},
};

/* --- checks --------------------------------------------------------------------------------- */

/* Fit and counts, from the problem alone. */
static void check_plan(const struct dw_csp *problem, const struct dw_csp_plan *plan)
{
    int64_t *made = calloc(problem->n + 1, sizeof *made), bars = 0;
    assert_non_null(made);
    for (size_t k = 0; k < plan->n_layouts; k++) {
        const struct dw_csp_layout *layout = &plan->layouts[k];
        int64_t length = 0;
        assert_true(layout->bars >= 1 && layout->n_items >= 1);
        for (size_t i = 0; i < layout->n_items; i++) {
            length += layout->items[i].count * problem->size[layout->items[i].type];
            made[layout->items[i].type] += layout->items[i].count * layout->bars;
        }
        assert_true(length <= problem->capacity);
        bars += layout->bars;
    }
    for (size_t i = 0; i < problem->n; i++)
        assert_int_equal(made[i], problem->demand[i]);
    free(made);
    assert_int_equal(bars, plan->bars);
    assert_true(plan->bound <= plan->bars);
    assert_true(!plan->finished || plan->bound == plan->bars);
}

/* sum dual a <= scale for every layout (unbounded copies up to the demand), and the bound that
 * follows. */
static void check_duals(const struct dw_csp *problem, const struct dw_csp_plan *plan)
{
    int64_t *best = calloc((size_t)problem->capacity + 1, sizeof *best), sum = 0;
    assert_non_null(best);
    for (size_t i = 0; i < problem->n; i++) {
        assert_true(plan->dual[i] >= 0);
        sum += plan->dual[i] * problem->demand[i];
        for (int64_t copy = 0; copy < problem->demand[i] && copy < problem->capacity; copy++)
            for (int64_t t = problem->capacity; t >= problem->size[i]; t--)
                if (best[t - problem->size[i]] + plan->dual[i] > best[t])
                    best[t] = best[t - problem->size[i]] + plan->dual[i];
    }
    assert_true(best[problem->capacity] <= plan->scale);
    assert_int_equal(plan->dual_bound, dw_ceil__div(sum, plan->scale));
    assert_true(plan->dual_bound <= plan->bound);
    free(best);
}

static struct dw_csp_plan *solve(const struct dw_csp *problem, struct dw_effort *effort)
{
    struct dw_effort none = {0};
    struct dw_lp_env env = {0};
    struct dw_csp_plan *plan = NULL;
    struct dw_error error = {0};
    assert_int_equal(dw_csp__solve(problem, effort ? effort : &none, &env, &plan, &error), DW_OK);
    dw_lp__env_free(&env);
    check_plan(problem, plan);
    return plan;
}

/* --- an exact recursion --------------------------------------------------------------------- */

/* Fewest bars for each demand vector, by trying every layout of the last bar: f(d) = 1 + min f(d -
 * a). Vectors are counted in mixed radix. */
struct table {
    const struct dw_csp *problem;
    size_t n_states;
    int *bars; /* length n_states; -1 not known */
};

static int fewest(struct table *table, size_t state);

static void try_layouts(struct table *table, size_t type, size_t radix, size_t state, size_t rest,
                        int64_t room, int *best)
{
    const struct dw_csp *p = table->problem;
    if (type == p->n) {
        if (rest < state) {
            int bars = 1 + fewest(table, rest);
            *best = bars < *best ? bars : *best;
        }
        return;
    }
    size_t base = (size_t)p->demand[type] + 1, left = state / radix % base;
    for (size_t k = 0; k <= left && (int64_t)k * p->size[type] <= room; k++)
        try_layouts(table, type + 1, radix * base, state, rest - k * radix,
                    room - (int64_t)k * p->size[type], best);
}

static int fewest(struct table *table, size_t state)
{
    if (table->bars[state] < 0) {
        int best = INT32_MAX;
        try_layouts(table, 0, 1, state, state, table->problem->capacity, &best);
        table->bars[state] = best;
    }
    return table->bars[state];
}

static int exact(const struct dw_csp *problem)
{
    struct table table = {.problem = problem, .n_states = 1};
    for (size_t i = 0; i < problem->n; i++)
        table.n_states *= (size_t)problem->demand[i] + 1;
    table.bars = malloc(table.n_states * sizeof *table.bars);
    assert_non_null(table.bars);
    memset(table.bars, -1, table.n_states * sizeof *table.bars);
    table.bars[0] = 0;
    int bars = fewest(&table, table.n_states - 1);
    free(table.bars);
    return bars;
}

/* --- random problems ------------------------------------------------------------------------ */

static uint64_t seed = 20260101;

static int64_t between(int64_t low, int64_t high)
{
    return low + (int64_t)(dw_random__next(&seed) % (uint64_t)(high - low + 1));
}

struct small {
    int64_t size[8], demand[8];
    struct dw_csp problem;
};

/* Lengths between a seventh and three quarters of the bar. */
static void make_small(struct small *small)
{
    int64_t capacity = between(10, 90);
    size_t n = 0;
    for (int64_t size = capacity * 3 / 4; size >= capacity / 7 + 1 && n < 5; size--)
        if (between(0, 9) < 2) {
            small->size[n] = size;
            small->demand[n++] = between(1, 4);
        }
    small->problem = (struct dw_csp){capacity, n, small->size, small->demand};
}

static void test_examples(void **unused)
{
    (void)unused;
    for (size_t k = 0; k < DW_COUNT(examples); k++) {
        const struct example *e = &examples[k];
        const struct dw_csp problem = {e->capacity, e->n, e->size, e->demand};
        struct dw_csp_plan *plan = solve(&problem, NULL);
        check_duals(&problem, plan);
        if (plan->bars != e->bars || !plan->finished)
            fail_msg("%s: %ld bars, bound %ld, not %ld", e->source, (long)plan->bars,
                     (long)plan->bound, (long)e->bars);
        dw_csp__free(plan);
    }
}

static void test_random(void **unused)
{
    (void)unused;
    for (int k = 0; k < 400; k++) {
        struct small small = {0};
        make_small(&small);
        struct dw_csp_plan *plan = solve(&small.problem, NULL);
        check_duals(&small.problem, plan);
        assert_true(plan->finished);
        assert_int_equal(plan->bars, exact(&small.problem));
        dw_csp__free(plan);
    }
}

/* The complete search by itself, where the bounds do not answer before it: one bar too few, enough.
 */
static void test_tree(void **unused)
{
    (void)unused;
    for (int k = 0; k < 200; k++) {
        struct small small = {0};
        make_small(&small);
        const struct dw_csp *p = &small.problem;
        struct dw_effort effort = {0};
        struct dw_lp_env env = {0};
        struct dw_csp__state state = {.capacity = p->capacity,
                                      .n = p->n,
                                      .size = small.size,
                                      .demand = small.demand,
                                      .env = &env,
                                      .effort = &effort,
                                      .bars = INT32_MAX};
        for (size_t i = 0; i < p->n; i++)
            state.total += small.size[i] * small.demand[i];
        const struct dw_layout_list none = {0};
        int bars = exact(p);
        if (bars > 1)
            assert_int_equal(dw_csp__tree(&state, bars - 1, 0, true, &none), DW_CSP_NO);
        assert_int_equal(dw_csp__tree(&state, bars, 0, true, &none), DW_CSP_YES);
        assert_int_equal(state.bars, bars);
        assert_false(state.failed || effort.stopped);
        dw_layout_list__free(&state.best);
        dw_lp__env_free(&env);
    }
}

/* Bars cut up at random without waste, pieces of least..most. How many lengths. */
static size_t plant(int bars, int64_t capacity, int64_t least, int64_t most, int64_t *size,
                    int64_t *demand)
{
    int64_t *count = calloc((size_t)capacity + 1, sizeof *count);
    assert_non_null(count);
    for (int bar = 0; bar < bars; bar++)
        for (int64_t room = capacity; room > 0;) {
            int64_t piece = between(least, most);
            piece = piece > room || room - piece < least ? room : piece;
            count[piece]++;
            room -= piece;
        }
    size_t n = 0;
    for (int64_t length = capacity; length > 0; length--)
        if (count[length] > 0) {
            size[n] = length;
            demand[n++] = count[length];
        }
    free(count);
    return n;
}

/* So many bars filled to the last, no plan known yet. */
static struct dw_csp__state full_bars(int64_t bars, int64_t capacity, size_t n, int64_t *size,
                                      int64_t *demand)
{
    return (struct dw_csp__state){.capacity = capacity,
                                  .n = n,
                                  .size = size,
                                  .demand = demand,
                                  .bars = INT32_MAX,
                                  .total = bars * capacity};
}

/* A plan with as many bars is known: no search may deny it, and one bar less is never granted.
 * Large enough for the LP and the pool to work. */
static void test_planted(void **unused)
{
    (void)unused;
    for (int k = 0; k < 150; k++) {
        enum { BARS = 12, CAPACITY = 97 };
        int64_t size[CAPACITY], demand[CAPACITY];
        size_t n = plant(BARS, CAPACITY, 3, 60, size, demand);
        struct dw_effort effort = {.limit = 3000000};
        struct dw_lp_env env = {0};
        struct dw_csp__state state = full_bars(BARS, CAPACITY, n, size, demand);
        state.env = &env;
        state.effort = &effort;
        const struct dw_layout_list none = {0};
        assert_int_equal(dw_csp__tree(&state, BARS - 1, 0, true, &none), DW_CSP_NO);
        assert_int_not_equal(dw_csp__tree(&state, BARS, 200, k % 2 == 0, &none), DW_CSP_NO);
        assert_true(state.bars == BARS || state.bars == INT32_MAX);
        assert_false(state.failed);
        dw_layout_list__free(&state.best);
        dw_lp__env_free(&env);
    }
}

/* Where the LP has a solution with as many bars, its duals say so but for their rounding: the gap
 * that lets layouts through, bars z - P d, is less than a unit a piece. */
static void test_close_duals(void **unused)
{
    (void)unused;
    for (int k = 0; k < 20; k++) {
        enum { BARS = 30, CAPACITY = 1000 };
        int64_t size[CAPACITY], demand[CAPACITY], pieces = 0;
        size_t n = plant(BARS, CAPACITY, 12, 400, size, demand);
        struct dw_effort effort = {0};
        struct dw_lp_env env = {0};
        struct dw_csp__state state = full_bars(BARS, CAPACITY, n, size, demand);
        state.env = &env;
        state.effort = &effort;
        struct dw_csp__node node;
        const struct dw_layout_list none = {0};
        struct dw_layout_list plan = {0};
        assert_true(dw_csp__node_open(&node, &state, BARS, 0, &none));
        enum dw_csp__node_answer answer = dw_csp__node_solve(&node, &plan);
        assert_true(answer == DW_CSP_NODE_OPEN || answer == DW_CSP_NODE_PLAN);
        for (size_t i = 0; i < n; i++)
            pieces += demand[i];
        int64_t gap = node.best - dw_csp__node_least(&node);
        assert_true(answer == DW_CSP_NODE_PLAN || gap <= pieces);
        dw_csp__node_close(&node);
        dw_layout_list__free(&plan);
        dw_lp__env_free(&env);
    }
}

/* --- scale ---------------------------------------------------------------------------------- */

/* The same problem in nanometres, and with a rest of the bar that no length can use. */
static void test_units(void **unused)
{
    (void)unused;
    const struct example *e = &examples[4];
    int64_t size[MOST];
    for (size_t i = 0; i < e->n; i++)
        size[i] = e->size[i] * 100000;
    const struct dw_csp problem = {e->capacity * 100000 + 4999, e->n, size, e->demand};
    struct dw_csp_plan *plan = solve(&problem, NULL);
    assert_int_equal(plan->bars, e->bars);
    assert_true(plan->finished);
    dw_csp__free(plan);
}

/* Capacity 1 400 000, lengths that share no factor: by branch and bound, not by tables. */
static void test_long_bar(void **unused)
{
    (void)unused;
    int64_t size[60], demand[60], total = 0;
    for (int i = 0; i < 60; i++) {
        size[i] = 400009 - 6151 * i;
        demand[i] = 1 + i * 7 % 20;
        total += size[i] * demand[i];
    }
    const struct dw_csp problem = {1400003, 60, size, demand};
    struct dw_csp_plan *plan = solve(&problem, NULL);
    assert_true(plan->finished);
    assert_int_equal(plan->bars, dw_ceil__div(total, 1400003));
    dw_csp__free(plan);
}

static int decreasing(const void *a, const void *b)
{
    const int64_t *x = a, *y = b;
    return *x < *y ? 1 : *x > *y ? -1 : 0;
}

/* Sorts the pieces and counts those of equal length together. How many lengths. */
static size_t merge(size_t pieces, int64_t *size, int64_t *demand)
{
    size_t n = 0;
    qsort(size, pieces, sizeof *size, decreasing);
    for (size_t k = 0; k < pieces; k++) {
        if (n > 0 && size[n - 1] == size[k]) {
            demand[n - 1]++;
            continue;
        }
        size[n] = size[k];
        demand[n++] = 1;
    }
    return n;
}

/* Capacity 100 003: pricing by search, while the complete search would have its table. Bars cut up
 * at random, less than one bar of waste in all, so that the fewest are known. */
static void test_rather_long_bar(void **unused)
{
    (void)unused;
    enum { BARS = 20, EACH = 4, CAPACITY = 100003 };
    assert_true(dw_knap__has_table(CAPACITY, BARS * EACH));
    assert_true(dw_knap__is_long(CAPACITY, BARS * EACH));
    for (int round = 0; round < 6; round++) {
        int64_t size[BARS * EACH], demand[BARS * EACH];
        for (int bar = 0; bar < BARS; bar++) {
            int64_t room = CAPACITY - between(0, 4000), *piece = size + EACH * bar;
            for (int k = 0; k < EACH - 1; k++)
                room -= piece[k] = between(20000, 26000);
            piece[EACH - 1] = room;
        }
        const struct dw_csp problem = {CAPACITY, merge(BARS * EACH, size, demand), size, demand};
        struct dw_csp_plan *plan = solve(&problem, NULL);
        check_duals(&problem, plan);
        assert_true(plan->finished);
        assert_int_equal(plan->bars, BARS);
        dw_csp__free(plan);
    }
}

/* --- limits --------------------------------------------------------------------------------- */

static bool stop_at_once(void *user)
{
    ++*(int *)user;
    return true;
}

/* A triplet problem (Falkenauer 1996: three pieces fill each bar) that greedy plans do not solve.
 */
static void make_triplets(int64_t size[90], int64_t demand[90], struct dw_csp *problem)
{
    bool taken[1001] = {false};
    size_t n = 0;
    while (n < 90) {
        int64_t a = between(380, 490), b = between(250, (1000 - a) / 2), c = 1000 - a - b;
        if (a == b || b == c || a == c || taken[a] || taken[b] || taken[c])
            continue;
        taken[a] = taken[b] = taken[c] = true;
        n += 3;
    }
    n = 0;
    for (int64_t s = 1000; s > 0; s--)
        if (taken[s]) {
            size[n] = s;
            demand[n++] = 1;
        }
    *problem = (struct dw_csp){1000, 90, size, demand};
}

static void test_stop(void **unused)
{
    (void)unused;
    int64_t size[90], demand[90];
    struct dw_csp problem;
    make_triplets(size, demand, &problem);
    int asked = 0;
    const struct dw_hooks hooks = {.stop = stop_at_once, .user = &asked};
    struct dw_effort effort = {.hooks = &hooks};
    struct dw_csp_plan *plan = solve(&problem, &effort);
    assert_true(asked > 0);
    assert_true(plan->bars > 30 && !plan->finished);
    dw_csp__free(plan);
    plan = solve(&problem, NULL);
    assert_true(plan->bars == 30 && plan->finished);
    dw_csp__free(plan);
}

static void test_work_limit(void **unused)
{
    (void)unused;
    int64_t size[90], demand[90];
    struct dw_csp problem;
    make_triplets(size, demand, &problem);
    for (int64_t work = 1; work < 200000; work *= 4) {
        struct dw_effort first = {.limit = work}, second = {.limit = work};
        struct dw_csp_plan *a = solve(&problem, &first), *b = solve(&problem, &second);
        assert_int_equal(first.work, second.work);
        assert_int_equal(a->bars, b->bars);
        assert_int_equal(a->bound, b->bound);
        assert_int_equal(a->n_layouts, b->n_layouts);
        for (size_t k = 0; k < a->n_layouts; k++) {
            assert_int_equal(a->layouts[k].bars, b->layouts[k].bars);
            assert_int_equal(a->layouts[k].n_items, b->layouts[k].n_items);
            assert_memory_equal(a->layouts[k].items, b->layouts[k].items,
                                a->layouts[k].n_items * sizeof *a->layouts[k].items);
        }
        dw_csp__free(a);
        dw_csp__free(b);
    }
}

static void refuse(int64_t capacity, size_t n, const int64_t *size, const int64_t *demand)
{
    const struct dw_csp problem = {capacity, n, size, demand};
    struct dw_effort effort = {0};
    struct dw_lp_env env = {0};
    struct dw_csp_plan *plan = NULL;
    struct dw_error error = {0};
    assert_int_equal(dw_csp__solve(&problem, &effort, &env, &plan, &error), DW_ERR_RANGE);
    assert_null(plan);
    dw_lp__env_free(&env);
}

static void test_bad_input(void **unused)
{
    (void)unused;
    const int64_t size[] = {5, 4}, equal[] = {5, 5}, demand[] = {1, 1}, none[] = {1, 0};
    refuse(0, 0, NULL, NULL);
    refuse(DW_LIST_MAX_CAPACITY + 1, 2, size, demand);
    refuse(4, 2, size, demand);
    refuse(10, 2, equal, demand);
    refuse(10, 2, size, none);
    const int64_t many[] = {DW_LIST_MAX_PIECES, 1};
    refuse(10, 2, size, many);
}

static void test_empty(void **unused)
{
    (void)unused;
    const struct dw_csp problem = {10, 0, NULL, NULL};
    struct dw_csp_plan *plan = solve(&problem, NULL);
    assert_true(plan->bars == 0 && plan->finished && plan->n_layouts == 0);
    dw_csp__free(plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_examples),    cmocka_unit_test(test_random),
        cmocka_unit_test(test_tree),        cmocka_unit_test(test_planted),
        cmocka_unit_test(test_close_duals), cmocka_unit_test(test_units),
        cmocka_unit_test(test_long_bar),    cmocka_unit_test(test_rather_long_bar),
        cmocka_unit_test(test_stop),        cmocka_unit_test(test_work_limit),
        cmocka_unit_test(test_bad_input),   cmocka_unit_test(test_empty),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
