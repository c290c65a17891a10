/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Column generation: rounds of LP, pricing and bound. */
#include "solve/lp/relax_core.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_ROUNDS   2000
#define ROUND_COLS   30
#define COARSE_STEPS 100000

/* --- duals -------------------------------------------------------------------------------- */

static int64_t to_integer(const struct dw_relax_run *run, double dual, double sign)
{
    double most = 8 * DW_PRICES_FACTOR;
    if (!(dual * sign > 0) && sign != 0)
        return 0;
    dual = dual > most ? most : dual < -most ? -most : dual;
    return (int64_t)floor(dual * (double)run->master->unit * (double)run->prices.scale);
}

/* A dual of the wrong sign, be it by an error of rounding, would be counted times DW_NO_LIMIT. */
static int64_t count_dual(const struct dw_relax_run *run, size_t c)
{
    const struct dw_relax *relax = run->relax;
    const bool least = relax->lo[c] > 0 || relax->counts[c].kind == DW_COUNT_CUT;
    const bool most = relax->hi[c] != DW_NO_LIMIT;
    const double dual = dw_lp__row_dual(run->lp, run->first_count + c);
    if (!least && !most)
        return 0;
    return to_integer(run, dual, least && most ? 0 : least ? 1 : -1);
}

static void read_duals(struct dw_relax_run *run)
{
    const struct dw_problem *p = run->p;
    for (size_t i = 0; i < p->n_items; i++)
        run->prices.item[i] = to_integer(run, dw_lp__row_dual(run->lp, i),
                                         p->items[i].post              ? -1
                                         : dw_relax__exact_demand(run) ? 0
                                                                       : 1);
    for (size_t k = 0; k < p->n_stocks; k++)
        run->prices.stock[k] =
            run->stock_row[k] == SIZE_MAX
                ? 0
                : to_integer(run, dw_lp__row_dual(run->lp, run->stock_row[k]), -1);
    for (size_t c = 0; c < run->relax->n_counts; c++)
        run->prices.count[c] = count_dual(run, c);
}

/* sum y b + sum_k avail_k min(0, least reduced cost of k), times the scale. */
static dw_wide lagrangian(const struct dw_relax_run *run)
{
    const struct dw_relax *relax = run->relax;
    const struct dw_prices *prices = &run->prices;
    dw_wide sum = 0;
    for (size_t i = 0; i < run->p->n_items; i++)
        sum += (dw_wide)prices->item[i] * relax->demand[i];
    for (size_t k = 0; k < run->p->n_stocks; k++)
        sum +=
            ((dw_wide)prices->stock[k] - (run->most[k] > 0 ? run->most[k] : 0)) * relax->avail[k];
    for (size_t c = 0; c < relax->n_counts; c++)
        sum += (dw_wide)prices->count[c] * (prices->count[c] > 0 ? relax->lo[c] : relax->hi[c]);
    return sum;
}

/* --- pricing ------------------------------------------------------------------------------ */

static bool note(struct dw_relax_run *run, int64_t value, size_t stock, size_t lead)
{
    if (!dw_array__grow(&run->found, &run->found_capacity, run->n_found + 1, sizeof *run->found))
        return false;
    run->found[run->n_found++] = (struct dw_relax_candidate){value, stock, lead};
    return true;
}

static int compare_candidates(const void *a, const void *b)
{
    const struct dw_relax_candidate *x = a, *y = b;
    if (x->value != y->value)
        return x->value > y->value ? -1 : 1;
    if (x->stock != y->stock)
        return x->stock < y->stock ? -1 : 1;
    return (x->lead > y->lead) - (x->lead < y->lead);
}

static bool keep_best(void *user, const struct dw_col *draft, int64_t value, int64_t *least)
{
    struct dw_relax_run *run = user;
    run->emitted = dw_pool__add(run->master->pool, draft);
    run->emitted_value = value;
    *least = value + 1;
    return run->emitted != NULL;
}

static bool keep_first(void *user, const struct dw_col *draft, int64_t value, int64_t *least)
{
    keep_best(user, draft, value, least);
    return false;
}

