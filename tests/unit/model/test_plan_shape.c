/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a plan is made of, what it proves and what it lacks: each mistake is refused by its name.
 * Plans worked by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "hand_plan.h"

#define MM DW_NM_PER_MM

/* --- what a plan is made of ----------------------------------------------------------------------
 */

/* One leg of 1000, 1988 kept; right until `h` is changed. */
static void one_leg(struct hand *h)
{
    hand_wants(h, 0, 1000 * MM, 1000 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1988 * MM);
    hand_right(h);
}

static void layouts_are_well_formed(void **state)
{
    struct hand *h = *state;
    one_leg(h);
    struct dw_layout *layout = &h->layouts[0];
    struct dw_layout good = *layout;
    struct dw_piece *piece = &h->pieces[0][0];
    struct dw_piece leg = *piece;
    layout->bar = 2;
    hand_wrong_as_it_is(h, "layout 1 begins with bar 1, stated as bar 2");
    *layout = good;
    layout->supply = 1;
    hand_wrong_as_it_is(h, "layout 1 is of no supply of the job");
    *layout = good;
    layout->group = 1;
    hand_wrong_as_it_is(h, "layout 1 belongs to no group of the plan");
    *layout = good;
    layout->count = 0;
    hand_wrong_as_it_is(h, "layout 1 is cut 0 times; 1 to 2000000 is possible");
    layout->count = DW_MAX_PIECES + 1;
    hand_wrong_as_it_is(h, "layout 1 is cut 2000001 times; 1 to 2000000 is possible");
    *layout = good;
    layout->n_pieces = 0;
    hand_wrong_as_it_is(h, "layout 1 has no pieces");
    *layout = good;
    layout->pieces = NULL;
    hand_wrong_as_it_is(h, "layout 1 has no pieces");
    *layout = good;
    piece->part = 1;
    hand_wrong_as_it_is(h, "layout 1: piece 1 is no part or post of the job");
    *piece = leg;
    piece->use = DW_USE_BEND_END;
    hand_wrong_as_it_is(h, "layout 1: piece 1 is no part or post of the job");
    *piece = leg;
    piece->count = 0;
    hand_wrong_as_it_is(h, "layout 1: piece 1 has an impossible length or count");
    *piece = leg;
    piece->length = 0;
    hand_wrong_as_it_is(h, "layout 1: piece 1 has an impossible length or count");
    piece->length = DW_LENGTH_MAX + 1;
    hand_wrong_as_it_is(h, "layout 1: piece 1 has an impossible length or count");
}

static void groups_are_well_formed(void **state)
{
    struct hand *h = *state;
    one_leg(h);
    const struct dw_group good = h->group;
    const struct dw_shortage none = {.part = 1, .missing = 1};
    const struct dw_shortage leg = {.part = 0, .missing = 1};
    const size_t one[] = {1};
    const int64_t dual[] = {0};
    h->group.n_materials = 0;
    hand_wrong_as_it_is(h, "group 1 has no material");
    h->group = good;
    h->group.materials = NULL;
    hand_wrong_as_it_is(h, "group 1 has no material");
    h->group = good;
    h->group.materials = one;
    hand_wrong_as_it_is(h, "group 1 has a material that the job has not");
    h->group = good;
    h->group.status = (enum dw_status)(DW_STATUS_INFEASIBLE + 1);
    hand_wrong_as_it_is(h, "group 1 has a status or proof that is not known");
    h->group = good;
    h->group.proof = (enum dw_proof)(DW_PROOF_SEARCH + 1);
    hand_wrong_as_it_is(h, "group 1 has a status or proof that is not known");
    h->group = good;
    h->group.n_shortages = 1;
    hand_wrong_as_it_is(h, "group 1 lacks a list that it counts");
    h->group.shortages = &none;
    hand_wrong_as_it_is(h, "group 1 lacks a part that the job has not");
    h->group.shortages = &leg;
    hand_wrong_as_it_is(h, "group 1 is planned, yet something is missing");
    h->group = good;
    h->group.certificate = (struct dw_certificate){.scale = 1, .n_duals = 1, .parts = one};
    hand_wrong_as_it_is(h, "group 1 lacks a list that it counts");
    h->group.certificate.duals = dual;
    hand_wrong_as_it_is(h, "group 1 has a dual of a part that the job has not");
    h->group = good;
    h->group.value++;
    hand_wrong_as_it_is(h, "the value of group 1 is stated as");
    h->group = good;
    h->group.bound = h->group.value;
    hand_wrong_as_it_is(h, "group 1: the bound does not go with the value and the status");
    h->group = good;
    h->job->n_materials = 2;
    h->plan->job_digest = dw_job_digest(h->job);
    h->group.materials = one;
    hand_wrong_as_it_is(h, "group 1 is of other materials than are linked in the job");
}

