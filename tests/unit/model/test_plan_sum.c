/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sums, takes, marks, worth and digest on jobs worked by hand. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include <dropwise/plan.h>

#include <string.h>

#define MM DW_NM_PER_MM

/* Bars of 6 000 mm at 30.00, mill ends with 5 mm trim, kerf 3 mm, 0.50 a cut; offcuts of 1 500 mm
 * at book value 4.00, both ends sawn. Keep from 400 mm, 2.00 a metre. */
static struct dw_job *make_job(void)
{
    static const size_t tube[] = {0};
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    job->saw = (struct dw_saw){.kerf = 3 * MM, .cut_cost = 5000};
    job->n_materials = job->n_orders = 1;
    job->n_supplies = job->n_parts = 2;
    job->materials = dw_job_alloc(job, 1, sizeof *job->materials);
    job->supplies = dw_job_alloc(job, 2, sizeof *job->supplies);
    job->parts = dw_job_alloc(job, 2, sizeof *job->parts);
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    assert_true(job->materials && job->supplies && job->parts && job->orders);
    job->materials[0].id = "tube";
    job->materials[0].worth =
        (struct dw_worth){.kind = DW_WORTH_RATE, .keep = 400 * MM, .rate = 20000, .per = 1000 * MM};
    job->supplies[0] = (struct dw_supply){.id = "B6",
                                          .length = 6000 * MM,
                                          .price = 300000,
                                          .count = DW_UNLIMITED,
                                          .pack = 1,
                                          .trim = 5 * MM,
                                          .tail_material = DW_NONE};
    job->supplies[1] = (struct dw_supply){.id = "O1",
                                          .source = DW_SOURCE_OFFCUT,
                                          .length = 1500 * MM,
                                          .price = 40000,
                                          .count = 1,
                                          .pack = 1,
                                          .ends = {DW_END_SAWN, DW_END_SAWN},
                                          .trim = 5 * MM,
                                          .tail_material = DW_NONE};
    job->parts[0] = (struct dw_part){
        .label = "leg", .min = 1000 * MM, .max = 1000 * MM, .count = 11, .materials = tube};
    job->parts[1] = (struct dw_part){.label = "arm",
                                     .min = 480 * MM,
                                     .max = 500 * MM,
                                     .count = 2,
                                     .materials = tube,
                                     .post = true,
                                     .worth = 30000};
    job->parts[0].n_materials = job->parts[1].n_materials = 1;
    return job;
}

/* Two bars of five legs: 5 990 - 5 000 - 12 = 978 left before the last cut, 975 after it.
 * The offcut: a leg, and an arm stretched to 497 so that nothing is left: one cut. */
static const struct dw_piece five[] = {{DW_USE_PART, 0, 1000 * MM, 5}};
static const struct dw_piece leg_arm[] = {{DW_USE_PART, 0, 1000 * MM, 1},
                                          {DW_USE_POST, 1, 497 * MM, 1}};

static struct dw_plan *make_plan(void)
{
    struct dw_plan *plan = NULL;
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    plan->layouts = dw_plan_alloc(plan, 2, sizeof *plan->layouts);
    assert_non_null(plan->layouts);
    plan->n_layouts = 2;
    plan->layouts[0] = (struct dw_layout){.supply = 0,
                                          .count = 2,
                                          .n_pieces = 1,
                                          .pieces = five,
                                          .rest = DW_REST_KEPT,
                                          .leftover = 975 * MM};
    plan->layouts[1] = (struct dw_layout){
        .supply = 1, .count = 1, .n_pieces = 2, .pieces = leg_arm, .rest = DW_REST_NONE};
    return plan;
}

static void sums_by_hand(void **state)
{
    (void)state;
    struct dw_job *job = make_job();
    struct dw_plan *plan = make_plan();
    assert_int_equal(dw_plan_sum(job, plan, NULL), DW_OK);
    const struct dw_totals *t = &plan->totals;
    assert_int_equal(t->bars, 600000);
    assert_int_equal(t->taken, 40000);
    assert_int_equal(t->n_cuts, 2 * (5 + 2) + 1);
    assert_int_equal(t->cuts, 15 * 5000);
    assert_int_equal(t->kept, 2 * 19500);
    assert_int_equal(t->posts, 30000);
    assert_int_equal(t->value, 600000 + 40000 + 75000 - 39000 - 30000);
    assert_int_equal(t->n_bars, 3);
    assert_int_equal(t->n_kept, 2);
    assert_int_equal(t->in, 13500 * MM);
    assert_int_equal(t->in_parts, 11000 * MM);
    assert_int_equal(t->in_posts, 497 * MM);
    assert_int_equal(t->in_kept, 1950 * MM);
    assert_int_equal(t->in_scrap, 0);
    assert_int_equal(t->in_trim, 20 * MM);
    assert_int_equal(t->in_chips, (2 * 15 + 3) * MM);
    assert_int_equal(plan->n_takes, 2);
    assert_int_equal(plan->takes[0].used, 2);
    assert_int_equal(plan->takes[0].bought, 2);
    assert_int_equal(plan->takes[1].supply, 1);
    assert_int_equal(plan->takes[1].money, 40000);
    dw_plan_free(plan);
    dw_job_free(job);
}

