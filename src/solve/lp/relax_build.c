/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The LP of a relaxation: its rows, its columns, its basis. */
#include "solve/lp/relax_core.h"

#include <stdlib.h>
#include <string.h>

bool dw_relax__exact_demand(const struct dw_relax_run *run)
{
    return run->p->equal || run->relax->equal || run->relax->list;
}

static bool make_rows(struct dw_relax_run *run)
{
    const struct dw_problem *p = run->p;
    const struct dw_relax *relax = run->relax;
    bool ok = true;
    for (size_t i = 0; i < p->n_items; i++) {
        double demand = (double)relax->demand[i];
        bool post = p->items[i].post;
        double most = post || dw_relax__exact_demand(run) ? demand : DW_LP_INF;
        if (dw_lp__add_row(run->lp, post ? -DW_LP_INF : demand, most) == SIZE_MAX)
            ok = false;
    }
    run->n_rows = p->n_items;
    for (size_t k = 0; k < p->n_stocks; k++) {
        run->stock_row[k] = SIZE_MAX;
        if (!p->stocks[k].limited)
            continue;
        run->stock_row[k] = run->n_rows++;
        ok = dw_lp__add_row(run->lp, -DW_LP_INF, (double)relax->avail[k]) != SIZE_MAX && ok;
    }
    run->first_count = run->n_rows;
    for (size_t c = 0; c < relax->n_counts; c++, run->n_rows++)
        ok = dw_lp__add_row(run->lp, (double)relax->lo[c],
                            relax->hi[c] == DW_NO_LIMIT ? DW_LP_INF : (double)relax->hi[c]) !=
                 SIZE_MAX &&
             ok;
    return ok;
}

double dw_relax__artificial_cost(const struct dw_relax_run *run, size_t column)
{
    const struct dw_problem *p = run->p;
    if (column >= p->n_items)
        return 4 * run->factor;
    if (p->missing)
        return (double)p->items[column].weight / (double)run->master->unit;
    double cap = 1;
    for (size_t q = 0; q < p->n_kinds; q++)
        cap = (double)p->kinds[q].max_cap > cap ? (double)p->kinds[q].max_cap : cap;
    return run->factor * ((double)p->items[column].size / cap + 0.02);
}

static bool make_artificial(struct dw_relax_run *run)
{
    const struct dw_problem *p = run->p;
    bool ok = true;
    run->n_artificial = p->n_items + run->relax->n_counts;
    for (size_t j = 0; j < run->n_artificial; j++) {
        size_t row = j < p->n_items ? j : run->first_count + (j - p->n_items);
        double most = j < p->n_items && p->items[j].post ? 0 : DW_LP_INF;
        ok = dw_lp__add_col(run->lp, dw_relax__artificial_cost(run, j), 0, most, 1, &row,
                            &(double){1}) != SIZE_MAX &&
             ok;
    }
    return ok;
}

/* `most`: its upper bound. */
static bool add_col_up_to(struct dw_relax_run *run, const struct dw_col *col, double most)
{
    const struct dw_relax *relax = run->relax;
    size_t n = 0;
    if (dw_master__marked(run->master, col))
        return true;
    for (size_t i = 0; i < col->n; i++) {
        run->scratch_rows[n] = col->entries[i].item;
        run->scratch_values[n++] = (double)col->entries[i].count;
    }
    if (run->stock_row[col->stock] != SIZE_MAX) {
        run->scratch_rows[n] = run->stock_row[col->stock];
        run->scratch_values[n++] = 1;
    }
    for (size_t c = 0; c < relax->n_counts; c++) {
        int64_t coefficient = dw_bar_count__of(run->p, &relax->counts[c], col);
        if (coefficient == 0)
            continue;
        run->scratch_rows[n] = run->first_count + c;
        run->scratch_values[n++] = (double)coefficient;
    }
    double cost = (double)(relax->bar[col->stock] + col->money) / (double)run->master->unit;
    if (!dw_master__mark(run->master, col) ||
        !dw_array__grow(&run->cols, &run->col_capacity, run->n_cols + 1, sizeof *run->cols) ||
        dw_lp__add_col(run->lp, cost, 0, most, n, run->scratch_rows, run->scratch_values) ==
            SIZE_MAX)
        return false;
    run->cols[run->n_cols++] = col;
    run->n_added++;
    return true;
}

bool dw_relax__add_col(struct dw_relax_run *run, const struct dw_col *col)
{
    return add_col_up_to(run, col, DW_LP_INF);
}

bool dw_relax__fits(const struct dw_relax_run *run, const struct dw_col *col)
{
    const struct dw_relax *relax = run->relax;
    if (relax->avail[col->stock] <= 0)
        return false;
    for (size_t i = 0; i < col->n; i++) {
        size_t item = col->entries[i].item;
        if (relax->demand[item] <= 0 || dw_col__tail_count(run->p, col, item) > relax->demand[item])
            return false;
    }
    return true;
}

/* Puts the starting basis back; what was added since is basic (rows) or at zero (columns). */
static bool restore_basis(struct dw_relax_run *run, const struct dw_start *start)
{
    size_t n_old = start->n_counts, n_new = run->relax->n_counts;
    size_t n_items = run->p->n_items, n_cols = run->n_artificial + run->n_cols;
    if (start->n_status != run->first_count + n_items + 2 * n_old + start->n_cols ||
        start->n_cols != run->n_cols || n_new < n_old)
        return true;
    unsigned char *status = malloc(run->n_rows + n_cols + 1);
    if (!status)
        return false;
    memset(status, DW_BASIC, run->n_rows);
    memset(status + run->n_rows, DW_AT_LOWER, n_cols);
    const unsigned char *from = start->status;
    memcpy(status, from, run->first_count + n_old);
    from += run->first_count + n_old;
    memcpy(status + run->n_rows, from, n_items + n_old);
    from += n_items + n_old;
    memcpy(status + run->n_rows + run->n_artificial, from, start->n_cols);
    dw_lp__basis_set(run->lp, status, run->n_rows, n_cols);
    free(status);
    return true;
}

/* A column that does not fit is there for the basis alone. */
static bool add_start(struct dw_relax_run *run, const struct dw_col *col)
{
    if (dw_relax__fits(run, col))
        return dw_relax__add_col(run, col);
    return run->relax->start->n_status == 0 || add_col_up_to(run, col, 0);
}

bool dw_relax__build(struct dw_relax_run *run)
{
    const struct dw_problem *p = run->p;
    const struct dw_start *start = run->relax->start;
    run->lp = dw_lp__new(run->master->env);
    if (!run->lp || !make_rows(run) || !make_artificial(run))
        return false;
    size_t most = p->n_items + run->relax->n_counts + 2;
    run->scratch_rows = calloc(most, sizeof *run->scratch_rows);
    run->scratch_values = calloc(most, sizeof *run->scratch_values);
    if (!run->scratch_rows || !run->scratch_values)
        return false;
    for (size_t i = 0; start && i < start->n_cols; i++)
        if (!add_start(run, start->cols[i]))
            return false;
    return !start || restore_basis(run, start);
}
