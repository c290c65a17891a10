/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars of several lengths filled to the last, found by drawing. Where bars hold many pieces such
 * plans abound, and yet neither rounding nor branching comes upon one: each of its layouts is one
 * of thousands that are as good. The distribution of gibbs.h tells which choices leave the others
 * most room. */
#ifndef DW_SOLVE_FILL_FILL_H
#define DW_SOLVE_FILL_FILL_H

#include "solve/lp/relax.h"
#include "solve/group/solution.h"

struct dw_fill_bars {
    struct dw_col lead; /* what is on each of them already, and how its leftover is taken: `left` is
                           kept from it in any case, `slack` is what its pieces can take up */
    int64_t n;          /* all of them are to be cut */
    int64_t room;       /* of one: for the pieces to be cut; 1 at least */
    int64_t most_left;  /* of it may be left */
    bool counted;       /* one that leaves none of it counts as exact */
};

/* Cuts left[n_items] from just these bars of one kind, at least `exact` of those that are counted
 * without any waste. Layouts that the distribution says are nearly sure are fixed step by step,
 * with jumps back from dead ends; the last bars are searched exactly. Appends to *plan and sets
 * *found when that succeeds. Gives up when `work` is spent, or soon when plans are not expected to
 * abound. `seed`: another one, another search. DW_ERR_NOMEM. */
dw_err dw_fill__run(struct dw_master *master, const int64_t *left, const struct dw_fill_bars *bars,
                    size_t n_bars, int64_t exact, int64_t work, uint64_t seed,
                    struct dw_solution *plan, bool *found, struct dw_error *error);

#endif
