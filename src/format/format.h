/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of format: jobs and plans as files. */
#ifndef DW_FORMAT_H
#define DW_FORMAT_H

#include <dropwise/files.h>

/* dw_plan_to_json with the doubts of the report on the job; it may be NULL. */
dw_err dw_plan__to_json(const struct dw_job *job, const struct dw_plan *plan,
                        const struct dw_report *report, char **text, struct dw_error *error);

#endif
