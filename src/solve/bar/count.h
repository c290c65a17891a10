/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Counts over the bars of a plan, that may be bounded, and integer duals of these and of items. */
#ifndef DW_SOLVE_BAR_COUNT_H
#define DW_SOLVE_BAR_COUNT_H

#include "solve/group/column.h"

/* Counts over the bars of a plan that can be bounded without making the subproblem harder: each
 * adds a constant to a zone of its tables, or to the worth of an item. */
enum dw_bar_count_kind {
    DW_COUNT_BARS,  /* all bars */
    DW_COUNT_STOCK, /* bars of stock a */
    DW_COUNT_MADE,  /* pieces of item a */
    DW_COUNT_KEPT,  /* bars that leave an offcut of length >= b */
    DW_COUNT_EXACT, /* bars filled exactly */
    DW_COUNT_WASTE, /* bars that leave b nm of their capacity or more, not kept */
    DW_COUNT_LEVEL, /* bars with at least b straight pieces of item a */
    DW_COUNT_PAIR,  /* bars with items a and b (known columns only) */
    DW_COUNT_COL,   /* bars of column a (known columns only) */
    DW_COUNT_CUT,   /* a parity cut (known columns only) */
};

/* Thresholds of one item that may be bounded at a time. */
#define DW_LEVELS_MAX 16

struct dw_parity_cut;

struct dw_bar_count {
    enum dw_bar_count_kind kind;
    size_t a;
    int64_t b;
    const struct dw_parity_cut *cut; /* DW_COUNT_CUT; else NULL */
};

/* How much a column adds to the count. Cost: O(n), of a cut that of the counts in it. */
int64_t dw_bar_count__of(const struct dw_problem *problem, const struct dw_bar_count *count,
                         const struct dw_col *col);

/* --- parity cuts (search/parity.h) --------------------------------------------------------- */

/* A count that takes part: sign 0 an equality, -1 at most, 1 at least so many. */
struct dw_parity_count {
    struct dw_bar_count count;
    int sign;
};

struct dw_parity_cut {
    const unsigned char *item; /* length n_items: 1: its row takes part */
    bool posts;                /* rows of posts do */
    const unsigned char
        *odd;             /* length n_stocks: 1: rows of its bars, or of all bars, are odd ... */
    const int32_t *slack; /* ... and what a bar adds to their slacks */
    size_t n_counts;
    const struct dw_parity_count
        *counts;   /* length n_counts: those that ask for more than the stock */
    int64_t least; /* right side: sum of coefficients x >= least */
};

/* Coefficient of a column. Cost: that of the counts that take part. */
int64_t dw_parity__of(const struct dw_problem *problem, const struct dw_parity_cut *cut,
                      const struct dw_col *col);

/* --- duals --------------------------------------------------------------------------------- */

/* Integer duals over a common denominator. */
struct dw_prices {
    int64_t scale;
    int64_t *item;  /* length n_items: a part's >= 0, a post's <= 0 */
    int64_t *stock; /* length n_stocks: of the supply limit, <= 0 */
    size_t n_counts;
    struct dw_bar_count *counts; /* length n_counts */
    int64_t *count;              /* length n_counts, any sign */
    const dw_money *bar;         /* length n_stocks: money of one bar */
    const int64_t *demand;       /* length n_items: no layout takes more */
};

/* sum of duals of the column - scale * its money: minus its reduced cost. Cost: O(n counts). */
int64_t dw_prices__value(const struct dw_problem *problem, const struct dw_prices *prices,
                         const struct dw_col *col);

#endif
