/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One step = one transaction = one row of history; and undoing the last one. */
#include "ledger/ledger.h"
#include "model/model.h"

#include <stdio.h>
#include <string.h>

dw_err dw_ledger__text_ok(const char *what, const char *text, size_t most, struct dw_error *error)
{
    if (!text)
        return DW_OK;
    size_t n = strlen(text);
    if (n == 0 || n > most)
        return dw_error__set(error, DW_ERR_INPUT, "%s must have 1 to %zu characters", what, most);
    if (dw_utf8__check(text, n) != n)
        return dw_error__set(error, DW_ERR_INPUT, "%s is not UTF-8 text", what);
    for (size_t i = 0; i < n; i++) {
        if ((unsigned char)text[i] < 0x20 || text[i] == 0x7f)
            return dw_error__set(error, DW_ERR_INPUT,
                                 "%s has a control character at place %zu: write it in one line",
                                 what, i + 1);
    }
    return DW_OK;
}

/* Does a text begin with a day of the calendar? *day: its number. */
static bool day_of(const char *text, int64_t *day)
{
    char copy[11] = {0};
    memcpy(copy, text, strnlen(text, 10));
    return dw_date__number(copy, day);
}

dw_err dw_ledger__day_ok(const char *what, const char *text, struct dw_error *error)
{
    if (!text || dw_date__check(text))
        return DW_OK;
    return dw_error__set(error, DW_ERR_INPUT, "%s \"%.40s\" is no day: write it as 2026-03-31",
                         what, text);
}

/* Writes the row of the step into the transaction that is open. */
static dw_err enter_step(struct dw_ledger *ledger, const struct dw_act *act, enum dw_step_kind kind,
                         int64_t undoes, int64_t plan, struct dw_error *error)
{
    dw_err err =
        dw_sql__run(ledger, NULL, error,
                    "INSERT INTO steps(at, who, note, what, undoes, plan)"
                    " VALUES (?, ?, ?, ?, ?, (SELECT id FROM plans WHERE id = ?))",
                    "ttttnn", act->when, act->who, act->note, dw_step_word(kind), undoes, plan);
    if (!err)
        ledger->step = sqlite3_last_insert_rowid(ledger->db);
    return err;
}

dw_err dw_ledger__check_act(const struct dw_act *act, struct dw_error *error)
{
    int64_t day = 0;
    if (!act->when || !day_of(act->when, &day) || strlen(act->when) > 40)
        return dw_error__set(error, DW_ERR_INPUT, "a step needs its time, as 2026-03-31T14:05:00Z");
    dw_err err = dw_ledger__text_ok("the time", act->when, 40, error);
    if (!err)
        err = dw_ledger__text_ok("the name", act->who, 200, error);
    return err ? err : dw_ledger__text_ok("the note", act->note, 1000, error);
}

/* Seconds since 1970 of `2026-03-01T14:05:00Z`; of a day, or a time in another form, the day alone:
 * *timed false. */
static int64_t second_of(const char *text, bool *timed)
{
    int64_t day = 0;
    int hour = 0, minute = 0, second = 0, n = 0;
    if (!day_of(text, &day))
        return 0;
    *timed = sscanf(text + 10, "T%2d:%2d:%2dZ%n", &hour, &minute, &second, &n) == 3 && n == 10 &&
             text[20] == '\0';
    return day * 86400 + (*timed ? hour * 3600 + minute * 60 + second : 0);
}

/* How many seconds `a` is after `b`; whole days where one of them has no time. */
static int64_t seconds_after(const char *a, const char *b)
{
    bool one = false, other = false;
    int64_t x = second_of(a, &one), y = second_of(b, &other);
    return one && other ? x - y : (dw_floor__div(x, 86400) - dw_floor__div(y, 86400)) * 86400;
}

