/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One bar of a layout by who uses it. */
#include "cost/cost.h"

bool dw_cost__bar_room(struct dw_arena *arena, size_t n, struct dw_cost_bar *bar)
{
    bar->orders = dw_arena__alloc(arena, n, sizeof *bar->orders);
    bar->used_by = dw_arena__alloc(arena, n, sizeof *bar->used_by);
    bar->pieces_by = dw_arena__alloc(arena, n, sizeof *bar->pieces_by);
    bar->trims_by = dw_arena__alloc(arena, n, sizeof *bar->trims_by);
    bar->count_by = dw_arena__alloc(arena, n, sizeof *bar->count_by);
    return bar->orders && bar->used_by && bar->pieces_by && bar->trims_by && bar->count_by;
}

static size_t user_of(struct dw_cost_bar *bar, size_t order)
{
    for (size_t i = 0; i < bar->n; i++) {
        if (bar->orders[i] == order)
            return i;
    }
    bar->orders[bar->n] = order;
    bar->used_by[bar->n] = 0;
    bar->pieces_by[bar->n] = 0;
    bar->count_by[bar->n] = 0;
    return bar->n++;
}

static bool is_charged(const struct dw_piece *piece)
{
    return piece->use == DW_USE_PART || piece->use == DW_USE_POST;
}

/* The kerf after each piece belongs to it; the last cut may run off the end: min(w, rem). */
static void add_pieces(const struct dw_job *job, const struct dw_layout *layout, dw_length last,
                       struct dw_cost_bar *bar, struct dw_cost_sum *sum)
{
    dw_length kerf = job->saw.kerf;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        if (!is_charged(piece))
            continue;
        dw_length pieces = 0;
        dw_length kerfs = 0;
        bool ends = i + 1 == layout->n_pieces;
        dw_cost__add_times(sum, &pieces, piece->length, piece->count);
        dw_cost__add_times(sum, &kerfs, kerf, ends ? piece->count - 1 : piece->count);
        dw_cost__add(sum, &kerfs, ends ? last : 0);
        size_t user = user_of(bar, job->parts[piece->part].order);
        dw_cost__add(sum, &bar->pieces_by[user], pieces);
        dw_cost__add(sum, &bar->used_by[user], pieces);
        dw_cost__add(sum, &bar->used_by[user], kerfs);
        dw_cost__add(sum, &bar->count_by[user], piece->count);
        dw_cost__add(sum, &bar->pieces, pieces);
        dw_cost__add(sum, &bar->used, pieces);
        dw_cost__add(sum, &bar->used, kerfs);
    }
}

/* Chips of the last cut: min(w, U - S), S = sum p + w (n - 1). */
static dw_length last_chips(const struct dw_job *job, const struct dw_layout *layout,
                            dw_length usable, struct dw_cost_sum *sum)
{
    dw_length rem = usable;
    int64_t n = 0;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        dw_cost__add_times(sum, &rem, layout->pieces[i].length, -layout->pieces[i].count);
        dw_cost__add(sum, &n, layout->pieces[i].count);
    }
    dw_cost__add_times(sum, &rem, job->saw.kerf, 1 - n);
    return rem < job->saw.kerf ? rem : job->saw.kerf;
}

/* The squared ends belong to whoever has pieces of the bar, by their length. */
static dw_err add_trims(struct dw_cost_bar *bar, struct dw_cost_sum *sum, struct dw_error *error)
{
    dw_err err = dw_share_split(bar->trims, 1, bar->n, bar->pieces_by, bar->trims_by, error);
    for (size_t i = 0; i < bar->n && !err; i++)
        dw_cost__add(sum, &bar->used_by[i], bar->trims_by[i]);
    dw_cost__add(sum, &bar->used, bar->trims);
    return err;
}

dw_err dw_cost__bar(const struct dw_job *job, const struct dw_layout *layout,
                    const struct dw_take *take, struct dw_cost_bar *bar, struct dw_error *error)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    struct dw_cost_sum sum = {0};
    bar->n = 0;
    bar->used = 0;
    bar->pieces = 0;
    bar->money = 0;
    bar->length = supply->measured ? supply->measured : supply->length;
    bar->trims = bar->length - dw_supply_usable(supply);
    dw_length last = last_chips(job, layout, dw_supply_usable(supply), &sum);
    if (last < 0 || take->bought <= 0)
        return dw_error__set(error, DW_ERR_CHECK, "%s: the pieces don't fit the bar", supply->id);
    add_pieces(job, layout, last, bar, &sum);
    dw_err err = bar->n && !sum.overflow ? add_trims(bar, &sum, error) : DW_OK;
    if (err)
        return err;
    dw_cost__add_times(&sum, &bar->money, dw_take_paid(job, take) / take->bought, layout->count);
    if (sum.overflow)
        return dw_error__set(error, DW_ERR_RANGE, "%s: sums larger than can be counted",
                             supply->id);
    return DW_OK;
}
