/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns of the master problem: the layouts of one bar, each made once and kept in a pool. */
#ifndef DW_SOLVE_GROUP_COLUMN_H
#define DW_SOLVE_GROUP_COLUMN_H

#include "solve/group/problem.h"

struct dw_entry {
    size_t item;
    int64_t count;
};

struct dw_col {
    size_t index; /* in the pool */
    size_t stock;
    size_t first;   /* of the stock's firsts; DW_NONE for a straight bar */
    int64_t left;   /* capacity that the pieces at their least lengths leave */
    int64_t slack;  /* what of it goes into longer pieces */
    bool kept;      /* the leftover is kept */
    dw_money money; /* all but the bar: cuts - phi - posts */
    size_t n;
    const struct dw_entry *entries; /* length n, increasing item; a bent first part included */
};

struct dw_pool {
    const struct dw_problem *problem;
    struct dw_arena *arena; /* owns the columns */
    size_t n, capacity;
    struct dw_col **cols; /* length n */
    size_t n_slots;       /* a power of two */
    size_t *slots;        /* open addressing: index + 1, 0 empty */
    size_t scratch_capacity;
    struct dw_entry *scratch; /* room for the entries of one column */
};

void dw_pool__init(struct dw_pool *pool, const struct dw_problem *problem);
void dw_pool__free(struct dw_pool *pool);

/* The pool's own copy of a column; index and money are set here, entries copied, sorted and equal
 * items joined. NULL: no memory. Cost: O(n log n). */
const struct dw_col *dw_pool__add(struct dw_pool *pool, const struct dw_col *draft);

/* Money of the column without the bar itself. Cost: O(n). */
dw_money dw_col__money(const struct dw_problem *problem, const struct dw_col *col);
/* Whether the bar holds no more pieces than it may. Cost: O(n). */
bool dw_col__holds(const struct dw_problem *problem, const struct dw_col *col);
/* Whether the bar is filled exactly. */
bool dw_col__exact(const struct dw_problem *problem, const struct dw_col *col);
/* Leftover r when it is kept, else 0. */
int64_t dw_col__kept_length(const struct dw_problem *problem, const struct dw_col *col);
/* Pieces of an item, without a bent first part. */
int64_t dw_col__tail_count(const struct dw_problem *problem, const struct dw_col *col, size_t item);

#endif
