/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What becomes of a proof that there is no time for any more. The clock is the test's own. */
#include <dropwise/files.h>
#include <dropwise/solve.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Two legs fill a bar: one bar for 10.00, and no plan can cost less. */
static const char job_text[] = "dropwise: 1\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "saw: {kerf: 0}\n"
                               "rules: {keep: 350}\n"
                               "materials:\n"
                               "  - {id: al38}\n"
                               "bars:\n"
                               "  - {material: al38, length: 2000, price: 10.00}\n"
                               "  - {material: al38, length: 3000, price: 16.00}\n"
                               "parts:\n"
                               "  - {label: leg, material: al38, length: 1000, count: 2}\n";

struct clock {
    int64_t now_ms;
    int64_t step_ms; /* it runs by this from look to look */
    bool runs;
    bool when_done; /* it runs once the group is planned */
};

static int64_t look(void *user)
{
    struct clock *clock = user;
    clock->now_ms += clock->runs ? clock->step_ms : 0;
    return clock->now_ms;
}

static void note_progress(void *user, const struct dw_progress *progress)
{
    struct clock *clock = user;
    if (clock->when_done && progress->groups_done == progress->n_groups)
        clock->runs = true;
}

/* The plan passes the verifier, whatever it lacks. */
static void plan_by(struct clock *clock, struct dw_job **job, struct dw_plan **plan)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_settings settings;
    const struct dw_hooks hooks = {.now_ms = look, .progress = note_progress, .user = clock};
    dw_settings_default(&settings);
    settings.time_ms = 1000;
    settings.threads = 1;
    assert_int_equal(
        dw_job_read_text(job_text, sizeof job_text - 1, "desk.yaml", NULL, job, &report, &error),
        DW_OK);
    assert_int_equal(dw_solve(*job, &settings, &hooks, plan, &error), DW_OK);
    assert_int_equal(dw_plan_check(*job, *plan, &report, &error), DW_OK);
    assert_int_equal((*plan)->n_groups, 1);
    assert_int_equal((*plan)->totals.value, 100000);
    dw_report_free(&report);
}

static void test_in_time(void **state)
{
    (void)state;
    struct clock clock = {0};
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    plan_by(&clock, &job, &plan);
    assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
    assert_int_equal(plan->groups[0].proof, DW_PROOF_DUALS);
    assert_true(plan->groups[0].certificate.n_duals > 0);
    assert_int_equal(plan->bound, 100000);
    dw_plan_free(plan);
    dw_job_free(job);
}

/* The duals are there, but not proved again: nothing is claimed of them. */
static void test_late_at_the_proof(void **state)
{
    (void)state;
    struct clock clock = {.step_ms = 1000, .when_done = true};
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    plan_by(&clock, &job, &plan);
    assert_int_equal(plan->status, DW_STATUS_STOPPED);
    assert_int_equal(plan->groups[0].proof, DW_PROOF_NONE);
    assert_int_equal(plan->groups[0].certificate.n_duals, 0);
    assert_int_equal(plan->groups[0].bound, 0);
    assert_int_equal(plan->bound, 0);
    dw_plan_free(plan);
    dw_job_free(job);
}

/* No time at all: still a whole plan. */
static void test_late_from_the_first(void **state)
{
    (void)state;
    struct clock clock = {.step_ms = 1000, .runs = true};
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    plan_by(&clock, &job, &plan);
    assert_int_equal(plan->status, DW_STATUS_STOPPED);
    assert_int_equal(plan->groups[0].bound, 0);
    dw_plan_free(plan);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_in_time),
        cmocka_unit_test(test_late_at_the_proof),
        cmocka_unit_test(test_late_from_the_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