dw_err dw_ledger_doubt_time(struct dw_ledger *ledger, const struct dw_act *act, const char *now,
                            struct dw_report *report, struct dw_error *error)
{
    int64_t last = 0;
    struct dw_deed deed = {0};
    char told[DW_DEED_TEXT];
    if (dw_ledger__check_act(act, NULL) != DW_OK)
        return DW_OK; /* the step itself is refused */
    dw_err err = dw_sql__int(ledger, &last, 0, error, "SELECT max(id) FROM steps", "");
    if (!err && last > 0)
        err = dw_ledger_deed(ledger, last, &deed, error);
    if (!err && last > 0 && seconds_after(act->when, deed.when) < 0) {
        dw_deed_print(told, &deed);
        if (dw_report__add(report, DW_DOUBT, NULL, 0, 0, "%.40s is before the last step: %.400s",
                           act->when, told))
            err = dw_error__nomem(error);
    }
    if (!err && seconds_after(act->when, now) > 86400 &&
        dw_report__add(report, DW_DOUBT, NULL, 0, 0, "%.40s is more than a day ahead: it is %.40s",
                       act->when, now))
        err = dw_error__nomem(error);
    return err;
}

dw_err dw_ledger__transaction(struct dw_ledger *ledger, struct dw_error *error)
{
    return ledger->together ? DW_OK : dw_ledger__lock(ledger, error);
}

dw_err dw_ledger__begin(struct dw_ledger *ledger, const struct dw_act *act, enum dw_step_kind kind,
                        int64_t plan, struct dw_error *error)
{
    if (ledger->together)
        return DW_OK;
    dw_err err = dw_ledger__check_act(act, error);
    if (!err)
        err = dw_ledger__transaction(ledger, error);
    if (err)
        return err;
    ledger->seen = act->seen;
    err = enter_step(ledger, act, kind, 0, plan, error);
    return err ? dw_ledger__end(ledger, err, NULL, error) : DW_OK;
}

dw_err dw_ledger__end(struct dw_ledger *ledger, dw_err err, int64_t *step, struct dw_error *error)
{
    if (ledger->together) {
        ledger->broken = ledger->broken ? ledger->broken : err;
        if (step)
            *step = err ? 0 : ledger->step;
        return err;
    }
    if (!err)
        err = dw_ledger__seal(ledger, error);
    if (!err)
        err = dw_sql__exec(ledger, "COMMIT", error);
    if (err)
        sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    if (step)
        *step = err ? 0 : ledger->step;
    ledger->step = ledger->seen = 0;
    return err;
}

/* --- several acts as one step ----------------------------------------------------------------- */

dw_err dw_ledger_step_begin(struct dw_ledger *ledger, const struct dw_act *act,
                            enum dw_step_kind kind, int64_t plan, struct dw_error *error)
{
    dw_err err = dw_ledger__begin(ledger, act, kind, plan, error);
    if (!err && ledger->together++ == 0)
        ledger->broken = DW_OK;
    return err;
}

dw_err dw_ledger_step_end(struct dw_ledger *ledger, dw_err err, int64_t *step,
                          struct dw_error *error)
{
    if (--ledger->together == 0 && !err && ledger->broken)
        err = dw_error__set(error, ledger->broken, "a part of the step failed");
    return dw_ledger__end(ledger, err, step, error);
}

void dw_ledger_step_drop(struct dw_ledger *ledger)
{
    dw_ledger_step_end(ledger, DW_ERR_STATE, NULL, NULL);
}

dw_err dw_ledger_plan_since(struct dw_ledger *ledger, int64_t plan, int64_t seen,
                            struct dw_error *error)
{
    int64_t later = 0;
    dw_err err = dw_sql__int(ledger, &later, 0, error,
                             "SELECT max(s.id) FROM steps AS s WHERE s.id > ?1 AND s.id <> ?2 AND"
                             " (s.plan = ?3 OR s.undoes IN (SELECT id FROM steps WHERE plan = ?3)"
                             " OR s.id IN (SELECT step FROM restores))",
                             "iii", seen, ledger->step, plan);
    if (!err && later)
        err = dw_error__set(error, DW_ERR_STATE,
                            "plan %lld was changed in the meantime, by step %lld", (long long)plan,
                            (long long)later);
    return err;
}

