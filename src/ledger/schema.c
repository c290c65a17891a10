/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables. Lengths are nanometres, money is 1/10 000 unit. A row, once written, stays: only
 * pieces change, and each change of one writes itself into moves. What a step did is in force as
 * long as no later step undoes it. */
#include "ledger/ledger.h"

#define LENGTH      "BETWEEN 1 AND 1000000000000000"
#define LENGTH_OR_0 "BETWEEN 0 AND 1000000000000000"
#define MONEY       "BETWEEN 0 AND 1000000000000000"
#define FROZEN(table)                                                                              \
    "CREATE TRIGGER " table "_no_update BEFORE UPDATE ON " table                                   \
    " BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;"                                   \
    "CREATE TRIGGER " table "_no_delete BEFORE DELETE ON " table                                   \
    " BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;"

#define MATERIAL_WRITTEN(name, on, when)                                                           \
    "CREATE TRIGGER " name " AFTER " on " ON materials" when                                       \
    " BEGIN INSERT INTO material_changes(step, material, code, name, alloy, finish, od, wall,"     \
    " radius, density) VALUES ((SELECT max(id) FROM steps), new.id, new.code, new.name,"           \
    " new.alloy, new.finish, new.od, new.wall, new.radius, new.density); END;"

static const char *const version_1[] = {
    /* One row a command that changed something. */
    "CREATE TABLE steps ("
    " id INTEGER PRIMARY KEY,"
    " at TEXT NOT NULL CHECK (length(at) BETWEEN 10 AND 40),"
    " who TEXT, note TEXT,"
    " what TEXT NOT NULL CHECK (what IN ('add','import','move','scrap','count','hold','release',"
    "  'cut','miscut','measure','material','undo')),"
    " undoes INTEGER UNIQUE REFERENCES steps(id) CHECK (undoes < id),"
    " CHECK ((what = 'undo') = (undoes IS NOT NULL))"
    ") STRICT;",

    "CREATE TABLE materials ("
    " id INTEGER PRIMARY KEY,"
    " code TEXT NOT NULL UNIQUE CHECK (length(code) BETWEEN 1 AND 200),"
    " name TEXT, alloy TEXT, finish TEXT,"
    " od INTEGER NOT NULL CHECK (od " LENGTH_OR_0 "),"
    " wall INTEGER NOT NULL CHECK (wall >= 0 AND (od = 0 OR 2 * wall <= od)),"
    " radius INTEGER NOT NULL CHECK (radius " LENGTH_OR_0 "),"
    " density INTEGER NOT NULL CHECK (density BETWEEN 0 AND 100000000)"
    ") STRICT;",

    "CREATE TABLE plans ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " job TEXT, digest INTEGER NOT NULL, value INTEGER NOT NULL, document TEXT,"
    " replaces INTEGER REFERENCES plans(id) CHECK (replaces < id)"
    ") STRICT;",

    "CREATE TABLE pieces ("
    " id INTEGER PRIMARY KEY,"
    " number TEXT NOT NULL CHECK (length(number) BETWEEN 1 AND 64),"
    " material INTEGER NOT NULL REFERENCES materials(id),"
    " kind TEXT NOT NULL CHECK (kind IN ('bar','offcut')),"
    " length INTEGER NOT NULL CHECK (length " LENGTH "),"
    " measured INTEGER CHECK (measured " LENGTH "),"
    " datum TEXT NOT NULL CHECK (datum IN ('mill','sawn')),"
    " far TEXT NOT NULL CHECK (far IN ('mill','sawn')),"
    " value INTEGER NOT NULL CHECK (value " MONEY "),"
    " place TEXT, owner TEXT, mark TEXT, day TEXT, job TEXT, remark TEXT,"
    " parent INTEGER REFERENCES pieces(id) CHECK (parent < id),"
    " state TEXT NOT NULL CHECK (state IN ('shelf','held','used','scrapped','lost','void')),"
    " plan INTEGER REFERENCES plans(id),"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " CHECK ((state = 'held') = (plan IS NOT NULL))"
    ") STRICT;"
    "CREATE UNIQUE INDEX piece_numbers ON pieces(number) WHERE state <> 'void';"
    "CREATE INDEX pieces_there ON pieces(material, state);"
    "CREATE INDEX pieces_state ON pieces(state);"
    "CREATE INDEX pieces_of_plan ON pieces(plan) WHERE plan IS NOT NULL;"
    "CREATE INDEX pieces_of_parent ON pieces(parent) WHERE parent IS NOT NULL;",

    "CREATE TABLE moves ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " piece INTEGER NOT NULL REFERENCES pieces(id),"
    " from_state TEXT, to_state TEXT NOT NULL,"
    " from_measured INTEGER, to_measured INTEGER,"
    " from_plan INTEGER REFERENCES plans(id), to_plan INTEGER REFERENCES plans(id),"
    " from_place TEXT, to_place TEXT"
    ") STRICT;"
    "CREATE INDEX moves_of_piece ON moves(piece);"
    "CREATE INDEX moves_of_step ON moves(step);",

    "CREATE TABLE plan_bars ("
    " plan INTEGER NOT NULL REFERENCES plans(id),"
    " bar INTEGER NOT NULL CHECK (bar >= 1),"
    " layout INTEGER NOT NULL,"
    " supply TEXT NOT NULL,"
    " piece INTEGER REFERENCES pieces(id)," /* NULL: bought when it is cut */
    " material INTEGER NOT NULL REFERENCES materials(id),"
    " source TEXT NOT NULL CHECK (source IN ('new','shelf','offcut')),"
    " nominal INTEGER NOT NULL CHECK (nominal " LENGTH "),"
    " length INTEGER NOT NULL CHECK (length " LENGTH "),"
    " price INTEGER NOT NULL CHECK (price " MONEY "),"
    " datum TEXT NOT NULL CHECK (datum IN ('mill','sawn')),"
    " far TEXT NOT NULL CHECK (far IN ('mill','sawn')),"
    " trim INTEGER NOT NULL CHECK (trim " LENGTH_OR_0 "),"
    " rest TEXT NOT NULL CHECK (rest IN ('none','scrap','kept')),"
    " leftover INTEGER NOT NULL CHECK (leftover " LENGTH_OR_0 "),"
    " left_material INTEGER NOT NULL REFERENCES materials(id),"
    " left_far TEXT NOT NULL CHECK (left_far IN ('mill','sawn')),"
    " left_value INTEGER NOT NULL CHECK (left_value " MONEY "),"
    " PRIMARY KEY (plan, bar)"
    ") STRICT, WITHOUT ROWID;",

    "CREATE TABLE plan_pieces ("
    " plan INTEGER NOT NULL REFERENCES plans(id),"
    " layout INTEGER NOT NULL,"
    " seq INTEGER NOT NULL,"
    " use TEXT NOT NULL CHECK (use IN ('part','post','surplus','bend')),"
    " part INTEGER NOT NULL CHECK (part >= -1),"
    " label TEXT,"
    " length INTEGER NOT NULL CHECK (length " LENGTH "),"
    " count INTEGER NOT NULL CHECK (count >= 1),"
    " PRIMARY KEY (plan, layout, seq)"
    ") STRICT, WITHOUT ROWID;",

    "CREATE TABLE plan_ends ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " plan INTEGER NOT NULL REFERENCES plans(id),"
    " why TEXT NOT NULL CHECK (why IN ('released','replaced'))"
    ") STRICT;"
    "CREATE INDEX ends_of_plan ON plan_ends(plan);",

    "CREATE TABLE cuts ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " plan INTEGER NOT NULL, bar INTEGER NOT NULL,"
    " piece INTEGER NOT NULL REFERENCES pieces(id),"
    " done INTEGER NOT NULL CHECK (done >= 0),"
    " parts INTEGER NOT NULL CHECK (parts >= 0),"
    " posts INTEGER NOT NULL CHECK (posts >= 0),"
    " kept INTEGER NOT NULL CHECK (kept >= 0),"
    " scrap INTEGER NOT NULL CHECK (scrap >= 0),"
    " trim INTEGER NOT NULL CHECK (trim >= 0),"
    " chips INTEGER NOT NULL CHECK (chips >= 0),"
    " FOREIGN KEY (plan, bar) REFERENCES plan_bars(plan, bar)"
    ") STRICT;"
    "CREATE INDEX cuts_of_bar ON cuts(plan, bar);"
    "CREATE INDEX cuts_of_piece ON cuts(piece);"
    "CREATE INDEX cuts_of_step ON cuts(step);",

    "CREATE VIEW live_cuts AS SELECT * FROM cuts"
    " WHERE NOT EXISTS (SELECT 1 FROM steps WHERE undoes = cuts.step);"
    "CREATE VIEW live_plans AS SELECT *,"
    " NOT EXISTS (SELECT 1 FROM plan_ends WHERE plan = plans.id AND"
    "  NOT EXISTS (SELECT 1 FROM steps WHERE undoes = plan_ends.step)) AS open"
    " FROM plans WHERE NOT EXISTS (SELECT 1 FROM steps WHERE undoes = plans.step);",

    /* Every change of a piece writes itself down, as part of the newest step. */
    "CREATE TRIGGER pieces_born AFTER INSERT ON pieces BEGIN"
    " INSERT INTO moves(step, piece, to_state, to_measured, to_plan, to_place)"
    " VALUES (new.step, new.id, new.state, new.measured, new.plan, new.place); END;"
    "CREATE TRIGGER pieces_moved AFTER UPDATE OF state, measured, plan, place ON pieces BEGIN"
    " INSERT INTO moves(step, piece, from_state, to_state, from_measured, to_measured,"
    "  from_plan, to_plan, from_place, to_place)"
    " VALUES ((SELECT max(id) FROM steps), new.id, old.state, new.state, old.measured,"
    "  new.measured, old.plan, new.plan, old.place, new.place); END;"
    "CREATE TRIGGER pieces_fixed BEFORE UPDATE OF id, number, material, kind, length, datum, far,"
    " value, owner, mark, day, job, remark, parent, step ON pieces"
    " BEGIN SELECT RAISE(ABORT, 'what a piece is made of does not change'); END;"
    "CREATE TRIGGER pieces_no_delete BEFORE DELETE ON pieces"
    " BEGIN SELECT RAISE(ABORT, 'history is append-only'); END;"
    "CREATE TRIGGER pieces_used BEFORE UPDATE OF state ON pieces"
    " WHEN old.state IN ('used','scrapped','void') AND old.state <> new.state AND"
    "  (SELECT what FROM steps ORDER BY id DESC LIMIT 1) <> 'undo'"
    " BEGIN SELECT RAISE(ABORT, 'a piece that is gone does not return'); END;",

    /* A cut uses its whole piece, once, and no bar of a plan is cut twice. */
    "CREATE TRIGGER cuts_balance BEFORE INSERT ON cuts"
    " WHEN new.parts + new.posts + new.kept + new.scrap + new.trim + new.chips <>"
    "  (SELECT coalesce(measured, length) FROM pieces WHERE id = new.piece)"
    " BEGIN SELECT RAISE(ABORT, 'a cut must account for the whole bar'); END;"
    "CREATE TRIGGER cuts_once BEFORE INSERT ON cuts"
    " WHEN EXISTS (SELECT 1 FROM live_cuts WHERE piece = new.piece OR"
    "  (plan = new.plan AND bar = new.bar))"
    " BEGIN SELECT RAISE(ABORT, 'a bar is cut once'); END;",

    FROZEN("steps") FROZEN("moves") FROZEN("plans") FROZEN("plan_bars") FROZEN("plan_pieces")
        FROZEN("plan_ends") FROZEN("cuts"),
    NULL,
};

