/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A large-neighbourhood search: some layouts of one stock are taken out of the plan, and what they
 * give is planned anew with fewer layouts, or with as many but others. Small sets are tried with
 * all their pieces on given numbers of bars, as in the combinations of Foerster and Waescher,
 * "Pattern reduction in one-dimensional cutting stock problems", IJPR 38 (2000); larger ones, up
 * to the whole plan, with Haessler's heuristic. */
#include "solve/plans/few.h"
#include "solve/plans/few_core.h"

#include <stdlib.h>
#include <string.h>

#define MAX_LENGTHS    400
#define MAX_LAYOUTS    1000
#define STEPS          9000000 /* in all */
#define STEPS_A_LAYOUT 400000
#define FEW_PIECES     3 /* of a length: layouts will hardly repeat */
#define FIT_STEPS      1500
#define WHOLE          12 /* tries with all layouts to begin with */
#define MOST_JOINED    4  /* layouts that become one less by a fit */

struct run {
    struct dw_few few;
    struct dw_effort *effort;
    struct dw_lp_env *env;
    struct dw_few_set plan;
    struct dw_few_set made; /* what is tried in place of the chosen layouts */
    size_t n_chosen;
    size_t *chosen;         /* length plan.room */
    int64_t bars;           /* of the chosen layouts */
    int64_t *demand, *left; /* length n: what they give; the same, used up */
    int64_t *scratch;       /* length 4 n + 2 */
    dw_money bar;           /* money of one more bar */
    int64_t more_bars;      /* that the supply has */
    dw_money spare;         /* money that may still be given up */
    int64_t steps_spent;
};

/* --- choosing layouts ------------------------------------------------------------------------- */

/* Some layouts, those of few bars more often. */
static void choose(struct run *r, size_t n)
{
    size_t all = r->plan.n_layouts;
    size_t *index = r->chosen;
    for (size_t p = 0; p < all; p++)
        index[p] = p;
    for (size_t j = 0; j < n; j++) {
        size_t a = j + (size_t)dw_random__below(&r->few.random, (int64_t)(all - j));
        size_t b = j + (size_t)dw_random__below(&r->few.random, (int64_t)(all - j));
        bool fewer = r->plan.bars[index[b]] < r->plan.bars[index[a]];
        size_t at = fewer && dw_random__below(&r->few.random, 4) > 0 ? b : a;
        size_t other = index[j];
        index[j] = index[at];
        index[at] = other;
    }
    r->n_chosen = n;
    r->bars = 0;
    memset(r->demand, 0, r->few.n * sizeof *r->demand);
    for (size_t j = 0; j < n; j++) {
        r->bars += r->plan.bars[index[j]];
        for (size_t i = 0; i < r->few.n; i++)
            r->demand[i] += r->plan.bars[index[j]] * r->plan.count[index[j] * r->few.n + i];
    }
}

static int64_t left_on(const struct run *r, const struct dw_few_set *set, size_t p)
{
    int64_t left = r->few.cap;
    for (size_t i = 0; i < r->few.n; i++)
        left -= set->count[p * r->few.n + i] * r->few.size[i];
    return left;
}

static dw_money money_of(const struct run *r, const struct dw_few_set *set, size_t p)
{
    return set->bars[p] * (r->bar - dw_few__credit(&r->few, left_on(r, set, p)));
}

/* Layouts that are the same become one. */
static void join_equal(struct run *r)
{
    const size_t n = r->few.n, row = n * sizeof *r->plan.count;
    size_t kept = 0;
    for (size_t p = 0; p < r->plan.n_layouts; p++) {
        const int64_t *count = r->plan.count + p * n;
        size_t q = 0;
        while (q < kept && memcmp(r->plan.count + q * n, count, row) != 0)
            q++;
        if (q == kept) {
            memmove(r->plan.count + kept * n, count, row);
            r->plan.bars[kept++] = r->plan.bars[p];
        } else {
            r->plan.bars[q] += r->plan.bars[p];
        }
    }
    r->plan.n_layouts = kept;
}

