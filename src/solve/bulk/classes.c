/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Column generation (Gilmore, Gomory 1961) over classes of lengths, in table cells of g length
 * units. Demands are so large that a layout is not bounded by them: the one-bar subproblem is the
 * unbounded knapsack
 *
 *   F(w) = max(v(w), max over c with s_c <= w of F(w - s_c) + pi_c),   one table for all bars,
 *
 * v(w) being what w cells left earn.
 */
#include "solve/bulk/classes.h"

#include <stdlib.h>
#include <string.h>

__extension__ typedef __int128 wide;

#define ROUND_COLUMNS 24
#define MAX_ROUNDS    400
#define ENOUGH        2e-5 /* relative: dual violation that no longer matters */

/* --- cells -------------------------------------------------------------------------------- */

/* Length of a cell: the longest bar has DW_BULK_CELLS of them. */
static int64_t cell_of(const struct dw_bulk *problem)
{
    int64_t longest = 0;
    for (size_t k = 0; k < problem->n_stocks; k++)
        if (problem->stocks[k].capacity > longest)
            longest = problem->stocks[k].capacity;
    return dw_ceil__div(longest, DW_BULK_CELLS);
}

/* lost[u]: how much longer than u cells the pieces can be whose rounded-down lengths come to u
 * cells or fewer, at most. Cost: O(m n_cells). */
static void most_lost(const struct dw_bulk_master *master, const struct dw_bulk_classes *classes,
                      int64_t g, int64_t *lost)
{
    for (int64_t u = 0; u <= master->n_cells; u++)
        lost[u] = 0;
    for (size_t c = 0; c < master->m; c++) {
        int64_t s = master->cells[c];
        int64_t more = master->problem->size[classes->first[c]] - s * g;
        if (s == 0)
            lost[0] = INT64_MAX / 2; /* any number of them */
        for (int64_t u = s; s > 0 && u <= master->n_cells; u++)
            if (lost[u - s] + more > lost[u])
                lost[u] = lost[u - s] + more;
    }
    for (int64_t u = 1; u <= master->n_cells; u++)
        if (lost[u - 1] > lost[u])
            lost[u] = lost[u - 1];
}

/* What is left may be less than w + 1 cells, or nothing if that much can be lost by rounding. */
static void set_most_credit(struct dw_bulk_master *master, const struct dw_bulk_classes *classes,
                            int64_t g, int64_t *lost)
{
    const struct dw_bulk *problem = master->problem;
    most_lost(master, classes, g, lost);
    for (int64_t w = 0; w <= master->n_cells; w++) {
        int64_t credit = dw_bulk__worth(problem, (w + 1) * g - 1);
        int64_t none = dw_bulk__credit(problem, 0);
        bool filled = w * g <= lost[master->n_cells - w];
        master->credit[w] = filled && none > credit ? none : credit;
    }
}

/* Down: floor of the shortest of the class, a relaxation. Up: ceiling of the longest, so that what
 * fits in cells fits in length, and at least w cells are left. */
static dw_err set_cells(struct dw_bulk_master *master, const struct dw_bulk_classes *classes,
                        bool up)
{
    const struct dw_bulk *problem = master->problem;
    int64_t g = cell_of(problem);
    for (size_t k = 0; k < problem->n_stocks; k++) {
        master->room[k] = problem->stocks[k].capacity / g;
        if (master->room[k] > master->n_cells)
            master->n_cells = master->room[k];
    }
    for (size_t c = 0; c < classes->n; c++)
        master->cells[c] = up ? dw_ceil__div(problem->size[classes->first[c]], g)
                              : problem->size[classes->first[c + 1] - 1] / g;
    for (int64_t w = 0; up && w <= master->n_cells; w++)
        master->credit[w] = dw_bulk__worth(problem, w * g);
    if (up)
        return DW_OK;
    int64_t *lost = calloc((size_t)master->n_cells + 1, sizeof *lost);
    if (!lost)
        return DW_ERR_NOMEM;
    set_most_credit(master, classes, g, lost);
    free(lost);
    return DW_OK;
}

