/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the verifier proves, on plans and duals worked by hand: each term of the bound with its
 * sign, how many bars count, the money grid and which way it is rounded.
 *
 * A bar is 30.00 and squared at both ends, 0.50 a cut, 2990 mm usable, kerf 2. Two legs of 1494
 * fill it: three cuts, 31.50. One leg takes three cuts too: 31.50. Prices and cuts are multiples of
 * 0.50, the grid. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "hand_plan.h"

#define MM   DW_NM_PER_MM
#define FULL 315000 /* 31.50 */

static const size_t both[] = {0, 1};

/* The duals over `scale` prove `bound`, whatever less is stated of them. */
static void proves(struct hand *h, int64_t scale, int64_t leg, int64_t rail, dw_money bound)
{
    const int64_t duals[] = {leg, rail};
    h->group.proof = DW_PROOF_SEARCH;
    h->group.certificate = (struct dw_certificate){.scale = scale,
                                                   .n_duals = h->job->n_parts,
                                                   .parts = both,
                                                   .duals = duals,
                                                   .bound = -10 * FULL};
    h->group.bound = -10 * FULL;
    hand_proves(h, bound, bound == h->plan->totals.value);
    h->group.certificate.bound = bound;
    hand_right(h);
    h->group.certificate.bound++;
    hand_wrong(h, bound == h->plan->totals.value ? "passes the value" : "the duals prove");
    h->group.proof = DW_PROOF_NONE;
    h->group.certificate = (struct dw_certificate){0};
}

static void two_legs(struct hand *h)
{
    hand_wants(h, 0, 1494 * MM, 1494 * MM, 2);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1494 * MM, 2});
    hand_right(h);
    assert_int_equal(h->plan->totals.value, FULL);
}

/* 15.75 a leg: 31.50, and no layout earns more than it costs. */
static void duals_that_settle(void **state)
{
    struct hand *h = *state;
    two_legs(h);
    proves(h, 1, 157500, 0, FULL);
    proves(h, 2, 315000, 0, FULL);
}

/* 31.00 is a multiple of 0.50 and stays; 31.0002 becomes 31.50; by a scale of 3, 31.00 and a third
 * of 0.0001 does too. */
static void up_to_the_grid(void **state)
{
    struct hand *h = *state;
    two_legs(h);
    proves(h, 1, 155000, 0, 310000);
    proves(h, 1, 155001, 0, FULL);
    proves(h, 1, 154999, 0, 310000);
    proves(h, 3, 465000, 0, 310000);
    proves(h, 3, 465001, 0, FULL);
    h->supply.price = 300001; /* with cuts of 0.50 nothing but 0.0001 divides all */
    proves(h, 1, 155001, 0, 310002);
    proves(h, 2, 310001, 0, 310001);
    proves(h, 4, 620001, 0, 310001);
}

/* 16.00 a leg: a full bar earns 0.50 more than it costs. Two bars at most, as two pieces are
 * wanted: 32.00 - 2 x 0.50. With one bar at hand 0.50 goes off once; of three in packs of two, two
 * count. */
static void bars_that_count(void **state)
{
    struct hand *h = *state;
    two_legs(h);
    proves(h, 1, 160000, 0, 310000);
    h->supply.count = 1;
    proves(h, 1, 160000, 0, FULL);
    h->supply.count = 2;
    proves(h, 1, 160000, 0, 310000);
    h->supply.count = 3;
    proves(h, 1, 160000, 0, 310000);
    h->supply.pack = 2;
    h->supply.price = 150000; /* two of them: 30.00 and 1.50; a bar for itself 16.50 */
    hand_right(h);
    assert_int_equal(h->plan->totals.value, FULL);
    /* a full bar earns 32.00 - 16.50 = 15.50, twice */
    proves(h, 1, 160000, 0, 320000 - 2 * 155000);
    h->supply.count = 2;
    proves(h, 1, 160000, 0, 320000 - 2 * 155000);
}

/* A post of 2.00 on the bar beside a leg: 31.50 - 2.00 = 29.50, a leg by itself 31.50. */
static void duals_of_posts(void **state)
{
    struct hand *h = *state;
    static const size_t straight[] = {0};
    h->job->n_parts = 2;
    hand_wants(h, 0, 1494 * MM, 1494 * MM, 1);
    hand_wants(h, 1, 1494 * MM, 1494 * MM, 1);
    h->parts[1].post = true;
    h->parts[1].worth = 20000;
    h->parts[1].materials = straight;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1494 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_POST, 1, 1494 * MM, 1});
    h->group.bound = -20000;
    hand_right(h);
    assert_int_equal(h->plan->totals.value, 295000);
    proves(h, 1, 295000, 0, 295000);
    proves(h, 1, 300000, 5000, 295000); /* 30.00 - 0.50; the bar earns 29.50, as it costs */
    proves(h, 1, 295000, 5000, 290000);
    proves(h, 1, 300000, 0, 290000); /* the bar earns 0.50 too much, and two count */
    proves(h, 1, 0, 15000, -15000);
    /* -5.00 by the duals, but no plan earns more than its posts */
    const int64_t duals[] = {0, 50000};
    h->group.proof = DW_PROOF_SEARCH;
    h->group.certificate = (struct dw_certificate){1, 2, both, duals, -50000};
    hand_proves(h, -20000, false);
}

/* Without duals: what all posts are worth, and what bars to hand are worth more than they count.
 * An offcut that counts 1.00 and is worth 3.00 whole gives 2.00 at most, one for each piece. */
