/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The life of a piece on the shelf: in, held, cut, undone; and that lengths balance after each. */
#include "stand.h"

static void test_adds_and_lists(void **state)
{
    struct shop *shop = *state;
    add(shop, NULL, 6000 * MM);
    add(shop, "left of door", 812 * MM);
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.material = "S48"};
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    assert_int_equal(list->n, 2);
    assert_string_equal(list->rows[0].number, "left of door"); /* shortest first */
    assert_string_equal(list->rows[1].number, "B1");
    assert_string_equal(list->rows[1].place, "rack 1");
    dw_stock_list_free(list);
    query.at_least = 812 * MM + 1;
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    assert_int_equal(list->n, 1);
    dw_stock_list_free(list);
    struct dw_stock stock = bar("B1", 1 * MM);
    REFUSED(DW_ERR_EXISTS, "B1", dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    stock = bar("B9", 1 * MM);
    stock.material = "brass";
    REFUSED(DW_ERR_NOTFOUND, "brass",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    stock = bar("B9", 0);
    REFUSED(DW_ERR_RANGE, "length",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    stock = bar("B9", DW_LENGTH_MAX + 1);
    REFUSED(DW_ERR_RANGE, "length",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    stock = bar("B9", 1 * MM);
    stock.measured = DW_LENGTH_MAX + 1;
    REFUSED(DW_ERR_RANGE, "length",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    stock = bar("B9", 1 * MM);
    stock.date = "2026-02-30x";
    REFUSED(DW_ERR_INPUT, "no day",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
}

/* All or none: the second of two is refused, the first is not there. */
static void test_add_is_whole(void **state)
{
    struct shop *shop = *state;
    struct dw_stock two[] = {bar("X1", 100 * MM), bar("X1", 200 * MM)};
    REFUSED(DW_ERR_EXISTS, "X1", dw_ledger_add(shop->ledger, &act, two, 2, NULL, &shop->error));
    struct dw_balance balance;
    OK(dw_ledger_balance(shop->ledger, &balance, &shop->error));
    assert_int_equal(balance.in, 0);
    assert_int_equal(balance.n_shelf, 0);
}

static void test_hold_and_cut(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    struct dw_layout *layout = &shop->plan->layouts[0], right = *layout;
    struct dw_hold of_another = {0};
    int64_t none = 0;
    layout->supply = shop->job->n_supplies; /* the first that the job has not */
    REFUSED(DW_ERR_INPUT, "does not belong to this job",
            dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &of_another, &none, NULL,
                           &shop->error));
    *layout = right;
    layout->count = 0;
    REFUSED(DW_ERR_INPUT, "does not belong to this job",
            dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &of_another, &none, NULL,
                           &shop->error));
    *layout = right;
    int64_t plan = hold(shop, 0);
    state_is(shop, "B7", DW_STATE_HELD);
    const char *numbers[] = {"B7"};
    REFUSED(DW_ERR_HELD, "held by plan 1 of trio stand",
            dw_ledger_scrap(shop->ledger, &act, numbers, 1, NULL, &shop->error));
    int64_t other = 0;
    struct dw_hold how = {0};
    REFUSED(DW_ERR_HELD, "piece B7 is held by plan 1 of trio stand",
            dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &other, NULL,
                           &shop->error));
    assert_int_equal(other, 0);
    OK(dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, "bin 3", NULL, &shop->error));
    state_is(shop, "B7", DW_STATE_USED);
    REFUSED(DW_ERR_STATE, "cut already",
            dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, NULL, NULL, &shop->error));
    REFUSED(DW_ERR_NOTFOUND, "no bar 3",
            dw_ledger_cut(shop->ledger, &act, plan, 3, NULL, NULL, NULL, &shop->error));
    OK(dw_ledger_cut(shop->ledger, &act, plan, 2, NULL, NULL, NULL, &shop->error));
    /* 6000 = 10 trim + 2400 parts + 4 chips + 3586 kept; 3000 = 10 + 2400 + 4 + 586 */
    struct dw_balance b;
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.in, 9000 * MM);
    assert_int_equal(b.parts, 4800 * MM);
    assert_int_equal(b.trim, 20 * MM);
    assert_int_equal(b.chips, 8 * MM);
    assert_int_equal(b.on_shelf, (3586 + 586) * MM);
    assert_int_equal(b.kept, b.on_shelf);
    assert_int_equal(b.held, 0);
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.only_offcuts = true};
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    assert_int_equal(list->n, 2);
    assert_string_equal(list->rows[1].from, "B7");
    assert_string_equal(list->rows[1].job, "trio stand");
    assert_string_equal(list->rows[1].place, "bin 3");
    assert_int_equal(list->rows[1].ends[0], DW_END_SAWN);
    assert_int_equal(list->rows[1].ends[1], DW_END_SAWN); /* its mill end was squared */
    assert_int_equal(list->rows[1].value, 71720);         /* 2.00 a metre: 3.586 m = 7.172 */
    struct dw_history *history = NULL;
    OK(dw_ledger_history(shop->ledger, list->rows[1].number, 0, &history, &shop->error));
    assert_int_equal(history->n, 4); /* add, hold, cut of the bar; the offcut's beginning */
    assert_string_equal(history->rows[0].what, "add");
    assert_string_equal(history->rows[0].number, "B7");
    assert_string_equal(history->rows[1].what, "hold");
    assert_true(history->rows[2].created);
    dw_history_free(history);
    dw_stock_list_free(list);
}

