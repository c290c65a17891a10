/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What bars cost and leftovers earn. */
#include "solve/group/problem.h"

dw_money dw_supply__lowest(const struct dw_supply *supply)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks; i++)
        if (supply->breaks[i].price < price)
            price = supply->breaks[i].price;
    return price;
}

int64_t dw_supply__count(const struct dw_supply *supply)
{
    if (supply->count == DW_UNLIMITED || supply->pack <= 1)
        return supply->count;
    return supply->count / supply->pack * supply->pack;
}

/* Within one price the smallest lot is the cheapest: only the starts of prices need be tried. Lots
 * grow, and with them the number `at` of breaks that they reach. Cost: O(breaks). */
dw_money dw_bar_stock__money(const struct dw_problem *problem, size_t stock, int64_t used)
{
    const struct dw_bar_stock *s = &problem->stocks[stock];
    if (!s->stepped)
        return s->price * used;
    if (used == 0)
        return 0;
    const struct dw_supply *supply = &problem->job->supplies[s->members[0]];
    int64_t pack = supply->pack > 1 ? supply->pack : 1, most = dw_supply__count(supply);
    int64_t least = dw_ceil__div(used, pack) * pack;
    dw_money money = INT64_MAX;
    size_t at = 0;
    for (size_t i = 0; i <= supply->n_breaks; i++) {
        int64_t lot = i == 0 ? least : dw_ceil__div(supply->breaks[i - 1].from, pack) * pack;
        if (i > 0 && (lot <= least || (most != DW_UNLIMITED && lot > most)))
            continue;
        while (at < supply->n_breaks && supply->breaks[at].from <= lot)
            at++;
        dw_money paid = (at > 0 ? supply->breaks[at - 1].price : supply->price) * lot;
        money = paid < money ? paid : money;
    }
    return money;
}

/* base(r) of struct dw_worth. A share of the new price is a share of the cap. */
static dw_money base_worth(const struct dw_bar_kind *kind, const struct dw_worth *worth, int64_t r)
{
    switch (worth->kind) {
    case DW_WORTH_RATE:
        return worth->per > 0 ? (dw_money)((dw_wide)worth->rate * r / worth->per) : 0;
    case DW_WORTH_SHARE:
        if (kind->cap_den == 0)
            return 0;
        return (dw_money)((dw_wide)worth->share * kind->cap_num * r /
                          ((dw_wide)kind->cap_den * 1000000));
    case DW_WORTH_CLASSES: {
        size_t lo = 0, hi = worth->n_classes; /* classes before lo begin at or below r */
        while (lo < hi) {
            size_t middle = lo + (hi - lo) / 2;
            if (worth->classes[middle].from <= r)
                lo = middle + 1;
            else
                hi = middle;
        }
        return lo > 0 ? worth->classes[lo - 1].worth : 0;
    }
    case DW_WORTH_NONE:
        break;
    }
    return 0;
}

dw_money dw_bar_kind__worth(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                            int64_t r)
{
    const struct dw_worth *worth = &problem->job->materials[kind->material].worth;
    if (r < worth->keep || problem->missing)
        return 0;
    dw_money base = base_worth(kind, worth, r);
    if (kind->cap_den == 0)
        return base;
    dw_money cap = (dw_money)((dw_wide)kind->cap_num * r / kind->cap_den);
    return base < cap ? base : cap;
}

int64_t dw_bar_kind__leftover(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                              int64_t x)
{
    if (kind->tail > 0)
        return x + kind->tail;
    return x > problem->kerf ? x - problem->kerf : 0;
}

dw_money dw_bar_kind__thrown(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                             int64_t x)
{
    const struct dw_rules *rules = &problem->job->rules;
    int64_t r = dw_bar_kind__leftover(problem, kind, x);
    int64_t keep = problem->job->materials[kind->material].worth.keep;
    if (rules->no_middling && r > rules->scrap_max && r < keep)
        return DW_NEVER;
    return x == 0 && kind->tail == 0 ? problem->cut_cost : 0;
}

