/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Solving the LP of a node by columns, and bounding it in integers. */
#include "solve/textbook/node.h"

#include "solve/textbook/pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROUND_COLUMNS = 40,
    TOLERANCE = 100000000, /* a layout worth so little above 1, one part in so many, is no gain */
    LP_ITERATION = 20,     /* units of work */
    LAST_BARS = 6,         /* from here on by exact search */
    LAST_NODES = 50000,    /* of it */
    CENTER_TURNS = 2,
    PERTURBED_ROUNDS = 40,
};
static const double PERTURB = 0.002, GAP_FACTOR = 1.25, GAP_STEP = 1e-3, WIDE_GAP = 5e-3;

static const double MARGIN = 0.01; /* of the scale, for what rounding adds */
static const double FIRST_PENALTY = 1.2, LAST_PENALTY = 20;

/* --- columns -------------------------------------------------------------------------------- */

/* Cost of leaving out one piece. */
static double artificial_cost(const struct dw_csp__node *node, size_t i)
{
    const struct dw_csp__state *state = node->state;
    return node->penalty * ((double)state->size[i] / (double)state->capacity + 0.02);
}

static bool fits(const struct dw_csp__node *node, size_t column)
{
    const struct dw_list_cut *cut = &node->columns.cuts[column];
    const struct dw_type_count *items = node->columns.items + cut->first;
    if (node->spare[column] > node->waste)
        return false;
    for (size_t k = 0; k < cut->n; k++)
        if (items[k].count > node->left[items[k].type])
            return false;
    return true;
}

/* Appends a layout to the pool and the LP. */
static bool add_column(struct dw_csp__node *node, const struct dw_type_count *items, size_t n)
{
    size_t column = node->columns.n;
    if (!dw_layout_list__add(&node->columns, 1, items, n) ||
        !dw_array__grow(&node->spare, &node->spare_room, column + 1, sizeof *node->spare) ||
        !dw_array__grow(&node->open, &node->open_room, column + 1, sizeof *node->open))
        return false;
    int64_t spare = node->state->capacity;
    for (size_t k = 0; k < n; k++) {
        spare -= items[k].count * node->state->size[items[k].type];
        node->rows[k] = items[k].type;
        node->values[k] = (double)items[k].count;
    }
    node->spare[column] = spare;
    node->open[column] = fits(node, column);
    return dw_lp__add_col(node->lp, 1, 0, node->open[column] ? DW_LP_INF : 0, n, node->rows,
                          node->values) != SIZE_MAX;
}

static void set_penalty(struct dw_csp__node *node, double penalty)
{
    node->penalty = penalty;
    for (size_t i = 0; i < node->state->n; i++)
        dw_lp__col_cost(node->lp, i, artificial_cost(node, i));
}

static bool build_lp(struct dw_csp__node *node, const struct dw_layout_list *columns)
{
    size_t n = node->state->n;
    const double one = 1;
    for (size_t i = 0; i < n; i++)
        if (dw_lp__add_row(node->lp, (double)node->left[i], (double)node->left[i]) == SIZE_MAX)
            return false;
    node->penalty = FIRST_PENALTY;
    for (size_t i = 0; i < n; i++)
        if (dw_lp__add_col(node->lp, artificial_cost(node, i), 0, DW_LP_INF, 1, &i, &one) ==
            SIZE_MAX)
            return false;
    for (size_t k = 0; k < columns->n; k++) {
        const struct dw_list_cut *cut = &columns->cuts[k];
        if (!add_column(node, columns->items + cut->first, cut->n))
            return false;
    }
    return true;
}