static void test_undo_goes_back(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    int64_t plan = hold(shop, 0), step = 0;
    struct dw_deed undone = {0};
    OK(dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, NULL, &step, &shop->error));
    in_order(shop);
    REFUSED(DW_ERR_STATE, "last one in force",
            dw_ledger_undo(shop->ledger, &act, 1, &undone, NULL, &shop->error));
    OK(dw_ledger_undo(shop->ledger, &act, step, &undone, NULL, &shop->error));
    assert_int_equal(undone.id, step);
    state_is(shop, "B7", DW_STATE_HELD);
    in_order(shop);
    OK(dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, NULL, NULL, &shop->error));
    for (int i = 0; i < 3; i++) {
        OK(dw_ledger_undo(shop->ledger, &act, 0, &undone, NULL, &shop->error));
        in_order(shop);
    }
    struct dw_balance b;
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.in, 0);
    assert_int_equal(b.n_shelf + b.n_held, 0);
    REFUSED(DW_ERR_STATE, "no step",
            dw_ledger_undo(shop->ledger, &act, 0, &undone, NULL, &shop->error));
    REFUSED(DW_ERR_NOTFOUND, "no plan 1",
            dw_ledger_release(shop->ledger, &act, plan, NULL, &shop->error));
    add(shop, "B7", 100 * MM); /* its number is free again */
}

static void test_release_and_replace(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    add(shop, "B8", 5000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    int64_t first = hold(shop, 0);
    make_plan(shop, "B8", 5000 * MM);
    int64_t second = hold(shop, first);
    state_is(shop, "B7", DW_STATE_SHELF);
    state_is(shop, "B8", DW_STATE_HELD);
    REFUSED(DW_ERR_STATE, "closed",
            dw_ledger_cut(shop->ledger, &act, first, 1, NULL, NULL, NULL, &shop->error));
    size_t n_cut = 0; /* nor all of its bars, whatever there is of them */
    REFUSED(
        DW_ERR_STATE, "plan 1 is closed: it was released or replaced",
        dw_ledger_cut_bars(shop->ledger, &act, first, NULL, 0, NULL, &n_cut, NULL, &shop->error));
    REFUSED(DW_ERR_NOTFOUND, "there is no plan 9 in the ledger",
            dw_ledger_cut_bars(shop->ledger, &act, 9, NULL, 0, NULL, &n_cut, NULL, &shop->error));
    OK(dw_ledger_release(shop->ledger, &act, second, NULL, &shop->error));
    state_is(shop, "B8", DW_STATE_SHELF);
    struct dw_held_list *plans = NULL;
    OK(dw_ledger_plans(shop->ledger, true, &plans, &shop->error));
    assert_int_equal(plans->n, 0);
    dw_held_list_free(plans);
    OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    state_is(shop, "B8", DW_STATE_HELD);
    OK(dw_ledger_plan(shop->ledger, second, &plans, &shop->error));
    assert_int_equal(plans->rows[0].replaces, first);
    assert_true(plans->rows[0].job_digest == 0xfedcba9876543210u);
    assert_int_equal(plans->rows[0].n_bars, 2);
    assert_string_equal(plans->rows[0].bars[0].number, "B8");
    assert_null(plans->rows[0].bars[1].number);
    assert_int_equal(plans->rows[0].bars[0].pieces[0].count, 2);
    dw_held_list_free(plans);
}

static void test_stale_plan_is_refused(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 5999 * MM);
    int64_t id = 0;
    struct dw_hold how = {0};
    REFUSED(
        DW_ERR_STATE, "plan again",
        dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &id, NULL, &shop->error));
    make_plan(shop, "nowhere", 6000 * MM);
    REFUSED(
        DW_ERR_NOTFOUND, "nowhere",
        dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &id, NULL, &shop->error));
    make_plan(shop, "B7", 6000 * MM);
    shop->plan->layouts[0].count = 2; /* one piece can't be two bars */
    REFUSED(
        DW_ERR_HELD, "B7",
        dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &id, NULL, &shop->error));
    state_is(shop, "B7", DW_STATE_SHELF);
}

