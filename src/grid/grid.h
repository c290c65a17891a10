/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sheets of cells: what a workbook (XLSX, ODS) or a text of separated cells holds, before anybody
 * asks what it means. */
#ifndef DW_GRID_H
#define DW_GRID_H

#include "base/base.h"

enum dw_cell_kind {
    DW_CELL_TEXT,
    DW_CELL_NUMBER,
    DW_CELL_DATE,  /* a day or a time of day */
    DW_CELL_YES,   /* true or false */
    DW_CELL_FAULT, /* a formula that failed: #REF!, #N/A */
};

struct dw_cell {
    enum dw_cell_kind kind;
    bool quoted;      /* in a text: it began with a quote mark */
    bool formula;     /* the value is what a formula came to */
    bool rounded;     /* what it shows is another number than what it holds */
    bool linked;      /* the formula takes something from another workbook */
    bool computed;    /* the number has more digits than anybody types */
    bool struck;      /* the workbook strikes it through (XLSX; of the whole cell) */
    bool covered;     /* belongs to a merged cell above or to the left: the text is a copy of its */
    int line;         /* from 1: line of the text, row of the sheet */
    int at;           /* from 1: character of the line, column of the sheet */
    int column;       /* from 1: which cell of its row it is */
    const char *text; /* as the cell shows it, terminated; empty in a text only, for its place */
    size_t n;
    const char
        *value; /* of a number: digits with a point, exact; of a date as its day. Else NULL */
};

struct dw_grid_row {
    int number; /* from 1, of the sheet; in a text the line of its first cell */
    bool hidden;
    size_t n_cells;         /* in a workbook without empty ones */
    struct dw_cell **cells; /* length n_cells, by column */
};

struct dw_grid_sheet {
    const char *name; /* "" in a text */
    bool hidden;
    size_t n_rows; /* without empty ones */
    struct dw_grid_row *rows;
    int n_columns; /* of the widest row */
    size_t n_hidden_columns;
    int *hidden_columns; /* from 1, in no order */
};

struct dw_grid {
    bool workbook;     /* places are cells of a sheet, not characters of a line */
    const char *other; /* encoding of a text that is not UTF-8; else NULL */
    size_t n_sheets;
    struct dw_grid_sheet *sheets;
};

/* Limits, refused up front. */
#define DW_GRID_ROWS    100001             /* rows of a sheet that hold something */
#define DW_GRID_COLUMNS 1000               /* cells of a row, empty ones included */
#define DW_GRID_CELLS   ((size_t)400000)   /* of a workbook */
#define DW_GRID_PART    ((size_t)32 << 20) /* bytes of one part of a workbook, unpacked */
#define DW_GRID_RATIO   200                /* unpacked bytes for a packed one */
#define DW_GRID_DEPTH   64                 /* elements within each other */
#define DW_GRID_MEMORY  ((size_t)40 << 20) /* bytes of text of a workbook's cells */

/* Reads a workbook or a text, told apart by its first bytes. `separator` 0: found from the text.
 * Everything lives in the arena. DW_ERR_SYNTAX, DW_ERR_LIMIT, DW_ERR_INPUT with a place where
 * there is one, DW_ERR_NOMEM. Cost: O(n). */
dw_err dw_grid__read(struct dw_arena *arena, const char *bytes, size_t n, const char *name,
                     struct dw_grid **out, struct dw_error *error);

/* Whether the bytes begin as a workbook (a zip file) does. */
bool dw_grid__is_workbook(const char *bytes, size_t n);

/* "D12": column 4, row 12. Returns out. */
#define DW_CELL_NAME 24
char *dw_cell__name(char out[DW_CELL_NAME], int column, int row);
/* "D" -> 4; 0 if the letters name no column. */
int dw_cell__column(const char *letters, size_t n);

#endif
