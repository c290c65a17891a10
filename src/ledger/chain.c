/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chain: each step is sealed with a hash of the seal before it and of every row that it wrote,
 * so that a row that is changed, added or taken away behind the ledger's back is found. */
#include "ledger/ledger.h"

#include <string.h>

/* What a seal covers: rows of the steps over ?1, up to ?2. What changes in a piece or a material
 * afterwards stands in moves and material_changes. */
static const char *const covered[] = {
    "SELECT 'step', id, at, who, note, what, undoes, plan FROM steps"
    " WHERE id > ?1 AND id <= ?2 ORDER BY id",
    "SELECT 'material', * FROM material_changes WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'plan', * FROM plans WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'bar', b.* FROM plans AS p JOIN plan_bars AS b ON b.plan = p.id"
    " WHERE p.step > ?1 AND p.step <= ?2 ORDER BY b.plan, b.bar",
    "SELECT 'layout', l.* FROM plans AS p JOIN plan_pieces AS l ON l.plan = p.id"
    " WHERE p.step > ?1 AND p.step <= ?2 ORDER BY l.plan, l.layout, l.seq",
    "SELECT 'buy', b.* FROM plans AS p JOIN plan_buys AS b ON b.plan = p.id"
    " WHERE p.step > ?1 AND p.step <= ?2 ORDER BY b.plan, b.supply",
    "SELECT 'spare', s.* FROM plans AS p JOIN plan_spares AS s ON s.plan = p.id"
    " WHERE p.step > ?1 AND p.step <= ?2 ORDER BY s.plan, s.supply",
    "SELECT 'end', * FROM plan_ends WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'piece', id, number, material, kind, length, datum, far, value, owner, mark, day, job,"
    " remark, parent, step FROM pieces WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'arrival', * FROM arrivals WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'cut', * FROM cuts WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'find', * FROM finds WHERE step > ?1 AND step <= ?2 ORDER BY id",
    "SELECT 'restore', * FROM restores WHERE step > ?1 AND step <= ?2 ORDER BY step",
    "SELECT 'move', * FROM moves WHERE step > ?1 AND step <= ?2 ORDER BY id",
};

_Static_assert(DW_COUNT(covered) == DW_LEDGER_COVERED, "a ledger has room for each of them");

void dw_ledger__forget(struct dw_ledger *ledger)
{
    for (size_t i = 0; i < DW_LEDGER_COVERED; i++) {
        sqlite3_finalize(ledger->covered[i]);
        ledger->covered[i] = NULL;
    }
}

static dw_err prepare(struct dw_ledger *ledger, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_LEDGER_COVERED; i++)
        if (!ledger->covered[i])
            err = dw_sql__open(ledger, &ledger->covered[i], error, covered[i], "");
    return err;
}

/* Eight bytes, most significant first: no two lists of values have the same bytes. */
static void add_number(struct dw_sha256 *hash, int64_t value)
{
    unsigned char bytes[8];
    for (int i = 0; i < 8; i++)
        bytes[i] = (unsigned char)((uint64_t)value >> (56 - 8 * i));
    dw_sha256__add(hash, bytes, sizeof bytes);
}

/* A row: how many columns; of each its type, then an integer, or length and bytes of a text. */
static void add_row(struct dw_sha256 *hash, sqlite3_stmt *stmt)
{
    int n = sqlite3_column_count(stmt);
    add_number(hash, n);
    for (int i = 0; i < n; i++) {
        int type = sqlite3_column_type(stmt, i);
        add_number(hash, type);
        if (type == SQLITE_INTEGER) {
            add_number(hash, sqlite3_column_int64(stmt, i));
        } else if (type != SQLITE_NULL) {
            const void *bytes = sqlite3_column_blob(stmt, i);
            int size = sqlite3_column_bytes(stmt, i);
            add_number(hash, size);
            dw_sha256__add(hash, bytes, (size_t)size);
        }
    }
}

/* The seal on the steps over `after`, up to `to`, that follows the seal `before`.
 * Cost: O(rows of these steps). */
static dw_err make_seal(struct dw_ledger *ledger, int64_t after, int64_t to,
                        const unsigned char before[DW_SHA256_BYTES],
                        unsigned char out[DW_SHA256_BYTES], struct dw_error *error)
{
    struct dw_sha256 hash;
    dw_sha256__begin(&hash);
    dw_sha256__add(&hash, before, DW_SHA256_BYTES);
    dw_err err = prepare(ledger, error);
    for (size_t i = 0; !err && i < DW_COUNT(covered); i++) {
        sqlite3_stmt *stmt = ledger->covered[i];
        bool row = true;
        sqlite3_bind_int64(stmt, 1, after);
        sqlite3_bind_int64(stmt, 2, to);
        while (!err) {
            err = dw_sql__next(ledger, stmt, &row, error);
            if (err || !row)
                break;
            add_row(&hash, stmt);
        }
        sqlite3_reset(stmt);
    }
    dw_sha256__end(&hash, out);
    return err;
}

