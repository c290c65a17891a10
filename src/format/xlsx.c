/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables as XLSX. The only place that knows the library which writes it. */
#include "format/sheet.h"
#include "format/sheet_name.h"
#include "base/apart.h"
#include "model/model.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <xlsxwriter.h>

#define MAX_BYTES ((size_t)1 << 28)

/* Pictures of numbers: plain and strong, by decimals, and what has one of its own. */
enum { PICTURE_INCHES = 10, PICTURE_DATE, N_PICTURES };

struct work {
    const struct dw_book *book;
    char (*names)[DW_SHEET_NAME]; /* of the sheets, length book->n_sheets */
    lxw_workbook *file;
    lxw_worksheet *page;
    lxw_format *texts[2];                /* plain and strong; what does not fit is wrapped */
    lxw_format *pictures[2][N_PICTURES]; /* made when needed */
    lxw_error why;                       /* the first that went wrong */
};

static void note(struct work *w, lxw_error why)
{
    if (w->why == LXW_NO_ERROR)
        w->why = why;
}

static lxw_format *new_format(struct work *w)
{
    lxw_format *format = workbook_add_format(w->file);
    note(w, format ? LXW_NO_ERROR : LXW_ERROR_MEMORY_MALLOC_FAILED);
    return format;
}

/* "0.00" with so many decimals, or one of the others; NULL without memory. */
static lxw_format *picture_of(struct work *w, int which, bool strong)
{
    lxw_format **format = &w->pictures[strong][which];
    if (*format)
        return *format;
    char picture[24];
    if (which == PICTURE_INCHES)
        snprintf(picture, sizeof picture,
                 "# ?"
                 "?/?"
                 "?");
    else if (which == PICTURE_DATE)
        snprintf(picture, sizeof picture, "yyyy\\-mm\\-dd");
    else
        snprintf(picture, sizeof picture, "#,##0%s%.*s", which > 0 ? "." : "", which, "0000000000");
    *format = new_format(w);
    if (*format) {
        format_set_num_format(*format, picture);
        format_set_align(*format, LXW_ALIGN_VERTICAL_TOP);
        if (strong)
            format_set_bold(*format);
    }
    return *format;
}

static double power_ten(int n)
{
    double out = 1;
    for (int i = 0; i < n; i++)
        out *= 10;
    return out;
}

static int decimals_of(const struct dw_sheet_cell *cell)
{
    int64_t value = cell->value;
    int decimals = cell->decimals;
    while (decimals > cell->shown && value % 10 == 0) {
        value /= 10;
        decimals--;
    }
    return decimals;
}

/* Inches in 64ths and nothing beside them: a fraction shows them as they are. */
static bool is_64ths(const struct dw_sheet_cell *cell)
{
    int64_t times = 0, scale = (int64_t)power_ten(cell->decimals);
    return dw_mul__i64(cell->value, 64, &times) && times % scale == 0;
}

/* --- formulas --------------------------------------------------------------------------------- */

/* Row of the first sum of a sheet. */
static size_t sum_row(const struct dw_sheet *sheet)
{
    return 1 + sheet->n_rows - sheet->n_notes - sheet->n_strong;
}

/* Room for a name whose apostrophes are doubled, and two places. */
#define FORMULA_TEXT (2 * DW_SHEET_NAME + 64)

/* "J10", "AB10" */
static void put_place(char out[24], size_t column, size_t row)
{
    char letters[8];
    size_t n = sizeof letters - 1;
    letters[n] = '\0';
    for (size_t c = column + 1; c > 0 && n > 0; c = (c - 1) / 26)
        letters[--n] = (char)('A' + (c - 1) % 26);
    snprintf(out, 24, "%.7s%zu", letters + n, row + 1);
}

