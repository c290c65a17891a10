/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Listing all columns of small reduced cost, kind by kind. */
#include "solve/search/known.h"

#include <stdlib.h>

#define STEPS_A_COL 100

struct dw_known {
    size_t users;
    size_t n, capacity;
    const struct dw_col **cols; /* length n */
};

struct lister {
    struct dw_master *master;
    struct dw_known *known;
    size_t n; /* columns found */
    size_t most;
    bool nomem;
};

struct dw_known *dw_known__share(struct dw_known *known)
{
    if (known)
        known->users++;
    return known;
}

void dw_known__drop(struct dw_known *known)
{
    if (!known || --known->users > 0)
        return;
    free(known->cols);
    free(known);
}

const struct dw_col *const *dw_known__cols(const struct dw_known *known)
{
    return known->cols;
}

size_t dw_known__n(const struct dw_known *known)
{
    return known->n;
}

static bool keep(struct lister *lister, const struct dw_col *col)
{
    struct dw_known *known = lister->known;
    if (!dw_array__grow(&known->cols, &known->capacity, known->n + 1, sizeof *known->cols)) {
        lister->nomem = true;
        return false;
    }
    known->cols[known->n++] = col;
    return true;
}

static bool count(void *user, const struct dw_col *draft, int64_t value, int64_t *least)
{
    struct lister *lister = user;
    (void)draft;
    (void)value;
    (void)least;
    return ++lister->n <= lister->most;
}

static bool emit(void *user, const struct dw_col *draft, int64_t value, int64_t *least)
{
    struct lister *lister = user;
    (void)value;
    (void)least;
    const struct dw_col *col = dw_pool__add(lister->master->pool, draft);
    lister->nomem = lister->nomem || !col;
    return col && keep(lister, col);
}

/* Least value (minus the largest reduced cost) of a column that matters. */
static int64_t least_value(const struct dw_problem *p, const struct dw_relax *relax,
                           const struct dw_relaxed *relaxed, dw_money value)
{
    dw_wide gap = dw_relaxed__room(p, relax, relaxed, value);
    return gap > INT64_MAX / 8 ? INT64_MIN / 8 : -(int64_t)gap;
}

/* false: too many. */
static bool list_with(struct lister *lister, const struct dw_relax *relax,
                      const struct dw_relaxed *relaxed, int64_t least, dw_emit *what)
{
    const struct dw_problem *p = lister->master->problem;
    struct dw_pricer *pricer = lister->master->pricer;
    int64_t work = 0;
    for (size_t q = 0; q < p->n_kinds; q++) {
        enum dw_load how =
            dw_pricer__load(pricer, &relaxed->prices, q, lister->master->effort, &work);
        lister->nomem = how == DW_LOAD_NO_MEMORY;
        if (how != DW_LOAD_DONE)
            return false;
        for (size_t k = 0; k < p->n_stocks; k++) {
            if (p->stocks[k].kind != q || relax->avail[k] == 0 ||
                dw_pricer__best(pricer, k) < least)
                continue;
            if (dw_pricer__list(pricer, k, least, STEPS_A_COL * (int64_t)lister->most, what,
                                lister) != DW_LISTING_ALL)
                return false;
        }
    }
    dw_effort__spend(lister->master->effort, work / 1000 + (int64_t)lister->n / 10);
    return true;
}

/* Counts first: a listing that is too long leaves no trace. */
static bool list_all(struct lister *lister, const struct dw_relax *relax,
                     const struct dw_relaxed *relaxed, int64_t least)
{
    return list_with(lister, relax, relaxed, least, count) &&
           list_with(lister, relax, relaxed, least, emit);
}

static bool filter(struct lister *lister, const struct dw_relaxed *relaxed,
                   const struct dw_known *above, int64_t least)
{
    struct dw_valuer *valuer = &lister->master->valuer;
    if (!dw_valuer__load(valuer, lister->master->problem, &relaxed->prices)) {
        lister->nomem = true;
        return false;
    }
    for (size_t c = 0; c < above->n; c++)
        if (dw_valuer__of(valuer, above->cols[c]) >= least && !keep(lister, above->cols[c]))
            return false;
    return true;
}

dw_err dw_known__list(struct dw_master *master, const struct dw_relax *relax,
                      const struct dw_relaxed *relaxed, struct dw_known *above, dw_money value,
                      size_t most, struct dw_known **out, struct dw_error *error)
{
    *out = NULL;
    struct lister lister = {
        .master = master, .most = most, .known = calloc(1, sizeof *lister.known)};
    if (!lister.known)
        return dw_error__nomem(error);
    lister.known->users = 1;
    int64_t least = least_value(master->problem, relax, relaxed, value);
    bool complete =
        above ? filter(&lister, relaxed, above, least) : list_all(&lister, relax, relaxed, least);
    if (complete)
        *out = lister.known;
    else
        dw_known__drop(lister.known);
    return lister.nomem ? dw_error__nomem(error) : DW_OK;
}
