/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is bought arrives: bars of a plan's purchases come into the shop. */
#include "ledger/ledger.h"

#include <string.h>

/* What a plan buys of one supply, and how a bar of it is. Texts live in the arena. */
struct purchase {
    int64_t plan;
    const char *supply;
    int64_t pack, bought, came;
    dw_money money;
    int64_t material;
    dw_length nominal, actual; /* as the plan has its bars */
    enum dw_end ends[2];
    const char *job;
    const char *place, *mark; /* of what comes now */
    char day[11];
};

static dw_err read_purchase(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan,
                            const char *supply, struct dw_arena *arena, struct purchase *out,
                            struct dw_error *error)
{
    sqlite3_stmt *stmt = NULL;
    bool row = false, failed = false;
    *out = (struct purchase){.plan = plan};
    memcpy(out->day, act->when, 10);
    dw_err err = dw_sql__open(
        ledger, &stmt, error,
        "SELECT u.supply, u.pack, u.bought, u.money, b.material, b.nominal, b.length, b.datum,"
        " b.far, p.job,"
        " (SELECT count(*) FROM came WHERE plan = u.plan AND supply = u.supply)"
        " FROM purchases AS u JOIN plans AS p ON p.id = u.plan JOIN plan_tubes AS b"
        " ON b.plan = u.plan AND b.supply = u.supply WHERE u.plan = ? AND u.supply = ?",
        "it", plan, supply);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (!err && !row)
        err = dw_error__set(error, DW_ERR_NOTFOUND, "plan %lld buys no \"%.64s\"", (long long)plan,
                            supply);
    if (!err) {
        out->supply = dw_sql__text(stmt, 0, arena, &failed);
        out->pack = sqlite3_column_int64(stmt, 1);
        out->bought = sqlite3_column_int64(stmt, 2);
        out->money = sqlite3_column_int64(stmt, 3);
        out->material = sqlite3_column_int64(stmt, 4);
        out->nominal = sqlite3_column_int64(stmt, 5);
        out->actual = sqlite3_column_int64(stmt, 6);
        out->ends[0] = dw_sql__end(stmt, 7);
        out->ends[1] = dw_sql__end(stmt, 8);
        out->job = dw_sql__text(stmt, 9, arena, &failed);
        out->came = sqlite3_column_int64(stmt, 10);
    }
    sqlite3_finalize(stmt);
    return failed ? dw_error__nomem(error) : err;
}

/* The share of the next bar in the money for all: shares add up to it, whatever came before. */
static dw_money share_of(const struct purchase *purchase)
{
    dw_money before = 0, after = 0;
    int64_t at = purchase->came % purchase->bought;
    if (!dw_muldiv__i64(purchase->money, at, purchase->bought, &before) ||
        !dw_muldiv__i64(purchase->money, at + 1, purchase->bought, &after))
        return purchase->money / purchase->bought;
    return after - before;
}

/* Enters one bar that came: for a bar of the plan, or (0) to spare. */
static dw_err enter_bar(struct dw_ledger *ledger, struct purchase *purchase, int64_t bar,
                        dw_length actual, dw_money value, int64_t *piece, struct dw_error *error)
{
    struct dw_stock stock = {
        .kind = DW_KIND_BAR,
        .length = purchase->nominal,
        .measured = actual == purchase->nominal ? 0 : actual,
        .ends = {purchase->ends[0], purchase->ends[1]},
        .value = value >= 0 ? value : share_of(purchase),
        .place = purchase->place,
        .mark = purchase->mark,
        .date = purchase->day,
        .job = bar ? purchase->job : NULL,
    };
    struct dw_birth birth = {.stock = &stock,
                             .material = purchase->material,
                             .state = bar ? DW_STATE_HELD : DW_STATE_SHELF,
                             .plan = bar ? purchase->plan : 0};
    dw_err err = dw_ledger__bear(ledger, &birth, piece, error);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "INSERT INTO arrivals(step, plan, supply, bar, piece)"
                          " VALUES (?, ?, ?, ?, ?)",
                          "iitni", ledger->step, purchase->plan, purchase->supply, bar, *piece);
    purchase->came++;
    return err;
}

/* The first bar of the plan that waits for one of the supply; 0 = none. */
static dw_err next_waiting(struct dw_ledger *ledger, const struct purchase *purchase, int64_t *bar,
                           struct dw_error *error)
{
    return dw_sql__int(ledger, bar, 0, error,
                       "SELECT min(b.bar) FROM plan_bars AS b JOIN bar_pieces AS h"
                       " ON h.plan = b.plan AND h.bar = b.bar WHERE b.plan = ? AND b.supply = ? AND"
                       " b.source = 'new' AND h.piece IS NULL AND NOT EXISTS"
                       " (SELECT 1 FROM live_cuts WHERE plan = b.plan AND bar = b.bar)",
                       "it", purchase->plan, purchase->supply);
}

