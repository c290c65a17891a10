/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reference for small jobs: every layout of every bar is listed, and demands are met by a table
 * over all numbers of pieces made. Written from the definitions in job.h and plan.h alone. */
#ifndef TEST_BRUTE_H
#define TEST_BRUTE_H

#include <dropwise/plan.h>

#define BRUTE_ITEMS 8 /* rows of parts and posts in a group, at most */

/* A layout of one bar: the cheapest of those that make the same pieces. */
struct brute_layout {
    size_t supply;
    int made[BRUTE_ITEMS]; /* of item i */
    bool kept;             /* a leftover is kept */
    dw_money money;        /* cuts - phi - worth of posts; the bar itself left out */
    int first;             /* item at the bend; BRUTE_STUB: the bend end; BRUTE_STRAIGHT: no bend */
    dw_length pieces;      /* sum of their lengths, the bend end included */
};

#define BRUTE_STRAIGHT (-2)
#define BRUTE_STUB     (-1)

/* What the table held when a supply was added; kept so that the plan can be read out of it. */
struct brute_level {
    dw_money *before; /* length n_states: cheapest without the supply */
    dw_money *bars;   /* length n_states: cheapest of the supply alone */
    int64_t n_now;
    dw_money **now; /* length n_now + 1; now[n][state]: by n bars, their price left out */
};

struct brute {
    const struct dw_job *job;
    size_t n_items;
    size_t items[BRUTE_ITEMS]; /* index of a part or post of the group */
    size_t n_supplies;
    size_t *supplies; /* length n_supplies: the group's */
    size_t n_layouts;
    struct brute_layout *layouts; /* length n_layouts, by supply */
    /* A state counts pieces made of each item and offcuts kept, in mixed radix. */
    int radix[BRUTE_ITEMS + 1]; /* of item i, count + 1; the last: offcuts kept, 1 without a cap */
    size_t n_states;
    unsigned char (*digit)[BRUTE_ITEMS + 1]; /* length n_states */
    dw_money *best;                          /* length n_states: of all supplies */
    struct brute_level *levels;              /* length n_supplies */
    bool feasible;
    dw_money money; /* of the cheapest plan, if feasible */
    size_t state;   /* and its state */
};

/* The group of the materials that group[0..n) lists. 0, or -1: no memory or too large. */
int brute_solve(struct brute *brute, const struct dw_job *job, const size_t *group, size_t n);
void brute_free(struct brute *brute);
/* Pieces of parts that the tube at hand can't give: [0] of parts with priority, as few as possible,
 * then [1] of the others. false: not even a plan without pieces. */
bool brute_missing(const struct brute *brute, int64_t missing[2]);

/* A layout as an index into the table of states, and whether a state holds another. */
size_t brute_state(const struct brute *brute, const struct brute_layout *layout);
bool brute_within(const struct brute *brute, size_t part, size_t whole);

/* The cheapest plan of the whole job, by one brute_solve a group: status OPTIMAL by
 * DW_PROOF_SEARCH, no certificate, layouts one by one. NULL: no memory, too large, or a group has
 * no plan. */
struct dw_plan *brute_plan(const struct dw_job *job);
/* The groups of a job after plan.h: group_of[m] for each material, DW_NONE where nothing is wanted.
 * Returns their number. group_of has length n_materials. */
size_t brute_groups(const struct dw_job *job, size_t *group_of);

/* Money for `used` bars of a supply, packs and breaks counted; -1 if so many can't be had. */
dw_money brute_price(const struct dw_supply *supply, int64_t used);
/* phi(r), from its definition. */
dw_money brute_worth(const struct dw_job *job, size_t material, dw_length r);

#endif
