/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shop that does one random thing after another, and foretells what its shelf is then. */
#include "tests/support/shop_plan.h"

#include <stdlib.h>
#include <string.h>

static const struct dw_act act = {.when = "2026-03-01T08:00:00Z", .who = "Ines"};

/* xorshift64* (Vigna 2016) */
uint64_t shop_draw(struct shop *shop, uint64_t n)
{
    shop->seed ^= shop->seed >> 12;
    shop->seed ^= shop->seed << 25;
    shop->seed ^= shop->seed >> 27;
    return (shop->seed * 2685821657736338717u >> 11) % n;
}

dw_err shop_prepare(struct shop *shop, struct dw_error *error)
{
    dw_err err = dw_ledger_material_put(shop->ledger, &act, &shop_tubes[0], error);
    return err ? err : dw_ledger_material_put(shop->ledger, &act, &shop_tubes[1], error);
}

/* Notes a step that was done: `now` has been changed to what must be true after it. */
static void note(struct shop *shop, const struct dw_balance *after)
{
    struct shop_book *book = shop->book;
    if (!book)
        return;
    if (book->n_before == SHOP_UNDO_DEPTH) {
        memmove(book->before, book->before + 1, sizeof book->before - sizeof *book->before);
        book->n_before--;
    }
    book->before[book->n_before++] = book->now;
    book->now = *after;
}

static struct dw_balance now(const struct shop *shop)
{
    return shop->book ? shop->book->now : (struct dw_balance){0};
}

static dw_err list_state(struct shop *shop, unsigned states, int64_t plan,
                         struct dw_stock_list **list, struct dw_error *error)
{
    struct dw_stock_query query = {.states = states, .plan = plan};
    return dw_ledger_list(shop->ledger, &query, list, error);
}

static dw_err try_add(struct shop *shop, struct dw_error *error)
{
    struct dw_stock pieces[3] = {0};
    size_t n = 1 + shop_draw(shop, 3);
    struct dw_balance b = now(shop);
    for (size_t i = 0; i < n; i++) {
        pieces[i].material = shop_tubes[shop_draw(shop, 2)].id;
        pieces[i].kind = shop_draw(shop, 2) ? DW_KIND_BAR : DW_KIND_OFFCUT;
        pieces[i].length = shop_length(shop, 400, 6000);
        pieces[i].measured = shop_draw(shop, 4) ? 0 : pieces[i].length + 7;
        b.in += dw_stock_actual(&pieces[i]);
        b.on_shelf += dw_stock_actual(&pieces[i]);
        b.n_shelf++;
    }
    dw_err err = dw_ledger_add(shop->ledger, &act, pieces, n, NULL, error);
    if (!err)
        note(shop, &b);
    return err;
}

static dw_err try_scrap(struct shop *shop, struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    dw_err err = list_state(shop, 1u << DW_STATE_SHELF, 0, &list, error);
    if (err || list->n == 0) {
        dw_stock_list_free(list);
        return err;
    }
    const struct dw_stock *stock = &list->rows[shop_draw(shop, list->n)];
    struct dw_balance b = now(shop);
    b.on_shelf -= dw_stock_actual(stock);
    b.scrap += dw_stock_actual(stock);
    b.n_shelf--;
    err = dw_ledger_scrap(shop->ledger, &act, &stock->number, 1, NULL, error);
    if (!err)
        note(shop, &b);
    dw_stock_list_free(list);
    return err;
}

static dw_err try_move(struct shop *shop, struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    dw_err err = list_state(shop, 0, 0, &list, error);
    if (!err && list->n > 0) {
        struct dw_balance b = now(shop);
        const char *number = list->rows[shop_draw(shop, list->n)].number;
        err = dw_ledger_move(shop->ledger, &act, &number, 1, "rack", NULL, error);
        if (!err)
            note(shop, &b);
    }
    dw_stock_list_free(list);
    return err;
}

/* Counts one piece that is on the shelf or lost, now and then one that is gone by the book. */
static dw_err try_count(struct shop *shop, struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    unsigned there = 1u << DW_STATE_SHELF | 1u << DW_STATE_LOST;
    unsigned gone = 1u << DW_STATE_USED | 1u << DW_STATE_SCRAPPED;
    dw_err err = list_state(shop, shop_draw(shop, 4) ? there : gone, 0, &list, error);
    if (err || list->n == 0) {
        dw_stock_list_free(list);
        return err;
    }
    const struct dw_stock *stock = &list->rows[shop_draw(shop, list->n)];
    struct dw_counted row = {.number = stock->number, .length = shop_length(shop, 300, 5000)};
    struct dw_count count = {.n = 1, .rows = &row, .bring_back = true};
    struct dw_balance b = now(shop);
    dw_length was = dw_stock_actual(stock), none = 0;
    dw_length *from = stock->state == DW_STATE_LOST       ? &b.lost
                      : stock->state == DW_STATE_SCRAPPED ? &b.scrap
                      : stock->state == DW_STATE_SHELF    ? &b.on_shelf
                                                          : &none; /* its parts stay parts */
    *from -= was;
    b.n_shelf += stock->state != DW_STATE_SHELF;
    b.on_shelf += row.length;
    b.corrected += row.length - (from == &none ? 0 : was);
    err = dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, error);
    if (!err)
        note(shop, &b);
    dw_stock_list_free(list);
    return err;
}

