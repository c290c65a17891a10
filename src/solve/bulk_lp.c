/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Column generation (Gilmore, Gomory 1961) over classes of lengths, in table cells of g length
 * units. Demands are so large that a layout is not bounded by them: the one-bar subproblem is the
 * unbounded knapsack
 *
 *   F(w) = max(F(w - 1), max over c with s_c <= w of F(w - s_c) + pi_c),   one table for all bars.
 */
#include "solve/bulk.h"

#include <stdlib.h>
#include <string.h>

__extension__ typedef __int128 wide;

#define ROUND_COLUMNS 24
#define MAX_ROUNDS    400
#define ENOUGH        2e-5 /* relative: dual violation that no longer matters */

struct column {
    size_t stock;
    size_t n;
    const struct dw_csp_item *items; /* type = class */
};

struct master {
    const struct dw_bulk *problem;
    size_t m;
    const int64_t *demand; /* length m, of the classes */
    int64_t *cells;        /* length m: length of a class in cells; 0 = too short to count */
    int64_t *room;         /* length n_stocks: capacity in cells */
    int64_t n_cells;       /* largest room */
    double unit;           /* costs are divided by it */
    double *pi;            /* length m */
    double *mu;            /* length n_stocks: price of a limited bar, >= 0 */
    double *table;         /* length n_cells + 1 */
    struct dw_lp *lp;
    size_t *supply_row; /* length n_stocks; SIZE_MAX = unlimited */
    struct dw_arena *arena;
    struct column *columns; /* heap; column j of the LP */
    size_t n_columns;
    size_t capacity;
    int64_t *work;
};

/* --- cells -------------------------------------------------------------------------------- */

/* Down: floor of the shortest of the class, a relaxation. Up: ceiling of the longest, so that what
 * fits in cells fits in length. */
static void set_cells(struct master *master, const struct dw_bulk_classes *classes, bool up)
{
    const struct dw_bulk *problem = master->problem;
    int64_t longest = 0;
    for (size_t k = 0; k < problem->n_stocks; k++)
        if (problem->stocks[k].capacity > longest)
            longest = problem->stocks[k].capacity;
    int64_t g = dw_ceil__div(longest, DW_BULK_CELLS);
    for (size_t k = 0; k < problem->n_stocks; k++)
        master->room[k] = problem->stocks[k].capacity / g;
    master->n_cells = longest / g;
    for (size_t c = 0; c < classes->n; c++)
        master->cells[c] = up ? dw_ceil__div(problem->size[classes->first[c]], g)
                              : problem->size[classes->first[c + 1] - 1] / g;
}

/* --- pricing ------------------------------------------------------------------------------ */

/* One pass a class, in runs no longer than the class, within which no cell feeds another.
 * Cost: O(m n_cells). */
static void fill_table(struct master *master)
{
    double *table = master->table;
    for (int64_t w = 0; w <= master->n_cells; w++)
        table[w] = 0;
    for (size_t c = 0; c < master->m; c++) {
        int64_t s = master->cells[c];
        double pi = master->pi[c];
        if (s == 0 || pi <= 0)
            continue;
        for (int64_t w = s; w <= master->n_cells; w++) {
            double with = table[w - s] + pi;
            table[w] = with > table[w] ? with : table[w];
        }
    }
    *master->work += (int64_t)master->m * master->n_cells / 1000;
}

/* Reads a layout of value F(w) back from the table into count. Cost: O(pieces m). */
static void trace(struct master *master, int64_t w, int64_t *count)
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

