/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Branching on how often the layouts of a complete list are cut. */
#include "solve/textbook/pool.h"

#include "solve/textbook/pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    LP_ITERATION = 20,  /* units of work */
    LAST_BARS = 6,      /* from here on by exact search */
    LAST_NODES = 50000, /* of it */
    CLOSE_LOOK = 12,    /* types of which the dominated layouts are counted out */
};
static const double FIRST_PENALTY = 1.2, LAST_PENALTY = 20;
static const double SCALE = 0x1p40, MOST_DUAL = 64;

#define ALIVE SIZE_MAX

struct pool {
    struct dw_csp__state *state;
    const struct dw_layout_list *layouts;
    int64_t *spare;              /* length layouts->n: waste of each */
    size_t *gone;                /* length layouts->n: fixed.n where it was ruled out, or ALIVE */
    double *x;                   /* length layouts->n: bars that the last LP cuts like this */
    int64_t *left;               /* length n */
    int64_t *dual;               /* length n: P */
    int64_t *count;              /* length n: scratch */
    int64_t bars, waste;         /* still to be cut, to be wasted in all */
    struct dw_layout_list fixed; /* layouts chosen on the way here */
    struct dw_lp *lp;            /* columns: n artificial ones, then the layouts */
    double penalty;
    int64_t iterations;
    int64_t nodes, most_nodes;
};

static const struct dw_type_count *items_of(const struct pool *pool, size_t k)
{
    return pool->layouts->items + pool->layouts->cuts[k].first;
}

static size_t length_of(const struct pool *pool, size_t k)
{
    return pool->layouts->cuts[k].n;
}

/* --- fixing --------------------------------------------------------------------------------- */

static void take(struct pool *pool, const struct dw_type_count *items, size_t n, int64_t bars)
{
    int64_t spare = pool->state->capacity;
    for (size_t i = 0; i < n; i++) {
        pool->left[items[i].type] -= items[i].count * bars;
        spare -= items[i].count * pool->state->size[items[i].type];
    }
    pool->bars -= bars;
    pool->waste -= bars * spare;
}

static bool fix(struct pool *pool, size_t k)
{
    if (!dw_layout_list__add(&pool->fixed, 1, items_of(pool, k), length_of(pool, k))) {
        pool->state->failed = true;
        return false;
    }
    take(pool, items_of(pool, k), length_of(pool, k), 1);
    return true;
}

/* Back to the first `keep` choices; what was ruled out after them may come again. */
static void unfix(struct pool *pool, size_t keep)
{
    for (size_t j = keep; j < pool->fixed.n; j++) {
        const struct dw_list_cut *cut = &pool->fixed.cuts[j];
        take(pool, pool->fixed.items + cut->first, cut->n, -cut->bars);
    }
    dw_layout_list__cut(&pool->fixed, keep);
    for (size_t k = 0; k < pool->layouts->n; k++)
        if (pool->gone[k] != ALIVE && pool->gone[k] > keep)
            pool->gone[k] = ALIVE;
}

/* --- ruling out ------------------------------------------------------------------------------ */

static bool fits(const struct pool *pool, size_t k)
{
    const struct dw_type_count *items = items_of(pool, k);
    bool fit = pool->spare[k] <= pool->waste;
    for (size_t i = 0; fit && i < length_of(pool, k); i++)
        fit = items[i].count <= pool->left[items[i].type];
    return fit;
}

static dw_wide value_of(const struct pool *pool, size_t k)
{
    const struct dw_type_count *items = items_of(pool, k);
    dw_wide value = 0;
    for (size_t i = 0; i < length_of(pool, k); i++)
        value += (dw_wide)pool->dual[items[i].type] * items[i].count;
    return value;
}

/* With z = max P a over the layouts left: none of value below P d - (bars - 1) z is in a solution,
 * and there is no solution if P d > bars z. false: there is none. Cost: O(items of the pool). */
