/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise check: a job as it was understood. */
#include "cli/terminal/json.h"
#include "cli/reports/outline.h"

#include <stdlib.h>

static size_t count_doubts(const struct dw_report *report)
{
    size_t n = 0;
    for (size_t i = 0; i < report->n_remarks; i++)
        n += report->remarks[i].severity == DW_DOUBT;
    return n;
}

/* Ids of the materials of a group; NULL: no memory. */
static json_t *materials_json(const struct dw_job *job, const struct dw_job_outline *outline,
                              size_t group)
{
    json_t *list = json_array();
    for (size_t m = 0; list && m < job->n_materials; m++)
        if (outline->group_of[m] == group &&
            json_array_append_new(list, json_string(job->materials[m].id))) {
            json_decref(list);
            return NULL;
        }
    return list;
}

static json_t *groups_json(const struct dw_job *job, const struct dw_job_outline *outline)
{
    json_t *list = json_array();
    for (size_t g = 0; list && g < outline->n_groups; g++) {
        const struct dw_job_group *group = &outline->groups[g];
        json_t *item = json_pack(
            "{s:o, s:I, s:I, s:o, s:I}", "materials", materials_json(job, outline, g), "parts",
            (json_int_t)group->n_parts, "posts", (json_int_t)group->n_posts, "net length",
            dw_cli__json_length(job, group->net), "least bars", (json_int_t)group->least_bars);
        if (json_array_append_new(list, item)) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}

/* The job as understood; NULL: no memory. */
static json_t *outline_json(const struct dw_job *job, const struct dw_job_outline *outline)
{
    return json_pack("{s:o, s:I, s:I, s:o, s:I, s:o}", "name", dw_cli__json_text(job->name),
                     "parts", (json_int_t)outline->n_parts, "posts", (json_int_t)outline->n_posts,
                     "net length", dw_cli__json_length(job, outline->net), "supplies",
                     (json_int_t)job->n_supplies, "groups", groups_json(job, outline));
}

static enum dw_cli_status print_json(const struct dw_job *job, const struct dw_job_outline *outline,
                                     const struct dw_report *report)
{
    return dw_cli__json_write(
        json_pack("{s:s, s:i, s:b, s:I, s:I, s:o, s:o}", "format", "dropwise check", "version", 1,
                  "good", job != NULL, "wrong", (json_int_t)report->n_wrong, "doubts",
                  (json_int_t)count_doubts(report), "remarks", dw_cli__json_remarks(report),
                  "understood", job ? outline_json(job, outline) : json_null()));
}

static enum dw_cli_status print_page(struct dw_cli_page *page, const struct dw_job *job,
                                     const struct dw_job_outline *outline,
                                     const struct dw_report *report)
{
    dw_cli__outline_title(page, job, outline);
    dw_cli__outline_saw(page, job);
    dw_cli__outline_materials(page, job, outline);
    dw_cli__outline_supplies(page, job);
    dw_cli__outline_parts(page, job);
    dw_cli__outline_notes(page, report);
    struct dw_buf text = {0};
    size_t n_doubts = count_doubts(report);
    if (n_doubts > 0)
        dw_buf__format(&text, "No mistakes, %s above.",
                       dw_cli__count((int64_t)n_doubts, "doubt", "doubts").text);
    else
        dw_buf__put(&text, "No mistakes and no doubts.");
    dw_cli__newline(page);
    dw_cli__fold_buf(page, n_doubts > 0 ? DW_CLI_CARE : DW_CLI_GOOD, "", &text);
    return dw_cli__page_end(page);
}

static enum dw_cli_status show(const struct dw_cli_args *args, struct dw_cli_page *page,
                               const struct dw_job *job, const struct dw_report *report)
{
    struct dw_job_outline outline = {0};
    struct dw_error error = {0};
    dw_err err = job ? dw_job_outline_make(job, &outline, &error) : DW_OK;
    enum dw_cli_status status = dw_cli__status(err);
    if (err)
        dw_cli__say_error(&error);
    else if (dw_cli__has(args, "json"))
        status = print_json(job, &outline, report);
    else if (job)
        status = print_page(page, job, &outline, report);
    dw_job_outline_free(&outline);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_cli_page page = {0};
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &page);
    if (status == DW_CLI_DONE) {
        status = dw_cli__load_aloud(args, &job, &report);
        enum dw_cli_status shown = job ? dw_cli__page_job(args, job, &page) : DW_CLI_DONE;
        if (shown == DW_CLI_DONE && (job || report.n_wrong > 0))
            shown = show(args, &page, job, &report);
        status = status == DW_CLI_DONE ? shown : status;
    }
    dw_job_free(job);
    dw_report_free(&report);
    dw_cli__page_free(&page);
    return status;
}

const struct dw_cli_command dw_cli__cmd_check = {
    .name = "check",
    .operands = "JOB",
    .summary = "say all that is wrong or doubtful in a job, and what was understood",
    .about = "Reads a job and the files that it names, says every mistake and every doubt with its "
             "place, and shows what was understood: each length as it was written and as it was "
             "read, the materials, the bars, and what it adds up to. A section that passes one of "
             "its limits is a doubt.\n\n"
             "JOB is a YAML file; - reads it from standard input.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .run = run,
};