/* --- pricing ------------------------------------------------------------------------------ */

/* to[w] = max(to[w], from[w] + pi), in fours that go into vector registers. */
static void raise_run(double *restrict to, const double *restrict from, double pi, int64_t n)
{
    int64_t w = 0;
    for (; w + 4 <= n; w += 4)
        for (int i = 0; i < 4; i++) {
            double with = from[w + i] + pi;
            to[w + i] = with > to[w + i] ? with : to[w + i];
        }
    for (; w < n; w++) {
        double with = from[w] + pi;
        to[w] = with > to[w] ? with : to[w];
    }
}

/* One pass a class, in runs no longer than the class, within which no cell feeds another.
 * Cost: O(m n_cells). */
static void fill_table(struct dw_bulk_master *master)
{
    double *table = master->table;
    int64_t n = master->n_cells + 1;
    for (int64_t w = 0; w < n; w++)
        table[w] = (double)master->credit[w] / master->unit;
    for (size_t c = 0; c < master->m; c++) {
        int64_t s = master->cells[c];
        if (s == 0 || master->pi[c] <= 0)
            continue;
        for (int64_t w = s; w < n; w += s)
            raise_run(table + w, table + w - s, master->pi[c], s < n - w ? s : n - w);
    }
    dw_effort__spend(master->effort, (int64_t)master->m * master->n_cells / 1000);
}

/* Reads a layout of value F(w) back from the table into count. Cost: O(pieces m). */
static void trace(struct dw_bulk_master *master, int64_t w, int64_t *count)
{
    bool moved = true;
    while (moved) {
        moved = false;
        for (size_t c = 0; c < master->m && !moved; c++) {
            int64_t s = master->cells[c];
            if (s == 0 || s > w || master->pi[c] <= 0)
                continue;
            if (master->table[w - s] + master->pi[c] >= master->table[w]) {
                count[c]++;
                w -= s;
                moved = true;
            }
        }
    }
}

static dw_err add_column(struct dw_bulk_master *master, size_t stock, const int64_t *count)
{
    size_t n = 0;
    int64_t left = master->room[stock];
    for (size_t c = 0; c < master->m; c++) {
        n += count[c] > 0;
        left -= count[c] * master->cells[c];
    }
    struct dw_type_count *items = dw_arena__alloc(master->arena, n, sizeof *items);
    size_t *rows = malloc((n + 1) * sizeof *rows);
    double *values = malloc((n + 1) * sizeof *values);
    dw_err err = DW_ERR_NOMEM;
    if (items && rows && values &&
        dw_array__grow(&master->columns, &master->capacity, master->n_columns + 1,
                       sizeof *master->columns)) {
        size_t j = 0;
        for (size_t c = 0; c < master->m; c++)
            if (count[c] > 0) {
                items[j] = (struct dw_type_count){.type = c, .count = count[c]};
                rows[j] = c;
                values[j++] = (double)count[c];
            }
        if (master->supply_row[stock] != SIZE_MAX) {
            rows[j] = master->supply_row[stock];
            values[j++] = 1;
        }
        double cost =
            (double)(master->problem->stocks[stock].cost - master->credit[left]) / master->unit;
        master->columns[master->n_columns++] =
            (struct dw_bulk_column){.stock = stock, .n = n, .items = items};
        if (dw_lp__add_col(master->lp, cost, 0, DW_LP_INF, j, rows, values) != SIZE_MAX)
            err = DW_OK;
    }
    free(rows);
    free(values);
    return err;
}

struct candidate {
    double value; /* negative reduced cost */
    size_t stock;
    size_t class_; /* forced once; m = none */
};

static int by_value(const void *a, const void *b)
{
    const struct candidate *x = a, *y = b;
    if (x->value != y->value)
        return x->value < y->value ? 1 : -1;
    return x->class_ < y->class_ ? -1 : x->class_ > y->class_;
}

static double bar_price(const struct dw_bulk_master *master, size_t k)
{
    return (double)master->problem->stocks[k].cost / master->unit + master->mu[k];
}

