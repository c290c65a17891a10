/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verifier at the edge of each rule, on plans worked by hand: what is just right is accepted,
 * the next nanometre, piece or bar is refused, and for the right reason. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "hand_plan.h"

#define MM DW_NM_PER_MM

/* --- fit -------------------------------------------------------------------------------------- */

/* 1494 + 2 + 1494 = 2990: nothing is left, one cut and two squarings. A nanometre less is chips of
 * a second cut; a nanometre more does not fit. */
static void a_full_bar(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 1000 * MM, 1500 * MM, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1494 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1494 * MM, 1});
    hand_right(h);
    assert_int_equal(h->plan->totals.n_cuts, 3);
    assert_int_equal(h->plan->totals.in_chips, 2 * MM);
    assert_int_equal(h->plan->totals.cuts, 15000);
    h->pieces[0][1].length = 1494 * MM - 1;
    hand_right(h);
    assert_int_equal(h->plan->totals.n_cuts, 4);
    assert_int_equal(h->plan->totals.in_chips, 2 * MM + 1);
    h->pieces[0][1].length = 1494 * MM + 1;
    hand_wrong(h, "layout 1 does not fit bar by ~0 mm");
    h->pieces[0][1].length = 1496 * MM; /* as long as the kerf is wide */
    hand_wrong(h, "layout 1 does not fit bar by 2 mm");
}

/* A kerf of 2 and a grip of 10 stay: 1488 + 2 + 1488 = 2978 of 2990, and 10 are left. */
static void a_bar_in_the_grip(void **state)
{
    struct hand *h = *state;
    h->job->saw.grip = 10 * MM;
    hand_wants(h, 0, 1000 * MM, 1500 * MM, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1488 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1488 * MM, 1});
    hand_leaves(h, 0, DW_REST_SCRAP, 10 * MM);
    hand_right(h);
    h->pieces[0][1].length++;
    hand_leaves(h, 0, DW_REST_SCRAP, 10 * MM - 1);
    hand_wrong(h, "layout 1 does not fit bar by ~0 mm");
}

/* One leg of 2688 leaves 2990 - 2688 - 2 = 300, just enough to keep; 2 and less are chips. */
static void what_is_left(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 1000 * MM, 2990 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 2688 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 300 * MM);
    hand_right(h);
    hand_leaves(h, 0, DW_REST_SCRAP, 300 * MM);
    hand_wrong(h, "what becomes of the 300 mm left");
    h->job->rules.max_new_offcuts = 0;
    hand_right(h); /* under a cap it may be thrown away */
    hand_leaves(h, 0, DW_REST_KEPT, 300 * MM);
    hand_wrong(h, "offcuts kept: 1; the job allows: 0");
    h->job->rules.max_new_offcuts = 1;
    hand_right(h);
    h->job->rules.max_new_offcuts = DW_UNLIMITED;
    h->pieces[0][0].length++;
    hand_leaves(h, 0, DW_REST_KEPT, 300 * MM - 1);
    hand_wrong(h, "what becomes of");
    hand_leaves(h, 0, DW_REST_SCRAP, 300 * MM - 1);
    hand_right(h);
    h->pieces[0][0].length = 2988 * MM;
    hand_leaves(h, 0, DW_REST_SCRAP, 0);
    hand_wrong(h, "what becomes of");
    hand_leaves(h, 0, DW_REST_NONE, 0);
    hand_right(h);
    h->pieces[0][0].length--;
    hand_leaves(h, 0, DW_REST_SCRAP, 1);
    hand_right(h);
    hand_leaves(h, 0, DW_REST_NONE, 1);
    hand_wrong(h, "what becomes of");
}