/* So many bars come. values: of each, NULL = as counted. */
static dw_err enter_bars(struct dw_ledger *ledger, struct purchase *purchase, int64_t n,
                         const dw_money *values, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (int64_t i = 0; !err && i < n; i++) {
        int64_t bar = 0, piece = 0;
        err = next_waiting(ledger, purchase, &bar, error);
        if (!err)
            err = enter_bar(ledger, purchase, bar, purchase->actual, values ? values[i] : -1,
                            &piece, error);
    }
    return err;
}

static dw_err deliver_row(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan,
                          const struct dw_delivery *delivery, const struct dw_arrival *row,
                          struct dw_arena *arena, struct dw_error *error)
{
    struct purchase purchase;
    dw_err err = read_purchase(ledger, act, plan, row->supply, arena, &purchase, error);
    if (err)
        return err;
    purchase.place = delivery->place;
    purchase.mark = delivery->mark;
    if (row->n < 1)
        return dw_error__set(error, DW_ERR_INPUT, "%.64s: at least one bar must have come",
                             row->supply);
    if (row->n > purchase.bought - purchase.came)
        return dw_error__set(error, DW_ERR_STATE,
                             "plan %lld buys %lld of %.64s and %lld of them came: %lld more can't "
                             "come for it",
                             (long long)plan, (long long)purchase.bought, row->supply,
                             (long long)purchase.came, (long long)row->n);
    return enter_bars(ledger, &purchase, row->n, row->values, error);
}

dw_err dw_ledger_deliver(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                         const struct dw_delivery *delivery, int64_t *step, struct dw_error *error)
{
    struct dw_arena *arena = dw_arena__new();
    dw_err err = arena ? DW_OK : dw_error__nomem(error);
    if (!err && delivery->n == 0)
        err = dw_error__set(error, DW_ERR_INPUT, "a delivery brings something");
    if (!err)
        err = dw_ledger__begin(ledger, act, DW_STEP_DELIVER, plan_id, error);
    if (!err) {
        err = dw_ledger__plan_open(ledger, plan_id, error);
        for (size_t i = 0; !err && i < delivery->n; i++)
            err = deliver_row(ledger, act, plan_id, delivery, &delivery->rows[i], arena, error);
        err = dw_ledger__end(ledger, err, step, error);
    }
    dw_arena__free(arena);
    return err;
}

/* --- with a cut ------------------------------------------------------------------------------- */

/* Bars that come with one that is at the saw: the rest of its pack; and all of them when no other
 * bar of the plan waits for one. */
static dw_err come_along(struct dw_ledger *ledger, struct purchase *purchase,
                         struct dw_error *error)
{
    int64_t waiting = 0;
    int64_t left = purchase->bought - purchase->came, over = purchase->came % purchase->pack;
    int64_t n = over ? purchase->pack - over : 0;
    dw_err err = enter_bars(ledger, purchase, n < left ? n : left, NULL, error);
    if (!err)
        err = next_waiting(ledger, purchase, &waiting, error);
    if (!err && !waiting)
        err = enter_bars(ledger, purchase, purchase->bought - purchase->came, NULL, error);
    return err;
}

dw_err dw_ledger__come(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_coming *coming, int64_t *piece, struct dw_error *error)
{
    struct purchase purchase;
    struct dw_arena *arena = dw_arena__new();
    sqlite3_stmt *stmt = NULL;
    bool row = false, failed = false;
    const char *supply = NULL;
    dw_err err = arena ? DW_OK : dw_error__nomem(error);
    if (!err)
        err = dw_sql__open(ledger, &stmt, error,
                           "SELECT supply FROM plan_bars WHERE plan = ? AND bar = ?", "ii",
                           coming->plan, coming->bar);
    if (!err)
        err = dw_sql__next(ledger, stmt, &row, error);
    if (row)
        supply = dw_sql__text(stmt, 0, arena, &failed);
    sqlite3_finalize(stmt);
    if (!err && failed)
        err = dw_error__nomem(error);
    if (!err)
        err =
            read_purchase(ledger, act, coming->plan, supply ? supply : "", arena, &purchase, error);
    if (!err)
        err = enter_bar(ledger, &purchase, coming->bar, coming->actual, -1, piece, error);
    if (!err)
        err = come_along(ledger, &purchase, error);
    dw_arena__free(arena);
    return err;
}
