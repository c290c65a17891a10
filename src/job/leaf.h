/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Makes sheets of records: what a cell holds follows from the table of members of its record, so
 * that sheets and documents have the same values. */
#ifndef DW_JOB_LEAF_H
#define DW_JOB_LEAF_H

#include "format/sheet.h"
#include "job/tables.h"
#include "model/caution.h"
#include "model/record.h"

/* A column. A length is in millimetres, exact; of a job in inches or feet it has a column in inches
 * too, to the left. Units are added to the title. */
struct dw_leaf_column {
    const struct dw_member_table *of; /* NULL: filled by dw_leaf__text and its like */
    const char *member;               /* of it */
    const char *title;
    int width;
    unsigned as; /* DW_LEAF_... */
};
enum {
    DW_LEAF_SUM = 1,     /* has a sum below */
    DW_LEAF_DATE = 2,    /* its texts are days */
    DW_LEAF_NOTE = 4,    /* the texts of remarks stand here */
    DW_LEAF_WORD = 8,    /* and here what kind of remark that is */
    DW_LEAF_SAME = 32,   /* the same in each row: in that of sums too */
    DW_LEAF_INSIDE = 16, /* left out of what a client gets; so are members that are `inside` */
};
#define DW_LEAF_MOST 32 /* columns, those in inches counted */

/* One sheet that is being made. */
struct dw_leaf {
    struct dw_tables *to;
    size_t n_columns; /* of the sheet */
    struct dw_sheet_column sheet_columns[DW_LEAF_MOST];
    struct {
        const struct dw_leaf_column *column;
        const struct dw_member *member; /* NULL: by hand */
        bool inches;
    } at[DW_LEAF_MOST];
    const char *name, *title;
    struct dw_sheet_cell *cells;
    size_t n_rows, capacity;
    size_t n_strong, n_notes;
};

/* Begins a sheet of the columns; every text is borrowed. */
void dw_leaf__begin(struct dw_leaf *leaf, struct dw_tables *to, const char *name,
                    const struct dw_leaf_column *columns, size_t n);
/* Begins a row: all cells are empty. */
void dw_leaf__row(struct dw_leaf *leaf);
/* Fills the cells of the row whose column is of a member of `of`. */
void dw_leaf__put(struct dw_leaf *leaf, const struct dw_member_table *of, const void *record);
/* The cells with that title; NULL or 0 as it stands. */
void dw_leaf__text(struct dw_leaf *leaf, const char *title, const char *text);
void dw_leaf__count(struct dw_leaf *leaf, const char *title, int64_t value);
void dw_leaf__money(struct dw_leaf *leaf, const char *title, dw_money money);
/* In place of what a member said: nothing; the sum of that column of another sheet. */
void dw_leaf__clear(struct dw_leaf *leaf, const char *title);
void dw_leaf__sum_of(struct dw_leaf *leaf, const char *title, size_t sheet);
/* A row of sums with a word at the column of remarks; a CSV has none, as it is read again. */
void dw_leaf__sums(struct dw_leaf *leaf, const char *word);
/* Takes the sum of a column back, as not all of its rows have a value. */
void dw_leaf__no_sum(struct dw_leaf *leaf, const char *title);
/* What has to be minded at a place, a row each. */
void dw_leaf__cautions(struct dw_leaf *leaf, const struct dw_care *care,
                       enum dw_caution_place place);
void dw_leaf__note(struct dw_leaf *leaf, const char *word, const char *text);
/* Adds the sheet to its book. */
void dw_leaf__end(struct dw_leaf *leaf);

/* Begins a book; form "csv" or "xlsx", else DW_ERR_INPUT. */
dw_err dw_tables__begin(struct dw_tables *tables, const struct dw_job *job,
                        const struct dw_table_wish *wish, struct dw_error *error);
/* What of it failed; then it is freed. */
dw_err dw_tables__end(struct dw_tables *tables, struct dw_error *error);
/* Puts the last sheet before all others; what refers to them is kept right. */
void dw_tables__last_first(struct dw_tables *tables);
/* Text in its arena as printf writes it; sticks without memory. */
const char *dw_tables__format(struct dw_tables *tables, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#endif
