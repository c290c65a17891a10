/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Very many pieces of very many lengths, too many for an exact finish: priced bars of several
 * lengths, as little money as possible, with a bound that says how little could be possible.
 *
 *   min sum (c_k - v(x)) x_ka   s.t.  sum a_i x_ka = d_i,  sum_a x_ka <= u_k,
 *                                     x = C_k - sum l_i a_i >= 0
 *
 * Method: a greedy plan first, then two linear programs over M classes of neighbouring lengths.
 * Lengths rounded down to the shortest of their class give a bound; rounded up to the longest, a
 * plan whose slots any piece of the class fits. M doubles while work is left.
 * (Rounding of lengths to classes: Fernandez de la Vega and Lueker 1981.) */
#ifndef DW_SOLVE_BULK_BULK_H
#define DW_SOLVE_BULK_BULK_H

#include "solve/budget/effort.h"
#include "solve/group/list.h"
#include "solve/lp/lp.h"

struct dw_bulk_stock {
    int64_t capacity; /* C_k, kerf folded in as in textbook/csp.h */
    int64_t cost;     /* c_k >= 0 */
    int64_t count;    /* u_k; -1 = unlimited */
};

/* v(x): what x left of a bar earns. */
struct dw_bulk_credit {
    int64_t exact; /* more where x = 0; >= 0 */
    /* What the leftover is worth, >= 0, not decreasing; NULL: nothing. */
    int64_t (*worth)(const void *user, int64_t x);
    const void *user;
    /* worth(x) <= num / den max(0, x + plus), num >= 0, den >= 1 */
    int64_t num, den, plus;
};

struct dw_bulk {
    size_t n;
    const int64_t *size;   /* length n, strictly decreasing, 1 <= l_i <= max C_k <= 2^46 */
    const int64_t *demand; /* length n, >= 1 */
    size_t n_stocks;
    const struct dw_bulk_stock *stocks; /* length n_stocks */
    struct dw_bulk_credit credit;       /* may be more than the bar costs */
};

struct dw_bulk_layout {
    size_t stock;
    int64_t bars; /* >= 1 */
    size_t n_items;
    const struct dw_type_count *items; /* length n_items, decreasing length */
};

/* dual and scale prove the bound: sum dual_i a_i <= scale (c_k - v(x)) + mu_k for every layout a of
 * k, with mu_k = 0 for unlimited k, so  value >= (sum dual_i d_i - sum u_k mu_k) / scale. */
struct dw_bulk_plan {
    bool complete; /* every demand is met; false: limited stock ran out, layouts hold what fitted */
    size_t n_layouts;
    const struct dw_bulk_layout *layouts; /* length n_layouts */
    int64_t value;                        /* sum of cost less credit over the bars */
    int64_t bound;
    int64_t scale;          /* >= 1 */
    const int64_t *dual;    /* length n, >= 0 */
    struct dw_arena *arena; /* owns all of it */
};

/* The greedy plan alone when max_classes is 0; otherwise M climbs up
 * to it. Cost: greedy O(layouts n), an LP O(M) rows with tables of DW_BULK_CELLS cells. */
#define DW_BULK_CELLS 16384
dw_err dw_bulk__solve(const struct dw_bulk *problem, size_t max_classes, struct dw_effort *effort,
                      struct dw_lp_env *env, struct dw_bulk_plan **out, struct dw_error *error);
void dw_bulk__free(struct dw_bulk_plan *plan);

/* A bound without an LP or a table: *bound 0 where it proves nothing, then the rest is not set.
 * dual: length n. DW_ERR_NOMEM. Cost: O(n + K log K). */
dw_err dw_bulk__material(const struct dw_bulk *problem, int64_t *dual, int64_t *scale,
                         int64_t *bound);

/* --- between the files of the method -------------------------------------------------------- */

static inline int64_t dw_bulk__worth(const struct dw_bulk *problem, int64_t x)
{
    return problem->credit.worth ? problem->credit.worth(problem->credit.user, x) : 0;
}

/* v(x) */
static inline int64_t dw_bulk__credit(const struct dw_bulk *problem, int64_t x)
{
    return dw_bulk__worth(problem, x) + (x == 0 ? problem->credit.exact : 0);
}

/* A plan being made: layouts in a growing array, items in the arena. */
struct dw_bulk_draft {
    struct dw_arena *arena;
    struct dw_bulk_layout *layouts; /* heap */
    size_t n_layouts;
    size_t capacity;
    int64_t value;
    int64_t *left;  /* length n: demand not yet met; heap */
    int64_t *stock; /* length n_stocks: bars left, INT64_MAX = unlimited; heap */
};
dw_err dw_bulk__draft_new(const struct dw_bulk *problem, struct dw_bulk_draft *draft);
void dw_bulk__draft_free(struct dw_bulk_draft *draft);
/* Adds a layout and books its pieces and bars. */
dw_err dw_bulk__draft_add(const struct dw_bulk *problem, struct dw_bulk_draft *draft, size_t stock,
                          int64_t bars, size_t n_items, const struct dw_type_count *items);

/* Cuts all that draft->left holds, longest first, from the bar that costs least a used length;
 * `exact`: bars are filled exactly where the last two pieces can. false in *complete: no bar was
 * left for some piece. Cost: O(layouts (K log n + pieces a bar)). */
dw_err dw_bulk__greedy(const struct dw_bulk *problem, bool exact, struct dw_bulk_draft *draft,
                       bool *complete);

/* One LP over classes: class c holds the types first[c] .. first[c+1] - 1. */
struct dw_bulk_classes {
    size_t n;
    size_t *first;   /* length n + 1 */
    int64_t *demand; /* length n */
};
dw_err dw_bulk__bound(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                      struct dw_effort *effort, struct dw_lp_env *env, int64_t *dual,
                      int64_t *scale, int64_t *bound);
/* Offers the plans that it makes; offer may take a draft over and leaves zeros then. */
typedef void dw_bulk_offer(void *user, struct dw_bulk_draft *draft, bool complete);
dw_err dw_bulk__fill(const struct dw_bulk *problem, const struct dw_bulk_classes *classes,
                     struct dw_effort *effort, struct dw_lp_env *env, dw_bulk_offer *offer,
                     void *user);

#endif
