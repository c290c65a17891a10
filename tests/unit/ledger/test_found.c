/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A piece that is gone by the book and lies there all the same. */
#include "stand.h"

#include "ledger/ledger.h"

static dw_err count_one(struct shop *shop, const char *number, dw_length length, bool bring_back,
                        struct dw_report *report)
{
    struct dw_counted row = {.number = number, .length = length, .line = 7};
    struct dw_count count = {
        .n = 1, .rows = &row, .bring_back = bring_back, .file = "count.csv", .report = report};
    return dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error);
}

static void said(struct dw_report *report, const char *text)
{
    assert_int_equal(report->n_remarks, 1);
    assert_int_equal(report->remarks[0].severity, DW_DOUBT);
    if (!strstr(report->remarks[0].what.text, text))
        print_message("said: %s\n", report->remarks[0].what.text);
    assert_non_null(strstr(report->remarks[0].what.text, text));
    dw_report_free(report);
}

/* By hand, in mm: of B7, 6000 long, came 2400 parts, 10 squared, 4 chips, 3586 kept; 5990 of it are
 * found. Then the book had 6000 too little, and 10 too much of those. */
static void test_used_piece_returns(void **state)
{
    struct shop *shop = *state;
    struct dw_report report = {0};
    struct dw_balance b;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    int64_t plan = hold(shop, 0);
    OK(dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, NULL, NULL, &shop->error));
    OK(count_one(shop, "B7", 5990 * MM, true, &report));
    said(&report, "piece B7 was gone by the book (step 4: bar 1 of plan 1 cut, by Ines, 2026-03-01 "
                  "08:00 UTC); what came off it stays booked");
    struct dw_stock back = one(shop, "B7");
    assert_int_equal(back.state, DW_STATE_SHELF);
    assert_int_equal(dw_stock_actual(&back), 5990 * MM);
    in_order(shop);
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.in, 6000 * MM);
    assert_int_equal(b.corrected, 5990 * MM);
    assert_int_equal(b.parts, 2400 * MM);
    assert_int_equal(b.on_shelf, (3586 + 5990) * MM);
    assert_int_equal(b.in + b.corrected, b.parts + b.trim + b.chips + b.on_shelf);
    /* it is used again: as bar 1 of another plan, with a cut of its own */
    make_plan(shop, "B7", 6000 * MM);
    shop->job->supplies[0].measured = 5990 * MM;
    shop->plan->layouts[0].leftover -= 10 * MM;
    int64_t again = hold(shop, 0);
    OK(dw_ledger_cut(shop->ledger, &act, again, 1, NULL, NULL, NULL, &shop->error));
    in_order(shop);
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.parts, 4800 * MM);
    assert_int_equal(b.kept, (3586 + 3576) * MM);
    assert_int_equal(b.corrected, 5990 * MM);
    /* all of it goes back, step by step */
    for (int i = 0; i < 3; i++) {
        OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
        in_order(shop);
    }
    state_is(shop, "B7", DW_STATE_USED);
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.corrected, 0);
}

/* What was thrown away and lies there is on the shelf again; nothing was corrected. */
static void test_scrapped_piece_returns(void **state)
{
    struct shop *shop = *state;
    static const char *const numbers[] = {"C1"};
    struct dw_report report = {0};
    struct dw_balance b;
    add(shop, "C1", 900 * MM);
    OK(dw_ledger_scrap(shop->ledger, &act, numbers, 1, NULL, &shop->error));
    OK(count_one(shop, "C1", 0, true, &report));
    said(&report,
         "piece C1 was gone by the book (step 3: C1 thrown away, by Ines, 2026-03-01 08:00 "
         "UTC); it is on the shelf again");
    state_is(shop, "C1", DW_STATE_SHELF);
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.corrected, 0);
    assert_int_equal(b.on_shelf, 900 * MM);
    assert_int_equal(b.scrap, 0);
}

/* A row of a table is a doubt with its place; the rest of the table is booked. */
static void test_table_lists_what_is_gone(void **state)
{
    struct shop *shop = *state;
    static const char *const gone[] = {"C1"};
    struct dw_report report = {0};
    add(shop, "C1", 900 * MM);
    add(shop, "C2", 800 * MM);
    add(shop, "C3", 700 * MM);
    OK(dw_ledger_scrap(shop->ledger, &act, gone, 1, NULL, &shop->error));
    struct dw_counted rows[] = {{.number = "C1", .length = 890 * MM, .line = 2},
                                {.number = "C2", .length = 795 * MM, .line = 3}};
    struct dw_count count = {
        .n = 2, .rows = rows, .complete = true, .file = "count.csv", .report = &report};
    OK(dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error));
    assert_int_equal(report.remarks[0].what.line, 2);
    assert_string_equal(report.remarks[0].what.file, "count.csv");
    said(&report, "piece C1 was seen, but is gone by the book (step 5: C1 thrown away, by Ines, "
                  "2026-03-01 08:00 UTC); if it lies there, count it by itself: `dropwise shelf "
                  "count C1 LENGTH`");
    state_is(shop, "C1", DW_STATE_SCRAPPED);
    struct dw_stock two = one(shop, "C2");
    assert_int_equal(dw_stock_actual(&two), 795 * MM);
    state_is(shop, "C3", DW_STATE_LOST);
    OK(count_one(shop, "C1", 0, false, NULL)); /* nobody wants the doubt */
    state_is(shop, "C1", DW_STATE_SCRAPPED);
}

/* The tables themselves refuse a return without a find, and a find of what is not gone. */
static void test_no_return_without_a_find(void **state)
{
    struct shop *shop = *state;
    static const char *const numbers[] = {"C1"};
    add(shop, "C1", 900 * MM);
    add(shop, "C2", 900 * MM);
    OK(dw_ledger_scrap(shop->ledger, &act, numbers, 1, NULL, &shop->error));
    static const char *const forbidden[] = {
        "UPDATE pieces SET state = 'shelf' WHERE number = 'C1'",
        "INSERT INTO finds(step, piece, was, length) VALUES (4, 2, 'scrapped', 900000000)",
        "INSERT INTO finds(step, piece, was, length) VALUES (4, 1, 'used', 900000000)",
        "INSERT INTO finds(step, piece, was, length) VALUES (4, 1, 'scrapped', 900000001)",
        "INSERT INTO finds(step, piece, was, length) VALUES (3, 1, 'scrapped', 900000000);"
        "UPDATE pieces SET state = 'shelf' WHERE number = 'C1'",
        "INSERT INTO finds(step, piece, was, length) VALUES (4, 1, 'scrapped', 900000000);"
        "UPDATE pieces SET state = 'lost' WHERE number = 'C1'",
    };
    for (size_t i = 0; i < DW_COUNT(forbidden); i++) {
        assert_int_equal(sqlite3_exec(shop->ledger->db, "BEGIN", NULL, NULL, NULL), SQLITE_OK);
        if (sqlite3_exec(shop->ledger->db, forbidden[i], NULL, NULL, NULL) == SQLITE_OK)
            fail_msg("allowed: %s", forbidden[i]);
        sqlite3_exec(shop->ledger->db, "ROLLBACK", NULL, NULL, NULL);
    }
}

#define FOUND(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        FOUND(test_used_piece_returns),
        FOUND(test_scrapped_piece_returns),
        FOUND(test_table_lists_what_is_gone),
        FOUND(test_no_return_without_a_find),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
