/* SPDX-License-Identifier: GPL-3.0-or-later */
/* At the saw: one bar becomes parts, offcuts, scrap and chips, and nothing else. */
#include "ledger/ledger.h"

#include <string.h>

/* The bar of a plan that is about to be cut. Texts live in the arena. */
struct bar {
    int64_t plan;
    int64_t number;
    int64_t layout;
    int64_t piece;    /* 0 = a new bar */
    dw_length length; /* as planned */
    dw_length trim;
    bool kept;
    dw_length leftover;
    int64_t left_material;
    enum dw_end left_far;
    dw_money left_value;
    const char *job;
};

static dw_err read_bar(sqlite3_stmt *stmt, struct dw_arena *arena, struct bar *bar,
                       struct dw_error *error)
{
    bool failed = false;
    bar->layout = sqlite3_column_int64(stmt, 0);
    bar->piece = sqlite3_column_int64(stmt, 1);
    bar->length = sqlite3_column_int64(stmt, 2);
    bar->trim = sqlite3_column_int64(stmt, 3);
    bar->kept = dw_sql__word(stmt, 4, &dw_rest__words) == DW_REST_KEPT;
    bar->leftover = sqlite3_column_int64(stmt, 5);
    bar->left_material = sqlite3_column_int64(stmt, 6);
    bar->left_far = dw_sql__end(stmt, 7);
    bar->left_value = sqlite3_column_int64(stmt, 8);
    bar->job = dw_sql__text(stmt, 9, arena, &failed);
    return failed ? dw_error__nomem(error) : DW_OK;
}

/* Finds a bar that is still to be cut. */
static dw_err find_bar(struct dw_ledger *ledger, int64_t plan, int64_t number,
                       struct dw_arena *arena, struct bar *bar, struct dw_error *error)
{
    *bar = (struct bar){.plan = plan, .number = number};
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    dw_err err = dw_ledger__plan_open(ledger, plan, error);
    if (!err)
        err = dw_sql__open(ledger, &stmt, error,
                           "SELECT b.layout, h.piece, b.length, b.trim, b.rest, b.leftover,"
                           " b.left_material, b.left_far, b.left_value, p.job FROM plan_bars AS b"
                           " JOIN plans AS p ON p.id = b.plan"
                           " JOIN bar_pieces AS h ON h.plan = b.plan AND h.bar = b.bar"
                           " WHERE b.plan = ? AND b.bar = ?",
                           "ii", plan, number);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err && !row)
        err = dw_error__set(error, DW_ERR_NOTFOUND, "plan %lld has no bar %lld", (long long)plan,
                            (long long)number);
    if (!err)
        err = read_bar(stmt, arena, bar, error);
    sqlite3_finalize(stmt);
    int64_t cut = 0;
    if (!err)
        err = dw_sql__int(ledger, &cut, 0, error,
                          "SELECT 1 FROM live_cuts WHERE plan = ? AND bar = ?", "ii", plan, number);
    if (!err && cut)
        err = dw_error__set(error, DW_ERR_STATE, "bar %lld of plan %lld is cut already",
                            (long long)number, (long long)plan);
    return err;
}

static void day_of(const struct dw_act *act, char day[11])
{
    memcpy(day, act->when, 10);
    day[10] = '\0';
}

