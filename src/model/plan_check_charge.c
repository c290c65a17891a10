/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: what suppliers charge beside their goods, and bars bought for the shelf. */
#include "model/plan_check.h"

#include <string.h>

/* --- who charges ------------------------------------------------------------------------------ */

static bool asks_more(const struct dw_supplier *s)
{
    bool cuts = s->cuts_a_pack > 0 && (s->cut_charge > 0 || s->cut_minimum > 0);
    return cuts || s->minimum > 0 || s->freight > 0 || (s->small_charge > 0 && s->small_under > 0);
}

/* Of several of one name the first counts. */
static size_t find_supplier(const struct dw_job *job, const char *name)
{
    size_t found = DW_NONE;
    for (size_t s = job->n_suppliers; name && s-- > 0;)
        if (strcmp(name, job->suppliers[s].name) == 0)
            found = s;
    return found;
}

size_t dw_audit__charger(const struct dw_audit *audit, const struct dw_supply *supply)
{
    size_t s =
        supply->source == DW_SOURCE_NEW ? find_supplier(audit->job, supply->supplier) : DW_NONE;
    return s != DW_NONE && asks_more(&audit->job->suppliers[s]) ? s : DW_NONE;
}

/* --- fittings --------------------------------------------------------------------------------- */

/* How a fitting takes the tube of a part: straight, or with a bushing. */
static bool needs_bushing(const struct dw_job *job, const struct dw_fitting *fitting,
                          const struct dw_part *part)
{
    dw_length od = job->materials[part->materials[0]].od;
    for (size_t i = 1; i < part->n_materials; i++)
        if (job->materials[part->materials[i]].od != od)
            od = 0;
    for (size_t i = 0; i < fitting->n_ods; i++)
        if (fitting->ods[i] == od)
            return false;
    for (size_t i = 0; i < fitting->n_bushed; i++)
        if (fitting->bushed[i] == od)
            return fitting->bushing < job->n_fittings;
    return false;
}

/* Of one client's job: ends[f] that meet the fitting, others[f] that are bushings or loose. */
static void count_order(const struct dw_job *job, size_t order, dw_wide *ends, dw_wide *others)
{
    for (size_t f = 0; f < job->n_fittings; f++)
        ends[f] = others[f] = 0;
    for (size_t i = 0; i < job->n_loose; i++)
        if (job->loose[i].order == order)
            others[job->loose[i].fitting] += job->loose[i].count;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (part->post || !part->drawn || part->order != order)
            continue;
        for (int e = 0; e < 2; e++) {
            size_t f = part->drawn->ends[e].fitting;
            if (f >= job->n_fittings)
                continue;
            ends[f] += part->count;
            if (needs_bushing(job, &job->fittings[f], part))
                others[job->fittings[f].bushing] += part->count;
        }
    }
}

/* A job of the rest needs none. */
static bool add_fittings(struct dw_audit *audit, struct dw_audit_charge *charges)
{
    const struct dw_job *job = audit->job;
    if (job->part_of || job->n_fittings == 0)
        return true;
    dw_wide *ends = dw_arena__alloc(audit->arena, job->n_fittings, sizeof *ends);
    dw_wide *others = dw_arena__alloc(audit->arena, job->n_fittings, sizeof *others);
    if (!ends || !others)
        return false;
    for (size_t o = 0; o < job->n_orders; o++) {
        count_order(job, o, ends, others);
        for (size_t f = 0; f < job->n_fittings; f++) {
            int64_t joins = job->fittings[f].joins > 1 ? job->fittings[f].joins : 1;
            dw_wide pieces = (ends[f] + joins - 1) / joins + others[f];
            size_t s = pieces > 0 ? find_supplier(job, job->fittings[f].supplier) : DW_NONE;
            if (s == DW_NONE || !asks_more(&job->suppliers[s]))
                continue;
            charges[s].ordered = true;
            charges[s].goods += pieces * job->fittings[f].price;
        }
    }
    return true;
}

/* --- bars ------------------------------------------------------------------------------------- */

/* Worth of the bars that stay whole beyond the packs that are opened. */
static dw_wide spare_worth(const struct dw_audit *audit, const struct dw_supply *supply,
                           const struct dw_take *take)
{
    int64_t closed = (take->bought - take->used) / supply->pack * supply->pack;
    if (supply->bend > 0)
        return 0;
    return (dw_wide)closed * dw_audit__phi(audit, supply->material, dw_audit__bar(supply));
}

