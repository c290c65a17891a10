/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A basic solution of the linear relaxation over the plan's own layouts has at most as many
 * layouts as there are lengths (Gilmore and Gomory 1961). It is rounded down; the few bars that
 * this leaves are planned exactly. */
#include "solve/plans/few_core.h"
#include "solve/textbook/csp.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RESIDUAL_WORK 100000

/* min sum x_p  s.t.  sum a_pi x_p = d_i, x >= 0 over the plan's layouts; floor(x_p) into bars. */
static bool round_down(const struct dw_few *few, const struct dw_few_set *plan,
                       const int64_t *demand, struct dw_lp_env *env, int64_t *bars)
{
    struct dw_lp *lp = dw_lp__new(env);
    size_t *rows = calloc(few->n + 1, sizeof *rows);
    double *values = calloc(few->n + 1, sizeof *values);
    bool ok = lp && rows && values;
    for (size_t i = 0; ok && i < few->n; i++)
        ok = dw_lp__add_row(lp, (double)demand[i], (double)demand[i]) != SIZE_MAX;
    for (size_t p = 0; ok && p < plan->n_layouts; p++) {
        size_t n = 0;
        for (size_t i = 0; i < few->n; i++)
            if (plan->count[p * few->n + i] > 0) {
                rows[n] = i;
                values[n++] = (double)plan->count[p * few->n + i];
            }
        ok = dw_lp__add_col(lp, 1, 0, DW_LP_INF, n, rows, values) != SIZE_MAX;
    }
    ok = ok && dw_lp__solve(lp, false, 0) == DW_LP_OPTIMAL;
    for (size_t p = 0; ok && p < plan->n_layouts; p++)
        bars[p] = (int64_t)floor(dw_lp__col_value(lp, p) + 1e-6);
    dw_lp__free(lp);
    free(rows);
    free(values);
    return ok;
}

/* Appends an exact plan of `demand` (length n) on at most `bars` bars. false: there is none, no
 * memory or no time for it. */
static bool add_residual(struct dw_few *few, const int64_t *demand, int64_t bars,
                         struct dw_effort *effort, struct dw_lp_env *env, struct dw_few_set *out)
{
    int64_t *size = calloc(2 * few->n + 1, sizeof *size), *wanted = size + few->n;
    size_t *type = calloc(few->n + 1, sizeof *type);
    struct dw_csp csp = {.capacity = few->cap, .size = size, .demand = wanted};
    struct dw_csp_plan *plan = NULL;
    bool ok = size && type;
    for (size_t i = 0; ok && i < few->n; i++)
        if (demand[i] > 0) {
            type[csp.n] = i;
            size[csp.n] = few->size[i];
            wanted[csp.n++] = demand[i];
        }
    ok = ok && dw_csp__solve(&csp, effort, env, &plan, NULL) == DW_OK && plan->bars <= bars &&
         out->n_layouts + plan->n_layouts <= out->room;
    for (size_t k = 0; ok && k < plan->n_layouts; k++) {
        int64_t *count = out->count + out->n_layouts * few->n, pieces = 0;
        memset(count, 0, few->n * sizeof *count);
        for (size_t j = 0; j < plan->layouts[k].n_items; j++) {
            count[type[plan->layouts[k].items[j].type]] = plan->layouts[k].items[j].count;
            pieces += plan->layouts[k].items[j].count;
        }
        ok = pieces <= few->pieces;
        out->bars[out->n_layouts++] = plan->layouts[k].bars;
    }
    few->steps += effort->work * DW_FEW_STEPS;
    dw_csp__free(plan);
    free(size);
    free(type);
    return ok;
}

bool dw_few__basic(struct dw_few *few, const struct dw_few_set *plan, int64_t *demand, int64_t bars,
                   struct dw_effort *effort, struct dw_lp_env *env, struct dw_few_set *out)
{
    struct dw_effort part = dw_effort__part(effort, RESIDUAL_WORK);
    int64_t *floors = calloc(plan->n_layouts + 1, sizeof *floors);
    bool ok = floors && round_down(few, plan, demand, env, floors);
    out->n_layouts = 0;
    for (size_t p = 0; ok && p < plan->n_layouts; p++) {
        const int64_t *count = plan->count + p * few->n;
        if (floors[p] <= 0)
            continue;
        memcpy(out->count + out->n_layouts * few->n, count, few->n * sizeof *count);
        out->bars[out->n_layouts++] = floors[p];
        bars -= floors[p];
        for (size_t i = 0; i < few->n; i++)
            demand[i] -= floors[p] * count[i];
    }
    for (size_t i = 0; ok && i < few->n; i++)
        ok = demand[i] >= 0;
    ok = ok && bars >= 0 && add_residual(few, demand, bars, &part, env, out);
    free(floors);
    return ok;
}
