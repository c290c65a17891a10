/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of parts, posts, bars or offcuts: found in a sheet of a workbook or in a text of separated
 * cells, and read row by row. */
#ifndef DW_FORMAT_TABLE_H
#define DW_FORMAT_TABLE_H

#include "format/reader.h"
#include "grid/grid.h"

#include <dropwise/list.h>

/* Which sheet and columns of a file hold the table, where that is said. */
struct dw_table_choice {
    const char *sheet;   /* NULL: the one that looks like a list */
    const char *columns; /* "label=B,length=D,count=E"; NULL: by their headings */
    struct dw_place at;  /* where that is written */
};

/* How a row was understood. */
struct dw_told_row {
    int line; /* row of the sheet, line of the text */
    enum dw_row_role role;
    const char *text; /* what the row holds, in short; in the tree's arena */
    size_t n_cells;
    const char **cells;        /* length n_cells, each short; in the tree's arena */
    const struct dw_node *map; /* of a row that is taken */
};

struct dw_told {
    const char *sheet;
    size_t n;
    size_t capacity;
    struct dw_told_row *rows; /* heap */
};

/* One column that is read, or passed over. */
struct dw_column {
    size_t field; /* DW_NONE: passed over */
    struct dw_node *key;
    enum dw_unit bare; /* unit named in the header; NONE = the job's */
    const char *title; /* of the header cell; "" for an empty one */
    int special;       /* a meaning of heading.h that is no field: item, unit, sum; else nothing */
    bool doubted;      /* of sums: it was said that one is none */
};

/* The way in which a list writes its numbers, from all of it. */
struct dw_marks {
    bool comma; /* some number has a decimal comma, at that place */
    bool point;
    struct dw_place comma_at;
    struct dw_place point_at;
};

/* What the rows so far add up to. */
struct dw_sums {
    size_t n;
    dw_length length;
    dw_length times; /* length times count */
    int64_t count;
};

struct dw_table {
    struct dw_reader *reader;
    const char *what; /* "each part" */
    const struct dw_field *fields;
    size_t n_fields;
    struct dw_table_choice choice;
    int chosen[DW_FIELD_MAX]; /* column of each field, from 1; 0: by its heading */
    bool may_lack_head;       /* label, length, count without a heading are taken */
    struct dw_told *told;     /* NULL: not wanted */

    size_t n_columns;
    struct dw_column columns[DW_KEY_LIMIT];
    struct dw_place header; /* of the first header cell */
    bool told_bare;         /* it was said that bare lengths take the job's unit */

    bool workbook;
    const char *file; /* in places: the file, with the sheet of a workbook */
    struct dw_marks marks;
    struct dw_sums all;
    struct dw_sums since; /* the last total or group */
    bool labelled;        /* a row with a label was taken */
};

/* A row as cells side by side, empty ones too. */
struct dw_table_line {
    const struct dw_grid_row *row;
    size_t n;
    struct dw_node *nodes;        /* length n */
    const struct dw_cell **cells; /* length n; NULL for one that is not there */
};

/* --- the heading ----------------------------------------------------------------------------- */

/* Makes columns of the cells of the header row. False after a remark that leaves the rows without
 * meaning. */
bool dw_table__head(struct dw_table *table, const struct dw_node *cells, size_t n_cells);

/* The field that a header cell names and the unit in it ("Length (mm)"), or DW_NONE. *special is a
 * meaning of heading.h that is no field. */
size_t dw_table__column(const struct dw_table *table, const char *text, size_t n,
                        enum dw_unit *unit, int *special);

/* Reads table->choice.columns into table->chosen; `line` is the header row or NULL. False after a
 * remark. */
bool dw_table__choose(struct dw_table *table, const struct dw_table_line *line);

/* Whether the field must have a column, and each row a cell: see enum dw_need. */
bool dw_table__needs(const struct dw_table *table, size_t field);
/* Whether the field counts pieces. */
bool dw_table__counts(const struct dw_field *field);

/* --- rows ------------------------------------------------------------------------------------ */

/* Makes a map of the cells of a row: NULL for a row that is left out or was refused; *role says
 * which. */
struct dw_node *dw_table__row(struct dw_table *table, struct dw_table_line *line,
                              enum dw_row_role *role);

/* Doubts a line above the list that speaks of another unit, or of how many times the list is
 * wanted. */
void dw_table__doubt_above(struct dw_table *table, const struct dw_table_line *line);
/* Doubts a column of sums whose cell is not length times count of its row. */
void dw_table__doubt_sum(struct dw_table *table, const struct dw_table_line *line, dw_length length,
                         int64_t count);

/* --- numbers --------------------------------------------------------------------------------- */

/* Takes note of the marks in a text, whose bare numbers have that unit. */
void dw_marks__see(struct dw_marks *marks, const char *text, size_t n, enum dw_unit unit,
                   struct dw_place at);
/* Writes a number with a mark of two readings as the list's other numbers say. */
enum dw_mark_answer {
    DW_MARK_CLEAR,
    DW_MARK_SETTLED,  /* *text, *n are new, in the arena */
    DW_MARK_DOUBTFUL, /* nothing in the list says which */
    DW_MARK_ODD,      /* clear, but the list does otherwise elsewhere */
    DW_MARK_NO_MEMORY
};
enum dw_mark_answer dw_marks__settle(const struct dw_marks *marks, struct dw_arena *arena,
                                     const char **text, size_t *n, enum dw_unit unit);

/* --- the table ------------------------------------------------------------------------------- */

/* Reads a whole table: *rows is a list of maps, one a row; NULL after a remark that leaves none. */
void dw_table__read(struct dw_table *table, const char *text, size_t n, const char *name,
                    struct dw_node **rows);

/* The sheet of the grid that holds the table, and its heading's row (DW_NONE: none). NULL after a
 * remark. Sets table->file. */
const struct dw_grid_sheet *dw_table__find(struct dw_table *table, const struct dw_grid *grid,
                                           const char *name, size_t *head);
/* What the columns seem to hold, "label=A,length=B,count=C"; empty if that can't be told. */
#define DW_PROPOSAL 64
char *dw_table__propose(const struct dw_table *table, const struct dw_grid_sheet *sheet,
                        char out[DW_PROPOSAL]);

/* The line of a row, in buffers that are used again: length DW_KEY_LIMIT + 1 each. */
void dw_table__line(struct dw_table *table, const struct dw_grid_sheet *sheet,
                    const struct dw_grid_row *row, struct dw_table_line *line);

#endif
