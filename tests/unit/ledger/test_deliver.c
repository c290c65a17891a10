/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a plan buys arrives: with a delivery, or with the cut that needs it. Figures are worked by
 * hand from the purchase that each test states. */
#include "tests/support/stand.h"

/* A plan of B7 (bar 1) and `n` new bars (bars 2 to n + 1) of 3 m at 12.00, sold in packs; from
 * `from` bars on at 8.00 each. Held under the number that is given back. */
static int64_t held(struct shop *shop, int64_t n, int64_t pack, int64_t from)
{
    static struct dw_price_break breaks[1];
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    breaks[0] = (struct dw_price_break){from, 8 * DW_MONEY_ONE};
    shop->job->supplies[1].pack = pack;
    shop->job->supplies[1].n_breaks = from > 0;
    shop->job->supplies[1].breaks = breaks;
    shop->plan->layouts[1].count = n;
    OK(dw_plan_sum(shop->job, shop->plan, &shop->error));
    return hold(shop, 0);
}

static struct dw_held_list *plan_of(struct shop *shop, int64_t id)
{
    struct dw_held_list *list = NULL;
    OK(dw_ledger_plan(shop->ledger, id, &list, &shop->error));
    return list;
}

/* Which bars of the plan are here, as bits: bit 0 is bar 1. */
static unsigned here(struct shop *shop, int64_t id)
{
    struct dw_held_list *list = plan_of(shop, id);
    unsigned bits = 0;
    for (size_t i = 0; i < list->rows[0].n_bars; i++)
        bits |= list->rows[0].bars[i].number ? 1u << i : 0;
    dw_held_list_free(list);
    return bits;
}

/* How many whole bars of 3 m there are in a state, and their book values together. */
static size_t bars(struct shop *shop, enum dw_state state, dw_money *value)
{
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.states = 1u << state, .only_bars = true};
    size_t n = 0;
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    *value = 0;
    for (size_t i = 0; i < list->n; i++) {
        if (list->rows[i].length != 3000 * MM)
            continue;
        n++;
        *value += list->rows[i].value;
    }
    dw_stock_list_free(list);
    return n;
}

static void cut(struct shop *shop, int64_t plan, int64_t bar_number)
{
    OK(dw_ledger_cut(shop->ledger, &act, plan, bar_number, NULL, NULL, NULL, &shop->error));
}

static void deliver(struct shop *shop, int64_t plan, int64_t n, const dw_money *values)
{
    struct dw_arrival row = {"3 m", n, values};
    struct dw_delivery delivery = {.n = 1, .rows = &row, .place = "yard", .mark = "H-7"};
    OK(dw_ledger_deliver(shop->ledger, &act, plan, &delivery, NULL, &shop->error));
}

/* A pack of 4 of which one bar is cut: three lie there whole, each at a quarter of the pack. */
static void test_pack_comes_with_its_first_cut(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 1, 4, 0);
    dw_money value = 0;
    assert_int_equal(here(shop, plan), 1); /* B7 alone */
    cut(shop, plan, 2);
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 3);
    assert_int_equal(value, 36 * DW_MONEY_ONE);
    assert_int_equal(bars(shop, DW_STATE_USED, &value), 1);
    assert_int_equal(value, 12 * DW_MONEY_ONE);
    in_order(shop);
    OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 0);
    assert_int_equal(here(shop, plan), 1);
}

/* Five bars in packs of 3, six bought: the second pack comes with the fourth of them. */
static void test_each_pack_comes_by_itself(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 5, 3, 0);
    dw_money value = 0;
    cut(shop, plan, 3);
    assert_int_equal(here(shop, plan), 0xf); /* bars 2, 3, 4 and B7 */
    cut(shop, plan, 2);
    cut(shop, plan, 4);
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 0);
    cut(shop, plan, 6);
    assert_int_equal(here(shop, plan), 0x3f);
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 1); /* 6 bought, 5 cut */
}

/* Three bars are cut and four bought, since from four on they cost 8.00: 32.00 rather than 36.00.
 * Singly sold, the fourth comes with the last that is cut. */
