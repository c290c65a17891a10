/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "forge.h"

#include "brute.h"

#include <dropwise/files.h>
#include <dropwise/solve.h>

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GROUPS 8

/* A good plan, and what is so of its groups. */
struct original {
    struct dw_job *job;
    char *document;
    size_t n_groups;
    bool feasible[GROUPS];
    dw_money cheapest[GROUPS];
};

/* A plan to be changed. */
struct change {
    struct random *random;
    const struct dw_job *job;
    struct dw_plan *plan;
};

__attribute__((format(printf, 2, 3))) static bool amiss(struct forge *forge, const char *format,
                                                        ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(forge->why, sizeof forge->why, format, args);
    va_end(args);
    return false;
}

static size_t pick(struct change *change, size_t n)
{
    return (size_t)random_in(change->random, 0, (int64_t)n - 1);
}

/* A step up or down: mostly a small one. */
static int64_t step(struct change *change)
{
    int64_t most = random_chance(change->random, 50) ? 1 : 200000;
    int64_t size = random_in(change->random, 1, most);
    return random_chance(change->random, 50) ? size : -size;
}

static struct dw_group *any_group(struct change *change)
{
    return &change->plan->groups[pick(change, change->plan->n_groups)];
}

/* --- changes ---------------------------------------------------------------------------------- */

/* "Every other way was searched." */
static void claim_search(struct change *change)
{
    struct dw_group *group = any_group(change);
    group->status = DW_STATUS_OPTIMAL;
    group->proof = DW_PROOF_SEARCH;
    group->bound = group->value;
    if (random_chance(change->random, 50))
        group->certificate = (struct dw_certificate){0};
}

/* "The duals prove it." */
static void claim_duals(struct change *change)
{
    struct dw_group *group = any_group(change);
    group->status = DW_STATUS_OPTIMAL;
    group->proof = DW_PROOF_DUALS;
    group->bound = group->certificate.bound = group->value;
}

static void claim_nothing(struct change *change)
{
    struct dw_group *group = any_group(change);
    group->status = random_chance(change->random, 50) ? DW_STATUS_WITHIN : DW_STATUS_STOPPED;
    group->proof = (enum dw_proof)random_in(change->random, DW_PROOF_NONE, DW_PROOF_SEARCH);
    if (group->proof == DW_PROOF_NONE)
        group->certificate = (struct dw_certificate){0};
    group->bound = group->value - random_in(change->random, 1, 200000);
    if (group->proof == DW_PROOF_DUALS)
        group->certificate.bound = group->bound;
}

/* Other duals, with what they are said to prove. */
static void change_duals(struct change *change)
{
    struct dw_group *group = any_group(change);
    struct dw_certificate *c = &group->certificate;
    int64_t *duals = dw_plan_alloc(change->plan, c->n_duals, sizeof *duals);
    if (!duals || c->n_duals == 0)
        return;
    memcpy(duals, c->duals, c->n_duals * sizeof *duals);
    c->duals = duals;
    size_t i = pick(change, c->n_duals);
    switch (random_in(change->random, 0, 5)) {
    case 0:
        duals[i] += llabs(step(change));
        break;
    case 1:
        duals[i] = duals[i] * random_in(change->random, 0, 30) / 10;
        break;
    case 2:
        for (size_t j = 0; j < c->n_duals; j++)
            duals[j] = duals[j] * 101 / 100;
        break;
    case 3:
        c->scale = c->scale > 1 ? c->scale - c->scale / 100 - 1 : 1;
        break;
    case 4:
        duals[i] = duals[pick(change, c->n_duals)];
        break;
    default:
        c->n_duals--;
    }
    c->bound += llabs(step(change));
    group->bound = group->proof == DW_PROOF_DUALS ? c->bound : group->bound;
}

static void change_bound(struct change *change)
{
    struct dw_group *group = any_group(change);
    int64_t by = step(change);
    group->certificate.bound += by;
    group->bound += random_chance(change->random, 70) ? by : 0;
}

/* Duals from nothing, for each part of a group that has none. */
static void invent_duals(struct change *change)
{
    struct dw_group *group = any_group(change);
    size_t *parts = dw_plan_alloc(change->plan, change->job->n_parts, sizeof *parts);
    int64_t *duals = dw_plan_alloc(change->plan, change->job->n_parts, sizeof *duals);
    size_t n = 0;
    if (!parts || !duals)
        return;
    for (size_t i = 0; i < change->job->n_parts; i++)
        for (size_t j = 0; j < group->n_materials; j++)
            if (change->job->parts[i].materials[0] == group->materials[j]) {
                parts[n] = i;
                duals[n++] = random_in(change->random, 0, 400000);
            }
    group->certificate =
        (struct dw_certificate){.scale = random_in(change->random, 1, 4),
                                .n_duals = n,
                                .parts = parts,
                                .duals = duals,
                                .bound = group->value - random_in(change->random, 0, 1) * 1000};
}

