/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Statements with bound values, and what SQLite's answers mean. */
#include "ledger/ledger.h"

#include <string.h>

dw_err dw_sql__fail(struct dw_ledger *ledger, int rc, struct dw_error *error)
{
    switch (rc & 0xff) {
    case SQLITE_OK:
    case SQLITE_ROW:
    case SQLITE_DONE:
        return DW_OK;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return dw_error__set(error, DW_ERR_BUSY,
                             "the shelf is busy: another process is writing to it; try again");
    case SQLITE_NOMEM:
        return dw_error__nomem(error);
    case SQLITE_FULL:
        return dw_error__set(error, DW_ERR_IO,
                             "no room left to write the shelf; nothing was "
                             "changed");
    case SQLITE_READONLY:
    case SQLITE_PERM:
        return dw_error__set(error, DW_ERR_IO, "the shelf file may not be written to");
    case SQLITE_CANTOPEN:
        return dw_error__set(error, DW_ERR_IO, "the shelf file can't be opened");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        ledger->damaged = true;
        return dw_error__set(error, DW_ERR_SCHEMA, "not a shelf file, or a damaged one: %s",
                             sqlite3_errmsg(ledger->db));
    case SQLITE_CONSTRAINT:
        return dw_error__set(error, DW_ERR_STATE, "refused by the ledger: %s",
                             sqlite3_errmsg(ledger->db));
    default:
        return dw_error__set(error, DW_ERR_IO, "the shelf file: %s; nothing was changed",
                             sqlite3_errmsg(ledger->db));
    }
}

dw_err dw_sql__exec(struct dw_ledger *ledger, const char *sql, struct dw_error *error)
{
    return dw_sql__fail(ledger, sqlite3_exec(ledger->db, sql, NULL, NULL, NULL), error);
}

static int bind_one(sqlite3_stmt *stmt, int at, char type, va_list *args)
{
    if (type == 't') {
        const char *text = va_arg(*args, const char *);
        return text ? sqlite3_bind_text(stmt, at, text, -1, SQLITE_TRANSIENT)
                    : sqlite3_bind_null(stmt, at);
    }
    int64_t value = va_arg(*args, int64_t);
    return type == 'n' && value == 0 ? sqlite3_bind_null(stmt, at)
                                     : sqlite3_bind_int64(stmt, at, value);
}

static dw_err open_va(struct dw_ledger *ledger, sqlite3_stmt **out, struct dw_error *error,
                      const char *sql, const char *types, va_list *args)
{
    *out = NULL;
    sqlite3_stmt *stmt = NULL;
    int rc = sqlite3_prepare_v2(ledger->db, sql, -1, &stmt, NULL);
    for (int i = 0; rc == SQLITE_OK && types[i]; i++)
        rc = bind_one(stmt, i + 1, types[i], args);
    dw_err err = dw_sql__fail(ledger, rc, error);
    if (err)
        sqlite3_finalize(stmt);
    else
        *out = stmt;
    return err;
}

dw_err dw_sql__open(struct dw_ledger *ledger, sqlite3_stmt **out, struct dw_error *error,
                    const char *sql, const char *types, ...)
{
    va_list args;
    va_start(args, types);
    dw_err err = open_va(ledger, out, error, sql, types, &args);
    va_end(args);
    return err;
}

dw_err dw_sql__next(struct dw_ledger *ledger, sqlite3_stmt *stmt, bool *row, struct dw_error *error)
{
    int rc = sqlite3_step(stmt);
    *row = rc == SQLITE_ROW;
    return dw_sql__fail(ledger, rc, error);
}

dw_err dw_sql__run(struct dw_ledger *ledger, int *changes, struct dw_error *error, const char *sql,
                   const char *types, ...)
{
    va_list args;
    va_start(args, types);
    sqlite3_stmt *stmt = NULL;
    dw_err err = open_va(ledger, &stmt, error, sql, types, &args);
    va_end(args);
    bool row = true;
    while (!err && row)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err && changes)
        *changes = sqlite3_changes(ledger->db);
    sqlite3_finalize(stmt);
    return err;
}

dw_err dw_sql__int(struct dw_ledger *ledger, int64_t *out, int64_t none, struct dw_error *error,
                   const char *sql, const char *types, ...)
{
    va_list args;
    va_start(args, types);
    sqlite3_stmt *stmt = NULL;
    dw_err err = open_va(ledger, &stmt, error, sql, types, &args);
    va_end(args);
    bool row = false;
    *out = none;
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row && sqlite3_column_type(stmt, 0) != SQLITE_NULL)
        *out = sqlite3_column_int64(stmt, 0);
    sqlite3_finalize(stmt);
    return err;
}

unsigned dw_sql__word(sqlite3_stmt *stmt, int column, const struct dw_words *words)
{
    const char *word = (const char *)sqlite3_column_text(stmt, column);
    unsigned found = 0;
    if (word)
        dw_words__find(words, word, strlen(word), &found);
    return found;
}

enum dw_end dw_sql__end(sqlite3_stmt *stmt, int column)
{
    return (enum dw_end)dw_sql__word(stmt, column, &dw_end__words);
}

const char *dw_sql__text(sqlite3_stmt *stmt, int column, struct dw_arena *arena, bool *failed)
{
    if (sqlite3_column_type(stmt, column) == SQLITE_NULL)
        return NULL;
    const char *text = (const char *)sqlite3_column_text(stmt, column);
    const char *copy = text ? dw_arena__text(arena, text) : NULL;
    if (!copy)
        *failed = true;
    return copy;
}
