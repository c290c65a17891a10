/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "hand_plan.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#define MM DW_NM_PER_MM

static const size_t straight[] = {0};
static const size_t bent[] = {1};

int hand_set_up(void **state)
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

int hand_tear_down(void **state)
{
    struct hand *h = *state;
    dw_plan_free(h->plan);
    dw_job_free(h->job);
    return 0;
}

void hand_wants(struct hand *h, size_t part, dw_length min, dw_length max, int64_t count)
{
    h->parts[part].min = min;
    h->parts[part].max = max;
    h->parts[part].count = count;
}

void hand_put(struct hand *h, size_t layout, struct dw_piece piece)
{
    struct dw_layout *to = &h->layouts[layout];
    h->pieces[layout][to->n_pieces++] = piece;
}

void hand_leaves(struct hand *h, size_t layout, enum dw_rest rest, dw_length leftover)
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

void hand_right(struct hand *h)
{
    sum_up(h);
    const char *text = remark_on(h);
    if (text)
        fail_msg("refused: %s", text);
}

void hand_proves(struct hand *h, dw_money bound, bool settled)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_plan_proven *proven = NULL;
    sum_up(h);
    if (dw_plan_prove(h->job, h->plan, &report, &proven, &error) != DW_OK)
        fail_msg("refused: %s", error.text);
    assert_int_equal(proven->n_groups, 1);
    assert_int_equal(proven->groups[0].bound, bound);
    assert_int_equal(proven->bound, bound);
    assert_int_equal(proven->groups[0].settled, settled);
    assert_int_equal(proven->settled, settled);
    dw_plan_proven_free(proven);
    dw_report_free(&report);
}

void hand_wrong_as_it_is(const struct hand *h, const char *words)
{
    const char *text = remark_on(h);
    if (!text || !strstr(text, words))
        fail_msg("\"%s\", not \"%s\"", text ? text : "accepted", words);
}

void hand_wrong(struct hand *h, const char *words)
{
    sum_up(h);
    hand_wrong_as_it_is(h, words);
}

void hand_bend_bars(struct hand *h, int64_t hooks, int64_t rails)
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
    hand_wants(h, 0, 600 * MM, 600 * MM, hooks);
    hand_wants(h, 1, 500 * MM, 500 * MM, rails);
}
