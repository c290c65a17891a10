/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a plan takes, buys and comes to. */
#include "base/base.h"
#include "model/charges.h"

#include <stdlib.h>

/* Sums with one sticky flag, looked at once at the end. */
struct tally {
    const struct dw_job *job;
    struct dw_totals sum;
    int64_t *used;   /* length n_supplies: bars cut of each */
    int64_t *bought; /* length n_supplies: of suppliers that charge, bars paid */
    bool overflow;
};

static void add(struct tally *tally, int64_t *sum, int64_t amount, int64_t times)
{
    int64_t product;
    if (!dw_mul__i64(amount, times, &product) || !dw_add__i64(*sum, product, sum))
        tally->overflow = true;
}

/* One bar of a layout. */
struct bar {
    dw_length pieces; /* sum p */
    int64_t n;
    int64_t cuts;
    dw_length chips;
};

static struct bar add_pieces(struct tally *tally, const struct dw_layout *layout)
{
    struct dw_totals *sum = &tally->sum;
    struct bar bar = {0};
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        dw_length length = 0;
        add(tally, &length, piece->length, piece->count);
        add(tally, &bar.pieces, length, 1);
        add(tally, &bar.n, piece->count, 1);
        if (piece->use == DW_USE_PART)
            add(tally, &sum->in_parts, length, layout->count);
        else if (piece->use == DW_USE_POST)
            add(tally, &sum->in_posts, length, layout->count);
        else
            add(tally, &sum->in_scrap, length, layout->count);
        if (piece->use == DW_USE_POST) {
            int64_t posts = 0;
            add(tally, &posts, piece->count, layout->count);
            add(tally, &sum->posts, tally->job->parts[piece->part].worth, posts);
        }
    }
    return bar;
}

/* rem = U - sum p - w (n - 1); see plan.h for cuts and chips. */
static void add_cuts(struct tally *tally, const struct dw_layout *layout, struct bar *bar)
{
    const struct dw_supply *supply = &tally->job->supplies[layout->supply];
    dw_length kerf = tally->job->saw.kerf;
    dw_length rem = dw_supply_usable(supply);
    add(tally, &rem, bar->pieces, -1);
    add(tally, &rem, kerf, 1 - bar->n);
    bar->cuts = dw_supply_squarings(supply);
    add(tally, &bar->cuts, rem > 0 ? bar->n : bar->n - 1, 1);
    add(tally, &bar->chips, kerf, bar->n - 1);
    add(tally, &bar->chips, rem < kerf ? rem : kerf, 1);
}

static size_t leftover_material(const struct dw_supply *supply)
{
    return supply->bend > 0 ? supply->tail_material : supply->material;
}

static void add_layout(struct tally *tally, const struct dw_layout *layout)
{
    const struct dw_supply *supply = &tally->job->supplies[layout->supply];
    struct dw_totals *sum = &tally->sum;
    struct bar bar = add_pieces(tally, layout);
    if (tally->overflow)
        return;
    add_cuts(tally, layout, &bar);
    dw_length length = supply->measured ? supply->measured : supply->length;
    add(tally, &sum->in, length, layout->count);
    add(tally, &sum->in_trim, length - dw_supply_usable(supply), layout->count);
    add(tally, &sum->in_chips, bar.chips, layout->count);
    add(tally, &sum->n_bars, layout->count, 1);
    add(tally, &sum->n_cuts, bar.cuts, layout->count);
    add(tally, &sum->cuts, dw_supply_handling(&tally->job->saw, supply), layout->count);
    add(tally, &tally->used[layout->supply], layout->count, 1);
    if (layout->rest != DW_REST_KEPT) {
        add(tally, &sum->in_scrap, layout->leftover, layout->count);
        return;
    }
    add(tally, &sum->in_kept, layout->leftover, layout->count);
    add(tally, &sum->n_kept, layout->count, 1);
    add(tally, &sum->kept, dw_job_worth(tally->job, leftover_material(supply), layout->leftover),
        layout->count);
}

/* Between two breaks money grows with the number of bars, so the least is at `used` or at a break,
 * each rounded up to whole packs: these lots grow, and so does the break `at` that they pay by.
 * Cost: O(breaks). */
