/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What money plans below a node can have: where limits, duals and reduced costs give all bars, it
 * is known but for the cuts that exact fills save; where they do not, a count is named. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "solve/search/core.h"

#include <string.h>

#define CUT    400
#define STOCKS 3
#define LIMITS 4

/* Two bars of stock 0, one of 1 and one of 2, at 1 000, 730 and 555; the bound is 3 000, the best
 * plan costs 3 500. */
struct fixture {
    struct dw_material material;
    struct dw_job job;
    struct dw_bar_kind kind;
    struct dw_item item;
    struct dw_bar_stock stocks[STOCKS];
    struct dw_problem problem;
    struct dw_solution best;
    struct dw_bar_count counts[LIMITS];
    struct dw_limit limits[LIMITS];
    int64_t demand, avail[STOCKS], of_item, of_stock[STOCKS], of_count[LIMITS], most[STOCKS];
    dw_money bar[STOCKS];
    struct dw_search search;
    struct dw_search_node node;
    struct dw_relax relax;
    struct dw_relaxed relaxed;
};

static void make(struct fixture *f)
{
    static const dw_money price[STOCKS] = {1000, 730, 555};
    memset(f, 0, sizeof *f);
    f->material.worth = (struct dw_worth){.kind = DW_WORTH_RATE, .keep = 500, .rate = 1, .per = 10};
    f->job = (struct dw_job){.n_materials = 1, .materials = &f->material};
    f->item = (struct dw_item){.size = 100, .count = 9};
    f->demand = 9;
    for (size_t k = 0; k < STOCKS; k++) {
        f->stocks[k] = (struct dw_bar_stock){
            .cap = 1000, .count = k == 0 ? 9 : 1, .limited = k > 0, .price = price[k]};
        f->avail[k] = f->stocks[k].count;
        f->bar[k] = price[k];
    }
    f->problem = (struct dw_problem){.job = &f->job,
                                     .n_items = 1,
                                     .items = &f->item,
                                     .n_kinds = 1,
                                     .kinds = &f->kind,
                                     .n_stocks = STOCKS,
                                     .stocks = f->stocks,
                                     .n_pieces = 9,
                                     .cut_cost = CUT,
                                     .max_kept = DW_UNLIMITED,
                                     .grid = 1};
    f->best.money = 3500;
    f->search =
        (struct dw_search){.p = &f->problem, .best = &f->best, .n_counts = 0, .counts = f->counts};
    f->node.limits = f->limits;
    f->relax = (struct dw_relax){.demand = &f->demand, .avail = f->avail, .bar = f->bar};
    f->relaxed = (struct dw_relaxed){.numer = 3000, .most = f->most};
    f->relaxed.prices = (struct dw_prices){
        .scale = 1, .item = &f->of_item, .stock = f->of_stock, .count = f->of_count};
}

static void add_limit(struct fixture *f, enum dw_bar_count_kind kind, size_t a, int64_t b,
                      int64_t lo, int64_t hi)
{
    const size_t n = f->node.n_limits++;
    assert_true(n < LIMITS);
    f->counts[n] = (struct dw_bar_count){.kind = kind, .a = a, .b = b};
    f->limits[n] = (struct dw_limit){n, lo, hi, false};
}

static bool ask(struct fixture *f, struct dw_branch *first)
{
    f->node.ladder = (struct dw_ladder){0};
    return dw_search__ladder(&f->search, &f->node, &f->relax, &f->relaxed, NULL, first);
}

/* Bars by their limits, by the dual of the supply, and by what the best column costs. */
static void test_given(void **unused)
{
    (void)unused;
    struct fixture f;
    struct dw_branch first;
    make(&f);
    add_limit(&f, DW_COUNT_KEPT, 0, 0, 0, 0);
    add_limit(&f, DW_COUNT_STOCK, 0, 0, 2, 2);
    f.of_stock[1] = -500; /* to go without its bar costs more than there is to the best plan */
    f.most[2] = -500;     /* so does any layout of this stock */
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.step, CUT);
    assert_int_equal(f.node.ladder.phase, (2 * 1000 + 730) % CUT);
    assert_int_equal(dw_search__cutoff(&f.search, &f.node), 3130 + 1);
    f.of_stock[1] = -499;
    assert_true(ask(&f, &first));
    assert_int_equal(first.count.kind, DW_COUNT_STOCK);
    assert_int_equal(first.count.a, 1);
    assert_int_equal(f.node.ladder.step, 0);
    assert_int_equal(dw_search__cutoff(&f.search, &f.node), 3500);
    f.of_stock[1] = -500;
    f.most[2] = -499;
    assert_true(ask(&f, &first));
    assert_int_equal(first.count.a, 2);
}

