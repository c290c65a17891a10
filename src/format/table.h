/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables as spreadsheets save them: separated by comma, semicolon or tab, in UTF-8. */
#ifndef DW_FORMAT_TABLE_H
#define DW_FORMAT_TABLE_H

#include "format/reader.h"

/* One column that is read, or passed over. */
struct dw_column {
    size_t field; /* DW_NONE: passed over */
    struct dw_node *key;
    enum dw_unit bare; /* unit named in the header; NONE = the job's */
    const char *title; /* of the header cell; "" for an empty one */
};

struct dw_table {
    struct dw_reader *reader;
    const char *what; /* "each part" */
    const struct dw_field *fields;
    size_t n_fields;
    size_t n_columns;
    struct dw_column columns[DW_KEY_LIMIT];
    struct dw_place header; /* of the first header cell */
    bool told_bare;         /* it was said that bare lengths take the job's unit */
};

/* Makes columns of the cells of the header row. False after a remark that leaves the rows without
 * meaning. */
bool dw_table__head(struct dw_table *table, const struct dw_node *cells, size_t n_cells);

/* The field that a header cell names and the unit in it ("Length (mm)"), or DW_NONE. */
size_t dw_table__column(const struct dw_table *table, const char *text, size_t n,
                        enum dw_unit *unit);

/* Whether the field must have a column, and each row a cell: see enum dw_need. */
bool dw_table__needs(const struct dw_table *table, size_t field);

/* Makes a map of the cells of a row: NULL for a row that is empty or was refused. */
struct dw_node *dw_table__row(struct dw_table *table, const struct dw_node *cells, size_t n_cells);

/* Reads a whole table: *rows is a list of maps, one a row; NULL after a remark that leaves none. */
void dw_table__read(struct dw_table *table, const char *text, size_t n, const char *name,
                    struct dw_node **rows);

#endif