/* Which piece is under the saw, as it is; a measured length is booked. */
static dw_err choose_piece(struct dw_ledger *ledger, const struct dw_act *act,
                           const struct bar *bar, const struct dw_cut *cut,
                           struct dw_piece_row *piece, struct dw_error *error)
{
    *piece = (struct dw_piece_row){.id = bar->piece, .length = bar->length};
    dw_length measured = cut ? cut->length : 0;
    dw_err err = DW_OK;
    if (cut && cut->number) {
        err = dw_ledger__find(ledger, cut->number, piece, error);
        if (!err)
            err = dw_ledger__free_for(ledger, cut->number, piece, bar->plan, error);
    } else if (bar->piece) {
        err = dw_sql__int(ledger, &piece->length, 0, error,
                          "SELECT coalesce(measured, length) FROM pieces WHERE id = ?", "i",
                          bar->piece);
    } else {
        piece->length = measured ? measured : bar->length;
        struct dw_coming coming = {bar->plan, bar->number, piece->length};
        err = dw_ledger__come(ledger, act, &coming, &piece->id, error);
    }
    if (!err && measured && measured != piece->length) {
        err = dw_sql__run(ledger, NULL, error, "UPDATE pieces SET measured = ? WHERE id = ?", "ii",
                          measured, piece->id);
        piece->length = measured;
    }
    if (!err && !cut && piece->length != bar->length)
        err = dw_error__set(error, DW_ERR_STATE,
                            "bar %lld of plan %lld is not as long as planned any more: report it "
                            "with `dropwise miscut`",
                            (long long)bar->number, (long long)bar->plan);
    return err;
}

/* What becomes of the length of one bar. */
struct account {
    int64_t done;
    dw_length parts, posts, kept, scrap, trim, chips;
};

/* Counts the first `most` pieces of a layout into the account, all of them if most < 0. */
static dw_err count_done(struct dw_ledger *ledger, const struct bar *bar, int64_t most,
                         struct account *account, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = true;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT use, length, count FROM plan_pieces WHERE plan = ? AND"
                              " layout = ? ORDER BY seq",
                              "ii", bar->plan, bar->layout);
    while (!err && (most < 0 || account->done < most)) {
        err = dw_sql__next(ledger, stmt, &row, error);
        if (err || !row)
            break;
        enum dw_use use = dw_ledger__use(stmt, 0);
        int64_t count = sqlite3_column_int64(stmt, 2);
        if (most >= 0 && count > most - account->done)
            count = most - account->done;
        dw_length *to = use == DW_USE_PART   ? &account->parts
                        : use == DW_USE_POST ? &account->posts
                                             : &account->scrap;
        dw_length length = 0;
        if (!dw_mul__i64(sqlite3_column_int64(stmt, 1), count, &length) ||
            !dw_add__i64(*to, length, to))
            err = dw_error__set(error, DW_ERR_RANGE, "the pieces are longer than any bar");
        account->done += count;
    }
    sqlite3_finalize(stmt);
    if (!err && most >= 0 && account->done < most)
        err = dw_error__set(error, DW_ERR_INPUT, "bar %lld has %lld piece%s, not %lld",
                            (long long)bar->number, (long long)account->done,
                            account->done == 1 ? "" : "s", (long long)most);
    return err;
}

/* Where the offcuts of a bar are put, and the number that is on its rest already. */
struct put {
    const char *place;  /* NULL: not said */
    const char *number; /* NULL: the next one */
};

/* One length that came off besides the layout's pieces; an offcut keeps owner and mark. */
static dw_err book_loose(struct dw_ledger *ledger, const struct dw_act *act, const struct bar *bar,
                         int64_t parent, const struct dw_off *loose, const struct put *put,
                         struct account *account, struct dw_error *error)
{
    dw_length *to = loose->keep ? &account->kept : &account->scrap;
    if (loose->length < 0 || !dw_add__i64(*to, loose->length, to))
        return dw_error__set(error, DW_ERR_RANGE, "a leftover of such a length can't be");
    if (!loose->keep || loose->length == 0)
        return DW_OK;
    int64_t material = bar->left_material, id = 0;
    sqlite3_stmt *stmt = NULL;
    bool row = false;
    char day[11];
    day_of(act, day);
    dw_err err =
        loose->material ? dw_ledger__material_id(ledger, loose->material, &material, error) : DW_OK;
    if (!err)
        err = dw_sql__open(ledger, &stmt, error, "SELECT owner, mark FROM pieces WHERE id = ?", "i",
                           parent);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err) {
        struct dw_stock stock = {
            .kind = DW_KIND_OFFCUT,
            .length = loose->length,
            .ends = {DW_END_SAWN, loose->far},
            .value = loose->value,
            .number = put->number,
            .place = put->place,
            .owner = (const char *)sqlite3_column_text(stmt, 0),
            .mark = (const char *)sqlite3_column_text(stmt, 1),
            .date = day,
            .job = bar->job,
            .remark = loose->remark,
        };
        struct dw_birth birth = {
            .stock = &stock, .material = material, .parent = parent, .state = DW_STATE_SHELF};
        err = dw_ledger__bear(ledger, &birth, &id, error);
    }
    sqlite3_finalize(stmt);
    return err;
}

