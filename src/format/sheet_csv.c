/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables as CSV after RFC 4180. */
#include "format/sheet.h"

#include <inttypes.h>
#include <string.h>

static bool is_formula(const char *text)
{
    return text[0] != '\0' && strchr("=+-@\t\r\n", text[0]) != NULL;
}

static void put_text(struct dw_buf *buf, const char *text)
{
    bool escaped = is_formula(text);
    if (!escaped && !strpbrk(text, ",;\"\r\n\t") && text[0] != ' ') {
        dw_buf__put(buf, text);
        return;
    }
    dw_buf__put(buf, escaped ? "\"'" : "\"");
    for (const char *c = text; *c; c++) {
        if (*c == '"')
            dw_buf__char(buf, '"');
        dw_buf__char(buf, *c);
    }
    dw_buf__char(buf, '"');
}

static void put_number(struct dw_buf *buf, const struct dw_sheet_cell *cell)
{
    int64_t value = cell->value;
    int decimals = cell->decimals;
    while (decimals > cell->shown && value % 10 == 0) {
        value /= 10;
        decimals--;
    }
    int64_t scale = 1;
    for (int i = 0; i < decimals; i++)
        scale *= 10;
    uint64_t size = value < 0 ? (uint64_t)0 - (uint64_t)value : (uint64_t)value;
    dw_buf__format(buf, "%s%" PRIu64, value < 0 ? "-" : "", size / (uint64_t)scale);
    if (decimals > 0)
        dw_buf__format(buf, ".%0*" PRIu64, decimals, size % (uint64_t)scale);
}

static void put_cell(struct dw_buf *buf, const struct dw_sheet_cell *cell)
{
    switch (cell->kind) {
    case DW_SHEET_EMPTY:
        break;
    case DW_SHEET_TEXT:
    case DW_SHEET_DATE:
        put_text(buf, cell->text ? cell->text : "");
        break;
    default:
        put_number(buf, cell);
    }
}

dw_err dw_sheet__csv(const struct dw_sheet *sheet, char **text, size_t *n, struct dw_error *error)
{
    struct dw_buf buf = {0};
    dw_buf__put(&buf, "\xEF\xBB\xBF");
    for (size_t c = 0; c < sheet->n_columns; c++) {
        dw_buf__put(&buf, c ? "," : "");
        put_text(&buf, sheet->columns[c].title);
    }
    dw_buf__put(&buf, "\r\n");
    for (size_t r = 0; r < sheet->n_rows; r++) {
        for (size_t c = 0; c < sheet->n_columns; c++) {
            dw_buf__put(&buf, c ? "," : "");
            put_cell(&buf, &sheet->cells[r * sheet->n_columns + c]);
        }
        dw_buf__put(&buf, "\r\n");
    }
    *n = buf.n;
    *text = dw_buf__take(&buf);
    return *text ? DW_OK : dw_error__nomem(error);
}