static void price_take(struct tally *tally, const struct dw_supply *supply, struct dw_take *take)
{
    bool found = false;
    size_t at = 0; /* breaks that the lot reaches */
    for (size_t i = 0; i <= supply->n_breaks; i++) {
        int64_t least = i == 0 ? take->used : supply->breaks[i - 1].from;
        if (least < take->used)
            continue;
        int64_t bought = 0;
        dw_money money = 0;
        add(tally, &bought, supply->pack, dw_ceil__div(least, supply->pack));
        bool sold = supply->count == DW_UNLIMITED || bought <= supply->count;
        if (i > 0 && !sold)
            continue;
        while (at < supply->n_breaks && supply->breaks[at].from <= bought)
            at++;
        add(tally, &money, at > 0 ? supply->breaks[at - 1].price : supply->price, bought);
        if (!found || money < take->money) {
            take->bought = bought;
            take->money = money;
            found = true;
        }
    }
}

static void lot_take(struct tally *tally, const struct dw_supply *supply, struct dw_take *take)
{
    take->bought = tally->bought[take->supply];
    tally->overflow = !dw_supply__lot(supply, take->bought, &take->money) || tally->overflow;
}

static dw_err fill_takes(struct tally *tally, struct dw_plan *plan, struct dw_error *error)
{
    const struct dw_job *job = tally->job;
    size_t n = 0;
    for (size_t i = 0; i < job->n_supplies; i++)
        n += tally->used[i] > 0 || tally->bought[i] > 0;
    plan->n_takes = 0;
    plan->takes = dw_plan_alloc(plan, n, sizeof *plan->takes);
    if (!plan->takes)
        return dw_error__nomem(error);
    for (size_t i = 0; i < job->n_supplies; i++) {
        if (tally->used[i] == 0 && tally->bought[i] == 0)
            continue;
        struct dw_take *take = &plan->takes[plan->n_takes++];
        *take = (struct dw_take){.supply = i, .used = tally->used[i]};
        if (tally->bought[i] > 0)
            lot_take(tally, &job->supplies[i], take);
        else
            price_take(tally, &job->supplies[i], take);
        bool bought = job->supplies[i].source == DW_SOURCE_NEW;
        add(tally, bought ? &tally->sum.bars : &tally->sum.taken, take->money, 1);
    }
    return DW_OK;
}

/* --- what suppliers charge ---------------------------------------------------------------- */

/* The group of the plan that a material is of; DW_NONE. */
static size_t group_of(const struct dw_plan *plan, size_t material)
{
    for (size_t g = 0; g < plan->n_groups; g++)
        for (size_t i = 0; i < plan->groups[g].n_materials; i++)
            if (plan->groups[g].materials[i] == material)
                return g;
    return DW_NONE;
}

/* Arrays of one supplier's supplies, each of length n_supplies. */
struct counter {
    size_t *supplies;
    dw_money *worth;
    int64_t *used, *bought;
};

/* Only bars of a group are bought: what no part is cut from is not on offer. */
static dw_err charge_supplier(struct tally *tally, struct counter *room, size_t s,
                              struct dw_bought_fittings fittings, struct dw_plan *plan,
                              struct dw_error *error)
{
    const struct dw_job *job = tally->job;
    struct dw_buy buy = {.job = job,
                         .supplier = s,
                         .fittings = fittings,
                         .supplies = room->supplies,
                         .worth = room->worth,
                         .used = room->used};
    struct dw_charge charge = {0};
    dw_money bars = 0;
    size_t group = DW_NONE;
    bool ordered = fittings.any;
    for (size_t i = 0; i < job->n_supplies; i++) {
        if (dw_supply__charger(job, &job->supplies[i]) != s)
            continue;
        size_t of = group_of(plan, job->supplies[i].material);
        group = of != DW_NONE ? of : group;
        ordered = ordered || tally->used[i] > 0;
        if (of == DW_NONE && tally->used[i] == 0)
            continue;
        room->supplies[buy.n] = i;
        room->worth[buy.n] = dw_supply__spare_worth(job, &job->supplies[i]);
        room->used[buy.n++] = tally->used[i];
    }
    bool planned = group == DW_NONE || plan->groups[group].status != DW_STATUS_INFEASIBLE;
    if (!ordered || !planned)
        return DW_OK;
    dw_err err = dw_buy__choose(&buy, room->bought, &bars, &charge, error);
    if (err)
        return err;
    for (size_t k = 0; k < buy.n; k++)
        tally->bought[room->supplies[k]] = room->bought[k];
    charge.supplier = s;
    charge.group = group;
    plan->charges[plan->n_charges++] = charge;
    add(tally, &tally->sum.charges, dw_charge_sum(&charge), 1);
    add(tally, &tally->sum.spare, charge.spare, 1);
    return DW_OK;
}