/* Where missing pieces are counted, throwing a leftover away can only help under a cap. */
bool dw_bar_kind__keepable(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                           int64_t r)
{
    return r > 0 && r >= problem->job->materials[kind->material].worth.keep &&
           !(problem->missing && problem->max_kept != DW_UNLIMITED);
}

dw_money dw_bar_kind__kept(const struct dw_problem *problem, const struct dw_bar_kind *kind,
                           int64_t x)
{
    int64_t r = dw_bar_kind__leftover(problem, kind, x);
    return dw_bar_kind__keepable(problem, kind, r) ? dw_bar_kind__worth(problem, kind, r)
                                                   : DW_NEVER;
}

void dw_bar_kind__cap(const struct dw_problem *problem, struct dw_bar_kind *kind)
{
    for (size_t k = 0; k < problem->job->n_supplies; k++) {
        const struct dw_supply *supply = &problem->job->supplies[k];
        if (supply->material != kind->material || supply->source != DW_SOURCE_NEW ||
            supply->bend > 0)
            continue;
        int64_t length = supply->measured ? supply->measured : supply->length;
        dw_money price = dw_supply__lowest(supply);
        if (kind->cap_den == 0 ||
            (dw_wide)price * kind->cap_den < (dw_wide)kind->cap_num * length) {
            kind->cap_num = price;
            kind->cap_den = length;
        }
    }
}

/* Gcd of the worths of a material's classes; 1 if none can be relied on, 0 if all are 0. */
static dw_money class_grid(const struct dw_problem *problem, const struct dw_bar_kind *kind)
{
    const struct dw_worth *worth = &problem->job->materials[kind->material].worth;
    dw_money grid = 0;
    for (size_t i = 0; i < worth->n_classes; i++) {
        const struct dw_worth_class *class = &worth->classes[i];
        if (class->worth <= 0)
            continue;
        int64_t from = class->from > worth->keep ? class->from : worth->keep;
        if (dw_bar_kind__worth(problem, kind, from) != class->worth)
            return 1;
        grid = dw_gcd__i64(grid, class->worth);
    }
    return grid;
}

static dw_money worth_grid(const struct dw_problem *problem, size_t material)
{
    const struct dw_worth *worth = &problem->job->materials[material].worth;
    struct dw_bar_kind kind = {.material = material};
    switch (worth->kind) {
    case DW_WORTH_RATE:
        return worth->rate > 0;
    case DW_WORTH_SHARE:
        return worth->share > 0;
    case DW_WORTH_CLASSES:
        dw_bar_kind__cap(problem, &kind);
        return class_grid(problem, &kind);
    case DW_WORTH_NONE:
        break;
    }
    return 0;
}

dw_money dw_problem__grid(const struct dw_problem *problem, const size_t *group_of, size_t group)
{
    const struct dw_job *job = problem->job;
    dw_money grid = job->saw.cut_cost;
    for (size_t k = 0; k < job->n_supplies; k++) {
        const struct dw_supply *supply = &job->supplies[k];
        if (group_of[supply->material] != group)
            continue;
        grid = dw_gcd__i64(grid, supply->price);
        grid = dw_gcd__i64(grid, dw_supply_handling(&job->saw, supply));
        for (size_t i = 0; i < supply->n_breaks; i++)
            grid = dw_gcd__i64(grid, supply->breaks[i].price);
    }
    for (size_t i = 0; i < job->n_parts; i++)
        if (job->parts[i].post && group_of[job->parts[i].materials[0]] == group)
            grid = dw_gcd__i64(grid, job->parts[i].worth);
    for (size_t m = 0; m < job->n_materials; m++)
        if (group_of[m] == group)
            grid = dw_gcd__i64(grid, worth_grid(problem, m));
    return grid > 0 ? grid : 1;
}
