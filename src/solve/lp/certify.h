/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Integer duals that prove a bound, in the form of the plan's certificate. */
#ifndef DW_SOLVE_LP_CERTIFY_H
#define DW_SOLVE_LP_CERTIFY_H

#include "solve/lp/relax.h"

struct dw_certified {
    int64_t scale; /* 0: no certificate */
    int64_t *item; /* length n_items, in the signs of struct dw_prices; in the problem's arena */
    dw_money bound;
    bool searched; /* a search has proved more: */
    dw_money searched_bound;
    dw_money given_up; /* for fewer layouts, by the plan that was taken in the end */
};

/* What the duals of a relaxation without counts prove; keeps the better of it and *out. */
bool dw_certify__relaxed(struct dw_master *master, const struct dw_relax *relax,
                         const struct dw_relaxed *relaxed, struct dw_certified *out);
/* Duals without an LP: each piece at the least money a length of bars. */
bool dw_certify__material(struct dw_master *master, const struct dw_relax *relax,
                          struct dw_certified *out);

#endif