/* What was seen before a copy was put back may be as it was, or may not: it is looked at again. */
static dw_err put_back_since(struct dw_ledger *ledger, struct dw_error *error)
{
    int64_t step = 0;
    struct dw_deed deed;
    char told[DW_DEED_TEXT];
    dw_err err = dw_sql__int(ledger, &step, 0, error,
                             "SELECT step FROM restores WHERE step > ? ORDER BY step DESC LIMIT 1",
                             "i", ledger->seen);
    if (err || step == 0)
        return err;
    err = dw_ledger_deed(ledger, step, &deed, error);
    if (err)
        return err;
    dw_deed_print(told, &deed);
    return dw_error__set(error, DW_ERR_STATE, "%.400s, in the meantime: look at it again", told);
}

/* "C18 was changed in the meantime: scrap by Ada at 2026-03-01T14:05:00Z" */
dw_err dw_ledger__unchanged(struct dw_ledger *ledger, int64_t id, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    if (ledger->seen == 0)
        return DW_OK;
    dw_err err = put_back_since(ledger, error);
    if (!err)
        err = dw_sql__open(ledger, &stmt, error,
                           "SELECT p.number, s.what, s.who, s.at, v.to_place FROM moves AS v"
                           " JOIN steps AS s ON s.id = v.step JOIN pieces AS p ON p.id = v.piece"
                           " WHERE v.step > ?1 AND v.step <> ?2 AND (?3 IS NULL OR v.piece = ?3)"
                           " ORDER BY v.id DESC LIMIT 1",
                           "iin", ledger->seen, ledger->step, id);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row) {
        const char *who = (const char *)sqlite3_column_text(stmt, 2);
        const char *place = (const char *)sqlite3_column_text(stmt, 4);
        err = dw_error__set(
            error, DW_ERR_STATE, "%s was changed in the meantime: %s%s%.60s at %.40s%s%.60s",
            (const char *)sqlite3_column_text(stmt, 0), (const char *)sqlite3_column_text(stmt, 1),
            who ? " by " : "", who ? who : "", (const char *)sqlite3_column_text(stmt, 3),
            place ? ", place " : "", place ? place : "");
    }
    sqlite3_finalize(stmt);
    return err;
}

/* Puts back what each move of the step changed, newest first. A piece that the step brought is
 * void afterwards: its row stays, its number is free again. */
static dw_err reverse_moves(struct dw_ledger *ledger, int64_t undone, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT piece, coalesce(from_state, 'void'), from_measured,"
                              " from_plan, from_place FROM moves WHERE step = ? ORDER BY id DESC",
                              "i", undone);
    bool row = true;
    while (!err) {
        err = dw_sql__next(ledger, stmt, &row, error);
        if (err || !row)
            break;
        err = dw_sql__run(
            ledger, NULL, error,
            "UPDATE pieces SET state = ?, measured = ?, plan = ?, place = ?"
            " WHERE id = ?",
            "tnnti", (const char *)sqlite3_column_text(stmt, 1),
            (int64_t)sqlite3_column_int64(stmt, 2), (int64_t)sqlite3_column_int64(stmt, 3),
            (const char *)sqlite3_column_text(stmt, 4), (int64_t)sqlite3_column_int64(stmt, 0));
    }
    sqlite3_finalize(stmt);
    return err;
}

/* The last step that an undo can take back and that none took back yet; 0 = none. */
static dw_err last_step(struct dw_ledger *ledger, int64_t *last, struct dw_error *error)
{
    struct dw_buf fixed = {0};
    dw_ledger__fixed_kinds(&fixed);
    dw_err err = fixed.failed
                     ? dw_error__nomem(error)
                     : dw_sql__int(ledger, last, 0, error,
                                   "SELECT id FROM steps AS s"
                                   " WHERE what NOT IN (SELECT value FROM json_each(?1))"
                                   " AND NOT EXISTS (SELECT 1 FROM steps WHERE undoes = s.id)"
                                   " ORDER BY id DESC LIMIT 1",
                                   "t", fixed.text);
    dw_buf__free(&fixed);
    return err;
}

dw_err dw_ledger_last(struct dw_ledger *ledger, int64_t *step, int64_t *undoable,
                      struct dw_error *error)
{
    dw_err err = dw_sql__int(ledger, step, 0, error, "SELECT max(id) FROM steps", "");
    return err ? err : last_step(ledger, undoable, error);
}