/* Puts the layouts made in the place of the chosen ones if the money allows it. */
static bool accept(struct run *r)
{
    dw_money more = 0;
    int64_t more_bars = -r->bars;
    for (size_t j = 0; j < r->n_chosen; j++)
        more -= money_of(r, &r->plan, r->chosen[j]);
    for (size_t p = 0; p < r->made.n_layouts; p++) {
        if (dw_few__credit(&r->few, left_on(r, &r->made, p)) == DW_NEVER)
            return false;
        more += money_of(r, &r->made, p);
        more_bars += r->made.bars[p];
    }
    bool fewer = r->made.n_layouts < r->n_chosen;
    if (more > (fewer ? r->spare : 0) || more_bars > (fewer ? r->more_bars : 0))
        return false;
    r->spare -= more;
    r->more_bars -= more_bars;
    const size_t n = r->few.n, row = n * sizeof *r->plan.count;
    for (size_t j = 0; j < r->n_chosen; j++) {
        size_t p = r->chosen[j];
        r->plan.bars[p] = j < r->made.n_layouts ? r->made.bars[j] : 0;
        if (j < r->made.n_layouts)
            memcpy(r->plan.count + p * n, r->made.count + j * n, row);
    }
    size_t kept = 0, before = r->plan.n_layouts;
    for (size_t p = 0; p < r->plan.n_layouts; p++)
        if (r->plan.bars[p] > 0) {
            r->plan.bars[kept] = r->plan.bars[p];
            memmove(r->plan.count + kept++ * n, r->plan.count + p * n, row);
        }
    r->plan.n_layouts = kept;
    join_equal(r);
    return r->plan.n_layouts < before;
}

/* --- the moves -------------------------------------------------------------------------------- */

/* Bars beyond those of the chosen layouts that a try may take. */
static int64_t extra_bars(struct run *r)
{
    int64_t most = r->spare > 0 && r->bar > 0 ? r->spare / r->bar : 0;
    most = most < r->more_bars ? most : r->more_bars;
    return most > 0 ? dw_random__below(&r->few.random, most + 1) : 0;
}

static bool move_sequential(struct run *r, size_t n, size_t most)
{
    choose(r, n);
    memcpy(r->left, r->demand, r->few.n * sizeof *r->left);
    struct dw_few_set made = r->made;
    made.room = most < made.room ? most : made.room;
    if (!dw_few__sequential(&r->few, r->left, r->bars + extra_bars(r), &made, r->scratch))
        return false;
    r->made.n_layouts = made.n_layouts;
    return accept(r);
}

/* Shares the bars at random; the layout with most of them first. */
static void split(struct run *r, int64_t bars, size_t n)
{
    r->made.n_layouts = n;
    for (size_t k = 0; k + 1 < n; k++) {
        int64_t others = (int64_t)(n - k) - 1;
        int64_t most = bars - others, mean = (bars + others) / (others + 1);
        int64_t least = mean < most ? mean : most;
        if (k > 0 && most > r->made.bars[k - 1])
            most = r->made.bars[k - 1];
        least = least < most ? least : most;
        r->made.bars[k] = least + dw_random__below(&r->few.random, most - least + 1);
        bars -= r->made.bars[k];
    }
    r->made.bars[n - 1] = bars;
}

static bool move_fit(struct run *r, size_t n, size_t most)
{
    choose(r, n);
    int64_t bars = r->bars + extra_bars(r);
    if (bars < (int64_t)most)
        return false;
    int tries = most == 1 ? 1 : 8;
    for (int t = 0; t < tries; t++) {
        split(r, bars, most);
        if (dw_few__fit(&r->few, r->demand, &r->made, FIT_STEPS))
            return accept(r);
    }
    return false;
}

static bool move_basic(struct run *r)
{
    choose(r, r->plan.n_layouts);
    memcpy(r->left, r->demand, r->few.n * sizeof *r->left);
    return dw_few__basic(&r->few, &r->plan, r->left, r->bars, r->effort, r->env, &r->made) &&
           r->made.n_layouts < r->plan.n_layouts && accept(r);
}

static bool move(struct run *r)
{
    const size_t all = r->plan.n_layouts;
    size_t kind = (size_t)dw_random__below(&r->few.random, 8);
    if (kind < 4) {
        size_t n = 2 + (size_t)dw_random__below(&r->few.random, MOST_JOINED - 1);
        n = n < all ? n : all;
        return move_fit(r, n, n - (dw_random__below(&r->few.random, 4) > 0));
    }
    size_t n = 2 + (size_t)dw_random__below(&r->few.random, kind < 7 ? 9 : (int64_t)all);
    n = n < all ? n : all;
    return move_sequential(r, n, n - (size_t)dw_random__below(&r->few.random, 2));
}

