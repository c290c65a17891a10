/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces: how they come in, where they go, and what a count finds. */
#include "ledger/ledger.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

dw_err dw_ledger__free_for(struct dw_ledger *ledger, const char *number,
                           const struct dw_piece_row *piece, int64_t plan, struct dw_error *error)
{
    if (piece->state == DW_STATE_SHELF || (piece->state == DW_STATE_HELD && piece->plan == plan))
        return DW_OK;
    if (piece->state != DW_STATE_HELD)
        return dw_error__set(error, DW_ERR_STATE, "piece %s is not on the shelf: it is %s", number,
                             dw_state_word(piece->state));
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    dw_err err =
        dw_sql__open(ledger, &stmt, error, "SELECT job FROM plans WHERE id = ?", "i", piece->plan);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err) {
        const char *job = row ? (const char *)sqlite3_column_text(stmt, 0) : NULL;
        err = dw_error__set(error, DW_ERR_HELD, "piece %s is held by plan %lld%s%.100s", number,
                            (long long)piece->plan, job ? " of " : "", job ? job : "");
    }
    sqlite3_finalize(stmt);
    return err;
}

/* --- materials -------------------------------------------------------------------------------- */

dw_err dw_ledger__material_id(struct dw_ledger *ledger, const char *code, int64_t *out,
                              struct dw_error *error)
{
    dw_err err =
        dw_sql__int(ledger, out, 0, error, "SELECT id FROM materials WHERE code = ?", "t", code);
    if (!err && *out == 0)
        err = dw_error__set(error, DW_ERR_NOTFOUND,
                            "the shelf does not know the material \"%.100s\"; `dropwise shelf "
                            "material` enters it",
                            code ? code : "");
    return err;
}

static dw_err check_material(const struct dw_material *material, struct dw_error *error)
{
    dw_err err = material->id ? dw_ledger__text_ok("the material", material->id, 200, error)
                              : dw_error__set(error, DW_ERR_INPUT, "a material needs an id");
    if (!err)
        err = dw_ledger__text_ok("the material's name", material->name, 200, error);
    if (!err)
        err = dw_ledger__text_ok("the alloy", material->alloy, 200, error);
    if (!err)
        err = dw_ledger__text_ok("the finish", material->finish, 200, error);
    if (!err && (material->od < 0 || material->wall < 0 || material->radius < 0 ||
                 (material->od > 0 && material->wall > material->od / 2)))
        err = dw_error__set(error, DW_ERR_INPUT,
                            "material %s: the wall can't be over half the diameter", material->id);
    return err;
}

/* true when two known figures differ; 0 is not known. */
static bool contradicts(int64_t a, int64_t b)
{
    return a != 0 && b != 0 && a != b;
}

static dw_err compare_material(struct dw_ledger *ledger, const struct dw_material *material,
                               int64_t id, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT od, wall, radius FROM materials WHERE id = ?", "i", id);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    const char *what = NULL;
    if (row && contradicts(sqlite3_column_int64(stmt, 0), material->od))
        what = "outside diameter";
    else if (row && contradicts(sqlite3_column_int64(stmt, 1), material->wall))
        what = "wall";
    else if (row && contradicts(sqlite3_column_int64(stmt, 2), material->radius))
        what = "radius";
    if (!err && what)
        err = dw_error__set(error, DW_ERR_STATE,
                            "material %s has another %s in the ledger: use another id for it",
                            material->id, what);
    sqlite3_finalize(stmt);
    return err;
}

