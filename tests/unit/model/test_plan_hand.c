/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verifier at the edge of each rule, on plans worked by hand: what is just right is accepted,
 * the next nanometre, piece or bar is refused, and for the right reason. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include <dropwise/plan.h>

#include <string.h>

#define MM DW_NM_PER_MM

static const size_t straight[] = {0};
static const size_t bent[] = {1};

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

static int set_up(void **state)
{
    static struct hand h;
    h = (struct hand){.group_materials = {0, 1}};
    assert_int_equal(dw_job_new(&h.job, NULL), DW_OK);
    assert_int_equal(dw_plan_new(&h.plan, NULL), DW_OK);
    h.job->saw = (struct dw_saw){.kerf = 2 * MM, .cut_cost = 5000};
    h.materials[0] = (struct dw_material){.id = "tube", .worth.keep = 300 * MM};
    h.materials[1] = (struct dw_material){.id = "hooked", .worth.keep = 300 * MM};
    h.supply = (struct dw_supply){.id = "bar",
                                  .length = 3000 * MM,
                                  .price = 30 * DW_MONEY_ONE,
                                  .count = DW_UNLIMITED,
                                  .pack = 1,
                                  .trim = 5 * MM,
                                  .tail_material = DW_NONE};
    h.job->n_materials = h.job->n_supplies = h.job->n_orders = h.job->n_parts = 1;
    h.job->materials = h.materials;
    h.job->supplies = &h.supply;
    h.job->orders = &h.order;
    h.job->parts = h.parts;
    for (size_t i = 0; i < 2; i++) {
        h.parts[i] = (struct dw_part){
            .label = i ? "rail" : "leg", .count = 1, .n_materials = 1, .materials = straight};
        h.layouts[i] = (struct dw_layout){.count = 1, .pieces = h.pieces[i]};
    }
    h.plan->groups = &h.group;
    h.plan->n_groups = 1;
    h.plan->layouts = h.layouts;
    h.plan->n_layouts = 1;
    h.group = (struct dw_group){
        .n_materials = 1, .materials = h.group_materials, .status = DW_STATUS_WITHIN};
    h.plan->status = DW_STATUS_WITHIN;
    *state = &h;
    return 0;
}

static int tear_down(void **state)
{
    struct hand *h = *state;
    dw_plan_free(h->plan);
    dw_job_free(h->job);
    return 0;
}

/* A part from `min` to `max`. */
static void wants(struct hand *h, size_t part, dw_length min, dw_length max, int64_t count)
{
    h->parts[part].min = min;
    h->parts[part].max = max;
    h->parts[part].count = count;
}

static void put(struct hand *h, size_t layout, struct dw_piece piece)
{
    struct dw_layout *to = &h->layouts[layout];
    h->pieces[layout][to->n_pieces++] = piece;
}

static void leaves(struct hand *h, size_t layout, enum dw_rest rest, dw_length leftover)
{
    h->layouts[layout].rest = rest;
    h->layouts[layout].leftover = leftover;
}

/* The sums are those of dw_plan_sum, so that only the plan itself is judged. */
static void sum_up(struct hand *h)
{
    assert_int_equal(dw_plan_sum(h->job, h->plan, NULL), DW_OK);
    h->plan->job_digest = dw_job_digest(h->job);
    h->group.value = h->plan->totals.value;
    h->plan->bound = h->group.bound;
}

/* The first remark on the plan as it stands, or NULL when nothing is wrong. */
static const char *remark_on(const struct hand *h)
{
    static char text[sizeof((struct dw_error *)0)->text];
    struct dw_report report = {0};
    dw_err err = dw_plan_check(h->job, h->plan, &report, NULL);
    assert_true(err == DW_OK || err == DW_ERR_CHECK);
    memcpy(text, err ? report.remarks[0].what.text : "", err ? sizeof text : 1);
    dw_report_free(&report);
    return err ? text : NULL;
}

static void right(struct hand *h)
{
    sum_up(h);
    const char *text = remark_on(h);
    if (text)
        fail_msg("refused: %s", text);
}

