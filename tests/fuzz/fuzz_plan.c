/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a plan document. What is read is written the same way again, and goes through the
 * verifier, which may refuse it but must come back. */
#include <dropwise/files.h>

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The job that the seeds are plans of: tests/fuzz/plan_job.yaml. */
static struct dw_job *job;

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void free_job(void)
{
    dw_job_free(job);
}

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    struct dw_report report = {0};
    must(dw_job_read("tests/fuzz/plan_job.yaml", &job, &report, NULL) == DW_OK);
    dw_report_free(&report);
    return atexit(free_job);
}

static void check_written(const struct dw_plan *plan)
{
    char *text = NULL, *again = NULL;
    struct dw_plan *back = NULL;
    must(dw_plan_to_json(job, plan, &text, NULL) == DW_OK);
    must(dw_plan_from_json(text, strlen(text), "again", job, &back, NULL) == DW_OK);
    must(dw_plan_to_json(job, back, &again, NULL) == DW_OK);
    must(strcmp(text, again) == 0);
    free(text);
    free(again);
    dw_plan_free(back);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    dw_err err = dw_plan_from_json((const char *)data, size, "plan.json", job, &plan, &error);
    must((err == DW_OK) == (plan != NULL) && error.code == err);
    must(err == DW_OK || error.text[0] != '\0');
    if (plan) {
        struct dw_report report = {0};
        check_written(plan);
        err = dw_plan_check(job, plan, &report, NULL);
        must((err == DW_ERR_CHECK) == (report.n_wrong > 0));
        dw_report_free(&report);
    }
    dw_plan_free(plan);
    return 0;
}
