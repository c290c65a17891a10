/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading plans that were held. */
#include "ledger/ledger.h"

#include <string.h>

void dw_held_list_free(struct dw_held_list *list)
{
    if (list)
        dw_arena__free(list->arena);
}

#define PLAN_COLUMNS                                                                               \
    "SELECT p.id, p.job, s.at, p.digest, p.value, p.replaces, p.open,"                             \
    " (SELECT count(*) FROM live_cuts WHERE plan = p.id),"                                         \
    " (SELECT count(*) FROM plan_bars WHERE plan = p.id),"                                         \
    " (SELECT coalesce(sum((SELECT sum(count) FROM plan_pieces WHERE plan = p.id AND"              \
    "  layout = b.layout) - c.done), 0) FROM live_cuts AS c JOIN plan_bars AS b"                   \
    "  ON b.plan = c.plan AND b.bar = c.bar WHERE c.plan = p.id), p.document"                      \
    " FROM live_plans AS p JOIN steps AS s ON s.id = p.step"

static bool read_plan(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    bool failed = false;
    struct dw_held_plan *plan = out;
    *plan = (struct dw_held_plan){
        .id = sqlite3_column_int64(stmt, 0),
        .job = dw_sql__text(stmt, 1, arena, &failed),
        .when = dw_sql__text(stmt, 2, arena, &failed),
        .job_digest = (uint64_t)sqlite3_column_int64(stmt, 3),
        .value = sqlite3_column_int64(stmt, 4),
        .replaces = sqlite3_column_int64(stmt, 5),
        .open = sqlite3_column_int(stmt, 6) != 0,
        .n_cut = sqlite3_column_int64(stmt, 7),
        .n_bars = (size_t)sqlite3_column_int64(stmt, 8),
        .n_missing = sqlite3_column_int64(stmt, 9),
    };
    return !failed;
}

/* The same with its document. */
static bool read_whole_plan(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    struct dw_held_plan *plan = out;
    bool failed = !read_plan(stmt, arena, out);
    plan->document = dw_sql__text(stmt, 10, arena, &failed);
    return !failed;
}

/* The table of plan_pieces has a word of its own for a bend end. */
#define STORED_BEND_END "bend"

const char *dw_ledger__use_word(enum dw_use use)
{
    return use == DW_USE_BEND_END ? STORED_BEND_END : dw_use_word(use);
}

enum dw_use dw_ledger__use(sqlite3_stmt *stmt, int column)
{
    const char *word = (const char *)sqlite3_column_text(stmt, column);
    return word && strcmp(word, STORED_BEND_END) == 0
               ? DW_USE_BEND_END
               : (enum dw_use)dw_sql__word(stmt, column, &dw_use__words);
}

static bool read_piece(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    bool failed = false;
    struct dw_held_piece *piece = out;
    int64_t part = sqlite3_column_int64(stmt, 1);
    *piece = (struct dw_held_piece){
        .use = dw_ledger__use(stmt, 0),
        .part = part < 0 ? DW_NONE : (size_t)part,
        .label = dw_sql__text(stmt, 2, arena, &failed),
        .length = sqlite3_column_int64(stmt, 3),
        .count = sqlite3_column_int64(stmt, 4),
    };
    return !failed;
}

static bool read_bar(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    bool failed = false;
    struct dw_held_bar *bar = out;
    *bar = (struct dw_held_bar){
        .bar = sqlite3_column_int64(stmt, 0),
        .layout = sqlite3_column_int64(stmt, 1),
        .supply = dw_sql__text(stmt, 2, arena, &failed),
        .number = dw_sql__text(stmt, 3, arena, &failed),
        .material = dw_sql__text(stmt, 4, arena, &failed),
        .source = (enum dw_source)dw_sql__word(stmt, 5, &dw_source__words),
        .length = sqlite3_column_int64(stmt, 6),
        .trim = sqlite3_column_int64(stmt, 7),
        .rest = (enum dw_rest)dw_sql__word(stmt, 8, &dw_rest__words),
        .leftover = sqlite3_column_int64(stmt, 9),
        .cut = sqlite3_column_type(stmt, 10) != SQLITE_NULL,
        .n_done = sqlite3_column_int64(stmt, 10),
        .price = sqlite3_column_int64(stmt, 11),
        .ends = {dw_sql__end(stmt, 12), dw_sql__end(stmt, 13)},
        .other = sqlite3_column_int(stmt, 14) != 0,
    };
    return !failed;
}

static dw_err read_pieces(struct dw_ledger *ledger, int64_t plan, struct dw_arena *arena,
                          struct dw_held_bar *bar, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    void *rows = NULL;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT use, part, label, length, count FROM plan_pieces"
                              " WHERE plan = ? AND layout = ? ORDER BY seq",
                              "ii", plan, bar->layout);
    if (!err)
        err = dw_ledger__collect(ledger, stmt, arena, sizeof(struct dw_held_piece), read_piece,
                                 &rows, &bar->n_pieces, error);
    bar->pieces = rows;
    sqlite3_finalize(stmt);
    return err;
}

