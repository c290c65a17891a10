/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who bears what of the money spent on a batch; quote.h states the rules.
 *
 * Sums are kept per material and client's job in small parts of 1/10 000 of the currency unit,
 * where each bar's money is split to the last one: a batch has many bars, and what each split
 * leaves adds up. Rounding to the minor unit comes once, at the end, over all. */
#include "cost/cost.h"

#include <string.h>

/* Parts of 1/10 000 that sums are kept in, fewer where they would not fit. */
#define PARTS       INT64_C(1000000)
#define FEWER_PARTS 1000

/* What one client's job has of one material. Money in parts. */
struct share {
    dw_length used; /* pieces, kerfs and share of the squared ends: the weight of shares */
    dw_length pieces;
    int64_t count;
    dw_money tube;
    dw_money waste;
};

struct work {
    const struct dw_job *job;
    const struct dw_plan *plan;
    const struct dw_quote_terms *terms;
    const struct dw_order_doc *order;
    struct dw_arena *arena;
    size_t n_orders;
    int64_t parts;
    struct share *shares; /* n_materials x n_orders */
    dw_money *pool;       /* length n_materials, in parts: to be shared by batch */
    dw_money shop;        /* in parts */
    struct dw_cost_bar bar;
    const struct dw_take **take_of; /* length n_supplies */
    int64_t *weights;               /* length n_orders, scratch */
    dw_money *split;                /* length n_orders or the pieces of a layout, scratch */
    struct dw_cost_sum sum;
    struct dw_error *error;
};

static struct share *share_of(struct work *w, size_t material, size_t order)
{
    return &w->shares[material * w->n_orders + order];
}

static int64_t in_parts(struct work *w, dw_money money)
{
    int64_t parts = 0;
    dw_cost__add_times(&w->sum, &parts, money, w->parts);
    return parts;
}

/* a b / c, rounded down, c > 0 */
static dw_money part_of(struct work *w, dw_money a, int64_t b, int64_t c)
{
    int64_t out = 0;
    w->sum.overflow |= !dw_muldiv__i64(a, b, c, &out);
    return out;
}

/* --- one layout ----------------------------------------------------------------------------------
 */

/* Splits money among the users of the bar, into tube or waste of the material. */
static dw_err split_bar(struct work *w, size_t material, dw_money money, const int64_t *weights,
                        bool waste)
{
    const struct dw_cost_bar *bar = &w->bar;
    dw_err err = dw_share_split(money, 1, bar->n, weights, w->split, w->error);
    for (size_t i = 0; i < bar->n && !err; i++) {
        struct share *share = share_of(w, material, bar->orders[i]);
        dw_cost__add(&w->sum, waste ? &share->waste : &share->tube, w->split[i]);
    }
    return err;
}

/* What nobody uses of a bar, by the waste rule. */
static dw_err put_waste(struct work *w, size_t material, dw_money money)
{
    if (w->terms->waste == DW_WASTE_BAR && w->bar.n > 0)
        return split_bar(w, material, money, w->bar.used_by, true);
    if (w->terms->waste == DW_WASTE_SHOP)
        dw_cost__add(&w->sum, &w->shop, money);
    else
        dw_cost__add(&w->sum, &w->pool[material], money);
    return DW_OK;
}

/* Whole bars: all of the bar's money, to its users or to the batch. */
static dw_err charge_bars(struct work *w, size_t material)
{
    if (w->terms->waste == DW_WASTE_BAR && w->bar.n > 0)
        return split_bar(w, material, w->bar.money, w->bar.used_by, false);
    dw_cost__add(&w->sum, &w->pool[material], w->bar.money);
    return DW_OK;
}

/* Length used: c used / L to the users; a kept leftover that is the shop's to the shop.
 */
static dw_err charge_used(struct work *w, size_t material, const struct dw_layout *layout)
{
    const struct dw_cost_bar *bar = &w->bar;
    dw_money used = 0;
    dw_err err = DW_OK;
    if (bar->n > 0) {
        used = part_of(w, bar->money, bar->used, bar->length);
        err = split_bar(w, material, used, bar->used_by, false);
    }
    dw_money kept = 0;
    if (layout->rest == DW_REST_KEPT && w->terms->offcuts == DW_OWNER_SHOP)
        kept = part_of(w, bar->money, layout->leftover, bar->length);
    dw_cost__add(&w->sum, &w->shop, kept);
    return err ? err : put_waste(w, material, bar->money - used - kept);
}

