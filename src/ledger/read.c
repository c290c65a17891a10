/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading: pieces, materials, history. */
#include "ledger/ledger.h"

#include <stdlib.h>
#include <string.h>

dw_length dw_stock_actual(const struct dw_stock *stock)
{
    return stock->measured ? stock->measured : stock->length;
}

bool dw_stock_there(const struct dw_stock *stock)
{
    return stock->state == DW_STATE_SHELF || stock->state == DW_STATE_HELD;
}

void dw_stock_list_free(struct dw_stock_list *list)
{
    if (list)
        dw_arena__free(list->arena);
}

void dw_material_list_free(struct dw_material_list *list)
{
    if (list)
        dw_arena__free(list->arena);
}

void dw_history_free(struct dw_history *history)
{
    if (history)
        dw_arena__free(history->arena);
}

#define STOCK_COLUMNS                                                                              \
    "p.number, m.code, p.kind, p.length, p.measured, p.datum, p.far, p.value, p.place, p.owner,"   \
    " p.mark, p.day, p.job, p.remark, (SELECT number FROM pieces WHERE id = p.parent), p.state,"   \
    " p.plan, (SELECT plan FROM arrivals WHERE piece = p.id),"                                     \
    " (SELECT substr(at, 1, 10) FROM steps WHERE id = p.step)"

static bool read_stock(sqlite3_stmt *stmt, struct dw_arena *arena, struct dw_stock *out)
{
    bool failed = false;
    *out = (struct dw_stock){
        .number = dw_sql__text(stmt, 0, arena, &failed),
        .material = dw_sql__text(stmt, 1, arena, &failed),
        .kind = (enum dw_kind)dw_sql__word(stmt, 2, &dw_kind__words),
        .length = sqlite3_column_int64(stmt, 3),
        .measured = sqlite3_column_int64(stmt, 4),
        .ends = {dw_sql__end(stmt, 5), dw_sql__end(stmt, 6)},
        .value = sqlite3_column_int64(stmt, 7),
        .place = dw_sql__text(stmt, 8, arena, &failed),
        .owner = dw_sql__text(stmt, 9, arena, &failed),
        .mark = dw_sql__text(stmt, 10, arena, &failed),
        .date = dw_sql__text(stmt, 11, arena, &failed),
        .job = dw_sql__text(stmt, 12, arena, &failed),
        .remark = dw_sql__text(stmt, 13, arena, &failed),
        .from = dw_sql__text(stmt, 14, arena, &failed),
        .state = dw_ledger__state((const char *)sqlite3_column_text(stmt, 15)),
        .plan = sqlite3_column_int64(stmt, 16),
        .came_for = sqlite3_column_int64(stmt, 17),
        .since = dw_sql__text(stmt, 18, arena, &failed),
    };
    return !failed;
}

/* The statement of a query. Each condition is in the text whether it restricts or not: the text
 * is one constant, only values differ. */
static dw_err open_query(struct dw_ledger *ledger, const struct dw_stock_query *q,
                         sqlite3_stmt **out, struct dw_error *error)
{
    static const char sql[] =
        "SELECT " STOCK_COLUMNS " FROM pieces AS p JOIN materials AS m ON m.id = p.material"
        " WHERE p.state IN (SELECT value FROM json_each(?1))"
        " AND (?2 IS NULL OR p.material = (SELECT id FROM materials WHERE code = ?2))"
        " AND (?3 IS NULL OR p.number = ?3)"
        " AND (?4 IS NULL OR p.place = ?4)"
        " AND (?5 IS NULL OR coalesce(p.owner, '') = ?5)"
        " AND coalesce(p.measured, p.length) >= ?6"
        " AND (?7 IS NULL OR p.day < ?7)"
        " AND (?8 IS NULL OR p.plan = ?8)"
        " AND (?9 IS NULL OR p.id IN (SELECT piece FROM moves WHERE step = ?9))"
        " AND (?10 IS NULL OR p.kind = ?10)"
        " ORDER BY m.code, coalesce(p.measured, p.length), p.day, p.id";
    unsigned states = q->states;
    if (states == 0)
        states = q->step ? ~0u : 1u << DW_STATE_SHELF | 1u << DW_STATE_HELD;
    struct dw_buf words = {0};
    dw_buf__char(&words, '[');
    for (size_t i = 0; i < dw_state__words.n; i++)
        if (states >> i & 1)
            dw_buf__format(&words, "%s\"%s\"", words.n > 1 ? "," : "", dw_state__words.words[i]);
    dw_buf__char(&words, ']');
    const char *kind = q->only_bars      ? dw_kind_word(DW_KIND_BAR)
                       : q->only_offcuts ? dw_kind_word(DW_KIND_OFFCUT)
                                         : NULL;
    dw_err err = words.failed ? dw_error__nomem(error)
                              : dw_sql__open(ledger, out, error, sql, "tttttitnnt", words.text,
                                             q->material, q->number, q->place, q->owner,
                                             q->at_least, q->before, q->plan, q->step, kind);
    dw_buf__free(&words);
    return err;
}