/* A copy that was put back after the last step in force is not undone, and that step is taken back
 * only by its number: who undoes what was done last may mean the other. 0 = none was. */
static dw_err refuse_restore(struct dw_ledger *ledger, int64_t last, int64_t expect,
                             struct dw_error *error)
{
    int64_t step = 0;
    struct dw_deed deed;
    char told[DW_DEED_TEXT], also[96] = "";
    if (expect != 0 && expect == last)
        return DW_OK;
    dw_err err = dw_sql__int(ledger, &step, 0, error,
                             "SELECT max(step) FROM restores WHERE step > ?", "i", last);
    if (err || !step || (expect != 0 && expect != step))
        return err;
    err = dw_ledger_deed(ledger, step, &deed, error);
    if (err)
        return err;
    dw_deed_print(told, &deed);
    if (last)
        snprintf(also, sizeof also,
                 "; `dropwise shelf undo --step %lld` takes back the step before", (long long)last);
    return dw_error__set(error, DW_ERR_STATE,
                         "%.300s: that is not undone, put back the file that was kept beside the "
                         "shelf, with `dropwise shelf restore`%s",
                         told, also);
}

/* Which step is taken back: one that is another's must be named. */
static dw_err choose_step(struct dw_ledger *ledger, const struct dw_act *act, int64_t expect,
                          struct dw_deed *out, struct dw_error *error)
{
    int64_t last = 0;
    char told[DW_DEED_TEXT];
    dw_err err = last_step(ledger, &last, error);
    if (!err)
        err = refuse_restore(ledger, last, expect, error);
    if (!err && last == 0)
        err = dw_error__set(error, DW_ERR_STATE, "there is no step to undo");
    if (!err)
        err = dw_ledger_deed(ledger, last, out, error);
    if (err)
        return err;
    dw_deed_print(told, out);
    if (expect != 0 && expect != last)
        return dw_error__set(error, DW_ERR_STATE,
                             "step %lld can't be undone: the last one in force is %.300s; undo "
                             "back from there, or book with `dropwise shelf count` and `dropwise "
                             "shelf scrap` what is not as the book says",
                             (long long)expect, told);
    if (expect == 0 && strcmp(out->who, act->who ? act->who : "") != 0)
        return dw_error__set(
            error, DW_ERR_STATE,
            "the last step is another's: %.400s; `dropwise shelf undo --step %lld` "
            "takes it back",
            told, (long long)last);
    return DW_OK;
}

dw_err dw_ledger_undo(struct dw_ledger *ledger, const struct dw_act *act, int64_t expect,
                      struct dw_deed *undone, int64_t *step, struct dw_error *error)
{
    struct dw_deed last = {0};
    dw_err err = dw_ledger__check_act(act, error);
    if (!err)
        err = dw_ledger__lock(ledger, error);
    if (err)
        return err;
    err = choose_step(ledger, act, expect, &last, error);
    if (!err)
        err = enter_step(ledger, act, DW_STEP_UNDO, last.id, 0, error);
    if (!err)
        err = reverse_moves(ledger, last.id, error);
    if (!err && undone)
        *undone = last;
    return dw_ledger__end(ledger, err, step, error);
}

dw_err dw_ledger__find(struct dw_ledger *ledger, const char *number, struct dw_piece_row *out,
                       struct dw_error *error)
{
    *out = (struct dw_piece_row){0};
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT id, material, coalesce(measured, length), state, plan"
                              " FROM pieces WHERE number = ? AND state <> 'void'",
                              "t", number);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row)
        *out = (struct dw_piece_row){
            .id = sqlite3_column_int64(stmt, 0),
            .material = sqlite3_column_int64(stmt, 1),
            .length = sqlite3_column_int64(stmt, 2),
            .state = dw_ledger__state((const char *)sqlite3_column_text(stmt, 3)),
            .plan = sqlite3_column_int64(stmt, 4),
        };
    else if (!err)
        err = dw_error__set(
            error, DW_ERR_NOTFOUND,
            "there is no piece \"%.64s\" in the ledger; `dropwise shelf add` enters one", number);
    sqlite3_finalize(stmt);
    return err ? err : dw_ledger__unchanged(ledger, out->id, error);
}
