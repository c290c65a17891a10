/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The seeds of the fuzz targets must be read as far as they are meant to, or fuzzing begins at the
 * first refusal. Run from the top folder. */
#include <dropwise/files.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static struct dw_job *read_job(const char *path)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    if (dw_job_read(path, &job, &report, &error) != DW_OK)
        fail_msg("%s: %s; %s", path, error.text,
                 report.n_remarks ? report.remarks[0].what.text : "no remark");
    dw_report_free(&report);
    return job;
}

static void test_jobs(void **state)
{
    (void)state;
    static const char *const paths[] = {"tests/fuzz/seeds/job/trio", "tests/fuzz/seeds/job/batch",
                                        "tests/fuzz/seeds/job/stall"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++)
        dw_job_free(read_job(paths[i]));
}

static void test_plans(void **state)
{
    (void)state;
    static const char *const paths[] = {"tests/fuzz/seeds/plan/within",
                                        "tests/fuzz/seeds/plan/duals"};
    struct dw_job *job = read_job("tests/fuzz/plan_job.yaml");
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        struct dw_plan *plan = NULL;
        struct dw_error error = {0};
        struct dw_report report = {0};
        if (dw_plan_read(paths[i], job, &plan, &error) != DW_OK)
            fail_msg("%s: %s", paths[i], error.text);
        if (dw_plan_check(job, plan, &report, &error) != DW_OK)
            fail_msg("%s: %s", paths[i],
                     report.n_remarks ? report.remarks[0].what.text : error.text);
        dw_report_free(&report);
        dw_plan_free(plan);
    }
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_jobs),
        cmocka_unit_test(test_plans),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
