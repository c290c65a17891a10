/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Putting a copy back, also while others use the shelf: the copy is checked in memory, gets a step
 * that says what happened, and is written over the shelf as one transaction of SQLite's. */
#include "ledger/ledger.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NOTE_MOST 1300
#define COPY_MOST ((size_t)900 << 20) /* SQLite keeps up to 1 GiB in memory */

/* --- the copy --------------------------------------------------------------------------------- */

/* Reads the file without touching it. One with a log beside it is no copy. */
static dw_err read_copy(const char *path, struct dw_ledger *copy, struct dw_error *error)
{
    struct dw_buf log = {0};
    struct stat st;
    char *bytes = NULL;
    size_t n = 0;
    dw_buf__format(&log, "%s-wal", path);
    if (log.failed)
        return dw_error__nomem(error);
    bool in_use = stat(log.text, &st) == 0 && st.st_size > 0;
    dw_buf__free(&log);
    if (in_use)
        return dw_error__at(error, DW_ERR_INPUT, path, 0, 0,
                            "this is a shelf in use, not a copy: a log lies beside it; make a copy "
                            "with `dropwise shelf backup`");
    dw_err err = dw_file__read(path, COPY_MOST, &bytes, &n, error);
    unsigned char *image = err ? NULL : sqlite3_malloc64(n + 1);
    if (!err && !image)
        err = dw_error__nomem(error);
    if (!err) {
        memcpy(image, bytes, n);
        if (n > 19)
            image[18] = image[19] = 1; /* no log: see copy.c */
        err = dw_ledger__of_image(copy, image, n, true, error);
    }
    free(bytes);
    return err;
}

/* The copy, brought forward in memory, with everything checked that can be. */
static dw_err load_copy(const char *path, struct dw_ledger *copy, struct dw_report *report,
                        struct dw_error *error)
{
    struct dw_error why = {0};
    int64_t version = 0;
    dw_err err = read_copy(path, copy, error);
    if (err)
        return err;
    err = dw_ledger__read_version(copy, &version, &why);
    if (!err && version == 0)
        err = dw_error__set(&why, DW_ERR_SCHEMA, "the file is empty");
    if (!err)
        err = dw_ledger__migrate(copy, dw_ledger__version(), &why);
    if (!err)
        err = dw_ledger_check(copy, report, &why);
    return err ? dw_error__at(error, err, path, 0, 0, "the copy is not put back: %.400s", why.text)
               : DW_OK;
}

/* --- what is lost ----------------------------------------------------------------------------- */

/* How the steps of the shelf and those of the copy compare, the step numbers given out so far, and
 * those of pieces and plans. */
struct standing {
    int64_t last_step, last_piece, last_plan;
    int64_t common; /* last step that both have, as all before it */
    int64_t copy_step;
    int64_t n_lost; /* steps of the shelf after `common` */
};

static const char steps_sql[] = "SELECT id, at, who, note, what, undoes FROM steps ORDER BY id";

static bool same_step(sqlite3_stmt *a, sqlite3_stmt *b)
{
    for (int i = 0; i < sqlite3_column_count(a); i++) {
        const char *x = (const char *)sqlite3_column_text(a, i);
        const char *y = (const char *)sqlite3_column_text(b, i);
        if (!x || !y ? x != y : strcmp(x, y) != 0)
            return false;
    }
    return true;
}

/* Cost: O(steps of the copy). */
static dw_err find_common(struct dw_ledger *shelf, struct dw_ledger *copy, int64_t *common,
                          struct dw_error *error)
{
    sqlite3_stmt *here = NULL, *there = NULL;
    bool one = true, other = true;
    *common = 0;
    dw_err err = dw_sql__open(shelf, &here, error, steps_sql, "");
    if (!err)
        err = dw_sql__open(copy, &there, error, steps_sql, "");
    while (!err) {
        err = dw_sql__next(shelf, here, &one, error);
        if (!err)
            err = dw_sql__next(copy, there, &other, error);
        if (err || !one || !other || !same_step(here, there))
            break;
        *common = sqlite3_column_int64(here, 0);
    }
    sqlite3_finalize(here);
    sqlite3_finalize(there);
    return err;
}

