/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one-bar subproblem: which layout of a stock is worth most at given duals. */
#ifndef DW_SOLVE_BAR_PRICE_H
#define DW_SOLVE_BAR_PRICE_H

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

struct dw_pricer;
struct dw_pricer *dw_pricer__new(const struct dw_problem *problem);
void dw_pricer__free(struct dw_pricer *pricer);

/* Fills the tables of one kind. false: no memory. prices stays borrowed until the next load.
 * Cost: O(cells sum min(demand, cap / size)). Returns the cost in *work. */
bool dw_pricer__load(struct dw_pricer *pricer, const struct dw_prices *prices, size_t kind,
                     int64_t *work);

/* Largest value of a non-empty layout of a stock of the loaded kind; an upper bound of it when the
 * kind is coarse; DW_NEVER if there is none. */
int64_t dw_pricer__best(const struct dw_pricer *pricer, size_t stock);

/* Lists layouts of the stock with value >= *least, and says how it ended. `emit` gets a draft for
 * dw_pool__add and its value; it may raise *least, and stops the search by answering false. */
enum dw_listing {
    DW_LISTING_ALL,     /* every such layout was emitted */
    DW_LISTING_STOPPED, /* emit had enough */
    DW_LISTING_LIMIT,   /* max_steps were taken */
};
typedef bool dw_emit(void *user, const struct dw_col *draft, int64_t value, int64_t *least);
enum dw_listing dw_pricer__list(struct dw_pricer *pricer, size_t stock, int64_t least,
                                int64_t max_steps, dw_emit *emit, void *user);

/* The same for the layouts whose first straight piece in order of size is item number `lead` of
 * the kind (straight stock) or that begin with first `lead` (end-bent stock). */
enum dw_listing dw_pricer__list_lead(struct dw_pricer *pricer, size_t stock, size_t lead,
                                     int64_t least, int64_t max_steps, dw_emit *emit, void *user);
/* Largest value with that lead; DW_NEVER if none. n leads of a stock from dw_pricer__n_leads. */
size_t dw_pricer__n_leads(const struct dw_pricer *pricer, size_t stock);
int64_t dw_pricer__best_lead(const struct dw_pricer *pricer, size_t stock, size_t lead);

#endif