/* The last seal: 0 and zeros where there is none. */
static dw_err last_seal(struct dw_ledger *ledger, int64_t *step,
                        unsigned char hash[DW_SHA256_BYTES], struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    *step = 0;
    memset(hash, 0, DW_SHA256_BYTES);
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT step, hash FROM seals ORDER BY step DESC LIMIT 1", "");
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row) {
        *step = sqlite3_column_int64(stmt, 0);
        memcpy(hash, sqlite3_column_blob(stmt, 1), DW_SHA256_BYTES);
    }
    sqlite3_finalize(stmt);
    return err;
}

static dw_err enter_seal(struct dw_ledger *ledger, int64_t step,
                         const unsigned char hash[DW_SHA256_BYTES], struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    dw_err err = dw_sql__open(ledger, &stmt, error, "INSERT INTO seals(step, hash) VALUES (?, ?)",
                              "i", step);
    if (!err)
        err = dw_sql__fail(ledger, sqlite3_bind_blob(stmt, 2, hash, DW_SHA256_BYTES, SQLITE_STATIC),
                           error);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    sqlite3_finalize(stmt);
    return err;
}

dw_err dw_ledger__seal(struct dw_ledger *ledger, struct dw_error *error)
{
    unsigned char before[DW_SHA256_BYTES], hash[DW_SHA256_BYTES];
    int64_t after = 0, to = 0;
    dw_err err = last_seal(ledger, &after, before, error);
    if (!err)
        err = dw_sql__int(ledger, &to, 0, error, "SELECT max(id) FROM steps", "");
    if (err || to == after)
        return err;
    err = make_seal(ledger, after, to, before, hash, error);
    return err ? err : enter_seal(ledger, to, hash, error);
}

/* --- checking --------------------------------------------------------------------------------- */

/* "step 14 (bar 2 of plan 3 cut, by Ada, 2026-03-01 14:05 UTC): ..." */
static dw_err add_remark(struct dw_ledger *ledger, int64_t after, int64_t step, const char *what,
                         struct dw_report *report, struct dw_error *error)
{
    struct dw_deed deed;
    char told[DW_DEED_TEXT];
    int64_t n = 0;
    dw_err err =
        dw_sql__int(ledger, &n, 0, error, "SELECT count(*) FROM steps WHERE id > ? AND id <= ?",
                    "ii", after, step);
    if (!err && n == 1 && dw_ledger_deed(ledger, step, &deed, NULL) == DW_OK) {
        dw_deed_print(told, &deed);
        err = dw_report__add(report, DW_WRONG, NULL, 0, 0, "%.300s: %s", told, what);
    } else if (!err && n > 1) { /* a seal over what was there before there were any */
        err = dw_report__add(report, DW_WRONG, NULL, 0, 0, "steps up to %lld: %s", (long long)step,
                             what);
    } else if (!err) {
        err = dw_report__add(report, DW_WRONG, NULL, 0, 0, "step %lld: %s", (long long)step, what);
    }
    return err ? dw_error__nomem(error) : DW_OK;
}

dw_err dw_ledger__check_seals(struct dw_ledger *ledger, struct dw_report *report,
                              struct dw_error *error)
{
    unsigned char before[DW_SHA256_BYTES] = {0}, hash[DW_SHA256_BYTES];
    sqlite3_stmt *seals = NULL;
    int64_t after = 0, last = 0;
    bool row = true;
    dw_err err =
        dw_sql__open(ledger, &seals, error, "SELECT step, hash FROM seals ORDER BY step", "");
    while (!err) {
        err = dw_sql__next(ledger, seals, &row, error);
        if (err || !row)
            break;
        int64_t step = sqlite3_column_int64(seals, 0);
        const void *was = sqlite3_column_blob(seals, 1);
        err = make_seal(ledger, after, step, before, hash, error);
        if (!err && memcmp(hash, was, sizeof hash) != 0)
            err = add_remark(ledger, after, step, "what it wrote was changed afterwards", report,
                             error);
        after = step;
        memcpy(before, was, sizeof before);
    }
    sqlite3_finalize(seals);
    if (!err)
        err = dw_sql__int(ledger, &last, 0, error, "SELECT max(id) FROM steps", "");
    return err || last == after ? err
                                : add_remark(ledger, after, last, "it has no seal", report, error);
}