/* A count of everything of one material that misses all but the first piece. */
static dw_err try_lose(struct shop *shop, struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    const char *material = shop_tubes[shop_draw(shop, 2)].id;
    struct dw_stock_query query = {.material = material, .states = 1u << DW_STATE_SHELF};
    dw_err err = dw_ledger_list(shop->ledger, &query, &list, error);
    if (err || list->n < 12) {
        dw_stock_list_free(list);
        return err;
    }
    struct dw_balance b = now(shop);
    struct dw_counted row = {.number = list->rows[0].number};
    for (size_t i = 1; i < list->n; i++) {
        b.on_shelf -= dw_stock_actual(&list->rows[i]);
        b.lost += dw_stock_actual(&list->rows[i]);
        b.n_shelf--;
    }
    struct dw_count count = {.n = 1, .rows = &row, .complete = true, .material = material};
    err = dw_ledger_count(shop->ledger, &act, &count, NULL, NULL, error);
    if (!err)
        note(shop, &b);
    dw_stock_list_free(list);
    return err;
}

/* --- plans ------------------------------------------------------------------------------------ */

/* What the plan takes off the shelf. */
static void foretell_hold(const struct dw_job *job, const struct dw_plan *plan,
                          struct dw_balance *b)
{
    for (size_t i = 0; i < plan->n_layouts; i++) {
        const struct dw_supply *supply = &job->supplies[plan->layouts[i].supply];
        dw_length length = supply->measured ? supply->measured : supply->length;
        if (supply->source == DW_SOURCE_NEW)
            continue;
        b->on_shelf -= length;
        b->held += length;
        b->n_shelf--;
        b->n_held++;
    }
}

static dw_err free_plan(struct shop *shop, int64_t plan, struct dw_balance *b,
                        struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    dw_err err = list_state(shop, 1u << DW_STATE_HELD, plan, &list, error);
    for (size_t i = 0; !err && i < list->n; i++) {
        b->held -= dw_stock_actual(&list->rows[i]);
        b->on_shelf += dw_stock_actual(&list->rows[i]);
        b->n_held--;
        b->n_shelf++;
    }
    dw_stock_list_free(list);
    return err;
}

/* An open plan; 0 = there is none. */
static dw_err draw_plan(struct shop *shop, int64_t *plan, struct dw_error *error)
{
    struct dw_held_list *plans = NULL;
    *plan = 0;
    dw_err err = dw_ledger_plans(shop->ledger, true, &plans, error);
    if (!err && plans->n > 0)
        *plan = plans->rows[shop_draw(shop, plans->n)].id;
    dw_held_list_free(plans);
    return err;
}

static dw_err try_hold(struct shop *shop, bool replace, struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    struct dw_hold hold = {.job_digest = shop->seed};
    struct dw_balance b = now(shop);
    int64_t id = 0;
    dw_err err = list_state(shop, 1u << DW_STATE_SHELF, 0, &list, error);
    if (!err && replace)
        err = draw_plan(shop, &hold.replaces, error);
    if (!err && hold.replaces)
        err = free_plan(shop, hold.replaces, &b, error);
    if (!err)
        err = dw_job_new(&job, error);
    if (!err)
        err = dw_plan_new(&plan, error);
    if (!err) {
        shop_fill_job(shop, job, list);
        shop_fill_plan(shop, job, plan);
        foretell_hold(job, plan, &b);
        err = dw_ledger_hold(shop->ledger, &act, job, plan, &hold, &id, NULL, error);
    }
    if (!err)
        note(shop, &b);
    dw_plan_free(plan);
    dw_job_free(job);
    dw_stock_list_free(list);
    return err;
}

static dw_err try_release(struct shop *shop, struct dw_error *error)
{
    int64_t plan = 0;
    struct dw_balance b = now(shop);
    dw_err err = draw_plan(shop, &plan, error);
    if (!err && plan)
        err = free_plan(shop, plan, &b, error);
    if (err || !plan)
        return err;
    err = dw_ledger_release(shop->ledger, &act, plan, NULL, error);
    if (!err)
        note(shop, &b);
    return err;
}

/* --- at the saw ------------------------------------------------------------------------------- */

