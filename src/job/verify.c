/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job/job.h"

dw_err dw_job__verify(const struct dw_job *job, const struct dw_job_source *source,
                      struct dw_plan **out, struct dw_report *report, struct dw_error *error)
{
    dw_err err = source->text
                     ? dw_plan_from_json(source->text, source->n, source->path, job, out, error)
                     : dw_plan_read(source->path, job, out, error);
    if (err)
        return err;
    return dw_plan_check(job, *out, report, error);
}
