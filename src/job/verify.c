/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan that somebody brings, checked and proved. */
#include <dropwise/work.h>

#include "base/base.h"

#include <stdlib.h>

#define PLAN_MAX ((size_t)64 << 20) /* bytes */

static dw_err read_plan(struct dw_job *job, const char *text, size_t n, const char *name,
                        struct dw_plan **out, struct dw_error *error)
{
    dw_err err = dw_plan_bring(text, n, name, job, error);
    return err ? err : dw_plan_from_json(text, n, name, job, out, error);
}

dw_err dw_job_verify(struct dw_job *job, const struct dw_job_source *source, struct dw_plan **out,
                     struct dw_plan_proven **proven, struct dw_report *report,
                     struct dw_error *error)
{
    *out = NULL;
    if (proven)
        *proven = NULL;
    char *text = NULL;
    size_t n = source->n;
    dw_err err = source->text ? DW_OK : dw_file__read(source->path, PLAN_MAX, &text, &n, error);
    if (!err)
        err = read_plan(job, source->text ? source->text : text, n, source->path, out, error);
    free(text);
    return err ? err : dw_plan_prove(job, *out, report, proven, error);
}
