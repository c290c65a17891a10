/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cut lengths, fittings and sections of a drawn job, gathered. */
#include "job/drawn.h"

#include "base/base.h"

#include <stdlib.h>

dw_err dw_job__drawn(const struct dw_job *job, struct dw_drawn_sheet *out, struct dw_error *error)
{
    *out = (struct dw_drawn_sheet){0};
    out->fittings = calloc(job->n_orders * job->n_fittings + 1, sizeof *out->fittings);
    dw_err err = out->fittings ? DW_OK : dw_error__nomem(error);
    for (size_t o = 0; !err && o < job->n_orders; o++)
        err = dw_fittings_count(job, o, &out->fittings[o * job->n_fittings], error);
    return err ? err : dw_limits_check(job, NULL, &out->limits, error);
}

void dw_job__drawn_free(struct dw_drawn_sheet *sheet)
{
    dw_limits_free(sheet->limits);
    free(sheet->fittings);
    *sheet = (struct dw_drawn_sheet){0};
}