static void test_break_bars_come_with_the_last(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 3, 1, 4);
    dw_money value = 0;
    cut(shop, plan, 2);
    cut(shop, plan, 3);
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 0);
    cut(shop, plan, 4);
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 1);
    assert_int_equal(value, 8 * DW_MONEY_ONE);
    assert_int_equal(bars(shop, DW_STATE_USED, &value), 3);
    assert_int_equal(value, 24 * DW_MONEY_ONE);
}

/* The same purchase in two deliveries, the first at what was paid. */
static void test_two_deliveries(void **state)
{
    struct shop *shop = *state;
    const dw_money paid[] = {90001, 75000};
    int64_t plan = held(shop, 3, 1, 4);
    dw_money value = 0;
    deliver(shop, plan, 2, paid);
    assert_int_equal(here(shop, plan), 0x7); /* bars 2 and 3, and B7 */
    assert_int_equal(bars(shop, DW_STATE_HELD, &value), 2);
    assert_int_equal(value, 165001);
    struct dw_arrival row = {"3 m", 3, NULL};
    struct dw_delivery delivery = {.n = 1, .rows = &row};
    REFUSED(DW_ERR_STATE, "buys 4 of 3 m and 2 of them came",
            dw_ledger_deliver(shop->ledger, &act, plan, &delivery, NULL, &shop->error));
    deliver(shop, plan, 2, NULL);
    assert_int_equal(here(shop, plan), 0xf);
    assert_int_equal(bars(shop, DW_STATE_HELD, &value), 3);
    assert_int_equal(value, 165001 + 80000);
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 1);
    assert_int_equal(value, 80000);
    struct dw_held_list *list = plan_of(shop, plan);
    assert_int_equal(list->rows[0].n_buys, 1);
    assert_int_equal(list->rows[0].buys[0].bought, 4);
    assert_int_equal(list->rows[0].buys[0].came, 4);
    assert_int_equal(list->rows[0].buys[0].money, 320000);
    struct dw_stock second = one(shop, list->rows[0].bars[1].number); /* bar 2 */
    assert_int_equal(second.value, 90001);
    dw_held_list_free(list);
    cut(shop, plan, 2); /* nothing more comes */
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 1);
    OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    assert_int_equal(here(shop, plan), 0x7);
    deliver(shop, plan, 1, NULL);
    assert_int_equal(here(shop, plan), 0xf);
}

/* What came for a plan that is closed lies on the shelf; nothing more comes for it. */
static void test_closed_plan_gets_nothing(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 2, 1, 0);
    dw_money value = 0;
    deliver(shop, plan, 1, NULL);
    OK(dw_ledger_release(shop->ledger, &act, plan, NULL, &shop->error));
    assert_int_equal(bars(shop, DW_STATE_SHELF, &value), 1);
    struct dw_arrival row = {"3 m", 1, NULL};
    struct dw_delivery delivery = {.n = 1, .rows = &row};
    REFUSED(DW_ERR_STATE, "closed",
            dw_ledger_deliver(shop->ledger, &act, plan, &delivery, NULL, &shop->error));
}

/* Bar 2 is cut from the piece that came for bar 3: bar 3 is then the one that came for bar 2. */
static void test_bars_of_a_delivery_are_alike(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 2, 1, 0);
    dw_money value = 0;
    deliver(shop, plan, 2, NULL);
    struct dw_held_list *list = plan_of(shop, plan);
    struct dw_cut wrong = {.number = list->rows[0].bars[2].number, .n_done = 2, .trim = 10 * MM};
    wrong.n_done = 3;
    REFUSED(DW_ERR_INPUT, "bar 2 has 2 pieces, not 3",
            dw_ledger_cut(shop->ledger, &act, plan, 2, &wrong, NULL, NULL, &shop->error));
    wrong.n_done = 2;
    OK(dw_ledger_cut(shop->ledger, &act, plan, 2, &wrong, NULL, NULL, &shop->error));
    dw_held_list_free(list);
    assert_int_equal(here(shop, plan), 0x7);
    cut(shop, plan, 3);
    assert_int_equal(bars(shop, DW_STATE_USED, &value), 2);
    assert_int_equal(bars(shop, DW_STATE_HELD, &value), 0);
}

/* Bars that are sold as 3 m and are 3010 mm come so, tied and to spare, delivered and with a cut.
 */
