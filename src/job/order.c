/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An order as a table for spreadsheets. */
#include "job/trade.h"

#include "base/base.h"
#include "format/sheet.h"
#include "model/caution.h"

#include <stdlib.h>
#include <string.h>

enum {
    COLUMN_SUPPLIER,
    COLUMN_KIND,
    COLUMN_ITEM,
    COLUMN_TEXT,
    COLUMN_LENGTH,
    COLUMN_QUANTITY,
    COLUMN_PACK,
    COLUMN_PACKS,
    COLUMN_PRICE,
    COLUMN_MONEY,
    COLUMN_CURRENCY,
    COLUMN_WEIGHT,
    COLUMN_DATE,
    N_COLUMNS
};

static const struct dw_sheet_column columns[N_COLUMNS] = {
    [COLUMN_SUPPLIER] = {"supplier", 20}, [COLUMN_KIND] = {"kind", 10},
    [COLUMN_ITEM] = {"item", 16},         [COLUMN_TEXT] = {"description", 44},
    [COLUMN_LENGTH] = {"length, mm", 12}, [COLUMN_QUANTITY] = {"quantity", 10},
    [COLUMN_PACK] = {"pack of", 8},       [COLUMN_PACKS] = {"packs", 8},
    [COLUMN_PRICE] = {"price each", 12},  [COLUMN_MONEY] = {"amount", 12},
    [COLUMN_CURRENCY] = {"currency", 9},  [COLUMN_WEIGHT] = {"weight, kg", 11},
    [COLUMN_DATE] = {"price of", 12},
};

static struct dw_sheet_cell text_cell(const char *text)
{
    return (struct dw_sheet_cell){.kind = text ? DW_SHEET_TEXT : DW_SHEET_EMPTY, .text = text};
}

static struct dw_sheet_cell number_cell(int64_t value, int decimals, int shown)
{
    return (struct dw_sheet_cell){
        .kind = DW_SHEET_NUMBER, .value = value, .decimals = decimals, .shown = shown};
}

static struct dw_sheet_cell money_cell(dw_money money, const char *currency)
{
    const struct dw_currency *found = dw_currency_find(currency);
    return number_cell(money, 4, found ? found->decimals : 2);
}

static void fill_row(struct dw_sheet_cell *row, const struct dw_order_supplier *supplier,
                     const struct dw_order_line *line, const char *currency)
{
    bool bars = line->kind == DW_ORDER_BARS;
    row[COLUMN_SUPPLIER] = text_cell(supplier->name);
    row[COLUMN_KIND] = text_cell(dw_order_kind_word(line->kind));
    row[COLUMN_ITEM] = text_cell(line->item);
    row[COLUMN_TEXT] = text_cell(line->text);
    if (bars)
        row[COLUMN_LENGTH] = number_cell(line->length, 6, 0); /* exact: nm as mm */
    row[COLUMN_QUANTITY] = number_cell(line->quantity, 0, 0);
    if (bars) {
        row[COLUMN_PACK] = number_cell(line->pack, 0, 0);
        row[COLUMN_PACKS] = number_cell(line->packs, 0, 0);
    }
    row[COLUMN_PRICE] = money_cell(line->unit_price, currency);
    row[COLUMN_MONEY] = money_cell(line->money, currency);
    row[COLUMN_CURRENCY] = text_cell(currency);
    if (line->weight_mg >= 0)
        row[COLUMN_WEIGHT] = number_cell((line->weight_mg + 500) / 1000, 3, 3);
    row[COLUMN_DATE] = text_cell(line->date);
}

static bool is_shown(enum dw_caution caution)
{
    return dw_caution_shown(caution, DW_AT_BUY) && !dw_caution__names(caution);
}

static void fill_total(struct dw_sheet_cell *row, const struct dw_order_doc *order)
{
    row[COLUMN_TEXT] = text_cell("total");
    row[COLUMN_MONEY] = money_cell(order->total, order->currency);
    row[COLUMN_CURRENCY] = text_cell(order->currency);
}

