/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Why the shop can believe the ledger: everything that can be checked of it, each fault told by the
 * numbers of the piece, bar, plan or step that it is about. */
#include "ledger/ledger.h"

#include <string.h>
#include <sys/stat.h>

/* A length in a message: nanometres as millimetres, without trailing zeros. */
#define MM(nm)                                                                                     \
    "rtrim(rtrim(printf('%d.%06d', (" nm ") / 1000000, (" nm ") % 1000000), '0'), '.') || ' mm'"
#define ACTUAL(piece) "coalesce(" piece ".measured, " piece ".length)"

/* The last move of each piece beside the piece. */
#define WITH_LAST                                                                                  \
    " FROM pieces AS p JOIN moves AS v ON v.id = (SELECT max(id) FROM moves WHERE piece = p.id)"

/* Each statement gives a line for everything that must not be. */
static const char *const faults[] = {
    "SELECT printf('piece %s: it has no history', number) FROM pieces AS p"
    " WHERE NOT EXISTS (SELECT 1 FROM moves WHERE piece = p.id)",

    "SELECT printf('piece %s: it is %s, but its history ends with %s', p.number, p.state,"
    " v.to_state)" WITH_LAST " WHERE v.to_state IS NOT p.state",

    "SELECT printf('piece %s: it measures %s, but its history ends with %s', p.number,"
    " " MM(ACTUAL("p")) ", " MM(
        "coalesce(v.to_measured, p.length)") ")" WITH_LAST " WHERE v.to_measured IS NOT p.measured",

    "SELECT printf('piece %s: its place is %s, but its history ends with %s', p.number,"
    " coalesce('\"' || p.place || '\"', 'not said'), coalesce('\"' || v.to_place || '\"', 'not "
    "said'))" WITH_LAST " WHERE v.to_place IS NOT p.place",

    "SELECT printf('piece %s: it is held by %s, but its history ends with %s', p.number,"
    " coalesce('plan ' || p.plan, 'no plan'), coalesce('plan ' || v.to_plan, 'no plan'))" WITH_LAST
    " WHERE v.to_plan IS NOT p.plan",

    "SELECT printf('piece %s: what step %d moved does not begin where the move before ended',"
    " number, step) FROM (SELECT p.number, v.step, from_state, from_measured, from_plan,"
    " from_place, lag(to_state) OVER w AS s, lag(to_measured) OVER w AS m,"
    " lag(to_plan) OVER w AS l, lag(to_place) OVER w AS c FROM moves AS v JOIN pieces AS p"
    " ON p.id = v.piece WINDOW w AS (PARTITION BY piece ORDER BY v.id))"
    " WHERE from_state IS NOT s OR (from_state IS NOT NULL AND"
    " (from_measured IS NOT m OR from_plan IS NOT l OR from_place IS NOT c))",

    /* used once more than it was found again */
    "SELECT printf('piece %s: it is %s; cuts of it: %d, times found again: %d', number, state,"
    " cuts, finds) FROM (SELECT number, state,"
    " (SELECT count(*) FROM live_cuts WHERE piece = p.id) AS cuts,"
    " (SELECT count(*) FROM live_finds WHERE piece = p.id AND was = 'used') AS finds"
    " FROM pieces AS p) WHERE cuts <> finds + (state = 'used')",

    /* the length of a piece when it was cut stands in the move that the cut made */
    "SELECT printf('plan %d, bar %d: what came off piece %s is %s, but it was %s long', c.plan,"
    " c.bar, p.number, " MM(
        "c.parts + c.posts + c.kept + c.scrap + c.trim + c.chips") ","
                                                                   " " MM(
                                                                       "coalesce(v.to_measured, "
                                                                       "p.length)") ")"
                                                                                    " FROM "
                                                                                    "live_cuts AS "
                                                                                    "c JOIN pieces "
                                                                                    "AS p ON p.id "
                                                                                    "= c.piece "
                                                                                    "JOIN moves AS "
                                                                                    "v ON v.step = "
                                                                                    "c.step"
                                                                                    " AND v.piece "
                                                                                    "= c.piece AND "
                                                                                    "v.to_state = "
                                                                                    "'used' WHERE"
                                                                                    " c.parts + "
                                                                                    "c.posts + "
                                                                                    "c.kept + "
                                                                                    "c.scrap + "
                                                                                    "c.trim + "
                                                                                    "c.chips <>"
                                                                                    " coalesce(v."
                                                                                    "to_measured, "
                                                                                    "p.length)",

    "SELECT printf('plan %d, bar %d: no move says that piece %s was cut', c.plan, c.bar, p.number)"
    " FROM live_cuts AS c JOIN pieces AS p ON p.id = c.piece WHERE NOT EXISTS (SELECT 1 FROM moves"
    " WHERE step = c.step AND piece = c.piece AND to_state = 'used')",

    "SELECT printf('plan %d, bar %d: %s of piece %s were kept, but its offcuts are %s long', plan,"
    " bar, " MM("kept") ", number, " MM(
        "born") ") FROM (SELECT c.plan, c.bar, c.kept, b.number,"
                " (SELECT coalesce(sum(coalesce(v.to_measured, p.length)), 0) FROM pieces AS p "
                "JOIN moves AS v"
                "  ON v.piece = p.id AND v.from_state IS NULL WHERE p.parent = c.piece AND p.step "
                "= c.step"
                "  AND p.state <> 'void') AS born"
                " FROM live_cuts AS c JOIN pieces AS b ON b.id = c.piece) WHERE kept <> born",

    "SELECT printf('piece %s: it is held by plan %d, which is not open', number, plan)"
    " FROM pieces AS p WHERE p.state = 'held' AND NOT EXISTS"
    " (SELECT 1 FROM live_plans WHERE id = p.plan AND open)",

    "SELECT printf('plan %d, bar %d: piece %s is neither held for it nor cut', b.plan, b.bar,"
    " p.number) FROM plan_bars AS b JOIN live_plans AS l ON l.id = b.plan AND l.open"
    " JOIN pieces AS p ON p.id = b.piece WHERE NOT EXISTS"
    " (SELECT 1 FROM live_cuts AS c WHERE c.plan = b.plan AND c.bar = b.bar)"
    " AND (p.state <> 'held' OR p.plan <> b.plan)",

    "SELECT printf('piece %s: %d pieces have this number', number, count(*)) FROM pieces"
    " WHERE state <> 'void' GROUP BY number HAVING count(*) > 1",

    "SELECT printf('material %s: it is not as its history says', m.code) FROM materials AS m"
    " WHERE NOT EXISTS (SELECT 1 FROM material_changes AS c WHERE c.id ="
    " (SELECT max(id) FROM material_changes WHERE material = m.id) AND"
    " (c.code, c.name, c.alloy, c.finish, c.od, c.wall, c.radius, c.density) IS"
    " (m.code, m.name, m.alloy, m.finish, m.od, m.wall, m.radius, m.density))",
};

