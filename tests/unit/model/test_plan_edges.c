/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verifier a nanometre on either side of what fits, is held, is bent, is kept. Worked by hand
 * from plan.h. */
#include "tests/support/hand_plan.h"

#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#define MM DW_NM_PER_MM

/* A grip of 1 nm holds the end all the same: a kerf and 1 nm of 2990 mm stay. */
static void a_grip_of_a_nanometre(void **state)
{
    struct hand *h = *state;
    h->job->saw.grip = 1;
    hand_wants(h, 0, 2988 * MM - 1, 2988 * MM - 1, 1);
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 2988 * MM - 1, 1});
    hand_leaves(h, 0, DW_REST_SCRAP, 1);
    hand_right(h);
    hand_wants(h, 0, 2988 * MM, 2988 * MM, 1);
    h->pieces[0][0].length++;
    hand_leaves(h, 0, DW_REST_NONE, 0);
    hand_wrong(h, "does not fit bar by");
}

/* Which legs no bar gives, with that grip and without. */
static void never(void **state)
{
    struct hand *h = *state;
    struct dw_shortage missing = {.part = 0, .missing = 1};
    h->supply.count = 1;
    h->plan->n_layouts = 0;
    h->plan->status = h->group.status = DW_STATUS_INFEASIBLE;
    h->group.shortages = &missing;
    h->group.n_shortages = 1;
    for (int grip = 0; grip < 2; grip++) {
        dw_length longest = grip ? 2988 * MM - 1 : 2990 * MM;
        h->job->saw.grip = grip;
        for (int more = 0; more < 2; more++) {
            hand_wants(h, 0, longest + more, longest + more, 1);
            h->group.proof = more ? DW_PROOF_SEARCH : DW_PROOF_NONE;
            missing.never = more;
            hand_right(h);
            missing.never = !more;
            hand_wrong(h, "is stated wrongly");
        }
    }
}

/* A bar of 2000 mm with its first nanometre bent: the hook comes first, the rail from the tail;
 * both ends are sawn. 600 + 2 + 500 leave 896 mm behind the second cut. */
static void a_bend_of_a_nanometre(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 1, 1);
    h->supply.bend = 1;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 896 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.cuts, 2 * 5000);
    h->parts[0].measure_first = true; /* the bent piece comes first nevertheless */
    hand_right(h);
    h->parts[0].measure_first = false;
    h->pieces[0][0].count = 2;
    h->parts[0].count = 2;
    hand_leaves(h, 0, DW_REST_SCRAP, 294 * MM);
    hand_wrong(h, "comes once and keeps the bend");
}

/* The same with no hook: the nanometre and a cut go, then 500 and a cut. */
static void a_bend_end_of_a_nanometre(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 0, 1);
    h->supply.bend = 1;
    h->parts[0].count = 1;
    h->job->n_parts = 1;
    h->parts[0] = h->parts[1];
    hand_put(h, 0, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 1, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 2000 * MM - 1 - 504 * MM);
    hand_right(h);
    assert_int_equal(h->plan->totals.in_scrap, 1);
    h->pieces[0][0].length = 2;
    hand_wrong(h, "the bend end is");
}

/* The bent end is never squared, however short its bend; the other is. A trim of a nanometre is a
 * cut. */
static void squaring(void **state)
{
    struct hand *h = *state;
    hand_bend_bars(h, 1, 1);
    h->supply.bend = 1;
    h->supply.trim = 1;
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    hand_put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    hand_leaves(h, 0, DW_REST_KEPT, 896 * MM - 1);
    hand_right(h);
    assert_int_equal(h->plan->totals.cuts, 3 * 5000);
    assert_int_equal(h->plan->totals.in_trim, 1);
}

/* Kept from 300 mm on; no middling leftovers: scrap of 100 mm at most. A leg of `length` and a cut
 * of 2990 mm. */