/* What has to be minded of an order, a row each; their number. */
static size_t fill_cautions(struct dw_sheet_cell *row)
{
    size_t n = 0;
    for (unsigned i = 0; i < DW_N_CAUTIONS; i++)
        if (is_shown((enum dw_caution)i)) {
            row[COLUMN_KIND] = text_cell("caution");
            row[COLUMN_TEXT] = text_cell(dw_caution_text((enum dw_caution)i));
            row += N_COLUMNS;
            n++;
        }
    return n;
}

static bool is_form(const char *form)
{
    return strcmp(form, "csv") == 0 || strcmp(form, "xlsx") == 0;
}

/* The sheet of an order: its lines, in XLSX their sum, the cautions. Its cells are to be freed. */
static dw_err make_sheet(const struct dw_order_doc *order, bool csv, struct dw_sheet *sheet,
                         struct dw_sheet_cell **cells, struct dw_error *error)
{
    size_t n = 0;
    for (size_t i = 0; i < order->n_suppliers; i++)
        n += order->suppliers[i].n_lines;
    struct dw_sheet_cell *row = calloc((n + 1 + DW_N_CAUTIONS) * N_COLUMNS, sizeof *row);
    *cells = row;
    if (!row)
        return dw_error__nomem(error);
    for (size_t i = 0; i < order->n_suppliers; i++) {
        const struct dw_order_supplier *supplier = &order->suppliers[i];
        for (size_t k = 0; k < supplier->n_lines; k++, row += N_COLUMNS)
            fill_row(row, supplier, &supplier->lines[k], order->currency);
    }
    size_t n_sums = csv ? 0 : 1;
    if (!csv) {
        fill_total(row, order);
        row += N_COLUMNS;
    }
    size_t n_notes = fill_cautions(row);
    *sheet = (struct dw_sheet){.name = "order",
                               .n_columns = N_COLUMNS,
                               .columns = columns,
                               .n_rows = n + n_sums + n_notes,
                               .n_strong = n_sums,
                               .n_notes = n_notes,
                               .cells = *cells};
    return DW_OK;
}

dw_err dw_order_table(const struct dw_job *job, const struct dw_order_doc *order, const char *form,
                      char **bytes, size_t *n, struct dw_error *error)
{
    *bytes = NULL;
    struct dw_sheet sheet;
    struct dw_sheet_cell *cells = NULL;
    if (!is_form(form))
        return dw_error__set(error, DW_ERR_INPUT, "\"%s\" is no form of a table: csv or xlsx",
                             form);
    bool csv = strcmp(form, "csv") == 0;
    dw_err err = make_sheet(order, csv, &sheet, &cells, error);
    if (!err && csv)
        err = dw_sheet__csv(&sheet, bytes, n, error);
    else if (!err)
        err = dw_sheet__xlsx_bytes(&sheet, order->date ? order->date : job->date, bytes, n, error);
    free(cells);
    return err;
}

dw_err dw_order_write(const struct dw_job *job, const struct dw_order_doc *order, const char *path,
                      bool replace, struct dw_error *error)
{
    const char *dot = strrchr(path, '.');
    if (!dot || dot == path || !is_form(dot + 1))
        return dw_error__at(
            error, DW_ERR_INPUT, path, 0, 0,
            "an order is written to a name that ends in .csv, .xlsx, .pdf, .svg or .png");
    char *bytes = NULL;
    size_t n = 0;
    struct dw_sheet sheet;
    struct dw_sheet_cell *cells = NULL;
    dw_err err = DW_OK;
    if (strcmp(dot, ".csv") == 0) {
        err = dw_order_table(job, order, "csv", &bytes, &n, error);
        if (!err)
            err = dw_file__write(path, bytes, n, replace, error);
    } else {
        err = make_sheet(order, false, &sheet, &cells, error);
        if (!err)
            err =
                dw_sheet__xlsx(&sheet, path, order->date ? order->date : job->date, replace, error);
    }
    free(cells);
    free(bytes);
    return err;
}
