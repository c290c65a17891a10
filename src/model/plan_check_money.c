/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: money. phi, the money grid, what is bought, the totals. */
#include "model/plan_check.h"

dw_length dw_audit__bar(const struct dw_supply *supply)
{
    return supply->measured > 0 ? supply->measured : supply->length;
}

/* The bent end, which is the datum end of an end-bent bar, stays as it is. */
int64_t dw_audit__squarings(const struct dw_supply *supply)
{
    int64_t n = 0;
    for (int end = supply->bend > 0 ? 1 : 0; end < 2; end++)
        if (supply->ends[end] == DW_END_MILL && supply->trim > 0)
            n++;
    return n;
}

dw_length dw_audit__usable(const struct dw_supply *supply)
{
    return dw_audit__bar(supply) - dw_audit__squarings(supply) * supply->trim;
}

/* Break prices decrease. */
dw_money dw_audit__lowest(const struct dw_supply *supply)
{
    return supply->n_breaks > 0 ? supply->breaks[supply->n_breaks - 1].price : supply->price;
}

size_t dw_audit__tail(const struct dw_supply *supply)
{
    return supply->bend > 0 ? supply->tail_material : supply->material;
}

int64_t dw_audit__count(const struct dw_supply *supply)
{
    return supply->count == DW_UNLIMITED ? DW_UNLIMITED
                                         : supply->count / supply->pack * supply->pack;
}

/* --- phi -------------------------------------------------------------------------------------- */

void dw_audit__phi_prepare(struct dw_audit *audit)
{
    const struct dw_job *job = audit->job;
    for (size_t i = 0; i < job->n_materials; i++)
        audit->phi[i].worth = &job->materials[i].worth;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        struct dw_audit_phi *phi = &audit->phi[supply->material];
        if (supply->source != DW_SOURCE_NEW || supply->bend > 0)
            continue;
        dw_money price = dw_audit__lowest(supply);
        dw_length length = dw_audit__bar(supply);
        if (!phi->has_new || (dw_wide)price * phi->new_length < (dw_wide)phi->new_price * length) {
            phi->has_new = true;
            phi->new_price = price;
            phi->new_length = length;
        }
    }
}

static dw_wide class_worth(const struct dw_worth *worth, dw_length r)
{
    for (size_t i = worth->n_classes; i-- > 0;)
        if (worth->classes[i].from <= r)
            return worth->classes[i].worth;
    return 0;
}

dw_money dw_audit__phi(const struct dw_audit *audit, size_t material, dw_length r)
{
    const struct dw_audit_phi *phi = &audit->phi[material];
    const struct dw_worth *worth = phi->worth;
    if (r < worth->keep || worth->kind == DW_WORTH_NONE)
        return 0;
    dw_wide money = 0;
    if (worth->kind == DW_WORTH_RATE)
        money = (dw_wide)worth->rate * r / worth->per;
    else if (worth->kind == DW_WORTH_CLASSES)
        money = class_worth(worth, r);
    else if (phi->has_new)
        money = (dw_wide)worth->share * phi->new_price * r / ((dw_wide)phi->new_length * 1000000);
    if (phi->has_new) {
        dw_wide cap = (dw_wide)phi->new_price * r / phi->new_length;
        money = money < cap ? money : cap;
    }
    return money > INT64_MAX ? INT64_MAX : (dw_money)money;
}

/* --- money grid ---------------------------------------------------------------------------------
 */

/* Euclid's; base/ has one too, which the solver uses. */
static dw_money gcd(dw_money a, dw_money b)
{
    return b == 0 ? a : gcd(b, a % b);
}

