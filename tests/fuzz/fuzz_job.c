/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a job. What is read has passed the check of jobs; what is refused says why. */
#include <dropwise/files.h>

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void check_remark(const struct dw_remark *remark)
{
    must(remark->what.text[0] != '\0' && strchr(remark->what.text, '\n') == NULL);
    must(remark->what.line >= 0 && remark->what.column >= 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err =
        dw_job_read_text((const char *)data, size, "job.yaml", NULL, &job, &report, &error);
    must((err == DW_OK) == (job != NULL));
    must((err == DW_ERR_INPUT) == (report.n_wrong > 0));
    for (size_t i = 0; i < report.n_remarks; i++)
        check_remark(&report.remarks[i]);
    dw_report_free(&report);
    if (job) {
        must(dw_job_check(job, &report, &error) == DW_OK && report.n_wrong == 0);
        must(dw_job_digest(job) == dw_job_digest(job));
    }
    dw_report_free(&report);
    dw_job_free(job);
    return 0;
}
