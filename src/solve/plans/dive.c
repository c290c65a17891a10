/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rounding some columns up and pricing what remains, with a few choices taken back. */
#include "solve/plans/dive.h"
#include "solve/plans/remains.h"

#include <stdlib.h>
#include <string.h>

#define TAIL_BARS 16
#define MAX_BACK  3 /* times that a dive takes a choice back */
#define MAX_RANK  2 /* columns after the first that are tried at one place */

/* A relaxation with what has been fixed before it. */
struct level {
    const struct dw_relaxed *solved;
    struct dw_relaxed own; /* *solved, but for the first level's */
    int64_t *state;        /* demand, avail, lo and hi one after the other */
    dw_money base;
    struct dw_solution plan;
    size_t rank; /* of the column to round up */
};

struct dive {
    struct dw_master *master;
    const struct dw_problem *p;
    struct dw_remains rest;
    int64_t *scratch; /* length n_items + n_stocks */
    size_t n_levels, capacity;
    struct level *levels;        /* length n_levels */
    const struct dw_relax *root; /* NULL: the last bars are not planned exactly */
    dw_finish *finish;
};

/* The column of rank `rank` by x among those that still fit; DW_NONE if there are not so many. */
static size_t ranked(const struct dive *d, const struct dw_relaxed *solved, size_t rank)
{
    size_t best = DW_NONE, last = DW_NONE;
    for (size_t r = 0; r <= rank; r++, last = best) {
        best = DW_NONE;
        for (size_t j = 0; j < solved->n; j++) {
            double x = solved->support[j].x;
            bool after = last == DW_NONE || x < solved->support[last].x ||
                         (!(x > solved->support[last].x) && j > last);
            if (after && dw_remains__room(&d->rest, solved->support[j].col) > 0 &&
                (best == DW_NONE || x > solved->support[best].x))
                best = j;
        }
        if (best == DW_NONE)
            return DW_NONE;
    }
    return best;
}

/* Whole parts of all columns, if it is the first try; if there are none, one of the column nearest
 * to a whole one. Answers how many bars were fixed, -1 without memory. */
static int64_t round_some(struct dive *d, const struct dw_relaxed *solved, size_t rank)
{
    int64_t fixed = 0;
    for (size_t j = 0; j < solved->n; j++) {
        const struct dw_col *col = solved->support[j].col;
        int64_t times = (int64_t)(solved->support[j].x + 1e-6),
                room = dw_remains__room(&d->rest, col);
        times = times < room ? times : room;
        if (times > 0 && !dw_remains__fix(&d->rest, col, times))
            return -1;
        fixed += times > 0 ? times : 0;
    }
    if (fixed > 0)
        return rank > 0 ? 0 : fixed;
    size_t at = ranked(d, solved, rank);
    if (at == DW_NONE)
        return 0;
    return dw_remains__fix(&d->rest, solved->support[at].col, 1) ? 1 : -1;
}

/* --- levels ------------------------------------------------------------------------------- */

/* Copies between the dive and a level's state. */
static void move_state(const struct dive *d, struct level *level, bool save)
{
    int64_t *const parts[] = {d->rest.demand, d->rest.avail, d->rest.lo, d->rest.hi};
    const size_t sizes[] = {d->p->n_items, d->p->n_stocks, d->rest.relax.n_counts,
                            d->rest.relax.n_counts};
    int64_t *at = level->state;
    for (size_t i = 0; i < 4; at += sizes[i], i++)
        if (sizes[i] > 0)
            memcpy(save ? at : parts[i], save ? parts[i] : at, sizes[i] * sizeof *at);
}

/* Takes *own, or borrows `solved`. false: no memory. */
static bool push(struct dive *d, const struct dw_relaxed *solved, struct dw_relaxed *own)
{
    if (!dw_array__grow(&d->levels, &d->capacity, d->n_levels + 1, sizeof *d->levels))
        return false;
    struct level *level = &d->levels[d->n_levels++];
    *level = (struct level){.solved = solved, .base = d->rest.relax.base};
    if (own) {
        level->own = *own;
        *own = (struct dw_relaxed){0};
    }
    size_t n = d->p->n_items + d->p->n_stocks + 2 * d->rest.relax.n_counts;
    level->state = calloc(n + 1, sizeof *level->state);
    if (!level->state || !dw_solution__copy(&level->plan, &d->rest.plan))
        return false;
    move_state(d, level, true);
    return true;
}

static const struct dw_relaxed *solved_at(const struct level *level)
{
    return level->solved ? level->solved : &level->own;
}

static void pop(struct dive *d)
{
    struct level *level = &d->levels[--d->n_levels];
    dw_relaxed__free(&level->own);
    dw_solution__free(&level->plan);
    free(level->state);
}

