/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The take-off as a document, the same from every face. */
#ifndef DW_JOB_DRAWN_H
#define DW_JOB_DRAWN_H

#include "model/record.h"
#include "units/out.h"

#include <dropwise/drawn.h>
#include <dropwise/weight.h>

/* Members of its records, as documents and tables have them. */
extern const struct dw_member_table dw_drawn_part__members;    /* struct dw_drawn_part */
extern const struct dw_member_table dw_drawn_step__members;    /* struct dw_step */
extern const struct dw_member_table dw_drawn_fitting__members; /* struct dw_drawn_fitting */
extern const struct dw_member_table dw_drawn_section__members; /* struct dw_drawn_section */

/* The document of shared/takeoff.schema.json, as an object; lengths in the style of `out`. */
void dw_job__drawn_put(struct dw_out *out, const struct dw_job *job,
                       const struct dw_drawn_sheet *sheet);

#endif