static bool rule_out(struct pool *pool)
{
    dw_wide wanted = 0, best = 0;
    bool any = false;
    for (size_t k = 0; k < pool->layouts->n; k++) {
        if (pool->gone[k] == ALIVE && !fits(pool, k))
            pool->gone[k] = pool->fixed.n;
        if (pool->gone[k] != ALIVE)
            continue;
        dw_wide value = value_of(pool, k);
        if (!any || value > best)
            best = value;
        any = true;
    }
    for (size_t i = 0; i < pool->state->n; i++)
        wanted += (dw_wide)pool->dual[i] * pool->left[i];
    if (!any || wanted > best * pool->bars)
        return false;
    dw_wide least = wanted - best * (pool->bars - 1);
    for (size_t k = 0; k < pool->layouts->n; k++)
        if (pool->gone[k] == ALIVE && value_of(pool, k) < least)
            pool->gone[k] = pool->fixed.n;
    return true;
}

/* --- choosing a type ------------------------------------------------------------------------- */

static int64_t copies(const struct pool *pool, size_t k, size_t type)
{
    const struct dw_type_count *items = items_of(pool, k);
    for (size_t i = 0; i < length_of(pool, k); i++)
        if (items[i].type == type)
            return items[i].count;
    return 0;
}

/* A piece of length i could give its place on the layout to a longer one from another bar. */
static bool can_lengthen(const struct pool *pool, size_t k, size_t type)
{
    const int64_t *size = pool->state->size;
    for (size_t q = type; q > 0 && size[q - 1] - size[type] <= pool->spare[k]; q--)
        if (pool->left[q - 1] > copies(pool, k, q - 1))
            return true;
    return false;
}

/* Exchanges that keep a plan a plan and fill this bar more, without touching one piece of `type`:
 * taking a piece over from another bar, or a longer one for a shorter (Martello, Toth 1990). */
static bool dominated(const struct pool *pool, size_t k, size_t type)
{
    const struct dw_type_count *items = items_of(pool, k);
    if (pool->spare[k] == 0)
        return false;
    for (size_t r = pool->state->n; r > 0 && pool->state->size[r - 1] <= pool->spare[k]; r--)
        if (pool->left[r - 1] > copies(pool, k, r - 1))
            return true;
    for (size_t i = 0; i < length_of(pool, k); i++)
        if ((items[i].type != type || items[i].count > 1) && can_lengthen(pool, k, items[i].type))
            return true;
    return false;
}

static int64_t count_best(const struct pool *pool, size_t type)
{
    int64_t count = 0;
    for (size_t k = 0; k < pool->layouts->n; k++)
        count += pool->gone[k] == ALIVE && copies(pool, k, type) > 0 && !dominated(pool, k, type);
    return count;
}

/* The type with the fewest layouts that need be tried, and how many. */
static int64_t choose(struct pool *pool, size_t *type)
{
    size_t n = pool->state->n;
    int64_t fewest = INT64_MAX;
    memset(pool->count, 0, n * sizeof *pool->count);
    for (size_t k = 0; k < pool->layouts->n; k++)
        for (size_t i = 0; pool->gone[k] == ALIVE && i < length_of(pool, k); i++)
            pool->count[items_of(pool, k)[i].type]++;
    for (int look = 0; look < CLOSE_LOOK && fewest > 1; look++) {
        size_t next = n;
        for (size_t i = 0; i < n; i++)
            if (pool->left[i] > 0 && pool->count[i] >= 0 &&
                (next == n || pool->count[i] < pool->count[next]))
                next = i;
        if (next == n)
            break;
        int64_t count = count_best(pool, next);
        pool->count[next] = -1;
        if (count < fewest) {
            fewest = count;
            *type = next;
        }
    }
    return fewest;
}

