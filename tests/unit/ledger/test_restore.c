/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Copies: for their owner alone, whole or not there; put back while others use the shelf; and a
 * file that is replaced in another way is noticed. */
#include "stand.h"

#include "ledger/ledger.h"

#include <dirent.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

static const struct dw_act later = {.when = "2026-03-02T09:00:00Z", .who = "Bo"};

static const char *beside(struct shop *shop, const char *name)
{
    static char path[160];
    snprintf(path, sizeof path, "%s/%s", shop->folder, name);
    return path;
}

static int files_in(const struct shop *shop)
{
    int n = 0;
    DIR *folder = opendir(shop->folder);
    assert_non_null(folder);
    for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder))
        n += entry->d_name[0] != '.';
    closedir(folder);
    return n;
}

static void run(const char *format, const char *a, const char *b)
{
    char command[400];
    snprintf(command, sizeof command, format, a, b);
    assert_int_equal(system(command), 0);
}

static dw_err restore(struct shop *shop, bool lose, struct dw_restored *out)
{
    char copy[160];
    snprintf(copy, sizeof copy, "%s/copy.db", shop->folder);
    struct dw_restore how = {
        .path = shop->path, .copy = copy, .act = later, .busy_ms = 20, .lose_later = lose};
    struct dw_report report = {0};
    dw_restored_free(out);
    dw_err err = dw_ledger_restore(&how, out, &report, &shop->error);
    dw_report_free(&report);
    return err;
}

static void back_up(struct shop *shop)
{
    OK(dw_ledger_backup(shop->ledger, beside(shop, "copy.db"), &shop->error));
}

