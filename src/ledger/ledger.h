/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of ledger, and what its files share. Only statements with bound values reach SQLite. */
#ifndef DW_LEDGER_H
#define DW_LEDGER_H

#include "base/base.h"
#include "model/model.h"

#include <dropwise/ledger.h>
#include <sqlite3.h>

/* The last step that is sealed; 0: none. */
struct dw_tail {
    int64_t step;
    unsigned char hash[DW_SHA256_BYTES];
};

#define DW_LEDGER_COVERED 14 /* tables that a seal covers */

struct dw_ledger {
    sqlite3 *db;
    sqlite3_stmt *covered[DW_LEDGER_COVERED]; /* prepared once: see chain.c */
    struct dw_tail tail;                      /* as last seen: see dw_ledger_same */
    bool damaged;  /* SQLite could not read it, or its quick check failed */
    bool log;      /* the file wanted a log beside it when it was opened */
    int64_t step;  /* of the transaction under way, 0 = none */
    int64_t seen;  /* of its act */
    int together;  /* times dw_ledger_step_begin: over 0, acts are parts of the step */
    dw_err broken; /* of the first of them that failed */
};

/* --- schema ----------------------------------------------------------------------------------- */

#define DW_LEDGER_APPLICATION 0x44575348 /* "DWSH" */

#define DW_LEDGER_SEALED 4 /* the version from which steps are sealed */

/* How many versions there are; and the SQL texts, ended by NULL, that lead from one to the next. */
int dw_ledger__version(void);
const char *const *dw_ledger__schema(int from);
/* Brings the open file forward to `version`, in one transaction. */
dw_err dw_ledger__migrate(struct dw_ledger *ledger, int version, struct dw_error *error);

/* Refuses what another program wrote or a newer one. *version: 0 for a file that is empty. */
dw_err dw_ledger__read_version(struct dw_ledger *ledger, int64_t *version, struct dw_error *error);
/* SQLite's own check of the file. Cost: O(size of the file). */
dw_err dw_ledger__quick_check(struct dw_ledger *ledger, struct dw_error *error);

/* --- identity --------------------------------------------------------------------------------- */

/* Notes what the file is, for dw_ledger_same. */
dw_err dw_ledger__remember(struct dw_ledger *ledger, struct dw_error *error);
/* Begins a transaction that writes, in the file that was opened and in no other. */
dw_err dw_ledger__lock(struct dw_ledger *ledger, struct dw_error *error);

/* A ledger of the bytes of a file; close ledger->db in every case. own: they are sqlite3_malloc's
 * and the ledger's from now on, else they must outlive it and are not written to. */
dw_err dw_ledger__of_image(struct dw_ledger *ledger, unsigned char *image, size_t n, bool own,
                           struct dw_error *error);

/* --- statements ------------------------------------------------------------------------------- */

/* DW_ERR_... with a text for what SQLite answered. */
dw_err dw_sql__fail(struct dw_ledger *ledger, int rc, struct dw_error *error);
dw_err dw_sql__exec(struct dw_ledger *ledger, const char *sql, struct dw_error *error);

/* Prepares and binds: one letter of `types` an argument, ? 1 on.
 *   i int64_t     n int64_t, 0 is NULL     t const char *, NULL is NULL */
dw_err dw_sql__open(struct dw_ledger *ledger, sqlite3_stmt **out, struct dw_error *error,
                    const char *sql, const char *types, ...);
/* Steps to the next row: *row says whether there is one. */
dw_err dw_sql__next(struct dw_ledger *ledger, sqlite3_stmt *stmt, bool *row,
                    struct dw_error *error);
/* Prepares, binds, runs to the end. *changes (may be NULL): rows changed. */
dw_err dw_sql__run(struct dw_ledger *ledger, int *changes, struct dw_error *error, const char *sql,
                   const char *types, ...);
/* First column of the first row, or `none` when there is no row or it is NULL. */
dw_err dw_sql__int(struct dw_ledger *ledger, int64_t *out, int64_t none, struct dw_error *error,
                   const char *sql, const char *types, ...);

/* A text column copied to the arena. NULL stays NULL; *failed is set when memory is out. */
const char *dw_sql__text(sqlite3_stmt *stmt, int column, struct dw_arena *arena, bool *failed);
/* A text column as one of an enum's words; the checks of the tables let no other in. */
unsigned dw_sql__word(sqlite3_stmt *stmt, int column, const struct dw_words *words);
enum dw_end dw_sql__end(sqlite3_stmt *stmt, int column);

enum dw_state dw_ledger__state(const char *word);
extern const struct dw_words dw_kind__words;  /* enum dw_kind */
extern const struct dw_words dw_state__words; /* enum dw_state */
/* As the table of plan_pieces has it. */
const char *dw_ledger__use_word(enum dw_use use);
enum dw_use dw_ledger__use(sqlite3_stmt *stmt, int column);

