/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans from a short list of columns: what is found and what is not, against plain counting through
 * every column. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "solve/search/cover.h"

#include <stdlib.h>

#define MOST_ITEMS  5
#define MOST_STOCKS 3
#define MOST_COLS   14
#define N_CASES     6000
#define NO_PLAN     (INT64_MAX / 4)

struct drawn {
    struct dw_problem problem;
    struct dw_job job;
    struct dw_material material;
    struct dw_bar_kind kind;
    struct dw_item items[MOST_ITEMS];
    struct dw_bar_stock stocks[MOST_STOCKS];
    int64_t demand[MOST_ITEMS], avail[MOST_STOCKS];
    dw_money bar[MOST_STOCKS];
    struct dw_pool pool;
    const struct dw_col *list[MOST_COLS];
    struct dw_bar_count count; /* of all bars */
    int64_t lo, hi;
    struct dw_relax relax;
    int64_t item_dual[MOST_ITEMS], stock_dual[MOST_STOCKS], count_dual, most[MOST_STOCKS];
    struct dw_relaxed relaxed;
};

/* --- drawing a case ------------------------------------------------------------------------- */

static void draw_problem(struct random *random, struct drawn *drawn)
{
    struct dw_problem *p = &drawn->problem;
    *drawn = (struct drawn){.material = {.worth = {.keep = 500}}};
    drawn->job = (struct dw_job){.n_materials = 1, .materials = &drawn->material};
    *p = (struct dw_problem){.job = &drawn->job,
                             .arena = dw_arena__new(),
                             .n_items = (size_t)random_in(random, 2, MOST_ITEMS),
                             .items = drawn->items,
                             .n_kinds = 1,
                             .kinds = &drawn->kind,
                             .n_stocks = (size_t)random_in(random, 1, MOST_STOCKS),
                             .stocks = drawn->stocks,
                             .max_kept = DW_UNLIMITED,
                             .grid = random_chance(random, 50) ? 1 : 5};
    assert_non_null(p->arena);
    p->cut_cost = p->grid * random_in(random, 0, 2);
    for (size_t i = 0; i < p->n_items; i++) {
        struct dw_item *item = &drawn->items[i];
        item->size = random_in(random, 3, 12);
        item->count = random_in(random, 1, 3);
        item->post = i > 0 && random_chance(random, 20);
        item->worth = item->post ? p->grid * random_in(random, 0, 12) : 0;
        p->n_pieces += item->count;
        drawn->demand[i] = item->count;
    }
    for (size_t k = 0; k < p->n_stocks; k++) {
        drawn->stocks[k] = (struct dw_bar_stock){.cap = random_in(random, 10, 30), .limited = true};
        drawn->avail[k] = random_in(random, 0, 4);
        drawn->bar[k] = p->grid * random_in(random, 1, 20);
    }
}

/* A layout of a random stock; few ask for more than is wanted, as those of bent bars can. */
static void draw_col(struct random *random, struct drawn *drawn)
{
    const struct dw_problem *p = &drawn->problem;
    int64_t count[MOST_ITEMS] = {0};
    struct dw_entry entries[MOST_ITEMS];
    struct dw_col draft = {.stock = (size_t)random_in(random, 0, (int64_t)p->n_stocks - 1),
                           .first = DW_NONE,
                           .entries = entries};
    const int64_t over = random_chance(random, 10);
    draft.left = p->stocks[draft.stock].cap;
    for (int64_t turn = random_in(random, 1, 4); turn > 0; turn--) {
        const size_t i = (size_t)random_in(random, 0, (int64_t)p->n_items - 1);
        if (count[i] == drawn->demand[i] + over || p->items[i].size > draft.left)
            continue;
        draft.left -= p->items[i].size;
        count[i]++;
    }
    for (size_t i = 0; i < p->n_items; i++)
        if (count[i] > 0)
            entries[draft.n++] = (struct dw_entry){i, count[i]};
    if (draft.n > 0)
        assert_non_null(dw_pool__add(&drawn->pool, &draft));
}

