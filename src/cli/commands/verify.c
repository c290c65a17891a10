/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise verify: whether a plan is right, and how good it is for certain. */
#include "cli/terminal/json.h"
#include "cli/reports/report.h"

#include <dropwise/work.h>
#include "model/record.h"

#include <stdlib.h>
#include <string.h>

static enum dw_cli_status print_json(const struct dw_job *job, const struct dw_plan *plan,
                                     const struct dw_plan_proven *proven,
                                     const struct dw_report *report)
{
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .currency = job->currency};
    const struct dw_record_out to = {.out = &out, .job = job, .version = DW_RECORD_ALL};
    dw_out__open(&out, NULL, '{');
    dw_out__text(&out, "format", "dropwise verify");
    dw_out__int(&out, "version", 2);
    dw_out__text(&out, "job", job->name);
    dw_out__yes(&out, "valid", report->n_wrong == 0);
    dw_out__text(&out, "currency", job->currency);
    dw_out__int(&out, "number", plan->number);
    dw_out__int(&out, "replaces", plan->replaces);
    dw_out__money(&out, "value", plan->totals.value);
    dw_record__proven(&to, plan, proven);
    dw_out__close(&out, '{');
    json_t *document = dw_cli__json_take(&buf);
    if (document)
        json_object_set_new(document, "remarks", dw_cli__json_remarks(report));
    return dw_cli__json_write(document);
}

static enum dw_cli_status print_report(struct dw_cli_page *page, const struct dw_job *job,
                                       const struct dw_plan *plan,
                                       const struct dw_plan_proven *proven)
{
    dw_cli__report_title(page, job, plan);
    dw_cli__heading(page, "The plan holds");
    dw_cli__fold(page, DW_CLI_GOOD, "  ",
                 plan->status == DW_STATUS_INFEASIBLE
                     ? "Every bar that it cuts fits, no bar is used more often than there are, "
                       "and length and money come out as stated."
                     : "Every bar fits, every part is there in number and length, no bar is used "
                       "more often than there are, and length and money come out as stated.");
    dw_cli__report_proven(page, job, plan, proven);
    return dw_cli__page_end(page);
}

static enum dw_cli_status verify_job(const struct dw_cli_args *args, struct dw_cli_page *page,
                                     struct dw_job *job)
{
    struct dw_job_source source = {0};
    struct dw_plan *plan = NULL;
    struct dw_plan_proven *proven = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    char *text = NULL;
    dw_err err = dw_cli__source(args->operands[1], &source, &text, &error);
    if (!err)
        err = dw_job_verify(job, &source, &plan, &proven, &report, &error);
    if (err && report.n_wrong == 0)
        dw_cli__say_error(&error);
    dw_cli__say_report(&report, SIZE_MAX);
    enum dw_cli_status status = dw_cli__file_status(err);
    enum dw_cli_status printed = DW_CLI_DONE;
    if (plan && dw_cli__has(args, "json"))
        printed = print_json(job, plan, proven, &report);
    else if (plan && status == DW_CLI_DONE)
        printed = print_report(page, job, plan, proven);
    free(text);
    dw_plan_proven_free(proven);
    dw_plan_free(plan);
    dw_report_free(&report);
    return status == DW_CLI_DONE ? printed : status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_cli_page page = {0};
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &page);
    if (status == DW_CLI_DONE && strcmp(args->operands[0], "-") == 0 &&
        strcmp(args->operands[1], "-") == 0) {
        dw_cli__complain("verify: only one of job and plan can come from standard input");
        status = DW_CLI_REFUSED;
    }
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args, &job, &report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, job, &page);
    if (status == DW_CLI_DONE)
        status = verify_job(args, &page, job);
    dw_job_free(job);
    dw_report_free(&report);
    dw_cli__page_free(&page);
    return status;
}

const struct dw_cli_command dw_cli__cmd_verify = {
    .name = "verify",
    .operands = "JOB PLAN.json",
    .summary = "prove a plan again from the job alone",
    .about =
        "Derives fit, counts, supply, lengths and money of a plan anew from the job, in code that "
        "shares nothing with the solver, and says every difference. Then it says how good the "
        "plan is: what the duals in it prove, and apart from that what its maker claims.\n\n"
        "One of JOB and PLAN.json may be -, standard input.",
    .least = 2,
    .most = 2,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .run = run,
};
