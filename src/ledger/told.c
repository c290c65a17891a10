/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A step in words: what it was about, who did it and when. */
#include "ledger/ledger.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *word;
    const char *done;
    bool undoable;
} kinds[] = {
#define DW_STEP_ROW(name, word, done, undoable) {word, done, undoable},
    DW_STEP_LIST(DW_STEP_ROW)
#undef DW_STEP_ROW
};

const char *dw_step_word(enum dw_step_kind kind)
{
    size_t i = (size_t)kind;
    return i < DW_COUNT(kinds) ? kinds[i].word : "?";
}

bool dw_ledger__step_kind(const char *word, enum dw_step_kind *kind)
{
    for (size_t i = 0; word && i < DW_COUNT(kinds); i++)
        if (strcmp(word, kinds[i].word) == 0) {
            *kind = (enum dw_step_kind)i;
            return true;
        }
    return false;
}

void dw_ledger__fixed_kinds(struct dw_buf *words)
{
    dw_buf__char(words, '[');
    for (size_t i = 0; i < DW_COUNT(kinds); i++)
        if (!kinds[i].undoable)
            dw_buf__format(words, "%s\"%s\"", words->n > 1 ? "," : "", kinds[i].word);
    dw_buf__char(words, ']');
}

/* --- what it was about ------------------------------------------------------------------------ */

/* The columns of the statement in dw_ledger_deed. */
enum {
    WHAT,
    AT,
    WHO,
    UNDONE,
    UNDOES,
    PLAN, /* that was there before */
    NEW_PLAN,
    N_CUTS,
    FIRST_BAR,
    LAST_BAR,
    N_PIECES,
    PIECE,
    MATERIAL,
    COPY_STEP,
};

static const char step_sql[] =
    "SELECT s.what, s.at, s.who, EXISTS (SELECT 1 FROM steps WHERE undoes = s.id), s.undoes,"
    " s.plan, (SELECT max(id) FROM plans WHERE step = s.id),"
    " (SELECT count(*) FROM cuts WHERE step = s.id),"
    " (SELECT min(bar) FROM cuts WHERE step = s.id),"
    " (SELECT max(bar) FROM cuts WHERE step = s.id),"
    " (SELECT count(DISTINCT piece) FROM moves WHERE step = s.id),"
    " (SELECT p.number FROM moves AS v JOIN pieces AS p ON p.id = v.piece WHERE v.step = s.id"
    "  ORDER BY v.id LIMIT 1),"
    " (SELECT code FROM material_changes WHERE step = s.id ORDER BY id LIMIT 1),"
    " (SELECT copy_step FROM restores WHERE step = s.id)"
    " FROM steps AS s WHERE s.id = ?";

static const char *text_at(sqlite3_stmt *stmt, int column)
{
    const char *text = (const char *)sqlite3_column_text(stmt, column);
    return text ? text : "";
}

/* "bar 2 of plan 3", "bars 2 to 5 of plan 3", "4 bars of plan 3". */
static void put_bars(sqlite3_stmt *stmt, struct dw_buf *buf)
{
    long long n = sqlite3_column_int64(stmt, N_CUTS), plan = sqlite3_column_int64(stmt, PLAN);
    long long first = sqlite3_column_int64(stmt, FIRST_BAR);
    long long last = sqlite3_column_int64(stmt, LAST_BAR);
    if (n == 1)
        dw_buf__format(buf, "bar %lld of plan %lld", first, plan);
    else if (n == last - first + 1)
        dw_buf__format(buf, "bars %lld to %lld of plan %lld", first, last, plan);
    else
        dw_buf__format(buf, "%lld bars of plan %lld", n, plan);
}

