/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of ordered.h share: the market, its nodes, and plans of sets at given prices. */
#ifndef DW_SOLVE_ORDERED_CORE_H
#define DW_SOLVE_ORDERED_CORE_H

#include "model/charges.h"
#include "solve/ordered.h"

#define DW_PPM_ONE INT64_C(1000000)

/* A new bar of a supplier that charges. */
struct dw_ware {
    size_t supply; /* of the job */
    size_t seller; /* of the market */
    size_t set;    /* of the market */
    int64_t pack;
    int64_t most;   /* more is never bought; a multiple of pack */
    dw_money worth; /* phi(L) of one for the shelf */
};

/* A supplier that charges and sells bars of the group. */
struct dw_seller {
    size_t supplier; /* of the job */
    const struct dw_supplier *terms;
    struct dw_bought_fittings fittings;
};

/* The group, as what can be bought for it. */
struct dw_market {
    const struct dw_job *job;
    struct dw_arena *arena; /* owns all of it */
    size_t *set_of;         /* length n_materials: set of the job, DW_NONE */
    size_t n_sets;
    size_t *sets; /* length n_sets: sets of the job that the group is made of */
    size_t n_sellers;
    struct dw_seller *sellers; /* length n_sellers */
    size_t n_wares;
    struct dw_ware *wares; /* length n_wares, by supply */
};

/* DW_ERR_NOMEM, DW_ERR_RANGE. */
dw_err dw_market__make(const struct dw_job *job, const size_t *group_of, size_t group,
                       struct dw_arena *arena, struct dw_market *out, struct dw_error *error);

enum dw_dealing {
    DW_DEALING_OPEN, /* something may be ordered of the seller or nothing */
    DW_DEALING_NONE,
    DW_DEALING_SOME,
};

/* Orders of one seller that are looked at together, and the line that its charges are not below:
 *   charges >= rest + slope x goods + cut_slope x cuts */
struct dw_range {
    enum dw_dealing dealing;
    dw_money from, to; /* from <= goods <= to */
    int64_t slope;     /* in parts per million */
    dw_money cut_slope;
};

/* All plans that buy lo..hi of each ware, with orders within the ranges. */
struct dw_branch_node {
    dw_money bound;
    size_t depth;
    int64_t *lo, *hi;       /* length n_wares, multiples of pack */
    struct dw_range *range; /* length n_sellers */
};

/* A plan of one set at prices of its wares. */
struct dw_priced {
    size_t set;
    int64_t *key;  /* length 3 n_wares: lo, hi and price of each ware of the set, else 0 */
    bool planned;  /* it has a plan */
    bool never;    /* it has none for certain */
    bool exact;    /* bound = value */
    int64_t slice; /* work that it was made with */
    bool bounded;
    dw_money bound; /* of what the set costs at these prices */
    dw_money value; /* of its plan, at these prices */
    dw_money apart; /* of the same without the wares */
    int64_t *used;  /* length n_wares: bars cut */
    struct dw_plan *scratch;
    struct dw_layouts layouts; /* of the job's supplies */
};

/* All that were made. Zero-initialise; end with dw_priced_list__free. */
struct dw_priced_list {
    size_t n, capacity;
    struct dw_priced **rows; /* length n */
};
void dw_priced_list__free(struct dw_priced_list *list);

/* The plan of set `s` of the market when, of each ware, lo bars are bought anyhow, to cost what
 * they are worth, and up to hi can be at `price` each: one that was made before, unless it is not
 * exact and was made with less work than `slice`, or a new one. NULL: *code says why. */
const struct dw_priced *dw_priced__find(const struct dw_market *market, struct dw_priced_list *list,
                                        size_t s, const int64_t *lo, const int64_t *hi,
                                        const dw_money *price, int64_t slice,
                                        const struct dw_wish *wish, struct dw_effort *effort,
                                        dw_err *code, struct dw_error *error);

/* --- what sellers charge, from below (ordered_line.c) ------------------------------------------
 */

/* The least goods and cuts that the node's bars can come to, and the most. */
struct dw_span {
    dw_money least, most;
    int64_t least_cuts;
};
struct dw_span dw_span__of(const struct dw_market *market, const struct dw_branch_node *node,
                           size_t seller);

