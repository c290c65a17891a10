/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that are no shelf, or can't be written: a clear refusal, and not a byte changed. */
#include "ledger/ledger.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static const struct dw_act act = {.when = "2026-03-01T08:00:00Z"};
static const struct dw_material steel = {.id = "S48", .od = 48300000, .wall = 3200000};

struct place {
    char folder[64];
    char path[96];
};

static int setup(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    snprintf(place->folder, sizeof place->folder, "/tmp/dw_file_XXXXXX");
    assert_non_null(mkdtemp(place->folder));
    assert_int_equal(chmod(place->folder, 0755), 0);
    snprintf(place->path, sizeof place->path, "%s/shelf.db", place->folder);
    *state = place;
    return 0;
}

static int teardown(void **state)
{
    struct place *place = *state;
    char command[128];
    snprintf(command, sizeof command, "rm -rf %s", place->folder);
    assert_int_equal(system(command), 0);
    free(place);
    return 0;
}

static struct dw_ledger *open_ledger(const char *path, enum dw_ledger_mode mode)
{
    struct dw_error error = {0};
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_ledger_open(path, mode, 1000, &ledger, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    return ledger;
}

static dw_err add(struct dw_ledger *ledger, struct dw_error *error)
{
    struct dw_stock stock = {
        .material = "S48", .length = DW_NM_PER_MM * 700, .remark = "a remark to fill pages with"};
    return dw_ledger_add(ledger, &act, &stock, 1, NULL, error);
}

static void make_ledger(const char *path, int pieces)
{
    struct dw_ledger *ledger = open_ledger(path, DW_LEDGER_CREATE);
    assert_int_equal(dw_ledger_material_put(ledger, &act, &steel, NULL), DW_OK);
    for (int i = 0; i < pieces; i++)
        assert_int_equal(add(ledger, NULL), DW_OK);
    dw_ledger_close(ledger);
}

static int64_t n_pieces(const char *path)
{
    struct dw_ledger *ledger = open_ledger(path, DW_LEDGER_WRITE);
    struct dw_report report = {0};
    assert_int_equal(dw_ledger_check(ledger, &report, NULL), DW_OK);
    struct dw_balance balance;
    assert_int_equal(dw_ledger_balance(ledger, &balance, NULL), DW_OK);
    dw_ledger_close(ledger);
    return balance.n_shelf;
}

static void write_bytes(const char *path, const char *bytes, size_t n)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n, file), n);
    assert_int_equal(fclose(file), 0);
}

/* The refusal has the code and the words, names the file, and leaves it as it was. */
static void refused(const struct place *place, dw_err code, const char *words)
{
    char *before = NULL, *after = NULL;
    size_t n_before = 0, n_after = 0;
    assert_int_equal(dw_file__read(place->path, 1 << 26, &before, &n_before, NULL), DW_OK);
    static const enum dw_ledger_mode modes[] = {DW_LEDGER_WRITE, DW_LEDGER_CREATE};
    for (size_t i = 0; i < DW_COUNT(modes); i++) {
        struct dw_error error = {0};
        struct dw_ledger *ledger = NULL;
        dw_err err = dw_ledger_open(place->path, modes[i], 0, &ledger, &error);
        if (err != code || !strstr(error.text, words))
            print_message("%s: %s\n", dw_err_name(err), error.text);
        assert_int_equal(err, code);
        assert_null(ledger);
        assert_non_null(strstr(error.text, words));
        assert_string_equal(error.file, place->path);
    }
    assert_int_equal(dw_file__read(place->path, 1 << 26, &after, &n_after, NULL), DW_OK);
    assert_int_equal(n_before, n_after);
    assert_memory_equal(before, after, n_before);
    free(before);
    free(after);
    char beside[128];
    snprintf(beside, sizeof beside, "%s-wal", place->path);
    assert_int_not_equal(access(beside, F_OK), 0);
}