static void add_bars(struct dw_audit *audit, struct dw_audit_charge *charges)
{
    const struct dw_plan *plan = audit->plan;
    for (size_t i = 0; i < plan->n_takes; i++) {
        const struct dw_take *take = &plan->takes[i];
        const struct dw_supply *supply = &audit->job->supplies[take->supply];
        size_t s = dw_audit__charger(audit, supply);
        if (s == DW_NONE)
            continue;
        charges[s].ordered = true;
        charges[s].goods += take->money;
        charges[s].cuts +=
            (dw_wide)(take->bought / supply->pack) * audit->job->suppliers[s].cuts_a_pack;
        charges[s].spare += spare_worth(audit, supply, take);
    }
}

static size_t group_of_supplier(const struct dw_audit *audit, size_t s)
{
    const struct dw_job *job = audit->job;
    for (size_t i = 0; i < job->n_supplies; i++)
        if (dw_audit__charger(audit, &job->supplies[i]) == s &&
            dw_audit__group_of_supply(audit, &job->supplies[i]) != DW_NONE)
            return dw_audit__group_of_supply(audit, &job->supplies[i]);
    return DW_NONE;
}

/* --- what is charged -------------------------------------------------------------------------- */

static dw_wide cutting_of(const struct dw_supplier *terms, dw_wide cuts)
{
    if (cuts <= terms->cuts_free)
        return 0;
    dw_wide money = (cuts - terms->cuts_free) * terms->cut_charge;
    return money > terms->cut_minimum ? money : terms->cut_minimum;
}

static void compare(struct dw_audit *audit, size_t s, const char *what, dw_money stated,
                    dw_wide reckoned)
{
    if (stated != reckoned)
        dw_audit__wrong(audit, "%s: %s is stated as %s, reckoned as %s",
                        audit->job->suppliers[s].name, what,
                        dw_check__money(&audit->say, stated).text,
                        dw_check__money(&audit->say, (dw_money)reckoned).text);
}

static void check_charge(struct dw_audit *audit, size_t s, const struct dw_audit_charge *sum,
                         const struct dw_charge *stated)
{
    const struct dw_supplier *terms = &audit->job->suppliers[s];
    const dw_wide goods = sum->goods;
    const dw_wide cutting = cutting_of(terms, sum->cuts);
    const dw_wide minimum = goods < terms->minimum ? terms->minimum - goods : 0;
    const dw_wide small = goods < terms->small_under ? terms->small_charge : 0;
    const bool carried = terms->freight_free > 0 && goods >= terms->freight_free;
    const dw_wide freight = carried ? 0 : terms->freight;
    const size_t group = group_of_supplier(audit, s);
    compare(audit, s, "goods", stated->goods, goods);
    if (stated->cuts != sum->cuts)
        dw_audit__wrong(audit, "%s: cuts are stated as %lld, reckoned as %lld", terms->name,
                        (long long)stated->cuts, (long long)sum->cuts);
    compare(audit, s, "charge for cuts", stated->cutting, cutting);
    compare(audit, s, "what is missing to the least order", stated->minimum, minimum);
    compare(audit, s, "small-order charge", stated->small, small);
    compare(audit, s, "freight", stated->freight, freight);
    compare(audit, s, "worth of bars for the shelf", stated->spare, sum->spare);
    if (stated->group != group)
        dw_audit__wrong(audit, "%s: the charges are put to another group than its bars",
                        terms->name);
    const dw_wide all = cutting + minimum + small + freight;
    audit->charges += all;
    audit->spare += sum->spare;
    if (group == DW_NONE)
        audit->charges_of_none += all;
    else
        audit->groups[group].charges += all - sum->spare;
}

static bool lacks_tube(const struct dw_audit *audit, size_t s)
{
    size_t group = group_of_supplier(audit, s);
    return group != DW_NONE && audit->plan->groups[group].status == DW_STATUS_INFEASIBLE;
}

void dw_audit__charges(struct dw_audit *audit)
{
    const struct dw_job *job = audit->job;
    const struct dw_plan *plan = audit->plan;
    struct dw_audit_charge *sums = dw_arena__alloc(audit->arena, job->n_suppliers, sizeof *sums);
    if (!sums || !add_fittings(audit, sums)) {
        audit->say.err = DW_ERR_NOMEM;
        return;
    }
    add_bars(audit, sums);
    size_t next = 0;
    for (size_t s = 0; s < job->n_suppliers; s++) {
        if (!sums[s].ordered || lacks_tube(audit, s))
            continue;
        if (next < plan->n_charges && plan->charges[next].supplier == s)
            check_charge(audit, s, &sums[s], &plan->charges[next++]);
        else
            dw_audit__wrong(audit, "what %s charges is left out", job->suppliers[s].name);
    }
    if (next != plan->n_charges)
        dw_audit__wrong(audit, "the plan has charges of suppliers that nothing is ordered of, or "
                               "out of order");
}