dw_err dw_ledger__collect(struct dw_ledger *ledger, sqlite3_stmt *stmt, struct dw_arena *arena,
                          size_t size, bool (*read)(sqlite3_stmt *, struct dw_arena *, void *),
                          void **rows, size_t *n, struct dw_error *error)
{
    char *heap = NULL;
    size_t capacity = 0, count = 0;
    bool row = true;
    dw_err err = DW_OK;
    while (!err) {
        err = dw_sql__next(ledger, stmt, &row, error);
        if (err || !row)
            break;
        size_t bytes = capacity;
        if (!dw_array__grow(&heap, &bytes, (count + 1) * size, 1) ||
            !read(stmt, arena, heap + count * size))
            err = dw_error__nomem(error);
        capacity = bytes;
        count++;
    }
    *rows = err || count == 0 ? NULL : dw_arena__alloc(arena, count, size);
    if (*rows)
        memcpy(*rows, heap, count * size);
    else if (!err && count > 0)
        err = dw_error__nomem(error);
    *n = err ? 0 : count;
    free(heap);
    return err;
}

/* What a list is made of: how a row is read, and the rows that were. */
struct found {
    size_t size;
    bool (*read)(sqlite3_stmt *, struct dw_arena *, void *);
    void *rows;
    size_t n;
};

/* The end of every list: collects the rows into the arena unless `err` says that the statement
 * could not be opened. Ends the statement; after an error the arena is gone too. */
static dw_err hand_over(struct dw_ledger *ledger, dw_err err, sqlite3_stmt *stmt,
                        struct dw_arena *arena, struct found *found, struct dw_error *error)
{
    if (!err)
        err = dw_ledger__collect(ledger, stmt, arena, found->size, found->read, &found->rows,
                                 &found->n, error);
    sqlite3_finalize(stmt);
    if (err)
        dw_arena__free(arena);
    return err;
}

static bool read_stock_row(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    return read_stock(stmt, arena, out);
}

dw_err dw_ledger_list(struct dw_ledger *ledger, const struct dw_stock_query *query,
                      struct dw_stock_list **out, struct dw_error *error)
{
    *out = NULL;
    sqlite3_stmt *stmt = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_stock_list *list = arena ? dw_arena__alloc(arena, 1, sizeof *list) : NULL;
    dw_err err = list ? open_query(ledger, query, &stmt, error) : dw_error__nomem(error);
    struct found found = {.size = sizeof(struct dw_stock), .read = read_stock_row};
    err = hand_over(ledger, err, stmt, arena, &found, error);
    if (err)
        return err;
    *list = (struct dw_stock_list){.n = found.n, .rows = found.rows, .arena = arena};
    *out = list;
    return DW_OK;
}

static bool read_material(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    bool failed = false;
    struct dw_material *material = out;
    *material = (struct dw_material){
        .id = dw_sql__text(stmt, 0, arena, &failed),
        .name = dw_sql__text(stmt, 1, arena, &failed),
        .alloy = dw_sql__text(stmt, 2, arena, &failed),
        .finish = dw_sql__text(stmt, 3, arena, &failed),
        .od = sqlite3_column_int64(stmt, 4),
        .wall = sqlite3_column_int64(stmt, 5),
        .radius = sqlite3_column_int64(stmt, 6),
        .density_g_m3 = sqlite3_column_int64(stmt, 7),
    };
    return !failed;
}

dw_err dw_ledger_materials(struct dw_ledger *ledger, struct dw_material_list **out,
                           struct dw_error *error)
{
    *out = NULL;
    sqlite3_stmt *stmt = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_material_list *list = arena ? dw_arena__alloc(arena, 1, sizeof *list) : NULL;
    dw_err err = list ? dw_sql__open(ledger, &stmt, error,
                                     "SELECT code, name, alloy, finish, od, wall, radius, density"
                                     " FROM materials ORDER BY code",
                                     "")
                      : dw_error__nomem(error);
    struct found found = {.size = sizeof(struct dw_material), .read = read_material};
    err = hand_over(ledger, err, stmt, arena, &found, error);
    if (err)
        return err;
    *list = (struct dw_material_list){.n = found.n, .rows = found.rows, .arena = arena};
    *out = list;
    return DW_OK;
}

