/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is done to the file behind the ledger's back is found, and told by the numbers of the piece,
 * the bar, the plan or the step. */
#include "stand.h"

#include <sqlite3.h>

/* B7, 6 m, is held and cut as bar 1 of plan 1, leaves C2; C3 is put there and moved; plan 1 is
 * released. Steps: 1 material, 2 B7, 3 plan 1, 4 bar 1, 5 C3, 6 C3 moved, 7 released, 8 C3 thrown
 * away, 9 C3 found. */
static void live(struct shop *shop)
{
    static const char *const c3[] = {"C3"};
    struct dw_counted row = {.number = "C3"};
    struct dw_count count = {.n = 1, .rows = &row, .bring_back = true};
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    struct dw_hold how = {.document = "{}"};
    int64_t plan = 0;
    OK(dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &plan, NULL, &shop->error));
    OK(dw_ledger_cut(shop->ledger, &act, plan, 1, NULL, "bin", NULL, &shop->error));
    add(shop, "C3", 900 * MM);
    OK(dw_ledger_move(shop->ledger, &act, c3, 1, "rack 2", NULL, &shop->error));
    OK(dw_ledger_release(shop->ledger, &act, plan, NULL, &shop->error));
    OK(dw_ledger_scrap(shop->ledger, &act, c3, 1, NULL, &shop->error));
    OK(dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, &shop->error));
    in_order(shop);
}

/* Does it behind the ledger's back, and undoes it by taking the file as it was. */
static void tamper(struct shop *shop, const char *sql, const char *wanted)
{
    char command[400];
    snprintf(command, sizeof command, "cp %s %s.kept", shop->path, shop->path);
    dw_ledger_close(shop->ledger);
    assert_int_equal(system(command), 0);
    sqlite3 *db = NULL;
    char *why = NULL;
    assert_int_equal(sqlite3_open(shop->path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, &why) != SQLITE_OK)
        print_message("%s: %s\n", sql, why);
    assert_null(why);
    sqlite3_close(db);
    OK(dw_ledger_open(shop->path, DW_LEDGER_WRITE, 0, &shop->ledger, &shop->error));
    struct dw_report report = {0};
    assert_int_equal(dw_ledger_check(shop->ledger, &report, &shop->error), DW_ERR_CHECK);
    bool found = false;
    for (size_t i = 0; i < report.n_remarks; i++)
        found = found || strstr(report.remarks[i].what.text, wanted);
    for (size_t i = 0; !found && i < report.n_remarks; i++)
        print_message("%s\n  said: %s\n", sql, report.remarks[i].what.text);
    assert_true(found);
    dw_report_free(&report);
    dw_ledger_close(shop->ledger);
    snprintf(command, sizeof command, "rm -f %s-*; mv %s.kept %s", shop->path, shop->path,
             shop->path);
    assert_int_equal(system(command), 0);
    OK(dw_ledger_open(shop->path, DW_LEDGER_WRITE, 0, &shop->ledger, &shop->error));
}

#define FREE(table) "DROP TRIGGER " table "_no_update; DROP TRIGGER " table "_no_delete;"
#define OFF         "PRAGMA foreign_keys = OFF;"
#define AFTERWARDS  ", by Ines, 2026-03-01 08:00 UTC: what it wrote was changed afterwards"

/* State and history disagree: told of the piece, the bar, the material. */
static void test_faults_by_number(void **state)
{
    struct shop *shop = *state;
    live(shop);
    static const struct {
        const char *sql;
        const char *wanted;
    } rows[] = {
        {"DROP TRIGGER pieces_moved; UPDATE pieces SET state = 'lost' WHERE number = 'C3'",
         "piece C3: it is lost, but its history ends with shelf"},
        {"DROP TRIGGER pieces_moved; UPDATE pieces SET measured = 899500000 WHERE number = 'C3'",
         "piece C3: it measures 899.5 mm, but its history ends with 900 mm"},
        {"DROP TRIGGER pieces_moved; UPDATE pieces SET place = NULL WHERE number = 'C3'",
         "piece C3: its place is not said, but its history ends with \"rack 2\""},
        {"DROP TRIGGER pieces_moved;"
         "UPDATE pieces SET state = 'held', plan = 1 WHERE number = 'C3'",
         "piece C3: it is held by plan 1, but its history ends with no plan"},
        {"UPDATE pieces SET state = 'held', plan = 1 WHERE number = 'C3'",
         "piece C3: it is held by plan 1, which is not open"},
        {FREE("moves") "DELETE FROM moves WHERE piece = 3", "piece C3: it has no history"},
        {FREE("moves") "UPDATE moves SET from_place = 'attic' WHERE step = 6",
         "piece C3: what step 6 moved does not begin where the move before ended"},
        {"UPDATE pieces SET state = 'used' WHERE number = 'C3'",
         "piece C3: it is used; cuts of it: 0, times found again: 0"},
        {FREE("cuts") "UPDATE cuts SET chips = chips + 1",
         "plan 1, bar 1: what came off piece B7 is 6000.000001 mm, but it was 6000 mm long"},
        {FREE("moves") "UPDATE moves SET to_state = 'lost' WHERE step = 4 AND piece = 1",
         "plan 1, bar 1: no move says that piece B7 was cut"},
        /* by hand: 6000 - 2 x 5 squared - 2 x (1200 + 2) = 3586 */
        {FREE("cuts") "UPDATE cuts SET kept = kept - 1000000, chips = chips + 1000000",
         "plan 1, bar 1: 3585 mm of piece B7 were kept, but its offcuts are 3586 mm long"},
        {FREE("plan_ends") "DELETE FROM plan_ends;" FREE("cuts") "DELETE FROM cuts",
         "plan 1, bar 1: piece B7 is neither held for it nor cut"},
        {"DROP INDEX piece_numbers; DROP TRIGGER pieces_fixed;"
         "UPDATE pieces SET number = 'C3' WHERE number = 'C2'",
         "piece C3: 2 pieces have this number"},
        {"DROP TRIGGER materials_changed; UPDATE materials SET wall = 2000000",
         "material S48: it is not as its history says"},
        {OFF FREE("steps") "DELETE FROM steps WHERE id = 2",
         "the file is damaged: row 1 of pieces names a row of steps that is not there"},
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++)
        tamper(shop, rows[i].sql, rows[i].wanted);
}