/* gcd of `grid` and every phi of the material; 1 where phi has no steps. */
static dw_money worth_grid(const struct dw_audit *audit, size_t material, dw_money grid)
{
    const struct dw_worth *worth = &audit->job->materials[material].worth;
    if ((worth->kind == DW_WORTH_RATE && worth->rate > 0) ||
        (worth->kind == DW_WORTH_SHARE && worth->share > 0))
        return 1;
    if (worth->kind != DW_WORTH_CLASSES)
        return grid;
    for (size_t i = 0; i < worth->n_classes; i++) {
        const struct dw_worth_class *row = &worth->classes[i];
        dw_length from = row->from > worth->keep ? row->from : worth->keep;
        if (row->worth > 0 && dw_audit__phi(audit, material, from) != row->worth)
            return 1;
        grid = gcd(grid, row->worth);
    }
    return grid;
}

dw_money dw_audit__grid(const struct dw_audit *audit, size_t group)
{
    const struct dw_job *job = audit->job;
    dw_money grid = job->saw.cut_cost;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        if (dw_audit__group_of_supply(audit, supply) != group)
            continue;
        grid = gcd(grid, supply->price);
        for (size_t j = 0; j < supply->n_breaks; j++)
            grid = gcd(grid, supply->breaks[j].price);
    }
    for (size_t i = 0; i < job->n_parts; i++)
        if (dw_audit__group_of_part(audit, &job->parts[i]) == group)
            grid = gcd(grid, job->parts[i].worth);
    for (size_t i = 0; i < job->n_materials; i++)
        if (audit->group_of[i] == group)
            grid = worth_grid(audit, i, grid);
    return grid > 0 ? grid : 1;
}

/* --- takes and totals ---------------------------------------------------------------------------
 */

static dw_money price_of(const struct dw_supply *supply, int64_t bars)
{
    for (size_t i = supply->n_breaks; i-- > 0;)
        if (supply->breaks[i].from <= bars)
            return supply->breaks[i].price;
    return supply->price;
}

/* By trying each whole pack up to the first at or past the last break: past it more is never less.
 * Cost: O(packs up to the last break). */
static void reckon_take(const struct dw_supply *supply, int64_t used, struct dw_take *take)
{
    int64_t last = supply->n_breaks > 0 ? supply->breaks[supply->n_breaks - 1].from : 0;
    int64_t b = (used + supply->pack - 1) / supply->pack * supply->pack;
    take->used = used;
    take->bought = b;
    dw_wide least = (dw_wide)b * price_of(supply, b);
    while (b < last) {
        b += supply->pack;
        dw_wide money = (dw_wide)b * price_of(supply, b);
        if (money < least && (supply->count == DW_UNLIMITED || b <= supply->count)) {
            least = money;
            take->bought = b;
        }
    }
    take->money = least > INT64_MAX ? INT64_MAX : (dw_money)least;
}

/* Of a supplier that charges, whole packs as the plan says; what is not possible is told by a
 * number that differs. */
static void reckon_lot(const struct dw_supply *supply, int64_t used, const struct dw_take *stated,
                       struct dw_take *take)
{
    int64_t least = (used + supply->pack - 1) / supply->pack * supply->pack;
    bool sold = supply->count == DW_UNLIMITED || stated->bought <= supply->count;
    bool good = stated->bought >= least && stated->bought > 0 && sold &&
                stated->bought % supply->pack == 0 && stated->bought <= DW_LENGTH_MAX;
    take->used = used;
    take->bought = good ? stated->bought : least;
    dw_wide money = (dw_wide)take->bought * price_of(supply, take->bought);
    take->money = money > INT64_MAX ? INT64_MAX : (dw_money)money;
}