/* used, pack, count -> bought, money; prices 30 below 4 bars, 20 from 4, 15 from 10. */
static void takes_by_hand(void **state)
{
    (void)state;
    static const struct {
        int64_t used, pack, count, bought;
        dw_money money;
    } rows[] = {
        {1, 1, DW_UNLIMITED, 1, 30},    {2, 1, DW_UNLIMITED, 2, 60},
        {3, 1, DW_UNLIMITED, 4, 80},    {3, 1, 3, 3, 90},
        {5, 1, DW_UNLIMITED, 5, 100},   {7, 1, DW_UNLIMITED, 7, 140},
        {8, 1, DW_UNLIMITED, 10, 150},  {8, 1, 9, 8, 160},
        {1, 3, DW_UNLIMITED, 3, 90},    {2, 6, DW_UNLIMITED, 6, 120},
        {7, 6, DW_UNLIMITED, 12, 180},  {7, 4, DW_UNLIMITED, 8, 160},
        {8, 4, DW_UNLIMITED, 8, 160},   {11, 1, DW_UNLIMITED, 11, 165},
        {1, 10, DW_UNLIMITED, 10, 150}, {3, 3, 5, 3, 90},
    };
    static const struct dw_price_break breaks[] = {{4, 20}, {10, 15}};
    struct dw_job *job = make_job();
    struct dw_plan *plan = make_plan();
    struct dw_supply *bar = &job->supplies[0];
    bar->price = 30;
    bar->breaks = breaks;
    bar->n_breaks = 2;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bar->pack = rows[i].pack;
        bar->count = rows[i].count;
        plan->layouts[0].count = rows[i].used;
        assert_int_equal(dw_plan_sum(job, plan, NULL), DW_OK);
        assert_int_equal(plan->takes[0].used, rows[i].used);
        assert_int_equal(plan->takes[0].bought, rows[i].bought);
        assert_int_equal(plan->takes[0].money, rows[i].money);
        assert_int_equal(plan->totals.bars, rows[i].money);
    }
    dw_plan_free(plan);
    dw_job_free(job);
}

static void sums_that_overflow_are_refused(void **state)
{
    (void)state;
    struct dw_job *job = make_job();
    struct dw_plan *plan = make_plan();
    struct dw_error error = {0};
    plan->layouts[0].count = INT64_MAX / 1000;
    assert_int_equal(dw_plan_sum(job, plan, &error), DW_ERR_RANGE);
    assert_true(strlen(error.text) > 0);
    dw_plan_free(plan);
    dw_job_free(job);
}

static void no_layouts_take_nothing(void **state)
{
    (void)state;
    struct dw_job *job = make_job();
    struct dw_plan *plan = make_plan();
    plan->n_layouts = 0;
    assert_int_equal(dw_plan_sum(job, plan, NULL), DW_OK);
    assert_int_equal(plan->n_takes, 0);
    assert_int_equal(plan->totals.value, 0);
    dw_plan_free(plan);
    dw_job_free(job);
}

/* ameblo.jp/kmk-laboratory/entry-12679630658.html: pieces of 10 cm with a 2 mm kerf are marked at
 * 10, 20.2 and 30.4, not at 10, 20, 30. The post after them ends at 30.4 + 0.2 + 5 (by hand). */
static void marks_count_the_kerfs(void **state)
{
    (void)state;
    struct dw_job *job = make_job();
    const struct dw_piece pieces[] = {{DW_USE_PART, 0, 100 * MM, 3}, {DW_USE_POST, 1, 50 * MM, 1}};
    const struct dw_layout layout = {.n_pieces = 2, .pieces = pieces, .count = 1};
    struct dw_mark marks[4];
    job->saw.kerf = 2 * MM;
    assert_int_equal(dw_layout_n_marks(&layout), 4);
    dw_layout_marks(job, &layout, marks);
    assert_int_equal(marks[0].running, 100 * MM);
    assert_int_equal(marks[1].running, 202 * MM);
    assert_int_equal(marks[2].running, 304 * MM);
    assert_int_equal(marks[3].running, 356 * MM);
    assert_int_equal(marks[2].stop, 100 * MM);
    assert_int_equal(marks[3].stop, 50 * MM);
    assert_int_equal(marks[2].piece, 0);
    assert_int_equal(marks[3].piece, 1);
    dw_job_free(job);
}