bool dw_csp__node_open(struct dw_csp__node *node, struct dw_csp__state *state, int64_t bars,
                       int64_t waste, const struct dw_layout_list *columns)
{
    size_t n = state->n;
    *node = (struct dw_csp__node){.state = state, .bars = bars, .waste = waste};
    node->left = malloc((n + 1) * sizeof *node->left);
    node->rows = malloc((n + 1) * sizeof *node->rows);
    node->values = malloc((n + 1) * sizeof *node->values);
    node->dual = malloc((n + 1) * sizeof *node->dual);
    node->lp = dw_lp__new(state->env);
    node->knap = dw_knap__new(state->capacity, n, state->size, state->demand, true);
    if (!node->left || !node->rows || !node->values || !node->dual || !node->lp || !node->knap) {
        state->failed = true;
        return false;
    }
    memcpy(node->left, state->demand, n * sizeof *node->left);
    return dw_knap__retarget(node->knap, node->left, waste) && build_lp(node, columns);
}

void dw_csp__node_close(struct dw_csp__node *node)
{
    dw_lp__free(node->lp);
    dw_knap__free(node->knap);
    dw_layout_list__free(&node->columns);
    free(node->left);
    free(node->spare);
    free(node->open);
    free(node->rows);
    free(node->values);
    free(node->dual);
}

void dw_csp__node_take(struct dw_csp__node *node, const struct dw_type_count *items, size_t n,
                       int64_t bars)
{
    int64_t used = 0;
    for (size_t k = 0; k < n; k++) {
        node->left[items[k].type] -= items[k].count * bars;
        used += items[k].count * node->state->size[items[k].type];
    }
    node->bars -= bars;
    node->waste -= bars * (node->state->capacity - used);
}

/* --- one round ------------------------------------------------------------------------------ */

/* The LP as it is at this node. */
static void adapt_lp(struct dw_csp__node *node)
{
    size_t n = node->state->n;
    for (size_t i = 0; i < n; i++)
        dw_lp__row_bounds(node->lp, i, (double)node->left[i], (double)node->left[i]);
    for (size_t k = 0; k < node->columns.n; k++) {
        bool open = fits(node, k);
        if (open != node->open[k])
            dw_lp__col_bounds(node->lp, n + k, 0, open ? DW_LP_INF : 0);
        node->open[k] = open;
    }
    dw_knap__retarget(node->knap, node->left, node->waste);
}

/* Solves the LP, in spells so that stop is asked. Gives up on an LP that stalls: any duals serve.
 * false: stopped, or the LP failed. */
static bool solve_lp(struct dw_csp__node *node)
{
    enum dw_lp_result result = DW_LP_LIMIT;
    int64_t start = node->iterations, most = 2000 + 20 * (int64_t)node->state->n;
    for (int64_t spell = 500; result == DW_LP_LIMIT && dw_csp__go(node->state); spell *= 2) {
        result = dw_lp__solve(node->lp, false, spell);
        int64_t now = dw_lp__iterations(node->lp);
        dw_csp__spend(node->state, LP_ITERATION * (now - node->iterations) + 1);
        node->iterations = now;
        if (result == DW_LP_LIMIT && now - start > most)
            return node->stuck = true, true;
    }
    return result == DW_LP_OPTIMAL;
}

/* P = values[] over a scale at which no layout overflows. Rounded down: then no layout of many
 * short pieces stands out by its rounding, and z, which all bars are held against, stays near the
 * scale. false: no memory. */
static bool scale_values(struct dw_csp__node *node)
{
    const struct dw_csp__state *state = node->state;
    double above = dw_knap__above(node->knap, node->values, 1);
    double below = dw_knap__above(node->knap, node->values, -1);
    node->scale = (int64_t)((double)dw_knap__most(node->knap) / (fmax(above, below) + MARGIN));
    for (size_t i = 0; i < state->n; i++)
        node->dual[i] = (int64_t)floor(node->values[i] * (double)node->scale);
    return above >= 0 && below >= 0;
}

/* P = the LP's duals. false: no memory. */
static bool integer_duals(struct dw_csp__node *node)
{
    for (size_t i = 0; i < node->state->n; i++)
        node->values[i] = node->left[i] > 0 ? dw_lp__row_dual(node->lp, i) : 0;
    return scale_values(node);
}

/* P d > bars z: no solution. Also when no layout at all is left. */
static bool proved_none(const struct dw_csp__node *node)
{
    dw_wide sum = 0;
    for (size_t i = 0; i < node->state->n; i++)
        sum += (dw_wide)node->dual[i] * node->left[i];
    return sum > (dw_wide)node->bars * node->best;
}

