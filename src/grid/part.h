/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the readers of workbooks share: parts of a zip file, their XML, and the grid that grows. */
#ifndef DW_GRID_PART_H
#define DW_GRID_PART_H

#include "grid/grid.h"

/* --- parts of a zip file --------------------------------------------------------------------- */

struct dw_zip;
/* Borrows the bytes. Broken and encrypted files are refused. */
dw_err dw_zip__open(const char *bytes, size_t n, struct dw_zip **out, struct dw_error *error);
void dw_zip__close(struct dw_zip *zip);
bool dw_zip__has(struct dw_zip *zip, const char *part);

/* --- XML -------------------------------------------------------------------------------------- */

/* A walk through one part. Names come without their namespace's prefix. A document type is refused,
 * so no entity is ever defined; so is depth beyond DW_GRID_DEPTH. */
struct dw_xml {
    void *user;
    void (*begin)(struct dw_xml *xml, const char *name, const char **attributes);
    void (*end)(struct dw_xml *xml, const char *name);
    void (*text)(struct dw_xml *xml, const char *text, size_t n); /* NULL: not wanted */
    dw_err err; /* set by dw_xml__stop, ends the walk */
    struct dw_error *error;
};
dw_err dw_xml__walk(struct dw_zip *zip, const char *part, struct dw_xml *xml,
                    struct dw_error *error);
void dw_xml__stop(struct dw_xml *xml, dw_err err, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Value of an attribute by its name without prefix; NULL if there is none. */
const char *dw_xml__get(const char **attributes, const char *name);
/* A whole number; `otherwise` if it is missing or none. */
long dw_xml__number(const char **attributes, const char *name, long otherwise);

/* --- a grid that grows --------------------------------------------------------------------------
 */

struct dw_grid_maker {
    struct dw_arena *arena;
    struct dw_grid *grid;
    struct dw_error *error;
    dw_err err; /* sticks */
    size_t n_cells;
    size_t n_bytes; /* of the cells' texts */
    size_t row_capacity;
    size_t cell_capacity;
    struct dw_cell **cells; /* of the row so far; heap */
    size_t n_row_cells;
    struct dw_grid_row *rows; /* of the sheet so far; heap */
    size_t n_rows;
    struct dw_grid_sheet *sheets; /* heap */
    size_t n_sheets;
    size_t sheet_capacity;
    int *hidden; /* columns of the sheet so far; heap */
    size_t n_hidden;
    size_t hidden_capacity;
};

dw_err dw_maker__fail(struct dw_grid_maker *maker, dw_err err, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Copies the cell and its text into the arena; empty ones are left out. NULL: none, or failed. */
struct dw_cell *dw_maker__cell(struct dw_grid_maker *maker, const struct dw_cell *cell);
void dw_maker__row(struct dw_grid_maker *maker, int number, bool hidden);
void dw_maker__hide_column(struct dw_grid_maker *maker, int column);
void dw_maker__sheet(struct dw_grid_maker *maker, const char *name, bool hidden);
/* Hands the sheets to the grid and frees the rest. */
dw_err dw_maker__end(struct dw_grid_maker *maker);

/* Cells that are merged: each of its cells gets a copy of the first one's text, marked as covered.
 */
struct dw_merge {
    int left, top, right, bottom;
};
void dw_grid__merge(struct dw_grid_maker *maker, struct dw_grid_sheet *sheet,
                    const struct dw_merge *merges, size_t n);

/* --- numbers ------------------------------------------------------------------------------------
 */

/* How a cell shows its number. */
struct dw_shown {
    enum dw_shown_kind {
        DW_SHOWN_GENERAL,
        DW_SHOWN_FIXED,
        DW_SHOWN_FRACTION,
        DW_SHOWN_DATE,
        DW_SHOWN_PERCENT,
        DW_SHOWN_TEXT,
        DW_SHOWN_OTHER
    } kind;
    int decimals;    /* FIXED */
    int digits;      /* FRACTION: of the denominator */
    int denominator; /* FRACTION: the only one; 0 = any */
    char behind[24]; /* letters that follow the number, as " mm" */
};
/* From a format code of a workbook, as `# ?/?` or `0.00" mm"`. */
void dw_shown__read(const char *code, struct dw_shown *shown);
/* The text of a number, and whether it is another number than that. Appends. */
void dw_shown__print(struct dw_buf *out, const char *value, const struct dw_shown *shown,
                     bool *rounded);
/* Digits with a point out of what a file stores (`1.18E3`, `1180.5000000000001`): at most fifteen
 * digits, as spreadsheets have them. false: no number. */
#define DW_VALUE_TEXT 64
bool dw_value__read(const char *text, char out[DW_VALUE_TEXT], bool *computed);
/* Whether a shown text with marks of either kind stands for the value. */
bool dw_value__shows(const char *shown, const char *value);
/* Day of a spreadsheet's serial number, as 2026-03-01. false: out of range. */
bool dw_value__day(const char *value, bool from_1904, char out[DW_VALUE_TEXT]);

/* --- the kinds -----------------------------------------------------------------------------------
 */

dw_err dw_xlsx__read(struct dw_zip *zip, struct dw_grid_maker *maker);
dw_err dw_ods__read(struct dw_zip *zip, struct dw_grid_maker *maker);
dw_err dw_separated__read(const char *text, size_t n, const char *name,
                          struct dw_grid_maker *maker);
/* The text as UTF-8, in the arena if it was in another encoding. */
dw_err dw_text__decode(struct dw_arena *arena, const char **text, size_t *n, const char *name,
                       const char **other, struct dw_error *error);

#endif