/* The second leg came out as 700 mm: the bar gives one leg, two offcuts, and chips. */
static void test_miscut_books_what_happened(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    int64_t plan = hold(shop, 0);
    struct dw_off loose[] = {
        {.length = 700 * MM, .keep = true, .far = DW_END_SAWN, .remark = "spoiled leg"},
        {.length = 4086 * MM, .keep = true, .far = DW_END_SAWN}};
    struct dw_cut cut = {.n_done = 1, .trim = 10 * MM, .n_loose = 2, .loose = loose};
    loose[1].length = 4200 * MM;
    REFUSED(DW_ERR_INPUT, "shorter than",
            dw_ledger_cut(shop->ledger, &act, plan, 1, &cut, NULL, NULL, &shop->error));
    loose[1].length = 4086 * MM;
    cut.n_done = 3;
    REFUSED(DW_ERR_INPUT, "has 2 pieces",
            dw_ledger_cut(shop->ledger, &act, plan, 1, &cut, NULL, NULL, &shop->error));
    cut.n_done = 1;
    OK(dw_ledger_cut(shop->ledger, &act, plan, 1, &cut, NULL, NULL, &shop->error));
    struct dw_balance b;
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.parts, 1200 * MM);
    assert_int_equal(b.chips, 4 * MM);
    assert_int_equal(b.kept, 4786 * MM);
}

/* The new bar is measured 2990; then the wrong bar is taken for it. */
static void test_measure_and_wrong_bar(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    add(shop, "B8", 2500 * MM);
    make_plan(shop, "B7", 6000 * MM);
    int64_t plan = hold(shop, 0), step = 0;
    OK(dw_ledger_measure(shop->ledger, &act, plan, 2, 2990 * MM, &step, &shop->error));
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.step = step};
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    assert_int_equal(list->n, 1);
    assert_int_equal(list->rows[0].measured, 2990 * MM);
    assert_int_equal(list->rows[0].plan, plan);
    dw_stock_list_free(list);
    OK(dw_ledger_measure(shop->ledger, &act, plan, 1, 5990 * MM, &step, &shop->error));
    REFUSED(DW_ERR_STATE, "not as long as planned",
            dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, NULL, NULL, &shop->error));
    struct dw_off rest = {.length = 86 * MM};
    struct dw_cut cut = {
        .number = "B8", .n_done = 2, .trim = 10 * MM, .n_loose = 1, .loose = &rest};
    OK(dw_ledger_cut(shop->ledger, &act, plan, 2, &cut, NULL, NULL, &shop->error));
    state_is(shop, "B8", DW_STATE_USED);
    struct dw_balance b;
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.corrected, -10 * MM);
    assert_int_equal(b.in, (6000 + 2500 + 2990) * MM);
    assert_int_equal(b.scrap, 86 * MM);
}