/* Hands the steps over to the effort now and then; whether to go on. */
static bool go_on(struct run *r)
{
    if (r->plan.n_layouts <= 1 || r->few.steps >= r->few.end)
        return false;
    if (r->few.steps - r->steps_spent < DW_FEW_STEPS * 1000)
        return true;
    bool stop = dw_effort__spend(r->effort, (r->few.steps - r->steps_spent) / DW_FEW_STEPS);
    r->steps_spent = r->few.steps;
    return !stop;
}

/* Stops at one layout, at the limit, and when much was tried in vain. */
static void search(struct run *r)
{
    const int64_t patience = r->few.end / 3;
    int64_t last = 0;
    if (r->plan.n_layouts > r->few.n)
        move_basic(r);
    for (int i = 0; i < WHOLE && r->few.steps < patience && go_on(r); i++)
        move_sequential(r, r->plan.n_layouts, r->plan.n_layouts - 1);
    last = r->few.steps;
    while (r->few.steps - last < patience && go_on(r)) {
        if (move(r))
            last = r->few.steps;
        r->few.steps += (int64_t)r->few.n;
    }
}

/* --- one stock -------------------------------------------------------------------------------- */

static bool usable(const struct dw_problem *p, const struct dw_col *col, size_t stock)
{
    return col->stock == stock && col->first == DW_NONE && col->slack == 0 && col->n > 0 &&
           !(col->kept && p->max_kept != DW_UNLIMITED);
}

/* The items on the usable layouts of the stock. false: no memory. */
static bool make_few(struct run *r, const struct dw_solution *solution, const int64_t *values)
{
    const struct dw_problem *p = r->few.problem;
    size_t *place = calloc(p->n_items + 1, sizeof *place);
    r->few.item = calloc(p->n_items + 1, sizeof *r->few.item);
    r->few.size = calloc(p->n_items + 1, sizeof *r->few.size);
    r->few.value = calloc(p->n_items + 1, sizeof *r->few.value);
    bool ok = place && r->few.item && r->few.size && r->few.value;
    for (size_t u = 0; ok && u < solution->n; u++)
        for (size_t j = 0; j < solution->uses[u].col->n; j++)
            if (usable(p, solution->uses[u].col, r->few.stock))
                place[solution->uses[u].col->entries[j].item] = 1;
    int shift = 0;
    for (size_t i = 0; ok && values && i < p->n_items; i++)
        while (values[i] >> shift > INT64_C(1) << 30)
            shift++;
    for (size_t i = 0; ok && i < p->n_items; i++)
        if (place[i]) {
            r->few.item[r->few.n] = i;
            r->few.size[r->few.n] = p->items[i].size;
            r->few.value[r->few.n++] =
                values ? (values[i] > 0 ? values[i] >> shift : 0) : p->items[i].size;
        }
    free(place);
    return ok;
}

static size_t place_of(const struct dw_few *few, size_t item)
{
    size_t i = 0;
    while (few->item[i] != item)
        i++;
    return i;
}

/* The usable layouts as a set. false: no memory. */
static bool make_plan(struct run *r, const struct dw_solution *solution)
{
    const struct dw_problem *p = r->few.problem;
    const size_t n = r->few.n, room = solution->n;
    r->chosen = calloc(room + 1, sizeof *r->chosen);
    r->demand = calloc(n + 1, sizeof *r->demand);
    r->left = calloc(n + 1, sizeof *r->left);
    r->scratch = calloc(4 * n + 2, sizeof *r->scratch);
    if (!r->chosen || !r->demand || !r->left || !r->scratch ||
        !dw_few_set__make(&r->plan, room, n) || !dw_few_set__make(&r->made, room, n))
        return false;
    for (size_t u = 0; u < room; u++) {
        const struct dw_col *col = solution->uses[u].col;
        if (!usable(p, col, r->few.stock))
            continue;
        size_t row = r->plan.n_layouts++;
        int64_t value = 0;
        r->plan.bars[row] = solution->uses[u].count;
        for (size_t j = 0; j < col->n; j++) {
            size_t i = place_of(&r->few, col->entries[j].item);
            r->plan.count[row * n + i] = col->entries[j].count;
            value += col->entries[j].count * r->few.value[i];
        }
        r->few.most = value > r->few.most ? value : r->few.most;
    }
    return true;
}

static int64_t pieces_of(const struct run *r)
{
    int64_t pieces = 0;
    for (size_t p = 0; p < r->plan.n_layouts; p++)
        for (size_t i = 0; i < r->few.n; i++)
            pieces += r->plan.bars[p] * r->plan.count[p * r->few.n + i];
    return pieces;
}

