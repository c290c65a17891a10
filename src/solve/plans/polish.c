/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which bars are freed, round by round. */
#include "solve/plans/polish.h"

#include <stdlib.h>
#include <string.h>

#define LEAST_BARS 6
#define MOST_BARS  18
#define MAX_BARS   4096 /* bars of a plan that are looked at one by one */
#define PATIENCE   200  /* rounds without a better plan */

struct bar {
    size_t use;
    double key; /* the larger the sooner it is freed */
};

struct polish {
    struct dw_master *master;
    const struct dw_problem *p;
    const struct dw_prices *prices;
    const struct dw_relaxed *solved;
    struct dw_solution *best;
    struct dw_error *error;
    int64_t *freed; /* length of best's uses: bars freed of each */
    size_t freed_room;
    struct bar *bars;           /* length MAX_BARS */
    const struct dw_col **cols; /* length MAX_BARS: the freed bars' */
    struct dw_residual residual;
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

/* The bars that are not freed, and the columns of those that are. */
static bool part_bars(struct polish *s, struct dw_solution *stay, size_t *n_cols)
{
    bool ok = true;
    *n_cols = 0;
    for (size_t u = 0; ok && u < s->best->n; u++) {
        const struct dw_use_col *use = &s->best->uses[u];
        if (use->count > s->freed[u])
            ok = dw_solution__add(stay, use->col, use->count - s->freed[u]);
        if (s->freed[u] > 0)
            s->cols[(*n_cols)++] = use->col;
    }
    for (size_t i = 0; i < s->solved->start.n_cols; i++)
        s->cols[(*n_cols)++] = s->solved->start.cols[i];
    return ok;
}

static dw_err one_round(struct polish *s, size_t round, bool *better)
{
    struct dw_solution stay = {0};
    size_t n = LEAST_BARS + round % (MOST_BARS - LEAST_BARS + 1), n_cols = 0;
    *better = false;
    dw_err code =
        choose(s, n, round) && part_bars(s, &stay, &n_cols) ? DW_OK : dw_error__nomem(s->error);
    if (code == DW_OK)
        code = dw_residual__solve(&s->residual, &stay, s->cols, n_cols, round % 2 == 1,
                                  "branch and price, neighbourhoods", s->best, better, s->error);
    dw_solution__free(&stay);
    return code;
}

dw_err dw_polish__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_prices *prices, const struct dw_relaxed *solved, int64_t work,
                      size_t *round, dw_finish *finish, struct dw_solution *best,
                      struct dw_error *error)
{
    struct polish s = {.master = master,
                       .p = master->problem,
                       .prices = prices,
                       .solved = solved,
                       .best = best,
                       .error = error,
                       .random = 1994 + *round};
    s.bars = calloc(MAX_BARS, sizeof *s.bars);
    s.cols = calloc(MAX_BARS + solved->start.n_cols, sizeof *s.cols);
    bool ok = dw_residual__make(&s.residual, master, root, finish) && s.bars && s.cols;
    dw_err code = ok ? DW_OK : dw_error__nomem(error);
    size_t idle = 0;
    const int64_t end = master->effort->work + work;
    while (code == DW_OK && idle < PATIENCE && solved->bound < best->money &&
           !master->effort->stopped && master->effort->work < end) {
        bool better = false;
        code = one_round(&s, (*round)++, &better);
        idle = better ? 0 : idle + 1;
    }
    dw_residual__unmake(&s.residual);
    free(s.freed);
    free(s.bars);
    free(s.cols);
    return code;
}