/* Each file of the shelf is for its owner alone; what is wider is left so and is a doubt. */
static void test_modes(void **state)
{
    struct shop *shop = *state;
    static const char *const names[] = {"shelf.db", "shelf.db-wal", "shelf.db-shm", "copy.db"};
    struct stat st;
    add(shop, "C1", 900 * MM);
    back_up(shop);
    for (size_t i = 0; i < DW_COUNT(names); i++) {
        assert_int_equal(stat(beside(shop, names[i]), &st), 0);
        assert_int_equal(st.st_mode & 0777, 0600);
    }
    struct dw_report report = {0};
    OK(dw_ledger_check(shop->ledger, &report, &shop->error));
    assert_int_equal(report.n_remarks, 0);
    assert_int_equal(chmod(shop->path, 0640), 0);
    OK(dw_ledger_check(shop->ledger, &report, &shop->error));
    assert_int_equal(report.n_remarks, 1);
    assert_int_equal(report.remarks[0].severity, DW_DOUBT);
    assert_non_null(strstr(report.remarks[0].what.text, "mode 0640"));
    dw_report_free(&report);
    assert_int_equal(stat(shop->path, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0640);
}

/* By hand: steps 1 and 2 are in the copy, 3 to 5 are not; the step of the restore is 6. */
static void test_back_from_a_copy(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    add(shop, NULL, 800 * MM);
    add(shop, NULL, 700 * MM);
    static const char *const c1[] = {"C1"};
    OK(dw_ledger_scrap(shop->ledger, &later, c1, 1, NULL, &shop->error));
    REFUSED(DW_ERR_STATE,
            "the copy does not have 3 steps of the shelf, from step 3: B2 added, by Ines, "
            "2026-03-01 08:00 UTC to step 5: C1 thrown away, by Bo, 2026-03-02 09:00 UTC",
            restore(shop, false, &done));
    state_is(shop, "C1", DW_STATE_SCRAPPED);
    assert_null(done.kept);
    OK(restore(shop, true, &done));
    assert_int_equal(done.step, 6);
    assert_int_equal(done.copy_step, 2);
    assert_int_equal(done.n_lost, 3);
    assert_string_equal(done.first_lost.what, "B2 added");
    assert_string_equal(done.last_lost.what, "C1 thrown away");
    /* the connection that was open all the time sees it and goes on */
    OK(dw_ledger_same(shop->ledger, &shop->error));
    state_is(shop, "C1", DW_STATE_SHELF);
    in_order(shop);
    struct dw_deed deed;
    OK(dw_ledger_deed(shop->ledger, 6, &deed, &shop->error));
    assert_string_equal(deed.what, "the shelf put back from a copy up to step 2");
    struct dw_history *history = NULL;
    OK(dw_ledger_history(shop->ledger, NULL, 2, &history, &shop->error));
    assert_int_equal(history->n, 2); /* what moved nothing stands among the moves */
    assert_string_equal(history->rows[0].number, "C1");
    assert_null(history->rows[0].told);
    assert_int_equal(history->rows[1].step, 6);
    assert_string_equal(history->rows[1].what, "restore");
    assert_null(history->rows[1].number);
    assert_string_equal(history->rows[1].told, deed.what);
    dw_history_free(history);
    /* B2 and B3 are written on tubes: the next one is B4 */
    struct dw_stock stock = bar(NULL, 600 * MM);
    int64_t step = 0;
    OK(dw_ledger_add(shop->ledger, &act, &stock, 1, &step, &shop->error));
    assert_int_equal(step, 7);
    assert_int_equal(one(shop, "B4").length, 600 * MM);
    in_order(shop);
    /* the shelf as it was is kept, whole */
    struct dw_ledger *kept = NULL;
    OK(dw_ledger_open(done.kept, DW_LEDGER_READ, 0, &kept, &shop->error));
    assert_string_equal(done.kept, beside(shop, "shelf.db.before-6"));
    int64_t last = 0, undoable = 0;
    OK(dw_ledger_last(kept, &last, &undoable, &shop->error));
    assert_int_equal(last, 5);
    dw_ledger_close(kept);
    dw_restored_free(&done);
}

/* Plans and documents are numbered on as well; what is done on an old look is refused. */
static void test_numbers_go_on(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    struct dw_document job = {.kind = "job", .body = "{}"};
    struct dw_document_list *saved = NULL;
    add(shop, "B7", 6000 * MM);
    back_up(shop);
    make_plan(shop, "B7", 6000 * MM);
    assert_int_equal(hold(shop, 0), 1);
    OK(dw_ledger_document_save(shop->ledger, &act, &job, &saved, &shop->error));
    assert_string_equal(saved->rows[0].key, "1");
    dw_document_list_free(saved);
    OK(restore(shop, true, &done));
    assert_int_equal(hold(shop, 0), 2);
    OK(dw_ledger_document_save(shop->ledger, &act, &job, &saved, &shop->error));
    assert_string_equal(saved->rows[0].key, "2");
    dw_document_list_free(saved);
    const struct dw_act old = {.when = "2026-03-02", .who = "Ines", .seen = 3};
    const struct dw_act fresh = {.when = "2026-03-02", .who = "Ines", .seen = done.step};
    static const char *const b7[] = {"B7"};
    REFUSED(DW_ERR_STATE,
            "put back from a copy up to step 2, by Bo, 2026-03-02 09:00 UTC, in the "
            "meantime",
            dw_ledger_move(shop->ledger, &old, b7, 1, "yard", NULL, &shop->error));
    OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error)); /* the plan 2 */
    OK(dw_ledger_release(shop->ledger, &fresh, hold(shop, 0), NULL, &shop->error));
    /* a second time, to the same copy: numbers go on from the first */
    OK(restore(shop, true, &done));
    assert_string_equal(strrchr(done.kept, '-'), "-9");
    assert_int_equal(hold(shop, 0), 4);
    dw_restored_free(&done);
}

/* The last event: a step that moved no piece tells what it was. */
static void last_event_is(struct shop *shop, struct dw_ledger *ledger, int64_t step,
                          const char *told, const char *note)
{
    struct dw_history *history = NULL;
    OK(dw_ledger_history(ledger, NULL, 40, &history, &shop->error));
    assert_true(history->n > 0);
    const struct dw_event *event = &history->rows[history->n - 1];
    assert_int_equal(event->step, step);
    assert_null(event->number);
    assert_string_equal(event->what, "restore");
    assert_string_equal(event->told, told);
    assert_string_equal(event->who, "Bo");
    assert_string_equal(event->when, later.when);
    assert_string_equal(event->note, note);
    dw_history_free(history);
}

