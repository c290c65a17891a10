/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/settled.h"
#include "solve/csp_core.h"
#include "solve/fill.h"
#include "solve/remains.h"

#include <math.h>
#include <stdlib.h>

static const double NOISE = 0.3; /* on how near to a whole one a column is */

struct settled {
    struct dw_master *master;
    const struct dw_problem *p;
    struct dw_remains rest;
    struct dw_fill_bars *bars; /* length 2 n_stocks */
    double *open;              /* length n_stocks: bars that are not filled exactly */
    int64_t *left;             /* length n_items */
    int64_t *scratch;          /* length n_items + n_stocks */
    uint64_t seed;
    struct dw_error *error;
};

static bool make(struct settled *s, const struct dw_relax *relax)
{
    const struct dw_problem *p = s->p;
    s->bars = calloc(2 * p->n_stocks + 1, sizeof *s->bars);
    s->open = calloc(p->n_stocks + 1, sizeof *s->open);
    s->left = calloc(p->n_items + 1, sizeof *s->left);
    s->scratch = calloc(p->n_items + p->n_stocks + 1, sizeof *s->scratch);
    return dw_remains__make(&s->rest, p, relax) && s->bars && s->open && s->left && s->scratch;
}

static void unmake(struct settled *s)
{
    dw_remains__unmake(&s->rest);
    free(s->bars);
    free(s->open);
    free(s->left);
    free(s->scratch);
}

/* No other bars than those of the relaxation. */
static void freeze_bars(struct settled *s, const struct dw_relaxed *solved)
{
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        double bars = 0;
        for (size_t j = 0; j < solved->n; j++)
            bars += solved->support[j].col->stock == k ? solved->support[j].x : 0;
        s->rest.avail[k] = (int64_t)(bars + 0.5);
    }
}

/* --- bars that are not simply filled ------------------------------------------------------ */

static bool is_special(const struct dw_problem *p, const struct dw_col *col)
{
    bool special = col->first != DW_NONE || col->slack > 0 || col->kept;
    for (size_t i = 0; i < col->n; i++)
        special = special || p->items[col->entries[i].item].post;
    return special;
}

/* Whole parts of all such columns; if there are none, one of a column near to a whole one. Answers
 * how many bars were fixed, -1 without memory. */
static int64_t round_some(struct settled *s, const struct dw_relaxed *solved)
{
    int64_t fixed = 0;
    const struct dw_support *best = NULL;
    double most = 0;
    for (size_t j = 0; j < solved->n; j++) {
        const struct dw_support *support = &solved->support[j];
        if (!is_special(s->p, support->col))
            continue;
        int64_t times = (int64_t)(support->x + 1e-6),
                room = dw_remains__room(&s->rest, support->col);
        times = times < room ? times : room;
        if (times > 0 && !dw_remains__fix(&s->rest, support->col, times))
            return -1;
        fixed += times > 0 ? times : 0;
        double near = support->x + NOISE * dw_csp__uniform(&s->seed);
        if (room > 0 && (!best || near > most)) {
            best = support;
            most = near;
        }
    }
    if (fixed > 0 || !best)
        return fixed;
    return dw_remains__fix(&s->rest, best->col, 1) ? 1 : -1;
}

/* *solved: of what remains. *open: such bars are left, or nothing cheap enough. */
static dw_err round_special(struct settled *s, struct dw_relaxed *solved, bool *open)
{
    dw_err code = DW_OK;
    *open = false;
    for (int64_t fixed = round_some(s, solved); fixed != 0; fixed = round_some(s, solved)) {
        struct dw_relaxed next = {0};
        if (fixed < 0)
            return dw_error__nomem(s->error);
        s->rest.relax.start = &solved->start;
        code = dw_relax__solve(s->master, &s->rest.relax, &next, s->error);
        *open = code != DW_OK || next.status != DW_RELAX_OPTIMAL || s->master->effort->stopped;
        dw_relaxed__free(solved);
        *solved = next;
        if (*open)
            return code;
    }
    for (size_t j = 0; j < solved->n; j++)
        *open = *open || is_special(s->p, solved->support[j].col);
    return code;
}