int64_t dw_csp__node_least(const struct dw_csp__node *node)
{
    dw_wide sum = 0;
    for (size_t i = 0; i < node->state->n; i++)
        sum += (dw_wide)node->dual[i] * node->left[i];
    return (int64_t)(sum - (dw_wide)(node->bars - 1) * node->best);
}

static double missing(const struct dw_csp__node *node)
{
    double sum = 0;
    for (size_t i = 0; i < node->state->n; i++)
        sum += dw_lp__col_value(node->lp, i);
    return sum;
}

enum round { AGAIN, CONVERGED, NONE, STOPPED };

/* Appends layouts that the duals at hand value above 1 to the LP. How many; -1: no memory. */
static int64_t add_priced(struct dw_csp__node *node)
{
    struct dw_layout_list found = {0};
    int64_t least = node->scale + node->scale / TOLERANCE + 2;
    bool ok = dw_knap__layouts(node->knap, least, ROUND_COLUMNS, &found);
    for (size_t k = 0; ok && k < found.n; k++)
        ok = add_column(node, found.items + found.cuts[k].first, found.cuts[k].n);
    int64_t count = ok ? (int64_t)found.n : -1;
    node->state->failed |= !ok;
    dw_layout_list__free(&found);
    return count;
}

/* The most valuable layout at the integer duals. false: stopped, or no memory. */
static bool price(struct dw_csp__node *node)
{
    node->best = dw_knap__solve(node->knap, node->state->effort, node->dual, INT32_MIN);
    node->state->failed |= node->best == DW_KNAP_NO_MEMORY;
    return node->best > DW_KNAP_NO_MEMORY;
}

/* Solve, price, add. Where new columns moved nothing, no more are made: the LP's tolerance. */
static enum round round_once(struct dw_csp__node *node, bool first)
{
    int64_t before = node->iterations;
    if (!solve_lp(node))
        return STOPPED;
    bool moved = (first || node->iterations > before) && !node->stuck;
    if (!integer_duals(node)) {
        node->state->failed = true;
        return STOPPED;
    }
    if (!price(node))
        return STOPPED;
    if (proved_none(node))
        return NONE;
    int64_t count = moved ? add_priced(node) : 0;
    if (count < 0)
        return STOPPED;
    return count > 0 ? AGAIN : CONVERGED;
}

/* --- answer --------------------------------------------------------------------------------- */

/* The LP's solution, if it is whole. */
static bool whole_plan(struct dw_csp__node *node, struct dw_layout_list *list)
{
    size_t n = node->state->n, first = list->n;
    int64_t bars = 0;
    for (size_t k = 0; k < node->columns.n; k++) {
        double x = dw_lp__col_value(node->lp, n + k);
        int64_t count = (int64_t)floor(x + 0.5);
        if (fabs(x - (double)count) > 1e-6) {
            dw_layout_list__cut(list, first);
            return false;
        }
        const struct dw_list_cut *cut = &node->columns.cuts[k];
        if (count > 0 &&
            !dw_layout_list__add(list, count, node->columns.items + cut->first, cut->n)) {
            node->state->failed = true;
            return false;
        }
        bars += count;
    }
    return bars <= node->bars;
}

/* Raises the penalty while the LP would rather leave pieces out. */
static enum round converge(struct dw_csp__node *node)
{
    enum round round = AGAIN;
    bool first = true;
    node->stuck = false;
    while (round == AGAIN && dw_csp__go(node->state)) {
        round = round_once(node, first);
        first = false;
        if (round == CONVERGED && !node->stuck && missing(node) > 1e-6 &&
            node->penalty < LAST_PENALTY) {
            set_penalty(node, node->penalty * 1.5);
            round = AGAIN;
            first = true;
        }
    }
    return dw_csp__go(node->state) ? round : STOPPED;
}

