/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: money. What is bought, the totals. */
#include "model/plan_check.h"

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