/* The best layout that holds class c, over all stocks. */
static struct candidate best_with(const struct dw_bulk_master *master, size_t c)
{
    struct candidate best = {.value = -DW_LP_INF, .class_ = c};
    for (size_t k = 0; k < master->problem->n_stocks; k++) {
        int64_t s = master->cells[c];
        if (s == 0 || s > master->room[k])
            continue;
        double value = master->pi[c] + master->table[master->room[k] - s] - bar_price(master, k);
        if (value > best.value) {
            best.value = value;
            best.stock = k;
        }
    }
    return best;
}

/* Adds the ROUND_COLUMNS best of "the best layout with class c". *n_added 0: none improves. */
static dw_err price(struct dw_bulk_master *master, struct candidate *candidates, int64_t *count,
                    size_t *n_added)
{
    *n_added = 0;
    for (size_t c = 0; c < master->m; c++)
        candidates[c] = best_with(master, c);
    qsort(candidates, master->m, sizeof *candidates, by_value);
    for (size_t j = 0; j < master->m && *n_added < ROUND_COLUMNS; j++) {
        if (candidates[j].value < 1e-9)
            break;
        if (j > 0 && candidates[j].value == candidates[j - 1].value &&
            candidates[j].stock == candidates[j - 1].stock)
            continue; /* most likely the same layout, found from another of its classes */
        memset(count, 0, master->m * sizeof *count);
        size_t c = candidates[j].class_;
        count[c] = 1;
        trace(master, master->room[candidates[j].stock] - master->cells[c], count);
        dw_err err = add_column(master, candidates[j].stock, count);
        if (err != DW_OK)
            return err;
        ++*n_added;
    }
    return DW_OK;
}

/* --- master ------------------------------------------------------------------------------- */

void dw_bulk__master_free(struct dw_bulk_master *master)
{
    dw_lp__free(master->lp);
    dw_arena__free(master->arena);
    free(master->cells);
    free(master->credit);
    free(master->room);
    free(master->pi);
    free(master->mu);
    free(master->table);
    free(master->supply_row);
    free(master->columns);
}

static dw_err master_alloc(struct dw_bulk_master *master, struct dw_lp_env *env)
{
    size_t m = master->m, k = master->problem->n_stocks;
    master->lp = dw_lp__new(env);
    master->arena = dw_arena__new();
    master->cells = calloc(m + 1, sizeof *master->cells);
    master->credit = calloc(DW_BULK_CELLS + 2, sizeof *master->credit);
    master->room = calloc(k + 1, sizeof *master->room);
    master->pi = calloc(m + 1, sizeof *master->pi);
    master->mu = calloc(k + 1, sizeof *master->mu);
    master->table = calloc(DW_BULK_CELLS + 2, sizeof *master->table);
    master->supply_row = calloc(k + 1, sizeof *master->supply_row);
    return master->lp && master->arena && master->cells && master->credit && master->room &&
                   master->pi && master->mu && master->table && master->supply_row
               ? DW_OK
               : DW_ERR_NOMEM;
}

/* Rows, an artificial column a class that stays in only where limited bars run out, and for each
 * class the layout that holds nothing else, from the bar that is cheapest for it. */
static dw_err master_start(struct dw_bulk_master *master)
{
    const struct dw_bulk *problem = master->problem;
    for (size_t k = 0; k < problem->n_stocks; k++)
        if ((double)problem->stocks[k].cost > master->unit)
            master->unit = (double)problem->stocks[k].cost;
    for (size_t c = 0; c < master->m; c++)
        if (dw_lp__add_row(master->lp, (double)master->demand[c], DW_LP_INF) == SIZE_MAX)
            return DW_ERR_SOLVER;
    for (size_t k = 0; k < problem->n_stocks; k++) {
        master->supply_row[k] = SIZE_MAX;
        if (problem->stocks[k].count >= 0)
            master->supply_row[k] =
                dw_lp__add_row(master->lp, -DW_LP_INF, (double)problem->stocks[k].count);
    }
    for (size_t c = 0; c < master->m; c++) {
        double one = 1;
        if (dw_lp__add_col(master->lp, 4, 0, DW_LP_INF, 1, &c, &one) == SIZE_MAX)
            return DW_ERR_SOLVER;
    }
    return DW_OK;
}

