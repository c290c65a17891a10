/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The take-off as a document, the same from every face. */
#ifndef DW_JOB_DRAWN_H
#define DW_JOB_DRAWN_H

#include "units/out.h"

#include <dropwise/drawn.h>
#include <dropwise/weight.h>

/* The document of shared/takeoff.schema.json, as an object; lengths in the style of `out`. */
void dw_job__drawn_put(struct dw_out *out, const struct dw_job *job,
                       const struct dw_drawn_sheet *sheet);

#endif