static const char *const version_2[] = {
    /* How this shop keeps its shelf. */
    "CREATE TABLE rules ("
    " name TEXT PRIMARY KEY CHECK (length(name) BETWEEN 1 AND 64),"
    " value INTEGER NOT NULL"
    ") STRICT, WITHOUT ROWID;"
    "CREATE TABLE currency ("
    " one INTEGER PRIMARY KEY CHECK (one = 1),"
    " code TEXT NOT NULL CHECK (length(code) = 3)"
    ") STRICT;",
    NULL,
};

static const char *const version_3[] = {
    /* What a face keeps: jobs, plans, settings. A save must name the revision it was made from. */
    "CREATE TABLE documents ("
    " id INTEGER PRIMARY KEY,"
    " kind TEXT NOT NULL CHECK (length(kind) BETWEEN 1 AND 32),"
    " key TEXT NOT NULL CHECK (length(key) BETWEEN 1 AND 64),"
    " name TEXT,"
    " revision INTEGER NOT NULL CHECK (revision >= 1),"
    " at TEXT NOT NULL CHECK (length(at) BETWEEN 10 AND 40),"
    " who TEXT,"
    " body TEXT NOT NULL,"
    " UNIQUE (kind, key)"
    ") STRICT;"
    "CREATE TABLE document_numbers ("
    " kind TEXT PRIMARY KEY,"
    " last INTEGER NOT NULL"
    ") STRICT, WITHOUT ROWID;",
    NULL,
};