static void worth_by_hand(void **state)
{
    (void)state;
    static const struct dw_worth_class classes[] = {{500 * MM, 10000}, {1000 * MM, 90000}};
    static const struct dw_price_break breaks[] = {{10, 60000}};
    struct dw_job *job = make_job();
    struct dw_worth *worth = &job->materials[0].worth;
    assert_int_equal(dw_job_worth(job, 0, 400 * MM - 1), 0);
    assert_int_equal(dw_job_worth(job, 0, 400 * MM), 8000);
    assert_int_equal(dw_job_worth(job, 0, 400 * MM + 49999), 8000); /* rounded down */
    assert_int_equal(dw_job_worth(job, 0, 400 * MM + 50000), 8001);
    worth->rate = 90000; /* a new bar costs 50000 a metre */
    assert_int_equal(dw_job_worth(job, 0, 2000 * MM), 100000);
    job->supplies[0].breaks = breaks; /* ... or 10000, bought by the ten */
    job->supplies[0].n_breaks = 1;
    assert_int_equal(dw_job_worth(job, 0, 2000 * MM), 20000);
    *worth = (struct dw_worth){.kind = DW_WORTH_SHARE, .keep = 400 * MM, .share = 750000};
    assert_int_equal(dw_job_worth(job, 0, 2000 * MM), 15000);
    job->supplies[0].n_breaks = 0;
    assert_int_equal(dw_job_worth(job, 0, 2000 * MM), 75000);
    *worth = (struct dw_worth){
        .kind = DW_WORTH_CLASSES, .keep = 400 * MM, .classes = classes, .n_classes = 2};
    assert_int_equal(dw_job_worth(job, 0, 499 * MM), 0);
    assert_int_equal(dw_job_worth(job, 0, 999 * MM), 10000);
    assert_int_equal(dw_job_worth(job, 0, 1000 * MM), 50000); /* as dear as new */
    assert_int_equal(dw_job_worth(job, 0, 1900 * MM), 90000);
    job->n_supplies = 0; /* nothing new: no cap, and no share either */
    assert_int_equal(dw_job_worth(job, 0, 1000 * MM), 90000);
    worth->kind = DW_WORTH_SHARE;
    assert_int_equal(dw_job_worth(job, 0, 1000 * MM), 0);
    worth->kind = DW_WORTH_NONE;
    assert_int_equal(dw_job_worth(job, 0, 1000 * MM), 0);
    dw_job_free(job);
}

static void the_digest_sees_what_bears_on_a_plan(void **state)
{
    (void)state;
    struct dw_job *job = make_job();
    uint64_t digest = dw_job_digest(job);
    int64_t *const figures[] = {&job->saw.kerf,
                                &job->saw.grip,
                                &job->saw.cut_cost,
                                &job->rules.max_new_offcuts,
                                &job->rules.scrap_max,
                                &job->materials[0].worth.keep,
                                &job->materials[0].worth.rate,
                                &job->materials[0].worth.per,
                                &job->supplies[1].length,
                                &job->supplies[1].measured,
                                &job->supplies[1].price,
                                &job->supplies[1].count,
                                &job->supplies[1].pack,
                                &job->supplies[1].trim,
                                &job->parts[1].min,
                                &job->parts[1].max,
                                &job->parts[1].count,
                                &job->parts[1].worth};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        ++*figures[i];
        assert_true(dw_job_digest(job) != digest);
        --*figures[i];
    }
    job->supplies[1].ends[0] = DW_END_MILL;
    assert_true(dw_job_digest(job) != digest);
    job->supplies[1].ends[0] = DW_END_SAWN;
    job->parts[0].label = "foot";
    assert_true(dw_job_digest(job) != digest);
    job->parts[0].label = "leg";
    job->parts[0].remark = "paint it";
    job->supplies[0].supplier = "the yard";
    job->name = "rack";
    assert_true(dw_job_digest(job) == digest);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_by_hand),
        cmocka_unit_test(takes_by_hand),
        cmocka_unit_test(sums_that_overflow_are_refused),
        cmocka_unit_test(no_layouts_take_nothing),
        cmocka_unit_test(marks_count_the_kerfs),
        cmocka_unit_test(worth_by_hand),
        cmocka_unit_test(the_digest_sees_what_bears_on_a_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
