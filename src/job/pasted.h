/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user brings to a form; see format/pasted.h for what the texts hold. */
#ifndef DW_JOB_PASTED_H
#define DW_JOB_PASTED_H

#include "job/job.h"
#include "units/out.h"

/* A YAML job as a JSON tree to edit. *json is yours to free. */
dw_err dw_pasted__job(const char *text, size_t n, char **json, struct dw_report *report,
                      struct dw_error *error);
/* Rows copied from a spreadsheet, {"columns": [...], "rows": [[...]]}. what: "parts", "posts",
 * "bars" or "offcuts" (else DW_ERR_INPUT). *json is yours to free. */
dw_err dw_pasted__table(const char *what, const char *text, size_t n, enum dw_unit unit,
                        char **json, struct dw_report *report, struct dw_error *error);

/* What can be given of each record of a job, see format/fields.h. */
void dw_pasted__fields(struct dw_out *out, const char *key);

#endif
