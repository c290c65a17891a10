/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs and plans as files.
 *
 * Threads: any, each on jobs and plans of its own; one that is only read here (const) may be
 * shared. */
#ifndef DROPWISE_FILES_H
#define DROPWISE_FILES_H

#include <dropwise/plan.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Reads a YAML job and the CSV or TSV files that it names (paths relative to the job's folder).
 * Every mistake goes to `report` with file, line and column; if report->n_wrong > 0 the result is
 * DW_ERR_INPUT and *out is NULL. The job has passed dw_job_check. */
dw_err dw_job_read(const char *path, struct dw_job **out, struct dw_report *report,
                   struct dw_error *error);

/* The same from memory; `name` stands for the file in messages, `folder` (may be NULL: no file may
 * be named) is where its CSV files lie. */
dw_err dw_job_read_text(const char *text, size_t n, const char *name, const char *folder,
                        struct dw_job **out, struct dw_report *report, struct dw_error *error);

/* A shop's file (shop.h): *out is a job without parts whose `shop` it is, with the suppliers and
 * the quote that it lends to jobs. With `folder` NULL its logo is not read: the caller has it. */
dw_err dw_shop_read_text(const char *text, size_t n, const char *name, const char *folder,
                         struct dw_job **out, struct dw_report *report, struct dw_error *error);

/* The plan document, JSON, shared/plan.schema.json. *text is terminated and yours to free
 * with dw_free. In it
 * are the pieces of a shelf that were offered to the plan (dw_supply.brought) and, for a job of the
 * rest (dw_job.part_of), what that is of the job as written. */
dw_err dw_plan_to_json(const struct dw_job *job, const struct dw_plan *plan, char **text,
                       struct dw_error *error);
dw_err dw_plan_from_json(const char *text, size_t n, const char *name, const struct dw_job *job,
                         struct dw_plan **out, struct dw_error *error);
/* Makes of the job as written the one that a plan document was made for: to be done before the plan
 * is read. It appends the pieces of a shelf that the document brings along, unless the job has such
 * pieces already; and takes off what was cut before the plan of a rest was made, unless it is the
 * job of a rest already. */
dw_err dw_plan_bring(const char *text, size_t n, const char *name, struct dw_job *job,
                     struct dw_error *error);
dw_err dw_plan_read(const char *path, const struct dw_job *job, struct dw_plan **out,
                    struct dw_error *error);
/* Whole or not at all. With replace false an existing file is refused, DW_ERR_EXISTS. */
dw_err dw_plan_write(const char *path, const struct dw_job *job, const struct dw_plan *plan,
                     bool replace, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