static void draw_list(struct random *random, struct drawn *drawn)
{
    dw_pool__init(&drawn->pool, &drawn->problem);
    for (int64_t turn = random_in(random, 2, MOST_COLS); turn > 0; turn--)
        draw_col(random, drawn);
    for (size_t j = 0; j < drawn->pool.n; j++)
        drawn->list[j] = drawn->pool.cols[j];
    drawn->lo = random_in(random, 0, 3);
    drawn->hi = drawn->lo + random_in(random, 0, 4);
    drawn->count = (struct dw_bar_count){.kind = DW_COUNT_BARS};
    drawn->relax = (struct dw_relax){.demand = drawn->demand,
                                     .avail = drawn->avail,
                                     .bar = drawn->bar,
                                     .base = drawn->problem.grid * random_in(random, -9, 9),
                                     .n_counts = random_chance(random, 30),
                                     .counts = &drawn->count,
                                     .lo = &drawn->lo,
                                     .hi = &drawn->hi,
                                     .list = drawn->list,
                                     .n_list = drawn->pool.n};
}

/* Any duals of the right signs give a bound:
 * sum y b + sum_k avail_k min(0, least reduced cost of stock k). */
static void draw_prices(struct random *random, struct drawn *drawn)
{
    const struct dw_problem *p = &drawn->problem;
    const struct dw_relax *relax = &drawn->relax;
    const int64_t scale = random_chance(random, 50) ? 1 : 8;
    const int64_t high = random_chance(random, 40) ? 0 : 9 * scale * p->grid;
    drawn->relaxed.prices =
        (struct dw_prices){scale,         drawn->item_dual,   drawn->stock_dual, relax->n_counts,
                           &drawn->count, &drawn->count_dual, drawn->bar,        drawn->demand};
    drawn->relaxed.most = drawn->most;
    for (size_t i = 0; i < p->n_items; i++)
        drawn->item_dual[i] = (p->items[i].post ? -1 : 1) * random_in(random, 0, high);
    drawn->count_dual = random_in(random, -high, high);
    dw_wide numer = 0;
    for (size_t i = 0; i < p->n_items; i++)
        numer += drawn->item_dual[i] * drawn->demand[i];
    if (relax->n_counts > 0)
        numer += drawn->count_dual * (drawn->count_dual > 0 ? drawn->lo : drawn->hi);
    for (size_t k = 0; k < p->n_stocks; k++) {
        drawn->stock_dual[k] = -random_in(random, 0, high / 4);
        drawn->most[k] = DW_NEVER;
        for (size_t j = 0; j < relax->n_list; j++) {
            int64_t value = dw_prices__value(p, &drawn->relaxed.prices, drawn->list[j]);
            if (drawn->list[j]->stock == k && value > drawn->most[k])
                drawn->most[k] = value;
        }
        numer +=
            (drawn->stock_dual[k] - (drawn->most[k] > 0 ? drawn->most[k] : 0)) * drawn->avail[k];
    }
    drawn->relaxed.numer = numer;
}

/* --- plain counting ------------------------------------------------------------------------- */

struct counting {
    const struct drawn *drawn;
    int64_t left[MOST_ITEMS], avail[MOST_STOCKS], bars;
    dw_money money;
    dw_money best;    /* of all plans */
    dw_money counted; /* of those of the relaxation's counts */
};

static void note(struct counting *c)
{
    const struct drawn *drawn = c->drawn;
    for (size_t i = 0; i < drawn->problem.n_items; i++)
        if (c->left[i] > 0 && !drawn->items[i].post)
            return;
    if (c->money < c->best)
        c->best = c->money;
    if (c->money < c->counted &&
        (drawn->relax.n_counts == 0 || (c->bars >= drawn->lo && c->bars <= drawn->hi)))
        c->counted = c->money;
}

static bool fits(const struct counting *c, const struct dw_col *col)
{
    bool ok = c->avail[col->stock] > 0;
    for (size_t i = 0; ok && i < col->n; i++)
        ok = c->left[col->entries[i].item] >= col->entries[i].count;
    return ok;
}

/* The column once more (1) or once less (-1). */
static void cut(struct counting *c, const struct dw_col *col, int sign)
{
    c->avail[col->stock] -= sign;
    c->bars += sign;
    c->money += sign * (c->drawn->bar[col->stock] + col->money);
    for (size_t i = 0; i < col->n; i++)
        c->left[col->entries[i].item] -= sign * col->entries[i].count;
}

/* Columns from j on, each as often as it fits. */
static void count_on(struct counting *c, size_t j)
{
    if (j == c->drawn->relax.n_list) {
        note(c);
        return;
    }
    const struct dw_col *col = c->drawn->list[j];
    int64_t times = 0;
    count_on(c, j + 1);
    for (; fits(c, col); times++) {
        cut(c, col, 1);
        count_on(c, j + 1);
    }
    for (; times > 0; times--)
        cut(c, col, -1);
}

