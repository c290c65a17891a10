/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns generated until the bound meets the LP, with duals kept from swinging. */
#include "solve/textbook/root.h"

#include "solve/fill/gibbs.h"
#include "solve/bar/knap.h"

#include <math.h>
#include <stdlib.h>

enum {
    ROUND_COLUMNS = 40, /* new columns a pricing round */
    START_SWEEPS = 24,  /* of the distribution that gives the first columns */
    START_SHARE = 3,    /* first columns drawn from it, times n */
    LP_ITERATION = 20,  /* units of work */
};

/* Demands are lowered by up to this share: the LP is very degenerate, and the simplex method may
 * stall on it for ever. The duals are evaluated against the true demands. */
static const double PERTURB = 1e-5;

struct master {
    struct dw_csp__state *state;
    struct dw_csp__root *root;
    struct dw_lp *lp;
    struct dw_knap *knap;
    size_t n_in_lp; /* columns of root->columns that the LP has */
    size_t *rows;   /* length n: scratch */
    double *values; /* length n: scratch */
    int64_t *value; /* length n: duals in integers */
    int64_t scale;  /* of them: 1.0 */
    int64_t iterations;
};

/* --- columns -------------------------------------------------------------------------------- */

/* Hands the columns that came since to the LP. */
static bool add_columns(struct master *master)
{
    const struct dw_layout_list *columns = &master->root->columns;
    for (; master->n_in_lp < columns->n; master->n_in_lp++) {
        const struct dw_list_cut *cut = &columns->cuts[master->n_in_lp];
        for (size_t i = 0; i < cut->n; i++) {
            master->rows[i] = columns->items[cut->first + i].type;
            master->values[i] = (double)columns->items[cut->first + i].count;
        }
        if (dw_lp__add_col(master->lp, 1, 0, DW_LP_INF, cut->n, master->rows, master->values) ==
            SIZE_MAX)
            return false;
    }
    return true;
}

/* One layout a type, full of it; and the layouts of the plan at hand. */
static bool plain_columns(struct dw_csp__state *state, struct dw_layout_list *columns)
{
    for (size_t i = 0; i < state->n; i++) {
        int64_t fit = state->capacity / state->size[i];
        struct dw_type_count item = {i, fit < state->demand[i] ? fit : state->demand[i]};
        if (!dw_layout_list__add(columns, 1, &item, 1))
            return false;
    }
    for (size_t k = 0; k < state->best.n; k++) {
        const struct dw_list_cut *cut = &state->best.cuts[k];
        if (!dw_layout_list__add(columns, 1, state->best.items + cut->first, cut->n))
            return false;
    }
    return true;
}

/* Layouts that are likely in the smoothest solution with as many bars as the bound. */
static bool likely_columns(struct dw_csp__state *state, struct dw_layout_list *columns)
{
    dw_wide waste = (dw_wide)state->bound * state->capacity - state->total;
    struct dw_gibbs *gibbs = NULL;
    struct dw_type_count *items = malloc((state->n + 1) * sizeof *items);
    if (waste >= 0 && state->bound >= 2)
        gibbs = dw_gibbs__new(state->capacity, state->n, state->size, state->demand);
    bool ok = items != NULL;
    if (ok && gibbs) {
        uint64_t seed = 77;
        const int64_t most = waste > INT64_MAX ? INT64_MAX : (int64_t)waste;
        dw_gibbs__target(gibbs, state->demand, state->bound, most, most);
        double error = 1;
        for (int k = 0; k < START_SWEEPS && error > 0.02 && dw_csp__go(state); k++) {
            error = dw_gibbs__sweep(gibbs);
            dw_csp__spend(state, dw_gibbs__cost(gibbs));
        }
        bool ready = error >= 0 && dw_gibbs__ready(gibbs);
        for (size_t k = 0; ok && ready && k < START_SHARE * state->n; k++) {
            int64_t spare = 0;
            double expected = 0;
            size_t n = dw_gibbs__draw(gibbs, &seed, items, &spare, &expected);
            ok = n == 0 || dw_layout_list__add(columns, 1, items, n);
        }
    }
    free(items);
    dw_gibbs__free(gibbs);
    return ok;
}

/* --- rounds --------------------------------------------------------------------------------- */

