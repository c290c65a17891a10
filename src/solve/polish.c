/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/polish.h"
#include "solve/search.h"

#include <stdlib.h>
#include <string.h>

#define LEAST_BARS 6
#define MOST_BARS  18
#define MAX_BARS   4096 /* bars of a plan that are looked at one by one */
#define MAX_NODES  40
#define PATIENCE   20 /* rounds without a better plan */

struct bar {
    size_t use;
    double key; /* the larger the sooner it is freed */
};

struct polish {
    struct dw_master *master;
    const struct dw_problem *p;
    const struct dw_relax *root;
    const struct dw_prices *prices;
    struct dw_solution *best;
    struct dw_error *error;
    struct dw_problem sub;   /* the freed bars' pieces, and what supply the others leave */
    struct dw_item *items;   /* length n_items */
    struct dw_stock *stocks; /* length n_stocks */
    struct dw_relax relax;
    int64_t *demand; /* length n_items */
    int64_t *avail;  /* length n_stocks */
    int64_t *freed;  /* length of best's uses: bars freed of each */
    size_t freed_room;
    struct bar *bars; /* length MAX_BARS */
    int64_t *scratch; /* length n_items + n_stocks */
    uint64_t random;
};

static double draw(struct polish *s)
{
    s->random = s->random * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(s->random >> 11) * 0x1p-53;
}

static int compare_bars(const void *a, const void *b)
{
    const struct bar *x = a, *y = b;
    if (x->key != y->key)
        return x->key > y->key ? -1 : 1;
    return (x->use > y->use) - (x->use < y->use);
}

/* Chooses n bars: reduced cost against a random share, which grows from round to round. */
static bool choose(struct polish *s, size_t n, size_t round)
{
    size_t n_bars = 0;
    double unit = (double)s->prices->scale * (double)s->master->unit;
    double noise = 0.002 * (double)(1 + round % 5) * (double)(1 + round % 5);
    for (size_t u = 0; u < s->best->n; u++) {
        double cost = -(double)dw_prices__value(s->p, s->prices, s->best->uses[u].col) / unit;
        for (int64_t i = 0; i < s->best->uses[u].count && n_bars < MAX_BARS; i++)
            s->bars[n_bars++] = (struct bar){u, cost + noise * draw(s)};
    }
    qsort(s->bars, n_bars, sizeof *s->bars, compare_bars);
    if (!dw_array__grow(&s->freed, &s->freed_room, s->best->n + 1, sizeof *s->freed))
        return false;
    memset(s->freed, 0, s->best->n * sizeof *s->freed);
    for (size_t i = 0; i < n && i < n_bars; i++)
        s->freed[s->bars[i].use]++;
    return true;
}

/* The problem that the freed bars leave, and the plan that they are. */
static bool cut_out(struct polish *s, struct dw_solution *part)
{
    bool ok = true;
    int64_t kept = 0;
    dw_solution__clear(part);
    for (size_t i = 0; i < s->p->n_items; i++)
        s->demand[i] = s->p->items[i].count;
    for (size_t k = 0; k < s->p->n_stocks; k++)
        s->avail[k] = s->p->stocks[k].count;
    for (size_t u = 0; u < s->best->n; u++) {
        const struct dw_col *col = s->best->uses[u].col;
        int64_t stay = s->best->uses[u].count - s->freed[u];
        for (size_t i = 0; i < col->n; i++)
            s->demand[col->entries[i].item] -= col->entries[i].count * stay;
        s->avail[col->stock] -= stay;
        kept += col->kept ? stay : 0;
        if (s->freed[u] > 0)
            ok = ok && dw_solution__add(part, col, s->freed[u]);
    }
    s->sub.n_pieces = 0;
    for (size_t i = 0; i < s->p->n_items; i++) {
        s->demand[i] = s->demand[i] > 0 ? s->demand[i] : 0;
        s->items[i].count = s->demand[i];
        s->sub.n_pieces += s->demand[i];
    }
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        if (!s->p->stocks[k].limited && s->avail[k] > s->sub.n_pieces)
            s->avail[k] = s->sub.n_pieces;
        s->stocks[k].count = s->avail[k];
    }
    s->sub.max_kept = s->p->max_kept == DW_UNLIMITED ? DW_UNLIMITED : s->p->max_kept - kept;
    return ok;
}