/* Pieces alone; the percentage comes once, on each job's sum. */
static dw_err charge_pieces(struct work *w, size_t material)
{
    const struct dw_cost_bar *bar = &w->bar;
    dw_money pieces = 0;
    dw_err err = DW_OK;
    if (bar->n > 0) {
        pieces = part_of(w, bar->money, bar->pieces, bar->length);
        err = split_bar(w, material, pieces, bar->pieces_by, false);
    }
    dw_cost__add(&w->sum, &w->shop, bar->money - pieces);
    return err;
}

static dw_err charge_layout(struct work *w, const struct dw_layout *layout)
{
    size_t material = w->job->supplies[layout->supply].material;
    dw_err err = dw_cost__bar(w->job, layout, w->take_of[layout->supply], &w->bar, w->error);
    if (err)
        return err;
    w->bar.money = in_parts(w, w->bar.money);
    for (size_t i = 0; i < w->bar.n; i++) {
        struct share *share = share_of(w, material, w->bar.orders[i]);
        dw_cost__add_times(&w->sum, &share->used, w->bar.used_by[i], layout->count);
        dw_cost__add_times(&w->sum, &share->pieces, w->bar.pieces_by[i], layout->count);
        dw_cost__add_times(&w->sum, &share->count, w->bar.count_by[i], layout->count);
    }
    switch (w->terms->way) {
    case DW_CHARGE_BARS:
        return charge_bars(w, material);
    case DW_CHARGE_USED:
        return charge_used(w, material, layout);
    default:
        return charge_pieces(w, material);
    }
}

/* --- what is shared by batch
 * ---------------------------------------------------------------------- */

/* Bars paid and not cut: the shop's if it owns offcuts, else shared by batch. */
static void charge_spare(struct work *w)
{
    for (size_t i = 0; i < w->plan->n_takes; i++) {
        const struct dw_take *take = &w->plan->takes[i];
        int64_t spare = take->bought - take->used;
        bool shop = w->terms->offcuts == DW_OWNER_SHOP || w->terms->waste == DW_WASTE_SHOP;
        dw_money *to = shop ? &w->shop : &w->pool[w->job->supplies[take->supply].material];
        dw_cost__add_times(&w->sum, to, in_parts(w, take->money / take->bought), spare);
    }
}

static dw_err share_pool(struct work *w, size_t material)
{
    if (w->pool[material] == 0)
        return DW_OK;
    int64_t any = 0;
    for (size_t o = 0; o < w->n_orders; o++) {
        w->weights[o] = share_of(w, material, o)->used;
        any |= w->weights[o];
    }
    if (!any) { /* nobody uses the material at all */
        dw_cost__add(&w->sum, &w->shop, w->pool[material]);
        return DW_OK;
    }
    dw_err err = dw_share_split(w->pool[material], 1, w->n_orders, w->weights, w->split, w->error);
    bool tube = w->terms->way == DW_CHARGE_BARS;
    for (size_t o = 0; o < w->n_orders && !err; o++) {
        struct share *share = share_of(w, material, o);
        dw_cost__add(&w->sum, tube ? &share->tube : &share->waste, w->split[o]);
    }
    return err;
}

static dw_err charge_tube(struct work *w)
{
    dw_err err = DW_OK;
    for (size_t i = 0; i < w->plan->n_layouts && !err; i++)
        err = charge_layout(w, &w->plan->layouts[i]);
    if (!err)
        charge_spare(w);
    for (size_t m = 0; m < w->job->n_materials && !err; m++)
        err = share_pool(w, m);
    return err;
}

/* --- cells
 * ---------------------------------------------------------------------------------------- */

/* Cells are made in order of the clients' jobs; a cell without money and length is left out. */
static void add_cell(struct dw_cost_cells *out, struct dw_cost_cell cell)
{
    if (cell.fine || cell.quantity)
        out->cells[out->n++] = cell;
}

static dw_err split_orders(struct work *w, dw_money money, dw_money **out)
{
    *out = dw_arena__alloc(w->arena, w->n_orders, sizeof **out);
    if (!*out)
        return dw_error__nomem(w->error);
    return dw_share_split(in_parts(w, money), 1, w->n_orders, w->weights, *out, w->error);
}

