/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is the file still the one that was opened? It may be replaced underneath: by another file of its
 * name, or by a copy written over it. */
#include "ledger/ledger.h"

#include <string.h>

static dw_err replaced(struct dw_error *error)
{
    return dw_error__set(error, DW_ERR_STATE,
                         "the shelf file was replaced by another while it was in use here; nothing "
                         "was done; stop the page and start it again, and put copies back with "
                         "`dropwise shelf restore`");
}

/* The last step that is sealed, and its seal. */
static dw_err read_tail(struct dw_ledger *ledger, struct dw_tail *tail, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    *tail = (struct dw_tail){0};
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT step, hash FROM seals ORDER BY step DESC LIMIT 1", "");
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row && sqlite3_column_bytes(stmt, 1) == DW_SHA256_BYTES) {
        tail->step = sqlite3_column_int64(stmt, 0);
        memcpy(tail->hash, sqlite3_column_blob(stmt, 1), DW_SHA256_BYTES);
    }
    sqlite3_finalize(stmt);
    return err;
}

/* Does the file itself, past SQLite's cache and log, want a log? Byte 18 is 2 (SQLite, "Database
 * File Format", 1.3.3). A copy that is written over the file of a shelf in use says 1. */
static bool wants_log(struct dw_ledger *ledger)
{
    sqlite3_file *file = NULL;
    unsigned char head[20] = {0};
    return sqlite3_file_control(ledger->db, "main", SQLITE_FCNTL_FILE_POINTER, &file) ==
               SQLITE_OK &&
           file && file->pMethods &&
           file->pMethods->xRead(file, head, sizeof head, 0) == SQLITE_OK && head[18] == 2;
}

dw_err dw_ledger__remember(struct dw_ledger *ledger, struct dw_error *error)
{
    ledger->log = wants_log(ledger);
    return read_tail(ledger, &ledger->tail, error);
}

/* The step that was the last one is still there as it was sealed, or a copy was put back since. */
static dw_err check_tail(struct dw_ledger *ledger, struct dw_error *error)
{
    struct dw_tail now;
    sqlite3_stmt *stmt = NULL;
    bool row = false, same = ledger->tail.step == 0;
    dw_err err =
        dw_sql__open(ledger, &stmt, error,
                     "SELECT hash FROM seals WHERE step = ?1 UNION ALL SELECT NULL FROM restores"
                     " WHERE last_step >= ?1 AND step > ?1",
                     "i", ledger->tail.step);
    while (!err && !same) {
        err = dw_sql__next(ledger, stmt, &row, error);
        if (err || !row)
            break;
        const void *hash = sqlite3_column_blob(stmt, 0);
        same = !hash || memcmp(hash, ledger->tail.hash, DW_SHA256_BYTES) == 0;
    }
    sqlite3_finalize(stmt);
    if (!err && !same)
        err = replaced(error);
    if (!err)
        err = read_tail(ledger, &now, error);
    if (!err)
        ledger->tail = now;
    return err;
}

dw_err dw_ledger_same(struct dw_ledger *ledger, struct dw_error *error)
{
    int moved = 0;
    sqlite3_file_control(ledger->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved);
    if (moved || wants_log(ledger) != ledger->log)
        return replaced(error);
    return check_tail(ledger, error);
}

dw_err dw_ledger__lock(struct dw_ledger *ledger, struct dw_error *error)
{
    dw_err err = dw_sql__exec(ledger, "BEGIN IMMEDIATE", error);
    if (err)
        return err;
    err = dw_ledger_same(ledger, error);
    if (err)
        sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    return err;
}