/* Coarse tables only bound: the best layout is found by branch and bound on exact lengths. */
static bool price_coarse(struct dw_relax_run *run, size_t k, int64_t tolerance)
{
    struct dw_pricer *pricer = run->master->pricer;
    int64_t best = dw_pricer__best(pricer, k);
    run->most[k] = best;
    if (best <= tolerance)
        return true;
    run->emitted = NULL;
    run->emitted_value = tolerance;
    enum dw_listing how = dw_pricer__list(pricer, k, tolerance + 1, COARSE_STEPS, keep_best, run);
    if (how == DW_LISTING_STOPPED)
        return false;
    if (how == DW_LISTING_ALL)
        run->most[k] = run->emitted_value;
    return !run->emitted || dw_relax__add_col(run, run->emitted);
}

static bool price_stock(struct dw_relax_run *run, size_t k, int64_t tolerance)
{
    struct dw_pricer *pricer = run->master->pricer;
    size_t n = dw_pricer__n_leads(pricer, k);
    for (size_t lead = 0; lead < n; lead++) {
        int64_t value = dw_pricer__best_lead(pricer, k, lead);
        if (value > run->most[k])
            run->most[k] = value;
        if (value > tolerance && !note(run, value, k, lead))
            return false;
    }
    return true;
}

/* The best of the noted leads, few a stock, become columns. */
static bool add_found(struct dw_relax_run *run)
{
    struct dw_pricer *pricer = run->master->pricer;
    size_t n_added = 0;
    if (run->n_found > 0)
        qsort(run->found, run->n_found, sizeof *run->found, compare_candidates);
    for (size_t f = 0; f < run->n_found && n_added < ROUND_COLS; f++) {
        const struct dw_relax_candidate *found = &run->found[f];
        size_t same = 0;
        for (size_t g = 0; g < f && same < 3; g++)
            same += run->found[g].stock == found->stock;
        if (same >= 3)
            continue;
        run->emitted = NULL;
        enum dw_listing how = dw_pricer__list_lead(pricer, found->stock, found->lead, found->value,
                                                   COARSE_STEPS, keep_first, run);
        if (how == DW_LISTING_STOPPED && !run->emitted)
            return false;
        if (run->emitted && !dw_relax__add_col(run, run->emitted))
            return false;
        n_added += run->emitted != NULL;
    }
    return true;
}

static bool price_tables(struct dw_relax_run *run, int64_t tolerance)
{
    const struct dw_problem *p = run->p;
    int64_t work = 0;
    for (size_t q = 0; q < p->n_kinds && !run->cut_short; q++) {
        enum dw_load how =
            dw_pricer__load(run->master->pricer, &run->prices, q, run->master->effort, &work);
        if (how == DW_LOAD_NO_MEMORY)
            return false;
        run->n_found = 0;
        run->cut_short = how == DW_LOAD_LATE;
        for (size_t k = 0; k < p->n_stocks && !run->cut_short; k++) {
            if (p->stocks[k].kind != q || run->relax->avail[k] == 0)
                continue;
            run->cut_short = dw_effort__spend(run->master->effort, 0);
            if (run->cut_short)
                break;
            if (!(p->kinds[q].coarse ? price_coarse(run, k, tolerance)
                                     : price_stock(run, k, tolerance)))
                return false;
        }
        if (!run->cut_short && !add_found(run))
            return false;
    }
    dw_effort__spend(run->master->effort, work / 1000);
    return true;
}

static bool price_list(struct dw_relax_run *run, int64_t tolerance)
{
    const struct dw_relax *relax = run->relax;
    struct dw_valuer *valuer = &run->master->valuer;
    if (!dw_valuer__load(valuer, run->p, &run->prices))
        return false;
    run->n_found = 0;
    for (size_t c = 0; c < relax->n_list; c++) {
        const struct dw_col *col = relax->list[c];
        if (relax->avail[col->stock] == 0)
            continue;
        int64_t value = dw_valuer__of(valuer, col);
        if (value > run->most[col->stock])
            run->most[col->stock] = value;
        if (value > tolerance && !note(run, value, c, 0))
            return false;
    }
    if (run->n_found > 0)
        qsort(run->found, run->n_found, sizeof *run->found, compare_candidates);
    for (size_t f = 0; f < run->n_found && f < 2 * ROUND_COLS; f++)
        if (!dw_relax__add_col(run, relax->list[run->found[f].stock]))
            return false;
    dw_effort__spend(run->master->effort, (int64_t)relax->n_list / 50);
    return true;
}