static bool read_event(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    bool failed = false;
    struct dw_event *event = out;
    *event = (struct dw_event){
        .step = sqlite3_column_int64(stmt, 0),
        .number = dw_sql__text(stmt, 1, arena, &failed),
        .when = dw_sql__text(stmt, 2, arena, &failed),
        .who = dw_sql__text(stmt, 3, arena, &failed),
        .what = dw_sql__text(stmt, 4, arena, &failed),
        .note = dw_sql__text(stmt, 5, arena, &failed),
        .undone = sqlite3_column_int(stmt, 6) != 0,
        .created = sqlite3_column_type(stmt, 7) == SQLITE_NULL,
        .from_state = dw_ledger__state((const char *)sqlite3_column_text(stmt, 7)),
        .to_state = dw_ledger__state((const char *)sqlite3_column_text(stmt, 8)),
        .from_length = sqlite3_column_int64(stmt, 9),
        .to_length = sqlite3_column_int64(stmt, 10),
        .from_plan = sqlite3_column_int64(stmt, 11),
        .to_plan = sqlite3_column_int64(stmt, 12),
        .from_place = dw_sql__text(stmt, 13, arena, &failed),
        .to_place = dw_sql__text(stmt, 14, arena, &failed),
    };
    event->created = event->created && event->number;
    return !failed;
}

#define EVENT_COLUMNS                                                                              \
    "SELECT s.id AS step, p.number, s.at, s.who, s.what, s.note,"                                  \
    " EXISTS (SELECT 1 FROM steps WHERE undoes = s.id), v.from_state, v.to_state,"                 \
    " coalesce(v.from_measured, p.length), coalesce(v.to_measured, p.length), v.from_plan,"        \
    " v.to_plan, v.from_place, v.to_place, v.id AS move"                                           \
    " FROM steps AS s LEFT JOIN moves AS v ON v.step = s.id LEFT JOIN pieces AS p ON p.id = "      \
    "v.piece"

/* The events of a piece, void ones of the same number left out, and of its ancestors. */
static dw_err open_history(struct dw_ledger *ledger, const char *number, int64_t most,
                           sqlite3_stmt **stmt, struct dw_error *error)
{
    if (!number)
        return dw_sql__open(ledger, stmt, error,
                            "SELECT * FROM (" EVENT_COLUMNS
                            " WHERE s.id IN (SELECT id FROM steps ORDER BY id DESC LIMIT ?1)"
                            " ORDER BY s.id DESC, v.id DESC LIMIT ?1) ORDER BY step, move",
                            "i", most);
    struct dw_piece_row piece;
    dw_err err = dw_ledger__find(ledger, number, &piece, error);
    if (err)
        return err;
    return dw_sql__open(ledger, stmt, error,
                        "WITH RECURSIVE line(id) AS (SELECT ?1 UNION ALL SELECT parent FROM pieces"
                        " JOIN line USING (id) WHERE parent IS NOT NULL) " EVENT_COLUMNS
                        " WHERE v.piece IN (SELECT id FROM line) ORDER BY v.id",
                        "i", piece.id);
}

/* Of the events without a piece, what their steps were. */
static dw_err tell_steps(struct dw_ledger *ledger, struct dw_history *history,
                         struct dw_error *error)
{
    struct dw_deed deed;
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < history->n; i++) {
        struct dw_event *event = &history->rows[i];
        if (event->number)
            continue;
        err = dw_ledger_deed(ledger, event->step, &deed, error);
        event->told = err ? NULL : dw_arena__text(history->arena, deed.what);
        if (!err && !event->told)
            err = dw_error__nomem(error);
    }
    return err;
}

dw_err dw_ledger_history(struct dw_ledger *ledger, const char *number, int64_t most,
                         struct dw_history **out, struct dw_error *error)
{
    *out = NULL;
    sqlite3_stmt *stmt = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_history *history = arena ? dw_arena__alloc(arena, 1, sizeof *history) : NULL;
    dw_err err =
        history ? open_history(ledger, number, most, &stmt, error) : dw_error__nomem(error);
    struct found found = {.size = sizeof(struct dw_event), .read = read_event};
    err = hand_over(ledger, err, stmt, arena, &found, error);
    if (err)
        return err;
    *history = (struct dw_history){.n = found.n, .rows = found.rows, .arena = arena};
    err = tell_steps(ledger, history, error);
    if (err)
        dw_arena__free(arena);
    else
        *out = history;
    return err;
}