/* Rules out and fixes what is forced until nothing is. UNKNOWN: then `type` has *fewest layouts. */
static enum dw_csp__answer propagate(struct pool *pool, size_t *type, int64_t *fewest)
{
    while (dw_csp__spend(pool->state, 1 + (int64_t)pool->layouts->n / 20)) {
        if (pool->bars <= LAST_BARS) {
            enum dw_csp__packed packed = DW_CSP_NO_PACKING;
            if (pool->bars >= 0 && pool->waste >= 0)
                /* NOLINTNEXTLINE(clang-analyzer-unix.Malloc): the pool is closed by its opener */
                packed =
                    dw_csp__pack(pool->state, pool->left, pool->bars, LAST_NODES, &pool->fixed);
            if (packed != DW_CSP_GAVE_UP)
                return packed == DW_CSP_PACKED ? DW_CSP_YES : DW_CSP_NO;
        }
        if (pool->waste < 0 || !rule_out(pool))
            return DW_CSP_NO;
        *fewest = choose(pool, type);
        if (*fewest == 0)
            return DW_CSP_NO;
        if (*fewest > 1)
            return DW_CSP_UNKNOWN;
        for (size_t k = 0; k < pool->layouts->n; k++)
            if (pool->gone[k] == ALIVE && copies(pool, k, *type) > 0 &&
                !dominated(pool, k, *type)) {
                if (!fix(pool, k))
                    return DW_CSP_UNKNOWN;
                break;
            }
    }
    return DW_CSP_UNKNOWN;
}

/* --- LP ------------------------------------------------------------------------------------- */

static void set_penalty(struct pool *pool, double penalty)
{
    const struct dw_csp__state *state = pool->state;
    pool->penalty = penalty;
    for (size_t i = 0; i < state->n; i++)
        dw_lp__col_cost(pool->lp, i,
                        penalty * ((double)state->size[i] / (double)state->capacity + 0.02));
}

static bool build_lp(struct pool *pool)
{
    size_t n = pool->state->n;
    const double one = 1;
    size_t *rows = malloc((n + 1) * sizeof *rows);
    double *values = malloc((n + 1) * sizeof *values);
    bool ok = rows && values;
    for (size_t i = 0; ok && i < n; i++)
        ok = dw_lp__add_row(pool->lp, (double)pool->left[i], (double)pool->left[i]) != SIZE_MAX &&
             dw_lp__add_col(pool->lp, 1, 0, DW_LP_INF, 1, &i, &one) != SIZE_MAX;
    for (size_t k = 0; ok && k < pool->layouts->n; k++) {
        const struct dw_type_count *items = items_of(pool, k);
        pool->spare[k] = pool->state->capacity;
        pool->gone[k] = ALIVE;
        for (size_t i = 0; i < length_of(pool, k); i++) {
            rows[i] = items[i].type;
            values[i] = (double)items[i].count;
            pool->spare[k] -= items[i].count * pool->state->size[items[i].type];
        }
        ok =
            dw_lp__add_col(pool->lp, 1, 0, DW_LP_INF, length_of(pool, k), rows, values) != SIZE_MAX;
    }
    set_penalty(pool, FIRST_PENALTY);
    free(rows);
    free(values);
    return ok;
}

/* P = the LP's duals. Whatever they are, what rule_out concludes from them holds. */
static void round_duals(struct pool *pool)
{
    for (size_t i = 0; i < pool->state->n; i++) {
        double dual = pool->left[i] > 0 ? dw_lp__row_dual(pool->lp, i) : 0;
        pool->dual[i] = (int64_t)(fmin(fmax(dual, -MOST_DUAL), MOST_DUAL) * SCALE);
    }
}

/* Solves the LP once, in spells so that stop is asked. false: stopped, stalled, or failed. */
static bool solve_lp(struct pool *pool)
{
    enum dw_lp_result result = DW_LP_LIMIT;
    int64_t start = pool->iterations, most = 2000 + 20 * (int64_t)pool->state->n;
    for (int64_t spell = 500; result == DW_LP_LIMIT && pool->iterations - start <= most;
         spell *= 2) {
        result = dw_lp__solve(pool->lp, false, spell);
        int64_t now = dw_lp__iterations(pool->lp);
        bool go = dw_csp__spend(pool->state, LP_ITERATION * (now - pool->iterations) + 1);
        pool->iterations = now;
        if (!go)
            return false;
    }
    return result == DW_LP_OPTIMAL;
}