static bool price(struct dw_relax_run *run)
{
    int64_t tolerance =
        1 + (int64_t)((double)run->prices.scale * (double)run->master->unit * 1e-11);
    for (size_t k = 0; k < run->p->n_stocks; k++)
        run->most[k] = DW_NEVER;
    run->n_added = 0;
    return run->relax->list ? price_list(run, tolerance) : price_tables(run, tolerance);
}

/* --- the rounds --------------------------------------------------------------------------- */

static void copy_prices(const struct dw_relax_run *run)
{
    struct dw_prices *to = &run->out->prices;
    memcpy(to->item, run->prices.item, run->p->n_items * sizeof *to->item);
    memcpy(to->stock, run->prices.stock, run->p->n_stocks * sizeof *to->stock);
    memcpy(to->count, run->prices.count, run->relax->n_counts * sizeof *to->count);
    memcpy(run->out->most, run->most, run->p->n_stocks * sizeof *run->most);
}

static void note_bound(struct dw_relax_run *run, bool first)
{
    dw_wide numer = lagrangian(run);
    if (!first && numer <= run->out->numer)
        return;
    run->out->numer = numer;
    run->rounded = dw_relax__round(run->p->grid, numer, run->prices.scale, run->relax->base);
    run->out->bound = dw_ladder__up(&run->relax->ladder, run->rounded);
    copy_prices(run);
}

/* Whether artificial columns from `first` on are in the solution. */
static bool artificial_left(const struct dw_relax_run *run, size_t first)
{
    for (size_t j = first; j < run->n_artificial; j++)
        if (dw_lp__col_value(run->lp, j) > 1e-7)
            return true;
    return false;
}

/* Missing pieces are allowed where they are what is counted. */
static bool is_short(const struct dw_relax_run *run)
{
    return artificial_left(run, run->p->missing ? run->p->n_items : 0);
}

static void raise_artificial(struct dw_relax_run *run)
{
    run->factor *= 4;
    for (size_t j = 0; j < run->n_artificial; j++)
        dw_lp__col_cost(run->lp, j, dw_relax__artificial_cost(run, j));
}

/* Whether the money grid leaves no room between the bound and the LP's value. */
static bool settled(const struct dw_relax_run *run, double value)
{
    const struct dw_problem *p = run->p;
    double steps = ceil((value - 0.01) / (double)p->grid);
    return (double)run->rounded >= steps * (double)p->grid;
}

/* From a basis of another relaxation the dual simplex goes on, and no further than to the cutoff.
 */
static enum dw_lp_result solve_lp(struct dw_relax_run *run, bool dual)
{
    const struct dw_relax *relax = run->relax;
    enum dw_lp_result result = DW_LP_FAILED;
    if (dual) {
        double room = (double)(relax->cutoff - relax->base) + (double)run->p->grid;
        result = dw_lp__solve_up_to(run->lp, room / (double)run->master->unit);
    }
    return result == DW_LP_OPTIMAL || result == DW_LP_PASSED ? result
                                                             : dw_lp__solve(run->lp, false, 0);
}

/* One LP and one pricing. Answers whether to go on. */
static bool one_round(struct dw_relax_run *run, size_t round, dw_err *code)
{
    struct dw_relaxed *out = run->out;
    enum dw_lp_result result =
        solve_lp(run, round == 0 && run->relax->start && run->relax->start->n_status > 0);
    int64_t iterations = dw_lp__iterations(run->lp);
    bool stop = dw_effort__spend(run->master->effort,
                                 20 + (iterations - run->iterations) * (int64_t)run->n_rows / 10);
    run->iterations = iterations;
    if (result != DW_LP_OPTIMAL && result != DW_LP_PASSED)
        return false;
    read_duals(run);
    if (!price(run)) {
        *code = DW_ERR_NOMEM;
        return false;
    }
    if (run->cut_short) /* some layouts are not priced, so that nothing is known */
        return false;
    note_bound(run, round == 0);
    out->value = dw_lp__objective(run->lp) * (double)run->master->unit + (double)run->relax->base;
    out->short_of = is_short(run);
    out->status = out->bound >= run->relax->cutoff ? DW_RELAX_PRUNED : DW_RELAX_OPEN;
    if (out->status == DW_RELAX_PRUNED || stop)
        return false;
    if (result == DW_LP_PASSED)
        return true;
    bool converged = run->n_added == 0 || (!out->short_of && settled(run, out->value));
    if (!converged)
        return true;
    if (out->short_of && run->factor * 4 <= DW_PRICES_FACTOR) {
        raise_artificial(run);
        return true;
    }
    if (!out->short_of)
        out->status = DW_RELAX_OPTIMAL;
    return false;
}

