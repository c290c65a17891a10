/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans from a short list of columns by trying them all: each part is cut just as often as wanted,
 * which makes it an exact cover (Knuth 2000, algorithm X: the part with the fewest columns left is
 * next), and no plan may spend more on reduced costs than there is between the bound and the money
 * that matters. In integers throughout: where nothing is found, nothing is there. */
#ifndef DW_SOLVE_SEARCH_COVER_H
#define DW_SOLVE_SEARCH_COVER_H

#include "solve/lp/relax.h"
#include "solve/group/solution.h"

enum dw_cover_result {
    DW_COVER_FOUND, /* *plan has one */
    DW_COVER_NONE,  /* there is none below the cutoff */
    DW_COVER_OPEN,  /* the steps are used up */
    DW_COVER_NOMEM,
};

/* Over relax->list, with the duals of `relaxed`; plans of the relaxation's counts that cost less
 * than `cutoff`. Appends to *plan. *steps: at most so many, counted down. Cost: O(steps times the
 * columns of an item). */
enum dw_cover_result dw_cover__run(const struct dw_problem *problem, const struct dw_relax *relax,
                                   const struct dw_relaxed *relaxed, dw_money cutoff,
                                   int64_t *steps, struct dw_solution *plan);

#endif