static void leaves(struct hand *h, dw_length leftover, enum dw_rest rest)
{
    dw_length length = 2988 * MM - leftover;
    hand_wants(h, 0, length, length, 1);
    h->pieces[0][0] = (struct dw_piece){DW_USE_PART, 0, length, 1};
    h->layouts[0].n_pieces = 1;
    hand_leaves(h, 0, rest, leftover);
}

static void what_is_kept(void **state)
{
    struct hand *h = *state;
    leaves(h, 300 * MM, DW_REST_KEPT);
    hand_right(h);
    leaves(h, 300 * MM, DW_REST_SCRAP);
    hand_wrong(h, "is stated wrongly");
    leaves(h, 300 * MM - 1, DW_REST_SCRAP);
    hand_right(h);
    leaves(h, 300 * MM - 1, DW_REST_KEPT);
    hand_wrong(h, "is stated wrongly");
    leaves(h, 1, DW_REST_SCRAP);
    hand_right(h);
    leaves(h, 0, DW_REST_NONE);
    hand_right(h);
    h->job->rules.no_middling = true;
    h->job->rules.scrap_max = 100 * MM;
    leaves(h, 100 * MM, DW_REST_SCRAP);
    hand_right(h);
    leaves(h, 100 * MM + 1, DW_REST_SCRAP);
    hand_wrong(h, "is middling");
    leaves(h, 300 * MM - 1, DW_REST_SCRAP);
    hand_wrong(h, "is middling");
    leaves(h, 300 * MM, DW_REST_KEPT);
    hand_right(h);
}

/* With a cap on new offcuts a leftover that could be kept may be scrap; one that can't be kept may
 * not be. */
static void under_a_cap(void **state)
{
    struct hand *h = *state;
    h->job->rules.max_new_offcuts = 0;
    leaves(h, 300 * MM, DW_REST_SCRAP);
    hand_right(h);
    leaves(h, 300 * MM, DW_REST_KEPT);
    hand_wrong(h, "offcuts kept: 1; the job allows: 0");
    h->job->rules.max_new_offcuts = 1;
    hand_right(h);
    leaves(h, 300 * MM - 1, DW_REST_KEPT);
    hand_wrong(h, "is stated wrongly");
    leaves(h, 300 * MM, DW_REST_NONE);
    hand_wrong(h, "is stated wrongly");
}

/* Two kinds of tube, each with its bar and its part: a bar counts for the group of its tube. */
static void a_bar_of_another_group(void **state)
{
    struct hand *h = *state;
    static const size_t other[] = {1};
    struct dw_group groups[2] = {h->group, h->group};
    struct dw_supply supplies[2] = {h->supply, h->supply};
    supplies[1].id = "hooked bar";
    supplies[1].material = 1;
    groups[1].materials = other;
    h->parts[1].materials = other;
    h->job->n_parts = h->job->n_materials = h->job->n_supplies = 2;
    h->job->supplies = supplies;
    h->plan->groups = groups;
    h->plan->n_groups = 2;
    h->plan->n_layouts = 2;
    h->layouts[1].supply = h->layouts[1].group = 1;
    for (size_t i = 0; i < 2; i++) {
        hand_wants(h, i, 2988 * MM, 2988 * MM, 1);
        hand_put(h, i, (struct dw_piece){DW_USE_PART, i, 2988 * MM, 1});
        hand_leaves(h, i, DW_REST_NONE, 0);
        groups[i].value = 315000; /* a bar, two squaring cuts, one cut */
    }
    hand_right(h);
    h->layouts[1].group = 0;
    hand_wrong(h, "layout 2: hooked bar belongs to another group");
}

int main(void)
{
#define HAND(name) cmocka_unit_test_setup_teardown(name, hand_set_up, hand_tear_down)
    const struct CMUnitTest tests[] = {
        HAND(a_grip_of_a_nanometre),
        HAND(never),
        HAND(a_bend_of_a_nanometre),
        HAND(a_bend_end_of_a_nanometre),
        HAND(squaring),
        HAND(what_is_kept),
        HAND(under_a_cap),
        HAND(a_bar_of_another_group),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