/* The LP's duals over a common denominator so large that no layout's value overflows. */
static bool integer_duals(struct master *master)
{
    const struct dw_csp__state *state = master->state;
    for (size_t i = 0; i < state->n; i++)
        master->root->dual[i] = fmax(0, dw_lp__row_dual(master->lp, i));
    double above = dw_knap__above(master->knap, master->root->dual, 1);
    if (above < 0)
        return false;
    master->scale = (int64_t)((double)dw_knap__most(master->knap) / (above + 1));
    for (size_t i = 0; i < state->n; i++)
        master->value[i] = (int64_t)(master->root->dual[i] * (double)master->scale + 0.5);
    return true;
}

static bool solve_lp(struct master *master)
{
    struct dw_csp__state *state = master->state;
    enum dw_lp_result result = DW_LP_LIMIT;
    while (result == DW_LP_LIMIT && dw_csp__go(state)) {
        result = dw_lp__solve(master->lp, false, 200);
        int64_t now = dw_lp__iterations(master->lp);
        dw_csp__spend(state, LP_ITERATION * (now - master->iterations) + 1);
        master->iterations = now;
    }
    master->root->value = dw_lp__objective(master->lp);
    return result == DW_LP_OPTIMAL;
}

/* Nothing more to gain: the bound has met the plan, or what the LP can still prove. */
static bool enough(const struct master *master)
{
    const struct dw_csp__state *state = master->state;
    return dw_csp__closed(state) || (double)state->dual_bound >= master->root->value - 1e-6;
}

/* One round. true: go on. */
static bool improve(struct master *master)
{
    struct dw_csp__state *state = master->state;
    struct dw_layout_list *columns = &master->root->columns;
    if (!solve_lp(master))
        return false;
    if (!integer_duals(master)) {
        state->failed = true;
        return false;
    }
    int64_t z = dw_knap__solve(master->knap, state->effort, master->value, master->scale);
    state->failed |= z == DW_KNAP_NO_MEMORY;
    if (z <= DW_KNAP_NO_MEMORY)
        return false;
    dw_csp__offer_duals(state, master->value, z);
    if (enough(master)) {
        master->root->optimal = true;
        return false;
    }
    int64_t least = master->scale + master->scale / 1000000;
    if (!dw_knap__layouts(master->knap, least, ROUND_COLUMNS, columns)) {
        state->failed = true;
        return false;
    }
    master->root->optimal = columns->n == master->n_in_lp;
    return !master->root->optimal && add_columns(master);
}

/* --- call ----------------------------------------------------------------------------------- */

static bool open_master(struct master *master)
{
    struct dw_csp__state *state = master->state;
    struct dw_layout_list *columns = &master->root->columns;
    bool fresh = columns->n == 0;
    master->lp = dw_lp__new(state->env);
    master->knap = dw_knap__new(state->capacity, state->n, state->size, state->demand,
                                !dw_knap__is_long(state->capacity, state->n));
    master->rows = malloc((state->n + 1) * sizeof *master->rows);
    master->values = malloc((state->n + 1) * sizeof *master->values);
    master->value = malloc((state->n + 1) * sizeof *master->value);
    master->root->dual = calloc(state->n + 1, sizeof *master->root->dual);
    if (!master->lp || !master->knap || !master->rows || !master->values || !master->value ||
        !master->root->dual || !plain_columns(state, columns) ||
        (fresh && !likely_columns(state, columns))) {
        state->failed = true;
        return false;
    }
    uint64_t seed = 13;
    for (size_t i = 0; i < state->n; i++) {
        double demand = (double)state->demand[i] * (1 - PERTURB * dw_random__uniform(&seed));
        if (dw_lp__add_row(master->lp, demand, DW_LP_INF) == SIZE_MAX)
            return false;
    }
    return dw_knap__most(master->knap) > 0 && add_columns(master);
}

/* How often the last LP cuts each layout; those that it does not have yet, never. */
static void take_values(struct master *master)
{
    struct dw_csp__root *root = master->root;
    root->x = calloc(root->columns.n + 1, sizeof *root->x);
    master->state->failed |= !root->x;
    for (size_t k = 0; root->x && k < master->n_in_lp; k++)
        root->x[k] = dw_lp__col_value(master->lp, k);
}

void dw_csp__root(struct dw_csp__state *state, struct dw_csp__root *root)
{
    struct master master = {.state = state, .root = root};
    if (open_master(&master)) {
        while (dw_csp__go(state) && improve(&master))
            continue;
        take_values(&master);
    }
    dw_lp__free(master.lp);
    dw_knap__free(master.knap);
    free(master.rows);
    free(master.values);
    free(master.value);
}

void dw_csp__root_free(struct dw_csp__root *root)
{
    dw_layout_list__free(&root->columns);
    free(root->dual);
    free(root->x);
    *root = (struct dw_csp__root){0};
}
