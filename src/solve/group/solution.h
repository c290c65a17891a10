/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole plans of a group in the solver's form: columns with how often each is cut. */
#ifndef DW_SOLVE_GROUP_SOLUTION_H
#define DW_SOLVE_GROUP_SOLUTION_H

#include "solve/group/column.h"

struct dw_use_col {
    const struct dw_col *col;
    int64_t count; /* >= 1 */
};

struct dw_solution {
    size_t n, capacity;
    struct dw_use_col *uses; /* length n; owned */
    size_t end;              /* above the pool index of every column in it */
    dw_money money;          /* set by dw_solution__settle */
    int64_t missing;         /* weight of the pieces of parts that it does not give; likewise */
    const char *method;
};

void dw_solution__free(struct dw_solution *solution);
/* Empties it, keeps the memory. */
void dw_solution__clear(struct dw_solution *solution);
/* false: no memory. Equal columns are joined. Cost: O(n). */
bool dw_solution__add(struct dw_solution *solution, const struct dw_col *col, int64_t count);
bool dw_solution__copy(struct dw_solution *to, const struct dw_solution *from);

/* Works out money and missing pieces, and answers whether it keeps every limit: supply, cap on
 * kept leftovers, posts. Under `problem->missing`, money is the weight of missing pieces.
 * `scratch`: length n_items + n_stocks. Cost: O(entries). */
bool dw_solution__settle(const struct dw_problem *problem, struct dw_solution *solution,
                         int64_t *scratch);

/* Takes surplus pieces out where the leftover allows it, which never costs money. false: no memory.
 */
bool dw_solution__trim(const struct dw_problem *problem, struct dw_pool *pool,
                       struct dw_solution *solution, int64_t *scratch);

/* Whether a, settled, is to be preferred: fewer missing, less money, fewer bars, fewer layouts. */
bool dw_solution__better(const struct dw_solution *a, const struct dw_solution *b);
/* Settles the plan and copies it to *best if it keeps every limit and is to be preferred. false: no
 * memory. */
bool dw_solution__offer(const struct dw_problem *problem, struct dw_solution *plan,
                        int64_t *scratch, struct dw_solution *best);
int64_t dw_solution__bars(const struct dw_solution *solution);

#endif
