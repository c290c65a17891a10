/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "versus.h"

#include "brute.h"
#include "mip.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

static int64_t now_ms(void *user)
{
    (void)user;
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

__attribute__((format(printf, 2, 3))) static bool differ(struct versus *versus, const char *format,
                                                         ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(versus->why, sizeof versus->why, format, args);
    va_end(args);
    return false;
}

/* What waits for more tube is as little as can be, first of parts with priority. */
static bool compare_missing(struct versus *versus, const struct dw_job *job,
                            const struct dw_group *group, const struct brute *brute)
{
    int64_t least[2] = {0, 0}, stated[2] = {0, 0};
    for (size_t i = 0; i < group->n_shortages; i++)
        stated[!job->parts[group->shortages[i].part].priority] += group->shortages[i].missing;
    if (!brute_missing(brute, least))
        return differ(versus, "the reference has no plan at all");
    return (stated[0] == least[0] && stated[1] == least[1]) ||
           differ(versus, "missing: %lld with priority and %lld, at least %lld and %lld",
                  (long long)stated[0], (long long)stated[1], (long long)least[0],
                  (long long)least[1]);
}

static bool compare_money(struct versus *versus, const struct dw_job *job,
                          const struct dw_group *group, const struct brute *brute)
{
    if ((group->status == DW_STATUS_INFEASIBLE) == brute->feasible)
        return differ(versus, "group of material %zu: %s by the solver only", group->materials[0],
                      brute->feasible ? "infeasible" : "feasible");
    if (!brute->feasible && !compare_missing(versus, job, group, brute))
        return false;
    if (!brute->feasible) {
        versus->n_infeasible++;
        return group->proof == DW_PROOF_SEARCH ||
               differ(versus, "group of material %zu: that there is no plan is not proven",
                      group->materials[0]);
    }
    if (group->value != brute->money)
        return differ(versus, "group of material %zu: value %lld, cheapest %lld",
                      group->materials[0], (long long)group->value, (long long)brute->money);
    if (group->status != DW_STATUS_OPTIMAL)
        return differ(versus, "group of material %zu: not proven, bound %lld of %lld",
                      group->materials[0], (long long)group->bound, (long long)group->value);
    versus->n_duals += group->proof == DW_PROOF_DUALS;
    versus->n_search += group->proof == DW_PROOF_SEARCH;
    return true;
}

static bool compare_mip(struct versus *versus, const struct dw_job *job,
                        const struct dw_group *group, int seconds)
{
    dw_money money = 0;
    enum mip_solver solver = versus->n_mip % 2 ? MIP_GLPSOL : MIP_CBC;
    enum mip_answer answer =
        mip_solve(job, group->materials, group->n_materials, solver, seconds, &money);
    bool feasible = group->status != DW_STATUS_INFEASIBLE;
    versus->n_mip++;
    versus->n_mip_open += answer == MIP_UNKNOWN;
    if (answer != MIP_UNKNOWN && (answer == MIP_OPTIMAL) != feasible)
        return differ(versus, "a general solver finds it %s", feasible ? "infeasible" : "feasible");
    if (answer == MIP_OPTIMAL && money != group->value)
        return differ(versus, "value %lld, a general solver's %lld", (long long)group->value,
                      (long long)money);
    return true;
}

static bool compare_groups(struct versus *versus, const struct dw_job *job,
                           const struct dw_plan *plan, int mip_seconds)
{
    bool agree = true;
    for (size_t g = 0; g < plan->n_groups && agree; g++) {
        const struct dw_group *group = &plan->groups[g];
        struct brute brute = {0};
        if (brute_solve(&brute, job, group->materials, group->n_materials) != 0)
            agree = differ(versus, "no memory for the reference");
        else
            agree = compare_money(versus, job, group, &brute);
        brute_free(&brute);
        versus->n_groups++;
        if (agree && mip_seconds > 0)
            agree = compare_mip(versus, job, group, mip_seconds);
    }
    return agree;
}

bool versus_brute(struct versus *versus, const struct dw_job *job, int mip_seconds)
{
    struct dw_settings settings;
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    struct dw_report report = {0};
    const struct dw_hooks hooks = {.now_ms = now_ms};
    versus->why[0] = '\0';
    dw_settings_default(&settings);
    settings.threads = 1;
    if (dw_solve(job, &settings, &hooks, &plan, &error) != DW_OK)
        return differ(versus, "the solver fails: %s", error.text);
    bool agree = dw_plan_check(job, plan, &report, &error) == DW_OK ||
                 differ(versus, "the verifier refuses: %s", error.text);
    agree = agree && compare_groups(versus, job, plan, mip_seconds);
    dw_report_free(&report);
    dw_plan_free(plan);
    return agree;
}

static bool between(struct versus *versus, const struct dw_job *job, const struct dw_group *group)
{
    struct brute brute = {0};
    bool planned = group->status != DW_STATUS_INFEASIBLE, agree = true;
    versus->n_groups++;
    if (brute_solve(&brute, job, group->materials, group->n_materials) != 0)
        agree = differ(versus, "no memory for the reference");
    else if (planned != brute.feasible)
        agree = differ(versus, "%s by the solver only", planned ? "feasible" : "infeasible");
    else if (planned && (group->value < brute.money || group->bound > brute.money))
        agree = differ(versus, "value %lld, bound %lld, cheapest %lld", (long long)group->value,
                       (long long)group->bound, (long long)brute.money);
    brute_free(&brute);
    return agree;
}

static bool same_plan(const struct dw_plan *a, const struct dw_plan *b)
{
    bool same = a->n_layouts == b->n_layouts && a->bound == b->bound && a->status == b->status &&
                memcmp(&a->totals, &b->totals, sizeof a->totals) == 0;
    for (size_t i = 0; same && i < a->n_layouts; i++) {
        const struct dw_layout *x = &a->layouts[i], *y = &b->layouts[i];
        same = x->supply == y->supply && x->count == y->count && x->n_pieces == y->n_pieces &&
               x->leftover == y->leftover && x->rest == y->rest;
        for (size_t j = 0; same && j < x->n_pieces; j++)
            same = x->pieces[j].part == y->pieces[j].part &&
                   x->pieces[j].count == y->pieces[j].count &&
                   x->pieces[j].length == y->pieces[j].length;
    }
    return same;
}

bool versus_limits(struct versus *versus, const struct dw_job *job,
                   const struct dw_settings *settings)
{
    struct dw_settings two = *settings;
    struct dw_plan *plan = NULL, *again = NULL;
    struct dw_error error = {0};
    struct dw_report report = {0};
    two.threads = 2;
    bool agree = dw_solve(job, settings, NULL, &plan, &error) == DW_OK &&
                 dw_solve(job, &two, NULL, &again, &error) == DW_OK &&
                 dw_plan_check(job, plan, &report, &error) == DW_OK;
    if (!agree)
        differ(versus, "%s: %s", dw_err_name(error.code), error.text);
    else if (!same_plan(plan, again))
        agree = differ(versus, "two threads make another plan");
    for (size_t g = 0; agree && g < plan->n_groups; g++)
        agree = between(versus, job, &plan->groups[g]);
    dw_report_free(&report);
    dw_plan_free(plan);
    dw_plan_free(again);
    return agree;
}