static int64_t pieces_of(struct work *w, size_t order)
{
    int64_t count = 0;
    for (size_t m = 0; m < w->job->n_materials; m++)
        dw_cost__add(&w->sum, &count, share_of(w, m, order)->count);
    return count;
}

static void add_tube_cells(struct work *w, size_t order, struct dw_cost_cells *out)
{
    for (size_t m = 0; m < w->job->n_materials; m++) {
        const struct share *share = share_of(w, m, order);
        bool used = w->terms->way == DW_CHARGE_USED;
        struct dw_cost_cell cell = {.order = order, .index = m};
        cell.kind = DW_LINE_TUBE;
        cell.quantity = share->count;
        cell.length = used ? share->used : share->pieces;
        cell.fine = share->tube;
        add_cell(out, cell);
        cell.kind = DW_LINE_WASTE;
        cell.quantity = 0;
        cell.length = 0;
        cell.fine = share->waste;
        add_cell(out, cell);
    }
}

static dw_err add_fitting_cells(struct work *w, size_t order, int64_t *counts,
                                struct dw_cost_cells *out)
{
    dw_err err = dw_fittings_count(w->job, order, counts, w->error);
    for (size_t f = 0; f < w->job->n_fittings && !err; f++) {
        struct dw_cost_cell cell = {
            .order = order, .kind = DW_LINE_FITTINGS, .index = f, .quantity = counts[f]};
        dw_cost__add_times(&w->sum, &cell.fine, counts[f], in_parts(w, w->job->fittings[f].price));
        add_cell(out, cell);
    }
    return err;
}

static dw_err reserve(struct work *w, struct dw_cost_cells *out)
{
    size_t each = 2 * w->job->n_materials + w->job->n_fittings + 2;
    out->cells = NULL;
    if (w->n_orders < SIZE_MAX / each - 1)
        out->cells = dw_arena__alloc(w->arena, w->n_orders * each + 1, sizeof *out->cells);
    return out->cells ? DW_OK : dw_error__nomem(w->error);
}

/* All but delivery: first[o] is where the cells of a client's job begin. */
static dw_err make_cells(struct work *w, struct dw_cost_cells *out)
{
    dw_err err = reserve(w, out);
    dw_money *cuts = NULL;
    int64_t *counts = dw_arena__alloc(w->arena, w->job->n_fittings, sizeof *counts);
    if (!err && !counts)
        err = dw_error__nomem(w->error);
    for (size_t o = 0; o < w->n_orders; o++)
        w->weights[o] = pieces_of(w, o);
    if (!err)
        err = split_orders(w, w->plan->totals.cuts, &cuts);
    for (size_t o = 0; o < w->n_orders && !err; o++) {
        add_tube_cells(w, o, out);
        add_cell(out, (struct dw_cost_cell){.order = o, .kind = DW_LINE_CUTS, .fine = cuts[o]});
        err = add_fitting_cells(w, o, counts, out);
    }
    return err;
}

/* Suppliers' charges by what each job spends on tube and fittings. */
static dw_err add_delivery(struct work *w, struct dw_cost_cells *out)
{
    for (size_t o = 0; o < w->n_orders; o++)
        w->weights[o] = 0;
    for (size_t i = 0; i < out->n; i++) {
        if (out->cells[i].kind != DW_LINE_CUTS)
            dw_cost__add(&w->sum, &w->weights[out->cells[i].order], out->cells[i].fine);
    }
    dw_money *delivery = NULL;
    dw_err err = split_orders(w, w->order->charges, &delivery);
    for (size_t o = 0; o < w->n_orders && !err; o++)
        add_cell(out,
                 (struct dw_cost_cell){.order = o, .kind = DW_LINE_DELIVERY, .fine = delivery[o]});
    return err;
}

/* --- rounding
 * ------------------------------------------------------------------------------------- */

/* Spent is rounded once; every cell gets its share of it by largest remainder. */
static dw_err round_cells(struct work *w, struct dw_cost_cells *out)
{
    dw_money minor = dw_cost__minor(w->job->currency);
    int64_t *fine = dw_arena__alloc(w->arena, out->n, sizeof *fine);
    dw_money *shares = dw_arena__alloc(w->arena, out->n, sizeof *shares);
    if (!fine || !shares)
        return dw_error__nomem(w->error);
    dw_money total = 0;
    for (size_t i = 0; i < out->n; i++) {
        fine[i] = out->cells[i].fine;
        dw_cost__add(&w->sum, &total, fine[i]);
    }
    out->spent = dw_money_round(total / w->parts, w->job->currency);
    if (out->n == 0 || w->sum.overflow)
        return DW_OK;
    dw_err err = dw_share_split(out->spent, minor, out->n, fine, shares, w->error);
    for (size_t i = 0; i < out->n && !err; i++)
        out->cells[i].share = shares[i];
    return err;
}