static const char *const version_4[] = {
    /* What a step may be called stands in DW_STEP_LIST alone. `plan` is the plan that the step is
     * about and that was there before it; plans that it made name the step themselves. */
    "CREATE TABLE steps_4 ("
    " id INTEGER PRIMARY KEY,"
    " at TEXT NOT NULL CHECK (length(at) BETWEEN 10 AND 40),"
    " who TEXT, note TEXT,"
    " what TEXT NOT NULL CHECK (length(what) BETWEEN 1 AND 32),"
    " undoes INTEGER UNIQUE REFERENCES steps(id) CHECK (undoes < id),"
    " plan INTEGER REFERENCES plans(id),"
    " CHECK ((what = 'undo') = (undoes IS NOT NULL))"
    ") STRICT;"
    "INSERT INTO steps_4(id, at, who, note, what, undoes, plan)"
    " SELECT id, at, who, note, what, undoes, coalesce("
    "  (SELECT plan FROM cuts WHERE step = s.id), (SELECT plan FROM plan_ends WHERE step = s.id),"
    "  (SELECT to_plan FROM moves WHERE step = s.id AND s.what = 'measure'))"
    " FROM steps AS s ORDER BY id;"
    "DROP TABLE steps;"
    "ALTER TABLE steps_4 RENAME TO steps;" FROZEN(
        "steps") "CREATE INDEX pieces_of_step ON pieces(step);"
                 "CREATE INDEX plans_of_step ON plans(step);"
                 "CREATE INDEX ends_of_step ON plan_ends(step);",

    /* What is known of a material, each time that it became more. */
    "CREATE TABLE material_changes ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " material INTEGER NOT NULL REFERENCES materials(id),"
    " code TEXT NOT NULL, name TEXT, alloy TEXT, finish TEXT,"
    " od INTEGER NOT NULL, wall INTEGER NOT NULL, radius INTEGER NOT NULL,"
    " density INTEGER NOT NULL"
    ") STRICT;"
    "CREATE INDEX changes_of_step ON material_changes(step);"
    "CREATE INDEX changes_of_material ON material_changes(material);"
    "INSERT INTO material_changes(step, material, code, name, alloy, finish, od, wall, radius,"
    " density) SELECT (SELECT max(id) FROM steps), id, code, name, alloy, finish, od, wall, radius,"
    " density FROM materials ORDER BY id;" MATERIAL_WRITTEN("materials_born", "INSERT", "")
        MATERIAL_WRITTEN(
            "materials_changed", "UPDATE",
            " WHEN (old.code, old.name, old.alloy, old.finish, old.od, old.wall,"
            " old.radius, old.density) IS NOT (new.code, new.name, new.alloy,"
            " new.finish, new.od, new.wall, new.radius, new.density)") "CREATE TRIGGER "
                                                                       "materials_no_delete BEFORE "
                                                                       "DELETE ON materials"
                                                                       " BEGIN SELECT RAISE(ABORT, "
                                                                       "'history is append-only'); "
                                                                       "END;" FROZEN(
                                                                           "material_changes"),

    /* Pieces that were gone by the book and lay there all the same: the book had `length` too
     * little. */
    "CREATE TABLE finds ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " piece INTEGER NOT NULL REFERENCES pieces(id),"
    " was TEXT NOT NULL CHECK (was IN ('used','scrapped')),"
    " length INTEGER NOT NULL CHECK (length " LENGTH ")"
    ") STRICT;"
    "CREATE INDEX finds_of_piece ON finds(piece);"
    "CREATE INDEX finds_of_step ON finds(step);"
    "CREATE VIEW live_finds AS SELECT * FROM finds"
    " WHERE NOT EXISTS (SELECT 1 FROM steps WHERE undoes = finds.step);"
    "CREATE TRIGGER finds_gone BEFORE INSERT ON finds"
    " WHEN NOT EXISTS (SELECT 1 FROM pieces WHERE id = new.piece AND state = new.was AND"
    "  coalesce(measured, length) = new.length)"
    " BEGIN SELECT RAISE(ABORT, 'what is found was gone'); END;"
    "DROP TRIGGER pieces_used;"
    "CREATE TRIGGER pieces_used BEFORE UPDATE OF state ON pieces"
    " WHEN old.state IN ('used','scrapped','void') AND old.state <> new.state AND"
    "  (SELECT undoes FROM steps ORDER BY id DESC LIMIT 1) IS NULL AND NOT (new.state = 'shelf'"
    "  AND EXISTS (SELECT 1 FROM finds WHERE piece = old.id AND was = old.state AND"
    "   step = (SELECT max(id) FROM steps)))"
    " BEGIN SELECT RAISE(ABORT, 'a piece that is gone does not return'); END;"
    "DROP TRIGGER cuts_once;"
    "CREATE TRIGGER cuts_once BEFORE INSERT ON cuts"
    " WHEN (SELECT count(*) FROM live_cuts WHERE piece = new.piece) >"
    "  (SELECT count(*) FROM live_finds WHERE piece = new.piece AND was = 'used') OR"
    "  EXISTS (SELECT 1 FROM live_cuts WHERE plan = new.plan AND bar = new.bar)"
    " BEGIN SELECT RAISE(ABORT, 'a bar is cut once'); END;" FROZEN("finds"),

    /* A copy that was put back: the numbers that were given out after it are not given again. */
    "CREATE TABLE restores ("
    " step INTEGER PRIMARY KEY REFERENCES steps(id),"
    " copy_step INTEGER NOT NULL,"
    " last_step INTEGER NOT NULL,"
    " last_piece INTEGER NOT NULL,"
    " last_plan INTEGER NOT NULL"
    ") STRICT;" FROZEN("restores"),

    /* SHA-256 over the seal before and all rows that were written since: see chain.c. */
    "CREATE TABLE seals ("
    " step INTEGER PRIMARY KEY REFERENCES steps(id),"
    " hash BLOB NOT NULL CHECK (length(hash) = 32)"
    ") STRICT;" FROZEN("seals"),
    NULL,
};

