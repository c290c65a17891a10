/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the drawing to the saw, for the faces of the program: cut lengths, fittings, sections. */
#ifndef DW_JOB_DRAWN_H
#define DW_JOB_DRAWN_H

#include <dropwise/limits.h>
#include <dropwise/takeoff.h>
#include <dropwise/weight.h>

/* Cut lengths with their steps are in the job itself, part->takeoff. */
struct dw_drawn_sheet {
    int64_t *fittings; /* length n_orders x n_fittings, order by order */
    struct dw_limits *limits;
};

/* Counts the fittings of each client's job and holds its sections against their limits. Free in
 * every case. Errors as dw_fittings_count and dw_limits_check. */
dw_err dw_job__drawn(const struct dw_job *job, struct dw_drawn_sheet *out, struct dw_error *error);
void dw_job__drawn_free(struct dw_drawn_sheet *sheet);

#endif