/* Changed so that state and history agree: the seals tell, by the step. One row for each thing that
 * a seal covers. */
static void test_seals(void **state)
{
    struct shop *shop = *state;
    live(shop);
    static const struct {
        const char *sql;
        const char *wanted;
    } rows[] = {
        {FREE("steps") "UPDATE steps SET at = '2026-03-01T08:00:01Z' WHERE id = 6",
         "step 6: C3 moved, by Ines, 2026-03-01 08:00 UTC: what it wrote was changed afterwards"},
        {FREE("steps") "UPDATE steps SET who = NULL WHERE id = 5", "step 5: C3 added, no name"},
        {FREE("steps") "UPDATE steps SET plan = NULL WHERE id = 7", "step 7: plan 0 released"},
        {FREE("material_changes") "DROP TRIGGER materials_changed;"
                                  "UPDATE materials SET wall = 2; UPDATE material_changes SET wall "
                                  "= 2",
         "step 1: material S48 described" AFTERWARDS},
        {FREE("plans") "UPDATE plans SET document = '{\"x\":1}'", "step 3: plan 1 held" AFTERWARDS},
        {FREE("plan_bars") "UPDATE plan_bars SET price = price + 1 WHERE bar = 2",
         "step 3: plan 1 held" AFTERWARDS},
        {FREE("plan_pieces") "UPDATE plan_pieces SET label = 'arm' WHERE layout = 1",
         "step 3: plan 1 held" AFTERWARDS},
        {FREE("plan_ends") "UPDATE plan_ends SET why = 'replaced'",
         "step 7: plan 1 released" AFTERWARDS},
        {"DROP TRIGGER pieces_fixed; UPDATE pieces SET value = 0 WHERE number = 'B7'",
         "step 2: B7 added" AFTERWARDS},
        {"DROP TRIGGER pieces_fixed; UPDATE pieces SET owner = 'Bo' WHERE number = 'C2'",
         "step 4: bar 1 of plan 1 cut" AFTERWARDS},
        {"DROP TRIGGER pieces_fixed; UPDATE pieces SET length = 901000000 WHERE number = 'C3'",
         "step 5: C3 added" AFTERWARDS},
        {"DROP TRIGGER pieces_fixed; UPDATE pieces SET remark = '' WHERE number = 'C3'",
         "step 5: C3 added" AFTERWARDS},
        {FREE("cuts") "UPDATE cuts SET parts = parts - 1, posts = posts + 1",
         "step 4: bar 1 of plan 1 cut" AFTERWARDS},
        {FREE("finds") "UPDATE finds SET length = length + 1", "step 9: C3 counted" AFTERWARDS},
        {"INSERT INTO restores VALUES (6, 1, 2, 3, 4)", "step 6: C3 moved" AFTERWARDS},
        {FREE("moves") "DROP TRIGGER pieces_moved; UPDATE moves SET to_place = 'attic' WHERE"
                       " to_place = 'rack 2'; UPDATE moves SET from_place = 'attic' WHERE"
                       " from_place = 'rack 2'; UPDATE pieces SET place = 'attic' WHERE id = 3",
         "step 6: C3 moved" AFTERWARDS},
        {FREE("seals") "DELETE FROM seals WHERE step = 9", "step 9: C3 counted, by Ines"},
        {FREE("seals") "DELETE FROM seals WHERE step = 9", "UTC: it has no seal"},
        {FREE("seals") "DELETE FROM seals WHERE step = 5", "steps up to 6: what it wrote"},
        {FREE("seals") "UPDATE seals SET hash = zeroblob(32) WHERE step = 5",
         "step 6: C3 moved" AFTERWARDS},
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++)
        tamper(shop, rows[i].sql, rows[i].wanted);
}

/* A text of one row can't be taken for the texts of two: "ab" + "c" is not "a" + "bc". */
static void test_seals_keep_columns_apart(void **state)
{
    struct shop *shop = *state;
    struct dw_stock stock = bar("B7", 6000 * MM);
    stock.owner = "ab";
    stock.mark = "c";
    OK(dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    tamper(shop, "DROP TRIGGER pieces_fixed; UPDATE pieces SET owner = 'a', mark = 'bc'",
           "step 2: B7 added" AFTERWARDS);
    tamper(shop, "DROP TRIGGER pieces_fixed; UPDATE pieces SET owner = 'abc', mark = NULL",
           "step 2: B7 added" AFTERWARDS);
}

#define CHECK(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        CHECK(test_faults_by_number),
        CHECK(test_seals),
        CHECK(test_seals_keep_columns_apart),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
