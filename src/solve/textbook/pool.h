/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Complete search where the layouts that a plan can have are all known. */
#ifndef DW_SOLVE_TEXTBOOK_POOL_H
#define DW_SOLVE_TEXTBOOK_POOL_H

#include "solve/textbook/core.h"
#include "solve/textbook/tree.h"

/* What is to be cut, and every layout that a plan for it can have. */
struct dw_csp__pool_task {
    const int64_t *left; /* length n: pieces still to be cut, exactly */
    int64_t bars;        /* from so many */
    int64_t waste;       /* in all */
    const struct dw_layout_list *layouts;
    int64_t nodes; /* gives up after so many LPs; 0: never */
};

/* YES: the plan was appended to list. NO: proved that there is none. Depth first: the type with the
 * fewest layouts goes through all of them, those that the LP likes first; a layout is ruled out
 * where it does not fit any more, where the LP's duals, rounded to integers, leave it too little
 * value for the bars left (reduced-cost fixing: Dantzig, Fulkerson, Johnson 1954), and after its
 * own branch has failed. */
enum dw_csp__answer dw_csp__pool(struct dw_csp__state *state, const struct dw_csp__pool_task *task,
                                 struct dw_layout_list *list);

#endif
