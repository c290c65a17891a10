/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all relaxations of a group share. */
#include "solve/lp/relax.h"

#include <stdlib.h>

static dw_money money_unit(const struct dw_problem *p)
{
    dw_money unit = p->cut_cost;
    for (size_t k = 0; k < p->n_stocks; k++)
        if (p->stocks[k].price + p->stocks[k].fixed > unit)
            unit = p->stocks[k].price + p->stocks[k].fixed;
    for (size_t i = 0; i < p->n_items; i++)
        if (p->items[i].worth > unit)
            unit = p->items[i].worth;
    for (size_t i = 0; p->missing && i < p->n_items; i++)
        if (p->items[i].weight > unit)
            unit = p->items[i].weight;
    for (size_t q = 0; q < p->n_kinds; q++) {
        dw_money phi = dw_bar_kind__worth(p, &p->kinds[q], p->kinds[q].max_cap);
        unit = phi > unit ? phi : unit;
    }
    return unit > 0 ? unit : 1;
}

void dw_master__init(struct dw_master *master, const struct dw_problem *problem,
                     struct dw_pool *pool, struct dw_pricer *pricer, struct dw_lp_env *env,
                     struct dw_effort *effort)
{
    *master = (struct dw_master){.problem = problem,
                                 .pool = pool,
                                 .pricer = pricer,
                                 .env = env,
                                 .effort = effort,
                                 .unit = money_unit(problem)};
}

void dw_master__free(struct dw_master *master)
{
    free(master->marks);
    dw_valuer__free(&master->valuer);
}

bool dw_master__mark(struct dw_master *master, const struct dw_col *col)
{
    size_t old = master->n_marks;
    if (!dw_array__grow(&master->marks, &master->n_marks, col->index + 1, sizeof *master->marks))
        return false;
    for (size_t i = old; i < master->n_marks; i++)
        master->marks[i] = 0;
    master->marks[col->index] = master->run;
    return true;
}

bool dw_master__marked(const struct dw_master *master, const struct dw_col *col)
{
    return col->index < master->n_marks && master->marks[col->index] == master->run;
}
