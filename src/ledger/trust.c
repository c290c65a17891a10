/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Why the shop can believe the ledger: the balance of lengths, the checks, the copy. */
#include "ledger/ledger.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

dw_err dw_ledger_balance(struct dw_ledger *ledger, struct dw_balance *out, struct dw_error *error)
{
    *out = (struct dw_balance){0};
    const struct {
        int64_t *to;
        const char *sql;
    } sums[] = {
        {&out->in, "SELECT sum(coalesce(v.to_measured, p.length)) FROM moves AS v JOIN pieces AS p"
                   " ON p.id = v.piece WHERE v.from_state IS NULL AND p.parent IS NULL AND"
                   " p.state <> 'void'"},
        {&out->corrected, "SELECT sum(coalesce(p.measured, p.length) -"
                          " coalesce(v.to_measured, p.length)) FROM moves AS v JOIN pieces AS p"
                          " ON p.id = v.piece WHERE v.from_state IS NULL AND p.state <> 'void'"},
        {&out->parts, "SELECT sum(parts) FROM live_cuts"},
        {&out->posts, "SELECT sum(posts) FROM live_cuts"},
        {&out->on_shelf,
         "SELECT sum(coalesce(measured, length)) FROM pieces WHERE state = 'shelf'"},
        {&out->held, "SELECT sum(coalesce(measured, length)) FROM pieces WHERE state = 'held'"},
        {&out->scrap, "SELECT (SELECT coalesce(sum(scrap), 0) FROM live_cuts) +"
                      " (SELECT coalesce(sum(coalesce(measured, length)), 0) FROM pieces"
                      " WHERE state = 'scrapped')"},
        {&out->trim, "SELECT sum(trim) FROM live_cuts"},
        {&out->chips, "SELECT sum(chips) FROM live_cuts"},
        {&out->lost, "SELECT sum(coalesce(measured, length)) FROM pieces WHERE state = 'lost'"},
        {&out->kept, "SELECT sum(kept) FROM live_cuts"},
        {&out->n_shelf, "SELECT count(*) FROM pieces WHERE state = 'shelf'"},
        {&out->n_held, "SELECT count(*) FROM pieces WHERE state = 'held'"},
    };
    /* One snapshot for all of them. */
    bool own = sqlite3_get_autocommit(ledger->db) != 0;
    dw_err err = own ? dw_sql__exec(ledger, "BEGIN", error) : DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(sums); i++)
        err = dw_sql__int(ledger, sums[i].to, 0, error, sums[i].sql, "");
    if (own)
        sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    return err;
}

/* --- checks ----------------------------------------------------------------------------------- */

/* Each statement counts what must not be. */
static const struct {
    const char *what;
    const char *sql;
} faults[] = {
    {"pieces whose state differs from the last move of their history",
     "SELECT count(*) FROM pieces AS p WHERE NOT EXISTS (SELECT 1 FROM moves AS v WHERE v.id ="
     " (SELECT max(id) FROM moves WHERE piece = p.id) AND v.to_state = p.state AND"
     " v.to_measured IS p.measured AND v.to_plan IS p.plan AND v.to_place IS p.place)"},
    {"moves that do not begin where the one before ended",
     "SELECT count(*) FROM (SELECT from_state, from_measured, from_plan, from_place,"
     " lag(to_state) OVER w AS s, lag(to_measured) OVER w AS m, lag(to_plan) OVER w AS l,"
     " lag(to_place) OVER w AS c FROM moves WINDOW w AS (PARTITION BY piece ORDER BY id))"
     " WHERE from_state IS NOT s OR (from_state IS NOT NULL AND"
     " (from_measured IS NOT m OR from_plan IS NOT l OR from_place IS NOT c))"},
    {"used pieces without exactly one cut",
     "SELECT count(*) FROM pieces AS p WHERE (p.state = 'used') <>"
     " (SELECT count(*) FROM live_cuts WHERE piece = p.id)"},
    {"cuts that do not add up to their bar",
     "SELECT count(*) FROM live_cuts AS c JOIN pieces AS p ON p.id = c.piece WHERE"
     " c.parts + c.posts + c.kept + c.scrap + c.trim + c.chips <> coalesce(p.measured, p.length)"},
    {"cuts whose offcuts are not what was kept",
     "SELECT count(*) FROM live_cuts AS c WHERE c.kept <> (SELECT coalesce(sum("
     "coalesce(v.to_measured, p.length)), 0) FROM pieces AS p JOIN moves AS v ON v.piece = p.id"
     " AND v.from_state IS NULL WHERE p.parent = c.piece AND p.state <> 'void')"},
    {"pieces held by a plan that is not open",
     "SELECT count(*) FROM pieces AS p WHERE p.state = 'held' AND NOT EXISTS"
     " (SELECT 1 FROM live_plans WHERE id = p.plan AND open)"},
    {"bars of open plans whose piece is neither held nor cut",
     "SELECT count(*) FROM plan_bars AS b JOIN live_plans AS l ON l.id = b.plan AND l.open"
     " JOIN pieces AS p ON p.id = b.piece WHERE NOT EXISTS"
     " (SELECT 1 FROM live_cuts AS c WHERE c.plan = b.plan AND c.bar = b.bar)"
     " AND (p.state <> 'held' OR p.plan <> b.plan)"},
    {"numbers that two pieces have",
     "SELECT count(*) FROM (SELECT number FROM pieces WHERE state <> 'void' GROUP BY number"
     " HAVING count(*) > 1)"},
};

static dw_err check_faults(struct dw_ledger *ledger, struct dw_report *report,
                           struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(faults); i++) {
        int64_t n = 0;
        err = dw_sql__int(ledger, &n, 0, error, faults[i].sql, "");
        if (!err && n != 0 &&
            dw_report__add(report, DW_WRONG, NULL, 0, 0, "%s: %lld", faults[i].what,
                           (long long)n) != DW_OK)
            err = dw_error__nomem(error);
    }
    return err;
}