enum dw_csp__node_answer dw_csp__node_price(struct dw_csp__node *node, struct dw_layout_list *list)
{
    if (node->waste < 0 || node->bars < 0)
        return DW_CSP_NODE_NONE;
    if (node->bars <= LAST_BARS) {
        enum dw_csp__packed packed =
            dw_csp__pack(node->state, node->left, node->bars, LAST_NODES, list);
        if (packed == DW_CSP_PACKED)
            return DW_CSP_NODE_PLAN;
        if (packed == DW_CSP_NO_PACKING)
            return DW_CSP_NODE_NONE;
    }
    if (node->scale == 0)
        return DW_CSP_NODE_STOPPED;
    for (size_t i = 0; i < node->state->n; i++)
        if (node->left[i] == 0)
            node->dual[i] = 0;
    dw_knap__retarget(node->knap, node->left, node->waste);
    if (!price(node))
        return DW_CSP_NODE_STOPPED;
    return proved_none(node) ? DW_CSP_NODE_NONE : DW_CSP_NODE_OPEN;
}

/* --- central duals --------------------------------------------------------------------------- */

/* Where the LP has many optimal duals, a vertex of them lets through far more layouts than belong
 * to any plan: a layout is in a solution of the LP just when all optimal duals give it its full
 * price, so a mean of several duals lets the fewest through (Goldman, Tucker 1956: strict
 * complementarity). */

/* bars - P d / z: how far a layout may fall short of its price. */
static double gap(const struct dw_csp__node *node)
{
    double sum = 0;
    for (size_t i = 0; i < node->state->n; i++)
        sum += (double)node->dual[i] * (double)node->left[i];
    return (double)node->bars - sum / (double)node->best;
}

/* The dual at hand becomes the mean of it, with the weight `share`, and of another, each in units
 * of its best layout. false: no memory, or stopped. */
static bool mix_duals(struct dw_csp__node *node, double share, const int64_t *other,
                      int64_t other_best)
{
    for (size_t i = 0; i < node->state->n; i++)
        node->values[i] = share * (double)node->dual[i] / (double)node->best +
                          (1 - share) * (double)other[i] / (double)other_best;
    if (!scale_values(node)) {
        node->state->failed = true;
        return false;
    }
    return price(node);
}

static void keep_duals(const struct dw_csp__node *node, int64_t *to, int64_t *best)
{
    memcpy(to, node->dual, node->state->n * sizeof *to);
    *best = node->best;
}

/* Duals of the LP for slightly other demands. */
static bool perturbed_duals(struct dw_csp__node *node, uint64_t *seed)
{
    int64_t count = 1;
    for (size_t i = 0; i < node->state->n; i++) {
        double d = (double)node->left[i] * (1 + PERTURB * (dw_random__uniform(seed) - 0.5));
        dw_lp__row_bounds(node->lp, i, d, d);
    }
    for (int turn = 0; count > 0 && turn < PERTURBED_ROUNDS; turn++) {
        if (!solve_lp(node) || !integer_duals(node))
            return false;
        if (!price(node))
            return false;
        count = add_priced(node);
    }
    return count == 0;
}

static void true_demands(struct dw_csp__node *node)
{
    for (size_t i = 0; i < node->state->n; i++)
        dw_lp__row_bounds(node->lp, i, (double)node->left[i], (double)node->left[i]);
}

/* At the root: the mean over some perturbed demands. false: stopped. */
static bool center_root(struct dw_csp__node *node)
{
    int64_t *mean = malloc((node->state->n + 1) * sizeof *mean), best = 0;
    uint64_t seed = 31;
    bool ok = mean != NULL;
    node->state->failed |= !ok;
    if (ok)
        keep_duals(node, mean, &best);
    for (int turn = 1; ok && turn <= CENTER_TURNS; turn++) {
        if (!perturbed_duals(node, &seed))
            break;
        ok = mix_duals(node, 1.0 / (turn + 1), mean, best);
        if (ok)
            keep_duals(node, mean, &best);
    }
    true_demands(node);
    if (ok) {
        memcpy(node->dual, mean, node->state->n * sizeof *mean);
        ok = price(node) && solve_lp(node);
    }
    free(mean);
    return ok;
}