/* Back to where the last level's choice was made. false: no memory. */
static bool take_back(struct dive *d)
{
    struct level *level = &d->levels[d->n_levels - 1];
    d->rest.relax.base = level->base;
    move_state(d, level, false);
    return dw_solution__copy(&d->rest.plan, &level->plan);
}

static void unmake(struct dive *d)
{
    dw_remains__unmake(&d->rest);
    free(d->scratch);
    while (d->n_levels > 0)
        pop(d);
    free(d->levels);
}

/* The bars that the relaxation of what remains takes. */
static double bars_left(const struct dw_relaxed *relaxed)
{
    double bars = 0;
    for (size_t j = 0; j < relaxed->n; j++)
        bars += relaxed->support[j].x;
    return bars;
}

static dw_err plan_tail(struct dive *d, const struct dw_relaxed *relaxed, struct dw_solution *best,
                        struct dw_error *error)
{
    struct dw_residual residual;
    bool better = false;
    dw_err code = DW_OK;
    if (dw_residual__make(&residual, d->master, d->root, d->finish))
        code = dw_residual__solve(
            &residual, &d->rest.plan, relaxed->start.cols, relaxed->start.n_cols, false,
            "column generation, diving, exact at the end", best, &better, error);
    else
        code = dw_error__nomem(error);
    dw_residual__unmake(&residual);
    return code;
}

static bool parts_left(const struct dive *d)
{
    for (size_t i = 0; i < d->p->n_items; i++)
        if (!d->p->items[i].post && d->rest.demand[i] > 0)
            return true;
    return false;
}

static bool take_if_better(struct dive *d, struct dw_solution *best)
{
    d->rest.plan.method = "column generation and diving";
    return dw_solution__offer(d->p, &d->rest.plan, d->scratch, best);
}

/* Fixes something at the last level and solves what remains. *deeper: that is a new level. */
static dw_err step(struct dive *d, struct dw_solution *best, bool *deeper, struct dw_error *error)
{
    const struct level *level = &d->levels[d->n_levels - 1];
    struct dw_relaxed next = {0};
    *deeper = false;
    int64_t fixed = round_some(d, solved_at(level), level->rank);
    if (fixed < 0 || (fixed > 0 && !parts_left(d) && !take_if_better(d, best)))
        return dw_error__nomem(error);
    if (fixed == 0 || d->master->effort->stopped)
        return DW_OK;
    /* Columns of the last LP that still fit are where the next one starts. */
    d->rest.relax.start = &solved_at(level)->start;
    d->rest.relax.cutoff = best->missing == 0 || d->p->missing ? best->money : INT64_MAX / 2;
    dw_err code = dw_relax__solve(d->master, &d->rest.relax, &next, error);
    *deeper = code == DW_OK && next.status != DW_RELAX_PRUNED && next.n > 0;
    if (*deeper && !push(d, NULL, &next))
        code = dw_error__nomem(error);
    dw_relaxed__free(&next);
    return code;
}

/* Depth first with a few choices taken back, the last ones first (limited discrepancy; Harvey and
 * Ginsberg 1995). */
static dw_err descend(struct dive *d, struct dw_solution *best, struct dw_error *error)
{
    bool tail = d->root && !d->p->missing && best->missing == 0;
    dw_err code = DW_OK;
    for (size_t back = 0; code == DW_OK && d->n_levels > 0 && !d->master->effort->stopped;) {
        bool deeper = false;
        code = step(d, best, &deeper, error);
        if (code == DW_OK && deeper && tail &&
            bars_left(solved_at(&d->levels[d->n_levels - 1])) <= TAIL_BARS) {
            code = plan_tail(d, solved_at(&d->levels[d->n_levels - 1]), best, error);
            tail = false;
        }
        if (deeper || code != DW_OK)
            continue;
        while (d->n_levels > 0 && d->levels[d->n_levels - 1].rank >= MAX_RANK)
            pop(d);
        if (d->n_levels == 0 || ++back > MAX_BACK)
            break;
        d->levels[d->n_levels - 1].rank++;
        if (!take_back(d))
            code = dw_error__nomem(error);
    }
    return code;
}

dw_err dw_dive__run(struct dw_master *master, const struct dw_relax *root,
                    const struct dw_relax *relax, const struct dw_relaxed *solved,
                    dw_finish *finish, struct dw_solution *best, struct dw_error *error)
{
    struct dive d = {.master = master, .p = master->problem, .root = root, .finish = finish};
    d.scratch = calloc(d.p->n_items + d.p->n_stocks + 1, sizeof *d.scratch);
    bool ok = dw_remains__make(&d.rest, d.p, relax) && d.scratch && push(&d, solved, NULL);
    dw_err code = ok ? descend(&d, best, error) : dw_error__nomem(error);
    unmake(&d);
    return code;
}