static void test_count_books_differences(void **state)
{
    struct shop *shop = *state;
    add(shop, "A", 1000 * MM);
    add(shop, "B", 2000 * MM);
    add(shop, "C", 3000 * MM);
    struct dw_counted rows[] = {{"A", 1000 * MM, "rack 1", 0}, {"B", 1990 * MM, "rack 2", 0}};
    struct dw_count count = {.n = 2, .rows = rows, .complete = true, .dry = true};
    struct dw_stock_list *list = NULL;
    int64_t step = 0;
    OK(dw_ledger_count(shop->ledger, &act, &count, &list, &step, &shop->error));
    assert_int_equal(list->n, 2); /* A is as booked */
    assert_int_equal(step, 0);
    dw_stock_list_free(list);
    state_is(shop, "C", DW_STATE_SHELF); /* nothing was written */
    count.dry = false;
    OK(dw_ledger_count(shop->ledger, &act, &count, &list, &step, &shop->error));
    dw_stock_list_free(list);
    state_is(shop, "C", DW_STATE_LOST);
    struct dw_balance b;
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.corrected, -10 * MM);
    assert_int_equal(b.lost, 3000 * MM);
    struct dw_counted found = {"C", 0, NULL, 0};
    count = (struct dw_count){.n = 1, .rows = &found};
    OK(dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error));
    state_is(shop, "C", DW_STATE_SHELF);
    const char *numbers[] = {"C"};
    OK(dw_ledger_scrap(shop->ledger, &act, numbers, 1, NULL, &shop->error));
    OK(dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error));
    state_is(shop, "C", DW_STATE_SCRAPPED);
}

static void test_count_spares_what_is_held(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    hold(shop, 0);
    struct dw_count count = {.complete = true};
    REFUSED(DW_ERR_HELD, "plan 1 holds it",
            dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error));
    struct dw_counted row = {"B7", 5000 * MM, NULL, 0};
    count = (struct dw_count){.n = 1, .rows = &row};
    REFUSED(DW_ERR_HELD, "miscut",
            dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error));
}

static void test_text_is_only_text(void **state)
{
    struct shop *shop = *state;
    static const char evil[] = "x'); DROP TABLE pieces; --\" \\ %s ?1 $a @b [c] `d`";
    struct dw_act other = {.when = act.when, .who = evil, .note = evil};
    struct dw_material material = {
        .id = evil, .name = evil, .alloy = evil, .finish = evil, .od = 10, .wall = 2};
    OK(dw_ledger_material_put(shop->ledger, &other, &material, &shop->error));
    struct dw_stock stock = {.number = evil,
                             .material = evil,
                             .length = 5 * MM,
                             .place = evil,
                             .owner = evil,
                             .mark = evil,
                             .job = evil,
                             .remark = evil};
    OK(dw_ledger_add(shop->ledger, &other, &stock, 1, NULL, &shop->error));
    const char *numbers[] = {evil};
    OK(dw_ledger_move(shop->ledger, &other, numbers, 1, evil, NULL, &shop->error));
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.number = evil, .material = evil, .place = evil, .owner = evil};
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    assert_int_equal(list->n, 1);
    assert_string_equal(list->rows[0].remark, evil);
    dw_stock_list_free(list);
    stock.number = "two\nlines";
    REFUSED(DW_ERR_INPUT, "control character at place 4",
            dw_ledger_add(shop->ledger, &other, &stock, 1, NULL, &shop->error));
    stock.number = "\xff";
    REFUSED(DW_ERR_INPUT, "UTF-8",
            dw_ledger_add(shop->ledger, &other, &stock, 1, NULL, &shop->error));
}

