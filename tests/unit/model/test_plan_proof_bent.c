/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What duals prove of end-bent bars, and duals that are refused. Worked by hand from plan.h.
 *
 * A bar of 2000 mm is 30.00, its first 200 mm are bent, its ends are sawn; kerf 2, 0.50 a cut. A
 * hook of 600 has the bend, a rail of 500 is from the tail: both of one bar take two cuts, 31.00. A
 * rail by itself takes two as well, as the bend end is cut off. Everything is a multiple of 0.50.
 */
#include "tests/support/hand_plan.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#define MM DW_NM_PER_MM

static const size_t parts[] = {0, 1};
static const size_t straight_or_bent[] = {0, 1};

static void certify(struct hand *h, int64_t scale, const int64_t *duals, dw_money bound)
{
    h->group.proof = DW_PROOF_SEARCH;
    h->group.bound = bound;
    h->group.certificate = (struct dw_certificate){
        .scale = scale, .n_duals = h->job->n_parts, .parts = parts, .duals = duals, .bound = bound};
}

static void proves(struct hand *h, int64_t hook, int64_t rail, dw_money bound)
{
    const int64_t duals[] = {hook, rail};
    certify(h, 1, duals, -1000000);
    hand_proves(h, bound, bound == h->plan->totals.value);
    h->group.proof = DW_PROOF_NONE;
    h->group.certificate = (struct dw_certificate){0};
}

static void hook_and_rail(struct hand *h)
{
    hand_bend_bars(h, 1, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 896 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.value, 310000);
}

/* A hook by itself costs 30.50, a rail 31.00, both 31.00; two bars count, as two pieces are wanted.
 */
static void both_of_a_bar(void **state)
{
    struct hand *h = *state;
    hook_and_rail(h);
    proves(h, 200000, 110000, 310000);
    proves(h, 305000, 5000, 310000);
    proves(h, 0, 310000, 310000);
    proves(h, 310000, 5000, 315000 - 2 * 5000);
    proves(h, 310000, 0, 310000 - 2 * 5000); /* the hook alone, which is a layout */
    proves(h, 0, 320000, 320000 - 2 * 10000);
    hand_wants(h, 0, 200 * MM, 200 * MM, 1); /* just the bend */
    h->pieces[0][0].length = 200 * MM;
    hand_leaves(h, 0, DW_REST_KEPT, 1296 * MM);
    proves(h, 310000, 0, 310000 - 2 * 5000);
    h->supply.count = 1;
    proves(h, 310000, 5000, 310000);
    h->supply.bend = 1;
    proves(h, 200000, 110000, 310000);
    proves(h, 310000, 5000, 310000);
}

/* The one hook can't also come from the tail, though the part may be of either. */
static void a_piece_is_made_once(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 1, 1);
    h->parts[0].materials = straight_or_bent;
    h->parts[0].n_materials = 2;
    h->job->n_parts = 1;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1398 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.value, 305000);
    proves(h, 305000, 0, 305000);
}

/* A hook of 100 to 700 has 200 at least: beside it and rails of 899, with two kerfs, 2002 would be
 * needed for two rails. So the two rails take two bars, 31.00 each. */
static void a_hook_has_its_bend(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 1, 2);
    hand_wants(h, 0, 100 * MM, 700 * MM, 1);
    hand_wants(h, 1, 899 * MM, 899 * MM, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 700 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 899 * MM, 1});
    hand_put(h, 1, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1});
    hand_put(h, 1, (struct dw_piece){DW_USE_PART, 1, 899 * MM, 1});
    h->plan->n_layouts = 2;
    hand_leaves(h, 0, DW_REST_KEPT, 397 * MM);
    hand_leaves(h, 1, DW_REST_KEPT, 897 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.value, 620000);
    proves(h, 0, 310000, 620000);
    /* with 898 they fill a bar: 200 + 2 + 898 + 2 + 898; two cuts, and the hook is on it */
    hand_wants(h, 1, 898 * MM, 898 * MM, 2);
    h->pieces[0][1].length = h->pieces[1][1].length = 898 * MM;
    hand_leaves(h, 0, DW_REST_KEPT, 398 * MM);
    hand_leaves(h, 1, DW_REST_KEPT, 898 * MM);
    proves(h, 0, 160000, 320000 - 3 * 10000);
    /* a hook that is too short for the bend is not made of it */
    hand_wants(h, 0, 100 * MM, 199 * MM, 1);
    h->plan->n_layouts = 0;
    h->plan->status = h->group.status = DW_STATUS_INFEASIBLE;
    struct dw_shortage missing = {.part = 0, .missing = 1, .never = true};
    h->group.shortages = &missing;
    h->group.n_shortages = 1;
    h->group.bound = 0;
    hand_proves(h, 0, true);
    hand_wants(h, 0, 100 * MM, 200 * MM, 1);
    hand_wrong(h, "is stated wrongly");
}

/* What is left is tube of the tail: 1.00 from 300 mm on. The bend's own material is worth nothing.
 * Both of one bar are 30.00 then. No straight bar is sold, whose price would cap it. */
static void the_tail_is_left(void **state)
{
    struct hand *h = *state;
    static const struct dw_worth_class classes[] = {{300 * MM, 10000}};
    hook_and_rail(h);
    h->materials[0].worth = (struct dw_worth){
        .kind = DW_WORTH_CLASSES, .keep = 300 * MM, .classes = classes, .n_classes = 1};
    hand_right(h);
    assert_int_equal(h->plan->totals.value, 300000);
    proves(h, 200000, 100000, 300000);
    proves(h, 200000, 110000, 310000 - 2 * 10000);
}

/* The tail is worth 40.00, but a bend end alone is no layout: with a rail, two cuts and 1296 mm
 * left it earns 9.00; without, by one cut, it would be 9.50. */
static void no_bar_for_its_leftover(void **state)
{
    struct hand *h = *state;
    static const struct dw_worth_class classes[] = {{300 * MM, 400000}};
    hand_bend_bars(h, 0, 1);
    h->parts[0] = h->parts[1];
    h->job->n_parts = 1;
    h->materials[0].worth = (struct dw_worth){
        .kind = DW_WORTH_CLASSES, .keep = 300 * MM, .classes = classes, .n_classes = 1};
    hand_put(h, 0, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1296 * MM);
    h->group.bound = -100000;
    hand_right(h);
    assert_int_equal(h->plan->totals.value, -90000);
    proves(h, 0, 0, -90000);
}

/* Duals that no bound is taken from. */
static void duals_that_are_refused(void **state)
{
    struct hand *h = *state;
    static const size_t twice[] = {1, 1};
    hook_and_rail(h);
    const int64_t duals[] = {200000, 110000}, negative[] = {310000, -1};
    certify(h, 1, duals, 300000);
    hand_right(h);
    h->group.certificate.parts = twice;
    hand_wrong(h, "the dual of rail is negative, listed twice or not of the group");
    certify(h, 1, negative, 300000);
    hand_wrong(h, "the dual of rail is negative, listed twice or not of the group");
    certify(h, 0, duals, 300000);
    hand_wrong(h, "the scale of the duals is not positive");
}

int main(void)
{
#define HAND(name) cmocka_unit_test_setup_teardown(name, hand_set_up, hand_tear_down)
    const struct CMUnitTest tests[] = {
        HAND(both_of_a_bar),    HAND(a_piece_is_made_once),    HAND(a_hook_has_its_bend),
        HAND(the_tail_is_left), HAND(no_bar_for_its_leftover), HAND(duals_that_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
