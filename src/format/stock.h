/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shelf as a table: what a stock list of a spreadsheet says, and the list that is written. */
#ifndef DW_FORMAT_STOCK_H
#define DW_FORMAT_STOCK_H

#include "base/base.h"

#include <dropwise/job.h>

/* One row: a bar or an offcut, or as many alike as `count` says. Texts that are not given are
 * NULL. */
struct dw_stock_row {
    const char *number;
    size_t material;  /* index into the job's materials; DW_NONE = not given */
    int64_t bar;      /* 1 = a whole bar, 0 = an offcut, -1 = not given */
    dw_length length; /* 0 = not given */
    dw_length measured;
    enum dw_end ends[2];
    dw_money value; /* -1 = not given */
    int64_t count;
    const char *place;
    const char *owner;
    const char *mark;
    const char *date;
    const char *job;
    const char *remark;
    struct dw_place at;
};

struct dw_stock_rows {
    size_t n;
    struct dw_stock_row *rows; /* length n, in the job's arena */
};

/* A table: the text of one, or the file of that name. */
struct dw_stock_source {
    const char *path; /* of the file, or what the text is called in messages */
    const char *text; /* length n; NULL: the file */
    size_t n;
};

/* Reads a CSV or TSV table; headers in any order, in plain words. Materials, unit and currency are
 * the job's; with `must` a material and a length are needed in each row. Every mistake goes to the
 * report with file, line and column; then DW_ERR_INPUT and no rows. DW_ERR_IO, DW_ERR_LIMIT,
 * DW_ERR_NOMEM. */
dw_err dw_stock__read(const struct dw_stock_source *source, struct dw_job *job, bool must,
                      struct dw_stock_rows *out, struct dw_report *report, struct dw_error *error);

/* The table of these rows as CSV, readable by dw_stock__read and, where a job names it, as its
 * offcuts. Lengths in mm and exact; a cell that a spreadsheet would take for a formula gets an
 * apostrophe. *text is yours. `states`, length n, is written as a column; NULL: no such column. */
dw_err dw_stock__write(const struct dw_job *job, const struct dw_stock_rows *rows,
                       const char *const *states, char **text, struct dw_error *error);

#endif