/* With scrap up to 100, a leftover of 100 may be, one of 100.000001 not, nor one of 299.999999. */
static void middling_leftovers(void **state)
{
    struct hand *h = *state;
    static const struct {
        dw_length leftover;
        enum dw_rest rest;
        bool good;
    } cases[] = {{100 * MM, DW_REST_SCRAP, true},
                 {100 * MM + 1, DW_REST_SCRAP, false},
                 {300 * MM - 1, DW_REST_SCRAP, false},
                 {300 * MM, DW_REST_KEPT, true}};
    h->job->rules.no_middling = true;
    h->job->rules.scrap_max = 100 * MM;
    hand_wants(h, 0, 1000 * MM, 2990 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 0, 1});
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        h->pieces[0][0].length = 2988 * MM - cases[i].leftover;
        hand_leaves(h, 0, cases[i].rest, cases[i].leftover);
        if (cases[i].good)
            hand_right(h);
        else
            hand_wrong(h, "is middling");
    }
}

/* Two legs and one that is surplus are three pieces. */
static void pieces_on_a_bar(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 500 * MM, 500 * MM, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 2});
    hand_put(h, 0, (struct dw_piece){DW_USE_SURPLUS, 0, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1484 * MM);
    hand_right(h);
    h->job->rules.most_pieces = 3;
    hand_right(h);
    h->job->rules.most_pieces = 2;
    hand_wrong(h, "layout 1 has more pieces than the 2 that a bar may give");
}

/* A length that the part may just have. */
static void lengths_of_a_range(void **state)
{
    struct hand *h = *state;
    static const struct {
        dw_length length;
        bool good;
    } cases[] = {
        {1000 * MM, true}, {1100 * MM, true}, {1000 * MM - 1, false}, {1100 * MM + 1, false}};
    hand_wants(h, 0, 1000 * MM, 1100 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 0, 1});
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        h->pieces[0][0].length = cases[i].length;
        hand_leaves(h, 0, DW_REST_KEPT, 2988 * MM - cases[i].length);
        if (cases[i].good)
            hand_right(h);
        else
            hand_wrong(h, "1000 mm to 1100 mm is wanted");
    }
}

/* Nothing is shorter than a nanometre. */
static void the_shortest_piece(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 1, 1, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 2988 * MM - 1);
    hand_right(h);
}

/* --- end-bent bars ---------------------------------------------------------------------------- */

/* Two bars of a hook and a rail: 600 + 2 + 500 leave 896 after the second cut. A bar has one bend:
 * two hooks of one bar are one too many, though length, money and counts come out. */
static void one_bend_a_bar(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 2, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    h->layouts[0].count = 2;
    hand_leaves(h, 0, DW_REST_KEPT, 896 * MM);
    hand_right(h);
    const struct dw_totals *sum = &h->plan->totals;
    assert_int_equal(sum->in_parts, 2200 * MM);
    assert_int_equal(sum->in_kept, 1792 * MM);
    assert_int_equal(sum->in_chips, 8 * MM);
    assert_int_equal(sum->in, 4000 * MM);
    assert_int_equal(sum->n_cuts, 4);
    /* 600 + 600 + 500 + 4 of 2000: 294 after the third cut */
    hand_wants(h, 1, 500 * MM, 500 * MM, 1);
    h->layouts[0].count = 1;
    h->pieces[0][0].count = 2;
    hand_leaves(h, 0, DW_REST_SCRAP, 294 * MM);
    hand_wrong(h, "the bent hook comes once and keeps the bend of 200 mm");
    h->pieces[0][0].count = 1;
    h->pieces[0][2] = h->pieces[0][1];
    h->pieces[0][1] = h->pieces[0][0];
    h->layouts[0].n_pieces = 3;
    hand_wrong(h, "hook can't be of tube");
}

/* A hook of 200 is the bend itself; a nanometre less cuts into it. */
static void the_bend_is_kept(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 1, 1);
    h->job->n_parts = 1;
    hand_wants(h, 0, 100 * MM, 600 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 200 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1798 * MM);
    hand_right(h);
    h->pieces[0][0].length--;
    hand_leaves(h, 0, DW_REST_KEPT, 1798 * MM + 1);
    hand_wrong(h, "keeps the bend of 200 mm");
}