static void wrong_as_it_is(const struct hand *h, const char *words)
{
    const char *text = remark_on(h);
    if (!text || !strstr(text, words))
        fail_msg("\"%s\", not \"%s\"", text ? text : "accepted", words);
}

static void wrong(struct hand *h, const char *words)
{
    sum_up(h);
    wrong_as_it_is(h, words);
}

/* --- fit -------------------------------------------------------------------------------------- */

/* 1494 + 2 + 1494 = 2990: nothing is left, one cut and two squarings. A nanometre less is chips of
 * a second cut; a nanometre more does not fit. */
static void a_full_bar(void **state)
{
    struct hand *h = *state;
    wants(h, 0, 1000 * MM, 1500 * MM, 2);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1494 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1494 * MM, 1});
    right(h);
    assert_int_equal(h->plan->totals.n_cuts, 3);
    assert_int_equal(h->plan->totals.in_chips, 2 * MM);
    assert_int_equal(h->plan->totals.cuts, 15000);
    h->pieces[0][1].length = 1494 * MM - 1;
    right(h);
    assert_int_equal(h->plan->totals.n_cuts, 4);
    assert_int_equal(h->plan->totals.in_chips, 2 * MM + 1);
    h->pieces[0][1].length = 1494 * MM + 1;
    wrong(h, "layout 1 does not fit bar by ~0 mm");
    h->pieces[0][1].length = 1496 * MM; /* as long as the kerf is wide */
    wrong(h, "layout 1 does not fit bar by 2 mm");
}

/* A kerf of 2 and a grip of 10 stay: 1488 + 2 + 1488 = 2978 of 2990, and 10 are left. */
static void a_bar_in_the_grip(void **state)
{
    struct hand *h = *state;
    h->job->saw.grip = 10 * MM;
    wants(h, 0, 1000 * MM, 1500 * MM, 2);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1488 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1488 * MM, 1});
    leaves(h, 0, DW_REST_SCRAP, 10 * MM);
    right(h);
    h->pieces[0][1].length++;
    leaves(h, 0, DW_REST_SCRAP, 10 * MM - 1);
    wrong(h, "layout 1 does not fit bar by ~0 mm");
}

/* One leg of 2688 leaves 2990 - 2688 - 2 = 300, just enough to keep; 2 and less are chips. */
static void what_is_left(void **state)
{
    struct hand *h = *state;
    wants(h, 0, 1000 * MM, 2990 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 2688 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 300 * MM);
    right(h);
    leaves(h, 0, DW_REST_SCRAP, 300 * MM);
    wrong(h, "what becomes of the 300 mm left");
    h->job->rules.max_new_offcuts = 0;
    right(h); /* under a cap it may be thrown away */
    leaves(h, 0, DW_REST_KEPT, 300 * MM);
    wrong(h, "1 offcuts are kept, the job allows 0");
    h->job->rules.max_new_offcuts = 1;
    right(h);
    h->job->rules.max_new_offcuts = DW_UNLIMITED;
    h->pieces[0][0].length++;
    leaves(h, 0, DW_REST_KEPT, 300 * MM - 1);
    wrong(h, "what becomes of");
    leaves(h, 0, DW_REST_SCRAP, 300 * MM - 1);
    right(h);
    h->pieces[0][0].length = 2988 * MM;
    leaves(h, 0, DW_REST_SCRAP, 0);
    wrong(h, "what becomes of");
    leaves(h, 0, DW_REST_NONE, 0);
    right(h);
    h->pieces[0][0].length--;
    leaves(h, 0, DW_REST_SCRAP, 1);
    right(h);
    leaves(h, 0, DW_REST_NONE, 1);
    wrong(h, "what becomes of");
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
    wants(h, 0, 1000 * MM, 2990 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 0, 1});
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        h->pieces[0][0].length = 2988 * MM - cases[i].leftover;
        leaves(h, 0, cases[i].rest, cases[i].leftover);
        if (cases[i].good)
            right(h);
        else
            wrong(h, "is middling");
    }
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
    wants(h, 0, 1000 * MM, 1100 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 0, 1});
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        h->pieces[0][0].length = cases[i].length;
        leaves(h, 0, DW_REST_KEPT, 2988 * MM - cases[i].length);
        if (cases[i].good)
            right(h);
        else
            wrong(h, "1000 mm to 1100 mm is wanted");
    }
}