static const char *const version_5[] = {
    /* What a plan buys: whole packs, and more than it cuts where a price break makes that cheaper.
     * Plans that were held before this was written down buy what they cut. */
    "CREATE TABLE plan_buys ("
    " plan INTEGER NOT NULL REFERENCES plans(id),"
    " supply TEXT NOT NULL,"
    " supplier TEXT,"
    " pack INTEGER NOT NULL CHECK (pack >= 1),"
    " bought INTEGER NOT NULL CHECK (bought >= 1),"
    " money INTEGER NOT NULL CHECK (money " MONEY "),"
    " PRIMARY KEY (plan, supply)"
    ") STRICT, WITHOUT ROWID;" FROZEN("plan_buys"),
    "CREATE VIEW purchases AS SELECT plan, supply, supplier, pack, bought, money FROM plan_buys"
    " UNION ALL SELECT plan, supply, NULL, 1, count(*), sum(price) FROM plan_bars AS b"
    "  WHERE source = 'new' AND NOT EXISTS (SELECT 1 FROM plan_buys WHERE plan = b.plan)"
    "  GROUP BY plan, supply;",

    /* A bought bar that came; without a bar of the plan that it is for, it is to spare. */
    "CREATE TABLE arrivals ("
    " id INTEGER PRIMARY KEY,"
    " step INTEGER NOT NULL REFERENCES steps(id),"
    " plan INTEGER NOT NULL REFERENCES plans(id),"
    " supply TEXT NOT NULL,"
    " bar INTEGER,"
    " piece INTEGER NOT NULL UNIQUE REFERENCES pieces(id),"
    " FOREIGN KEY (plan, bar) REFERENCES plan_bars(plan, bar)"
    ") STRICT;"
    "CREATE INDEX arrivals_of_bar ON arrivals(plan, bar);"
    "CREATE INDEX arrivals_of_step ON arrivals(step);" FROZEN("arrivals"),
    /* Before arrivals were written down, a bar came with its cut. */
    "CREATE VIEW came AS SELECT plan, supply, bar, piece FROM arrivals"
    " WHERE NOT EXISTS (SELECT 1 FROM steps WHERE undoes = arrivals.step)"
    " UNION ALL SELECT c.plan, b.supply, c.bar, c.piece FROM live_cuts AS c"
    "  JOIN plan_bars AS b ON b.plan = c.plan AND b.bar = c.bar AND b.source = 'new'"
    "  JOIN pieces AS p ON p.id = c.piece AND p.step = c.step AND p.parent IS NULL"
    "  WHERE NOT EXISTS (SELECT 1 FROM arrivals WHERE piece = c.piece);",
    /* The piece that each bar of a plan is, if it is here. Bought bars of one supply are alike: one
     * whose own bar was cut from something else stands in where another is gone. */
    "CREATE VIEW bar_pieces AS SELECT b.plan, b.bar, coalesce(b.piece,"
    " (SELECT a.piece FROM came AS a JOIN pieces AS p ON p.id = a.piece"
    "  WHERE a.plan = b.plan AND a.bar = b.bar AND p.state = 'held' AND p.plan = b.plan),"
    " (SELECT min(a.piece) FROM came AS a JOIN pieces AS p ON p.id = a.piece"
    "  WHERE a.plan = b.plan AND a.supply = b.supply AND p.state = 'held' AND p.plan = b.plan AND"
    "  EXISTS (SELECT 1 FROM live_cuts WHERE plan = a.plan AND bar = a.bar))) AS piece"
    " FROM plan_bars AS b;",
    NULL,
};