/* The bend end is 200, comes first and once: 200 + 2 + 500 leave 1296. */
static void the_bend_end(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 0, 1);
    h->parts[0] = h->parts[1];
    h->job->n_parts = 1;
    hand_put(h, 0, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1296 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.in_scrap, 200 * MM);
    h->pieces[0][0].count = 2;
    hand_leaves(h, 0, DW_REST_KEPT, 1094 * MM);
    hand_wrong(h, "the one bend end comes first");
    h->pieces[0][0].count = 1;
    h->pieces[0][0].length = 200 * MM - 1;
    hand_leaves(h, 0, DW_REST_KEPT, 1296 * MM + 1);
    hand_wrong(h, "the bend end is 200 mm long");
    h->pieces[0][0] = h->pieces[0][1];
    h->pieces[0][1] = (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1};
    hand_leaves(h, 0, DW_REST_KEPT, 1296 * MM);
    hand_wrong(h, "layout 1");
}

static void no_bend_on_a_straight_bar(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 500 * MM, 500 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 2286 * MM);
    hand_wrong(h, "bar has no bend end");
}

/* --- order, use and counts ----------------------------------------------------------------------
 */

/* Measured last: behind other pieces on the bar, and behind other bars; bent it may come first. */
static void measured_last(void **state)
{
    struct hand *h = *state;
    h->job->n_parts = 2;
    hand_wants(h, 0, 1000 * MM, 1000 * MM, 1);
    hand_wants(h, 1, 500 * MM, 500 * MM, 1);
    h->parts[0].measure_first = true;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 1486 * MM);
    hand_right(h);
    struct dw_piece first = h->pieces[0][0];
    h->pieces[0][0] = h->pieces[0][1];
    h->pieces[0][1] = first;
    hand_wrong(h, "rail comes behind a piece that is measured first");
    h->layouts[0].n_pieces = 1;
    hand_put(h, 1, first);
    h->plan->n_layouts = 2;
    hand_leaves(h, 0, DW_REST_KEPT, 1988 * MM);
    hand_leaves(h, 1, DW_REST_KEPT, 2488 * MM);
    hand_wrong(h, "layout 2 comes behind one with pieces measured first");
    h->parts[0].measure_first = false;
    hand_right(h);
    hand_bend_bars(h, 1, 1);
    h->parts[0].measure_first = true;
    h->plan->n_layouts = 1;
    h->layouts[0].n_pieces = 0;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 896 * MM);
    hand_right(h);
}

/* A surplus piece alone makes no layout, counts for no part, and is scrap. */
static void surplus(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 1000 * MM, 1000 * MM, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_SURPLUS, 0, 1000 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 986 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.in_scrap, 1000 * MM);
    assert_int_equal(h->plan->totals.in_parts, 1000 * MM);
    h->job->rules.no_middling = true;
    hand_wrong(h, "is surplus, which no middling leftovers excludes");
    h->job->rules.no_middling = false;
    h->pieces[0][0].count = 2;
    h->layouts[0].n_pieces = 1;
    hand_wrong(h, "pieces of part leg: 2; wanted: 1");
    hand_put(h, 1, (struct dw_piece){DW_USE_SURPLUS, 0, 1000 * MM, 2});
    h->pieces[0][0].count = 1;
    h->plan->n_layouts = 2;
    hand_leaves(h, 0, DW_REST_KEPT, 1988 * MM);
    hand_leaves(h, 1, DW_REST_KEPT, 986 * MM);
    hand_wrong(h, "layout 2 gives no part and no post");
}

/* Up to three posts at 4.00; two of them with a leg. Posts earn, so that the trivial bound is -12.
 */
