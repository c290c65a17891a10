/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job as it was understood, in chapters that are put on a page one by one. */
#ifndef DW_CLI_REPORTS_OUTLINE_H
#define DW_CLI_REPORTS_OUTLINE_H

#include "cli/terminal/page.h"
#include <dropwise/work.h>

/* Name of the job, and what it adds up to. */
void dw_cli__outline_title(struct dw_cli_page *page, const struct dw_job *job,
                           const struct dw_job_outline *outline);
/* Saw and rules. */
void dw_cli__outline_saw(struct dw_cli_page *page, const struct dw_job *job);
void dw_cli__outline_materials(struct dw_cli_page *page, const struct dw_job *job,
                               const struct dw_job_outline *outline);
void dw_cli__outline_supplies(struct dw_cli_page *page, const struct dw_job *job);
/* Each part with its length as written and as read. */
void dw_cli__outline_parts(struct dw_cli_page *page, const struct dw_job *job);
/* Remarks on how something was understood. */
void dw_cli__outline_notes(struct dw_cli_page *page, const struct dw_report *report);

#endif