/* --- end-bent bars ---------------------------------------------------------------------------- */

/* Bars of 2000 mm, sawn ends, whose first 200 mm are bent: hooks of 600, rails from the tail. */
static void bend_bars(struct hand *h, int64_t hooks, int64_t rails)
{
    h->supply.length = 2000 * MM;
    h->supply.trim = 0;
    h->supply.bend = 200 * MM;
    h->supply.material = 1;
    h->supply.tail_material = 0;
    h->job->n_materials = h->group.n_materials = 2;
    h->job->n_parts = 2;
    h->parts[0].label = "hook";
    h->parts[0].materials = bent;
    wants(h, 0, 600 * MM, 600 * MM, hooks);
    wants(h, 1, 500 * MM, 500 * MM, rails);
}

/* Two bars of a hook and a rail: 600 + 2 + 500 leave 896 after the second cut. A bar has one bend:
 * two hooks of one bar are one too many, though length, money and counts come out. */
static void one_bend_a_bar(void **state)
{
    struct hand *h = *state;
    bend_bars(h, 2, 2);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    h->layouts[0].count = 2;
    leaves(h, 0, DW_REST_KEPT, 896 * MM);
    right(h);
    const struct dw_totals *sum = &h->plan->totals;
    assert_int_equal(sum->in_parts, 2200 * MM);
    assert_int_equal(sum->in_kept, 1792 * MM);
    assert_int_equal(sum->in_chips, 8 * MM);
    assert_int_equal(sum->in, 4000 * MM);
    assert_int_equal(sum->n_cuts, 4);
    /* 600 + 600 + 500 + 4 of 2000: 294 after the third cut */
    wants(h, 1, 500 * MM, 500 * MM, 1);
    h->layouts[0].count = 1;
    h->pieces[0][0].count = 2;
    leaves(h, 0, DW_REST_SCRAP, 294 * MM);
    wrong(h, "the bent hook comes once and keeps the bend of 200 mm");
    h->pieces[0][0].count = 1;
    h->pieces[0][2] = h->pieces[0][1];
    h->pieces[0][1] = h->pieces[0][0];
    h->layouts[0].n_pieces = 3;
    wrong(h, "hook can't be of tube");
}

/* A hook of 200 is the bend itself; a nanometre less cuts into it. */
static void the_bend_is_kept(void **state)
{
    struct hand *h = *state;
    bend_bars(h, 1, 1);
    h->job->n_parts = 1;
    wants(h, 0, 100 * MM, 600 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 200 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 1798 * MM);
    right(h);
    h->pieces[0][0].length--;
    leaves(h, 0, DW_REST_KEPT, 1798 * MM + 1);
    wrong(h, "keeps the bend of 200 mm");
}

/* The bend end is 200, comes first and once: 200 + 2 + 500 leave 1296. */
static void the_bend_end(void **state)
{
    struct hand *h = *state;
    bend_bars(h, 0, 1);
    h->parts[0] = h->parts[1];
    h->job->n_parts = 1;
    put(h, 0, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 1296 * MM);
    right(h);
    assert_int_equal(h->plan->totals.in_scrap, 200 * MM);
    h->pieces[0][0].count = 2;
    leaves(h, 0, DW_REST_KEPT, 1094 * MM);
    wrong(h, "the one bend end comes first");
    h->pieces[0][0].count = 1;
    h->pieces[0][0].length = 200 * MM - 1;
    leaves(h, 0, DW_REST_KEPT, 1296 * MM + 1);
    wrong(h, "the bend end is 200 mm long");
    h->pieces[0][0] = h->pieces[0][1];
    h->pieces[0][1] = (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1};
    leaves(h, 0, DW_REST_KEPT, 1296 * MM);
    wrong(h, "layout 1");
}