static void posts(void **state)
{
    struct hand *h = *state;
    h->job->n_parts = 2;
    hand_wants(h, 0, 1000 * MM, 1000 * MM, 1);
    hand_wants(h, 1, 500 * MM, 500 * MM, 3);
    h->parts[1].post = true;
    h->parts[1].worth = 40000;
    h->group.bound = -120000;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_POST, 1, 500 * MM, 2});
    hand_leaves(h, 0, DW_REST_KEPT, 984 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.posts, 80000);
    /* 30.00 and three cuts and two squarings, less 8.00 */
    assert_int_equal(h->plan->totals.value, 300000 + 25000 - 80000);
    h->group.bound++;
    hand_wrong(h, "bound");
    h->group.bound--;
    h->pieces[0][1].count = 3;
    hand_leaves(h, 0, DW_REST_KEPT, 482 * MM);
    hand_right(h);
    h->parts[1].count = 2;
    hand_wrong(h, "pieces of post rail: 3; wanted at most: 2");
    h->pieces[0][1].use = DW_USE_PART;
    hand_wrong(h, "rail is made for another use");
}

/* Two bars where there are two, in whole packs only. */
static void bars_that_there_are(void **state)
{
    struct hand *h = *state;
    hand_wants(h, 0, 1400 * MM, 1400 * MM, 4);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1400 * MM, 2});
    h->layouts[0].count = 2;
    hand_leaves(h, 0, DW_REST_SCRAP, 186 * MM);
    h->supply.count = 2;
    hand_right(h);
    h->supply.count = 1;
    hand_wrong(h, "bars of bar used: 2; there: 1");
    h->supply.pack = 2;
    h->supply.count = 3;
    hand_right(h);
    h->supply.pack = 3;
    h->supply.count = 4;
    hand_right(h);
    assert_int_equal(h->plan->takes[0].bought, 3);
    h->supply.count = 2;
    hand_wrong(h, "bars of bar used: 2; there: 0");
}

/* Two bars are needed. At 10.00 they are 20.00; three at 6.00 are 18.00, four at 4.75 are 19.00.
 * Where four cost the two's 20.00, two are bought; where there are only two, two. */
static void breaks_of_the_price(void **state)
{
    struct hand *h = *state;
    struct dw_price_break breaks[] = {{3, 60000}, {4, 47500}};
    hand_wants(h, 0, 2900 * MM, 2900 * MM, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 2900 * MM, 1});
    hand_leaves(h, 0, DW_REST_SCRAP, 88 * MM);
    h->layouts[0].count = 2;
    h->supply.price = 100000;
    h->supply.breaks = breaks;
    h->supply.n_breaks = 2;
    hand_right(h);
    struct dw_take *take = &h->plan->takes[0];
    assert_int_equal(take->bought, 3);
    assert_int_equal(take->money, 180000);
    take->bought = 4;
    take->money = 190000;
    hand_wrong_as_it_is(h, "bars of bar paid by the plan: 4, with 19.00; reckoned: 3, with 18.00");
    take->bought = 2;
    take->money = 200000;
    hand_wrong_as_it_is(h, "bars of bar paid by the plan: 2, with 20.00; reckoned: 3, with 18.00");
    h->supply.count = 3;
    hand_right(h);
    h->supply.count = 2;
    hand_right(h);
    assert_int_equal(h->plan->takes[0].bought, 2);
    h->supply.count = DW_UNLIMITED;
    breaks[0] = (struct dw_price_break){4, 50000};
    h->supply.n_breaks = 1;
    hand_right(h);
    take = &h->plan->takes[0];
    assert_int_equal(take->bought, 2);
    assert_int_equal(take->money, 200000);
    take->bought = 4;
    hand_wrong_as_it_is(h, "reckoned: 2, with 20.00");
}

#define HAND(name) cmocka_unit_test_setup_teardown(name, hand_set_up, hand_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        HAND(a_full_bar),
        HAND(a_bar_in_the_grip),
        HAND(what_is_left),
        HAND(middling_leftovers),
        HAND(pieces_on_a_bar),
        HAND(lengths_of_a_range),
        HAND(the_shortest_piece),
        HAND(one_bend_a_bar),
        HAND(the_bend_is_kept),
        HAND(the_bend_end),
        HAND(no_bend_on_a_straight_bar),
        HAND(measured_last),
        HAND(surplus),
        HAND(posts),
        HAND(bars_that_there_are),
        HAND(breaks_of_the_price),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
