/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts of the search for stock lengths: past jobs, bounds, and jobs solved on a set. */
#ifndef DW_SOLVE_CHOOSE_LENGTHS_H
#define DW_SOLVE_CHOOSE_LENGTHS_H

#include "base/base.h"
#include "solve/solve.h"

#include <dropwise/lengths.h>

#define DW_LENGTHS_NEVER INT64_MAX /* money of a set that can't serve a job */

/* One surrogate of a past job: pieces weighed by their length, or by what a solved set made of them
 * (its duals). Any weights >= 0 give a bound. */
struct dw_lengths__view {
    int64_t demand;                /* sum of weights of all pieces */
    int64_t fill[DW_LENGTHS_MOST]; /* z_k: the most that a bar of length k can hold */
};

#define DW_LENGTHS_VIEWS 3

/* One past job. */
struct dw_lengths__past {
    size_t n_parts;
    const struct dw_part **parts; /* length n_parts */
    int64_t n_pieces;
    dw_length needed;  /* sum of the pieces at their least */
    dw_length longest; /* piece */
    size_t n_views;
    struct dw_lengths__view views[DW_LENGTHS_VIEWS]; /* the first one is by length */
};

struct dw_lengths__case {
    const struct dw_job *job;
    size_t material;
    size_t n; /* lengths of the catalogue */
    size_t supplies[DW_LENGTHS_MOST];
    dw_money price[DW_LENGTHS_MOST]; /* lowest, with squaring cuts */
    size_t n_past;
    struct dw_lengths__past *past; /* length n_past, the longest first */
    int64_t *table;                /* scratch of dw_lengths__learn */
    struct dw_arena *arena;
};

/* Gives every past job its view by length. DW_ERR_NOMEM. Cost: O(jobs x kinds x grid). */
dw_err dw_lengths__fill(struct dw_lengths__case *c, struct dw_error *error);

/* Adds a view by weights[n_parts] >= 0 if there is room for one. Cost: O(kinds log count x grid).
 */
void dw_lengths__learn(struct dw_lengths__case *c, struct dw_lengths__past *past,
                       const int64_t *weights);

/* A bound on the money of a past job from bars of `set` (bit k: length k), by its first n_views;
 * DW_LENGTHS_NEVER when its longest piece fits none. */
dw_money dw_lengths__bound(const struct dw_lengths__case *c, const struct dw_lengths__past *past,
                           uint32_t set, size_t n_views);

/* Room of a bar of length k for sizes l_i + w: U + w, or U - tail. */
dw_length dw_lengths__capacity(const struct dw_lengths__case *c, size_t k);

/* What came of one past job on a set. */
struct dw_lengths__answer {
    dw_money value; /* DW_LENGTHS_NEVER: not to be cut from the set */
    dw_money bound;
    int64_t bars[DW_LENGTHS_MOST];
};

/* The least bars that cover a view; false: it is not known which they are, or there are none. */
bool dw_lengths__cover(const struct dw_lengths__case *c, const struct dw_lengths__view *view,
                       uint32_t set, int64_t bars[DW_LENGTHS_MOST]);

/* Whether the pieces go into the bars of a cover that costs the bound: then *answer is exact.
 * Without memory: false. Cost: O(views x pieces x bars). */
bool dw_lengths__try(const struct dw_lengths__case *c, const struct dw_lengths__past *past,
                     uint32_t set, struct dw_lengths__answer *answer);

/* Solves n past jobs on a set, each by itself; answers[n]. What the duals tell is learnt as a view.
 * Errors as dw_solve. */
dw_err dw_lengths__solve(struct dw_lengths__case *c, uint32_t set, size_t n, const size_t *which,
                         const struct dw_settings *settings, const struct dw_hooks *hooks,
                         struct dw_lengths__answer *answers, struct dw_error *error);

#endif