/* The part put back among the bars that stayed. */
static bool put_back(struct polish *s, const struct dw_solution *part, bool *better)
{
    struct dw_solution plan = {.method = "branch and price, neighbourhoods"};
    bool ok = true;
    *better = false;
    for (size_t u = 0; ok && u < s->best->n; u++)
        if (s->best->uses[u].count > s->freed[u])
            ok =
                dw_solution__add(&plan, s->best->uses[u].col, s->best->uses[u].count - s->freed[u]);
    for (size_t u = 0; ok && u < part->n; u++)
        ok = dw_solution__add(&plan, part->uses[u].col, part->uses[u].count);
    if (ok && dw_solution__settle(s->p, &plan, s->scratch) && plan.money < s->best->money) {
        ok = dw_solution__copy(s->best, &plan);
        *better = true;
    }
    dw_solution__free(&plan);
    return ok;
}

static bool start_columns(const struct dw_solution *part, struct dw_start *start)
{
    start->cols = calloc(part->n + 1, sizeof *start->cols);
    for (size_t u = 0; start->cols && u < part->n; u++)
        start->cols[start->n_cols++] = part->uses[u].col;
    return start->cols != NULL;
}

static dw_err solve_part(struct polish *s, struct dw_solution *part)
{
    struct dw_start start = {0};
    struct dw_relaxed solved = {0};
    const struct dw_search_limits limits = {.max_nodes = MAX_NODES, .inner = true};
    dw_money bound = 0;
    if (!start_columns(part, &start))
        return dw_error__nomem(s->error);
    s->relax.start = &start;
    s->relax.cutoff = part->money;
    s->master->problem = &s->sub;
    dw_err code = dw_relax__solve(s->master, &s->relax, &solved, s->error);
    if (code == DW_OK && solved.bound < part->money && solved.status == DW_RELAX_OPTIMAL)
        code = dw_search__run(s->master, &s->relax, &solved, &limits, part, &bound, s->error);
    s->master->problem = s->p;
    dw_relaxed__free(&solved);
    free(start.cols);
    return code;
}

static dw_err one_round(struct polish *s, size_t round, bool *better)
{
    struct dw_solution part = {0};
    size_t n = LEAST_BARS + round % (MOST_BARS - LEAST_BARS + 1);
    *better = false;
    dw_err code = choose(s, n, round) && cut_out(s, &part) ? DW_OK : dw_error__nomem(s->error);
    if (code == DW_OK && dw_solution__settle(&s->sub, &part, s->scratch)) {
        dw_money before = part.money;
        code = solve_part(s, &part);
        if (code == DW_OK && part.money < before && !put_back(s, &part, better))
            code = dw_error__nomem(s->error);
    }
    dw_solution__free(&part);
    return code;
}

static bool make(struct polish *s)
{
    const struct dw_problem *p = s->p;
    s->items = calloc(p->n_items + 1, sizeof *s->items);
    s->stocks = calloc(p->n_stocks + 1, sizeof *s->stocks);
    s->demand = calloc(p->n_items + 1, sizeof *s->demand);
    s->avail = calloc(p->n_stocks + 1, sizeof *s->avail);
    s->bars = calloc(MAX_BARS, sizeof *s->bars);
    s->scratch = calloc(p->n_items + p->n_stocks + 1, sizeof *s->scratch);
    if (!s->items || !s->stocks || !s->demand || !s->avail || !s->bars || !s->scratch)
        return false;
    memcpy(s->items, p->items, p->n_items * sizeof *s->items);
    memcpy(s->stocks, p->stocks, p->n_stocks * sizeof *s->stocks);
    s->sub = *p;
    s->sub.items = s->items;
    s->sub.stocks = s->stocks;
    s->relax = *s->root;
    s->relax.base = 0;
    s->relax.demand = s->demand;
    s->relax.avail = s->avail;
    return true;
}

static void unmake(struct polish *s)
{
    free(s->items);
    free(s->stocks);
    free(s->demand);
    free(s->avail);
    free(s->freed);
    free(s->bars);
    free(s->scratch);
}

dw_err dw_polish__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_prices *prices, dw_money bound, int64_t work, size_t *round,
                      struct dw_solution *best, struct dw_error *error)
{
    struct polish s = {.master = master,
                       .p = master->problem,
                       .root = root,
                       .prices = prices,
                       .best = best,
                       .error = error,
                       .random = 1994 + *round};
    dw_err code = make(&s) ? DW_OK : dw_error__nomem(error);
    size_t idle = 0;
    const int64_t end = master->effort->work + work;
    while (code == DW_OK && idle < PATIENCE && bound < best->money && !master->effort->stopped &&
           master->effort->work < end) {
        bool better = false;
        code = one_round(&s, (*round)++, &better);
        idle = better ? 0 : idle + 1;
    }
    unmake(&s);
    return code;
}