static dw_err check_balance(struct dw_ledger *ledger, struct dw_report *report,
                            struct dw_error *error)
{
    struct dw_balance b;
    dw_err err = dw_ledger_balance(ledger, &b, error);
    if (err)
        return err;
    dw_length out = b.parts + b.posts + b.on_shelf + b.held + b.scrap + b.trim + b.chips + b.lost;
    dw_length in = b.in + b.corrected;
    if (in != out &&
        dw_report__add(report, DW_WRONG, NULL, 0, 0,
                       "lengths do not balance: %lld nm came in, %lld nm are accounted for",
                       (long long)in, (long long)out) != DW_OK)
        err = dw_error__nomem(error);
    return err;
}

/* The rows of a check of SQLite's own; "ok" is none. */
static dw_err check_pragma(struct dw_ledger *ledger, const char *pragma, struct dw_report *report,
                           struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = true;
    dw_err err = dw_sql__open(ledger, &stmt, error, pragma, "");
    while (!err) {
        err = dw_sql__next(ledger, stmt, &row, error);
        if (err || !row)
            break;
        const char *said = (const char *)sqlite3_column_text(stmt, 0);
        if ((!said || strcmp(said, "ok") != 0) &&
            dw_report__add(report, DW_WRONG, NULL, 0, 0, "%s: %s", pragma, said ? said : "?") !=
                DW_OK)
            err = dw_error__nomem(error);
    }
    sqlite3_finalize(stmt);
    return err;
}

dw_err dw_ledger_check(struct dw_ledger *ledger, struct dw_report *report, struct dw_error *error)
{
    dw_err err = dw_sql__exec(ledger, "BEGIN", error);
    if (err)
        return err;
    err = check_pragma(ledger, "PRAGMA integrity_check", report, error);
    if (!err)
        err = check_pragma(ledger, "PRAGMA foreign_key_check", report, error);
    if (!err)
        err = check_faults(ledger, report, error);
    if (!err)
        err = dw_ledger__check_seals(ledger, report, error);
    if (!err)
        err = check_balance(ledger, report, error);
    sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    if (!err && report->n_wrong > 0)
        err = dw_error__set(error, DW_ERR_CHECK, "the ledger is not in order");
    return err;
}

/* --- copy ------------------------------------------------------------------------------------- */

static dw_err copy_pages(struct dw_ledger *ledger, sqlite3 *to, struct dw_error *error)
{
    sqlite3_backup *backup = sqlite3_backup_init(to, "main", ledger->db, "main");
    if (!backup)
        return dw_error__set(error, DW_ERR_IO, "the copy: %s", sqlite3_errmsg(to));
    int rc = SQLITE_OK;
    for (int tries = 0; tries < 500; tries++) {
        rc = sqlite3_backup_step(backup, -1);
        if (rc != SQLITE_BUSY && rc != SQLITE_LOCKED)
            break;
        sqlite3_sleep(10);
    }
    sqlite3_backup_finish(backup);
    if (rc == SQLITE_DONE) /* one file, without a log beside it */
        rc = sqlite3_exec(to, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    struct dw_ledger copy = {.db = to};
    return dw_sql__fail(&copy, rc, error);
}

dw_err dw_ledger_backup(struct dw_ledger *ledger, const char *to, struct dw_error *error)
{
    struct dw_error why = {0};
    struct dw_buf name = {0};
    dw_buf__format(&name, "%s.%ld.tmp", to, (long)getpid());
    char *temporary = dw_buf__take(&name);
    if (!temporary)
        return dw_error__nomem(error);
    sqlite3 *db = NULL;
    dw_err err = DW_OK;
    if (access(to, F_OK) == 0)
        err = dw_error__set(&why, DW_ERR_EXISTS, "the file exists: a copy overwrites nothing");
    else if (sqlite3_open_v2(temporary, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL))
        err = dw_error__set(&why, DW_ERR_IO, "the copy can't be written here");
    else
        err = copy_pages(ledger, db, &why);
    sqlite3_close(db);
    if (!err && link(temporary, to) != 0)
        err = dw_error__set(&why, errno == EEXIST ? DW_ERR_EXISTS : DW_ERR_IO,
                            "the copy can't be put in place: %s", strerror(errno));
    unlink(temporary);
    free(temporary);
    if (err)
        dw_error__at(error, err, to, 0, 0, "%s", why.text);
    return err;
}

#define IMAGE_MOST (INT64_C(256) << 20)

/* Bytes 18 and 19 of an SQLite file say whether it wants a log beside it: 1, no (SQLite, "Database
 * File Format", 1.3.3). */
dw_err dw_ledger_image(struct dw_ledger *ledger, unsigned char **bytes, size_t *n,
                       struct dw_error *error)
{
    *bytes = NULL;
    *n = 0;
    sqlite3_int64 size = 0;
    unsigned char *image = sqlite3_serialize(ledger->db, "main", &size, 0);
    dw_err err = image ? DW_OK : dw_error__nomem(error);
    if (!err && size > IMAGE_MOST)
        err = dw_error__set(error, DW_ERR_LIMIT,
                            "the shelf is over 256 MiB: use dropwise shelf backup");
    if (!err && !(*bytes = malloc((size_t)size + 1)))
        err = dw_error__nomem(error);
    if (!err) {
        memcpy(*bytes, image, (size_t)size);
        if (size > 19)
            (*bytes)[18] = (*bytes)[19] = 1;
        *n = (size_t)size;
    }
    sqlite3_free(image);
    return err;
}