/* "=SUM(J2:J9)", "='Quay Metals'!J10"; false where there is nothing to sum. */
static bool make_formula(const struct work *w, const struct dw_sheet *sheet, size_t column,
                         const struct dw_sheet_cell *cell, char out[FORMULA_TEXT])
{
    char from[24], to[24];
    if (cell->kind == DW_SHEET_SUM && sum_row(sheet) > 1) {
        put_place(from, column, 1);
        put_place(to, column, sum_row(sheet) - 1);
        snprintf(out, FORMULA_TEXT, "=SUM(%s:%s)", from, to);
        return true;
    }
    if (cell->kind != DW_SHEET_OF)
        return false;
    size_t n = 0;
    out[n++] = '=';
    out[n++] = '\'';
    for (const char *c = w->names[cell->sheet]; *c; c++) {
        if (*c == '\'')
            out[n++] = '\'';
        out[n++] = *c;
    }
    put_place(to, cell->column, sum_row(&w->book->sheets[cell->sheet]));
    snprintf(out + n, FORMULA_TEXT - n, "'!%s", to);
    return true;
}

/* --- cells ------------------------------------------------------------------------------------ */

static lxw_error put_text(struct work *w, lxw_row_t r, lxw_col_t c, const char *text, bool strong)
{
    return text && *text ? worksheet_write_string(w->page, r, c, text, w->texts[strong])
                         : LXW_NO_ERROR;
}

static lxw_error put_date(struct work *w, lxw_row_t r, lxw_col_t c, const char *text, bool strong)
{
    lxw_datetime day = {0};
    if (!text || !dw_date__check(text) ||
        sscanf(text, "%4d-%2d-%2d", &day.year, &day.month, &day.day) != 3 || day.year < 1900)
        return put_text(w, r, c, text, strong);
    return worksheet_write_datetime(w->page, r, c, &day, picture_of(w, PICTURE_DATE, strong));
}

static lxw_error put_number(struct work *w, const struct dw_sheet *sheet, lxw_row_t r, lxw_col_t c,
                            const struct dw_sheet_cell *cell, bool strong)
{
    bool fraction = cell->kind == DW_SHEET_INCHES && is_64ths(cell);
    lxw_format *format = picture_of(w, fraction ? PICTURE_INCHES : decimals_of(cell), strong);
    double value = (double)cell->value / power_ten(cell->decimals);
    char formula[FORMULA_TEXT];
    if (make_formula(w, sheet, c, cell, formula))
        return worksheet_write_formula_num(w->page, r, c, formula, format, value);
    return worksheet_write_number(w->page, r, c, value, format);
}

static void put_cell(struct work *w, const struct dw_sheet *sheet, size_t row, size_t column,
                     bool strong)
{
    const struct dw_sheet_cell *cell = &sheet->cells[(row - 1) * sheet->n_columns + column];
    lxw_row_t r = (lxw_row_t)row;
    lxw_col_t c = (lxw_col_t)column;
    switch (cell->kind) {
    case DW_SHEET_EMPTY:
        break;
    case DW_SHEET_TEXT:
        note(w, put_text(w, r, c, cell->text, strong));
        break;
    case DW_SHEET_DATE:
        note(w, put_date(w, r, c, cell->text, strong));
        break;
    default:
        note(w, put_number(w, sheet, r, c, cell, strong));
    }
}

/* So many lines a text takes in so many characters, words broken by. */
static size_t lines_of(const char *text, size_t width)
{
    return text ? 1 + dw_utf8__width(text, strlen(text)) * 10 / (width * 9 + 1) : 1;
}

static void set_lines(struct work *w, size_t row, size_t lines)
{
    if (lines > 1)
        note(w, worksheet_set_row(w->page, (lxw_row_t)row, 15.0 * (double)lines, NULL));
}

/* The cells of a row, which is as high as its texts. */
static void put_row(struct work *w, const struct dw_sheet *sheet, size_t row)
{
    const struct dw_sheet_cell *cells = &sheet->cells[(row - 1) * sheet->n_columns];
    size_t most = 1;
    for (size_t c = 0; c < sheet->n_columns; c++) {
        put_cell(w, sheet, row, c, row >= sum_row(sheet));
        size_t lines = cells[c].kind == DW_SHEET_TEXT
                           ? lines_of(cells[c].text, (size_t)sheet->columns[c].width)
                           : 1;
        most = lines > most ? lines : most;
    }
    set_lines(w, row, most);
}

