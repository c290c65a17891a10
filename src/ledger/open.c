/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening: what is a ledger, what is not, and bringing an older one forward. */
#include "ledger/ledger.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static dw_err not_ours(struct dw_error *error, const char *why)
{
    return dw_error__set(error, DW_ERR_SCHEMA,
                         "not a shelf file of Dropwise (%s); nothing was "
                         "changed",
                         why);
}

/* The three marks as they stand at one moment: another process may be making the file. */
static dw_err read_marks(struct dw_ledger *ledger, int64_t *application, int64_t *version,
                         int64_t *objects, struct dw_error *error)
{
    dw_err err = dw_sql__exec(ledger, "SAVEPOINT marks", error);
    if (err)
        return err;
    err = dw_sql__int(ledger, application, 0, error, "PRAGMA application_id", "");
    if (!err)
        err = dw_sql__int(ledger, version, 0, error, "PRAGMA user_version", "");
    if (!err)
        err = dw_sql__int(ledger, objects, 0, error, "SELECT count(*) FROM sqlite_schema", "");
    dw_err released = dw_sql__exec(ledger, "RELEASE marks", err ? NULL : error);
    return err ? err : released;
}

dw_err dw_ledger__read_version(struct dw_ledger *ledger, int64_t *version, struct dw_error *error)
{
    int64_t application = 0, objects = 0;
    dw_err err = read_marks(ledger, &application, version, &objects, error);
    if (err)
        return err;
    if (application == 0 && *version == 0 && objects == 0)
        return DW_OK;
    if (application != DW_LEDGER_APPLICATION)
        return not_ours(error, "another program's database");
    if (*version > dw_ledger__version())
        return dw_error__set(error, DW_ERR_SCHEMA,
                             "the shelf file has version %lld, this program knows up to %d; "
                             "nothing was changed; use a newer Dropwise",
                             (long long)*version, dw_ledger__version());
    return *version < 1 ? not_ours(error, "no version") : DW_OK;
}

static dw_err migrate(struct dw_ledger *ledger, int version, struct dw_error *error)
{
    dw_err err = dw_sql__exec(ledger, "BEGIN IMMEDIATE", error);
    if (err)
        return err;
    int64_t at = 0, loose = 0;
    err = dw_ledger__read_version(ledger, &at,
                                  error); /* again: another process may have been first */
    for (int v = (int)at; !err && v < version; v++) {
        char pragma[96];
        snprintf(pragma, sizeof pragma, "PRAGMA application_id = %d; PRAGMA user_version = %d",
                 DW_LEDGER_APPLICATION, v + 1);
        for (const char *const *sql = dw_ledger__schema(v); !err && *sql; sql++)
            err = dw_sql__exec(ledger, *sql, error);
        if (!err)
            err = dw_sql__exec(ledger, pragma, error);
    }
    if (!err)
        err = dw_sql__int(ledger, &loose, 0, error, "SELECT count(*) FROM pragma_foreign_key_check",
                          "");
    if (!err && loose > 0)
        err =
            dw_error__set(error, DW_ERR_SCHEMA, "the file is damaged: %lld row%s that %s not there",
                          (long long)loose, loose == 1 ? " names another" : "s name others",
                          loose == 1 ? "is" : "are");
    if (!err && at < DW_LEDGER_SEALED && version >= DW_LEDGER_SEALED)
        err = dw_ledger__seal(ledger, error);
    if (!err)
        err = dw_sql__exec(ledger, "COMMIT", error);
    if (err)
        sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    return err;
}

/* A table that others refer to can be built anew only while references are not enforced, and only
 * if the others' text is left alone (SQLite, "ALTER TABLE", section 7); they are checked at the
 * end. */
dw_err dw_ledger__migrate(struct dw_ledger *ledger, int version, struct dw_error *error)
{
    dw_err err =
        dw_sql__exec(ledger, "PRAGMA foreign_keys = OFF; PRAGMA legacy_alter_table = ON", error);
    if (!err)
        err = migrate(ledger, version, error);
    dw_err on = dw_sql__exec(ledger, "PRAGMA foreign_keys = ON; PRAGMA legacy_alter_table = OFF",
                             err ? NULL : error);
    return err ? err : on;
}

dw_err dw_ledger__quick_check(struct dw_ledger *ledger, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    errno = 0; /* malloc sets it where SQLite blames a page */
    dw_err err = dw_sql__open(ledger, &stmt, error, "PRAGMA quick_check(1)", "");
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err) {
        const char *said = row ? (const char *)sqlite3_column_text(stmt, 0) : NULL;
        ledger->damaged = errno != ENOMEM && (!said || strcmp(said, "ok") != 0);
        if (errno == ENOMEM)
            err = dw_error__nomem(error);
        else if (ledger->damaged)
            err = dw_error__set(error, DW_ERR_SCHEMA, "the file is damaged: %.200s",
                                said ? said : "no answer");
    }
    sqlite3_finalize(stmt);
    return err;
}

