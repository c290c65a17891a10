/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user brings to a form; see format/pasted.h for what the texts hold. */
#ifndef DW_JOB_PASTED_H
#define DW_JOB_PASTED_H

#include <dropwise/work.h>
#include "units/out.h"

/* A YAML job as a JSON tree to edit. *json is yours to free. */
dw_err dw_pasted__job(const char *text, size_t n, char **json, struct dw_report *report,
                      struct dw_error *error);
/* What was pasted or brought: text, or the bytes of a workbook. */
struct dw_pasted {
    const char *what; /* "parts", "posts", "bars" or "offcuts" */
    const char *name; /* of the file, in remarks; NULL: "pasted" */
    const char *text; /* length n */
    size_t n;
    const char *sheet;   /* NULL: the one that looks like a list */
    const char *columns; /* "label=B,length=D,count=E"; NULL: by their headings */
    enum dw_unit unit;   /* of bare lengths */
};

/* Rows of a list and how each was understood, as dw_table__json of format/pasted.h writes them;
 * remarks on rows are in the report. *json is yours to free. */
dw_err dw_pasted__table(const struct dw_pasted *pasted, char **json, struct dw_report *report,
                        struct dw_error *error);

/* What can be given of each record of a job, see format/fields.h. */
void dw_pasted__fields(struct dw_out *out, const char *key);

#endif
