/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plan, take-off, order and quote as tables for spreadsheets: CSV, or XLSX with sums as formulas.
 */
#ifndef DW_JOB_TABLES_H
#define DW_JOB_TABLES_H

#include "job/drawn.h"

#include <dropwise/order.h>
#include <dropwise/plan.h>
#include <dropwise/quote.h>

struct dw_sheet;

struct dw_table_wish {
    const char *form;  /* "csv" "xlsx" */
    const char *paper; /* "a4" "letter"; NULL = a4 */
    const char *date;  /* of the file; NULL = the job's, if it has one */
};

/* Tables of one thing. A CSV file holds one of them, an XLSX file all. */
struct dw_tables {
    const struct dw_job *job;
    bool csv;
    bool client;       /* a client gets them: nothing of the shop alone is in them */
    bool failed;       /* no memory, or a sum beyond counting; sticks */
    const char *title; /* on top of each printed page */
    const char *date, *paper;
    size_t n_sheets, capacity;
    struct dw_sheet *sheets; /* length n_sheets */
    struct dw_arena *arena;
};
void dw_tables__free(struct dw_tables *tables);

/* The form that a file's name asks for by its ending; NULL if it is no table. */
const char *dw_tables__form_of(const char *path);

/* Sheets "bars" (how each is cut, a row for those alike), "pieces" (stop and running mark of each),
 * "take" (what is taken or bought) and "money". */
dw_err dw_tables__plan(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_table_wish *wish, struct dw_tables *out,
                       struct dw_error *error);
/* The first of the files that a plan's tables at `path` go to which is there already; NULL = none.
 * Yours to free. */
char *dw_tables__plan_there(const char *path);
/* Sheets "parts", "steps", "fittings" and "sections". */
dw_err dw_tables__takeoff(const struct dw_job *job, const struct dw_drawn_sheet *drawn,
                          const struct dw_table_wish *wish, struct dw_tables *out,
                          struct dw_error *error);
/* One table of all lines; an XLSX file has a sheet a supplier instead where there are several, and
 * one with their sums in front. */
dw_err dw_tables__order(const struct dw_job *job, const struct dw_order_doc *order,
                        const struct dw_table_wish *wish, struct dw_tables *out,
                        struct dw_error *error);
/* The same by the clients' jobs. client: index into quote->jobs, without cost; DW_NONE = all of
 * them with it, for the shop. */
dw_err dw_tables__quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                        const struct dw_table_wish *wish, struct dw_tables *out,
                        struct dw_error *error);

/* The XLSX file, or the table `name` as CSV; NULL = the first. DW_ERR_NOTFOUND: there is no such
 * table. *bytes is yours. */
dw_err dw_tables__bytes(const struct dw_tables *tables, const char *name, char **bytes, size_t *n,
                        struct dw_error *error);
/* Whole or not at all. Several tables as CSV go to a file each, "plan-bars.csv" of "plan.csv". With
 * replace false nothing is written if any of them exists: DW_ERR_EXISTS. */
dw_err dw_tables__write(const struct dw_tables *tables, const char *path, bool replace,
                        struct dw_error *error);

#endif
