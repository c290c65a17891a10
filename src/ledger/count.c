/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Stock-taking: what was seen against what is booked. */
#include "ledger/ledger.h"

#include <stdio.h>

/* The step that a piece went with: how it is gone by the book. */
static dw_err gone_by(struct dw_ledger *ledger, const struct dw_piece_row *piece,
                      char told[DW_DEED_TEXT], struct dw_error *error)
{
    int64_t step = 0;
    struct dw_deed deed;
    dw_err err = dw_sql__int(ledger, &step, 0, error,
                             "SELECT step FROM moves WHERE piece = ? AND to_state = ?"
                             " ORDER BY id DESC LIMIT 1",
                             "it", piece->id, dw_state_word(piece->state));
    if (!err)
        err = dw_ledger_deed(ledger, step, &deed, error);
    if (!err)
        dw_deed_print(told, &deed);
    return err;
}

static dw_err remark(const struct dw_count *count, const struct dw_counted *row,
                     struct dw_error *error, const char *text)
{
    dw_err err = !count->report ? DW_OK
                                : dw_report__add(count->report, DW_DOUBT, count->file, row->line, 0,
                                                 "%s", text);
    return err ? dw_error__nomem(error) : DW_OK;
}

/* A piece that is gone by the book was seen. Counted with bring_back it is on the shelf again, and
 * the book had its length too little; else it stays gone, and the row is a doubt. */
static dw_err count_gone(struct dw_ledger *ledger, const struct dw_count *count,
                         const struct dw_counted *row, struct dw_piece_row *piece,
                         struct dw_error *error)
{
    char told[DW_DEED_TEXT], text[DW_DEED_TEXT + 400];
    const char *state = dw_state_word(piece->state);
    dw_err err = gone_by(ledger, piece, told, error);
    if (err)
        return err;
    if (!count->bring_back) {
        snprintf(text, sizeof text,
                 "piece %s was seen, but is gone by the book (%.240s); if it lies there, count it "
                 "by itself: `dropwise shelf count %s LENGTH`",
                 row->number, told, row->number);
        return remark(count, row, error, text);
    }
    err = dw_sql__run(ledger, NULL, error,
                      "INSERT INTO finds(step, piece, was, length) VALUES (?, ?, ?, ?)", "iiti",
                      ledger->step, piece->id, state, piece->length);
    if (!err)
        err = dw_sql__run(ledger, NULL, error, "UPDATE pieces SET state = 'shelf' WHERE id = ?",
                          "i", piece->id);
    snprintf(text, sizeof text, "piece %s was gone by the book (%.240s); %s", row->number, told,
             piece->state == DW_STATE_USED
                 ? "what came off it stays booked, its length is booked as found; if that bar was "
                   "not cut, its parts are still to be made"
                 : "it is on the shelf again");
    piece->state = DW_STATE_SHELF;
    return err ? err : remark(count, row, error, text);
}

/* A length that is not as booked. */
static dw_err count_length(struct dw_ledger *ledger, const struct dw_counted *row,
                           const struct dw_piece_row *piece, struct dw_error *error)
{
    if (row->length == 0 || row->length == piece->length)
        return DW_OK;
    if (piece->state == DW_STATE_HELD)
        return dw_error__set(error, DW_ERR_HELD,
                             "piece %s is not as long as booked, but held by plan %lld: "
                             "report it with `dropwise miscut`, or release the plan",
                             row->number, (long long)piece->plan);
    return dw_sql__run(ledger, NULL, error, "UPDATE pieces SET measured = ? WHERE id = ?", "ii",
                       row->length, piece->id);
}

/* Books what was seen of one piece. Only what differs is written. */
static dw_err count_row(struct dw_ledger *ledger, const struct dw_count *count,
                        const struct dw_counted *row, struct dw_error *error)
{
    struct dw_piece_row piece;
    dw_err err = dw_ledger__find(ledger, row->number, &piece, error);
    if (!err)
        err = dw_ledger__text_ok("the place", row->place, 200, error);
    if (!err && row->length < 0)
        err =
            dw_error__set(error, DW_ERR_RANGE, "piece %s: a length can't be below 0", row->number);
    if (!err && (piece.state == DW_STATE_USED || piece.state == DW_STATE_SCRAPPED)) {
        err = count_gone(ledger, count, row, &piece, error);
        if (!err && piece.state != DW_STATE_SHELF)
            return DW_OK;
    }
    if (!err && piece.state == DW_STATE_LOST)
        err = dw_sql__run(ledger, NULL, error, "UPDATE pieces SET state = 'shelf' WHERE id = ?",
                          "i", piece.id);
    if (!err)
        err = count_length(ledger, row, &piece, error);
    if (!err && row->place)
        err = dw_sql__run(ledger, NULL, error,
                          "UPDATE pieces SET place = ?1 WHERE id = ?2 AND place IS NOT ?1", "ti",
                          row->place, piece.id);
    if (!err)
        err = dw_sql__run(ledger, NULL, error, "INSERT OR IGNORE INTO seen VALUES (?)", "i",
                          piece.id);
    return err;
}

/* Pieces in scope that nobody saw. */
static dw_err count_missing(struct dw_ledger *ledger, const struct dw_count *count,
                            struct dw_error *error)
{
#define MISSING                                                                                    \
    " FROM pieces WHERE (?1 IS NULL OR place = ?1) AND (?2 IS NULL OR material ="                  \
    " (SELECT id FROM materials WHERE code = ?2)) AND id NOT IN (SELECT id FROM seen)"
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT number, plan" MISSING " AND state = 'held' LIMIT 1", "tt",
                              count->place, count->material);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row)
        err = dw_error__set(error, DW_ERR_HELD,
                            "piece %s was not seen, but plan %lld holds it: release the plan "
                            "first",
                            (const char *)sqlite3_column_text(stmt, 0),
                            (long long)sqlite3_column_int64(stmt, 1));
    sqlite3_finalize(stmt);
    if (err)
        return err;
    return dw_sql__run(ledger, NULL, error,
                       "UPDATE pieces SET state = 'lost' WHERE id IN (SELECT id" MISSING
                       " AND state = 'shelf')",
                       "tt", count->place, count->material);
#undef MISSING
}

dw_err dw_ledger_count(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_count *count, struct dw_stock_list **differences,
                       int64_t *step, struct dw_error *error)
{
    if (differences)
        *differences = NULL;
    if (step)
        *step = 0;
    dw_err err = dw_sql__exec(ledger,
                              "CREATE TEMP TABLE IF NOT EXISTS seen (id INTEGER PRIMARY KEY);"
                              "DELETE FROM seen",
                              error);
    int64_t id = 0;
    if (!err && count->material)
        err = dw_ledger__material_id(ledger, count->material, &id, error);
    if (!err)
        err = dw_ledger__begin(ledger, act, DW_STEP_COUNT, 0, error);
    if (err)
        return err;
    for (size_t i = 0; !err && i < count->n; i++)
        err = count_row(ledger, count, &count->rows[i], error);
    if (!err && count->complete)
        err = dw_ledger__unchanged(ledger, 0, error);
    if (!err && count->complete)
        err = count_missing(ledger, count, error);
    if (count->dry)
        return dw_ledger__end_dry(ledger, err, differences, error);
    struct dw_stock_query query = {.step = ledger->step};
    if (!err && differences)
        err = dw_ledger_list(ledger, &query, differences, error);
    err = dw_ledger__end(ledger, err, step, error);
    if (err && differences) {
        dw_stock_list_free(*differences);
        *differences = NULL;
    }
    return err;
}