static void test_bars_come_as_long_as_planned(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    shop->job->supplies[1].measured = 3010 * MM;
    shop->job->supplies[1].pack = 4;
    shop->plan->layouts[1].count = 2;
    shop->plan->layouts[1].leftover += 10 * MM;
    OK(dw_plan_sum(shop->job, shop->plan, &shop->error));
    int64_t plan = hold(shop, 0);
    for (int way = 0; way < 2; way++) {
        if (way == 0)
            deliver(shop, plan, 4, NULL);
        cut(shop, plan, 2);
        cut(shop, plan, 3);
        struct dw_stock_list *list = NULL;
        struct dw_stock_query query = {.states = 1u << DW_STATE_SHELF, .only_bars = true};
        OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
        assert_int_equal(list->n, 2);
        for (size_t i = 0; i < list->n; i++) {
            assert_int_equal(list->rows[i].length, 3000 * MM);
            assert_int_equal(list->rows[i].measured, 3010 * MM);
        }
        dw_stock_list_free(list);
        in_order(shop);
        for (int undo = 0; undo < 3 && way == 0; undo++)
            OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    }
}

static void test_a_job_is_held_once(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 1, 1, 0), other = 0;
    struct dw_hold how = {.job_digest = 0xfedcba9876543210u};
    add(shop, "B8", 6000 * MM);
    make_plan(shop, "B8", 6000 * MM);
    REFUSED(DW_ERR_EXISTS, "plan 1 holds this job already",
            dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &other, NULL,
                           &shop->error));
    state_is(shop, "B8", DW_STATE_SHELF);
    how.replaces = plan; /* one that takes over is no second one */
    OK(dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &other, NULL, &shop->error));
    cut(shop, other, 1);
    OK(dw_ledger_plan_of(shop->ledger, how.job_digest, &plan, &shop->error));
    assert_int_equal(plan, other);
    cut(shop, other, 2); /* the job is done: it may be made again */
    OK(dw_ledger_plan_of(shop->ledger, how.job_digest, &plan, &shop->error));
    assert_int_equal(plan, 0);
}

/* A delivery of which a bar is cut is not undone on its own: the refusal tells what is in the way
 * and what to do; nothing changed. From the last step back it is. */
static void test_undo_of_a_delivery_that_was_cut(void **state)
{
    struct shop *shop = *state;
    int64_t plan = held(shop, 2, 1, 0), step = 0, undoable = 0;
    dw_money value = 0;
    deliver(shop, plan, 2, NULL);
    OK(dw_ledger_last(shop->ledger, &step, &undoable, &shop->error));
    assert_int_equal(undoable, step);
    cut(shop, plan, 2);
    REFUSED(DW_ERR_STATE,
            "step 4 can't be undone: the last one in force is step 5: bar 2 of plan 1",
            dw_ledger_undo(shop->ledger, &act, step, NULL, NULL, &shop->error));
    REFUSED(DW_ERR_STATE,
            "undo back from there, or book with `dropwise shelf count` and `dropwise shelf scrap` "
            "what is not as the book says",
            dw_ledger_undo(shop->ledger, &act, step, NULL, NULL, &shop->error));
    assert_int_equal(here(shop, plan), 7);
    assert_int_equal(bars(shop, DW_STATE_USED, &value), 1);
    assert_int_equal(bars(shop, DW_STATE_HELD, &value), 1);
    in_order(shop);
    OK(dw_ledger_undo(shop->ledger, &act, 5, NULL, NULL, &shop->error));
    OK(dw_ledger_undo(shop->ledger, &act, step, NULL, NULL, &shop->error));
    assert_int_equal(here(shop, plan), 1);
    assert_int_equal(bars(shop, DW_STATE_HELD, &value), 0);
    in_order(shop);
}

#define SHOP_TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHOP_TEST(test_pack_comes_with_its_first_cut),
        SHOP_TEST(test_each_pack_comes_by_itself),
        SHOP_TEST(test_break_bars_come_with_the_last),
        SHOP_TEST(test_two_deliveries),
        SHOP_TEST(test_closed_plan_gets_nothing),
        SHOP_TEST(test_bars_of_a_delivery_are_alike),
        SHOP_TEST(test_bars_come_as_long_as_planned),
        SHOP_TEST(test_a_job_is_held_once),
        SHOP_TEST(test_undo_of_a_delivery_that_was_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