static void check_take(struct dw_audit *audit, size_t supply_index, const struct dw_take *stated)
{
    const struct dw_supply *supply = &audit->job->supplies[supply_index];
    struct dw_take take = {.supply = supply_index};
    if (dw_audit__charger(audit, supply) != DW_NONE)
        reckon_lot(supply, audit->used[supply_index], stated, &take);
    else
        reckon_take(supply, audit->used[supply_index], &take);
    if (stated->used != take.used)
        dw_audit__wrong(audit, "bars of %s used by the plan: %lld; by its layouts: %lld",
                        supply->id, (long long)stated->used, (long long)take.used);
    if (stated->bought != take.bought || stated->money != take.money)
        dw_audit__wrong(
            audit, "bars of %s paid by the plan: %lld, with %s; reckoned: %lld, with %s",
            supply->id, (long long)stated->bought, dw_check__money(&audit->say, stated->money).text,
            (long long)take.bought, dw_check__money(&audit->say, take.money).text);
    if (supply->source == DW_SOURCE_NEW)
        audit->bars += take.money;
    else
        audit->taken += take.money;
    if (dw_audit__group_of_supply(audit, supply) == DW_NONE)
        dw_audit__wrong(audit, "%s is bought, but nothing is wanted of its material", supply->id);
    else
        audit->groups[dw_audit__group_of_supply(audit, supply)].bars += take.money;
}

static void check_takes(struct dw_audit *audit)
{
    const struct dw_plan *plan = audit->plan;
    const struct dw_take none = {.supply = DW_NONE};
    size_t next = 0;
    for (size_t i = 0; i < audit->job->n_supplies; i++) {
        bool listed = next < plan->n_takes && plan->takes[next].supply == i;
        bool for_shelf = listed && dw_audit__charger(audit, &audit->job->supplies[i]) != DW_NONE;
        if (audit->used[i] == 0 && !for_shelf)
            continue;
        check_take(audit, i, listed ? &plan->takes[next] : &none);
        next += listed;
    }
    if (next != plan->n_takes)
        dw_audit__wrong(audit, "the plan takes from supplies that no layout uses, or out of order");
}

static void compare(struct dw_audit *audit, const char *what, int64_t stated, dw_wide reckoned)
{
    if (stated != reckoned)
        dw_audit__wrong(audit, "total %s is stated as %lld, reckoned as %lld", what,
                        (long long)stated, (long long)reckoned);
}

void dw_audit__money(struct dw_audit *audit)
{
    const struct dw_totals *totals = &audit->plan->totals;
    check_takes(audit);
    dw_audit__charges(audit);
    dw_wide cuts = 0, kept = 0, posts = 0;
    for (size_t i = 0; i < audit->plan->n_groups; i++) {
        cuts += audit->groups[i].cuts;
        kept += audit->groups[i].kept;
        posts += audit->groups[i].posts;
    }
    compare(audit, "bars", totals->bars, audit->bars);
    compare(audit, "taken", totals->taken, audit->taken);
    compare(audit, "cuts", totals->cuts, cuts);
    compare(audit, "kept", totals->kept, kept);
    compare(audit, "posts", totals->posts, posts);
    compare(audit, "charges", totals->charges, audit->charges);
    compare(audit, "worth of bars for the shelf", totals->spare, audit->spare);
    compare(audit, "value", totals->value,
            audit->bars + audit->charges + audit->taken + cuts - kept - posts - audit->spare);
    compare(audit, "count of bars", totals->n_bars, audit->n_bars);
    compare(audit, "count of cuts", totals->n_cuts, audit->n_cuts);
    compare(audit, "count of kept offcuts", totals->n_kept, audit->n_kept);
    compare(audit, "length in", totals->in, audit->in);
    compare(audit, "length in parts", totals->in_parts, audit->in_parts);
    compare(audit, "length in posts", totals->in_posts, audit->in_posts);
    compare(audit, "length in kept offcuts", totals->in_kept, audit->in_kept);
    compare(audit, "length in scrap", totals->in_scrap, audit->in_scrap);
    compare(audit, "length in trim", totals->in_trim, audit->in_trim);
    compare(audit, "length in chips", totals->in_chips, audit->in_chips);
    compare(audit, "length in, balanced,", totals->in,
            audit->in_parts + audit->in_posts + audit->in_kept + audit->in_scrap + audit->in_trim +
                audit->in_chips);
}