/* Chips are what the rest does not account for. */
static dw_err close_account(struct dw_ledger *ledger, const struct bar *bar,
                            const struct dw_piece_row *piece, struct account *a,
                            struct dw_error *error)
{
    a->chips = piece->length;
    const dw_length taken[] = {a->parts, a->posts, a->kept, a->scrap, a->trim};
    for (size_t i = 0; i < DW_COUNT(taken); i++) {
        if (!dw_sub__i64(a->chips, taken[i], &a->chips) || a->chips < 0)
            return dw_error__set(error, DW_ERR_INPUT,
                                 "bar %lld can't have given so much: it is shorter than what is "
                                 "said to have come off it",
                                 (long long)bar->number);
    }
    dw_err err = dw_sql__run(ledger, NULL, error,
                             "INSERT INTO cuts(step, plan, bar, piece, done, parts, posts, kept,"
                             " scrap, trim, chips) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                             "iiiiiiiiiii", ledger->step, bar->plan, bar->number, piece->id,
                             a->done, a->parts, a->posts, a->kept, a->scrap, a->trim, a->chips);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "UPDATE pieces SET state = 'used', plan = NULL WHERE id = ?", "i",
                          piece->id);
    return err;
}

static dw_err book_cut(struct dw_ledger *ledger, const struct dw_act *act, const struct bar *bar,
                       const struct dw_cut *cut, const struct put *put, struct dw_error *error)
{
    struct dw_piece_row piece = {0};
    struct dw_off rest = {
        .length = bar->leftover, .keep = bar->kept, .value = bar->left_value, .far = bar->left_far};
    const struct dw_off *loose = cut ? cut->loose : &rest;
    size_t n_loose = cut ? cut->n_loose : 1;
    struct account account = {.trim = cut ? cut->trim : bar->trim};
    dw_err err = account.trim < 0 || (cut && cut->n_done < 0)
                     ? dw_error__set(error, DW_ERR_RANGE, "a cut has no negative counts")
                     : choose_piece(ledger, act, bar, cut, &piece, error);
    if (!err)
        err = count_done(ledger, bar, cut ? cut->n_done : -1, &account, error);
    for (size_t i = 0; !err && i < n_loose; i++)
        err = book_loose(ledger, act, bar, piece.id, &loose[i], put, &account, error);
    return err ? err : close_account(ledger, bar, &piece, &account, error);
}

static dw_err cut_one(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                      int64_t bar, const struct dw_cut *cut, const struct put *put, int64_t *step,
                      struct dw_error *error)
{
    struct bar at;
    struct dw_arena *arena = dw_arena__new();
    dw_err err =
        arena ? dw_ledger__text_ok("the place", put->place, 200, error) : dw_error__nomem(error);
    if (!err)
        err = dw_ledger__begin(ledger, act, cut ? DW_STEP_MISCUT : DW_STEP_CUT, plan_id, error);
    if (!err) {
        err = find_bar(ledger, plan_id, bar, arena, &at, error);
        if (!err)
            err = book_cut(ledger, act, &at, cut, put, error);
        err = dw_ledger__end(ledger, err, step, error);
    }
    dw_arena__free(arena);
    return err;
}