/* Copies the rows that a statement gives into the arena: `read` fills one of them, false when
 * memory is out. *rows has *n elements of `size` bytes. */
dw_err dw_ledger__collect(struct dw_ledger *ledger, sqlite3_stmt *stmt, struct dw_arena *arena,
                          size_t size, bool (*read)(sqlite3_stmt *, struct dw_arena *, void *),
                          void **rows, size_t *n, struct dw_error *error);

/* --- steps ------------------------------------------------------------------------------------ */

/* Time, name and note of a step that is to come. */
dw_err dw_ledger__check_act(const struct dw_act *act, struct dw_error *error);
/* The kind of a word in `steps`; false: a word of a later program. */
bool dw_ledger__step_kind(const char *word, enum dw_step_kind *kind);
/* The words of the kinds that no undo takes back, as a JSON array. */
void dw_ledger__fixed_kinds(struct dw_buf *words);

/* Begins a transaction, or nothing within a step of several acts. */
dw_err dw_ledger__transaction(struct dw_ledger *ledger, struct dw_error *error);
/* Begins the transaction of one step and writes its row; within a step of several acts it goes on
 * with that one. plan: the one that it is about, if it is there already; else 0. */
dw_err dw_ledger__begin(struct dw_ledger *ledger, const struct dw_act *act, enum dw_step_kind kind,
                        int64_t plan, struct dw_error *error);
/* Seals the step and commits when err is DW_OK, else rolls back; within a step of several acts its
 * end does that. Returns err, or why the commit failed. */
dw_err dw_ledger__end(struct dw_ledger *ledger, dw_err err, int64_t *step, struct dw_error *error);

/* Ends a step that was only tried: *out (NULL: not wanted) lists what it touched, nothing of it
 * stays. */
dw_err dw_ledger__end_dry(struct dw_ledger *ledger, dw_err err, struct dw_stock_list **out,
                          struct dw_error *error);

/* DW_ERR_STATE if a later step than the act's author had seen changed the piece, or (id 0) any
 * piece. */
dw_err dw_ledger__unchanged(struct dw_ledger *ledger, int64_t id, struct dw_error *error);

/* Text that may be stored: NULL, or 1..most bytes of UTF-8 without control characters. */
dw_err dw_ledger__text_ok(const char *what, const char *text, size_t most, struct dw_error *error);
dw_err dw_ledger__day_ok(const char *what, const char *text, struct dw_error *error);

/* --- chain ------------------------------------------------------------------------------------ */

/* Seals what was written since the last seal, within the transaction that wrote it. */
dw_err dw_ledger__seal(struct dw_ledger *ledger, struct dw_error *error);
/* Frees what sealing has prepared; before the file is closed. */
void dw_ledger__forget(struct dw_ledger *ledger);
/* A DW_WRONG remark for each seal that does not fit what it was put on. */
dw_err dw_ledger__check_seals(struct dw_ledger *ledger, struct dw_report *report,
                              struct dw_error *error);

/* --- pieces ----------------------------------------------------------------------------------- */

/* One live piece by number: what a step needs to know of it. DW_ERR_NOTFOUND; DW_ERR_STATE if its
 * act has not seen what became of the piece. */
struct dw_piece_row {
    int64_t id;
    int64_t material;
    dw_length length; /* actual */
    enum dw_state state;
    int64_t plan;
};
dw_err dw_ledger__find(struct dw_ledger *ledger, const char *number, struct dw_piece_row *out,
                       struct dw_error *error);
/* DW_ERR_HELD or DW_ERR_STATE unless the piece is on the shelf or held by `plan` (0 = none). */
dw_err dw_ledger__free_for(struct dw_ledger *ledger, const char *number,
                           const struct dw_piece_row *piece, int64_t plan, struct dw_error *error);
dw_err dw_ledger__material_id(struct dw_ledger *ledger, const char *code, int64_t *out,
                              struct dw_error *error);
/* Enters a material or checks that it agrees; within a step. */
dw_err dw_ledger__material(struct dw_ledger *ledger, const struct dw_material *material,
                           int64_t *out, struct dw_error *error);

/* A piece as it comes into being. */
struct dw_birth {
    const struct dw_stock *stock; /* number NULL: the next free one */
    int64_t material;
    int64_t parent; /* 0 = from outside */
    enum dw_state state;
    int64_t plan;
};
dw_err dw_ledger__bear(struct dw_ledger *ledger, const struct dw_birth *birth, int64_t *id,
                       struct dw_error *error);

/* The new bar of a plan's bar comes, as the plan counted it, held by the plan, with its pack. */
struct dw_coming {
    int64_t plan;
    int64_t bar;
    dw_length actual;
};
dw_err dw_ledger__come(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_coming *coming, int64_t *piece, struct dw_error *error);

/* DW_ERR_NOTFOUND, DW_ERR_STATE unless plan and open. */
dw_err dw_ledger__plan_open(struct dw_ledger *ledger, int64_t plan, struct dw_error *error);

#endif