static void put_subject(sqlite3_stmt *stmt, enum dw_step_kind kind, struct dw_buf *buf)
{
    long long n = sqlite3_column_int64(stmt, N_PIECES);
    if (kind == DW_STEP_TRUE)
        dw_buf__format(buf, "a part of plan %lld", (long long)sqlite3_column_int64(stmt, PLAN));
    else if (sqlite3_column_int64(stmt, N_CUTS) > 0)
        put_bars(stmt, buf);
    else if (kind == DW_STEP_HOLD)
        dw_buf__format(buf, "plan %lld", (long long)sqlite3_column_int64(stmt, NEW_PLAN));
    else if (kind == DW_STEP_RELEASE)
        dw_buf__format(buf, "plan %lld", (long long)sqlite3_column_int64(stmt, PLAN));
    else if (kind == DW_STEP_UNDO)
        dw_buf__format(buf, "step %lld", (long long)sqlite3_column_int64(stmt, UNDOES));
    else if (kind == DW_STEP_MATERIAL)
        dw_buf__format(buf, "material %.60s", text_at(stmt, MATERIAL));
    else if (n == 1)
        dw_buf__format(buf, "%s", text_at(stmt, PIECE));
    else if (n > 1)
        dw_buf__format(buf, "%lld pieces", n);
    else
        dw_buf__put(buf, "the shelf");
}

/* "bar 2 of plan 3 cut otherwise than planned, plan 4 in its place" */
static void put_what(sqlite3_stmt *stmt, enum dw_step_kind kind, struct dw_buf *buf)
{
    long long plan = sqlite3_column_int64(stmt, PLAN);
    long long made = sqlite3_column_int64(stmt, NEW_PLAN);
    put_subject(stmt, kind, buf);
    dw_buf__format(buf, " %s", kinds[kind].done);
    if (kind == DW_STEP_RESTORE)
        dw_buf__format(buf, " up to step %lld", (long long)sqlite3_column_int64(stmt, COPY_STEP));
    else if (kind == DW_STEP_HOLD && plan)
        dw_buf__format(buf, " in place of plan %lld", plan);
    else if (kind != DW_STEP_HOLD && made)
        dw_buf__format(buf, ", plan %lld in its place", made);
    else if ((kind == DW_STEP_DELIVER || kind == DW_STEP_MEASURE || kind == DW_STEP_TRUE) && plan)
        dw_buf__format(buf, " for plan %lld", plan);
}

/* --- reading ---------------------------------------------------------------------------------- */

static dw_err read_step(sqlite3_stmt *stmt, int64_t id, struct dw_deed *out, struct dw_error *error)
{
    struct dw_buf what = {0};
    *out = (struct dw_deed){.id = id, .undone = sqlite3_column_int(stmt, UNDONE) != 0};
    if (dw_ledger__step_kind(text_at(stmt, WHAT), &out->kind))
        put_what(stmt, out->kind, &what);
    else /* of a program that came after this one */
        dw_buf__put(&what, text_at(stmt, WHAT));
    if (what.failed) {
        dw_buf__free(&what);
        return dw_error__nomem(error);
    }
    snprintf(out->what, sizeof out->what, "%s", what.text);
    snprintf(out->when, sizeof out->when, "%s", text_at(stmt, AT));
    snprintf(out->who, sizeof out->who, "%s", text_at(stmt, WHO));
    dw_buf__free(&what);
    return DW_OK;
}

dw_err dw_ledger_deed(struct dw_ledger *ledger, int64_t id, struct dw_deed *out,
                      struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    *out = (struct dw_deed){0};
    dw_err err = dw_sql__open(ledger, &stmt, error, step_sql, "i", id);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err && !row)
        err = dw_error__set(error, DW_ERR_NOTFOUND, "there is no step %lld in the ledger",
                            (long long)id);
    if (!err)
        err = read_step(stmt, id, out, error);
    sqlite3_finalize(stmt);
    return err;
}

void dw_deed_print(char text[DW_DEED_TEXT], const struct dw_deed *step)
{
    char when[sizeof step->when];
    size_t n = strlen(step->when);
    if (n == 20 && step->when[10] == 'T' && step->when[19] == 'Z')
        snprintf(when, sizeof when, "%.10s %.5s UTC", step->when, step->when + 11);
    else
        snprintf(when, sizeof when, "%s", step->when);
    snprintf(text, DW_DEED_TEXT, "step %lld: %s, %s%s, %s", (long long)step->id, step->what,
             step->who[0] ? "by " : "no name given", step->who, when);
}