dw_err dw_ledger_cut(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                     int64_t bar, const struct dw_cut *cut, const char *place, int64_t *step,
                     struct dw_error *error)
{
    struct put put = {.place = place};
    return cut_one(ledger, act, plan_id, bar, cut, &put, step, error);
}

dw_err dw_ledger_cut_marked(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                            int64_t bar, const char *number, const char *place, int64_t *step,
                            struct dw_error *error)
{
    struct put put = {.place = place, .number = number};
    return cut_one(ledger, act, plan_id, bar, NULL, &put, step, error);
}

static bool read_number(sqlite3_stmt *stmt, struct dw_arena *arena, void *out)
{
    (void)arena;
    *(int64_t *)out = sqlite3_column_int64(stmt, 0);
    return true;
}

/* Numbers of the bars of a plan that are not cut yet, in the arena. */
static dw_err list_uncut(struct dw_ledger *ledger, int64_t plan, struct dw_arena *arena,
                         void **bars, size_t *n, struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    dw_err err = dw_sql__open(ledger, &stmt, error,
                              "SELECT bar FROM plan_bars AS b WHERE plan = ? AND NOT EXISTS"
                              " (SELECT 1 FROM live_cuts WHERE plan = b.plan AND bar = b.bar)"
                              " ORDER BY bar",
                              "i", plan);
    if (!err)
        err = dw_ledger__collect(ledger, stmt, arena, sizeof(int64_t), read_number, bars, n, error);
    sqlite3_finalize(stmt);
    return err;
}

dw_err dw_ledger_cut_bars(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                          const int64_t *bars, size_t n, const char *place, size_t *n_cut,
                          int64_t *step, struct dw_error *error)
{
    void *uncut = NULL;
    struct dw_arena *arena = dw_arena__new();
    dw_err err = arena ? dw_ledger_step_begin(ledger, act, DW_STEP_CUT, plan_id, error)
                       : dw_error__nomem(error);
    *n_cut = 0;
    if (!err) {
        err = dw_ledger__plan_open(ledger, plan_id, error);
        if (!err && n == 0)
            err = list_uncut(ledger, plan_id, arena, &uncut, &n, error);
        if (!err && n == 0)
            err = dw_error__set(error, DW_ERR_STATE, "every bar of plan %lld is cut already",
                                (long long)plan_id);
        const int64_t *numbers = uncut ? uncut : bars;
        for (; !err && *n_cut < n; *n_cut += !err)
            err = dw_ledger_cut(ledger, act, plan_id, numbers[*n_cut], NULL, place, NULL, error);
        err = dw_ledger_step_end(ledger, err, step, error);
    }
    dw_arena__free(arena);
    return err;
}

dw_err dw_ledger_measure(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                         int64_t bar, dw_length measured, int64_t *step, struct dw_error *error)
{
    struct bar at;
    int64_t id = 0;
    struct dw_arena *arena = dw_arena__new();
    dw_err err = arena ? DW_OK : dw_error__nomem(error);
    if (!err && (measured < 1 || measured > DW_LENGTH_MAX))
        err = dw_error__set(error, DW_ERR_RANGE,
                            "a bar's length must be over 0 and at most "
                            "1000 km");
    if (!err)
        err = dw_ledger__begin(ledger, act, DW_STEP_MEASURE, plan_id, error);
    if (!err) {
        err = find_bar(ledger, plan_id, bar, arena, &at, error);
        if (!err && at.piece)
            err = dw_sql__run(ledger, NULL, error, "UPDATE pieces SET measured = ? WHERE id = ?",
                              "ii", measured, at.piece);
        struct dw_coming coming = {plan_id, bar, measured};
        if (!err && !at.piece)
            err = dw_ledger__come(ledger, act, &coming, &id, error);
        err = dw_ledger__end(ledger, err, step, error);
    }
    dw_arena__free(arena);
    return err;
}