/* Below: the mean of the parent's and the LP's, if it is good here. false: stopped. */
static bool center_child(struct dw_csp__node *node, const int64_t *parent, int64_t parent_best)
{
    double before = gap(node);
    if (before > WIDE_GAP)
        return true;
    int64_t *own = malloc((node->state->n + 1) * sizeof *own), best = 0;
    bool ok = own != NULL;
    node->state->failed |= !ok;
    if (ok)
        keep_duals(node, own, &best);
    ok = ok && mix_duals(node, 0.5, parent, parent_best);
    if (ok && gap(node) > GAP_FACTOR * before + GAP_STEP) {
        memcpy(node->dual, own, node->state->n * sizeof *own);
        ok = price(node);
    }
    free(own);
    return ok;
}

/* --- call ----------------------------------------------------------------------------------- */

static enum dw_csp__node_answer solve_node(struct dw_csp__node *node, struct dw_layout_list *list,
                                           int64_t *parent)
{
    int64_t parent_best = 0;
    bool root = node->scale == 0;
    if (!root)
        keep_duals(node, parent, &parent_best);
    adapt_lp(node);
    switch (converge(node)) {
    case NONE:
        return DW_CSP_NODE_NONE;
    case CONVERGED:
        break;
    default:
        return DW_CSP_NODE_STOPPED;
    }
    if (!node->stuck && missing(node) <= 1e-6 && whole_plan(node, list))
        return DW_CSP_NODE_PLAN;
    if (root ? !center_root(node) : !center_child(node, parent, parent_best))
        return DW_CSP_NODE_STOPPED;
    return node->state->failed ? DW_CSP_NODE_STOPPED : DW_CSP_NODE_OPEN;
}

enum dw_csp__node_answer dw_csp__node_solve(struct dw_csp__node *node, struct dw_layout_list *list)
{
    enum dw_csp__node_answer answer = DW_CSP_NODE_STOPPED;
    int64_t *parent = malloc((node->state->n + 1) * sizeof *parent);
    if (parent)
        answer = solve_node(node, list, parent);
    else
        node->state->failed = true;
    free(parent);
    return answer;
}

double dw_csp__node_expected(const struct dw_csp__node *node, const struct dw_type_count *items,
                             size_t n)
{
    for (size_t k = 0; k < node->columns.n; k++) {
        const struct dw_list_cut *cut = &node->columns.cuts[k];
        if (cut->n == n && node->open[k] &&
            memcmp(node->columns.items + cut->first, items, n * sizeof *items) == 0)
            return dw_lp__col_value(node->lp, node->state->n + k);
    }
    return 0;
}

bool dw_csp__node_liked(const struct dw_csp__node *node, size_t most, struct dw_layout_list *list)
{
    double last = DW_LP_INF;
    for (size_t round = 0; round < most; round++) {
        size_t best = node->columns.n;
        double value = 1e-6;
        for (size_t k = 0; k < node->columns.n; k++) {
            double x = node->open[k] ? dw_lp__col_value(node->lp, node->state->n + k) : 0;
            if (x > value && x < last) {
                value = x;
                best = k;
            }
        }
        if (best == node->columns.n)
            return true;
        const struct dw_list_cut *cut = &node->columns.cuts[best];
        if (!dw_layout_list__add(list, 1, node->columns.items + cut->first, cut->n))
            return false;
        last = value;
    }
    return true;
}

bool dw_csp__node_whole(const struct dw_csp__node *node, struct dw_layout_list *list)
{
    for (size_t k = 0; k < node->columns.n; k++) {
        const struct dw_list_cut *cut = &node->columns.cuts[k];
        double x = node->open[k] ? dw_lp__col_value(node->lp, node->state->n + k) : 0;
        int64_t bars = (int64_t)floor(x + 1e-6);
        if (bars > 0 && !dw_layout_list__add(list, bars, node->columns.items + cut->first, cut->n))
            return false;
    }
    return true;
}