/* A remark runs over the columns to its right, on as many lines as it takes. */
static void put_note(struct work *w, const struct dw_sheet *sheet, size_t row)
{
    const struct dw_sheet_cell *cells = &sheet->cells[(row - 1) * sheet->n_columns];
    size_t at = sheet->n_columns, width = 0;
    for (size_t c = 0; c < sheet->n_columns; c++)
        if (cells[c].kind == DW_SHEET_TEXT && cells[c].text)
            at = c;
    for (size_t c = 0; c < at; c++)
        put_cell(w, sheet, row, c, false);
    for (size_t c = at; c < sheet->n_columns; c++)
        width += (size_t)sheet->columns[c].width;
    if (width == 0)
        return;
    lxw_row_t r = (lxw_row_t)row;
    lxw_col_t first = (lxw_col_t)at, last = (lxw_col_t)(sheet->n_columns - 1);
    if (first < last)
        note(w, worksheet_merge_range(w->page, r, first, r, last, cells[at].text, w->texts[false]));
    else
        note(w, worksheet_write_string(w->page, r, first, cells[at].text, w->texts[false]));
    set_lines(w, row, lines_of(cells[at].text, width));
}

/* --- sheets ----------------------------------------------------------------------------------- */

/* "&" begins an order in a header, "&&" prints it. */
static void set_head(struct work *w, const char *title)
{
    char text[LXW_HEADER_FOOTER_MAX / 2] = "&L";
    size_t n = 2;
    for (const char *c = title ? title : ""; *c;) {
        size_t bytes = dw_utf8__next(c, strlen(c), NULL), twice = *c == '&';
        if (bytes == 0 || n + bytes + twice >= sizeof text - 1)
            break;
        if (twice)
            text[n++] = '&';
        memcpy(text + n, c, bytes);
        n += bytes;
        c += bytes;
    }
    text[n] = '\0';
    note(w, worksheet_set_header(w->page, text));
    note(w, worksheet_set_footer(w->page, "&L&A&RPage &P of &N"));
}

#define WIDE 95 /* columns together, in characters: more lie across the paper */

/* The heads on every page, as wide as the paper. */
static void set_print(struct work *w, const struct dw_sheet *sheet)
{
    int width = 0;
    for (size_t c = 0; c < sheet->n_columns; c++)
        width += sheet->columns[c].width;
    if (width > WIDE)
        worksheet_set_landscape(w->page);
    worksheet_set_paper(w->page, w->book->paper && strcmp(w->book->paper, "letter") == 0
                                     ? 1   /* Letter */
                                     : 9); /* A4 */
    worksheet_fit_to_pages(w->page, 1, 0);
    note(w, worksheet_repeat_rows(w->page, 0, 0));
    set_head(w, sheet->title);
}

static void fill_page(struct work *w, const struct dw_sheet *sheet)
{
    size_t behind = sheet->n_rows - sheet->n_notes, most = 1;
    for (size_t c = 0; c < sheet->n_columns; c++) {
        lxw_col_t column = (lxw_col_t)c;
        note(w, worksheet_set_column(w->page, column, column, sheet->columns[c].width, NULL));
        note(w, put_text(w, 0, column, sheet->columns[c].title, true));
        size_t lines = lines_of(sheet->columns[c].title, (size_t)sheet->columns[c].width);
        most = lines > most ? lines : most;
    }
    set_lines(w, 0, most);
    worksheet_freeze_panes(w->page, 1, 0);
    set_print(w, sheet);
    for (size_t r = 1; r <= behind; r++)
        put_row(w, sheet, r);
    for (size_t r = behind + 1; r <= sheet->n_rows; r++)
        put_note(w, sheet, r);
}

/* Midday UTC of a date; 1980 without one, as old as a ZIP entry can be. */
static time_t made_on(const char *date)
{
    int64_t day = 0;
    if (!dw_date__number(date ? date : "1980-01-01", &day))
        dw_date__number("1980-01-01", &day);
    return (time_t)(day * 86400 + 43200);
}

