/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables for spreadsheets: CSV after RFC 4180 and XLSX. What a user typed can't become a formula.
 */
#ifndef DW_FORMAT_SHEET_H
#define DW_FORMAT_SHEET_H

#include "base/base.h"

enum dw_sheet_kind {
    DW_SHEET_EMPTY,
    DW_SHEET_TEXT,
    DW_SHEET_NUMBER,
    DW_SHEET_INCHES, /* a number of inches: shown as a fraction in XLSX where it is one of 64ths */
    DW_SHEET_DATE,   /* text is a day, ISO 8601: a real date in XLSX; anything else stays a text */
    DW_SHEET_SUM,    /* number: all rows of its column above the sums; a formula in XLSX */
    DW_SHEET_OF,     /* number: the sum in another sheet of the book; a formula in XLSX */
};

/* value / 10^decimals with `shown` decimals, more if the value has more: exact in CSV, the nearest
 * double in XLSX. A sum has its value too, for who does not compute. */
struct dw_sheet_cell {
    enum dw_sheet_kind kind;
    const char *text;
    int64_t value;
    int decimals; /* 0..9 */
    int shown;    /* 0..decimals */
    size_t sheet; /* DW_SHEET_OF: of the book, with at least one sum; the same for `column` */
    size_t column;
};

struct dw_sheet_column {
    const char *title;
    int width; /* in characters; XLSX only */
};

struct dw_sheet {
    const char *name;  /* what is no name of a sheet in it is replaced; XLSX only */
    const char *title; /* on top of each printed page; may be NULL; XLSX only */
    size_t n_columns;
    const struct dw_sheet_column *columns; /* length n_columns */
    size_t n_rows;
    struct dw_sheet_cell *cells; /* n_rows x n_columns, row by row */
    size_t n_notes;              /* so many last rows are remarks */
    size_t n_strong;             /* so many rows before these are sums, in bold */
};

/* Sheets of one XLSX file. */
struct dw_book {
    const char *date;  /* what the file says of its making, ISO 8601, so that the same book is the
                          same file; NULL: 1980-01-01 */
    const char *paper; /* "letter", otherwise A4 */
    size_t n_sheets;
    const struct dw_sheet *sheets; /* length n_sheets */
};

/* Text with UTF-8 byte order mark, CRLF, cells quoted where need be. A text that begins with = + -
 * @, tab, CR or LF gets an apostrophe in front, so that no spreadsheet runs it (OWASP, "CSV
 * Injection"). *text is terminated and yours. */
dw_err dw_sheet__csv(const struct dw_sheet *sheet, char **text, size_t *n, struct dw_error *error);

/* Texts are stored as texts, never as formulas; sums as formulas with their values. Each sheet is
 * set up for print: its heads on every page, as wide as the paper. *bytes is yours. */
dw_err dw_book__xlsx(const struct dw_book *book, char **bytes, size_t *n, struct dw_error *error);

#endif