static dw_err fill_charges(struct tally *tally, struct dw_plan *plan, struct dw_error *error)
{
    const struct dw_job *job = tally->job;
    plan->n_charges = 0;
    plan->charges = NULL;
    if (!dw_job__is_charged(job))
        return DW_OK;
    struct dw_bought_fittings *fittings = calloc(job->n_suppliers + 1, sizeof *fittings);
    const size_t n = job->n_supplies + 1;
    struct counter room = {calloc(n, sizeof *room.supplies), calloc(n, sizeof *room.worth),
                           calloc(n, sizeof *room.used), calloc(n, sizeof *room.bought)};
    plan->charges = dw_plan_alloc(plan, job->n_suppliers, sizeof *plan->charges);
    dw_err err =
        fittings && room.supplies && room.worth && room.used && room.bought && plan->charges
            ? dw_charges__fittings(job, fittings, error)
            : dw_error__nomem(error);
    for (size_t s = 0; s < job->n_suppliers && !err; s++)
        if (dw_supplier__charges(&job->suppliers[s]))
            err = charge_supplier(tally, &room, s, fittings[s], plan, error);
    free(fittings);
    free(room.supplies);
    free(room.worth);
    free(room.used);
    free(room.bought);
    return err;
}

/* Counts that are out of range are the sum's to refuse. */
void dw_plan__number_bars(struct dw_plan *plan)
{
    int64_t next = 1;
    for (size_t i = 0; i < plan->n_layouts; i++) {
        plan->layouts[i].bar = next;
        if (!dw_add__i64(next, plan->layouts[i].count, &next))
            next = INT64_MAX;
    }
}

dw_err dw_plan_sum(const struct dw_job *job, struct dw_plan *plan, struct dw_error *error)
{
    struct tally tally = {.job = job};
    tally.used = calloc(2 * job->n_supplies + 1, sizeof *tally.used);
    if (!tally.used)
        return dw_error__nomem(error);
    tally.bought = tally.used + job->n_supplies;
    dw_plan__number_bars(plan);
    for (size_t i = 0; i < plan->n_layouts; i++)
        add_layout(&tally, &plan->layouts[i]);
    dw_err err = tally.overflow ? DW_OK : fill_charges(&tally, plan, error);
    if (err == DW_OK)
        err = fill_takes(&tally, plan, error);
    struct dw_totals *sum = &tally.sum;
    add(&tally, &sum->cuts, job->saw.cut_cost, sum->n_cuts);
    add(&tally, &sum->value, sum->bars, 1);
    add(&tally, &sum->value, sum->charges, 1);
    add(&tally, &sum->value, sum->spare, -1);
    add(&tally, &sum->value, sum->taken, 1);
    add(&tally, &sum->value, sum->cuts, 1);
    add(&tally, &sum->value, sum->kept, -1);
    add(&tally, &sum->value, sum->posts, -1);
    if (err == DW_OK && tally.overflow)
        err = dw_error__set(error, DW_ERR_RANGE, "the sums of the plan are too large to hold");
    if (err == DW_OK)
        plan->totals = tally.sum;
    free(tally.used);
    return err;
}

dw_money dw_take_paid(const struct dw_job *job, const struct dw_take *take)
{
    const struct dw_supply *supply = &job->supplies[take->supply];
    if (supply->raised)
        return supply->paid * take->used; /* less than take->money */
    return supply->brought ? supply->paid : supply->by_rules ? 0 : take->money;
}

bool dw_plan__paid(const struct dw_job *job, const struct dw_plan *plan, dw_money *paid)
{
    *paid = 0;
    for (size_t i = 0; i < plan->n_takes; i++)
        if (job->supplies[plan->takes[i].supply].source != DW_SOURCE_NEW &&
            !dw_add__i64(*paid, dw_take_paid(job, &plan->takes[i]), paid))
            return false;
    return true;
}