static double missing(const struct pool *pool)
{
    double sum = 0;
    for (size_t i = 0; i < pool->state->n; i++)
        sum += dw_lp__col_value(pool->lp, i);
    return sum;
}

/* Raises the penalty while the LP would rather leave pieces out, and no proof says that it must. */
static enum dw_csp__answer relax(struct pool *pool)
{
    size_t n = pool->state->n;
    for (size_t i = 0; i < n; i++)
        dw_lp__row_bounds(pool->lp, i, (double)pool->left[i], (double)pool->left[i]);
    for (size_t k = 0; k < pool->layouts->n; k++)
        dw_lp__col_bounds(pool->lp, n + k, 0, pool->gone[k] == ALIVE ? DW_LP_INF : 0);
    pool->nodes++;
    while (solve_lp(pool)) {
        round_duals(pool);
        if (!rule_out(pool))
            return DW_CSP_NO;
        if (missing(pool) <= 1e-6 || pool->penalty >= LAST_PENALTY)
            break;
        set_penalty(pool, pool->penalty * 1.5);
    }
    for (size_t k = 0; k < pool->layouts->n; k++)
        pool->x[k] = dw_lp__col_value(pool->lp, n + k);
    return DW_CSP_UNKNOWN;
}

/* Takes the LP's solution if it is whole and cuts everything. */
static bool take_whole(struct pool *pool)
{
    size_t keep = pool->fixed.n;
    bool whole = true;
    for (size_t k = 0; whole && k < pool->layouts->n; k++)
        whole = fabs(pool->x[k] - floor(pool->x[k] + 0.5)) < 1e-6;
    for (size_t k = 0; whole && k < pool->layouts->n; k++)
        for (int64_t bars = (int64_t)(pool->x[k] + 0.5); whole && bars > 0; bars--)
            whole = pool->bars > 0 && fix(pool, k);
    for (size_t i = 0; whole && i < pool->state->n; i++)
        whole = pool->left[i] == 0;
    if (!whole)
        unfix(pool, keep);
    return whole;
}

/* --- the search ----------------------------------------------------------------------------- */

struct child {
    double rank;
    size_t layout;
};

static int by_rank(const void *a, const void *b)
{
    const struct child *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? 1 : -1;
    return x->layout < y->layout ? -1 : 1;
}

static enum dw_csp__answer explore(struct pool *pool);

/* Every layout of the type in turn; one that failed is ruled out for those after it. */
static enum dw_csp__answer branch(struct pool *pool, size_t type, int64_t fewest)
{
    size_t n = pool->state->n, n_fixed = pool->fixed.n, n_children = 0;
    struct child *children = calloc((size_t)fewest + 1, sizeof *children);
    int64_t *dual = malloc((n + 1) * sizeof *dual);
    enum dw_csp__answer answer = children && dual ? DW_CSP_NO : DW_CSP_UNKNOWN;
    pool->state->failed |= answer == DW_CSP_UNKNOWN;
    for (size_t k = 0; answer == DW_CSP_NO && k < pool->layouts->n; k++)
        if (pool->gone[k] == ALIVE && copies(pool, k, type) > 0 && !dominated(pool, k, type))
            children[n_children++] = (struct child){pool->x[k], k};
    if (answer == DW_CSP_NO) {
        qsort(children, n_children, sizeof *children, by_rank);
        memcpy(dual, pool->dual, n * sizeof *dual);
    }
    for (size_t c = 0; answer != DW_CSP_YES && c < n_children; c++) {
        if (c > 0)
            memcpy(pool->dual, dual, n * sizeof *dual);
        enum dw_csp__answer one = fix(pool, children[c].layout) ? explore(pool) : DW_CSP_UNKNOWN;
        if (one != DW_CSP_YES)
            unfix(pool, n_fixed);
        if (one == DW_CSP_NO)
            pool->gone[children[c].layout] = n_fixed;
        else
            answer = one;
        if (!dw_csp__go(pool->state))
            break;
    }
    free(children);
    free(dual);
    return answer == DW_CSP_NO && !dw_csp__go(pool->state) ? DW_CSP_UNKNOWN : answer;
}