/* Write-ahead log, once for the life of the file. SQLite does not wait for the lock it needs. */
static dw_err use_wal(struct dw_ledger *ledger, int busy_ms, struct dw_error *error)
{
    int rc = SQLITE_BUSY;
    for (int waited = 0; (rc & 0xff) == SQLITE_BUSY && waited <= busy_ms; waited += 10) {
        rc = sqlite3_exec(ledger->db, "PRAGMA journal_mode = WAL", NULL, NULL, NULL);
        if ((rc & 0xff) == SQLITE_BUSY)
            sqlite3_sleep(10);
    }
    dw_err err = dw_sql__fail(ledger, rc, error);
    return err ? err : dw_sql__exec(ledger, "PRAGMA synchronous = FULL", error);
}

/* *older: opened for reading, but it must be brought forward first. */
static dw_err prepare_file(struct dw_ledger *ledger, enum dw_ledger_mode mode, int busy_ms,
                           bool *older, struct dw_error *error)
{
    int64_t version = 0;
    dw_err err = dw_ledger__read_version(ledger, &version, error);
    if (!err && version == 0 && mode != DW_LEDGER_CREATE)
        err = dw_error__set(error, DW_ERR_NOTFOUND,
                            "the shelf file is empty: nothing was ever "
                            "put on this shelf");
    if (!err && mode == DW_LEDGER_READ) {
        *older = version < dw_ledger__version();
        return DW_OK;
    }
    if (!err)
        err =
            dw_ledger__quick_check(ledger, error); /* damage is found before anything is written */
    if (!err && sqlite3_db_readonly(ledger->db, "main") == 1)
        err = dw_sql__fail(ledger, SQLITE_READONLY, error);
    if (!err)
        err = use_wal(ledger, busy_ms, error);
    if (!err && version < dw_ledger__version())
        err = dw_ledger__migrate(ledger, dw_ledger__version(), error);
    return err;
}

/* Makes the file, for its owner alone; SQLite gives what lies beside it the same mode. */
static dw_err make_file(const char *path, struct dw_error *error)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (fd < 0 && errno != EEXIST) /* another process was first */
        return dw_error__set(error, DW_ERR_IO, "the shelf file can't be made: %s", strerror(errno));
    if (fd >= 0)
        close(fd); /* before SQLite opens it: closing any descriptor of a file drops its locks */
    return DW_OK;
}

/* SQLite would make a file where a folder or nothing is, or answer in general terms. */
static dw_err look_first(const char *path, enum dw_ledger_mode mode, struct dw_error *error)
{
    struct stat st;
    if (stat(path, &st) != 0) {
        if (errno == ENOENT && mode == DW_LEDGER_CREATE)
            return make_file(path, error);
        return dw_error__set(error, errno == ENOENT ? DW_ERR_NOTFOUND : DW_ERR_IO,
                             errno == ENOENT ? "there is no shelf here yet: `dropwise shelf "
                                               "material` begins one"
                                             : "the shelf file can't be opened: %s",
                             strerror(errno));
    }
    if (!S_ISREG(st.st_mode))
        return dw_error__set(error, DW_ERR_IO, "the shelf must be a file, this is none");
    return DW_OK;
}

dw_err dw_ledger_open(const char *path, enum dw_ledger_mode mode, int busy_ms,
                      struct dw_ledger **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_error why = {0};
    bool older = false;
    struct dw_ledger *ledger = calloc(1, sizeof *ledger);
    if (!ledger)
        return dw_error__nomem(error);
    dw_err err = look_first(path, mode, &why);
    if (!err) {
        int flags = mode == DW_LEDGER_READ ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE;
        int rc = sqlite3_open_v2(path, &ledger->db, flags | SQLITE_OPEN_NOMUTEX, NULL);
        err = ledger->db ? dw_sql__fail(ledger, rc, &why) : dw_error__nomem(&why);
    }
    if (!err) {
        sqlite3_busy_timeout(ledger->db, busy_ms);
        sqlite3_extended_result_codes(ledger->db, 1);
        sqlite3_db_config(ledger->db, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
        sqlite3_db_config(ledger->db, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
        err = dw_sql__exec(ledger, "PRAGMA foreign_keys = ON", &why);
    }
    if (!err)
        err = prepare_file(ledger, mode, busy_ms, &older, &why);
    if (!err && !older)
        err = dw_ledger__remember(ledger, &why);
    if (err) {
        dw_error__at(error, err, path, 0, 0, "%s%s", why.text,
                     ledger->damaged ? "; `dropwise shelf restore` puts a copy back" : "");
        dw_ledger_close(ledger);
        return err;
    }
    if (older) {
        dw_ledger_close(ledger);
        return dw_ledger_open(path, DW_LEDGER_WRITE, busy_ms, out, error);
    }
    *out = ledger;
    return DW_OK;
}

void dw_ledger_close(struct dw_ledger *ledger)
{
    if (!ledger)
        return;
    dw_ledger__forget(ledger);
    sqlite3_close(ledger->db);
    free(ledger);
}