/* Bars of one layout follow each other: they share its pieces. */
static dw_err read_bars(struct dw_ledger *ledger, struct dw_arena *arena, struct dw_held_plan *plan,
                        struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    void *rows = NULL;
    dw_err err =
        dw_sql__open(ledger, &stmt, error,
                     "SELECT b.bar, b.layout, b.supply, p.number, m.code, b.source, b.length,"
                     " b.trim, b.rest, b.leftover, c.done, b.price, b.datum,"
                     " b.far, c.piece IS NOT NULL AND c.piece IS NOT b.piece AND NOT EXISTS"
                     " (SELECT 1 FROM came WHERE plan = b.plan AND supply = b.supply AND"
                     "  piece = c.piece) FROM plan_bars AS b"
                     " JOIN materials AS m ON m.id = b.material"
                     " LEFT JOIN live_cuts AS c ON c.plan = b.plan AND c.bar = b.bar"
                     " JOIN bar_pieces AS h ON h.plan = b.plan AND h.bar = b.bar"
                     " LEFT JOIN pieces AS p ON p.id = coalesce(c.piece, h.piece)"
                     " WHERE b.plan = ? ORDER BY b.bar",
                     "i", plan->id);
    if (!err)
        err = dw_ledger__collect(ledger, stmt, arena, sizeof(struct dw_held_bar), read_bar, &rows,
                                 &plan->n_bars, error);
    sqlite3_finalize(stmt);
    plan->bars = rows;
    for (size_t i = 0; !err && i < plan->n_bars; i++) {
        struct dw_held_bar *bar = &plan->bars[i];
        if (i > 0 && bar[-1].layout == bar->layout) {
            bar->pieces = bar[-1].pieces;
            bar->n_pieces = bar[-1].n_pieces;
        } else {
            err = read_pieces(ledger, plan->id, arena, bar, error);
        }
    }
    return err;
}

static bool read_buy(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    bool failed = false;
    *(struct dw_held_buy *)out = (struct dw_held_buy){
        .supply = dw_sql__text(stmt, 0, arena, &failed),
        .supplier = dw_sql__text(stmt, 1, arena, &failed),
        .material = dw_sql__text(stmt, 2, arena, &failed),
        .length = sqlite3_column_int64(stmt, 3),
        .pack = sqlite3_column_int64(stmt, 4),
        .bought = sqlite3_column_int64(stmt, 5),
        .came = sqlite3_column_int64(stmt, 6),
        .money = sqlite3_column_int64(stmt, 7),
    };
    return !failed;
}

static dw_err read_buys(struct dw_ledger *ledger, struct dw_arena *arena, struct dw_held_plan *plan,
                        struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    void *rows = NULL;
    dw_err err = dw_sql__open(
        ledger, &stmt, error,
        "SELECT u.supply, u.supplier, m.code, b.nominal, u.pack, u.bought,"
        " (SELECT count(*) FROM came WHERE plan = u.plan AND supply = u.supply), u.money"
        " FROM purchases AS u JOIN plan_tubes AS b ON b.plan = u.plan AND b.supply = u.supply"
        " JOIN materials AS m ON m.id = b.material WHERE u.plan = ?"
        " ORDER BY b.bar IS NULL, b.bar, b.supply",
        "i", plan->id);
    if (!err)
        err = dw_ledger__collect(ledger, stmt, arena, sizeof(struct dw_held_buy), read_buy, &rows,
                                 &plan->n_buys, error);
    plan->buys = rows;
    sqlite3_finalize(stmt);
    return err;
}

static dw_err read_list(struct dw_ledger *ledger, int64_t id, bool only_open,
                        struct dw_held_list *list, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    void *rows = NULL;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              PLAN_COLUMNS " WHERE (?1 IS NULL OR p.id = ?1)"
                                           " AND (?2 IS NULL OR p.open) ORDER BY p.id",
                              "nn", id, (int64_t)only_open);
    if (!err)
        err = dw_ledger__collect(ledger, stmt, list->arena, sizeof(struct dw_held_plan),
                                 id ? read_whole_plan : read_plan, &rows, &list->n, error);
    sqlite3_finalize(stmt);
    list->rows = rows;
    if (!err && id && list->n == 0)
        err = dw_error__set(error, DW_ERR_NOTFOUND, "there is no plan %lld in the ledger",
                            (long long)id);
    if (!err && id)
        err = read_bars(ledger, list->arena, &list->rows[0], error);
    if (!err && id)
        err = read_buys(ledger, list->arena, &list->rows[0], error);
    return err;
}

static dw_err make_list(struct dw_ledger *ledger, int64_t id, bool only_open,
                        struct dw_held_list **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_held_list *list = arena ? dw_arena__alloc(arena, 1, sizeof *list) : NULL;
    if (!list) {
        dw_arena__free(arena);
        return dw_error__nomem(error);
    }
    list->arena = arena;
    dw_err err = read_list(ledger, id, only_open, list, error);
    if (err)
        dw_arena__free(arena);
    else
        *out = list;
    return err;
}

dw_err dw_ledger_plans(struct dw_ledger *ledger, bool only_open, struct dw_held_list **out,
                       struct dw_error *error)
{
    return make_list(ledger, 0, only_open, out, error);
}

dw_err dw_ledger_plan(struct dw_ledger *ledger, int64_t plan_id, struct dw_held_list **out,
                      struct dw_error *error)
{
    if (plan_id < 1) {
        *out = NULL;
        return dw_error__set(error, DW_ERR_NOTFOUND, "plans are numbered from 1");
    }
    return make_list(ledger, plan_id, false, out, error);
}
