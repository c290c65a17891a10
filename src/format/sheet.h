/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables for spreadsheets: CSV after RFC 4180 and XLSX. What a user typed can't become a formula.
 */
#ifndef DW_FORMAT_SHEET_H
#define DW_FORMAT_SHEET_H

#include "base/base.h"

enum dw_sheet_kind { DW_SHEET_EMPTY, DW_SHEET_TEXT, DW_SHEET_NUMBER };

/* value / 10^decimals with `shown` decimals, more if the value has more: exact in CSV, the nearest
 * double in XLSX. */
struct dw_sheet_cell {
    enum dw_sheet_kind kind;
    const char *text;
    int64_t value;
    int decimals; /* 0..9 */
    int shown;    /* 0..decimals */
};

struct dw_sheet_column {
    const char *title;
    int width; /* in characters; XLSX only */
};

struct dw_sheet {
    const char *name; /* of the sheet; XLSX only, at most 31 characters of []:*?/\\ none */
    size_t n_columns;
    const struct dw_sheet_column *columns; /* length n_columns */
    size_t n_rows;
    const struct dw_sheet_cell *cells; /* n_rows x n_columns, row by row */
    size_t n_notes;                    /* so many last rows are remarks */
    size_t n_strong;                   /* so many rows before these are sums, in bold; XLSX only */
};

/* Text with UTF-8 byte order mark, CRLF, cells quoted where need be. A text that begins with = + -
 * @, tab, CR or LF gets an apostrophe in front, so that no spreadsheet runs it (OWASP, "CSV
 * Injection"). *text is terminated and yours. */
dw_err dw_sheet__csv(const struct dw_sheet *sheet, char **text, size_t *n, struct dw_error *error);

/* One file; texts are stored as texts, never as formulas. `date` (ISO 8601, NULL: 1980-01-01) is
 * what the file says of its making, so that the same sheet is the same file. With replace false an
 * existing file is refused, DW_ERR_EXISTS. Whole or not at all. */
dw_err dw_sheet__xlsx(const struct dw_sheet *sheet, const char *path, const char *date,
                      bool replace, struct dw_error *error);

/* The same in memory; *bytes is yours. */
dw_err dw_sheet__xlsx_bytes(const struct dw_sheet *sheet, const char *date, char **bytes, size_t *n,
                            struct dw_error *error);

#endif
