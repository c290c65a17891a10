/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The job of the rest: what is still to be cut when a part of a plan is done. */
#include "base/base.h"
#include "model/model.h"

dw_err dw_job__rest(struct dw_job *job, const struct dw_rest_part *rows, size_t n,
                    struct dw_error *error)
{
    struct dw_part *parts = dw_job_alloc(job, n + 1, sizeof *parts);
    size_t *part_of = dw_job_alloc(job, n + 1, sizeof *part_of);
    if (!parts || !part_of)
        return dw_error__nomem(error);
    for (size_t i = 0; i < n; i++) {
        const struct dw_rest_part *row = &rows[i];
        parts[i] = job->parts[row->part];
        parts[i].count = row->count;
        part_of[i] = job->part_of ? job->part_of[row->part] : row->part;
        if (row->measured == 0)
            continue;
        parts[i].min = parts[i].max = parts[i].measured = row->measured;
        parts[i].measure_first = false;
        parts[i].allowance = 0;
        parts[i].written = NULL;
    }
    job->parts = parts;
    job->n_parts = n;
    job->part_of = part_of;
    return DW_OK;
}
