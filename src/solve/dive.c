/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/dive.h"

#include <stdlib.h>
#include <string.h>

struct dive {
    struct dw_master *master;
    const struct dw_problem *p;
    struct dw_relax relax; /* of what remains */
    int64_t *demand;       /* length n_items */
    int64_t *avail;        /* length n_stocks */
    int64_t *lo;           /* length n_counts */
    int64_t *hi;           /* length n_counts */
    int64_t *scratch;      /* length n_items + n_stocks */
    struct dw_solution plan;
    size_t avoid;
};

static bool make(struct dive *d, const struct dw_relax *relax)
{
    const struct dw_problem *p = d->p;
    d->relax = *relax;
    d->demand = calloc(p->n_items + 1, sizeof *d->demand);
    d->avail = calloc(p->n_stocks + 1, sizeof *d->avail);
    d->lo = calloc(relax->n_counts + 1, sizeof *d->lo);
    d->hi = calloc(relax->n_counts + 1, sizeof *d->hi);
    d->scratch = calloc(p->n_items + p->n_stocks + 1, sizeof *d->scratch);
    if (!d->demand || !d->avail || !d->lo || !d->hi || !d->scratch)
        return false;
    memcpy(d->demand, relax->demand, p->n_items * sizeof *d->demand);
    memcpy(d->avail, relax->avail, p->n_stocks * sizeof *d->avail);
    for (size_t c = 0; c < relax->n_counts; c++) {
        d->lo[c] = relax->lo[c];
        d->hi[c] = relax->hi[c];
    }
    d->relax.demand = d->demand;
    d->relax.avail = d->avail;
    d->relax.lo = d->lo;
    d->relax.hi = d->hi;
    return true;
}

static void unmake(struct dive *d)
{
    free(d->demand);
    free(d->avail);
    free(d->lo);
    free(d->hi);
    free(d->scratch);
    dw_solution__free(&d->plan);
}

/* How often the column can still be cut. */
static int64_t room_for(const struct dive *d, const struct dw_col *col)
{
    int64_t room = d->avail[col->stock];
    for (size_t i = 0; i < col->n; i++) {
        int64_t fits = d->demand[col->entries[i].item] / col->entries[i].count;
        room = fits < room ? fits : room;
    }
    for (size_t c = 0; c < d->relax.n_counts; c++) {
        int64_t of = dw_count__of(d->p, &d->relax.counts[c], col);
        if (of > 0 && d->hi[c] != DW_NO_LIMIT && d->hi[c] / of < room)
            room = d->hi[c] / of;
    }
    return room;
}

static bool fix(struct dive *d, const struct dw_col *col, int64_t times)
{
    for (size_t i = 0; i < col->n; i++)
        d->demand[col->entries[i].item] -= col->entries[i].count * times;
    d->avail[col->stock] -= times;
    for (size_t c = 0; c < d->relax.n_counts; c++) {
        int64_t of = dw_count__of(d->p, &d->relax.counts[c], col) * times;
        d->lo[c] -= of;
        if (d->hi[c] != DW_NO_LIMIT)
            d->hi[c] -= of;
    }
    d->relax.base += (d->relax.bar[col->stock] + col->money) * times;
    return dw_solution__add(&d->plan, col, times);
}

/* Whole parts of all columns; if there are none, one of the column nearest to a whole one. Answers
 * how many bars were fixed, -1 without memory. */
static int64_t round_some(struct dive *d, const struct dw_support *support, size_t n)
{
    int64_t fixed = 0;
    size_t best = DW_NONE;
    for (size_t j = 0; j < n; j++) {
        int64_t times = (int64_t)(support[j].x + 1e-6), room = room_for(d, support[j].col);
        times = times < room ? times : room;
        if (times > 0 && !fix(d, support[j].col, times))
            return -1;
        fixed += times > 0 ? times : 0;
    }
    if (fixed > 0)
        return fixed;
    size_t skip = d->avoid;
    d->avoid = 0;
    for (size_t pass = 0; pass <= skip; pass++) {
        size_t at = DW_NONE;
        for (size_t j = 0; j < n; j++)
            if (room_for(d, support[j].col) > 0 &&
                (at == DW_NONE || support[j].x > support[at].x) &&
                (best == DW_NONE || support[j].x < support[best].x))
                at = j;
        best = at == DW_NONE ? best : at;
    }
    if (best == DW_NONE)
        return 0;
    return fix(d, support[best].col, 1) ? 1 : -1;
}

static bool parts_left(const struct dive *d)
{
    for (size_t i = 0; i < d->p->n_items; i++)
        if (!d->p->items[i].post && d->demand[i] > 0)
            return true;
    return false;
}

static bool take_if_better(struct dive *d, struct dw_solution *best)
{
    d->plan.method = "column generation and diving";
    bool valid = dw_solution__settle(d->p, &d->plan, d->scratch);
    if (!valid || !dw_solution__better(&d->plan, best))
        return true;
    return dw_solution__copy(best, &d->plan);
}

/* Columns of the last LP that still fit are where the next one starts. */
static dw_err descend(struct dive *d, const struct dw_relaxed *solved, struct dw_solution *best,
                      struct dw_error *error)
{
    struct dw_relaxed last = {0};
    const struct dw_relaxed *from = solved;
    dw_err code = DW_OK;
    for (;;) {
        int64_t fixed = round_some(d, from->support, from->n);
        if (fixed < 0)
            code = dw_error__nomem(error);
        if (fixed <= 0 || d->master->effort->stopped)
            break;
        if (!parts_left(d) && !take_if_better(d, best)) {
            code = dw_error__nomem(error);
            break;
        }
        struct dw_start start = from->start;
        start.n_status = 0;
        d->relax.start = &start;
        d->relax.cutoff = best->missing == 0 || d->p->missing ? best->money : INT64_MAX / 2;
        struct dw_relaxed next;
        code = dw_relax__solve(d->master, &d->relax, &next, error);
        dw_relaxed__free(&last);
        last = next;
        from = &last;
        if (code != DW_OK || next.status == DW_RELAX_PRUNED || next.n == 0)
            break;
    }
    dw_relaxed__free(&last);
    return code;
}

dw_err dw_dive__run(struct dw_master *master, const struct dw_relax *relax,
                    const struct dw_relaxed *solved, size_t avoid, struct dw_solution *best,
                    struct dw_error *error)
{
    struct dive d = {.master = master, .p = master->problem, .avoid = avoid};
    dw_err code = make(&d, relax) ? descend(&d, solved, best, error) : dw_error__nomem(error);
    unmake(&d);
    return code;
}