static void test_materials_agree(void **state)
{
    struct shop *shop = *state;
    struct dw_material material = {.id = "S48", .wall = 4000000};
    REFUSED(DW_ERR_STATE, "another wall",
            dw_ledger_material_put(shop->ledger, &act, &material, &shop->error));
    struct dw_material hoop = {.id = "hoop", .od = 25000000, .radius = 600 * MM};
    OK(dw_ledger_material_put(shop->ledger, &act, &hoop, &shop->error));
    hoop.radius = 900 * MM;
    REFUSED(DW_ERR_STATE, "material hoop has another radius",
            dw_ledger_material_put(shop->ledger, &act, &hoop, &shop->error));
    hoop.radius = 0; /* not said: as it is there */
    OK(dw_ledger_material_put(shop->ledger, &act, &hoop, &shop->error));
    material = (struct dw_material){.id = "S48", .alloy = "S235", .od = 48300000};
    OK(dw_ledger_material_put(shop->ledger, &act, &material, &shop->error));
    struct dw_material_list *list = NULL;
    OK(dw_ledger_materials(shop->ledger, &list, &shop->error));
    assert_int_equal(list->n, 2);
    assert_string_equal(list->rows[0].alloy, "S235");
    assert_int_equal(list->rows[0].wall, 3200000);
    assert_int_equal(list->rows[1].radius, 600 * MM);
    dw_material_list_free(list);
    material = (struct dw_material){.id = "bad", .od = 10, .wall = 6};
    REFUSED(DW_ERR_INPUT, "half the diameter",
            dw_ledger_material_put(shop->ledger, &act, &material, &shop->error));
}

static void test_rules(void **state)
{
    struct shop *shop = *state;
    struct dw_shelf_rules rules;
    OK(dw_ledger_rules(shop->ledger, &rules, &shop->error));
    assert_int_equal(rules.max_offcuts, -1);
    assert_int_equal(rules.book_share_ppm, 1000000);
    assert_string_equal(rules.currency, "XXX");
    rules.max_offcuts = 40;
    memcpy(rules.currency, "EUR", 4);
    OK(dw_ledger_rules_set(shop->ledger, NULL, &rules, &shop->error));
    add(shop, "B7", 6000 * MM);
    memcpy(rules.currency, "USD", 4);
    REFUSED(DW_ERR_STATE, "EUR", dw_ledger_rules_set(shop->ledger, NULL, &rules, &shop->error));
    rules.book_share_ppm = 1000001;
    REFUSED(DW_ERR_RANGE, "book_share_ppm",
            dw_ledger_rules_set(shop->ledger, NULL, &rules, &shop->error));
    OK(dw_ledger_rules(shop->ledger, &rules, &shop->error));
    assert_int_equal(rules.max_offcuts, 40);
}

static void test_backup_is_a_ledger(void **state)
{
    struct shop *shop = *state;
    add(shop, "B7", 6000 * MM);
    char path[128];
    snprintf(path, sizeof path, "%s/copy.db", shop->folder);
    OK(dw_ledger_backup(shop->ledger, path, &shop->error));
    REFUSED(DW_ERR_EXISTS, "exists", dw_ledger_backup(shop->ledger, path, &shop->error));
    struct dw_ledger *copy = NULL;
    OK(dw_ledger_open(path, DW_LEDGER_WRITE, 0, &copy, &shop->error));
    struct dw_balance b;
    OK(dw_ledger_balance(copy, &b, &shop->error));
    assert_int_equal(b.in, 6000 * MM);
    struct dw_report report = {0};
    OK(dw_ledger_check(copy, &report, &shop->error));
    dw_ledger_close(copy);
    snprintf(path, sizeof path, "%s/no/such.db", shop->folder);
    REFUSED(DW_ERR_NOTFOUND, "can't write", dw_ledger_backup(shop->ledger, path, &shop->error));
}

#define LIFE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        LIFE(test_adds_and_lists),
        LIFE(test_add_is_whole),
        LIFE(test_hold_and_cut),
        LIFE(test_undo_goes_back),
        LIFE(test_release_and_replace),
        LIFE(test_stale_plan_is_refused),
        LIFE(test_miscut_books_what_happened),
        LIFE(test_measure_and_wrong_bar),
        LIFE(test_count_books_differences),
        LIFE(test_count_spares_what_is_held),
        LIFE(test_text_is_only_text),
        LIFE(test_materials_agree),
        LIFE(test_rules),
        LIFE(test_backup_is_a_ledger),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
