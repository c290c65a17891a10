/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: what a bar is, what is left of it worth (phi), in what steps money comes. */
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

/* An offcut has been measured; a bar counts as measured where the job says its length. */
dw_length dw_audit__held(const struct dw_audit *audit, const struct dw_supply *supply)
{
    const struct dw_saw *saw = &audit->job->saw;
    if (supply->source == DW_SOURCE_OFFCUT || supply->measured > 0)
        return saw->grip;
    return saw->end_allowance > saw->grip ? saw->end_allowance : saw->grip;
}

dw_money dw_audit__handling(const struct dw_audit *audit, const struct dw_supply *supply)
{
    bool offcut = supply->source == DW_SOURCE_OFFCUT;
    return offcut ? audit->job->saw.offcut_cost : audit->job->saw.bar_cost;
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
        grid = gcd(gcd(grid, supply->price), dw_audit__handling(audit, supply));
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