/* The depth is at most the number of bars. */
static enum dw_csp__answer explore(struct pool *pool)
{
    size_t type = 0, before = 0;
    int64_t fewest = 0;
    enum dw_csp__answer answer = propagate(pool, &type, &fewest);
    while (answer == DW_CSP_UNKNOWN && dw_csp__go(pool->state)) {
        if (pool->most_nodes > 0 && pool->nodes >= pool->most_nodes)
            return DW_CSP_UNKNOWN;
        answer = relax(pool);
        if (answer == DW_CSP_UNKNOWN && take_whole(pool))
            answer = DW_CSP_YES;
        before = pool->fixed.n;
        if (answer == DW_CSP_UNKNOWN && dw_csp__go(pool->state))
            answer = propagate(pool, &type, &fewest);
        if (answer == DW_CSP_UNKNOWN && pool->fixed.n == before)
            return dw_csp__go(pool->state) ? branch(pool, type, fewest) : DW_CSP_UNKNOWN;
    }
    return dw_csp__go(pool->state) || answer == DW_CSP_YES ? answer : DW_CSP_UNKNOWN;
}

static bool open_pool(struct pool *pool, const struct dw_csp__pool_task *task)
{
    size_t n = pool->state->n, n_layouts = task->layouts->n;
    pool->spare = malloc((n_layouts + 1) * sizeof *pool->spare);
    pool->gone = malloc((n_layouts + 1) * sizeof *pool->gone);
    pool->x = calloc(n_layouts + 1, sizeof *pool->x);
    pool->left = malloc((n + 1) * sizeof *pool->left);
    pool->dual = malloc((n + 1) * sizeof *pool->dual);
    pool->count = malloc((n + 1) * sizeof *pool->count);
    pool->lp = dw_lp__new(pool->state->env);
    if (!pool->spare || !pool->gone || !pool->x || !pool->left || !pool->dual || !pool->count ||
        !pool->lp)
        return false;
    memcpy(pool->left, task->left, n * sizeof *pool->left);
    memcpy(pool->dual, pool->state->size, n * sizeof *pool->dual); /* until the first LP */
    return build_lp(pool);
}

enum dw_csp__answer dw_csp__pool(struct dw_csp__state *state, const struct dw_csp__pool_task *task,
                                 struct dw_layout_list *list)
{
    struct pool pool = {.state = state,
                        .layouts = task->layouts,
                        .bars = task->bars,
                        .waste = task->waste,
                        .most_nodes = task->nodes};
    enum dw_csp__answer answer = DW_CSP_UNKNOWN;
    if (open_pool(&pool, task))
        answer = explore(&pool);
    else
        state->failed = true;
    for (size_t j = 0; answer == DW_CSP_YES && j < pool.fixed.n; j++) {
        const struct dw_list_cut *cut = &pool.fixed.cuts[j];
        if (!dw_layout_list__add(list, cut->bars, pool.fixed.items + cut->first, cut->n)) {
            state->failed = true;
            answer = DW_CSP_UNKNOWN;
        }
    }
    dw_lp__free(pool.lp);
    dw_layout_list__free(&pool.fixed);
    free(pool.spare);
    free(pool.gone);
    free(pool.x);
    free(pool.left);
    free(pool.dual);
    free(pool.count);
    return answer;
}