static struct counting count_all(const struct drawn *drawn)
{
    struct counting c = {
        .drawn = drawn, .money = drawn->relax.base, .best = NO_PLAN, .counted = NO_PLAN};
    for (size_t i = 0; i < drawn->problem.n_items; i++)
        c.left[i] = drawn->demand[i];
    for (size_t k = 0; k < drawn->problem.n_stocks; k++)
        c.avail[k] = drawn->avail[k];
    count_on(&c, 0);
    return c;
}

/* --- comparing ------------------------------------------------------------------------------ */

static void check_plan(const struct drawn *drawn, const struct dw_solution *plan, dw_money cutoff)
{
    int64_t made[MOST_ITEMS] = {0}, bars[MOST_STOCKS] = {0};
    dw_money money = drawn->relax.base;
    for (size_t u = 0; u < plan->n; u++) {
        const struct dw_col *col = plan->uses[u].col;
        assert_ptr_equal(drawn->list[col->index], col);
        bars[col->stock] += plan->uses[u].count;
        money += plan->uses[u].count * (drawn->bar[col->stock] + col->money);
        for (size_t i = 0; i < col->n; i++)
            made[col->entries[i].item] += plan->uses[u].count * col->entries[i].count;
    }
    for (size_t i = 0; i < drawn->problem.n_items; i++)
        assert_true(made[i] == drawn->demand[i] ||
                    (drawn->items[i].post && made[i] < drawn->demand[i]));
    for (size_t k = 0; k < drawn->problem.n_stocks; k++)
        assert_true(bars[k] <= drawn->avail[k]);
    assert_true(money < cutoff);
}

static enum dw_cover_result run(const struct drawn *drawn, dw_money cutoff, int64_t *steps)
{
    struct dw_solution plan = {0};
    enum dw_cover_result result =
        dw_cover__run(&drawn->problem, &drawn->relax, &drawn->relaxed, cutoff, steps, &plan);
    if (result == DW_COVER_FOUND)
        check_plan(drawn, &plan, cutoff);
    else
        assert_int_equal(plan.n, 0);
    dw_solution__free(&plan);
    return result;
}

/* What is said of plans below the cutoff. Fewer steps than it took leave it open. *taken: and they
 * are added to it. */
static enum dw_cover_result compare(struct random *random, const struct drawn *drawn,
                                    const struct counting *all, dw_money cutoff, int64_t *taken)
{
    const int64_t most = 1000000;
    int64_t steps = most;
    enum dw_cover_result result = run(drawn, cutoff, &steps);
    const int64_t used = most - steps;
    assert_in_range(used, 0, most);
    *taken += used;
    if (result == DW_COVER_NONE)
        assert_true(all->counted >= cutoff);
    else
        assert_int_equal(result, DW_COVER_FOUND);
    if (result == DW_COVER_FOUND)
        assert_true(all->best < cutoff);
    int64_t none = 0, some = random_in(random, 0, used), same = used;
    assert_int_equal(run(drawn, cutoff, &none), used > 0 ? DW_COVER_OPEN : result);
    const bool fewer = some < used;
    assert_int_equal(run(drawn, cutoff, &some), fewer ? DW_COVER_OPEN : result);
    assert_int_equal(run(drawn, cutoff, &same), result);
    assert_int_equal(same, 0);
    return result;
}

static void test_all_plans(void **unused)
{
    (void)unused;
    struct random random = {21};
    int64_t taken = 0;
    int n_found = 0, n_beaten = 0, n_none = 0;
    for (int turn = 0; turn < N_CASES; turn++) {
        struct drawn drawn;
        draw_problem(&random, &drawn);
        draw_list(&random, &drawn);
        draw_prices(&random, &drawn);
        const struct counting all = count_all(&drawn);
        const dw_money grid = drawn.problem.grid,
                       around = all.best < NO_PLAN ? all.best : 20 * grid;
        for (dw_money cutoff = around - grid; cutoff <= around + 2 * grid; cutoff += grid) {
            enum dw_cover_result result = compare(&random, &drawn, &all, cutoff, &taken);
            n_found += result == DW_COVER_FOUND;
            n_beaten += result == DW_COVER_NONE && all.best < NO_PLAN;
            n_none += result == DW_COVER_NONE && all.best == NO_PLAN;
        }
        dw_pool__free(&drawn.pool);
        dw_arena__free(drawn.problem.arena);
    }
    assert_true(n_found > 500 && n_beaten > 500 && n_none > 500);
    /* 65473; half as many again by parts in any order, or without regard to the room. */
    assert_true(taken < 80000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_plans),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
