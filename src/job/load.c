/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job as it is read, with all that is wrong or doubtful in it. */
#include <dropwise/work.h>

#include "base/base.h"

#include <dropwise/limits.h>

/* Every limit of a section that is passed, or can't be judged, is a doubt at the section's place.
 */
static dw_err doubt_limits(const struct dw_job *job, struct dw_report *report,
                           struct dw_error *error)
{
    struct dw_limits *limits = NULL;
    dw_err err = job->n_sections ? dw_limits_check(job, NULL, &limits, error) : DW_OK;
    for (size_t i = 0; limits && !err && i < limits->n_breaches; i++) {
        const struct dw_breach *breach = &limits->breaches[i];
        const struct dw_place *at = &job->sections[limits->loads[breach->section].row].at;
        err = dw_report__add(report, DW_DOUBT, at->file, at->line, at->column, "%s", breach->text);
    }
    if (!err && limits && limits->n_breaches)
        err = dw_report__sort(report, job->file);
    dw_limits_free(limits);
    return err == DW_ERR_NOMEM ? dw_error__nomem(error) : err;
}

dw_err dw_job_load(const struct dw_job_source *source, struct dw_job **out,
                   struct dw_report *report, struct dw_error *error)
{
    dw_err err = source->text ? dw_job_read_text(source->text, source->n, source->path,
                                                 source->folder, out, report, error)
                              : dw_job_read(source->path, out, report, error);
    if (!err)
        err = doubt_limits(*out, report, error);
    if (err) {
        dw_job_free(*out);
        *out = NULL;
    }
    return err;
}
