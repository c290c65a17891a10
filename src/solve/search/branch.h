/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to branch on: integer counts over the bars of a plan, from the coarsest to the finest. */
#ifndef DW_SOLVE_SEARCH_BRANCH_H
#define DW_SOLVE_SEARCH_BRANCH_H

#include "solve/lp/relax.h"

/* Whether a value is a whole number, as the LP can tell. */
bool dw_branch__is_whole(double value);

struct dw_branch {
    struct dw_bar_count count;
    double value;  /* of the count in the relaxation */
    bool at_point; /* a stepped stock with a whole count: split into below, at and above it */
};

/* A line below the money of n bars of a stock, for lo <= n <= hi: base + slope n. */
struct dw_line {
    dw_money base;
    dw_money slope;
};
struct dw_line dw_branch__line(const struct dw_problem *problem, size_t stock, int64_t lo,
                               int64_t hi);

/* Limits of a node; a relaxation may go without some of them. */
struct dw_branch_limits {
    size_t n;
    const struct dw_bar_count *counts; /* length n */
    const int64_t *lo, *hi;            /* length n */
};

/* `known`: all columns that matter are listed, so that any count will do. Counts that are beyond
 * their limits are left alone. Answers false when the solution is whole in every other count that
 * may be branched on. `open`: a count to be settled before those that do not bear on money, or
 * NULL. lines: length n_stocks, of the relaxation. *ok: false without memory. */
bool dw_branch__choose(const struct dw_problem *problem, const struct dw_relaxed *relaxed,
                       const struct dw_line *lines, const struct dw_branch_limits *limits,
                       const struct dw_branch *open, bool known, struct dw_branch *out, bool *ok);

#endif
