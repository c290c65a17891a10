/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sections against their limits: what breaks one is named, with by how much. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <string.h>

#define MM(x) ((dw_length)(x)*DW_NM_PER_MM)

static const size_t tube[] = {0};

static struct dw_part part(const char *label, const char *section, dw_length length, int64_t count)
{
    return (struct dw_part){.label = label,
                            .section = section,
                            .min = length,
                            .max = length,
                            .count = count,
                            .n_materials = 1,
                            .materials = tube};
}

struct fixture {
    struct dw_job *job;
    struct dw_material material;
    struct dw_part parts[3];
    struct dw_section section;
};

/* Steel 48.3 x 4, 4.37 kg/m (EN 39, aljazera.com): 3 m of it in section "left". */
static void set_up(struct fixture *f)
{
    *f = (struct fixture){0};
    assert_int_equal(dw_job_new(&f->job, NULL), DW_OK);
    f->material =
        (struct dw_material){.id = "s", .od = 48300000, .wall = 4000000, .density_g_m3 = 7850000};
    f->job->n_materials = 1;
    f->job->materials = &f->material;
    f->parts[0] = part("post", "left", MM(1000), 2);
    f->parts[1] = part("rail", "left", MM(500), 2);
    f->parts[2] = part("foot", NULL, MM(300), 4);
    f->job->n_parts = 3;
    f->job->parts = f->parts;
    f->section = (struct dw_section){.name = "left"};
    f->job->n_sections = 1;
    f->job->sections = &f->section;
}

static struct dw_limits *check(const struct fixture *f, const struct dw_plan *plan)
{
    struct dw_limits *limits = NULL;
    struct dw_error error = {0};
    if (dw_limits_check(f->job, plan, &limits, &error))
        fail_msg("%s", error.text);
    return limits;
}

static void test_loads(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.section.added_mg = 2 * DW_MG_PER_KG;
    struct dw_limits *limits = check(&f, NULL);
    assert_int_equal(limits->n_loads, 2);
    assert_string_equal(limits->loads[0].name, "left");
    assert_null(limits->loads[1].name);
    assert_int_equal(limits->loads[0].n_pieces, 4);
    assert_int_equal(limits->loads[0].longest, MM(1000));
    /* 3 m x 4.37 kg/m + 2 kg */
    assert_in_range(limits->loads[0].weight_mg, 15090000, 15120000);
    assert_int_equal(limits->n_breaches, 0);
    dw_limits_free(limits);
    f.material.density_g_m3 = 0;
    limits = check(&f, NULL);
    assert_true(limits->loads[0].weight_mg == -1);
    dw_limits_free(limits);
    dw_job_free(f.job);
}

static void test_breaches(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.section = (struct dw_section){.name = "left",
                                    .longest = MM(980),
                                    .weight_mg = 10 * DW_MG_PER_KG,
                                    .size = {MM(1000), MM(720), MM(400)},
                                    .door = {MM(700), MM(2000)},
                                    .van = {MM(650), MM(950), MM(900)},
                                    .riser = {MM(800), MM(700)}};
    struct dw_limits *limits = check(&f, NULL);
    /* the two smaller sides, 400 and 720, pass 700 x 2000: 400 <= 700, 720 <= 2000 */
    assert_int_equal(limits->n_breaches, 4);
    assert_int_equal(limits->breaches[0].limit, DW_LIMIT_LONGEST);
    assert_int_equal(limits->breaches[0].part, 0);
    assert_int_equal(limits->breaches[0].by, MM(20));
    assert_string_equal(limits->breaches[0].text, "section left: post is 1000 mm long, 20 mm over "
                                                  "the longest piece of 980 mm");
    assert_int_equal(limits->breaches[1].limit, DW_LIMIT_WEIGHT);
    assert_in_range(limits->breaches[1].by, 3090000, 3120000);
    assert_int_equal(limits->breaches[2].limit, DW_LIMIT_VAN); /* 400 720 1000 in 650 900 950 */
    assert_int_equal(limits->breaches[2].by, MM(50));
    assert_int_equal(limits->breaches[3].limit, DW_LIMIT_RISER); /* 720 1000 on 700 800 */
    assert_int_equal(limits->breaches[3].by, MM(200));
    dw_limits_free(limits);
    f.section.door[0] = MM(390);
    limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 5);
    assert_int_equal(limits->breaches[2].by, MM(10));
    assert_string_equal(limits->breaches[2].text,
                        "section left: packed, it is 10 mm too large for the door");
    dw_limits_free(limits);
    dw_job_free(f.job);
}