static void change_layout(struct change *change)
{
    struct dw_plan *plan = change->plan;
    if (plan->n_layouts == 0)
        return;
    struct dw_layout *layout = &plan->layouts[pick(change, plan->n_layouts)];
    struct dw_piece *piece = (struct dw_piece *)&layout->pieces[pick(change, layout->n_pieces)];
    switch (random_in(change->random, 0, 6)) {
    case 0:
        layout->count += layout->count > 1 && random_chance(change->random, 70) ? -1 : 1;
        break;
    case 1:
        piece->count += piece->count > 1 && random_chance(change->random, 70) ? -1 : 1;
        break;
    case 2: /* what a piece lacks is left */
        piece->length -= piece->length > 1;
        layout->leftover += piece->count;
        break;
    case 3:
        layout->rest = (enum dw_rest)random_in(change->random, DW_REST_NONE, DW_REST_KEPT);
        break;
    case 4:
        layout->leftover = llabs(layout->leftover + step(change) * DW_NM_PER_MM);
        break;
    case 5:
        layout->supply = pick(change, change->job->n_supplies);
        break;
    default: /* a bar less */
        plan->n_layouts--;
        if (layout != &plan->layouts[plan->n_layouts])
            *layout = plan->layouts[plan->n_layouts];
    }
}

/* A cheaper sum of the same bars. */
static void change_money(struct change *change)
{
    struct dw_totals *totals = &change->plan->totals;
    dw_money *const figures[] = {&totals->bars, &totals->taken, &totals->cuts, &totals->kept,
                                 &totals->posts};
    int64_t by = step(change);
    size_t i = pick(change, 5);
    *figures[i] += by;
    totals->value += i < 3 ? by : -by;
    any_group(change)->value += i < 3 ? by : -by;
}

static void claim_short(struct change *change)
{
    struct dw_plan *plan = change->plan;
    size_t g = pick(change, plan->n_groups), n = 0;
    struct dw_group *group = &plan->groups[g];
    struct dw_shortage *missing = dw_plan_alloc(plan, 1, sizeof *missing);
    if (!missing)
        return;
    *missing = (struct dw_shortage){.part = pick(change, change->job->n_parts),
                                    .never = random_chance(change->random, 50)};
    missing->missing = change->job->parts[missing->part].count;
    group->status = DW_STATUS_INFEASIBLE;
    group->proof = random_chance(change->random, 70) ? DW_PROOF_SEARCH : DW_PROOF_NONE;
    group->value = group->bound = 0;
    group->certificate = (struct dw_certificate){0};
    group->shortages = missing;
    group->n_shortages = 1;
    for (size_t i = 0; i < plan->n_layouts; i++)
        if (plan->layouts[i].group != g)
            plan->layouts[n++] = plan->layouts[i];
    plan->n_layouts = n;
}

/* --- so that it goes together ----------------------------------------------------------------- */

static enum dw_status worst(const struct dw_plan *plan)
{
    static const enum dw_status order[] = {DW_STATUS_INFEASIBLE, DW_STATUS_STOPPED,
                                           DW_STATUS_WITHIN};
    for (size_t i = 0; i < 3; i++)
        for (size_t g = 0; g < plan->n_groups; g++)
            if (plan->groups[g].status == order[i])
                return order[i];
    return DW_STATUS_OPTIMAL;
}

static void sum_up(struct change *change)
{
    struct dw_plan *plan = change->plan;
    dw_money others = 0;
    if (dw_plan_sum(change->job, plan, NULL) != DW_OK)
        return;
    size_t g = plan->n_groups;
    for (size_t i = 0; i < plan->n_groups; i++)
        if (g == plan->n_groups && plan->groups[i].status != DW_STATUS_INFEASIBLE)
            g = i;
        else
            others += plan->groups[i].value;
    if (g < plan->n_groups)
        plan->groups[g].value = plan->totals.value - others;
}

/* Mostly bound, value, proof and status of a group go together, and those of the plan with them. */
static void agree(struct change *change)
{
    struct dw_plan *plan = change->plan;
    plan->bound = 0;
    for (size_t g = 0; g < plan->n_groups; g++) {
        struct dw_group *group = &plan->groups[g];
        bool neatly = random_chance(change->random, 90);
        if (neatly && group->proof == DW_PROOF_DUALS)
            group->bound = group->certificate.bound;
        if (neatly && (group->status == DW_STATUS_OPTIMAL || group->bound > group->value))
            group->bound = group->value;
        if (neatly && group->bound == group->value && group->status != DW_STATUS_INFEASIBLE)
            group->status = DW_STATUS_OPTIMAL;
        plan->bound += group->bound;
    }
    plan->status = worst(plan);
}

static void change_plan(struct change *change)
{
    static void (*const changes[])(struct change *) = {
        claim_search, claim_search, claim_duals,   claim_nothing, change_duals, change_duals,
        change_bound, invent_duals, change_layout, change_money,  claim_short,
    };
    int n = (int)random_in(change->random, 1, 3);
    bool moved = false;
    for (int i = 0; i < n; i++) {
        size_t which = pick(change, sizeof changes / sizeof *changes);
        moved = moved || changes[which] == change_layout || changes[which] == claim_short;
        changes[which](change);
        if (moved)
            sum_up(change);
    }
    agree(change);
}