static dw_err add_column(struct master *master, size_t stock, const int64_t *count)
{
    size_t n = 0;
    for (size_t c = 0; c < master->m; c++)
        n += count[c] > 0;
    struct dw_csp_item *items = dw_arena__alloc(master->arena, n, sizeof *items);
    size_t *rows = malloc((n + 1) * sizeof *rows);
    double *values = malloc((n + 1) * sizeof *values);
    dw_err err = DW_ERR_NOMEM;
    if (items && rows && values &&
        dw_array__grow(&master->columns, &master->capacity, master->n_columns + 1,
                       sizeof *master->columns)) {
        size_t j = 0;
        for (size_t c = 0; c < master->m; c++)
            if (count[c] > 0) {
                items[j] = (struct dw_csp_item){.type = c, .count = count[c]};
                rows[j] = c;
                values[j++] = (double)count[c];
            }
        if (master->supply_row[stock] != SIZE_MAX) {
            rows[j] = master->supply_row[stock];
            values[j++] = 1;
        }
        double cost = (double)master->problem->stocks[stock].cost / master->unit;
        master->columns[master->n_columns++] =
            (struct column){.stock = stock, .n = n, .items = items};
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

static double bar_price(const struct master *master, size_t k)
{
    return (double)master->problem->stocks[k].cost / master->unit + master->mu[k];
}

/* The best layout that holds class c, over all stocks. */
static struct candidate best_with(const struct master *master, size_t c)
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
static dw_err price(struct master *master, struct candidate *candidates, int64_t *count,
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

static void master_free(struct master *master)
{
    dw_lp__free(master->lp);
    dw_arena__free(master->arena);
    free(master->cells);
    free(master->room);
    free(master->pi);
    free(master->mu);
    free(master->table);
    free(master->supply_row);
    free(master->columns);
}

static dw_err master_alloc(struct master *master, struct dw_lp_env *env)
{
    size_t m = master->m, k = master->problem->n_stocks;
    master->lp = dw_lp__new(env);
    master->arena = dw_arena__new();
    master->cells = calloc(m + 1, sizeof *master->cells);
    master->room = calloc(k + 1, sizeof *master->room);
    master->pi = calloc(m + 1, sizeof *master->pi);
    master->mu = calloc(k + 1, sizeof *master->mu);
    master->table = calloc(DW_BULK_CELLS + 2, sizeof *master->table);
    master->supply_row = calloc(k + 1, sizeof *master->supply_row);
    return master->lp && master->arena && master->cells && master->room && master->pi &&
                   master->mu && master->table && master->supply_row
               ? DW_OK
               : DW_ERR_NOMEM;
}

/* Rows, an artificial column a class that stays in only where limited bars run out, and for each
 * class the layout that holds nothing else, from the bar that is cheapest for it. */
static dw_err master_start(struct master *master)
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

static dw_err add_pure_columns(struct master *master, int64_t *count)
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

static void read_duals(struct master *master)
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
static double violation(const struct master *master)
{
    double worst = 1;
    for (size_t k = 0; k < master->problem->n_stocks; k++) {
        double value = master->table[master->room[k]], cost = bar_price(master, k);
        if (cost > 0 && value / cost > worst)
            worst = value / cost;
    }
    return worst;
}

static bool stopped(const struct master *master, const struct dw_csp_limits *limits)
{
    return (limits->work > 0 && *master->work >= limits->work) ||
           (limits->stop && limits->stop(limits->user));
}

/* Rounds of LP and pricing until nothing improves, the rest no longer matters, or work ends. */
static dw_err generate(struct master *master, const struct dw_csp_limits *limits,
                       struct candidate *candidates, int64_t *count)
{
    dw_err err = add_pure_columns(master, count);
    for (int round = 0; err == DW_OK && round < MAX_ROUNDS && !stopped(master, limits); round++) {
        int64_t before = dw_lp__iterations(master->lp);
        if (dw_lp__solve(master->lp, false, 0) != DW_LP_OPTIMAL)
            break;
        *master->work += (dw_lp__iterations(master->lp) - before) * ((int64_t)master->m / 4 + 1);
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

static dw_err solve_classes(struct master *master, const struct dw_bulk_classes *classes, bool up,
                            const struct dw_csp_limits *limits, struct dw_lp_env *env)
{
    master->m = classes->n;
    master->demand = classes->demand;
    master->unit = 1;
    dw_err err = master_alloc(master, env);
    if (err != DW_OK)
        return err;
    set_cells(master, classes, up);
    err = master_start(master);
    struct candidate *candidates = calloc(master->m + 1, sizeof *candidates);
    int64_t *count = calloc(master->m + 1, sizeof *count);
    if (!candidates || !count)
        err = DW_ERR_NOMEM;
    if (err == DW_OK)
        err = generate(master, limits, candidates, count);
    free(candidates);
    free(count);
    return env->dead ? DW_ERR_SOLVER : err;
}

/* --- bound -------------------------------------------------------------------------------- */

/* The table in integers: z_k = Z(room_k) is exact for the rounded-down lengths, hence at least the
 * value of any layout in true lengths. Cost: O(m n_cells). */
static bool integer_table(const struct master *master, const int64_t *p, int64_t *z)
{
    for (int64_t w = 0; w <= master->n_cells; w++)
        z[w] = 0;
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

/* R >= S with R c_k >= z_k for unlimited k, mu_k = max(0, z_k - R c_k) for limited k,
 * bound = ceil( (sum P d - sum u mu) / R ). */
static bool safe_bound(const struct master *master, const int64_t *p, const int64_t *z,
                       int64_t start, int64_t *scale, int64_t *bound)
{
    const struct dw_bulk *problem = master->problem;
    int64_t r = start;
    for (size_t k = 0; k < problem->n_stocks; k++) {
        const struct dw_bulk_stock *stock = &problem->stocks[k];
        int64_t value = z[master->room[k]];
        if (stock->count >= 0 || value == 0)
            continue;
        if (stock->cost == 0)
            return false;
        int64_t need = dw_ceil__div(value, stock->cost);
        if (need > r)
            r = need;
    }
    wide sum = 0;
    for (size_t c = 0; c < master->m; c++)
        sum += (wide)p[c] * master->demand[c];
    for (size_t k = 0; k < problem->n_stocks; k++) {
        wide over = (wide)z[master->room[k]] - (wide)r * problem->stocks[k].cost;
        if (problem->stocks[k].count >= 0 && over > 0)
            sum -= over * problem->stocks[k].count;
    }
    *scale = r;
    *bound = sum > 0 ? (int64_t)((sum + r - 1) / r) : 0;
    return true;
}

dw_err dw_bulk__bound(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                      const struct dw_csp_limits *limits, struct dw_lp_env *env, int64_t *dual,
                      int64_t *scale, int64_t *bound, int64_t *work)
{
    struct master master = {.problem = problem, .work = work};
    *bound = 0;
    int64_t *p = calloc(classes->n + 1, sizeof *p);
    int64_t *z = calloc(DW_BULK_CELLS + 2, sizeof *z);
    dw_err err = p && z ? solve_classes(&master, classes, false, limits, env) : DW_ERR_NOMEM;
    if (err == DW_OK) {
        int64_t start = INT64_C(1) << 30; /* S; p stays under 2^62 for costs under 2^31 */
        while (start > 1 && (double)start * master.unit * 8 > 4e18)
            start /= 2;
        for (size_t c = 0; c < classes->n; c++)
            if (master.cells[c] > 0)
                p[c] = (int64_t)(master.pi[c] * master.unit * (double)start);
        if (!integer_table(&master, p, z) || !safe_bound(&master, p, z, start, scale, bound))
            *bound = 0;
        for (size_t c = 0; c < classes->n; c++)
            for (size_t i = classes->first[c]; i < classes->first[c + 1]; i++)
                dual[i] = p[c];
    }
    master_free(&master);
    free(p);
    free(z);
    return err;
}

/* --- plan ----------------------------------------------------------------------------------- */

struct filler {
    const struct dw_bulk *problem;
    const struct dw_bulk_classes *classes;
    struct dw_bulk_draft *draft;
    size_t *at;                /* length classes->n: first type of the class with demand left */
    struct dw_csp_item *items; /* length n */
    size_t n_items;
};

static void take(struct filler *filler, size_t type, int64_t count)
{
    filler->items[filler->n_items++] = (struct dw_csp_item){.type = type, .count = count};
}

/* Real pieces for `need` slots of class c, longest first; slots may stay empty. */
static int64_t take_class(struct filler *filler, size_t c, int64_t need)
{
    const int64_t *left = filler->draft->left;
    size_t end = filler->classes->first[c + 1];
    int64_t used = 0;
    while (filler->at[c] < end && left[filler->at[c]] == 0)
        filler->at[c]++;
    for (size_t i = filler->at[c]; i < end && need > 0; i++) {
        int64_t count = left[i] < need ? left[i] : need;
        if (count == 0)
            continue;
        take(filler, i, count);
        used += count * filler->problem->size[i];
        need -= count;
    }
    return used;
}

static int by_type(const void *a, const void *b)
{
    const struct dw_csp_item *x = a, *y = b;
    return x->type < y->type ? -1 : x->type > y->type;
}

/* What is left of the bar takes the longest classes that fit, a piece each. */
static void top_up(struct filler *filler, int64_t room, int64_t *taken)
{
    const struct dw_bulk *problem = filler->problem;
    for (size_t c = 0; c < filler->classes->n && room > 0; c++) {
        size_t end = filler->classes->first[c + 1];
        if (problem->size[end - 1] > room)
            continue;
        for (size_t i = filler->at[c]; i < end; i++)
            if (problem->size[i] <= room && filler->draft->left[i] > taken[i]) {
                take(filler, i, 1);
                room -= problem->size[i];
                break;
            }
    }
}

/* Sorts and merges the items; returns how often the layout can be cut. */
static int64_t settle(struct filler *filler)
{
    qsort(filler->items, filler->n_items, sizeof *filler->items, by_type);
    size_t n = 0;
    for (size_t j = 0; j < filler->n_items; j++) {
        if (n > 0 && filler->items[n - 1].type == filler->items[j].type)
            filler->items[n - 1].count += filler->items[j].count;
        else
            filler->items[n++] = filler->items[j];
    }
    filler->n_items = n;
    int64_t repeat = INT64_MAX;
    for (size_t j = 0; j < n; j++) {
        int64_t times = filler->draft->left[filler->items[j].type] / filler->items[j].count;
        repeat = times < repeat ? times : repeat;
    }
    return repeat;
}

/* `bars` bars of one class layout, as few different real layouts as the pieces allow. */
static dw_err fill_column(struct filler *filler, const struct column *column, int64_t bars,
                          int64_t *taken)
{
    const struct dw_bulk_stock *stock = &filler->problem->stocks[column->stock];
    while (bars > 0) {
        filler->n_items = 0;
        int64_t used = 0;
        for (size_t j = 0; j < column->n; j++)
            used += take_class(filler, column->items[j].type, column->items[j].count);
        if (filler->n_items == 0)
            return DW_OK;
        size_t n = filler->n_items;
        for (size_t j = 0; j < n; j++)
            taken[filler->items[j].type] += filler->items[j].count;
        top_up(filler, stock->capacity - used, taken);
        for (size_t j = 0; j < n; j++)
            taken[filler->items[j].type] = 0;
        int64_t repeat = settle(filler);
        repeat = repeat < bars ? repeat : bars;
        dw_err err = dw_bulk__draft_add(filler->problem, filler->draft, column->stock, repeat,
                                        filler->n_items, filler->items);
        if (err != DW_OK)
            return err;
        bars -= repeat;
    }
    return DW_OK;
}

static dw_err fill_floor(struct filler *filler, const struct master *master)
{
    int64_t *taken = calloc(master->problem->n + 1, sizeof *taken);
    if (!taken)
        return DW_ERR_NOMEM;
    dw_err err = DW_OK;
    for (size_t j = 0; j < master->n_columns && err == DW_OK; j++) {
        const struct column *column = &master->columns[j];
        double x = dw_lp__col_value(master->lp, master->m + j);
        int64_t bars = x > 0 ? (int64_t)(x + 1e-6) : 0;
        if (bars > filler->draft->stock[column->stock])
            bars = filler->draft->stock[column->stock];
        err = fill_column(filler, column, bars, taken);
    }
    free(taken);
    return err;
}

dw_err dw_bulk__fill(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                     const struct dw_csp_limits *limits, struct dw_lp_env *env,
                     struct dw_bulk_draft *draft, bool *complete, int64_t *work)
{
    struct master master = {.problem = problem, .work = work};
    struct filler filler = {.problem = problem, .classes = classes, .draft = draft};
    filler.at = calloc(classes->n + 1, sizeof *filler.at);
    filler.items = calloc(2 * problem->n + 1, sizeof *filler.items);
    dw_err err = filler.at && filler.items ? solve_classes(&master, classes, true, limits, env)
                                           : DW_ERR_NOMEM;
    if (err == DW_OK) {
        memcpy(filler.at, classes->first, classes->n * sizeof *filler.at);
        err = fill_floor(&filler, &master);
    }
    if (err == DW_OK)
        err = dw_bulk__greedy(problem, draft, complete);
    master_free(&master);
    free(filler.at);
    free(filler.items);
    return err;
}