static void free_run(struct run *r)
{
    free(r->few.item);
    free(r->few.size);
    free(r->few.value);
    free(r->chosen);
    free(r->demand);
    free(r->left);
    free(r->scratch);
    dw_few_set__free(&r->plan);
    dw_few_set__free(&r->made);
}

/* The set in place of the stock's usable layouts. */
static bool put_back(struct run *r, struct dw_pool *pool, const struct dw_solution *from,
                     struct dw_solution *to)
{
    const struct dw_problem *p = r->few.problem;
    struct dw_entry *entries = calloc(r->few.n + 1, sizeof *entries);
    bool ok = entries;
    dw_solution__clear(to);
    to->method = from->method;
    for (size_t u = 0; ok && u < from->n; u++)
        if (!usable(p, from->uses[u].col, r->few.stock))
            ok = dw_solution__add(to, from->uses[u].col, from->uses[u].count);
    for (size_t q = 0; ok && q < r->plan.n_layouts; q++) {
        struct dw_col draft = {.stock = r->few.stock, .first = DW_NONE, .entries = entries};
        for (size_t i = 0; i < r->few.n; i++)
            if (r->plan.count[q * r->few.n + i] > 0)
                entries[draft.n++] =
                    (struct dw_entry){r->few.item[i], r->plan.count[q * r->few.n + i]};
        draft.left = left_on(r, &r->plan, q);
        const struct dw_bar_kind *kind = &p->kinds[p->stocks[r->few.stock].kind];
        draft.kept =
            p->max_kept == DW_UNLIMITED && dw_bar_kind__kept(p, kind, draft.left) != DW_NEVER;
        const struct dw_col *col = dw_pool__add(pool, &draft);
        ok = col && dw_solution__add(to, col, r->plan.bars[q]);
    }
    free(entries);
    return ok;
}

static void swap(struct dw_solution *a, struct dw_solution *b)
{
    struct dw_solution other = *a;
    *a = *b;
    *b = other;
}

/* One stock; *allowance is what is left of it. */
static bool run_stock(struct run *r, struct dw_pool *pool, const int64_t *values,
                      dw_money *allowance, struct dw_solution *solution, int64_t *scratch)
{
    const struct dw_problem *p = r->few.problem;
    const struct dw_bar_stock *stock = &p->stocks[r->few.stock];
    struct dw_solution other = {0};
    bool ok = make_few(r, solution, values) && make_plan(r, solution);
    size_t before = r->plan.n_layouts;
    if (ok && before > 1) {
        dw_solution__settle(p, solution, scratch);
        int64_t used = scratch[p->n_items + r->few.stock];
        r->more_bars = stock->stepped ? 0 : stock->limited ? stock->count - used : INT64_MAX / 4;
        r->bar = stock->price + stock->fixed;
        r->spare = *allowance;
        r->few.end = STEPS_A_LAYOUT * (int64_t)before;
        r->few.end = r->few.end < STEPS ? r->few.end : STEPS;
        if (pieces_of(r) < FEW_PIECES * (int64_t)r->few.n)
            r->few.end /= 4;
        search(r);
        ok = put_back(r, pool, solution, &other);
    }
    if (ok && r->plan.n_layouts < before && dw_solution__settle(p, &other, scratch) &&
        other.money <= solution->money + *allowance) {
        if (other.money > solution->money)
            *allowance -= other.money - solution->money;
        swap(&other, solution);
    }
    dw_solution__free(&other);
    return ok;
}

bool dw_few__run(const struct dw_problem *problem, struct dw_pool *pool, struct dw_effort *effort,
                 struct dw_lp_env *env, const int64_t *values, dw_money allowance,
                 struct dw_solution *solution, int64_t *scratch)
{
    bool ok = true;
    if (problem->missing || problem->n_items > MAX_LENGTHS || solution->n > MAX_LAYOUTS)
        return true;
    for (size_t k = 0; ok && k < problem->n_stocks && !effort->stopped; k++) {
        struct run r = {.few = {.problem = problem,
                                .stock = k,
                                .cap = problem->stocks[k].cap,
                                .pieces = problem->kinds[problem->stocks[k].kind].most,
                                .random = UINT64_C(0x9e3779b97f4a7c15)},
                        .effort = effort,
                        .env = env};
        ok = run_stock(&r, pool, values, &allowance, solution, scratch);
        free_run(&r);
    }
    return ok;
}

dw_money dw_few__allowance(dw_money money, int64_t ppm)
{
    return money <= 0 ? 0 : (dw_money)((dw_wide)money * ppm / 1000000);
}
