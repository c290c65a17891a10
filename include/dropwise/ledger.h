/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shelf: a ledger of whole bars and offcuts in one SQLite file.
 *
 * Every change is one step: it happens whole or not at all, is written to a history that nothing
 * can rewrite, and can be undone from the last one back. Several processes may use one file; a
 * piece is held by one plan at most.
 *
 * Lengths balance exactly, in nanometres, after every step:
 *
 *   brought in + corrected = parts + posts + on shelf + held + scrap + trim + chips + lost
 *
 * The clock is the caller's: each step carries its time. Text is UTF-8 without control characters;
 * it is only ever text.
 *
 * Threads: one ledger, one thread at a time; several threads open the file once each. */
#ifndef DROPWISE_LEDGER_H
#define DROPWISE_LEDGER_H

#include <dropwise/plan.h>

#ifdef __cplusplus
extern "C" {
#endif

struct dw_ledger;
struct dw_arena;

enum dw_ledger_mode {
    DW_LEDGER_READ,   /* nothing is written; the file must exist */
    DW_LEDGER_WRITE,  /* the file must exist */
    DW_LEDGER_CREATE, /* made when it does not exist or is empty */
};

/* Opens a ledger, brings an older one forward. busy_ms: how long a step waits for another process.
 * DW_ERR_NOTFOUND, DW_ERR_SCHEMA (foreign, newer or corrupt: nothing is changed), DW_ERR_IO,
 * DW_ERR_BUSY, DW_ERR_NOMEM. */
dw_err dw_ledger_open(const char *path, enum dw_ledger_mode mode, int busy_ms,
                      struct dw_ledger **out, struct dw_error *error);
void dw_ledger_close(struct dw_ledger *ledger);

/* DW_ERR_STATE if another file was put in the place of the one that was opened, or was written over
 * it. Every step asks this by itself; who keeps a ledger open asks before reading, too. A copy that
 * was put back by dw_ledger_restore is no such thing. Cost: two look-ups. */
dw_err dw_ledger_same(struct dw_ledger *ledger, struct dw_error *error);

/* Who did a step and when: ISO 8601 (`2026-03-01T14:05:00Z`), required; the rest may be NULL. */
struct dw_act {
    const char *when;
    const char *who;
    const char *note;
    int64_t seen; /* last step that its author knew of, 0 = never mind: a piece that a later step
                     changed is left alone, DW_ERR_STATE, with what happened to it */
};

/* X(name, word): where a piece is in its life. VOID: the step that brought it was undone. */
#define DW_STATE_LIST(X)                                                                           \
    X(DW_STATE_SHELF, "shelf")                                                                     \
    X(DW_STATE_HELD, "held")                                                                       \
    X(DW_STATE_USED, "used")                                                                       \
    X(DW_STATE_SCRAPPED, "scrapped")                                                               \
    X(DW_STATE_LOST, "lost")                                                                       \
    X(DW_STATE_VOID, "void")

enum dw_state {
#define DW_STATE_ENUM(name, word) name,
    DW_STATE_LIST(DW_STATE_ENUM)
#undef DW_STATE_ENUM
};
const char *dw_state_word(enum dw_state state);

#define DW_KIND_LIST(X)                                                                            \
    X(DW_KIND_BAR, "bar")                                                                          \
    X(DW_KIND_OFFCUT, "offcut")

enum dw_kind {
#define DW_KIND_ENUM(name, word) name,
    DW_KIND_LIST(DW_KIND_ENUM)
#undef DW_KIND_ENUM
};
const char *dw_kind_word(enum dw_kind kind);

/* A bar or an offcut. */
struct dw_stock {
    const char *number; /* unique among the pieces that are not void; NULL when adding: the next */
    const char *material; /* id of the material */
    enum dw_kind kind;
    dw_length length;   /* nominal, > 0 */
    dw_length measured; /* 0 = as nominal */
    enum dw_end ends[2];
    dw_money value; /* book value, >= 0 */
    const char *place;
    const char *owner; /* NULL: the shop */
    const char *mark;  /* heat or lot mark */
    const char *date;  /* ISO 8601 day */
    const char *job;   /* the job it came from */
    const char *remark;
    /* of what is read; not looked at when adding */
    const char *from;  /* number of the piece it was cut from */
    int64_t came_for;  /* plan for which it was bought and came; 0 = it was not */
    const char *since; /* day of the step that brought it */
    enum dw_state state;
    int64_t plan; /* that holds it; 0 = none */
};

/* Rows read from a ledger; one arena owns all they point to. */
struct dw_stock_list {
    size_t n;
    struct dw_stock *rows; /* length n */
    struct dw_arena *arena;
};
void dw_stock_list_free(struct dw_stock_list *list);

/* Measured length where there is one, else nominal. */
dw_length dw_stock_actual(const struct dw_stock *stock);
/* Is it on the shelf or held: tube that the shop has? */
bool dw_stock_there(const struct dw_stock *stock);

/* --- materials ------------------------------------------------------------------------------ */

struct dw_material_list {
    size_t n;
    struct dw_material *rows; /* id, name, alloy, finish, od, wall, radius, density */
    struct dw_arena *arena;
};
void dw_material_list_free(struct dw_material_list *list);
dw_err dw_ledger_materials(struct dw_ledger *ledger, struct dw_material_list **out,
                           struct dw_error *error);
/* Enters a material, or fills in what was not known of it. DW_ERR_STATE if it is known otherwise
 * (another diameter, wall or radius under the same id). */
dw_err dw_ledger_material_put(struct dw_ledger *ledger, const struct dw_act *act,
                              const struct dw_material *material, struct dw_error *error);

/* --- reading -------------------------------------------------------------------------------- */

/* What to list; zeros and NULLs do not restrict. */
struct dw_stock_query {
    unsigned states; /* bit 1u << DW_STATE_..., 0 = on the shelf and held */
    const char *material;
    const char *number;
    const char *place;
    const char *owner;  /* "" = the shop's own only */
    dw_length at_least; /* actual length */
    const char *before; /* date earlier than this ISO day */
    int64_t plan;       /* held by */
    int64_t step;       /* touched by this step; states are then not looked at unless given */
    bool only_bars;
    bool only_offcuts;
};

/* In order of material, then length (shortest first), then age: the first is the best fit. */
dw_err dw_ledger_list(struct dw_ledger *ledger, const struct dw_stock_query *query,
                      struct dw_stock_list **out, struct dw_error *error);

/* One change of one piece, or a step that changed none. */
struct dw_event {
    int64_t step;
    const char *number; /* of the piece; NULL: the step moved none */
    const char *told;   /* what such a step was, as dw_deed has it; else NULL */
    const char *when;
    const char *who;
    const char *what; /* "add", "hold", ..., "undo" */
    const char *note;
    bool undone;  /* by a later step */
    bool created; /* the piece came into being: from_* mean nothing */
    enum dw_state from_state, to_state;
    dw_length from_length, to_length; /* actual */
    int64_t from_plan, to_plan;
    const char *from_place, *to_place;
};
struct dw_history {
    size_t n;
    struct dw_event *rows; /* oldest first */
    struct dw_arena *arena;
};
void dw_history_free(struct dw_history *history);
/* All that happened to a piece and to the pieces it was cut from, back to the bar. NULL: the last
 * `most` events of the whole ledger, steps that moved no piece with them. DW_ERR_NOTFOUND. */
dw_err dw_ledger_history(struct dw_ledger *ledger, const char *number, int64_t most,
                         struct dw_history **out, struct dw_error *error);

/* Number of the last step, for dw_act.seen, and of the one that an undo would undo. 0 = none. */
dw_err dw_ledger_last(struct dw_ledger *ledger, int64_t *step, int64_t *undoable,
                      struct dw_error *error);

/* --- steps ---------------------------------------------------------------------------------- */

/* X(name, word, done, undoable): what a step can be. `word` stands in the file and in what programs
 * read, `done` in sentences. */
#define DW_STEP_LIST(X)                                                                            \
    X(DW_STEP_ADD, "add", "added", true)                                                           \
    X(DW_STEP_DELIVER, "deliver", "delivered", true)                                               \
    X(DW_STEP_MOVE, "move", "moved", true)                                                         \
    X(DW_STEP_SCRAP, "scrap", "thrown away", true)                                                 \
    X(DW_STEP_COUNT, "count", "counted", true)                                                     \
    X(DW_STEP_HOLD, "hold", "held", true)                                                          \
    X(DW_STEP_RELEASE, "release", "released", true)                                                \
    X(DW_STEP_CUT, "cut", "cut", true)                                                             \
    X(DW_STEP_MISCUT, "miscut", "cut otherwise than planned", true)                                \
    X(DW_STEP_MEASURE, "measure", "measured", true)                                                \
    X(DW_STEP_TRUE, "true", "given its true length", true)                                         \
    X(DW_STEP_MATERIAL, "material", "described", false)                                            \
    X(DW_STEP_UNDO, "undo", "undone", false)                                                       \
    X(DW_STEP_RESTORE, "restore", "put back from a copy", false)

enum dw_step_kind {
#define DW_STEP_ENUM(name, word, done, undoable) name,
    DW_STEP_LIST(DW_STEP_ENUM)
#undef DW_STEP_ENUM
};
const char *dw_step_word(enum dw_step_kind kind);

/* A step in words. */
struct dw_deed {
    int64_t id;
    enum dw_step_kind kind;
    bool undone;
    char when[41];
    char who[201];  /* empty: no name was given */
    char what[256]; /* "bar 2 of plan 3 cut" */
};
/* DW_ERR_NOTFOUND. */
dw_err dw_ledger_deed(struct dw_ledger *ledger, int64_t id, struct dw_deed *out,
                      struct dw_error *error);
/* "step 14: bar 2 of plan 3 cut, by Ada, 2026-03-01 14:05 UTC" */
#define DW_DEED_TEXT 560
void dw_deed_print(char text[DW_DEED_TEXT], const struct dw_deed *step);

/* Doubts about the time of a step that is to come, which is taken all the same: before that of the
 * last step, or over a day after `now`, which is the caller's clock. */
dw_err dw_ledger_doubt_time(struct dw_ledger *ledger, const struct dw_act *act, const char *now,
                            struct dw_report *report, struct dw_error *error);

/* Each writes the number of its step to *step (NULL: not wanted); dw_stock_query.step lists what it
 * touched. Errors besides those named: DW_ERR_INPUT, DW_ERR_NOTFOUND (no such piece, material or
 * plan), DW_ERR_STATE, DW_ERR_HELD, DW_ERR_BUSY, DW_ERR_IO, DW_ERR_NOMEM; nothing is then changed.
 */

/* Several acts as one step: one row of history, one undo, all of it or nothing. Between the two,
 * dw_ledger_cut, dw_ledger_measure, dw_ledger_hold and dw_ledger_release are parts of the step
 * (with the act that began it), and what is read is the shelf as they leave it. One such step
 * within another is a part of it. `plan`: which it is about, 0 = none. */
dw_err dw_ledger_step_begin(struct dw_ledger *ledger, const struct dw_act *act,
                            enum dw_step_kind kind, int64_t plan, struct dw_error *error);
/* Commits if err is DW_OK and no part failed, else takes all back. Returns err, or why not. */
dw_err dw_ledger_step_end(struct dw_ledger *ledger, dw_err err, int64_t *step,
                          struct dw_error *error);
/* Takes all back: the step was begun in order to see what it would do. */
void dw_ledger_step_drop(struct dw_ledger *ledger);
/* DW_ERR_STATE if a step after `seen`, other than the one under way, was about the plan. */
dw_err dw_ledger_plan_since(struct dw_ledger *ledger, int64_t plan, int64_t seen,
                            struct dw_error *error);

/* Adds pieces from outside, all or none. DW_ERR_EXISTS: the number is taken. */
dw_err dw_ledger_add(struct dw_ledger *ledger, const struct dw_act *act,
                     const struct dw_stock *pieces, size_t n, int64_t *step,
                     struct dw_error *error);

/* What dw_ledger_add would add, with the numbers it would give; nothing is changed. */
dw_err dw_ledger_add_dry(struct dw_ledger *ledger, const struct dw_act *act,
                         const struct dw_stock *pieces, size_t n, struct dw_stock_list **out,
                         struct dw_error *error);

dw_err dw_ledger_move(struct dw_ledger *ledger, const struct dw_act *act,
                      const char *const *numbers, size_t n, const char *place, int64_t *step,
                      struct dw_error *error);

/* Throws pieces away. One that is held is refused. */
dw_err dw_ledger_scrap(struct dw_ledger *ledger, const struct dw_act *act,
                       const char *const *numbers, size_t n, int64_t *step, struct dw_error *error);

/* Stock-taking. Each row was seen: its length, place, or a lost piece found again, is booked.
 * Pieces on the shelf within `place` and `material` (NULL: all) that no row names are lost when
 * `complete` is set; act->seen then speaks of all of them. dry: find the differences, change
 * nothing.
 *
 * A row may name a piece that is used or thrown away by the book: the book is wrong, or the table
 * is old. The row is then a doubt and nothing is booked of it, unless bring_back says that the
 * piece does lie there: it is on the shelf again, `corrected` grows by its length (what was said to
 * have come off it stays as it was: that came off another piece), and a doubt tells what that
 * means. */
struct dw_counted {
    const char *number;
    dw_length length;  /* as measured; 0 = not measured */
    const char *place; /* NULL = not looked at */
    int line;          /* of the row in `file`, for remarks; 0 = none */
};
struct dw_count {
    size_t n;
    const struct dw_counted *rows; /* length n */
    bool complete;
    const char *place;
    const char *material;
    bool bring_back;
    bool dry;
    const char *file;         /* of the rows; may be NULL */
    struct dw_report *report; /* doubts of single rows; NULL: not wanted */
};
/* *differences (may be NULL) lists the pieces that were not as booked, as they are afterwards. */
dw_err dw_ledger_count(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_count *count, struct dw_stock_list **differences,
                       int64_t *step, struct dw_error *error);

/* --- plans ---------------------------------------------------------------------------------- */

struct dw_hold {
    uint64_t job_digest;  /* of the job as written, without the shelf; kept for later comparison */
    const char *document; /* the plan document; may be NULL */
    int64_t replaces;     /* open plan that this one takes over from, 0 = none: its pieces are free
                             for this plan, the others go back to the shelf */
    bool again;           /* though dw_ledger_plan_of finds a plan of this digest */
};

/* The number that the next plan will have: within a step of several acts it stays so until that
 * plan is held. */
dw_err dw_ledger_next_plan(struct dw_ledger *ledger, int64_t *id, struct dw_error *error);

/* The open plan with bars to cut, or with pieces that did not come out, that a job of this digest
 * has, the last one of several; 0 = none. */
dw_err dw_ledger_plan_of(struct dw_ledger *ledger, uint64_t job_digest, int64_t *plan_id,
                         struct dw_error *error);

/* Holds for a plan every piece that it takes from the shelf (supplies with source SHELF or OFFCUT;
 * the supply's id is the piece's number, its length must be as booked, and its book value where a
 * document brings it) and enters its bars, numbered from 1 in cutting order. DW_ERR_HELD names the
 * piece and the plan that has it; DW_ERR_EXISTS the plan that the job has already. */
dw_err dw_ledger_hold(struct dw_ledger *ledger, const struct dw_act *act, const struct dw_job *job,
                      const struct dw_plan *plan, const struct dw_hold *hold, int64_t *plan_id,
                      int64_t *step, struct dw_error *error);

/* Closes a plan; what it holds and has not cut goes back to the shelf. */
dw_err dw_ledger_release(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                         int64_t *step, struct dw_error *error);

/* Bars of one supply that came for a plan: first those that its layouts use, by their numbers, then
 * those to spare. */
struct dw_arrival {
    const char *supply;
    int64_t n;              /* bars, >= 1 */
    const dw_money *values; /* length n: what was paid for each; NULL = as the plan counted it */
};
struct dw_delivery {
    size_t n;
    const struct dw_arrival *rows; /* length n */
    const char *place;             /* where the bars are put; NULL = not said */
    const char *mark;              /* heat or lot mark of all of them; may be NULL */
};
/* Books what came of what an open plan buys. A bar that a layout uses is held by the plan and tied
 * to that bar's number; the others lie on the shelf. DW_ERR_STATE: more than is still to come. */
dw_err dw_ledger_deliver(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                         const struct dw_delivery *delivery, int64_t *step, struct dw_error *error);

/* What else came off a bar than the pieces of its layout. */
struct dw_off {
    dw_length length;
    bool keep; /* an offcut for the shelf, else scrap */
    dw_money value;
    const char *material; /* NULL: the bar's leftover material */
    enum dw_end far;      /* its far end; the other one is sawn */
    const char *remark;
};
/* How a bar was really cut. Chips are what remains: actual length - trim - pieces - loose >= 0. */
struct dw_cut {
    const char *number; /* of the piece that was cut; NULL = the planned one */
    dw_length length;   /* its actual length, 0 = as booked; the difference is booked */
    int64_t n_done;     /* good pieces, from the datum end */
    dw_length trim;     /* squaring trims taken */
    size_t n_loose;
    const struct dw_off *loose; /* length n_loose */
};
/* Books one bar as cut: as planned (cut NULL) or as it happened. A new bar that has not come yet
 * comes with its pack, in the same step; with the last one of its supply all that was bought of it
 * comes. place: where the offcuts are put, NULL = not said. */
dw_err dw_ledger_cut(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                     int64_t bar, const struct dw_cut *cut, const char *place, int64_t *step,
                     struct dw_error *error);

/* Books one bar as cut as planned, where `number` was written on its rest before the cut: a kept
 * rest gets it. DW_ERR_EXISTS: another piece has that number by now. NULL: the next one. */
dw_err dw_ledger_cut_marked(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                            int64_t bar, const char *number, const char *place, int64_t *step,
                            struct dw_error *error);

/* Books bars as cut as they were planned, in one step: bars[0..n), or with n 0 all that are not
 * cut yet. *n_cut: how many. After an error none is. */
dw_err dw_ledger_cut_bars(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                          const int64_t *bars, size_t n, const char *place, size_t *n_cut,
                          int64_t *step, struct dw_error *error);

/* Enters the new bar of a plan's bar, with its pack, as bought and measured, held by the plan; or,
 * if the bar is a piece of the shelf, corrects its length. What was paid stays its book value. */
dw_err dw_ledger_measure(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                         int64_t bar, dw_length measured, int64_t *step, struct dw_error *error);

/* Undoes the last step that is not undone. expect: its number, or 0 for the last one if act->who
 * did it. *undone (may be NULL): what it was. DW_ERR_STATE: another step came after it, it is
 * another's and not named, or there is none; the message tells the step. */
dw_err dw_ledger_undo(struct dw_ledger *ledger, const struct dw_act *act, int64_t expect,
                      struct dw_deed *undone, int64_t *step, struct dw_error *error);

struct dw_held_piece {
    enum dw_use use;
    size_t part; /* index in the job as written, DW_NONE for a bend end */
    const char *label;
    dw_length length;
    int64_t count;
};
struct dw_held_bar {
    int64_t bar; /* 1.. */
    int64_t layout;
    const char *supply;
    const char *number; /* of the piece; NULL: a new bar that is still to come */
    const char *material;
    enum dw_source source;
    dw_length length; /* actual, as planned */
    dw_money price;   /* of the bar, as the plan counted it */
    enum dw_end ends[2];
    dw_length trim; /* squared off, all of its mill ends together */
    enum dw_rest rest;
    dw_length leftover;
    size_t n_pieces;
    const struct dw_held_piece *pieces;
    bool cut;
    int64_t n_done; /* of a bar that is cut */
    bool other;     /* it was cut from another piece than planned: the planned one is there still */
};
/* What a plan buys of one supply. */
struct dw_held_buy {
    const char *supply;
    const char *supplier;
    const char *material;
    dw_length length; /* nominal */
    int64_t pack;
    int64_t bought; /* bars */
    int64_t came;   /* of these */
    dw_money money; /* for all of them, as the plan counted it */
};
struct dw_held_plan {
    int64_t id;
    const char *job;
    const char *when;
    uint64_t job_digest;
    dw_money value;
    int64_t replaces;
    bool open; /* not released, not replaced */
    int64_t n_cut;
    int64_t n_missing; /* pieces of the bars that are cut which did not come out */
    size_t n_bars;
    struct dw_held_bar *bars; /* length n_bars; only in dw_ledger_plan */
    size_t n_buys;
    struct dw_held_buy *buys; /* length n_buys; only in dw_ledger_plan */
    const char *document;     /* only in dw_ledger_plan */
};
struct dw_held_list {
    size_t n;
    struct dw_held_plan *rows;
    struct dw_arena *arena;
};
void dw_held_list_free(struct dw_held_list *list);
/* All plans, or the open ones; without their bars, but with n_bars and n_cut. */
dw_err dw_ledger_plans(struct dw_ledger *ledger, bool only_open, struct dw_held_list **out,
                       struct dw_error *error);
/* One plan with its bars: rows[0]. */
dw_err dw_ledger_plan(struct dw_ledger *ledger, int64_t plan_id, struct dw_held_list **out,
                      struct dw_error *error);

/* --- settings of the shop ------------------------------------------------------------------- */

/* X(name, default, least, most, help) */
#define DW_SHELF_RULE_LIST(X)                                                                      \
    X(max_offcuts, -1, -1, 1000000, "keep at most so many offcuts; -1 = no ceiling")               \
    X(max_age_days, -1, -1, 100000, "list offcuts older than this as scrap; -1 = never")           \
    X(favour_old, 0, 0, INT64_C(10000000000),                                                      \
      "money by which a piece is cheaper for each 30 days it has lain")                            \
    X(book_share_ppm, 1000000, 0, 1000000,                                                         \
      "share of the book value that a plan counts, in millionths")                                 \
    X(unit, DW_UNIT_MM, DW_UNIT_MM, DW_UNIT_FT, "unit of printed lengths (enum dw_unit)")

struct dw_shelf_rules {
#define DW_SHELF_RULE_FIELD(name, def, least, most, help) int64_t name;
    DW_SHELF_RULE_LIST(DW_SHELF_RULE_FIELD)
#undef DW_SHELF_RULE_FIELD
    char currency[4]; /* "XXX" until the first job or piece with money says which */
};
dw_err dw_ledger_rules(struct dw_ledger *ledger, struct dw_shelf_rules *out,
                       struct dw_error *error);
/* seen: the rules as their author knew them; NULL = never mind. DW_ERR_RANGE names the rule.
 * DW_ERR_STATE: another currency once pieces have a value; rules that are not as seen. */
dw_err dw_ledger_rules_set(struct dw_ledger *ledger, const struct dw_shelf_rules *seen,
                           const struct dw_shelf_rules *rules, struct dw_error *error);

/* --- trust ---------------------------------------------------------------------------------- */

struct dw_balance {
    dw_length in;        /* brought in: added, found in the first place, bought for a plan */
    dw_length corrected; /* by counts and measuring; what was used by the book and lay there all
                            the same is in it with its whole length; may be negative */
    dw_length parts;
    dw_length posts;
    dw_length on_shelf;
    dw_length held;
    dw_length scrap; /* from cuts, and pieces thrown away */
    dw_length trim;
    dw_length chips;
    dw_length lost;
    dw_length kept; /* offcuts that went to the shelf, over all time; contained in the others */
    int64_t n_shelf, n_held;
};
dw_err dw_ledger_balance(struct dw_ledger *ledger, struct dw_balance *out, struct dw_error *error);

/* Everything that can be checked: SQLite's own integrity check, references, that history and state
 * agree, that every cut adds up and every held piece has its plan, and the balance. Each fault is a
 * DW_WRONG remark and makes the result DW_ERR_CHECK. */
dw_err dw_ledger_check(struct dw_ledger *ledger, struct dw_report *report, struct dw_error *error);

/* Copies the ledger while others use it, into a file that its owner alone may read; it appears
 * whole or not at all, and nothing is left of one that was not finished. DW_ERR_EXISTS. */
dw_err dw_ledger_backup(struct dw_ledger *ledger, const char *to, struct dw_error *error);

/* The same copy in memory, for who has no place for a file. *bytes is yours to free
 * with dw_free, length *n.
 * DW_ERR_LIMIT over 256 MiB. */
dw_err dw_ledger_image(struct dw_ledger *ledger, unsigned char **bytes, size_t *n,
                       struct dw_error *error);

/* Putting a copy back, also while others have the shelf open. */
struct dw_restore {
    const char *path; /* of the shelf */
    const char *copy;
    struct dw_act act;
    int busy_ms;
    bool lose_later; /* consent: steps of the shelf that the copy does not have are lost */
};
struct dw_restored {
    int64_t step;      /* that says so */
    int64_t copy_step; /* last one of the copy */
    int64_t n_lost;    /* steps that are lost, from the first to the last of them */
    struct dw_deed first_lost, last_lost;
    char *kept; /* where the shelf as it was is kept, beside it; NULL: there was none */
};
void dw_restored_free(struct dw_restored *restored);
/* The copy is checked first, all of it, and is not touched; a fault of it is a remark of the report
 * and DW_ERR_CHECK. Under the lock of the shelf the shelf as it is is kept in a file beside it,
 * `path`.before-STEP, and the copy takes its place in one transaction, with a step of kind
 * DW_STEP_RESTORE after it. Numbers of steps, pieces, plans and documents that were given out since
 * the copy are not given again: a label on a tube stays the only one. What others had seen before
 * is refused (struct dw_act, seen). A shelf file that is not there is made; a damaged one is moved
 * to `path`.damaged. DW_ERR_STATE: steps would be lost and lose_later is not set; the message tells
 * them. */
dw_err dw_ledger_restore(const struct dw_restore *how, struct dw_restored *out,
                         struct dw_report *report, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