/* --- judged ----------------------------------------------------------------------------------- */

static bool judge_group(struct forge *forge, const struct original *original,
                        const struct dw_group *group, const struct dw_group_proven *proven,
                        size_t g)
{
    bool planned = group->status != DW_STATUS_INFEASIBLE;
    bool feasible = original->feasible[g];
    dw_money cheapest = original->cheapest[g];
    if (!planned) {
        forge->n_false += feasible;
        return !proven->settled || !feasible ||
               amiss(forge, "group %zu: proved to have no plan, and has one", g + 1);
    }
    forge->n_false += group->bound > cheapest;
    forge->n_settled += proven->settled;
    if (!feasible || group->value < cheapest)
        return amiss(forge, "group %zu: accepted with %lld, the cheapest is %lld", g + 1,
                     (long long)group->value, (long long)cheapest);
    if (proven->bound > cheapest)
        return amiss(forge, "group %zu: proved that nothing costs less than %lld; %lld does", g + 1,
                     (long long)proven->bound, (long long)cheapest);
    return proven->settled == (proven->bound == group->value) ||
           amiss(forge, "group %zu: bound and word do not go together", g + 1);
}

static bool judge(struct forge *forge, const struct original *original, const struct dw_plan *plan)
{
    struct dw_report report = {0};
    struct dw_plan_proven *proven = NULL;
    dw_err err = dw_plan_prove(original->job, plan, &report, &proven, NULL);
    dw_report_free(&report);
    forge->n_refused += err == DW_ERR_CHECK;
    if (err)
        return (err == DW_ERR_CHECK && !proven) || amiss(forge, "%s", dw_err_name(err));
    bool good = proven->n_groups == original->n_groups;
    dw_money sum = 0;
    bool settled = true;
    for (size_t g = 0; good && g < proven->n_groups; g++) {
        good = judge_group(forge, original, &plan->groups[g], &proven->groups[g], g);
        sum += proven->groups[g].bound;
        settled = settled && proven->groups[g].settled;
    }
    if (good && (sum != proven->bound || settled != proven->settled))
        good = amiss(forge, "the whole does not follow from the groups");
    dw_plan_proven_free(proven);
    return good;
}

static bool forge_one(struct forge *forge, const struct original *original)
{
    const char *document = original->document;
    struct dw_plan *plan = NULL, *read = NULL;
    char *text = NULL;
    if (dw_plan_from_json(document, strlen(document), "plan", original->job, &plan, NULL) != DW_OK)
        return amiss(forge, "a good plan is not read");
    struct change change = {&forge->random, original->job, plan};
    change_plan(&change);
    forge->n_forged++;
    bool good = dw_plan_to_json(original->job, plan, &text, NULL) == DW_OK ||
                amiss(forge, "a forged plan is not written");
    if (good && dw_plan_from_json(text, strlen(text), "plan", original->job, &read, NULL) != DW_OK)
        forge->n_refused++;
    else if (good)
        good = judge(forge, original, read);
    free(text);
    dw_plan_free(plan);
    dw_plan_free(read);
    return good;
}

/* --- good plans ------------------------------------------------------------------------------- */

static bool reckon(struct original *original, const struct dw_plan *plan)
{
    original->n_groups = plan->n_groups;
    bool good = plan->n_groups <= GROUPS;
    for (size_t g = 0; good && g < plan->n_groups; g++) {
        struct brute brute = {0};
        const struct dw_group *group = &plan->groups[g];
        good = brute_solve(&brute, original->job, group->materials, group->n_materials) == 0;
        original->feasible[g] = brute.feasible;
        original->cheapest[g] = brute.money;
        brute_free(&brute);
    }
    return good;
}

static bool make(struct forge *forge, struct original *original)
{
    struct dw_settings settings;
    struct dw_plan *plan = NULL;
    dw_settings_default(&settings);
    settings.threads = 1;
    settings.time_ms = 0;
    settings.greedy = random_chance(&forge->random, 40);
    settings.work = random_chance(&forge->random, 50) ? 0 : 1;
    bool good = original->job && dw_solve(original->job, &settings, NULL, &plan, NULL) == DW_OK &&
                reckon(original, plan) &&
                dw_plan_to_json(original->job, plan, &original->document, NULL) == DW_OK;
    dw_plan_free(plan);
    return good;
}

bool forge_plans(struct forge *forge, uint64_t seed, int n)
{
    struct original original = {.job = random_job(seed)};
    forge->random.state = seed;
    forge->why[0] = '\0';
    bool good = make(forge, &original) || amiss(forge, "no plan could be made");
    forge->n_plans += good;
    for (int i = 0; good && i < n; i++)
        good = forge_one(forge, &original);
    free(original.document);
    dw_job_free(original.job);
    return good;
}