static void no_bend_on_a_straight_bar(void **state)
{
    struct hand *h = *state;
    wants(h, 0, 500 * MM, 500 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_BEND_END, DW_NONE, 200 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 500 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 2286 * MM);
    wrong(h, "bar has no bend end");
}

/* --- order, use and counts ----------------------------------------------------------------------
 */

/* Measured last: behind other pieces on the bar, and behind other bars; bent it may come first. */
static void measured_last(void **state)
{
    struct hand *h = *state;
    h->job->n_parts = 2;
    wants(h, 0, 1000 * MM, 1000 * MM, 1);
    wants(h, 1, 500 * MM, 500 * MM, 1);
    h->parts[0].measure_first = true;
    put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 1486 * MM);
    right(h);
    struct dw_piece first = h->pieces[0][0];
    h->pieces[0][0] = h->pieces[0][1];
    h->pieces[0][1] = first;
    wrong(h, "rail comes behind a piece that is measured first");
    h->layouts[0].n_pieces = 1;
    put(h, 1, first);
    h->plan->n_layouts = 2;
    leaves(h, 0, DW_REST_KEPT, 1988 * MM);
    leaves(h, 1, DW_REST_KEPT, 2488 * MM);
    wrong(h, "layout 2 comes behind one with pieces measured first");
    h->parts[0].measure_first = false;
    right(h);
    bend_bars(h, 1, 1);
    h->parts[0].measure_first = true;
    h->plan->n_layouts = 1;
    h->layouts[0].n_pieces = 0;
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 600 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_PART, 1, 500 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 896 * MM);
    right(h);
}

/* A surplus piece alone makes no layout, counts for no part, and is scrap. */
static void surplus(void **state)
{
    struct hand *h = *state;
    wants(h, 0, 1000 * MM, 1000 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_SURPLUS, 0, 1000 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 986 * MM);
    right(h);
    assert_int_equal(h->plan->totals.in_scrap, 1000 * MM);
    assert_int_equal(h->plan->totals.in_parts, 1000 * MM);
    h->job->rules.no_middling = true;
    wrong(h, "is surplus, which no middling leftovers excludes");
    h->job->rules.no_middling = false;
    h->pieces[0][0].count = 2;
    h->layouts[0].n_pieces = 1;
    wrong(h, "part leg is made 2 times, 1 are wanted");
    put(h, 1, (struct dw_piece){DW_USE_SURPLUS, 0, 1000 * MM, 2});
    h->pieces[0][0].count = 1;
    h->plan->n_layouts = 2;
    leaves(h, 0, DW_REST_KEPT, 1988 * MM);
    leaves(h, 1, DW_REST_KEPT, 986 * MM);
    wrong(h, "layout 2 gives no part and no post");
}

/* Up to three posts at 4.00; two of them with a leg. Posts earn, so that the trivial bound is -12.
 */
static void posts(void **state)
{
    struct hand *h = *state;
    h->job->n_parts = 2;
    wants(h, 0, 1000 * MM, 1000 * MM, 1);
    wants(h, 1, 500 * MM, 500 * MM, 3);
    h->parts[1].post = true;
    h->parts[1].worth = 40000;
    h->group.bound = -120000;
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    put(h, 0, (struct dw_piece){DW_USE_POST, 1, 500 * MM, 2});
    leaves(h, 0, DW_REST_KEPT, 984 * MM);
    right(h);
    assert_int_equal(h->plan->totals.posts, 80000);
    /* 30.00 and three cuts and two squarings, less 8.00 */
    assert_int_equal(h->plan->totals.value, 300000 + 25000 - 80000);
    h->group.bound++;
    wrong(h, "bound");
    h->group.bound--;
    h->pieces[0][1].count = 3;
    leaves(h, 0, DW_REST_KEPT, 482 * MM);
    right(h);
    h->parts[1].count = 2;
    wrong(h, "post rail is made 3 times, at most 2 are wanted");
    h->pieces[0][1].use = DW_USE_PART;
    wrong(h, "rail is made for another use");
}