/* A bar of an open plan that is not cut; NULL: none. The list owns it. */
static dw_err draw_bar(struct shop *shop, struct dw_held_list **list,
                       const struct dw_held_bar **bar, struct dw_error *error)
{
    int64_t plan = 0;
    *bar = NULL;
    dw_err err = draw_plan(shop, &plan, error);
    if (err || !plan)
        return err;
    err = dw_ledger_plan(shop->ledger, plan, list, error);
    for (size_t tries = 0; !err && !*bar && tries < 5 && (*list)->rows[0].n_bars > 0; tries++) {
        size_t i = shop_draw(shop, (*list)->rows[0].n_bars);
        *bar = (*list)->rows[0].bars[i].cut ? NULL : &(*list)->rows[0].bars[i];
    }
    return err;
}

/* Bars of the plan that wait for one of the supply, `but` one of them. */
static int64_t waiting(const struct dw_held_plan *plan, const char *supply, int64_t but)
{
    int64_t n = 0;
    for (size_t i = 0; i < plan->n_bars; i++)
        n += plan->bars[i].bar != but && !plan->bars[i].cut && !plan->bars[i].number &&
             strcmp(plan->bars[i].supply, supply) == 0;
    return n;
}

/* So many bars come: the first `wait` of them are held, the others lie on the shelf. */
static void come(struct dw_balance *b, dw_length length, int64_t n, int64_t wait)
{
    int64_t held = n < wait ? n : wait;
    b->in += n * length;
    b->held += held * length;
    b->n_held += held;
    b->on_shelf += (n - held) * length;
    b->n_shelf += n - held;
}

/* What comes along with a new bar: the rest of its pack; all, if no other bar waits then. */
static void come_along(const struct dw_held_plan *plan, const struct dw_held_bar *bar,
                       struct dw_balance *b)
{
    for (size_t i = 0; i < plan->n_buys; i++) {
        const struct dw_held_buy *buy = &plan->buys[i];
        if (strcmp(buy->supply, bar->supply) != 0)
            continue;
        int64_t left = buy->bought - buy->came - 1, wait = waiting(plan, bar->supply, bar->bar);
        int64_t pack = (buy->pack - (buy->came + 1) % buy->pack) % buy->pack;
        if (left > 0)
            come(b, bar->length, pack >= wait ? left : pack, wait);
    }
}

/* Takes the bar out of where it is; its actual length. */
static dw_err take_bar(struct shop *shop, const struct dw_held_plan *plan,
                       const struct dw_held_bar *bar, struct dw_balance *b, dw_length *length,
                       struct dw_error *error)
{
    *length = bar->length;
    if (!bar->number) {
        b->in += bar->length;
        come_along(plan, bar, b);
        return DW_OK;
    }
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.number = bar->number};
    dw_err err = dw_ledger_list(shop->ledger, &query, &list, error);
    if (!err && list->n == 1)
        *length = dw_stock_actual(&list->rows[0]);
    dw_stock_list_free(list);
    b->held -= *length;
    b->n_held--;
    return err;
}

/* Adds the first `done` pieces to the account; returns their length. */
static dw_length give_pieces(const struct dw_held_bar *bar, int64_t done, struct dw_balance *b)
{
    dw_length sum = 0;
    for (size_t i = 0; i < bar->n_pieces && done > 0; i++) {
        const struct dw_held_piece *piece = &bar->pieces[i];
        int64_t count = piece->count < done ? piece->count : done;
        dw_length length = count * piece->length;
        if (piece->use == DW_USE_PART)
            b->parts += length;
        else if (piece->use == DW_USE_POST)
            b->posts += length;
        else
            b->scrap += length;
        sum += length;
        done -= count;
    }
    return sum;
}

static void give_off(dw_length length, bool keep, struct dw_balance *b)
{
    if (!keep) {
        b->scrap += length;
        return;
    }
    b->kept += length;
    b->on_shelf += length;
    b->n_shelf += length > 0;
}

static dw_err try_cut(struct shop *shop, bool miscut, struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    const struct dw_held_bar *bar = NULL;
    struct dw_balance b = now(shop);
    dw_length length = 0;
    dw_err err = draw_bar(shop, &list, &bar, error);
    if (!err && bar)
        err = take_bar(shop, &list->rows[0], bar, &b, &length, error);
    if (!err && bar) {
        int64_t n = 0;
        for (size_t i = 0; i < bar->n_pieces; i++)
            n += bar->pieces[i].count;
        struct dw_cut cut = {.n_done = miscut ? (int64_t)shop_draw(shop, (uint64_t)n) : n,
                             .trim = bar->trim};
        dw_length left = length - bar->trim - give_pieces(bar, cut.n_done, &b);
        struct dw_off off[2] = {{.length = left / 3, .keep = shop_draw(shop, 2) != 0},
                                {.length = left / 2, .keep = true}};
        if (miscut) {
            cut.n_loose = 2;
            cut.loose = off;
            give_off(off[0].length, off[0].keep, &b);
            give_off(off[1].length, off[1].keep, &b);
            left -= off[0].length + off[1].length;
        } else {
            give_off(bar->leftover, bar->rest == DW_REST_KEPT, &b);
            left -= bar->leftover;
        }
        b.trim += bar->trim;
        b.chips += left;
        err = dw_ledger_cut(shop->ledger, &act, list->rows[0].id, bar->bar, miscut ? &cut : NULL,
                            NULL, NULL, error);
        if (!err)
            note(shop, &b);
    }
    dw_held_list_free(list);
    return err;
}