/* Of pieces that are equally long the one is named that stands first in the job. */
static void test_first_of_the_longest(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.section.longest = MM(980);
    f.parts[1].min = f.parts[1].max = MM(1000);
    struct dw_limits *limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 1);
    assert_int_equal(limits->breaches[0].part, 0);
    dw_limits_free(limits);
    f.parts[1].max = f.parts[1].min = MM(1001);
    limits = check(&f, NULL);
    assert_int_equal(limits->breaches[0].part, 1);
    assert_int_equal(limits->breaches[0].by, MM(21));
    dw_limits_free(limits);
    dw_job_free(f.job);
}

/* What the material does not say is named; a limit that is just kept is kept. */
static void test_unjudged(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.section =
        (struct dw_section){.name = "left", .longest = MM(1000), .weight_mg = 25 * DW_MG_PER_KG};
    struct dw_limits *limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 0);
    assert_true(limits->loads[0].unweighed == DW_NONE);
    f.section.weight_mg = limits->loads[0].weight_mg;
    dw_limits_free(limits);
    limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 0);
    dw_limits_free(limits);
    f.section.weight_mg -= 1;
    limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 1);
    assert_int_equal(limits->breaches[0].by, 1);
    dw_limits_free(limits);
    f.section.weight_mg = 25 * DW_MG_PER_KG;
    f.material.density_g_m3 = 0;
    f.material.wall = 0;
    limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 1);
    assert_int_equal(limits->breaches[0].limit, DW_LIMIT_WEIGHT);
    assert_int_equal(limits->breaches[0].by, 0);
    assert_int_equal(limits->loads[0].unweighed, 0);
    assert_string_equal(limits->breaches[0].text,
                        "section left: the weight limit of 25.00 kg can't be judged; give material "
                        "s its wall and density");
    dw_limits_free(limits);
    f.material.od = 0;
    limits = check(&f, NULL);
    assert_string_equal(limits->breaches[0].text,
                        "section left: the weight limit of 25.00 kg can't be judged; give material "
                        "s its outside diameter, wall and density");
    dw_limits_free(limits);
    f.section.weight_mg = 0; /* no limit, nothing to judge */
    limits = check(&f, NULL);
    assert_int_equal(limits->n_breaches, 0);
    dw_limits_free(limits);
    dw_job_free(f.job);
}

/* With a plan, what is cut counts: a part with a range, and posts that were made. */
static void test_with_plan(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.parts[1].post = true;
    f.parts[0].max = MM(1200);
    struct dw_supply supply = {
        .id = "b", .length = MM(6000), .count = DW_UNLIMITED, .pack = 1, .tail_material = DW_NONE};
    f.job->n_supplies = 1;
    f.job->supplies = &supply;
    struct dw_plan *plan = NULL;
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    const struct dw_piece pieces[] = {
        {.use = DW_USE_PART, .part = 0, .length = MM(1200), .count = 2},
        {.use = DW_USE_POST, .part = 1, .length = MM(500), .count = 1},
        {.use = DW_USE_SURPLUS, .part = 0, .length = MM(1200), .count = 1}};
    struct dw_layout layout = {.count = 1, .n_pieces = 3, .pieces = pieces};
    plan->n_layouts = 1;
    plan->layouts = &layout;
    struct dw_limits *limits = check(&f, plan);
    assert_int_equal(limits->n_loads, 1);
    assert_int_equal(limits->loads[0].n_pieces, 3);
    assert_int_equal(limits->loads[0].longest, MM(1200));
    dw_limits_free(limits);
    dw_plan_free(plan);
    dw_job_free(f.job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_loads),     cmocka_unit_test(test_breaches),
        cmocka_unit_test(test_unjudged),  cmocka_unit_test(test_first_of_the_longest),
        cmocka_unit_test(test_with_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