static dw_err add_pure_columns(struct dw_bulk_master *master, int64_t *count)
{
    const struct dw_bulk *problem = master->problem;
    for (size_t c = 0; c < master->m; c++) {
        size_t best = problem->n_stocks;
        double best_cost = 0;
        for (size_t k = 0; k < problem->n_stocks; k++) {
            if (master->cells[c] == 0 || master->cells[c] > master->room[k])
                continue;
            int64_t fit = master->room[k] / master->cells[c];
            double cost = (double)problem->stocks[k].cost / (double)fit;
            if (best == problem->n_stocks || cost < best_cost) {
                best = k;
                best_cost = cost;
            }
        }
        if (best == problem->n_stocks)
            continue;
        memset(count, 0, master->m * sizeof *count);
        count[c] = master->room[best] / master->cells[c];
        dw_err err = add_column(master, best, count);
        if (err != DW_OK)
            return err;
    }
    return DW_OK;
}

static void read_duals(struct dw_bulk_master *master)
{
    for (size_t c = 0; c < master->m; c++) {
        double pi = dw_lp__row_dual(master->lp, c);
        master->pi[c] = pi > 0 ? pi : 0;
    }
    for (size_t k = 0; k < master->problem->n_stocks; k++) {
        double mu = master->supply_row[k] == SIZE_MAX
                        ? 0
                        : -dw_lp__row_dual(master->lp, master->supply_row[k]);
        master->mu[k] = mu > 0 ? mu : 0;
    }
}

/* max over k of F(room_k) / price_k: how far the duals are from feasible (Farley 1990). */
static double violation(const struct dw_bulk_master *master)
{
    double worst = 1;
    for (size_t k = 0; k < master->problem->n_stocks; k++) {
        double value = master->table[master->room[k]], cost = bar_price(master, k);
        if (cost > 0 && value / cost > worst)
            worst = value / cost;
    }
    return worst;
}

/* Rounds of LP and pricing until nothing improves, the rest no longer matters, or work ends. */
static dw_err generate(struct dw_bulk_master *master, struct candidate *candidates, int64_t *count)
{
    dw_err err = add_pure_columns(master, count);
    for (int round = 0; err == DW_OK && round < MAX_ROUNDS && !dw_effort__stop(master->effort);
         round++) {
        int64_t before = dw_lp__iterations(master->lp);
        if (dw_lp__solve(master->lp, false, 0) != DW_LP_OPTIMAL)
            break;
        dw_effort__spend(master->effort,
                         (dw_lp__iterations(master->lp) - before) * ((int64_t)master->m / 4 + 1));
        read_duals(master);
        fill_table(master);
        if (violation(master) < 1 + ENOUGH)
            break;
        size_t n_added;
        err = price(master, candidates, count, &n_added);
        if (n_added == 0)
            break;
    }
    return err;
}

dw_err dw_bulk__master_solve(struct dw_bulk_master *master, const struct dw_bulk_classes *classes,
                             bool up, struct dw_lp_env *env)
{
    master->m = classes->n;
    master->demand = classes->demand;
    master->unit = 1;
    dw_err err = master_alloc(master, env);
    if (err != DW_OK)
        return err;
    err = set_cells(master, classes, up);
    if (err == DW_OK)
        err = master_start(master);
    struct candidate *candidates = calloc(master->m + 1, sizeof *candidates);
    int64_t *count = calloc(master->m + 1, sizeof *count);
    if (!candidates || !count)
        err = DW_ERR_NOMEM;
    if (err == DW_OK)
        err = generate(master, candidates, count);
    free(candidates);
    free(count);
    return env->dead ? DW_ERR_SOLVER : err;
}