/* Two bars where there are two, in whole packs only. */
static void bars_that_there_are(void **state)
{
    struct hand *h = *state;
    wants(h, 0, 1400 * MM, 1400 * MM, 4);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1400 * MM, 2});
    h->layouts[0].count = 2;
    leaves(h, 0, DW_REST_SCRAP, 186 * MM);
    h->supply.count = 2;
    right(h);
    h->supply.count = 1;
    wrong(h, "2 bars of bar are used, there are 1");
    h->supply.pack = 2;
    h->supply.count = 3;
    right(h);
    h->supply.pack = 3;
    h->supply.count = 4;
    right(h);
    assert_int_equal(h->plan->takes[0].bought, 3);
    h->supply.count = 2;
    wrong(h, "2 bars of bar are used, there are 0");
}

/* --- what a plan is made of ----------------------------------------------------------------------
 */

/* One leg of 1000, 1988 kept; right until `h` is changed. */
static void one_leg(struct hand *h)
{
    wants(h, 0, 1000 * MM, 1000 * MM, 1);
    put(h, 0, (struct dw_piece){DW_USE_PART, 0, 1000 * MM, 1});
    leaves(h, 0, DW_REST_KEPT, 1988 * MM);
    right(h);
}

static void layouts_are_well_formed(void **state)
{
    struct hand *h = *state;
    one_leg(h);
    struct dw_layout *layout = &h->layouts[0];
    struct dw_layout good = *layout;
    struct dw_piece *piece = &h->pieces[0][0];
    struct dw_piece leg = *piece;
    layout->supply = 1;
    wrong_as_it_is(h, "layout 1 is of no supply of the job");
    *layout = good;
    layout->group = 1;
    wrong_as_it_is(h, "layout 1 belongs to no group of the plan");
    *layout = good;
    layout->count = 0;
    wrong_as_it_is(h, "layout 1 is cut 0 times; 1 to 2000000 is possible");
    layout->count = DW_MAX_PIECES + 1;
    wrong_as_it_is(h, "layout 1 is cut 2000001 times; 1 to 2000000 is possible");
    *layout = good;
    layout->n_pieces = 0;
    wrong_as_it_is(h, "layout 1 has no pieces");
    *layout = good;
    layout->pieces = NULL;
    wrong_as_it_is(h, "layout 1 has no pieces");
    *layout = good;
    piece->part = 1;
    wrong_as_it_is(h, "layout 1: piece 1 is no part or post of the job");
    *piece = leg;
    piece->use = DW_USE_BEND_END;
    wrong_as_it_is(h, "layout 1: piece 1 is no part or post of the job");
    *piece = leg;
    piece->count = 0;
    wrong_as_it_is(h, "layout 1: piece 1 has an impossible length or count");
    *piece = leg;
    piece->length = 0;
    wrong_as_it_is(h, "layout 1: piece 1 has an impossible length or count");
    piece->length = DW_LENGTH_MAX + 1;
    wrong_as_it_is(h, "layout 1: piece 1 has an impossible length or count");
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
    wrong_as_it_is(h, "group 1 has no material");
    h->group = good;
    h->group.materials = NULL;
    wrong_as_it_is(h, "group 1 has no material");
    h->group = good;
    h->group.materials = one;
    wrong_as_it_is(h, "group 1 has a material that the job has not");
    h->group = good;
    h->group.status = (enum dw_status)(DW_STATUS_INFEASIBLE + 1);
    wrong_as_it_is(h, "group 1 has a status or proof that is not known");
    h->group = good;
    h->group.proof = (enum dw_proof)(DW_PROOF_SEARCH + 1);
    wrong_as_it_is(h, "group 1 has a status or proof that is not known");
    h->group = good;
    h->group.n_shortages = 1;
    wrong_as_it_is(h, "group 1 lacks a list that it counts");
    h->group.shortages = &none;
    wrong_as_it_is(h, "group 1 lacks a part that the job has not");
    h->group.shortages = &leg;
    wrong_as_it_is(h, "group 1 is planned, yet something is missing");
    h->group = good;
    h->group.certificate = (struct dw_certificate){.scale = 1, .n_duals = 1, .parts = one};
    wrong_as_it_is(h, "group 1 lacks a list that it counts");
    h->group.certificate.duals = dual;
    wrong_as_it_is(h, "group 1 has a dual of a part that the job has not");
    h->group = good;
    h->group.value++;
    wrong_as_it_is(h, "the value of group 1 is stated as");
    h->group = good;
    h->group.bound = h->group.value;
    wrong_as_it_is(h, "group 1: the bound does not go with the value and the status");
    h->group = good;
    h->job->n_materials = 2;
    h->plan->job_digest = dw_job_digest(h->job);
    h->group.materials = one;
    wrong_as_it_is(h, "group 1 is of other materials than are linked in the job");
}

