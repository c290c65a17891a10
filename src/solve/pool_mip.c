/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/pool_mip.h"

#include <stdlib.h>

struct model {
    const struct dw_problem *p;
    const struct dw_relax *relax;
    struct dw_lp *lp;
    size_t first_stock; /* row of the first stock; every stock has one */
    size_t first_count;
    size_t *rows;   /* room for one column */
    double *values; /* room for one column */
};

/* Parts are made exactly as often as wanted: with layouts of fewer pieces in the list no plan is
 * lost, and the tree is much smaller than with surplus allowed. */
static bool add_rows(struct model *m)
{
    bool ok = true;
    for (size_t i = 0; i < m->p->n_items; i++) {
        double demand = (double)m->relax->demand[i];
        bool post = m->p->items[i].post;
        ok = dw_lp__add_row(m->lp, post ? -DW_LP_INF : demand, demand) != SIZE_MAX && ok;
    }
    m->first_stock = m->p->n_items;
    for (size_t k = 0; k < m->p->n_stocks; k++)
        ok = dw_lp__add_row(m->lp, -DW_LP_INF, (double)m->relax->avail[k]) != SIZE_MAX && ok;
    m->first_count = m->first_stock + m->p->n_stocks;
    for (size_t c = 0; c < m->relax->n_counts; c++) {
        double hi = m->relax->hi[c] == DW_NO_LIMIT ? DW_LP_INF : (double)m->relax->hi[c];
        ok = dw_lp__add_row(m->lp, (double)m->relax->lo[c], hi) != SIZE_MAX && ok;
    }
    return ok;
}

static bool add_col(struct model *m, const struct dw_col *col)
{
    size_t n = 0;
    for (size_t i = 0; i < col->n; i++) {
        m->rows[n] = col->entries[i].item;
        m->values[n++] = (double)col->entries[i].count;
    }
    m->rows[n] = m->first_stock + col->stock;
    m->values[n++] = 1;
    for (size_t c = 0; c < m->relax->n_counts; c++) {
        int64_t of = dw_count__of(m->p, &m->relax->counts[c], col);
        if (of == 0)
            continue;
        m->rows[n] = m->first_count + c;
        m->values[n++] = (double)of;
    }
    double cost = (double)(m->relax->bar[col->stock] + col->money);
    size_t j = dw_lp__add_col(m->lp, cost, 0, DW_LP_INF, n, m->rows, m->values);
    if (j != SIZE_MAX)
        dw_lp__col_integer(m->lp, j, true);
    return j != SIZE_MAX;
}

static bool build(struct model *m, struct dw_master *master)
{
    size_t most = m->p->n_items + m->relax->n_counts + 2;
    m->rows = calloc(most, sizeof *m->rows);
    m->values = calloc(most, sizeof *m->values);
    m->lp = dw_lp__new(master->env);
    if (!m->rows || !m->values || !m->lp || !add_rows(m))
        return false;
    for (size_t j = 0; j < m->relax->n_list; j++)
        if (!add_col(m, m->relax->list[j]))
            return false;
    return true;
}

static bool take(const struct model *m, int64_t *scratch, struct dw_solution *best)
{
    struct dw_solution plan = {.method = "branch and price, branch and cut over listed layouts"};
    bool ok = true;
    for (size_t j = 0; ok && j < m->relax->n_list; j++) {
        int64_t count = (int64_t)(dw_lp__mip_value(m->lp, j) + 0.5);
        if (count > 0)
            ok = dw_solution__add(&plan, m->relax->list[j], count);
    }
    ok = ok && dw_solution__offer(m->p, &plan, scratch, best);
    dw_solution__free(&plan);
    return ok;
}

dw_err dw_pool_mip__run(struct dw_master *master, const struct dw_relax *relax, int64_t max_nodes,
                        int64_t *scratch, struct dw_solution *best, bool *empty,
                        struct dw_error *error)
{
    struct model m = {.p = master->problem, .relax = relax};
    *empty = false;
    bool ok = build(&m, master);
    if (ok) {
        const struct dw_lp_mip settings = {
            .cutoff = (double)(best->money - m.p->grid - relax->base) + 0.4,
            .max_nodes = max_nodes,
            .stop = dw_effort__stop,
            .user = master->effort};
        enum dw_lp_result result = dw_lp__mip(m.lp, &settings);
        *empty = result == DW_LP_INFEASIBLE;
        ok = !dw_lp__has_point(m.lp) || take(&m, scratch, best);
    }
    dw_lp__free(m.lp);
    free(m.rows);
    free(m.values);
    return ok || master->env->dead ? DW_OK : dw_error__nomem(error);
}
