/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job/job.h"

dw_err dw_job__load(const struct dw_job_source *source, struct dw_job **out,
                    struct dw_report *report, struct dw_error *error)
{
    if (source->text)
        return dw_job_read_text(source->text, source->n, source->path, source->folder, out, report,
                                error);
    return dw_job_read(source->path, out, report, error);
}