static dw_err compare(struct dw_ledger *shelf, struct dw_ledger *copy, struct standing *out,
                      struct dw_error *error)
{
    const struct {
        struct dw_ledger *of;
        int64_t *to;
        const char *sql;
    } rows[] = {
        {shelf, &out->last_step, "SELECT max(id) FROM steps"},
        {copy, &out->copy_step, "SELECT max(id) FROM steps"},
        {shelf, &out->last_piece,
         "SELECT max(coalesce((SELECT max(id) FROM pieces), 0),"
         " coalesce((SELECT max(last_piece) FROM restores), 0))"},
        {shelf, &out->last_plan,
         "SELECT max(coalesce((SELECT max(id) FROM plans), 0),"
         " coalesce((SELECT max(last_plan) FROM restores), 0))"},
    };
    dw_err err = find_common(shelf, copy, &out->common, error);
    for (size_t i = 0; !err && i < DW_COUNT(rows); i++)
        err = dw_sql__int(rows[i].of, rows[i].to, 0, error, rows[i].sql, "");
    if (!err)
        err = dw_sql__int(shelf, &out->n_lost, 0, error, "SELECT count(*) FROM steps WHERE id > ?",
                          "i", out->common);
    return err;
}

/* Fills *out, and asks for consent where steps are lost. */
static dw_err ask(struct dw_ledger *shelf, const struct standing *at, bool lose,
                  struct dw_restored *out, struct dw_error *error)
{
    int64_t first = 0;
    char from[DW_DEED_TEXT], to[DW_DEED_TEXT];
    out->copy_step = at->copy_step;
    out->n_lost = at->n_lost;
    if (at->n_lost == 0)
        return DW_OK;
    dw_err err = dw_sql__int(shelf, &first, 0, error, "SELECT min(id) FROM steps WHERE id > ?", "i",
                             at->common);
    if (!err)
        err = dw_ledger_deed(shelf, first, &out->first_lost, error);
    if (!err)
        err = dw_ledger_deed(shelf, at->last_step, &out->last_lost, error);
    if (err || lose)
        return err;
    dw_deed_print(from, &out->first_lost);
    dw_deed_print(to, &out->last_lost);
    if (at->n_lost == 1)
        return dw_error__set(error, DW_ERR_STATE,
                             "the copy does not have %.300s; `--lose-later` puts it back all the "
                             "same",
                             to);
    return dw_error__set(error, DW_ERR_STATE,
                         "the copy does not have %lld steps of the shelf, from %.160s to %.160s; "
                         "`--lose-later` puts it back all the same",
                         (long long)at->n_lost, from, to);
}

/* --- the step --------------------------------------------------------------------------------- */

/* Keys of documents that were given out are not given again. */
static dw_err raise_documents(struct dw_ledger *shelf, struct dw_ledger *copy,
                              struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = true;
    dw_err err = dw_sql__open(shelf, &stmt, error, "SELECT kind, last FROM document_numbers", "");
    while (!err) {
        err = dw_sql__next(shelf, stmt, &row, error);
        if (err || !row)
            break;
        err = dw_sql__run(copy, NULL, error,
                          "INSERT INTO document_numbers(kind, last) VALUES (?, ?)"
                          " ON CONFLICT(kind) DO UPDATE SET last = max(last, excluded.last)",
                          "ti", (const char *)sqlite3_column_text(stmt, 0),
                          (int64_t)sqlite3_column_int64(stmt, 1));
    }
    sqlite3_finalize(stmt);
    return err;
}

/* The note of the step names the copy: "from monday.db", behind what its author wrote. */
static void put_note(char note[NOTE_MOST], const struct dw_restore *how)
{
    const char *name = strrchr(how->copy, '/');
    const char *written = how->act.note ? how->act.note : "";
    name = name ? name + 1 : how->copy;
    bool told = dw_ledger__text_ok("the name", name, 255, NULL) == DW_OK;
    snprintf(note, NOTE_MOST, "%s%s%s%s", written, *written && told ? "; " : "",
             told ? "from " : "", told ? name : "");
}

/* The step that says so, in the copy, numbered after all that the shelf has: who saw a step that is
 * lost can tell. `shelf` NULL: nothing is known of it. */
static dw_err enter_restore(struct dw_ledger *shelf, struct dw_ledger *copy,
                            const struct dw_restore *how, const struct standing *at, int64_t *step,
                            struct dw_error *error)
{
    const struct dw_act *act = &how->act;
    char note[NOTE_MOST];
    dw_err err = dw_sql__exec(copy, "BEGIN IMMEDIATE", error);
    if (err)
        return err;
    put_note(note, how);
    int64_t last = at->last_step > at->copy_step ? at->last_step : at->copy_step;
    err = dw_sql__run(
        copy, NULL, error, "INSERT INTO steps(id, at, who, note, what) VALUES (?, ?, ?, ?, ?)",
        "itttt", last + 1, act->when, act->who, *note ? note : NULL, dw_step_word(DW_STEP_RESTORE));
    if (!err)
        err = dw_sql__run(copy, NULL, error,
                          "INSERT INTO restores(step, copy_step, last_step, last_piece, last_plan)"
                          " VALUES (?, ?, ?, ?, ?)",
                          "iiiii", last + 1, at->copy_step, last, at->last_piece, at->last_plan);
    if (!err && shelf)
        err = raise_documents(shelf, copy, error);
    copy->step = last + 1;
    return dw_ledger__end(copy, err, step, error);
}