static dw_err try_measure(struct shop *shop, struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    const struct dw_held_bar *bar = NULL;
    struct dw_balance b = now(shop);
    dw_length was = 0;
    dw_err err = draw_bar(shop, &list, &bar, error);
    if (!err && bar)
        err = take_bar(shop, &list->rows[0], bar, &b, &was, error);
    if (!err && bar) {
        dw_length measured = was - (dw_length)shop_draw(shop, 9) * MM / 4;
        if (bar->number)
            b.corrected += measured - was;
        else
            b.in += measured - was;
        b.held += measured;
        b.n_held++;
        err = dw_ledger_measure(shop->ledger, &act, list->rows[0].id, bar->bar, measured, NULL,
                                error);
        if (!err)
            note(shop, &b);
    }
    dw_held_list_free(list);
    return err;
}

static dw_err try_deliver(struct shop *shop, struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    struct dw_balance b = now(shop);
    int64_t plan = 0;
    dw_err err = draw_plan(shop, &plan, error);
    if (err || !plan)
        return err;
    err = dw_ledger_plan(shop->ledger, plan, &list, error);
    struct dw_arrival rows[2] = {{0}};
    struct dw_delivery delivery = {.rows = rows};
    for (size_t i = 0; !err && i < list->rows[0].n_buys && i < 2; i++) {
        const struct dw_held_buy *buy = &list->rows[0].buys[i];
        int64_t left = buy->bought - buy->came;
        if (left <= 0)
            continue;
        int64_t n = 1 + (int64_t)shop_draw(shop, (uint64_t)left);
        rows[delivery.n++] = (struct dw_arrival){.supply = buy->supply, .n = n};
        come(&b, buy->length, n, waiting(&list->rows[0], buy->supply, 0));
    }
    if (!err && delivery.n > 0) {
        err = dw_ledger_deliver(shop->ledger, &act, plan, &delivery, NULL, error);
        if (!err)
            note(shop, &b);
    }
    dw_held_list_free(list);
    return err;
}

/* A wrong cut and a plan that replaces another: two acts, one step, one undo. */
static dw_err try_together(struct shop *shop, struct dw_error *error)
{
    struct shop_book was = {0};
    if (shop->book)
        was = *shop->book;
    dw_err err = dw_ledger_step_begin(shop->ledger, &act, DW_STEP_MISCUT, 0, error);
    if (err)
        return err;
    err = try_cut(shop, true, error);
    if (!err)
        err = try_hold(shop, true, error);
    err = dw_ledger_step_end(shop->ledger, err, NULL, error);
    if (shop->book) {
        struct dw_balance after = shop->book->now;
        *shop->book = was;
        if (!err)
            note(shop, &after);
    }
    return err;
}

static dw_err try_undo(struct shop *shop, struct dw_error *error)
{
    dw_err err = dw_ledger_undo(shop->ledger, &act, 0, NULL, NULL, error);
    if (!err && shop->book)
        shop->book->now = shop->book->before[--shop->book->n_before];
    return err;
}

dw_err shop_step(struct shop *shop, struct dw_error *error)
{
    static const char *const names[] = {
        "add",    "move",    "scrap", "count",   "lose", "hold", "replace", "cut",
        "miscut", "release", "undo",  "measure", "hold", "cut",  "undo",    "miscut and replace",
        "deliver"};
    size_t what = shop_draw(shop, sizeof names / sizeof names[0]);
    shop->last = names[what];
    switch (what) {
    case 0:
        return try_add(shop, error);
    case 1:
        return try_move(shop, error);
    case 2:
        return try_scrap(shop, error);
    case 3:
        return try_count(shop, error);
    case 4:
        return try_lose(shop, error);
    case 6:
        return try_hold(shop, true, error);
    case 8:
        return try_cut(shop, true, error);
    case 9:
        return try_release(shop, error);
    case 10:
    case 14:
        return try_undo(shop, error);
    case 15:
        return try_together(shop, error);
    case 11:
        return try_measure(shop, error);
    case 16:
        return try_deliver(shop, error);
    case 7:
    case 13:
        return try_cut(shop, false, error);
    default:
        return try_hold(shop, false, error);
    }
}