/* Of a given number of bars the last stock has the rest. */
static void test_rest(void **unused)
{
    (void)unused;
    struct fixture f;
    struct dw_branch first;
    make(&f);
    add_limit(&f, DW_COUNT_KEPT, 0, 0, 0, 0);
    add_limit(&f, DW_COUNT_BARS, 0, 0, 4, 4);
    f.of_stock[1] = -500;
    f.most[2] = -500;
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.phase, (3 * 1000 + 730) % CUT);
    f.limits[1].hi = 5;
    assert_true(ask(&f, &first));
}

/* A limit on leftovers of some length leaves shorter ones, whose worth is any money. */
static void test_kept(void **unused)
{
    (void)unused;
    struct fixture f;
    struct dw_branch first;
    make(&f);
    add_limit(&f, DW_COUNT_KEPT, 0, 800, 0, 0);
    for (size_t k = 0; k < STOCKS - 1; k++)
        add_limit(&f, DW_COUNT_STOCK, k, 0, 1, 1);
    f.most[2] = -500;
    assert_true(ask(&f, &first));
    assert_int_equal(first.count.kind, DW_COUNT_KEPT);
    assert_int_equal(f.node.ladder.step, 0);
    f.material.worth.kind = DW_WORTH_NONE;
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.step, CUT);
}

/* Leftovers that are worth the same steps. */
static void test_classes(void **unused)
{
    (void)unused;
    const struct dw_worth_class classes[] = {{500, 300}, {700, 500}};
    struct fixture f;
    struct dw_branch first;
    make(&f);
    f.material.worth = (struct dw_worth){
        .kind = DW_WORTH_CLASSES, .keep = 500, .n_classes = 2, .classes = classes};
    for (size_t k = 0; k < STOCKS; k++)
        add_limit(&f, DW_COUNT_STOCK, k, 0, 1, 1);
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.step, 100);
    assert_int_equal(f.node.ladder.phase, 85);
    /* One that costs as much as a class says, at the length it begins with or is kept from, caps
     * nothing. */
    f.kind.cap_num = 500;
    f.kind.cap_den = 700;
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.step, 100);
    f.material.worth.keep = 600;
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.step, 100);
    f.material.worth.keep = 500;
    /* Where nothing is kept, classes say nothing. */
    add_limit(&f, DW_COUNT_KEPT, 0, 0, 0, 0);
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.step, CUT);
    assert_int_equal(f.node.ladder.phase, (1000 + 730 + 555) % CUT);
    f.node.n_limits--;
    /* A new bar that costs less a length makes the second class worth less than it says. */
    f.kind.cap_num = 600;
    f.kind.cap_den = 1000;
    assert_true(ask(&f, &first));
    assert_int_equal(first.count.kind, DW_COUNT_KEPT);
}

static void test_posts(void **unused)
{
    (void)unused;
    struct fixture f;
    struct dw_branch first;
    make(&f);
    f.item.post = true;
    f.item.worth = 90;
    add_limit(&f, DW_COUNT_KEPT, 0, 0, 0, 0);
    for (size_t k = 0; k < STOCKS; k++)
        add_limit(&f, DW_COUNT_STOCK, k, 0, 1, 1);
    assert_true(ask(&f, &first));
    assert_int_equal(first.count.kind, DW_COUNT_MADE);
    f.of_item = -501; /* one post less than there can be is too dear */
    assert_false(ask(&f, &first));
    assert_int_equal(f.node.ladder.phase, (1000 + 730 + 555 - 9 * 90) % CUT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_given),   cmocka_unit_test(test_rest),  cmocka_unit_test(test_kept),
        cmocka_unit_test(test_classes), cmocka_unit_test(test_posts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