static void without_duals(void **state)
{
    struct hand *h = *state;
    static const struct dw_worth_class classes[] = {{300 * MM, 10000}, {2990 * MM, 30000}};
    static const size_t straight[] = {0};
    two_legs(h);
    hand_proves(h, 0, false);
    h->supply.source = DW_SOURCE_OFFCUT;
    h->supply.price = 10000;
    h->materials[0].worth =
        (struct dw_worth){DW_WORTH_CLASSES, 300 * MM, .n_classes = 2, .classes = classes};
    h->group.bound = -50000;
    hand_proves(h, -40000, false);
    h->group.bound = -40000;
    hand_proves(h, -40000, false);
    h->group.bound = -39999;
    hand_wrong(h, "the bound has no proof");
    h->group.bound = -50000;
    h->supply.count = 1;
    hand_proves(h, -20000, false);
    h->supply.price = 30000;
    hand_proves(h, 0, false);
    h->supply.price = 30001;
    hand_proves(h, 0, false);
    h->job->n_parts = 2;
    hand_wants(h, 1, 100 * MM, 100 * MM, 3);
    h->parts[1].post = true;
    h->parts[1].worth = 7000;
    h->parts[1].materials = straight;
    h->group.bound = -60000;
    hand_proves(h, -21000, false);
}

/* A claim is no proof, whatever it says and however it goes together. */
static void a_claim_settles_nothing(void **state)
{
    struct hand *h = *state;
    two_legs(h);
    h->group.status = h->plan->status = DW_STATUS_OPTIMAL;
    h->group.proof = DW_PROOF_SEARCH;
    h->group.bound = FULL;
    hand_proves(h, 0, false);
    const int64_t duals[] = {150000};
    h->group.certificate = (struct dw_certificate){1, 1, both, duals, 0};
    hand_proves(h, 300000, false);
    h->group.proof = DW_PROOF_DUALS;
    hand_wrong(h, "the bound is not that of its duals");
    h->group.certificate.bound = FULL;
    hand_wrong(h, "the duals prove a bound of 30.00, not 31.50");
    h->group.certificate.n_duals = 0;
    hand_wrong(h, "the bound is not that of its duals");
}

/* That no bar gives a part has been looked at; how many of the others are missing is a claim. */
static void no_plan(void **state)
{
    struct hand *h = *state;
    struct dw_shortage missing = {.part = 0, .missing = 1};
    hand_wants(h, 0, 1494 * MM, 1494 * MM, 1);
    h->supply.count = 0;
    h->plan->n_layouts = 0;
    h->plan->status = h->group.status = DW_STATUS_INFEASIBLE;
    h->group.proof = DW_PROOF_SEARCH;
    h->group.shortages = &missing;
    h->group.n_shortages = 1;
    missing.never = true;
    hand_proves(h, 0, true);
    h->supply.count = 1;
    missing.never = false;
    hand_proves(h, 0, false);
    hand_wants(h, 0, 2990 * MM + 1, 2990 * MM + 1, 1);
    missing.never = true;
    hand_proves(h, 0, true);
    missing.never = false;
    hand_wrong(h, "is stated wrongly");
}

/* A rail that no bar gives settles a group, also where a leg of the same is merely missing; but not
 * the group of two legs before it, nor the whole. */
static void one_of_two_groups(void **state)
{
    struct hand *h = *state;
    static const size_t straight[] = {0}, other[] = {1};
    struct dw_shortage missing[] = {{.part = 1, .missing = 1, .never = true},
                                    {.part = 0, .missing = 2}};
    struct dw_group groups[2] = {h->group, h->group};
    struct dw_plan_proven *proven = NULL;
    struct dw_report report = {0};
    two_legs(h);
    h->job->n_parts = h->job->n_materials = 2;
    hand_wants(h, 1, 500 * MM, 500 * MM, 1);
    h->parts[1].materials = other;
    groups[1].materials = other;
    groups[0].value = FULL;
    groups[1].status = h->plan->status = DW_STATUS_INFEASIBLE;
    groups[1].shortages = missing;
    groups[1].n_shortages = 1;
    h->plan->groups = groups;
    h->plan->n_groups = 2;
    h->plan->job_digest = dw_job_digest(h->job);
    assert_int_equal(dw_plan_prove(h->job, h->plan, &report, &proven, NULL), DW_OK);
    assert_false(proven->groups[0].settled);
    assert_true(proven->groups[1].settled);
    assert_false(proven->settled);
    dw_plan_proven_free(proven);

    h->parts[1].materials = straight;
    hand_wants(h, 1, 3000 * MM, 3000 * MM, 1);
    h->job->n_materials = h->plan->n_groups = 1;
    h->plan->n_layouts = 0;
    groups[0] = groups[1];
    groups[0].materials = straight;
    groups[0].n_shortages = 2;
    h->supply.count = 1;
    assert_int_equal(dw_plan_sum(h->job, h->plan, NULL), DW_OK);
    h->plan->job_digest = dw_job_digest(h->job);
    assert_int_equal(dw_plan_prove(h->job, h->plan, &report, &proven, NULL), DW_OK);
    assert_true(proven->settled);
    dw_plan_proven_free(proven);
    dw_report_free(&report);
}

#define HAND(name) cmocka_unit_test_setup_teardown(name, hand_set_up, hand_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        HAND(duals_that_settle), HAND(up_to_the_grid),    HAND(bars_that_count),
        HAND(duals_of_posts),    HAND(without_duals),     HAND(a_claim_settles_nothing),
        HAND(no_plan),           HAND(one_of_two_groups),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
