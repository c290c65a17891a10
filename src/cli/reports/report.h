/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan as a person reads it, in chapters that are put on a page one by one. */
#ifndef DW_CLI_REPORTS_REPORT_H
#define DW_CLI_REPORTS_REPORT_H

#include "cli/terminal/page.h"
#include "model/caution.h"

struct dw_cure;
struct dw_compared;

/* Name of the job, and in one line what the plan does and costs. */
void dw_cli__report_title(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan);
/* Bars to take from the shelf and bars to buy. */
void dw_cli__report_bars(struct dw_cli_page *page, const struct dw_job *job,
                         const struct dw_plan *plan);
/* Every layout: drawn, with stop settings and running marks, and what is left. DW_ERR_NOMEM. */
dw_err dw_cli__report_layouts(struct dw_cli_page *page, const struct dw_job *job,
                              const struct dw_plan *plan);
/* Where the tube goes. */
void dw_cli__report_lengths(struct dw_cli_page *page, const struct dw_plan *plan);
void dw_cli__report_money(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan);
/* What other ways would cost beside a plan of `value`; nothing where there are none. */
void dw_cli__report_compared(struct dw_cli_page *page, dw_money value,
                             const struct dw_compared *rows, size_t n);
/* How good a plan is that this program has just made and why that is known; `by_user`: a stop was
 * asked for. */
void dw_cli__report_proof(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan, bool by_user);
/* How good a plan is that somebody brings: what the verifier proved, and what is claimed beyond it.
 */
void dw_cli__report_proven(struct dw_cli_page *page, const struct dw_job *job,
                           const struct dw_plan *plan, const struct dw_plan_proven *proven);
/* The cautions that `place` shows, a paragraph each. */
void dw_cli__report_care(struct dw_cli_page *page, const struct dw_care *care,
                         enum dw_caution_place place);
/* What ~ means if it was printed. */
void dw_cli__report_end(struct dw_cli_page *page);
/* What is missing, and what would cure it. */
void dw_cli__report_short(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan, const struct dw_cure *cures, size_t n_cures);

/* "38.1 x 1.65 aluminium tube" or, without a name, the id. Cleaned; appends to buf. */
void dw_cli__material(struct dw_buf *buf, const struct dw_job *job, size_t material);
/* "offcut A-17", "bar al38-6": what a supply is called. Cleaned; appends to buf. */
void dw_cli__supply(struct dw_buf *buf, const struct dw_supply *supply);

#endif
