/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables as XLSX. The only place that knows the library which writes it. */
#include "format/sheet.h"
#include "base/apart.h"
#include "model/model.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <xlsxwriter.h>

#define MAX_BYTES ((size_t)1 << 28)

struct work {
    const struct dw_sheet *sheet;
    lxw_workbook *book;
    lxw_worksheet *page;
    lxw_format *strong;
    lxw_format *numbers[2][10]; /* plain and strong, by decimals; made when needed */
    lxw_error why;              /* the first that went wrong */
};

/* "0.00" with so many decimals; NULL without memory. */
static lxw_format *number_format(struct work *w, int decimals, bool strong)
{
    lxw_format **format = &w->numbers[strong][decimals];
    if (*format)
        return *format;
    char picture[24];
    snprintf(picture, sizeof picture, "#,##0%s%.*s", decimals > 0 ? "." : "", decimals,
             "0000000000");
    *format = workbook_add_format(w->book);
    if (*format) {
        format_set_num_format(*format, picture);
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

static void note(struct work *w, lxw_error why)
{
    if (w->why == LXW_NO_ERROR)
        w->why = why;
}

static void put_cell(struct work *w, size_t row, size_t column, const struct dw_sheet_cell *cell,
                     bool strong)
{
    lxw_row_t r = (lxw_row_t)row;
    lxw_col_t c = (lxw_col_t)column;
    lxw_error result = LXW_NO_ERROR;
    if (cell->kind == DW_SHEET_TEXT && cell->text)
        result = worksheet_write_string(w->page, r, c, cell->text, strong ? w->strong : NULL);
    if (cell->kind == DW_SHEET_NUMBER) {
        lxw_format *format = number_format(w, decimals_of(cell), strong);
        note(w, format ? LXW_NO_ERROR : LXW_ERROR_MEMORY_MALLOC_FAILED);
        result = worksheet_write_number(w->page, r, c,
                                        (double)cell->value / power_ten(cell->decimals), format);
    }
    note(w, result);
}

static void fill_page(struct work *w)
{
    const struct dw_sheet *sheet = w->sheet;
    for (size_t c = 0; c < sheet->n_columns; c++) {
        lxw_col_t column = (lxw_col_t)c;
        const struct dw_sheet_cell title = {.kind = DW_SHEET_TEXT, .text = sheet->columns[c].title};
        worksheet_set_column(w->page, column, column, sheet->columns[c].width, NULL);
        put_cell(w, 0, c, &title, true);
    }
    worksheet_freeze_panes(w->page, 1, 0);
    for (size_t r = 0; r < sheet->n_rows; r++) {
        size_t behind = sheet->n_rows - sheet->n_notes; /* the sums */
        bool strong = r < behind && r + sheet->n_strong >= behind;
        for (size_t c = 0; c < sheet->n_columns; c++)
            put_cell(w, r + 1, c, &sheet->cells[r * sheet->n_columns + c], strong);
    }
}

/* Midday UTC of a date; 1980 without one, as old as a ZIP entry can be. */
static time_t made_on(const char *date)
{
    int64_t day = 0;
    if (!dw_date__number(date ? date : "1980-01-01", &day))
        dw_date__number("1980-01-01", &day);
    return (time_t)(day * 86400 + 43200);
}

/* Writes the book to `path`, a file of ours. */
static lxw_error write_book(const struct dw_sheet *sheet, const char *path, const char *date)
{
    struct work w = {.sheet = sheet};
    w.book = workbook_new(path);
    if (!w.book)
        return LXW_ERROR_MEMORY_MALLOC_FAILED;
    lxw_doc_properties properties = {.created = made_on(date)};
    workbook_set_properties(w.book, &properties);
    w.page = workbook_add_worksheet(w.book, sheet->name);
    w.strong = workbook_add_format(w.book);
    if (w.page && w.strong) {
        format_set_bold(w.strong);
        fill_page(&w);
    } else {
        note(&w, LXW_ERROR_MEMORY_MALLOC_FAILED);
    }
    note(&w, workbook_close(w.book));
    return w.why;
}

struct wish {
    const struct dw_sheet *sheet;
    const char *path, *date;
};

/* In a process of its own: the library crashes where memory is short, and prints what it thinks. */
static dw_err write_apart(struct dw_apart *to, void *user, struct dw_error *error)
{
    const struct wish *wish = user;
    (void)to;
    errno = 0;
    lxw_error why = write_book(wish->sheet, wish->path, wish->date);
    if (why == LXW_NO_ERROR)
        return DW_OK;
    if (why == LXW_ERROR_MEMORY_MALLOC_FAILED || errno == ENOMEM)
        return dw_error__nomem(error);
    bool text = why == LXW_ERROR_MAX_STRING_LENGTH_EXCEEDED;
    return dw_error__set(error, DW_ERR_IO, "the sheet could not be written: %s",
                         text ? "a text is too long for it" : "the disk is full, or out of memory");
}

/* The library writes to a name only (1.1.4 of Debian 12 has no other door), so that it gets the
 * name of a file that has none: nothing is left of it however the program ends. The bytes are read
 * back from it and written whole or not at all by who wants a file. `path`: for messages. */
static dw_err make_bytes(const struct dw_sheet *sheet, const char *path, const char *date,
                         char **bytes, size_t *n, struct dw_error *error)
{
    *bytes = NULL;
    if (sheet->n_rows >= LXW_ROW_MAX || sheet->n_columns > LXW_COL_MAX)
        return dw_error__at(error, DW_ERR_LIMIT, path, 0, 0, "an XLSX sheet has at most %d rows",
                            LXW_ROW_MAX);
    char name[DW_APART_NAME];
    FILE *file = tmpfile();
    if (!file)
        return dw_error__at(error, DW_ERR_IO, path, 0, 0,
                            "the sheet could not be written: no temporary file can be made");
    dw_apart__name(file, name);
    struct wish wish = {sheet, name, date};
    struct dw_buf nothing = {0};
    struct dw_error why = {0};
    dw_err err = dw_apart__run(write_apart, &wish, &nothing, &why);
    dw_buf__free(&nothing);
    if (err)
        dw_error__at(error, err, err == DW_ERR_IO ? path : NULL, 0, 0, "%s", why.text);
    if (!err)
        err = dw_file__read(name, MAX_BYTES, bytes, n, error);
    fclose(file);
    return err;
}

dw_err dw_sheet__xlsx(const struct dw_sheet *sheet, const char *path, const char *date,
                      bool replace, struct dw_error *error)
{
    char *bytes = NULL;
    size_t n = 0;
    dw_err err = make_bytes(sheet, path, date, &bytes, &n, error);
    if (!err)
        err = dw_file__write(path, bytes, n, replace, error);
    free(bytes);
    return err;
}

dw_err dw_sheet__xlsx_bytes(const struct dw_sheet *sheet, const char *date, char **bytes, size_t *n,
                            struct dw_error *error)
{
    return make_bytes(sheet, NULL, date, bytes, n, error);
}
