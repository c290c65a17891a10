/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is read off a relaxation that is solved. */
#include "solve/lp/relax.h"

#include <stdlib.h>

void dw_relaxed__free(struct dw_relaxed *relaxed)
{
    free(relaxed->support);
    free(relaxed->most);
    dw_prices__free(&relaxed->prices);
    dw_start__free(&relaxed->start);
    *relaxed = (struct dw_relaxed){0};
}

dw_money dw_ladder__up(const struct dw_ladder *ladder, dw_money money)
{
    if (ladder->step == 0)
        return money;
    return ladder->phase + dw_ceil__div(money - ladder->phase, ladder->step) * ladder->step;
}

dw_money dw_relax__round(dw_money grid, dw_wide numer, int64_t scale, dw_money base)
{
    dw_wide unit = (dw_wide)scale * grid;
    dw_wide sum = numer + (dw_wide)base * scale;
    dw_wide quotient = sum / unit;
    if (sum % unit > 0)
        quotient++;
    quotient *= grid;
    if (quotient < INT64_MIN / 2)
        return INT64_MIN / 2;
    return quotient > INT64_MAX / 2 ? INT64_MAX / 2 : (dw_money)quotient;
}

dw_wide dw_relaxed__room(const struct dw_problem *problem, const struct dw_relax *relax,
                         const struct dw_relaxed *relaxed, dw_money cutoff)
{
    return ((dw_wide)cutoff - problem->grid - relax->base) * relaxed->prices.scale - relaxed->numer;
}

void dw_relaxed__replace(struct dw_relaxed *relaxed, struct dw_relaxed *next)
{
    next->bound = next->bound < relaxed->bound ? relaxed->bound : next->bound;
    dw_relaxed__free(relaxed);
    *relaxed = *next;
    *next = (struct dw_relaxed){0};
}

void dw_relaxed__bars(const struct dw_problem *problem, const struct dw_relaxed *relaxed,
                      double *bars)
{
    for (size_t k = 0; k < problem->n_stocks; k++)
        bars[k] = 0;
    for (size_t j = 0; j < relaxed->n; j++)
        bars[relaxed->support[j].col->stock] += relaxed->support[j].x;
}

double dw_relaxed__count(const struct dw_problem *problem, const struct dw_relaxed *relaxed,
                         const struct dw_bar_count *count)
{
    double sum = 0;
    for (size_t j = 0; j < relaxed->n; j++)
        sum += relaxed->support[j].x *
               (double)dw_bar_count__of(problem, count, relaxed->support[j].col);
    return sum;
}