static void test_no_file(void **state)
{
    struct place *place = *state;
    struct dw_error error = {0};
    struct dw_ledger *ledger = NULL;
    assert_int_equal(dw_ledger_open(place->path, DW_LEDGER_READ, 0, &ledger, &error),
                     DW_ERR_NOTFOUND);
    assert_int_not_equal(access(place->path, F_OK), 0);
    error = (struct dw_error){0};
    assert_int_equal(dw_ledger_open(place->folder, DW_LEDGER_CREATE, 0, &ledger, &error),
                     DW_ERR_IO);
    error = (struct dw_error){0};
    assert_int_equal(dw_ledger_open("/no/such/folder/x.db", DW_LEDGER_CREATE, 0, &ledger, &error),
                     DW_ERR_IO);
}

static void test_empty_file_becomes_one(void **state)
{
    struct place *place = *state;
    write_bytes(place->path, "", 0);
    struct dw_ledger *ledger = NULL;
    assert_int_equal(dw_ledger_open(place->path, DW_LEDGER_READ, 0, &ledger, NULL),
                     DW_ERR_NOTFOUND);
    make_ledger(place->path, 1);
    assert_int_equal(n_pieces(place->path), 1);
}

static void test_foreign_files(void **state)
{
    struct place *place = *state;
    static const char text[] = "label,length\nleg,1200\n";
    write_bytes(place->path, text, sizeof text - 1);
    refused(place, DW_ERR_SCHEMA, "not a shelf file");
    char bytes[8192];
    memset(bytes, 0x5a, sizeof bytes);
    write_bytes(place->path, bytes, sizeof bytes);
    refused(place, DW_ERR_SCHEMA, "not a shelf file");
    unlink(place->path);
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(place->path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "CREATE TABLE songs(title TEXT)", NULL, NULL, NULL), 0);
    sqlite3_close(db);
    refused(place, DW_ERR_SCHEMA, "another program's database");
}