static void takes_are_well_formed(void **state)
{
    struct hand *h = *state;
    one_leg(h);
    h->plan->takes[0].supply = 1;
    hand_wrong_as_it_is(h, "the plan takes from a supply that the job has not");
    h->plan->takes[0].supply = 0;
    h->plan->n_takes = 0;
    hand_wrong_as_it_is(h, "bars of bar used by the plan: 0; by its layouts: 1");
    h->plan->n_takes = 1;
    h->plan->takes = NULL;
    hand_wrong_as_it_is(h, "the plan lacks a list that it counts");
}

/* --- what duals prove ------------------------------------------------------------------------- */

/* One leg: a bar of 30.00, a cut and two squarings at 0.50 are 31.50. A dual y proves
 * min(y, 31.50), rounded up to what money there can be, 0.50 by 0.50; less may be stated. */
static void duals_by_hand(void **state)
{
    struct hand *h = *state;
    const size_t leg[] = {0};
    int64_t dual[] = {100001};
    one_leg(h);
    h->group.proof = DW_PROOF_DUALS;
    struct dw_certificate *c = &h->group.certificate;
    *c = (struct dw_certificate){.scale = 1, .n_duals = 1, .parts = leg, .duals = dual};
    h->group.bound = c->bound = 105000;
    hand_right(h);
    h->group.bound = c->bound = 105001;
    hand_wrong(h, "group 1: the duals prove a bound of 10.50, not 10.5001");
    h->group.bound = c->bound = 100000;
    hand_right(h);
    h->group.bound = 95000;
    hand_wrong(h, "group 1: the bound is not that of its duals");
    h->group.bound = c->bound = 315000;
    h->plan->status = h->group.status = DW_STATUS_OPTIMAL;
    dual[0] = 310000;
    hand_wrong(h, "group 1: the duals prove a bound of 31.00, not 31.50");
    dual[0] = 310001;
    hand_right(h);
    dual[0] = 400000;
    hand_right(h);
    dual[0] = -1;
    hand_wrong(h, "group 1: the dual of leg is negative");
    dual[0] = INT64_MAX;
    hand_wrong(h, "group 1: the duals or their scale are too large");
    dual[0] = 315000;
    c->scale = 0;
    hand_wrong(h, "group 1: the scale of the duals is not positive");
    c->scale = 1;
    h->group.proof = DW_PROOF_SEARCH;
    c->bound = 315001;
    hand_wrong(h, "group 1: the bound of the duals passes the value");
}

/* Without duals a group of parts alone is proven to cost nothing at least. */
static void no_duals(void **state)
{
    struct hand *h = *state;
    one_leg(h);
    h->group.bound = 1;
    hand_wrong(h, "group 1: the bound has no proof");
    h->group.bound = -1;
    hand_right(h);
}

/* --- what is missing
 * ------------------------------------------------------------------------------ */

/* The one bar there is can give the part, or never can. */
static void gives(struct hand *h, size_t part, bool never)
{
    struct dw_shortage missing = {.part = part, .missing = 1, .never = never};
    h->supply.count = 1;
    h->plan->n_layouts = 0;
    h->plan->status = h->group.status = DW_STATUS_INFEASIBLE;
    h->group.n_shortages = 1;
    h->group.shortages = &missing;
    hand_right(h);
    missing.never = !never;
    hand_wrong(h, "that no bar can give a");
}

/* 2990 are usable of a straight bar; behind a kerf of 2 the grip leaves 2978 of them. */
static void what_a_straight_bar_gives(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 2990 * MM, 2990 * MM, 1);
    gives(h, 0, false);
    hand_wants(h, 0, 2990 * MM + 1, 2991 * MM, 1);
    gives(h, 0, true);
    h->job->saw.grip = 10 * MM;
    hand_wants(h, 0, 2978 * MM, 2978 * MM, 1);
    gives(h, 0, false);
    hand_wants(h, 0, 2978 * MM + 1, 2979 * MM, 1);
    gives(h, 0, true);
}

/* Behind a bend end of 200 and a kerf 1798 of 2000 are straight. A hook keeps the bend, may be no
 * longer than it, and as long as the bar. */
static void what_an_end_bent_bar_gives(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 1, 1);
    hand_wants(h, 1, 1798 * MM, 1798 * MM, 1);
    gives(h, 1, false);
    hand_wants(h, 1, 1798 * MM + 1, 1799 * MM, 1);
    gives(h, 1, true);
    hand_wants(h, 0, 100 * MM, 200 * MM, 1);
    gives(h, 0, false);
    hand_wants(h, 0, 100 * MM, 200 * MM - 1, 1);
    gives(h, 0, true);
    hand_wants(h, 0, 2000 * MM, 2000 * MM, 1);
    gives(h, 0, false);
    hand_wants(h, 0, 2000 * MM + 1, 2001 * MM, 1);
    gives(h, 0, true);
}

#define HAND(name) cmocka_unit_test_setup_teardown(name, hand_set_up, hand_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        HAND(layouts_are_well_formed),
        HAND(groups_are_well_formed),
        HAND(takes_are_well_formed),
        HAND(duals_by_hand),
        HAND(no_duals),
        HAND(what_a_straight_bar_gives),
        HAND(what_an_end_bent_bar_gives),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
