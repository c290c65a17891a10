/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands that make papers share: their options, the plan they draw, the files. */
#ifndef DW_CLI_REPORTS_PAPER_H
#define DW_CLI_REPORTS_PAPER_H

#include "cli/terminal/page.h"
#include "job/paper.h"
#include "job/tables.h"

#include <time.h>

/* Rows for the option tables of such commands. */
#define DW_CLI_PAPER_OPTIONS                                                                       \
    {"output", 'o', "FILE", NULL,                                                                  \
     "where it goes; .pdf, .svg or .png says the form; - prints a PDF"},                           \
        {"replace", 0, NULL, NULL, "replace files that exist"},                                    \
        {"dpi", 0, "N", NULL, "dots an inch of .png; otherwise 150"},                              \
        {"number", 0, "TEXT", NULL,                                                                \
         "plan number to print; otherwise the shelf's, or one made from the plan"},                \
        {"date", 0, "DATE", NULL, "date to print; otherwise the job's"},

/* Fills a request from those options and --paper; says what is wrong. */
enum dw_cli_status dw_cli__paper_request(const struct dw_cli_args *args,
                                         struct dw_paper_request *request);

/* A job and a plan of it that has passed the verifier; says what is wrong. Free in every case. */
struct dw_cli_planned {
    struct dw_job *job;
    struct dw_plan *plan;
};
enum dw_cli_status dw_cli__planned_load(const struct dw_cli_args *args,
                                        struct dw_cli_planned *planned);
void dw_cli__planned_free(struct dw_cli_planned *planned);

/* The request for one file at `path`, which has the ending of a paper, on --paper. */
struct dw_paper_request dw_cli__paper_at(const struct dw_cli_args *args, const char *path,
                                         const char *date);
/* The same for the ending of a table. */
struct dw_table_wish dw_cli__table_at(const struct dw_cli_args *args, const char *path,
                                      const char *date);
/* The file that --output names for a plan document, where what ends as a table is one; NULL = none.
 */
const char *dw_cli__document(const struct dw_cli_args *args);
/* What is said of another ending. */
#define DW_CLI_ENDINGS(what)                                                                       \
    what " is written to a name that ends in .csv, .xlsx, .pdf, .svg or .png"
#define DW_CLI_PAPER_SIZE                                                                          \
    {                                                                                              \
        "paper", 0, "SIZE", "a4 letter", "paper of .pdf, .svg, .png and .xlsx; otherwise a4"       \
    }

/* The time that counts as now: SOURCE_DATE_EPOCH of the environment, so that a paper can be made
 * again to the byte, else the clock's. */
time_t dw_cli__paper_time(void);

/* SOURCE_DATE_EPOCH, if it is set, as the time at which a PDF was made. */
void dw_cli__paper_stamp(struct dw_paper_request *request);
/* Says what letters of a paper no font has. */
void dw_cli__paper_missing(const struct dw_cli_args *args, const struct dw_paper_pages *pages);

/* Writes the pages where --output says and tells on standard output what was written. */
enum dw_cli_status dw_cli__paper_write(const struct dw_cli_args *args,
                                       const struct dw_paper_pages *pages, const char *what);

#endif