/* --- putting it back -------------------------------------------------------------------------- */

/* Takes the lock of the shelf for the whole of what follows: the first call of a backup begins the
 * transaction that writes. */
static dw_err take_lock(struct dw_ledger *to, struct dw_ledger *copy, int busy_ms,
                        sqlite3_backup **backup, struct dw_error *error)
{
    *backup = sqlite3_backup_init(to->db, "main", copy->db, "main");
    int rc = *backup ? SQLITE_BUSY : sqlite3_errcode(to->db);
    for (int waited = 0; *backup && rc == SQLITE_BUSY && waited <= busy_ms; waited += 10) {
        rc = sqlite3_backup_step(*backup, 0);
        if (rc == SQLITE_BUSY)
            sqlite3_sleep(10);
    }
    return dw_sql__fail(to, rc, error);
}

/* The shelf as it was, beside it: shelf.db.before-21. */
static dw_err keep_before(struct dw_ledger *shelf, const char *path, int64_t step, char **kept,
                          struct dw_error *error)
{
    dw_err err = DW_ERR_EXISTS;
    for (int i = 1; err == DW_ERR_EXISTS && i <= 100; i++) {
        struct dw_buf name = {0};
        struct dw_error why = {0};
        dw_buf__format(&name, "%s.before-%lld", path, (long long)step);
        if (i > 1)
            dw_buf__format(&name, "-%d", i);
        free(*kept);
        *kept = dw_buf__take(&name);
        err = *kept ? dw_ledger_backup(shelf, *kept, &why) : dw_error__nomem(&why);
        if (err && (err != DW_ERR_EXISTS || i == 100))
            dw_error__at(error, err, why.file, 0, 0, "the shelf as it is can't be kept: %.400s",
                         why.text);
    }
    return err;
}

/* `shelf` reads, `to` has the lock: nobody changes anything in between. */
static dw_err put_back(struct dw_ledger *shelf, struct dw_ledger *to, struct dw_ledger *copy,
                       const struct dw_restore *how, struct dw_restored *out,
                       struct dw_error *error)
{
    sqlite3_backup *backup = NULL;
    struct standing at = {0};
    dw_err err = take_lock(to, copy, how->busy_ms, &backup, error);
    if (!err)
        err = dw_ledger_same(shelf, error);
    if (!err)
        err = compare(shelf, copy, &at, error);
    if (!err)
        err = ask(shelf, &at, how->lose_later, out, error);
    if (!err)
        err = enter_restore(shelf, copy, how, &at, &out->step, error);
    if (!err)
        err = keep_before(shelf, how->path, out->step, &out->kept, error);
    if (!err && sqlite3_backup_step(backup, -1) != SQLITE_DONE)
        err = dw_error__set(error, DW_ERR_IO, "the shelf can't be written; nothing was changed");
    int rc = sqlite3_backup_finish(backup);
    if (!err)
        err = dw_sql__fail(to, rc, error);
    if (err && out->kept)
        unlink(out->kept); /* the shelf is as it was */
    return err;
}

static dw_err restore_over(struct dw_ledger *copy, const struct dw_restore *how,
                           struct dw_restored *out, struct dw_error *error)
{
    struct dw_ledger *shelf = NULL, *to = NULL;
    dw_err err = dw_ledger_open(how->path, DW_LEDGER_WRITE, how->busy_ms, &shelf, error);
    if (!err)
        err = dw_ledger_open(how->path, DW_LEDGER_WRITE, how->busy_ms, &to, error);
    if (!err)
        err = put_back(shelf, to, copy, how, out, error);
    dw_ledger_close(to);
    dw_ledger_close(shelf);
    return err;
}

/* --- where the shelf can't be used ------------------------------------------------------------ */

/* "DWSH" and the version stand at bytes 68 and 60 of an SQLite file (SQLite, "Database File
 * Format", 1.3): a damaged shelf of ours. */
