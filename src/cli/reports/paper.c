/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Options of the commands that make papers, the plan they draw, and writing the files. */
#include "cli/reports/paper.h"

#include <dropwise/work.h>

#include <stdlib.h>
#include <string.h>

time_t dw_cli__paper_time(void)
{
    const char *epoch = getenv("SOURCE_DATE_EPOCH");
    char *end = NULL;
    long long seconds = epoch ? strtoll(epoch, &end, 10) : 0;
    return epoch && *epoch && !*end && seconds >= 0 ? (time_t)seconds : time(NULL);
}

void dw_cli__paper_stamp(struct dw_paper_request *request)
{
    time_t now = dw_cli__paper_time();
    struct tm utc = {0};
    if (getenv("SOURCE_DATE_EPOCH") && gmtime_r(&now, &utc))
        strftime(request->stamp, sizeof request->stamp, "%Y-%m-%dT%H:%M:%SZ", &utc);
}

enum dw_cli_status dw_cli__paper_request(const struct dw_cli_args *args,
                                         struct dw_paper_request *request)
{
    const char *path = dw_cli__value(args, "output");
    if (!path) {
        dw_cli__complain("%s: name the file with -o FILE.pdf, .svg or .png", args->path);
        return DW_CLI_REFUSED;
    }
    bool to_stdout = strcmp(path, "-") == 0;
    *request = (struct dw_paper_request){.form = to_stdout ? "pdf" : dw_paper__form_of(path),
                                         .paper = dw_cli__value(args, "paper"),
                                         .order = dw_cli__value(args, "order"),
                                         .number = dw_cli__value(args, "number"),
                                         .date = dw_cli__value(args, "date")};
    dw_cli__paper_stamp(request);
    if (!request->form) {
        dw_cli__complain("%s: \"%s\" must end in .pdf, .svg or .png", args->path, path);
        return DW_CLI_REFUSED;
    }
    int64_t dpi = 0;
    const char *text = dw_cli__value(args, "dpi");
    if (text && !dw_cli__number("dpi", text, 30, 1200, &dpi))
        return DW_CLI_REFUSED;
    request->dpi = (int)dpi;
    return DW_CLI_DONE;
}

struct dw_paper_request dw_cli__paper_at(const struct dw_cli_args *args, const char *path,
                                         const char *date)
{
    struct dw_paper_request request = {
        .form = dw_paper__form_of(path), .paper = dw_cli__value(args, "paper"), .date = date};
    dw_cli__paper_stamp(&request);
    return request;
}

struct dw_table_wish dw_cli__table_at(const struct dw_cli_args *args, const char *path,
                                      const char *date)
{
    return (struct dw_table_wish){
        .form = dw_tables__form_of(path), .paper = dw_cli__value(args, "paper"), .date = date};
}

const char *dw_cli__document(const struct dw_cli_args *args)
{
    for (size_t i = 0; i < args->n_given; i++)
        if (args->given[i].option.letter == 'o' && !dw_tables__form_of(args->given[i].value))
            return args->given[i].value;
    return NULL;
}

enum dw_cli_status dw_cli__planned_load(const struct dw_cli_args *args,
                                        struct dw_cli_planned *planned)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_job_source source = {0};
    char *text = NULL;
    if (strcmp(args->operands[0], "-") == 0 && strcmp(args->operands[1], "-") == 0) {
        dw_cli__complain("%s: only one of job and plan can come from standard input", args->path);
        return DW_CLI_REFUSED;
    }
    enum dw_cli_status status = dw_cli__load(args, &planned->job, &report);
    dw_report_free(&report);
    if (status != DW_CLI_DONE)
        return status;
    dw_err err = dw_cli__source(args->operands[1], &source, &text, &error);
    if (!err)
        err = dw_job_verify(planned->job, &source, &planned->plan, NULL, &report, &error);
    if (err && report.n_wrong == 0)
        dw_cli__say_error(&error);
    dw_cli__say_report(&report, SIZE_MAX);
    dw_report_free(&report);
    free(text);
    return dw_cli__file_status(err);
}

void dw_cli__planned_free(struct dw_cli_planned *planned)
{
    dw_plan_free(planned->plan);
    dw_job_free(planned->job);
    *planned = (struct dw_cli_planned){0};
}

void dw_cli__paper_missing(const struct dw_cli_args *args, const struct dw_paper_pages *pages)
{
    struct dw_buf text = {0};
    if (!pages->missing[0])
        return;
    dw_cli__clean(&text, pages->missing);
    dw_cli__complain("%s: no installed font can draw %s: install one that can", args->path,
                     text.text ? text.text : "some letters");
    dw_buf__free(&text);
}

enum dw_cli_status dw_cli__paper_write(const struct dw_cli_args *args,
                                       const struct dw_paper_pages *pages, const char *what)
{
    struct dw_error error = {0};
    const char *path = dw_cli__value(args, "output");
    if (strcmp(path, "-") == 0)
        return dw_cli__write((const char *)pages->files[0].bytes, pages->files[0].n);
    dw_err err = dw_paper__write(pages, path, dw_cli__has(args, "replace"), &error);
    if (err) {
        dw_cli__say_error(&error);
        return dw_cli__status(err);
    }
    dw_cli__paper_missing(args, pages);
    struct dw_buf text = {0};
    dw_buf__format(&text, "%s: %zu page%s, ", what, pages->n_pages, pages->n_pages == 1 ? "" : "s");
    dw_cli__clean(&text, path);
    if (pages->n_files > 1)
        dw_buf__format(&text, " (a file a page, numbered 1 to %zu)", pages->n_files);
    dw_buf__char(&text, '\n');
    size_t n = text.n;
    char *line = dw_buf__take(&text);
    enum dw_cli_status status = DW_CLI_FAILED;
    if (line)
        status = dw_cli__write(line, n);
    free(line);
    return status;
}