static void pragma(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

static void test_newer_schema(void **state)
{
    struct place *place = *state;
    make_ledger(place->path, 3);
    pragma(place->path, "PRAGMA user_version = 99");
    refused(place, DW_ERR_SCHEMA, "version 99, this program knows up to 6");
}

/* What a shop had done by version 1, in the words of its tables: three pieces brought, one held
 * and cut, a bar bought and measured for the same plan, the plan released, a scrapping undone. */
static const char old_life[] =
    "INSERT INTO steps(at, who, what) VALUES ('2025-03-01T08:00:00Z', 'Ada', 'add');"
    "INSERT INTO materials(code, od, wall, radius, density) VALUES ('box30', 30000000, 0, 0, 0);"
    "INSERT INTO pieces(number, material, kind, length, datum, far, value, state, step) VALUES"
    " ('B1', 1, 'bar', 6000000000, 'mill', 'mill', 240000, 'shelf', 1),"
    " ('C2', 1, 'offcut', 1400000000, 'sawn', 'mill', 50000, 'shelf', 1),"
    " ('C3', 1, 'offcut', 900000000, 'sawn', 'mill', 30000, 'shelf', 1);"
    "INSERT INTO steps(at, who, what) VALUES ('2025-03-02T08:00:00Z', 'Ada', 'hold');"
    "INSERT INTO plans(step, job, digest, value) VALUES (2, 'stall', 77, 300000);"
    "INSERT INTO plan_pieces(plan, layout, seq, use, part, length, count) VALUES"
    " (1, 0, 0, 'part', 0, 700000000, 2), (1, 1, 0, 'part', 0, 700000000, 8);"
    "INSERT INTO plan_bars(plan, bar, layout, supply, piece, material, source, nominal, length,"
    " price, datum, far, trim, rest, leftover, left_material, left_far, left_value) VALUES"
    " (1, 1, 0, 'C2', 2, 1, 'offcut', 1400000000, 1400000000, 50000, 'sawn', 'mill', 0, 'none', 0,"
    " 1, 'mill', 0), (1, 2, 1, 'box30 6 m', NULL, 1, 'new', 6000000000, 6000000000, 240000, 'mill',"
    " 'mill', 0, 'kept', 380000000, 1, 'mill', 9000);"
    "UPDATE pieces SET state = 'held', plan = 1 WHERE id = 2;"
    "INSERT INTO steps(at, what) VALUES ('2025-03-02T09:00:00Z', 'cut');"
    "INSERT INTO cuts(step, plan, bar, piece, done, parts, posts, kept, scrap, trim, chips) VALUES"
    " (3, 1, 1, 2, 2, 1400000000, 0, 0, 0, 0, 0);"
    "UPDATE pieces SET state = 'used', plan = NULL WHERE id = 2;"
    "INSERT INTO steps(at, what) VALUES ('2025-03-02T09:10:00Z', 'measure');"
    "INSERT INTO pieces(number, material, kind, length, measured, datum, far, value, state, plan,"
    " step) VALUES ('B4', 1, 'bar', 6000000000, 6003000000, 'mill', 'mill', 240000, 'held', 1, 4);"
    "INSERT INTO steps(at, who, what) VALUES ('2025-03-02T10:00:00Z', 'Bo', 'release');"
    "INSERT INTO plan_ends(step, plan, why) VALUES (5, 1, 'released');"
    "UPDATE pieces SET state = 'shelf', plan = NULL WHERE plan = 1;"
    "INSERT INTO steps(at, who, what) VALUES ('2025-03-02T11:00:00Z', 'Bo', 'scrap');"
    "UPDATE pieces SET state = 'scrapped' WHERE id = 3;"
    "INSERT INTO steps(at, who, what, undoes) VALUES ('2025-03-02T12:00:00Z', 'Bo', 'undo', 6);"
    "UPDATE pieces SET state = 'shelf' WHERE id = 3;";

static int64_t ask(struct dw_ledger *ledger, const char *sql)
{
    int64_t value = 0;
    assert_int_equal(dw_sql__int(ledger, &value, -1, NULL, sql, ""), DW_OK);
    return value;
}

static void make_old(const char *path, int version)
{
    struct dw_ledger old = {0};
    unlink(path);
    assert_int_equal(sqlite3_open(path, &old.db), SQLITE_OK);
    assert_int_equal(ask(&old, "PRAGMA journal_mode = WAL"), 0);
    assert_int_equal(dw_ledger__migrate(&old, version, NULL), DW_OK);
    assert_int_equal(ask(&old, "PRAGMA foreign_keys"), 1);
    assert_int_equal(sqlite3_exec(old.db, old_life, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(old.db);
}

/* The seals on what was done before hold in the next version too. */
static void test_sealed_schema_moves_forward(void **state)
{
    struct place *place = *state;
    struct dw_ledger *ledger = open_ledger(place->path, DW_LEDGER_CREATE);
    assert_int_equal(dw_ledger_material_put(ledger, &act, &steel, NULL), DW_OK);
    dw_ledger_close(ledger);
    /* what versions 5 and 6 added, taken away */
    pragma(place->path, "DROP VIEW plan_tubes; DROP TABLE plan_spares; DROP VIEW bar_pieces; DROP "
                        "VIEW came; DROP VIEW purchases;"
                        "DROP TABLE arrivals; DROP TABLE plan_buys; PRAGMA user_version = 4");
    ledger = open_ledger(place->path, DW_LEDGER_WRITE);
    assert_int_equal(ask(ledger, "PRAGMA user_version"), dw_ledger__version());
    assert_int_equal(dw_ledger_material_put(ledger, &act, &steel, NULL), DW_OK);
    assert_int_equal(ask(ledger, "SELECT count(*) FROM seals"), 2);
    struct dw_report report = {0};
    assert_int_equal(dw_ledger_check(ledger, &report, NULL), DW_OK);
    dw_report_free(&report);
    dw_ledger_close(ledger);
}

/* A file of each version before is brought forward on opening, also for reading: every row is
 * there, with its number, the tables refuse what they refuse, and the checks find nothing. */
static void test_older_schema_moves_forward(void **state)
{
    struct place *place = *state;
    for (int version = 1; version < DW_LEDGER_SEALED; version++) {
        make_old(place->path, version);
        struct dw_ledger *ledger = open_ledger(place->path, DW_LEDGER_READ);
        assert_int_equal(ask(ledger, "PRAGMA user_version"), dw_ledger__version());
        assert_int_equal(ask(ledger, "PRAGMA foreign_keys"), 1);
        assert_int_equal(ask(ledger, "PRAGMA legacy_alter_table"), 0);
        assert_int_equal(ask(ledger, "SELECT count(*) FROM steps"), 7);
        assert_int_equal(ask(ledger, "SELECT undoes FROM steps WHERE id = 7 AND who = 'Bo'"), 6);
        /* the plan of a step that had one before it: the cut, the measuring, the release */
        assert_int_equal(ask(ledger, "SELECT sum(id * id) FROM steps WHERE plan = 1"), 9 + 16 + 25);
        assert_int_equal(ask(ledger, "SELECT count(*) FROM moves"), 9);
        assert_int_equal(ask(ledger, "SELECT step FROM seals"), 7);
        assert_int_equal(ask(ledger, "SELECT step FROM material_changes WHERE code = 'box30'"), 7);
        struct dw_shelf_rules rules;
        assert_int_equal(dw_ledger_rules(ledger, &rules, NULL), DW_OK);
        struct dw_report report = {0};
        assert_int_equal(dw_ledger_check(ledger, &report, NULL), DW_OK);
        dw_report_free(&report);
        assert_int_not_equal(
            sqlite3_exec(ledger->db, "UPDATE steps SET who = 'x' WHERE id = 1", NULL, NULL, NULL),
            SQLITE_OK);
        /* steps after the seal over all that was there */
        assert_int_equal(dw_ledger_material_put(ledger, &act, &steel, NULL), DW_OK);
        assert_int_equal(add(ledger, NULL), DW_OK);
        assert_int_equal(ask(ledger, "SELECT max(step) FROM seals"), 9);
        assert_int_equal(dw_ledger_check(ledger, &report, NULL), DW_OK);
        dw_ledger_close(ledger);
    }
}

/* What was changed in an old file's history after it came forward is found too. */
static void test_old_history_is_sealed(void **state)
{
    struct place *place = *state;
    make_old(place->path, 3);
    dw_ledger_close(open_ledger(place->path, DW_LEDGER_READ));
    pragma(place->path, "DROP TRIGGER steps_no_update; UPDATE steps SET who = 'Cy' WHERE id = 3");
    struct dw_ledger *ledger = open_ledger(place->path, DW_LEDGER_READ);
    struct dw_report report = {0};
    assert_int_equal(dw_ledger_check(ledger, &report, NULL), DW_ERR_CHECK);
    assert_int_equal(report.n_wrong, 1);
    dw_report_free(&report);
    dw_ledger_close(ledger);
}

/* A file whose rows name others that are not there is not brought forward. */
static void test_old_file_with_loose_rows(void **state)
{
    struct place *place = *state;
    make_old(place->path, 2);
    pragma(place->path, "PRAGMA foreign_keys = OFF; DROP TRIGGER plans_no_delete;"
                        "DELETE FROM plans");
    refused(place, DW_ERR_SCHEMA, "name others that are not there");
    make_old(place->path, 2); /* an undoing that moved one piece */
    pragma(place->path, "PRAGMA foreign_keys = OFF; DROP TRIGGER steps_no_delete;"
                        "DELETE FROM steps WHERE id = 7");
    refused(place, DW_ERR_SCHEMA, "the file is damaged: 1 row names another that is not there");
}

/* Every page in turn is overwritten: whichever it is, the file is refused and left alone. */
static void test_corrupt_pages(void **state)
{
    struct place *place = *state;
    make_ledger(place->path, 40);
    char *whole = NULL;
    size_t n = 0;
    assert_int_equal(dw_file__read(place->path, 1 << 26, &whole, &n, NULL), DW_OK);
    assert_true(n >= 20 * 4096);
    char *broken = malloc(n);
    for (size_t at = 0; at < n; at += 4096) {
        memcpy(broken, whole, n);
        memset(broken + at, 0xa5, 600);
        write_bytes(place->path, broken, n);
        refused(place, DW_ERR_SCHEMA, at ? "damaged" : "not a shelf file");
    }
    write_bytes(place->path, whole, n / 2);
    refused(place, DW_ERR_SCHEMA, "damaged");
    write_bytes(place->path, whole, n);
    assert_int_equal(n_pieces(place->path), 40);
    free(whole);
    free(broken);
}

/* Runs a check in a child process, so that it can give up rights. */
static void in_child(void (*run)(const struct place *), const struct place *place)
{
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        run(place);
        _exit(0);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
}

static void need(bool fact)
{
    if (!fact)
        _exit(1);
}

static void open_read_only(const struct place *place)
{
    if (geteuid() == 0)
        need(setgid(65534) == 0 && setuid(65534) == 0);
    struct dw_error error = {0};
    struct dw_ledger *ledger = NULL;
    need(dw_ledger_open(place->path, DW_LEDGER_WRITE, 0, &ledger, &error) == DW_ERR_IO);
    need(strstr(error.text, "may not be written to") != NULL);
}

static void test_read_only_file(void **state)
{
    struct place *place = *state;
    make_ledger(place->path, 2);
    assert_int_equal(chmod(place->path, 0444), 0);
    assert_int_equal(chmod(place->folder, 0777), 0);
    in_child(open_read_only, place);
    assert_int_equal(chmod(place->path, 0644), 0);
    assert_int_equal(n_pieces(place->path), 2);
}

/* Adds until the file may grow no further; that step fails whole, with a clear text. */
static void fill_disk(const struct place *place)
{
    signal(SIGXFSZ, SIG_IGN);
    struct dw_ledger *ledger = NULL;
    struct dw_error error = {0};
    need(dw_ledger_open(place->path, DW_LEDGER_WRITE, 0, &ledger, &error) == DW_OK);
    struct rlimit limit;
    need(getrlimit(RLIMIT_FSIZE, &limit) == 0);
    limit.rlim_cur = 1200000;
    need(setrlimit(RLIMIT_FSIZE, &limit) == 0);
    dw_err err = DW_OK;
    int n = 0;
    while (n < 5000 && (err = add(ledger, &error)) == DW_OK)
        n++;
    need(err == DW_ERR_IO && strstr(error.text, "nothing was changed") != NULL);
    struct dw_balance balance;
    need(dw_ledger_balance(ledger, &balance, NULL) == DW_OK && balance.n_shelf == n + 1);
    limit.rlim_cur = limit.rlim_max;
    need(setrlimit(RLIMIT_FSIZE, &limit) == 0);
    need(add(ledger, NULL) == DW_OK); /* there is room again */
    need(dw_ledger_balance(ledger, &balance, NULL) == DW_OK && balance.n_shelf == n + 2);
    dw_ledger_close(ledger);
}

static void test_disk_full(void **state)
{
    struct place *place = *state;
    make_ledger(place->path, 1);
    in_child(fill_disk, place);
    assert_true(n_pieces(place->path) > 10);
}

static void test_busy(void **state)
{
    struct place *place = *state;
    make_ledger(place->path, 1);
    struct dw_ledger *first = open_ledger(place->path, DW_LEDGER_WRITE);
    struct dw_ledger *second = NULL;
    assert_int_equal(dw_ledger_open(place->path, DW_LEDGER_WRITE, 20, &second, NULL), DW_OK);
    assert_int_equal(dw_ledger__begin(first, &act, DW_STEP_ADD, 0, NULL), DW_OK);
    struct dw_error error = {0};
    assert_int_equal(add(second, &error), DW_ERR_BUSY);
    assert_non_null(strstr(error.text, "busy"));
    struct dw_balance balance; /* readers are not held up */
    assert_int_equal(dw_ledger_balance(second, &balance, NULL), DW_OK);
    assert_int_equal(balance.n_shelf, 1);
    assert_int_equal(dw_ledger__end(first, DW_ERR_INPUT, NULL, NULL), DW_ERR_INPUT);
    assert_int_equal(add(second, NULL), DW_OK);
    dw_ledger_close(first);
    dw_ledger_close(second);
}

/* What the tables themselves refuse, whoever writes. */
static void test_history_is_append_only(void **state)
{
    struct place *place = *state;
    make_ledger(place->path, 2);
    struct dw_ledger *ledger = open_ledger(place->path, DW_LEDGER_WRITE);
    static const char *const forbidden[] = {
        "DELETE FROM moves",
        "UPDATE moves SET to_state = 'used'",
        "DELETE FROM steps",
        "UPDATE steps SET who = 'x'",
        "DELETE FROM pieces",
        "UPDATE pieces SET length = 1",
        "UPDATE pieces SET number = 'x' WHERE id = 1",
        "UPDATE pieces SET state = 'held'",
        "UPDATE pieces SET state = 'gone'",
        "UPDATE pieces SET measured = 0",
        "UPDATE pieces SET measured = 1.5",
        "UPDATE pieces SET plan = 77, state = 'held'",
        "INSERT INTO cuts(step,plan,bar,piece,done,parts,posts,kept,scrap,trim,chips)"
        " VALUES (1,1,1,1,0,1,0,0,0,0,0)",
    };
    for (size_t i = 0; i < DW_COUNT(forbidden); i++) {
        if (sqlite3_exec(ledger->db, forbidden[i], NULL, NULL, NULL) == SQLITE_OK)
            print_message("allowed: %s\n", forbidden[i]);
        assert_int_not_equal(sqlite3_exec(ledger->db, forbidden[i], NULL, NULL, NULL), SQLITE_OK);
    }
    dw_ledger_close(ledger);
    assert_int_equal(n_pieces(place->path), 2);
}

/* The check finds what was done behind the ledger's back. */
static void test_check_finds_tampering(void **state)
{
    struct place *place = *state;
    static const char *const tampering[] = {
        "DROP TRIGGER pieces_moved; UPDATE pieces SET state = 'scrapped' WHERE id = 1",
        "DROP TRIGGER pieces_no_delete; PRAGMA foreign_keys = OFF; DELETE FROM pieces",
        "DROP TRIGGER moves_no_delete; DELETE FROM moves WHERE id = 1",
        "UPDATE pieces SET state = 'used' WHERE id = 1",
        "DROP TRIGGER pieces_fixed; UPDATE pieces SET length = 5 WHERE id = 1;"
        "DROP TRIGGER moves_no_update; UPDATE moves SET to_measured = 9 WHERE id = 1",
    };
    for (size_t i = 0; i < DW_COUNT(tampering); i++) {
        unlink(place->path);
        make_ledger(place->path, 3);
        pragma(place->path, tampering[i]);
        struct dw_ledger *ledger = open_ledger(place->path, DW_LEDGER_READ);
        struct dw_report report = {0};
        struct dw_error error = {0};
        assert_int_equal(dw_ledger_check(ledger, &report, &error), DW_ERR_CHECK);
        assert_true(report.n_wrong > 0);
        dw_report_free(&report);
        dw_ledger_close(ledger);
    }
}

#define FILE_TEST(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        FILE_TEST(test_no_file),
        FILE_TEST(test_empty_file_becomes_one),
        FILE_TEST(test_foreign_files),
        FILE_TEST(test_newer_schema),
        FILE_TEST(test_older_schema_moves_forward),
        FILE_TEST(test_sealed_schema_moves_forward),
        FILE_TEST(test_old_history_is_sealed),
        FILE_TEST(test_old_file_with_loose_rows),
        FILE_TEST(test_corrupt_pages),
        FILE_TEST(test_read_only_file),
        FILE_TEST(test_disk_full),
        FILE_TEST(test_busy),
        FILE_TEST(test_history_is_append_only),
        FILE_TEST(test_check_finds_tampering),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