static bool is_ours(const char *path)
{
    unsigned char head[72] = {0};
    FILE *file = fopen(path, "rb");
    bool good = file && fread(head, 1, sizeof head, file) == sizeof head &&
                memcmp(head, "SQLite format 3", 16) == 0 && memcmp(head + 68, "DWSH", 4) == 0 &&
                head[60] == 0 && head[61] == 0 && head[62] == 0 && head[63] <= dw_ledger__version();
    if (file)
        fclose(file);
    return good;
}

static dw_err move_one(const char *path, const char *to, const char *tail, bool *moved,
                       struct dw_error *error)
{
    struct dw_buf from = {0}, there = {0};
    dw_buf__format(&from, "%s%s", path, tail);
    dw_buf__format(&there, "%s%s", to, tail);
    dw_err err = from.failed || there.failed ? dw_error__nomem(error) : DW_OK;
    *moved = !err && rename(from.text, there.text) == 0;
    if (!err && !*moved && errno != ENOENT)
        err = dw_error__at(error, DW_ERR_IO, path, 0, 0,
                           "the file that is there can't be moved away: %s", strerror(errno));
    dw_buf__free(&from);
    dw_buf__free(&there);
    return err;
}

/* Out of the way, as shelf.db.damaged, with what lies beside it: SQLite would take an old log for
 * that of the new file. *kept stays NULL where there is no file. */
static dw_err move_away(const char *path, char **kept, struct dw_error *error)
{
    static const char *const tails[] = {"-wal", "-journal", "-shm", ""};
    struct dw_buf name = {0};
    bool moved = false;
    dw_buf__format(&name, "%s.damaged", path);
    for (int i = 2; !name.failed && access(name.text, F_OK) == 0 && i <= 100; i++) {
        name.n = 0;
        dw_buf__format(&name, "%s.damaged-%d", path, i);
    }
    char *to = dw_buf__take(&name);
    dw_err err = to ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; !err && i < DW_COUNT(tails); i++)
        err = move_one(path, to, tails[i], &moved, error);
    if (!err && moved)
        *kept = to;
    else
        free(to);
    return err;
}

/* `why`: what is wrong with the file that is there. */
static dw_err restore_beside(struct dw_ledger *copy, const struct dw_restore *how,
                             const struct dw_error *why, struct dw_restored *out,
                             struct dw_error *error)
{
    struct standing at = {0};
    dw_err err = compare(copy, copy, &at, error);
    if (err)
        return err;
    out->copy_step = at.copy_step;
    if (access(how->path, F_OK) == 0) {
        if (!is_ours(how->path))
            return dw_error__at(error, why->code, why->file, 0, 0, "%s", why->text);
        if (!how->lose_later)
            return dw_error__at(error, DW_ERR_STATE, how->path, 0, 0,
                                "the shelf file is damaged: what it has after the copy can't be "
                                "told; `--lose-later` puts the copy in its place");
    }
    err = enter_restore(NULL, copy, how, &at, &out->step, error);
    if (!err)
        err = move_away(how->path, &out->kept, error);
    return err ? err : dw_ledger_backup(copy, how->path, error);
}

static bool same_file(const char *a, const char *b)
{
    struct stat one, other;
    return stat(a, &one) == 0 && stat(b, &other) == 0 && one.st_dev == other.st_dev &&
           one.st_ino == other.st_ino;
}

dw_err dw_ledger_restore(const struct dw_restore *how, struct dw_restored *out,
                         struct dw_report *report, struct dw_error *error)
{
    struct dw_ledger copy = {0};
    struct dw_error why = {0};
    *out = (struct dw_restored){0};
    dw_err err = dw_ledger__check_act(&how->act, error);
    if (!err && same_file(how->path, how->copy))
        err = dw_error__at(error, DW_ERR_INPUT, how->copy, 0, 0,
                           "this is the shelf itself, not a copy of it");
    if (!err)
        err = load_copy(how->copy, &copy, report, error);
    if (!err) {
        err = restore_over(&copy, how, out, &why);
        if (err == DW_ERR_NOTFOUND || err == DW_ERR_SCHEMA)
            err = restore_beside(&copy, how, &why, out, error);
        else if (err)
            dw_error__at(error, err, why.file[0] ? why.file : NULL, 0, 0, "%s", why.text);
    }
    dw_ledger__forget(&copy);
    sqlite3_close(copy.db);
    if (err)
        dw_restored_free(out);
    return err;
}

void dw_restored_free(struct dw_restored *restored)
{
    free(restored->kept);
    *restored = (struct dw_restored){0};
}