/* --- what comes back ---------------------------------------------------------------------- */

static bool copy_support(struct dw_relax_run *run)
{
    struct dw_relaxed *out = run->out;
    out->support = calloc(run->n_cols + 1, sizeof *out->support);
    if (!out->support)
        return false;
    for (size_t j = 0; j < run->n_cols; j++) {
        double x = dw_lp__col_value(run->lp, run->n_artificial + j);
        if (x > 1e-9)
            out->support[out->n++] = (struct dw_support){run->cols[j], x};
    }
    return true;
}

/* Basic columns and those of small reduced cost, with the basis. Nothing after a fault. */
static bool copy_start(struct dw_relax_run *run)
{
    struct dw_start *start = &run->out->start;
    size_t n_all = run->n_rows + run->n_artificial + run->n_cols, n_kept = 0;
    if (dw_lp__n_rows(run->lp) != run->n_rows)
        return true;
    start->status = malloc(n_all + 1);
    start->cols = calloc(run->n_cols + 1, sizeof *start->cols);
    if (!start->status || !start->cols)
        return false;
    dw_lp__basis_get(run->lp, start->status);
    unsigned char *status = start->status + run->n_rows + run->n_artificial;
    double near = run->n_cols < 4 * run->n_rows + 100 ? 1e30 : 0.02;
    for (size_t j = 0; j < run->n_cols; j++) {
        if (status[j] != DW_BASIC && (dw_lp__col_dual(run->lp, run->n_artificial + j) > near ||
                                      !dw_relax__fits(run, run->cols[j])))
            continue;
        start->cols[n_kept] = run->cols[j];
        status[n_kept++] = status[j];
    }
    start->n_cols = n_kept;
    start->n_counts = run->relax->n_counts;
    start->factor = run->factor;
    start->n_status = run->n_rows + run->n_artificial + n_kept;
    return true;
}

dw_err dw_relax__solve(struct dw_master *master, const struct dw_relax *relax,
                       struct dw_relaxed *out, struct dw_error *error)
{
    struct dw_relax_run run = {.master = master, .p = master->problem, .relax = relax, .out = out};
    dw_err code = DW_OK;
    *out = (struct dw_relaxed){.status = DW_RELAX_OPEN, .bound = INT64_MIN / 2};
    master->run++;
    run.factor = relax->start && relax->start->factor > 0 ? relax->start->factor : 2;
    run.most = calloc(run.p->n_stocks + 1, sizeof *run.most);
    out->most = calloc(run.p->n_stocks + 1, sizeof *out->most);
    run.stock_row = calloc(run.p->n_stocks + 1, sizeof *run.stock_row);
    bool ok = run.most && out->most && run.stock_row &&
              dw_prices__make(master, relax, &run.prices) &&
              dw_prices__make(master, relax, &out->prices) && dw_relax__build(&run);
    for (size_t round = 0; ok && round < MAX_ROUNDS && one_round(&run, round, &code); round++)
        continue;
    if (master->env->dead)
        ok = run.prices.item && run.prices.stock && run.prices.count && code == DW_OK;
    else
        ok = ok && code == DW_OK && copy_support(&run) && copy_start(&run);
    dw_lp__free(run.lp);
    free(run.most);
    free(run.stock_row);
    dw_prices__free(&run.prices);
    free(run.cols);
    free(run.found);
    free(run.scratch_rows);
    free(run.scratch_values);
    return ok ? DW_OK : dw_error__nomem(error);
}
