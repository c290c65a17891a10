/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What some bars leave to the others, made a problem of its own. */
#include "solve/plans/residual.h"

#include <stdlib.h>
#include <string.h>

bool dw_residual__make(struct dw_residual *residual, struct dw_master *master,
                       const struct dw_relax *root, dw_finish *finish)
{
    const struct dw_problem *p = master->problem;
    *residual =
        (struct dw_residual){.master = master, .finish = finish, .p = p, .sub = *p, .relax = *root};
    residual->items = calloc(p->n_items + 1, sizeof *residual->items);
    residual->stocks = calloc(p->n_stocks + 1, sizeof *residual->stocks);
    residual->demand = calloc(p->n_items + 1, sizeof *residual->demand);
    residual->avail = calloc(p->n_stocks + 1, sizeof *residual->avail);
    residual->scratch = calloc(p->n_items + p->n_stocks + 1, sizeof *residual->scratch);
    if (!residual->items || !residual->stocks || !residual->demand || !residual->avail ||
        !residual->scratch)
        return false;
    memcpy(residual->items, p->items, p->n_items * sizeof *residual->items);
    memcpy(residual->stocks, p->stocks, p->n_stocks * sizeof *residual->stocks);
    residual->sub.items = residual->items;
    residual->sub.stocks = residual->stocks;
    residual->relax.base = 0;
    residual->relax.demand = residual->demand;
    residual->relax.avail = residual->avail;
    return true;
}

void dw_residual__unmake(struct dw_residual *residual)
{
    free(residual->items);
    free(residual->stocks);
    free(residual->demand);
    free(residual->avail);
    free(residual->scratch);
}

/* false: the bars that stay take more than there is. */
static bool cut_out(struct dw_residual *residual, const struct dw_solution *stay)
{
    const struct dw_problem *p = residual->p;
    int64_t kept = 0;
    bool fits = true;
    for (size_t i = 0; i < p->n_items; i++)
        residual->demand[i] = p->items[i].count;
    for (size_t k = 0; k < p->n_stocks; k++)
        residual->avail[k] = p->stocks[k].count;
    for (size_t u = 0; u < stay->n; u++) {
        const struct dw_use_col *use = &stay->uses[u];
        for (size_t i = 0; i < use->col->n; i++)
            residual->demand[use->col->entries[i].item] -= use->col->entries[i].count * use->count;
        residual->avail[use->col->stock] -= use->count;
        kept += use->col->kept ? use->count : 0;
    }
    residual->sub.n_pieces = 0;
    for (size_t i = 0; i < p->n_items; i++) {
        residual->demand[i] = residual->demand[i] > 0 ? residual->demand[i] : 0;
        residual->items[i].count = residual->demand[i];
        residual->sub.n_pieces += residual->demand[i];
    }
    for (size_t k = 0; k < p->n_stocks; k++) {
        fits = fits && residual->avail[k] >= 0;
        if (!p->stocks[k].limited && residual->avail[k] > residual->sub.n_pieces)
            residual->avail[k] = residual->sub.n_pieces;
        residual->stocks[k].count = residual->avail[k];
    }
    residual->sub.max_kept = p->max_kept == DW_UNLIMITED ? DW_UNLIMITED : p->max_kept - kept;
    return fits && (p->max_kept == DW_UNLIMITED || kept <= p->max_kept);
}

/* *part->money: only plans of less matter. */
static dw_err plan_part(struct dw_residual *residual, const struct dw_start *start,
                        struct dw_solution *part, struct dw_error *error)
{
    struct dw_relaxed solved = {0};
    residual->relax.start = start;
    residual->relax.cutoff = part->money;
    residual->master->problem = &residual->sub;
    dw_err code = dw_relax__solve(residual->master, &residual->relax, &solved, error);
    if (code == DW_OK && solved.bound < part->money && solved.status == DW_RELAX_OPTIMAL)
        code = residual->finish(residual->master, &residual->relax, &solved, part, error);
    residual->master->problem = residual->p;
    dw_relaxed__free(&solved);
    return code;
}

/* The part put to the bars that stay. */
static bool put_together(struct dw_residual *residual, const struct dw_solution *stay,
                         const struct dw_solution *part, const char *method,
                         struct dw_solution *best, bool *better)
{
    struct dw_solution plan = {0};
    bool ok = dw_solution__copy(&plan, stay);
    plan.method = method;
    for (size_t u = 0; ok && u < part->n; u++)
        ok = dw_solution__add(&plan, part->uses[u].col, part->uses[u].count);
    if (ok && dw_solution__settle(residual->p, &plan, residual->scratch) &&
        plan.money <= best->money) {
        *better = plan.money < best->money;
        ok = dw_solution__copy(best, &plan);
    }
    dw_solution__free(&plan);
    return ok;
}

dw_err dw_residual__solve(struct dw_residual *residual, const struct dw_solution *stay,
                          const struct dw_col **cols, size_t n_cols, bool sideways,
                          const char *method, struct dw_solution *best, bool *better,
                          struct dw_error *error)
{
    struct dw_solution settled = {0}, part = {0};
    const struct dw_start start = {.n_cols = n_cols, .cols = cols};
    dw_err code = DW_OK;
    *better = false;
    if (!dw_solution__copy(&settled, stay))
        code = dw_error__nomem(error);
    if (code == DW_OK && cut_out(residual, stay)) {
        dw_solution__settle(residual->p, &settled, residual->scratch);
        part.money = best->money - settled.money + (sideways ? residual->p->grid : 0);
        code = plan_part(residual, &start, &part, error);
        if (code == DW_OK && part.n > 0 &&
            !put_together(residual, stay, &part, method, best, better))
            code = dw_error__nomem(error);
    }
    dw_solution__free(&settled);
    dw_solution__free(&part);
    return code;
}