/* Charges of an order without those for cuts. */
dw_money dw_seller__charge(const struct dw_seller *seller, dw_money goods);
/* Where a line touches the charges of a range. */
struct dw_touch {
    dw_money rest;     /* of the line */
    dw_money from, to; /* the first and the last goods at which it does */
};
/* false: no order is in the range. */
bool dw_range__touch(const struct dw_seller *seller, const struct dw_range *range,
                     const struct dw_span *span, struct dw_touch *touch);
/* The slope, in parts per million, of the steepest line below the charges of the range that touches
 * them on both sides of `goods`; false: they lie on one side of it. */
bool dw_range__slope(const struct dw_seller *seller, const struct dw_range *range,
                     const struct dw_span *span, dw_money goods, int64_t *slope);
/* The lowest price of a bar of the ware when lo..hi are bought. */
dw_money dw_ware__lowest(const struct dw_market *market, const struct dw_ware *ware, int64_t lo,
                         int64_t hi);

/* --- the search ------------------------------------------------------------------------------ */

#define DW_NO_END (INT64_MAX / 4) /* goods or money without an end */

/* What a node comes to with the slopes that it has. */
struct dw_reckoned {
    bool possible;
    bool bounded;
    dw_money bound;
    dw_money open;                 /* by so much the bounds of its sets are below their plans */
    const struct dw_priced **sets; /* length n_sets */
    int64_t *bought;               /* length n_wares: of what its sets ask for */
    dw_money *price;               /* length n_wares */
    struct dw_touch *touch;        /* length n_sellers */
    double *goods;                 /* length n_sellers: at the lowest prices of the node */
};

/* What is ordered of a seller when nothing is bought for the shelf. */
struct dw_plain_order {
    dw_wide goods;
    int64_t cuts;
    bool any;
};

struct dw_market_search {
    struct dw_market market;
    struct dw_priced_list plans;
    const struct dw_wish *wish;
    struct dw_effort *effort;
    struct dw_error *error;
    size_t n_open, open_capacity;
    struct dw_branch_node **open; /* length n_open: a heap by bound */
    size_t n_aside, aside_capacity;
    struct dw_branch_node **aside; /* length n_aside: to be split when sets are planned longer */
    int64_t slice;
    bool has_best;
    dw_money best;
    const struct dw_priced **best_sets; /* length n_sets */
    const struct dw_priced **mixed;     /* length n_sets: scratch */
    struct dw_plain_order *orders;      /* length n_sellers: scratch */
    size_t n_mixed;                     /* plans there were when they were mixed last */
    struct dw_reckoned now, then;
    int64_t *eff_lo; /* length n_wares */
    bool *tried;     /* length n_sellers: scratch */
};

/* Nodes (ordered_node.c). NULL: no memory. Below `from`, or (NULL) empty. */
struct dw_branch_node *dw_branch_node__new(const struct dw_market *market,
                                           const struct dw_branch_node *from);
void dw_branch_node__free(struct dw_branch_node *node);
/* Takes the node, NULL too. false: no memory. */
bool dw_market__push(struct dw_market_search *s, struct dw_branch_node *node);
struct dw_branch_node *dw_market__pop(struct dw_market_search *s);
bool dw_market__put_aside(struct dw_market_search *s, struct dw_branch_node *node);

/* The sets' plans as a plan of the whole, and what is better with others of them in their place:
 * what one set buys more of a seller, another can buy less (ordered_mix.c). */
dw_err dw_market__offer(struct dw_market_search *s, const struct dw_priced *const *sets);

/* Reckons the node into s->now, with the best slopes that are found (ordered_reckon.c). */
dw_err dw_market__reckon(struct dw_market_search *s, struct dw_branch_node *node);
/* Whether all that is bought of the seller is decided. */
bool dw_market__is_fixed(const struct dw_market *m, const struct dw_branch_node *node,
                         size_t seller);
/* What a slope makes of the seller's fittings, rounded down. */
dw_wide dw_seller__on_fittings(const struct dw_seller *seller, const struct dw_range *range);

/* Children of a node that s->now was reckoned of. *split: they take its place (ordered_split.c).
 * false: no memory. */
bool dw_market__split(struct dw_market_search *s, const struct dw_branch_node *node, bool *split);

#endif