/* --- bars that are ------------------------------------------------------------------------ */

/* One more bar of the stock that is most often not filled exactly; false: all are open. */
static bool open_one(struct settled *s)
{
    size_t best = DW_NONE;
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        if (s->bars[2 * k].n == 0)
            continue;
        bool longer = best != DW_NONE && fabs(s->open[k] - s->open[best]) < 1e-6 &&
                      s->p->stocks[k].cap > s->p->stocks[best].cap;
        if (best == DW_NONE || longer || s->open[k] > s->open[best] + 1e-6)
            best = k;
    }
    if (best == DW_NONE)
        return false;
    s->bars[2 * best].n--;
    s->bars[2 * best + 1].n++;
    s->open[best]--;
    return true;
}

/* As many bars are open as in the relaxation; all of them where an exact fill saves nothing. */
static void choose_bars(struct settled *s, const struct dw_relaxed *solved)
{
    const bool exact = dw_problem__saves_cut(s->p);
    double open = 0;
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        bool straight = s->p->stocks[k].n_firsts == 0;
        s->bars[2 * k] = (struct dw_fill_bars){k, straight ? s->rest.avail[k] : 0, false};
        s->bars[2 * k + 1] = (struct dw_fill_bars){k, 0, true};
        s->open[k] = 0;
    }
    for (size_t j = 0; j < solved->n; j++) {
        const struct dw_support *support = &solved->support[j];
        if (exact && dw_col__exact(s->p, support->col))
            continue;
        s->open[support->col->stock] += support->x;
        open += support->x;
    }
    int64_t n_open = exact ? (int64_t)ceil(open - 1e-6) : s->p->n_pieces;
    while (n_open-- > 0 && open_one(s))
        continue;
}

static size_t drop_empty(struct settled *s)
{
    size_t n = 0;
    for (size_t k = 0; k < 2 * s->p->n_stocks; k++)
        if (s->bars[k].n > 0)
            s->bars[n++] = s->bars[k];
    return n;
}

static dw_err fill_bars(struct settled *s, const struct dw_relaxed *solved, int64_t work,
                        uint64_t seed, struct dw_solution *best)
{
    bool found = false;
    choose_bars(s, solved);
    size_t n_bars = drop_empty(s);
    for (size_t i = 0; i < s->p->n_items; i++)
        s->left[i] = s->p->items[i].post ? 0 : s->rest.demand[i];
    dw_err code = dw_fill__run(s->master, s->left, s->bars, n_bars, work, seed, &s->rest.plan,
                               &found, s->error);
    if (code != DW_OK || !found)
        return code;
    s->rest.plan.method = "column generation, layouts drawn";
    if (dw_solution__settle(s->p, &s->rest.plan, s->scratch) &&
        dw_solution__better(&s->rest.plan, best) && !dw_solution__copy(best, &s->rest.plan))
        code = dw_error__nomem(s->error);
    return code;
}

dw_err dw_settled__plan(struct dw_master *master, const struct dw_relax *relax,
                        const struct dw_relaxed *solved, int64_t work, uint64_t seed,
                        struct dw_solution *best, struct dw_error *error)
{
    struct settled s = {.master = master,
                        .p = master->problem,
                        .seed = UINT64_C(0xD1B54A32D192ED03) * (2 * seed + 1), /* never 0 */
                        .error = error};
    struct dw_relaxed now = {0};
    bool open = false;
    if (s.p->n_kinds != 1)
        return DW_OK;
    dw_err code = make(&s, relax) ? DW_OK : dw_error__nomem(error);
    if (code == DW_OK) {
        freeze_bars(&s, solved);
        s.rest.relax.cutoff = best->money;
        s.rest.relax.start = &solved->start;
        code = dw_relax__solve(master, &s.rest.relax, &now, error);
        open = now.status != DW_RELAX_OPTIMAL;
    }
    if (code == DW_OK && !open)
        code = round_special(&s, &now, &open);
    if (code == DW_OK && !open)
        code = fill_bars(&s, &now, work, seed, best);
    dw_relaxed__free(&now);
    unmake(&s);
    return code;
}