/* The history tells that a copy was put back, who did it, when, and from which file. That is not
 * undone, and the step before it only by its number. */
static void test_a_restore_is_told(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    static const char *const c1[] = {"C1"};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    OK(dw_ledger_scrap(shop->ledger, &later, c1, 1, NULL, &shop->error));
    OK(restore(shop, true, &done));
    assert_int_equal(done.step, 4);
    last_event_is(shop, shop->ledger, 4, "the shelf put back from a copy up to step 2",
                  "from copy.db");
    for (int64_t expect = 0; expect <= 4; expect += 4) {
        REFUSED(DW_ERR_STATE, "step 4: the shelf put back from a copy up to step 2, by Bo",
                dw_ledger_undo(shop->ledger, &act, expect, NULL, NULL, &shop->error));
        REFUSED(DW_ERR_STATE, "`dropwise shelf undo --step 2` takes back the step before",
                dw_ledger_undo(shop->ledger, &act, expect, NULL, NULL, &shop->error));
    }
    state_is(shop, "C1", DW_STATE_SHELF);
    OK(dw_ledger_undo(shop->ledger, &act, 2, NULL, NULL, &shop->error));
    in_order(shop);
    REFUSED(DW_ERR_STATE, "that is not undone",
            dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    /* once something was done after it, that is undone as ever */
    add(shop, "C9", 800 * MM);
    OK(dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    in_order(shop);
    dw_restored_free(&done);
}

/* The author's note stays; a shelf that is gone gets the step too. */
static void test_a_restore_is_told_of_a_shelf_that_was_gone(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    struct dw_report report = {0};
    struct dw_ledger *back = NULL;
    char copy[160];
    add(shop, "C1", 900 * MM);
    back_up(shop);
    snprintf(copy, sizeof copy, "%s", beside(shop, "copy.db"));
    struct dw_restore how = {.path = beside(shop, "new.db"), .copy = copy, .act = later};
    how.act.note = "the disk broke";
    OK(dw_ledger_restore(&how, &done, &report, &shop->error));
    dw_report_free(&report);
    assert_int_equal(done.step, 3);
    assert_int_equal(done.copy_step, 2);
    OK(dw_ledger_open(beside(shop, "new.db"), DW_LEDGER_WRITE, 0, &back, &shop->error));
    last_event_is(shop, back, 3, "the shelf put back from a copy up to step 2",
                  "the disk broke; from copy.db");
    OK(dw_ledger_check(back, &report, &shop->error));
    dw_report_free(&report);
    dw_ledger_close(back);
    dw_restored_free(&done);
}

/* Nothing is lost, nothing is asked; the copy of another shelf lacks all steps of this one. */
static void test_what_is_lost(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    OK(restore(shop, false, &done));
    assert_int_equal(done.n_lost, 0);
    REFUSED(DW_ERR_STATE,
            "the copy does not have step 3: the shelf put back from a copy up to step 2, by Bo",
            restore(shop, false, &done));
    run("rm %s", beside(shop, "copy.db"), "");
    struct dw_ledger *other = NULL;
    OK(dw_ledger_open(beside(shop, "other.db"), DW_LEDGER_CREATE, 0, &other, &shop->error));
    OK(dw_ledger_material_put(other, &later, &steel, &shop->error));
    OK(dw_ledger_backup(other, beside(shop, "copy.db"), &shop->error));
    dw_ledger_close(other);
    REFUSED(DW_ERR_STATE, "the copy does not have 3 steps of the shelf, from step 1",
            restore(shop, false, &done));
}

static void spoil(struct shop *shop, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(beside(shop, "copy.db"), &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

/* A copy that is not in order is not put back, and is left as it is. */
static void test_copy_is_checked(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    static const struct {
        const char *sql;
        dw_err err;
        const char *said;
    } rows[] = {
        {"PRAGMA application_id = 7", DW_ERR_SCHEMA, "another program's"},
        {"PRAGMA user_version = 99", DW_ERR_SCHEMA, "version 99"},
        {"DROP TRIGGER pieces_fixed; UPDATE pieces SET value = 1", DW_ERR_CHECK, "not in order"},
        {"DROP TRIGGER seals_no_delete; DELETE FROM seals WHERE step = 2", DW_ERR_CHECK,
         "not in order"},
    };
    add(shop, "C1", 900 * MM);
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        back_up(shop);
        spoil(shop, rows[i].sql);
        run("cp %s %s.kept", beside(shop, "copy.db"), beside(shop, "copy.db"));
        REFUSED(rows[i].err, rows[i].said, restore(shop, true, &done));
        assert_string_equal(shop->error.file, beside(shop, "copy.db"));
        run("cmp %s %s.kept", beside(shop, "copy.db"), beside(shop, "copy.db"));
        run("rm %s %s.kept", beside(shop, "copy.db"), beside(shop, "copy.db"));
        in_order(shop);
    }
    REFUSED(DW_ERR_NOTFOUND, "can't open", restore(shop, true, &done));
    for (int page = 1; page < 20; page++) { /* damaged here or there */
        char spoiled[200];
        back_up(shop);
        snprintf(spoiled, sizeof spoiled,
                 "head -c 600 /dev/zero | tr '\\0' '\\245' |"
                 " dd of=%%s bs=1 seek=%d conv=notrunc 2>/dev/null%%s",
                 4096 * page);
        run(spoiled, beside(shop, "copy.db"), "");
        assert_int_not_equal(restore(shop, true, &done), DW_OK);
        run("rm %s%s", beside(shop, "copy.db"), "");
        in_order(shop);
    }
    run("printf 'label,length\\n' >%s", beside(shop, "copy.db"), "");
    REFUSED(DW_ERR_SCHEMA, "not a shelf file", restore(shop, true, &done));
    run(": >%s", beside(shop, "copy.db"), "");
    REFUSED(DW_ERR_SCHEMA, "the file is empty", restore(shop, true, &done));
}

/* The shelf itself, and the file of another one in use, are no copies. */
static void test_not_a_copy(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    struct dw_restore how = {.path = shop->path, .copy = shop->path, .act = later};
    struct dw_report report = {0};
    REFUSED(DW_ERR_INPUT, "this is the shelf itself",
            dw_ledger_restore(&how, &done, &report, &shop->error));
    run("cp %s %s", shop->path, beside(shop, "copy.db"));
    run("cp %s-wal %s-wal", shop->path, beside(shop, "copy.db"));
    REFUSED(DW_ERR_INPUT, "a shelf in use, not a copy", restore(shop, true, &done));
}

/* An older copy is brought forward on its way, not in its place. */
static void test_older_copy(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    struct dw_ledger old = {0};
    add(shop, "C1", 900 * MM);
    assert_int_equal(sqlite3_open(beside(shop, "copy.db"), &old.db), SQLITE_OK);
    OK(dw_ledger__migrate(&old, 3, &shop->error));
    sqlite3_close(old.db);
    run("cp %s %s.kept", beside(shop, "copy.db"), beside(shop, "copy.db"));
    OK(restore(shop, true, &done));
    run("cmp %s %s.kept", beside(shop, "copy.db"), beside(shop, "copy.db"));
    in_order(shop);
    dw_restored_free(&done);
}

/* Another process is writing: it is waited for, then refused, and nothing is left behind. */
static void test_restore_waits_for_the_lock(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    int before = files_in(shop);
    OK(dw_ledger__begin(shop->ledger, &act, DW_STEP_MOVE, 0, &shop->error));
    REFUSED(DW_ERR_BUSY, "busy", restore(shop, true, &done));
    OK(dw_ledger__end(shop->ledger, DW_OK, NULL, &shop->error));
    assert_int_equal(files_in(shop), before);
}

/* No shelf: it is made of the copy. A damaged one is moved away, with consent. */
static void test_shelf_that_can_not_be_used(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    dw_ledger_close(shop->ledger);
    shop->ledger = NULL;
    run("rm -f %s %s-*", shop->path, shop->path);
    OK(restore(shop, false, &done));
    assert_null(done.kept);
    OK(dw_ledger_open(shop->path, DW_LEDGER_WRITE, 0, &shop->ledger, &shop->error));
    state_is(shop, "C1", DW_STATE_SHELF);
    dw_ledger_close(shop->ledger);
    run("printf '%s' | dd of=%s bs=1 seek=9000 conv=notrunc 2>/dev/null",
        "zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz", shop->path);
    run("dd if=/dev/zero of=%s bs=4096 seek=2 count=6 conv=notrunc 2>/dev/null%s", shop->path, "");
    REFUSED(DW_ERR_STATE, "damaged", restore(shop, false, &done));
    OK(restore(shop, true, &done));
    assert_string_equal(done.kept, beside(shop, "shelf.db.damaged"));
    assert_int_equal(access(done.kept, F_OK), 0);
    OK(dw_ledger_open(shop->path, DW_LEDGER_WRITE, 0, &shop->ledger, &shop->error));
    state_is(shop, "C1", DW_STATE_SHELF);
    dw_restored_free(&done);
}

/* The shelf is gone, its log is still there: the log is not taken for that of the copy. */
static void test_log_that_was_left(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    add(shop, "C2", 800 * MM);
    run("cp %s-wal %s", shop->path, beside(shop, "log"));
    dw_ledger_close(shop->ledger);
    shop->ledger = NULL;
    run("rm -f %s %s-shm", shop->path, shop->path);
    run("mv %s %s-wal", beside(shop, "log"), shop->path);
    OK(restore(shop, false, &done));
    assert_null(done.kept);
    assert_int_equal(access(beside(shop, "shelf.db.damaged-wal"), F_OK), 0);
    OK(dw_ledger_open(shop->path, DW_LEDGER_WRITE, 0, &shop->ledger, &shop->error));
    struct dw_balance b;
    OK(dw_ledger_balance(shop->ledger, &b, &shop->error));
    assert_int_equal(b.on_shelf, 900 * MM);
}

/* What is no shelf at all stays where it is, whatever is agreed to. */
static void test_foreign_file_stays(void **state)
{
    struct shop *shop = *state;
    struct dw_restored done = {0};
    add(shop, "C1", 900 * MM);
    back_up(shop);
    struct dw_restore how = {.path = "/etc/passwd", .act = later, .lose_later = true};
    char copy[160], list[160];
    snprintf(copy, sizeof copy, "%s", beside(shop, "copy.db"));
    snprintf(list, sizeof list, "%s", beside(shop, "parts.csv"));
    run("printf 'label,length\\nleg,1200\\n' >%s%s", list, "");
    how.copy = copy;
    how.path = list;
    struct dw_report report = {0};
    REFUSED(DW_ERR_SCHEMA, "not a shelf file",
            dw_ledger_restore(&how, &done, &report, &shop->error));
    run("grep -q leg,1200 %s%s", list, "");
}

/* --- a file that is replaced ------------------------------------------------------------------ */

/* Another file under its name. */
static void test_replaced_by_name(void **state)
{
    struct shop *shop = *state;
    struct dw_stock stock = bar("C2", 1 * MM);
    struct dw_document job = {.kind = "job", .body = "{}"};
    struct dw_document_list *saved = NULL;
    struct dw_shelf_rules rules;
    add(shop, "C1", 900 * MM);
    back_up(shop);
    OK(dw_ledger_same(shop->ledger, &shop->error));
    run("mv %s %s", beside(shop, "copy.db"), shop->path);
    REFUSED(DW_ERR_STATE, "replaced by another", dw_ledger_same(shop->ledger, &shop->error));
    REFUSED(DW_ERR_STATE, "replaced by another",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    REFUSED(DW_ERR_STATE, "replaced by another",
            dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, &shop->error));
    REFUSED(DW_ERR_STATE, "replaced by another",
            dw_ledger_document_save(shop->ledger, &act, &job, &saved, &shop->error));
    OK(dw_ledger_rules(shop->ledger, &rules, &shop->error));
    REFUSED(DW_ERR_STATE, "replaced by another",
            dw_ledger_rules_set(shop->ledger, NULL, &rules, &shop->error));
    assert_int_equal(sqlite3_get_autocommit(shop->ledger->db), 1);
    run("rm %s %s-*", shop->path, shop->path);
    REFUSED(DW_ERR_STATE, "replaced by another", dw_ledger_same(shop->ledger, &shop->error));
}

/* A copy written over it, the same inode: by the byte that says whether it wants a log. */
static void test_replaced_in_place(void **state)
{
    struct shop *shop = *state;
    struct dw_stock stock = bar("C2", 1 * MM);
    add(shop, "C1", 900 * MM);
    back_up(shop);
    run("cat %s >%s", beside(shop, "copy.db"), shop->path);
    REFUSED(DW_ERR_STATE, "replaced by another",
            dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
}

/* The last step that was seen is gone, or is another: by its seal. */
static void test_another_past(void **state)
{
    struct shop *shop = *state;
    static const char *const forged[] = {
        "DROP TRIGGER seals_no_delete; DELETE FROM seals WHERE step = 2",
        "DROP TRIGGER seals_no_update; UPDATE seals SET hash = zeroblob(32) WHERE step = 2",
    };
    for (size_t i = 0; i < DW_COUNT(forged); i++) {
        struct dw_ledger *other = NULL;
        char path[160];
        snprintf(path, sizeof path, "%s/other-%zu.db", shop->folder, i);
        OK(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &other, &shop->error));
        OK(dw_ledger_material_put(other, &act, &steel, &shop->error));
        struct dw_stock stock = bar("C1", 900 * MM);
        OK(dw_ledger_add(other, &act, &stock, 1, NULL, &shop->error));
        OK(dw_ledger_same(other, &shop->error));
        sqlite3 *db = NULL;
        assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
        assert_int_equal(sqlite3_exec(db, forged[i], NULL, NULL, NULL), SQLITE_OK);
        sqlite3_close(db);
        REFUSED(DW_ERR_STATE, "replaced by another", dw_ledger_same(other, &shop->error));
        dw_ledger_close(other);
    }
}

/* --- no room ---------------------------------------------------------------------------------- */

/* A copy that there is no room for leaves nothing, in a process that may write 40 kB a file. */
static void test_no_room(void **state)
{
    struct shop *shop = *state;
    add(shop, "C1", 900 * MM);
    int before = files_in(shop);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        const struct rlimit limit = {40000, 40000};
        signal(SIGXFSZ, SIG_IGN);
        if (setrlimit(RLIMIT_FSIZE, &limit) != 0)
            _exit(2);
        _exit(dw_ledger_backup(shop->ledger, beside(shop, "copy.db"), NULL) == DW_ERR_IO ? 0 : 1);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    assert_int_equal(files_in(shop), before);
    back_up(shop);
}

#define RESTORE(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        RESTORE(test_modes),
        RESTORE(test_back_from_a_copy),
        RESTORE(test_numbers_go_on),
        RESTORE(test_a_restore_is_told),
        RESTORE(test_a_restore_is_told_of_a_shelf_that_was_gone),
        RESTORE(test_what_is_lost),
        RESTORE(test_copy_is_checked),
        RESTORE(test_not_a_copy),
        RESTORE(test_older_copy),
        RESTORE(test_restore_waits_for_the_lock),
        RESTORE(test_shelf_that_can_not_be_used),
        RESTORE(test_log_that_was_left),
        RESTORE(test_foreign_file_stays),
        RESTORE(test_replaced_by_name),
        RESTORE(test_replaced_in_place),
        RESTORE(test_another_past),
        RESTORE(test_no_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