/* A remark for each row, which is its first column. */
static dw_err check_rows(struct dw_ledger *ledger, const char *sql, const char *lead,
                         struct dw_report *report, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = true;
    dw_err err = dw_sql__open(ledger, &stmt, error, sql, "");
    while (!err) {
        err = dw_sql__next(ledger, stmt, &row, error);
        if (err || !row)
            break;
        const char *said = (const char *)sqlite3_column_text(stmt, 0);
        if ((!said || strcmp(said, "ok") != 0) &&
            dw_report__add(report, DW_WRONG, NULL, 0, 0, "%s%s", lead, said ? said : "?") != DW_OK)
            err = dw_error__nomem(error);
    }
    sqlite3_finalize(stmt);
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

/* The file is the shop's own business: one that others may read is a doubt. */
static dw_err check_mode(struct dw_ledger *ledger, struct dw_report *report, struct dw_error *error)
{
    const char *path = sqlite3_db_filename(ledger->db, "main");
    struct stat st;
    if (!path || !*path || stat(path, &st) != 0 || (st.st_mode & 077) == 0)
        return DW_OK;
    dw_err err = dw_report__add(report, DW_DOUBT, path, 0, 0,
                                "others on this computer may read or write the shelf file, mode "
                                "%04o: 0600 keeps it to its owner",
                                (unsigned)st.st_mode & 0777u);
    return err ? dw_error__nomem(error) : DW_OK;
}

dw_err dw_ledger_check(struct dw_ledger *ledger, struct dw_report *report, struct dw_error *error)
{
    dw_err err = dw_sql__exec(ledger, "BEGIN", error);
    if (err)
        return err;
    err = check_rows(ledger, "PRAGMA integrity_check", "the file is damaged: ", report, error);
    if (!err)
        err = check_rows(ledger,
                         "SELECT printf('row %d of %s names a row of %s that is not there',"
                         " rowid, \"table\", parent) FROM pragma_foreign_key_check",
                         "the file is damaged: ", report, error);
    for (size_t i = 0; !err && i < DW_COUNT(faults); i++)
        err = check_rows(ledger, faults[i], "", report, error);
    if (!err)
        err = dw_ledger__check_seals(ledger, report, error);
    if (!err)
        err = check_balance(ledger, report, error);
    if (!err)
        err = check_mode(ledger, report, error);
    sqlite3_exec(ledger->db, "ROLLBACK", NULL, NULL, NULL);
    if (!err && report->n_wrong > 0)
        err = dw_error__set(error, DW_ERR_CHECK, "the ledger is not in order");
    return err;
}
