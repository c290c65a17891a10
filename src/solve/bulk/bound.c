/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the linear program over classes proves, in integers. */
#include "solve/bulk/classes.h"

#include <stdlib.h>

__extension__ typedef __int128 wide;

/* What classes at p, in parts of `scale`, come to within w cells, what is left included: z[w] is
 * exact for the rounded-down lengths, hence at least the value of any layout in true lengths.
 * false: too large. Cost: O(m n_cells). */
static bool integer_table(const struct dw_bulk_master *master, const int64_t *p, int64_t scale,
                          int64_t *z)
{
    for (int64_t w = 0; w <= master->n_cells; w++)
        if (!dw_mul__i64(master->credit[w], scale, &z[w]))
            return false;
    for (size_t c = 0; c < master->m; c++) {
        int64_t s = master->cells[c];
        if (s == 0 || p[c] <= 0)
            continue;
        for (int64_t w = s; w <= master->n_cells; w++) {
            int64_t with;
            if (!dw_add__i64(z[w - s], p[c], &with))
                return false;
            z[w] = with > z[w] ? with : z[w];
        }
    }
    return true;
}

/* z_k: a layout has a piece. */
static int64_t best_layout(const struct dw_bulk_master *master, const int64_t *p, const int64_t *z,
                           size_t k)
{
    int64_t room = master->room[k], best = 0;
    for (size_t c = 0; c < master->m; c++) {
        int64_t s = master->cells[c];
        if (s <= room && z[room - s] + p[c] > best)
            best = z[room - s] + p[c];
    }
    return best;
}

/* By what p has to be multiplied so that no bar without limit gives more than it costs; 1: nothing
 * to do. Where nothing left earns, 1 - (z - c) / z is enough, and mostly little more where it does:
 * `times` as much is taken off. 0 takes what makes sure:
 *   (1 - delta) y + v <= c  whenever  y + v <= z, v <= v_max,  with delta = (z - c) / (c - v_max).
 * Proposed in doubles; the table proves it. */
static double shrinkage(const struct dw_bulk_master *master, const int64_t *p, int64_t scale,
                        const int64_t *z, int times)
{
    double least = 1;
    for (size_t k = 0; k < master->problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &master->problem->stocks[k];
        wide cost = (wide)stock->cost * scale;
        int64_t best = best_layout(master, p, z, k);
        if (stock->count >= 0 || best <= cost)
            continue;
        double rest = (double)(stock->cost - master->credit[master->room[k]]) * (double)scale;
        double over = (double)(best - cost);
        double off = times > 0 ? times * over / (double)best : over / (rest > 1 ? rest : 1);
        double factor = (1 - off) * (1 - 1e-12);
        least = factor < least ? factor : least;
    }
    return least > 0 ? least : 0;
}

#define MOST_TIMES 128

/* Makes p feasible for bars without limit. false: it did not come to that. */
static bool make_feasible(const struct dw_bulk_master *master, int64_t *p, int64_t scale,
                          int64_t *z)
{
    for (int times = 1;; times = times < MOST_TIMES ? 2 * times : 0) {
        if (!integer_table(master, p, scale, z))
            return false;
        double factor = shrinkage(master, p, scale, z, times);
        if (factor == 1 || factor == 0)
            return factor == 1;
        for (size_t c = 0; c < master->m; c++)
            p[c] = (int64_t)((double)p[c] * factor);
        if (times == 0)
            return integer_table(master, p, scale, z) && shrinkage(master, p, scale, z, 0) == 1;
    }
}

/* mu_k = max(0, z_k - scale c_k) of limited bars, ceil( (sum p d - sum u mu) / scale ). */
static int64_t safe_bound(const struct dw_bulk_master *master, const int64_t *p, int64_t scale,
                          const int64_t *z)
{
    const struct dw_bulk *problem = master->problem;
    wide sum = 0;
    for (size_t c = 0; c < master->m; c++)
        sum += (wide)p[c] * master->demand[c];
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        wide over = best_layout(master, p, z, k) - (wide)scale * stock->cost;
        if (stock->count >= 0 && over > 0)
            sum -= over * stock->count;
    }
    return sum > 0 ? (int64_t)((sum + scale - 1) / scale) : 0;
}

/* S; p stays under 2^62 for costs under 2^31. */
static int64_t choose_scale(const struct dw_bulk_master *master)
{
    int64_t scale = INT64_C(1) << 30;
    while (scale > 1 && (double)scale * master->unit * 8 > 4e18)
        scale /= 2;
    return scale;
}

dw_err dw_bulk__bound(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                      struct dw_effort *effort, struct dw_lp_env *env, int64_t *dual,
                      int64_t *scale, int64_t *bound)
{
    struct dw_bulk_master master = {.problem = problem, .effort = effort};
    *bound = 0;
    int64_t *p = calloc(classes->n + 1, sizeof *p);
    int64_t *z = calloc(DW_BULK_CELLS + 2, sizeof *z);
    dw_err err = p && z ? dw_bulk__master_solve(&master, classes, false, env) : DW_ERR_NOMEM;
    if (err == DW_OK) {
        *scale = choose_scale(&master);
        for (size_t c = 0; c < classes->n; c++)
            if (master.cells[c] > 0)
                p[c] = (int64_t)(master.pi[c] * master.unit * (double)*scale);
        if (make_feasible(&master, p, *scale, z))
            *bound = safe_bound(&master, p, *scale, z);
        for (size_t c = 0; c < classes->n; c++)
            for (size_t i = classes->first[c]; i < classes->first[c + 1]; i++)
                dual[i] = p[c];
    }
    dw_bulk__master_free(&master);
    free(p);
    free(z);
    return err;
}