/* The percentage on each job's tube, to the minor unit, is the shop's to gain. */
static void add_percentage(struct work *w, struct dw_cost_cells *out)
{
    dw_money gained = 0;
    for (size_t i = 0; i < out->n; i++) {
        struct dw_cost_cell *cell = &out->cells[i];
        if (cell->kind != DW_LINE_TUBE || cell->order == DW_NONE)
            continue;
        dw_money extra = 0;
        w->sum.overflow |= !dw_cost__nearest(cell->share, w->terms->percent_ppm, DW_PPM,
                                             dw_cost__minor(w->job->currency), &extra);
        dw_cost__add(&w->sum, &cell->share, extra);
        dw_cost__add(&w->sum, &gained, extra);
    }
    dw_cost__add(&w->sum, &out->cells[out->n - 1].share, -gained);
}

static dw_err spread(struct work *w, struct dw_cost_cells *out)
{
    for (size_t i = 0; i < w->plan->n_takes; i++)
        w->take_of[w->plan->takes[i].supply] = &w->plan->takes[i];
    for (size_t i = 0; i < w->plan->n_layouts; i++) {
        if (!w->take_of[w->plan->layouts[i].supply])
            return dw_error__set(w->error, DW_ERR_CHECK,
                                 "the plan cuts bars that it does not take");
    }
    dw_err err = charge_tube(w);
    if (!err)
        err = make_cells(w, out);
    if (!err)
        err = add_delivery(w, out);
    if (!err) {
        out->cells[out->n++] =
            (struct dw_cost_cell){.order = DW_NONE, .kind = DW_LINE_TUBE, .fine = w->shop};
        err = round_cells(w, out);
    }
    if (!err && w->terms->way == DW_CHARGE_PERCENT)
        add_percentage(w, out);
    return err;
}

static size_t most_pieces(const struct dw_plan *plan)
{
    size_t most = 1;
    for (size_t i = 0; i < plan->n_layouts; i++) {
        if (plan->layouts[i].n_pieces > most)
            most = plan->layouts[i].n_pieces;
    }
    return most;
}

static bool make_room(struct work *w)
{
    size_t users = most_pieces(w->plan);
    size_t split = users > w->n_orders ? users : w->n_orders;
    if (w->n_orders && w->job->n_materials > SIZE_MAX / w->n_orders)
        return false;
    w->shares = dw_arena__alloc(w->arena, w->job->n_materials * w->n_orders, sizeof *w->shares);
    w->pool = dw_arena__alloc(w->arena, w->job->n_materials, sizeof *w->pool);
    w->take_of = dw_arena__alloc(w->arena, w->job->n_supplies, sizeof *w->take_of);
    w->weights = dw_arena__alloc(w->arena, w->n_orders, sizeof *w->weights);
    w->split = dw_arena__alloc(w->arena, split, sizeof *w->split);
    return w->shares && w->pool && w->take_of && w->weights && w->split &&
           dw_cost__bar_room(w->arena, users, &w->bar);
}

dw_err dw_cost__spread(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_quote_terms *terms, const struct dw_order_doc *order,
                       struct dw_arena *arena, struct dw_cost_cells *out, struct dw_error *error)
{
    dw_err err = DW_ERR_RANGE;
    struct dw_error why = {0};
    for (int64_t parts = PARTS; err == DW_ERR_RANGE && parts > 0; parts /= FEWER_PARTS) {
        *out = (struct dw_cost_cells){0};
        why = (struct dw_error){0};
        struct work w = {.job = job,
                         .plan = plan,
                         .terms = terms,
                         .order = order,
                         .arena = arena,
                         .n_orders = job->n_orders,
                         .parts = parts,
                         .error = &why};
        err = make_room(&w) ? spread(&w, out) : dw_error__nomem(&why);
        if (!err && w.sum.overflow)
            err = dw_error__set(&why, DW_ERR_RANGE, "a quote for more than can be counted");
    }
    return err ? dw_error__set(error, err, "%s", why.text) : DW_OK;
}
