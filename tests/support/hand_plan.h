/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan that is worked by hand, and what the verifier says of it. */
#ifndef TESTS_HAND_PLAN_H
#define TESTS_HAND_PLAN_H

#include <dropwise/plan.h>

/* Straight bars of 3000 mm, 5 mm squared off each end, so 2990 usable; kerf 2, 0.50 a cut. */
struct hand {
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_material materials[2];
    struct dw_supply supply;
    struct dw_part parts[2];
    struct dw_order order;
    size_t group_materials[2];
    struct dw_group group;
    struct dw_layout layouts[2];
    struct dw_piece pieces[2][3];
};

/* Before and after each test: *state is the plan, still empty. */
int hand_set_up(void **state);
int hand_tear_down(void **state);

/* A part from `min` to `max`. */
void hand_wants(struct hand *h, size_t part, dw_length min, dw_length max, int64_t count);
void hand_put(struct hand *h, size_t layout, struct dw_piece piece);
void hand_leaves(struct hand *h, size_t layout, enum dw_rest rest, dw_length leftover);
/* Makes it bars of 2000 mm, sawn ends, whose first 200 mm are bent: hooks of 600, rails of 500 from
 * the tail. */
void hand_bend_bars(struct hand *h, int64_t hooks, int64_t rails);

/* Sums the plan up, so that only the plan itself is judged, and fails unless it is accepted; or
 * unless it is refused, the first remark holding `words`. */
void hand_right(struct hand *h);
void hand_wrong(struct hand *h, const char *words);
/* The same as hand_right, and what is proved: the bound, and whether it settles the question. */
void hand_proves(struct hand *h, dw_money bound, bool settled);
/* Refused without being summed up anew. */
void hand_wrong_as_it_is(const struct hand *h, const char *words);

#endif