dw_err dw_ledger__material(struct dw_ledger *ledger, const struct dw_material *material,
                           int64_t *out, struct dw_error *error)
{
    int64_t id = 0;
    dw_err err = check_material(material, error);
    if (!err)
        err = dw_sql__int(ledger, &id, 0, error, "SELECT id FROM materials WHERE code = ?", "t",
                          material->id);
    if (!err && id != 0)
        err = compare_material(ledger, material, id, error);
    if (!err)
        err = dw_sql__run(
            ledger, NULL, error,
            "INSERT INTO materials(code, name, alloy, finish, od, wall, radius, density)"
            " VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) ON CONFLICT(code) DO UPDATE SET"
            " name = coalesce(name, ?2), alloy = coalesce(alloy, ?3),"
            " finish = coalesce(finish, ?4), od = iif(od = 0, ?5, od),"
            " wall = iif(wall = 0, ?6, wall), radius = iif(radius = 0, ?7, radius),"
            " density = iif(density = 0, ?8, density)",
            "ttttiiii", material->id, material->name, material->alloy, material->finish,
            material->od, material->wall, material->radius, material->density_g_m3);
    return err ? err : dw_ledger__material_id(ledger, material->id, out, error);
}

dw_err dw_ledger_material_put(struct dw_ledger *ledger, const struct dw_act *act,
                              const struct dw_material *material, struct dw_error *error)
{
    int64_t id = 0;
    dw_err err = dw_ledger__begin(ledger, act, DW_STEP_MATERIAL, 0, error);
    if (err)
        return err;
    err = dw_ledger__material(ledger, material, &id, error);
    return dw_ledger__end(ledger, err, NULL, error);
}

/* --- birth ------------------------------------------------------------------------------------ */

static dw_err check_texts(const struct dw_stock *stock, struct dw_error *error)
{
    const struct {
        const char *what;
        const char *text;
        size_t most;
    } fields[] = {
        {"the number", stock->number, 64}, {"the place", stock->place, 200},
        {"the owner", stock->owner, 200},  {"the mark", stock->mark, 200},
        {"the job", stock->job, 200},      {"the remark", stock->remark, 1000},
    };
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(fields); i++)
        err = dw_ledger__text_ok(fields[i].what, fields[i].text, fields[i].most, error);
    return err ? err : dw_ledger__day_ok("the date", stock->date, error);
}

static dw_err check_stock(const struct dw_stock *stock, struct dw_error *error)
{
    dw_err err = check_texts(stock, error);
    if (!err && (stock->length < 1 || stock->length > DW_LENGTH_MAX || stock->measured < 0 ||
                 stock->measured > DW_LENGTH_MAX))
        err = dw_error__set(error, DW_ERR_RANGE,
                            "a piece's length must be over 0 and at most "
                            "1000 km");
    if (!err && (stock->value < 0 || stock->value > DW_MONEY_MAX))
        err = dw_error__set(error, DW_ERR_RANGE, "a piece's book value can't be below 0");
    return err;
}

/* B17, C18: bars and offcuts count on together; numbers that were given by hand are stepped over.
 * Cost: O(log n) unless they are many. */
static dw_err next_number(struct dw_ledger *ledger, enum dw_kind kind, char out[32],
                          struct dw_error *error)
{
    int64_t n = 0, taken = 1;
    dw_err err = dw_sql__int(ledger, &n, 0, error,
                             "SELECT max(coalesce((SELECT max(id) FROM pieces), 0),"
                             " coalesce((SELECT max(last_piece) FROM restores), 0))",
                             "");
    while (!err && taken) {
        n++;
        snprintf(out, 32, "%c%lld", kind == DW_KIND_BAR ? 'B' : 'C', (long long)n);
        err = dw_sql__int(ledger, &taken, 0, error,
                          "SELECT 1 FROM pieces WHERE number = ? AND state <> 'void'", "t", out);
    }
    return err;
}

