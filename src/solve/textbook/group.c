/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A group as a textbook problem, and its plan and duals back in the group's terms. */
#include "solve/textbook/group.h"
#include "solve/textbook/csp.h"
#include "solve/group/plain.h"

#include <stdlib.h>

bool dw_csp__suits(const struct dw_problem *problem)
{
    return dw_plain__is(problem) && problem->n_stocks == 1 && problem->cut_cost == 0 &&
           dw_plain__earns_nothing(problem) &&
           problem->stocks[0].price + problem->stocks[0].fixed > 0;
}

static dw_money bar_money(const struct dw_problem *problem)
{
    return problem->stocks[0].price + problem->stocks[0].fixed;
}

static bool take_plan(const struct dw_problem *p, struct dw_pool *pool,
                      const struct dw_csp_plan *plan, struct dw_solution *best)
{
    struct dw_solution mine = {.method = plan->method};
    struct dw_entry *entries = calloc(p->n_items + 1, sizeof *entries);
    bool ok = entries;
    for (size_t j = 0; j < plan->n_layouts && ok; j++) {
        const struct dw_csp_layout *layout = &plan->layouts[j];
        ok =
            dw_plain__add(p, pool, 0, layout->bars, layout->n_items, layout->items, entries, &mine);
    }
    ok = ok && dw_plain__offer(p, &mine, best);
    dw_solution__free(&mine);
    free(entries);
    return ok;
}

/* With money c a bar, y_i = c dual_i / scale. Larger duals than fit are halved, rounded down, and
 * the scale with them, rounded up: both only weaken what they prove. */
static bool take_bound(const struct dw_problem *p, const struct dw_csp_plan *plan,
                       struct dw_certified *certified)
{
    int64_t *item = dw_arena__alloc(p->arena, p->n_items, sizeof *item);
    if (!item)
        return false;
    const dw_money money = bar_money(p);
    const int64_t most = (INT64_C(1) << 60) / money;
    int shift = 0;
    while (plan->scale >> shift > most)
        shift++;
    int64_t scale = (plan->scale >> shift) + (shift > 0);
    dw_wide sum = 0;
    for (size_t i = 0; i < p->n_items; i++) {
        item[i] = (plan->dual[i] >> shift) * money;
        sum += (dw_wide)item[i] * p->items[i].count;
    }
    dw_money bound = dw_relax__round(p->stated, sum, scale, 0);
    if (certified->scale == 0 || bound > certified->bound)
        *certified = (struct dw_certified){.scale = scale, .item = item, .bound = bound};
    return true;
}

dw_err dw_csp__group(const struct dw_problem *problem, struct dw_pool *pool,
                     struct dw_effort *effort, struct dw_lp_env *env, struct dw_solution *best,
                     struct dw_certified *certified, bool *finished, struct dw_error *error)
{
    int64_t *numbers = calloc(2 * problem->n_items + 1, sizeof *numbers);
    if (!numbers)
        return dw_error__nomem(error);
    for (size_t i = 0; i < problem->n_items; i++) {
        numbers[i] = problem->items[i].size;
        numbers[problem->n_items + i] = problem->items[i].count;
    }
    const struct dw_csp csp = {.capacity = problem->stocks[0].cap,
                               .n = problem->n_items,
                               .size = numbers,
                               .demand = numbers + problem->n_items};
    struct dw_effort part = dw_effort__part(effort, 0);
    struct dw_csp_plan *plan = NULL;
    dw_err err = dw_csp__solve(&csp, &part, env, &plan, error);
    if (err == DW_OK) {
        dw_effort__spend(effort, part.work);
        if (!take_plan(problem, pool, plan, best) || !take_bound(problem, plan, certified))
            err = dw_error__nomem(error);
    }
    if (err == DW_OK && plan->finished && best->money <= plan->bars * bar_money(problem))
        *finished = true;
    dw_csp__free(plan);
    free(numbers);
    return err;
}
