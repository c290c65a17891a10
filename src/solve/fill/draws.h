/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts drawn from the distribution of gibbs.h, the most expected first. */
#ifndef DW_SOLVE_FILL_DRAWS_H
#define DW_SOLVE_FILL_DRAWS_H

#include "solve/fill/gibbs.h"

#define DW_DRAWS_MOST ((size_t)2000)

struct dw_draw {
    double rank;     /* expected, with a little noise where that is asked for */
    double expected; /* bars cut like this */
    int64_t waste;
    size_t first, n; /* in items */
};

/* Zero-initialise; end with dw_draws__free. */
struct dw_draws {
    size_t n;
    struct dw_draw *list; /* length n, at most DW_DRAWS_MOST */
    size_t n_items, item_room;
    struct dw_type_count *items; /* of all of them */
};

bool dw_draws__make(struct dw_draws *draws); /* false: no memory */
void dw_draws__free(struct dw_draws *draws);
void dw_draws__clear(struct dw_draws *draws);

/* One more layout over n_types types, unless the draw does not
 * fit. noisy: up to a quarter is added to its rank. false: no memory. */
bool dw_draws__take(struct dw_draws *draws, struct dw_gibbs *gibbs, size_t n_types, bool noisy,
                    uint64_t *seed);
void dw_draws__rank(struct dw_draws *draws);
/* Whether two draws are one and the same layout. */
bool dw_draws__same(const struct dw_draws *draws, const struct dw_draw *a, const struct dw_draw *b);

#endif