static void takes_are_well_formed(void **state)
{
    struct hand *h = *state;
    one_leg(h);
    h->plan->takes[0].supply = 1;
    wrong_as_it_is(h, "the plan takes from a supply that the job has not");
    h->plan->takes[0].supply = 0;
    h->plan->n_takes = 0;
    wrong_as_it_is(h, "of bar the plan uses 0 bars, its layouts 1");
    h->plan->n_takes = 1;
    h->plan->takes = NULL;
    wrong_as_it_is(h, "the plan lacks a list that it counts");
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
    right(h);
    missing.never = !never;
    wrong(h, "that no bar can give a");
}

/* 2990 are usable of a straight bar; behind a kerf of 2 the grip leaves 2978 of them. */
static void what_a_straight_bar_gives(void **state)
{
    struct hand *h = *state;
    wants(h, 0, 2990 * MM, 2990 * MM, 1);
    gives(h, 0, false);
    wants(h, 0, 2990 * MM + 1, 2991 * MM, 1);
    gives(h, 0, true);
    h->job->saw.grip = 10 * MM;
    wants(h, 0, 2978 * MM, 2978 * MM, 1);
    gives(h, 0, false);
    wants(h, 0, 2978 * MM + 1, 2979 * MM, 1);
    gives(h, 0, true);
}

/* Behind a bend end of 200 and a kerf 1798 of 2000 are straight. A hook keeps the bend, may be no
 * longer than it, and as long as the bar. */
static void what_an_end_bent_bar_gives(void **state)
{
    struct hand *h = *state;
    bend_bars(h, 1, 1);
    wants(h, 1, 1798 * MM, 1798 * MM, 1);
    gives(h, 1, false);
    wants(h, 1, 1798 * MM + 1, 1799 * MM, 1);
    gives(h, 1, true);
    wants(h, 0, 100 * MM, 200 * MM, 1);
    gives(h, 0, false);
    wants(h, 0, 100 * MM, 200 * MM - 1, 1);
    gives(h, 0, true);
    wants(h, 0, 2000 * MM, 2000 * MM, 1);
    gives(h, 0, false);
    wants(h, 0, 2000 * MM + 1, 2001 * MM, 1);
    gives(h, 0, true);
}

#define HAND(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        HAND(a_full_bar),
        HAND(a_bar_in_the_grip),
        HAND(what_is_left),
        HAND(middling_leftovers),
        HAND(lengths_of_a_range),
        HAND(one_bend_a_bar),
        HAND(the_bend_is_kept),
        HAND(the_bend_end),
        HAND(no_bend_on_a_straight_bar),
        HAND(measured_last),
        HAND(surplus),
        HAND(posts),
        HAND(bars_that_there_are),
        HAND(layouts_are_well_formed),
        HAND(groups_are_well_formed),
        HAND(takes_are_well_formed),
        HAND(what_a_straight_bar_gives),
        HAND(what_an_end_bent_bar_gives),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
