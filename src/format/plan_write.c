/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan as a JSON document. The same plan gives the same bytes. */
#include "format/format.h"
#include "format/plan_json.h"
#include "model/caution.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void put_job(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan)
{
    char digest[17];
    snprintf(digest, sizeof digest, "%016" PRIx64, plan->job_digest);
    dw_out__open(out, "job", '{');
    dw_out__text(out, "name", job->name);
    dw_out__text(out, "digest", digest);
    dw_out__text(out, "currency", job->currency);
    dw_out__close(out, '{');
}

bool dw_plan__has_brought(const struct dw_job *job)
{
    bool has = false;
    for (size_t i = 0; i < job->n_supplies; i++)
        has = has || job->supplies[i].brought;
    return has;
}

/* The pieces of a shelf that were offered; a job without any has no such member. */
static void put_shelf(const struct dw_record_out *to)
{
    const struct dw_job *job = to->job;
    if (!dw_plan__has_brought(job))
        return;
    dw_out__open(to->out, "shelf", '[');
    for (size_t i = 0; i < job->n_supplies; i++)
        if (job->supplies[i].brought)
            dw_record__supply(to, NULL, &job->supplies[i]);
    dw_out__close(to->out, '[');
}

/* What was doubtful in the job; a document without any has no such member. */
static void put_remarks(struct dw_out *out, const struct dw_report *report)
{
    bool any = false;
    for (size_t i = 0; report && i < report->n_remarks; i++) {
        const struct dw_error *what = &report->remarks[i].what;
        if (report->remarks[i].severity != DW_DOUBT)
            continue;
        if (!any)
            dw_out__open(out, "remarks", '[');
        any = true;
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "severity", dw_severity_word(DW_DOUBT));
        dw_out__text(out, "file", what->file);
        dw_out__int(out, "line", what->line);
        dw_out__int(out, "column", what->column);
        dw_out__text(out, "text", what->text);
        dw_out__close(out, '{');
    }
    if (any)
        dw_out__close(out, '[');
}

static void put_care(const struct dw_record_out *to, const struct dw_plan *plan)
{
    struct dw_care care = {0};
    dw_care__plan(&care, to->job, plan);
    dw_care__put(to->out, "cautions", &care, DW_AT_SAW);
    dw_saw_time__put(to->out, to->job, plan);
}

/* What the job of the rest is of the job as written; the whole job has no such member. */
static void put_rest(const struct dw_record_out *to)
{
    const struct dw_job *job = to->job;
    if (!job->part_of)
        return;
    dw_out__open(to->out, "rest", '{');
    dw_out__open(to->out, "parts", '[');
    for (size_t i = 0; i < job->n_parts; i++)
        dw_record__rest_part(to, i);
    dw_out__close(to->out, '[');
    dw_out__open(to->out, "bars", '[');
    for (size_t i = 0; i < job->n_supplies; i++) {
        struct dw_left left = {i, job->supplies[i].count};
        if (!job->supplies[i].brought && left.count != DW_UNLIMITED)
            dw_record__object(to, NULL, &dw_left__members, &left);
    }
    dw_out__close(to->out, '[');
    dw_out__close(to->out, '{');
}

dw_err dw_plan__to_json(const struct dw_job *job, const struct dw_plan *plan,
                        const struct dw_plan_beside *beside, char **text, struct dw_error *error)
{
    const struct dw_report *report = beside ? beside->report : NULL;
    struct dw_buf buf = {0};
    struct dw_out out = {
        .buf = &buf,
        .style = {.unit = job->unit, .denominator = job->denominator, .decimals = DW_PLAN_DECIMALS},
        .indent = 1};
    const struct dw_record_out to = {.out = &out, .job = job, .version = DW_PLAN_VERSION};
    dw_out__open(&out, NULL, '{');
    dw_out__text(&out, "format", DW_PLAN_FORMAT);
    dw_out__int(&out, "version", DW_PLAN_VERSION);
    put_job(&out, job, plan);
    put_remarks(&out, report);
    if (report)
        put_care(&to, plan);
    if (beside && beside->more)
        beside->more(&out, beside->user);
    put_shelf(&to);
    put_rest(&to);
    dw_record__plan(&to, plan);
    dw_out__close(&out, '{');
    dw_buf__char(&buf, '\n');
    *text = dw_buf__take(&buf);
    return *text ? DW_OK : dw_error__nomem(error);
}

dw_err dw_plan_to_json(const struct dw_job *job, const struct dw_plan *plan, char **text,
                       struct dw_error *error)
{
    return dw_plan__to_json(job, plan, NULL, text, error);
}

dw_err dw_plan_write(const char *path, const struct dw_job *job, const struct dw_plan *plan,
                     bool replace, struct dw_error *error)
{
    char *text = NULL;
    dw_err err = dw_plan_to_json(job, plan, &text, error);
    if (err == DW_OK)
        err = dw_file__write(path, text, strlen(text), replace, error);
    free(text);
    return err;
}