dw_err dw_ledger__bear(struct dw_ledger *ledger, const struct dw_birth *birth, int64_t *id,
                       struct dw_error *error)
{
    const struct dw_stock *stock = birth->stock;
    char next[32];
    const char *number = stock->number;
    int64_t taken = 0;
    dw_err err = check_stock(stock, error);
    if (!err && !number)
        err = next_number(ledger, stock->kind, next, error);
    else if (!err)
        err = dw_sql__int(ledger, &taken, 0, error,
                          "SELECT 1 FROM pieces WHERE number = ? AND state <> 'void'", "t", number);
    if (!err && taken)
        err = dw_error__set(error, DW_ERR_EXISTS, "there is a piece %s already", number);
    if (!err)
        err = dw_sql__run(
            ledger, NULL, error,
            "INSERT INTO pieces(number, material, kind, length, measured, datum, far, value,"
            " place, owner, mark, day, job, remark, parent, state, plan, step)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            "titinttittttttntni", number ? number : next, birth->material,
            dw_kind_word(stock->kind), stock->length, stock->measured, dw_end_word(stock->ends[0]),
            dw_end_word(stock->ends[1]), stock->value, stock->place, stock->owner, stock->mark,
            stock->date, stock->job, stock->remark, birth->parent, dw_state_word(birth->state),
            birth->plan, ledger->step);
    if (!err)
        *id = sqlite3_last_insert_rowid(ledger->db);
    return err;
}

static dw_err add_all(struct dw_ledger *ledger, const struct dw_stock *pieces, size_t n,
                      struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < n; i++) {
        struct dw_birth birth = {.stock = &pieces[i], .state = DW_STATE_SHELF};
        int64_t id = 0;
        err = dw_ledger__material_id(ledger, pieces[i].material, &birth.material, error);
        if (!err)
            err = dw_ledger__bear(ledger, &birth, &id, error);
    }
    return err;
}

dw_err dw_ledger_add(struct dw_ledger *ledger, const struct dw_act *act,
                     const struct dw_stock *pieces, size_t n, int64_t *step, struct dw_error *error)
{
    dw_err err = dw_ledger__begin(ledger, act, DW_STEP_ADD, 0, error);
    if (err)
        return err;
    err = add_all(ledger, pieces, n, error);
    return dw_ledger__end(ledger, err, step, error);
}

dw_err dw_ledger_add_dry(struct dw_ledger *ledger, const struct dw_act *act,
                         const struct dw_stock *pieces, size_t n, struct dw_stock_list **out,
                         struct dw_error *error)
{
    *out = NULL;
    dw_err err = dw_ledger__begin(ledger, act, DW_STEP_ADD, 0, error);
    if (err)
        return err;
    return dw_ledger__end_dry(ledger, add_all(ledger, pieces, n, error), out, error);
}

/* --- going ------------------------------------------------------------------------------------ */

dw_err dw_ledger_move(struct dw_ledger *ledger, const struct dw_act *act,
                      const char *const *numbers, size_t n, const char *place, int64_t *step,
                      struct dw_error *error)
{
    dw_err err = dw_ledger__text_ok("the place", place, 200, error);
    if (!err)
        err = dw_ledger__begin(ledger, act, DW_STEP_MOVE, 0, error);
    if (err)
        return err;
    for (size_t i = 0; !err && i < n; i++) {
        struct dw_piece_row piece;
        err = dw_ledger__find(ledger, numbers[i], &piece, error);
        if (!err)
            err = dw_ledger__free_for(ledger, numbers[i], &piece, piece.plan, error);
        if (!err)
            err = dw_sql__run(ledger, NULL, error, "UPDATE pieces SET place = ? WHERE id = ?", "ti",
                              place, piece.id);
    }
    return dw_ledger__end(ledger, err, step, error);
}

dw_err dw_ledger_scrap(struct dw_ledger *ledger, const struct dw_act *act,
                       const char *const *numbers, size_t n, int64_t *step, struct dw_error *error)
{
    dw_err err = dw_ledger__begin(ledger, act, DW_STEP_SCRAP, 0, error);
    if (err)
        return err;
    for (size_t i = 0; !err && i < n; i++) {
        struct dw_piece_row piece;
        err = dw_ledger__find(ledger, numbers[i], &piece, error);
        if (!err)
            err = dw_ledger__free_for(ledger, numbers[i], &piece, 0, error);
        if (!err)
            err = dw_sql__run(ledger, NULL, error,
                              "UPDATE pieces SET state = 'scrapped' WHERE id = ?", "i", piece.id);
    }
    return dw_ledger__end(ledger, err, step, error);
}
