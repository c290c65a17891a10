/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a job adds up to, and what would cure a shortage. Expected figures are worked by hand. */
#include <dropwise/work.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#define MM DW_NM_PER_MM

static struct dw_job *read_job(const char *text)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_job_source source = {.path = "job", .text = text, .n = strlen(text)};
    if (dw_job_load(&source, &job, &report, &error) != DW_OK)
        print_error("%s\n", report.n_remarks ? report.remarks[0].what.text : error.text);
    dw_report_free(&report);
    assert_non_null(job);
    return job;
}

#define HEAD "dropwise: 1\nunit: mm\nsaw: {kerf: 5}\n"

static struct dw_job_outline outline_of(const struct dw_job *job)
{
    struct dw_job_outline outline = {0};
    struct dw_error error = {0};
    assert_int_equal(dw_job_outline_make(job, &outline, &error), DW_OK);
    return outline;
}

/* Six 1 m pieces with a 5 mm kerf need 6 x 1005 = 6030 mm out of (6000 + 5): two bars. */
static void bars_count_kerfs(void **state)
{
    (void)state;
    struct dw_job *job =
        read_job(HEAD "materials: [{id: a}, {id: b}]\n"
                      "bars: [{material: a, length: 6000, price: 1}]\n"
                      "parts: [{label: p, material: a, length: 1000, count: 6}]\n");
    struct dw_job_outline outline = outline_of(job);
    assert_int_equal(outline.n_groups, 2);
    assert_int_equal(outline.groups[0].least_bars, 2);
    assert_int_equal(outline.groups[0].n_parts, 6);
    assert_true(outline.net == 6000 * MM);
    assert_int_equal(outline.groups[1].n_parts, 0);
    dw_job_outline_free(&outline);
    dw_job_free(job);
}

/* b and d are linked by a part, then a and d: a, b, d are one group, c another. */
static void links_join_groups(void **state)
{
    (void)state;
    struct dw_job *job = read_job(HEAD "materials: [{id: a}, {id: b}, {id: c}, {id: d}]\n"
                                       "bars:\n"
                                       "  - {material: a, length: 6000, price: 1}\n"
                                       "  - {material: c, length: 3000, price: 1}\n"
                                       "parts:\n"
                                       "  - {label: p, material: d or b, length: 100, count: 1}\n"
                                       "  - {label: q, material: c, length: 200, count: 2}\n"
                                       "  - {label: r, material: a or d, length: 300, count: 3}\n");
    struct dw_job_outline outline = outline_of(job);
    assert_int_equal(outline.n_groups, 2);
    static const size_t expected[] = {0, 0, 1, 0};
    assert_memory_equal(outline.group_of, expected, sizeof expected);
    assert_int_equal(outline.groups[0].n_parts, 4);
    assert_int_equal(outline.groups[1].n_parts, 2);
    assert_true(outline.groups[0].longest == 6000 * MM);
    dw_job_outline_free(&outline);
    dw_job_free(job);
}

/* The only cure of a job that lacks tube. */
static struct dw_cure only_cure(const char *text)
{
    struct dw_settings settings;
    struct dw_hooks hooks = {0};
    struct dw_plan *plan = NULL;
    struct dw_cure *cures = NULL;
    struct dw_error error = {0};
    size_t n_cures = 0;
    struct dw_job *job = read_job(text);
    dw_settings_default(&settings);
    assert_int_equal(dw_solve(job, &settings, &hooks, &plan, &error), DW_OK);
    assert_int_equal(plan->status, DW_STATUS_INFEASIBLE);
    assert_int_equal(dw_job_cure(job, plan, &hooks, &cures, &n_cures, &error), DW_OK);
    assert_int_equal(n_cures, 1);
    struct dw_cure cure = cures[0];
    free(cures);
    dw_plan_free(plan);
    dw_job_free(job);
    return cure;
}

/* Five pieces of 2500 out of 6 m: two a bar, three bars, and there is one. */
static void more_bars_cure(void **state)
{
    (void)state;
    struct dw_cure cure = only_cure(HEAD "materials: [{id: a}]\n"
                                         "bars: [{id: six, length: 6000, price: 1, count: 1}]\n"
                                         "parts: [{label: p, length: 2500, count: 5}]\n");
    assert_int_equal(cure.kind, DW_CURE_MORE);
    assert_int_equal(cure.supply, 0);
    assert_int_equal(cure.count, 2);
}

/* Only offcuts: no more of them can be had, so the missing pieces are named. */
static void offcuts_are_single(void **state)
{
    (void)state;
    struct dw_cure cure = only_cure(HEAD "materials: [{id: a}]\n"
                                         "offcuts: [{id: k, length: 1200, book value: 1}]\n"
                                         "parts: [{label: p, length: 1000, count: 3}]\n");
    assert_int_equal(cure.kind, DW_CURE_ANY);
    assert_int_equal(cure.count, 2);
    assert_true(cure.length == 1000 * MM);
}

/* With a grip of 40 and a kerf of 5, a piece of 1000 needs 1045. */
static void grip_needs_a_tail(void **state)
{
    (void)state;
    struct dw_job job = {.saw = {.kerf = 5 * MM, .grip = 40 * MM}};
    assert_true(dw_job_need(&job, 1000 * MM) == 1045 * MM);
    job.saw.grip = 0;
    assert_true(dw_job_need(&job, 1000 * MM) == 1000 * MM);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bars_count_kerfs),  cmocka_unit_test(links_join_groups),
        cmocka_unit_test(more_bars_cure),    cmocka_unit_test(offcuts_are_single),
        cmocka_unit_test(grip_needs_a_tail),
    };
    return cmocka_run_group_tests_name("job outline and cure", tests, NULL, NULL);
}
