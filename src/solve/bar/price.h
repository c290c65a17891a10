/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one-bar subproblem: which layout of a stock is worth most at given duals. */
#ifndef DW_SOLVE_BAR_PRICE_H
#define DW_SOLVE_BAR_PRICE_H

#include "solve/bar/count.h"
#include "solve/budget/effort.h"

struct dw_pricer;
struct dw_pricer *dw_pricer__new(const struct dw_problem *problem);
void dw_pricer__free(struct dw_pricer *pricer);

enum dw_load {
    DW_LOAD_DONE,
    DW_LOAD_LATE, /* given up, see dw_effort__late: the tables hold nothing */
    DW_LOAD_NO_MEMORY,
};
/* Fills the tables of one kind. prices and effort, which may be NULL, stay borrowed until the next
 * load.
 * Cost: O(cells sum min(demand, cap / size)). Returns the cost in *work. */
enum dw_load dw_pricer__load(struct dw_pricer *pricer, const struct dw_prices *prices, size_t kind,
                             struct dw_effort *effort, int64_t *work);

/* Largest value of a non-empty layout of a stock of the loaded kind; an upper bound of it when the
 * kind is coarse; DW_NEVER if there is none. */
int64_t dw_pricer__best(const struct dw_pricer *pricer, size_t stock);

/* Lists layouts of the stock with value >= *least, and says how it ended. `emit` gets a draft for
 * dw_pool__add and its value; it may raise *least, and stops the search by answering false. */
enum dw_listing {
    DW_LISTING_ALL,     /* every such layout was emitted */
    DW_LISTING_STOPPED, /* emit had enough */
    DW_LISTING_LIMIT,   /* max_steps were taken, or it is late */
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