static const char *const version_6[] = {
    /* The tube of what a plan buys for the shelf alone: none of its bars is one of the plan. */
    "CREATE TABLE plan_spares ("
    " plan INTEGER NOT NULL REFERENCES plans(id),"
    " supply TEXT NOT NULL,"
    " material INTEGER NOT NULL REFERENCES materials(id),"
    " length INTEGER NOT NULL CHECK (length " LENGTH "),"
    " datum TEXT NOT NULL CHECK (datum IN ('mill','sawn')),"
    " far TEXT NOT NULL CHECK (far IN ('mill','sawn')),"
    " PRIMARY KEY (plan, supply)"
    ") STRICT, WITHOUT ROWID;" FROZEN("plan_spares"),
    /* What the bars of each supply of a plan are; `bar` is the first of them. */
    "CREATE VIEW plan_tubes AS"
    " SELECT plan, supply, bar, material, nominal, length, datum, far FROM plan_bars AS b"
    "  WHERE bar = (SELECT min(bar) FROM plan_bars WHERE plan = b.plan AND supply = b.supply)"
    " UNION ALL SELECT plan, supply, NULL, material, length, length, datum, far FROM plan_spares;",
    NULL,
};

static const char *const *const versions[] = {version_1, version_2, version_3,
                                              version_4, version_5, version_6};

int dw_ledger__version(void)
{
    return (int)DW_COUNT(versions);
}

const char *const *dw_ledger__schema(int from)
{
    return from >= 0 && from < dw_ledger__version() ? versions[from] : NULL;
}