static void fill_book(struct work *w)
{
    for (size_t i = 0; i < DW_COUNT(w->texts); i++) {
        w->texts[i] = new_format(w);
        if (!w->texts[i])
            return;
        format_set_text_wrap(w->texts[i]);
        format_set_indent(w->texts[i], 1); /* off the number to its left */
        format_set_align(w->texts[i], LXW_ALIGN_VERTICAL_TOP);
    }
    format_set_bold(w->texts[true]);
    for (size_t i = 0; i < w->book->n_sheets && w->why == LXW_NO_ERROR; i++) {
        w->page = workbook_add_worksheet(w->file, w->names[i]);
        if (w->page)
            fill_page(w, &w->book->sheets[i]);
        else
            note(w, LXW_ERROR_MEMORY_MALLOC_FAILED);
    }
}

struct wish {
    const struct dw_book *book;
    char (*names)[DW_SHEET_NAME];
    const char *path; /* of a file of ours */
};

static lxw_error write_book(const struct wish *wish)
{
    struct work w = {.book = wish->book, .names = wish->names, .file = workbook_new(wish->path)};
    if (!w.file)
        return LXW_ERROR_MEMORY_MALLOC_FAILED;
    lxw_doc_properties properties = {.created = made_on(wish->book->date)};
    note(&w, workbook_set_properties(w.file, &properties));
    fill_book(&w);
    note(&w, workbook_close(w.file));
    return w.why;
}

/* In a process of its own: the library crashes where memory is short, and prints what it thinks. */
static dw_err write_apart(struct dw_apart *to, void *user, struct dw_error *error)
{
    const struct wish *wish = user;
    (void)to;
    errno = 0;
    lxw_error why = write_book(wish);
    if (why == LXW_NO_ERROR)
        return DW_OK;
    if (why == LXW_ERROR_MEMORY_MALLOC_FAILED || errno == ENOMEM)
        return dw_error__nomem(error);
    bool text = why == LXW_ERROR_MAX_STRING_LENGTH_EXCEEDED;
    return dw_error__set(error, DW_ERR_IO, "the sheet could not be written: %s",
                         text ? "a text is too long for it" : "the disk is full, or out of memory");
}

static dw_err check_size(const struct dw_book *book, struct dw_error *error)
{
    for (size_t i = 0; i < book->n_sheets; i++)
        if (book->sheets[i].n_rows >= LXW_ROW_MAX || book->sheets[i].n_columns > LXW_COL_MAX)
            return dw_error__set(error, DW_ERR_LIMIT, "an XLSX sheet has at most %d rows",
                                 LXW_ROW_MAX);
    return DW_OK;
}

/* The library writes to a name only (1.1.4 of Debian 12 has no other door), so that it gets the
 * name of a file that has none: nothing is left of it however the program ends. The bytes are read
 * back from it, and written whole or not at all by who wants a file. */
dw_err dw_book__xlsx(const struct dw_book *book, char **bytes, size_t *n, struct dw_error *error)
{
    *bytes = NULL;
    char name[DW_APART_NAME];
    dw_err err = check_size(book, error);
    FILE *file = err ? NULL : tmpfile();
    if (!err && !file)
        err = dw_error__set(error, DW_ERR_IO,
                            "the sheet could not be written: no temporary file can be made");
    if (err)
        return err;
    dw_apart__name(file, name);
    struct wish wish = {book, calloc(book->n_sheets + 1, sizeof *wish.names), name};
    struct dw_buf nothing = {0};
    for (size_t i = 0; wish.names && i < book->n_sheets; i++)
        dw_sheet__name(wish.names[i], book->sheets[i].name, wish.names, i);
    err = wish.names ? dw_apart__run(write_apart, &wish, &nothing, error) : dw_error__nomem(error);
    dw_buf__free(&nothing);
    free(wish.names);
    if (!err)
        err = dw_file__read(name, MAX_BYTES, bytes, n, error);
    fclose(file);
    return err;
}
