/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Workbooks after OASIS OpenDocument 1.2, part 1, section 9: content.xml holds all sheets, each
 * cell with its value and with the text that it shows. */
#include "grid/part.h"

#include <stdlib.h>
#include <string.h>

#define SHEETS_MOST 200
#define MERGES_MOST 20000
#define NAME        128

struct book {
    struct dw_grid_maker *maker;
    char sheet[NAME];
    bool in_table;
    long row;        /* of the row that is read */
    long row_repeat; /* it stands for so many */
    bool row_hidden;
    long column;
    long repeat; /* of the cell */
    char type[16];
    char value[DW_VALUE_TEXT];
    bool has_cell;
    int silent; /* within a comment or a drawing */
    int paragraphs;
    bool gathering;
    struct dw_cell cell;
    struct dw_buf text;
    struct dw_merge *merges;
    size_t n_merges;
    size_t merge_capacity;
    long header_column;
    /* styles by which a sheet is hidden */
    char style[64];
    char hidden_styles[16][64];
    size_t n_hidden_styles;
    bool sheet_hidden;
};

static bool is_hidden(const char **attributes)
{
    const char *how = dw_xml__get(attributes, "visibility");
    return how && (strcmp(how, "collapse") == 0 || strcmp(how, "filter") == 0);
}

/* --- sheets and rows ------------------------------------------------------------------------- */

static void copy_text(char *out, size_t room, const char *text)
{
    size_t n = text ? strlen(text) : 0;
    n = n < room ? n : room - 1;
    n = text ? dw_utf8__check(text, n) : 0;
    if (n)
        memcpy(out, text, n);
    out[n] = '\0';
}

static void begin_table(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    const char *style = dw_xml__get(attributes, "style-name");
    if (book->maker->n_sheets == SHEETS_MOST)
        dw_xml__stop(xml, DW_ERR_LIMIT, "the workbook has more than %d sheets", SHEETS_MOST);
    copy_text(book->sheet, sizeof book->sheet, dw_xml__get(attributes, "name"));
    book->in_table = true;
    book->row = book->header_column = 0;
    book->row_repeat = 1;
    book->n_merges = 0;
    book->sheet_hidden = false;
    for (size_t i = 0; style && i < book->n_hidden_styles; i++)
        book->sheet_hidden |= strcmp(style, book->hidden_styles[i]) == 0;
}

static void end_table(struct dw_xml *xml)
{
    struct book *book = xml->user;
    struct dw_grid_maker *maker = book->maker;
    book->in_table = false;
    dw_maker__sheet(maker, book->sheet, book->sheet_hidden);
    if (!maker->err)
        dw_grid__merge(maker, &maker->sheets[maker->n_sheets - 1], book->merges, book->n_merges);
    xml->err = xml->err ? xml->err : maker->err;
}

static long repeated(const char **attributes, const char *name)
{
    long n = dw_xml__number(attributes, name, 1);
    return n >= 1 && n <= 1048576 ? n : 1;
}

static void begin_row(struct book *book, const char **attributes)
{
    book->row += book->row_repeat;
    book->row_repeat = repeated(attributes, "number-rows-repeated");
    book->row_hidden = is_hidden(attributes);
    book->column = 0;
    if (book->row == 0)
        book->row = 1;
}

static void end_row(struct dw_xml *xml)
{
    struct book *book = xml->user;
    struct dw_grid_maker *maker = book->maker;
    bool empty = maker->n_row_cells == 0;
    dw_maker__row(maker, (int)book->row, book->row_hidden);
    const struct dw_grid_row *first =
        !empty && !maker->err ? &maker->rows[maker->n_rows - 1] : NULL;
    for (long k = 1; first && !maker->err && k < book->row_repeat; k++) {
        first = &maker->rows[maker->n_rows - 1];
        for (size_t i = 0; i < first->n_cells; i++) {
            struct dw_cell cell = *first->cells[i];
            cell.line++;
            dw_maker__cell(maker, &cell);
        }
        dw_maker__row(maker, (int)(book->row + k), book->row_hidden);
    }
    xml->err = xml->err ? xml->err : maker->err;
}

static void begin_column(struct book *book, const char **attributes)
{
    long n = repeated(attributes, "number-columns-repeated");
    for (long i = 1; is_hidden(attributes) && i <= n && i <= DW_GRID_COLUMNS; i++)
        dw_maker__hide_column(book->maker, (int)(book->header_column + i));
    book->header_column += n;
}

/* --- cells ----------------------------------------------------------------------------------- */

static void add_merge(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    long rows = repeated(attributes, "number-rows-spanned");
    if (rows == 1 || book->n_merges == MERGES_MOST)
        return;
    if (!dw_array__grow(&book->merges, &book->merge_capacity, book->n_merges + 1,
                        sizeof *book->merges)) {
        dw_xml__stop(xml, DW_ERR_NOMEM, " ");
        return;
    }
    int column = (int)book->column + 1, row = (int)book->row;
    book->merges[book->n_merges++] =
        (struct dw_merge){column, row, column, (int)(book->row + rows - 1)};
}

static void begin_cell(struct dw_xml *xml, const char **attributes)
{
    struct book *book = xml->user;
    const char *type = dw_xml__get(attributes, "value-type");
    const char *value = dw_xml__get(attributes, "value");
    const char *formula = dw_xml__get(attributes, "formula");
    value = value ? value : dw_xml__get(attributes, "date-value");
    value = value ? value : dw_xml__get(attributes, "time-value");
    value = value ? value : dw_xml__get(attributes, "boolean-value");
    copy_text(book->type, sizeof book->type, type);
    copy_text(book->value, sizeof book->value, value);
    book->repeat = repeated(attributes, "number-columns-repeated");
    book->cell = (struct dw_cell){.formula = formula != NULL};
    book->cell.linked = formula && strstr(formula, "'file:") != NULL;
    book->has_cell = true;
    book->paragraphs = 0;
    book->text.n = 0;
    add_merge(xml, attributes);
}

/* What the cell holds, by its type. */
static void judge_cell(struct book *book, struct dw_cell *cell)
{
    char value[DW_VALUE_TEXT];
    cell->kind = DW_CELL_TEXT;
    cell->text = book->text.n ? book->text.text : "";
    cell->n = book->text.n;
    if (strcmp(book->type, "float") == 0 || strcmp(book->type, "currency") == 0) {
        cell->kind =
            dw_value__read(book->value, value, &cell->computed) ? DW_CELL_NUMBER : DW_CELL_FAULT;
        memcpy(book->value, value, sizeof value);
        cell->rounded = cell->kind == DW_CELL_NUMBER && !dw_value__shows(cell->text, value);
        cell->value = cell->kind == DW_CELL_NUMBER ? book->value : NULL;
    } else if (strcmp(book->type, "date") == 0 || strcmp(book->type, "time") == 0) {
        cell->kind = DW_CELL_DATE;
        cell->value = book->value;
    } else if (strcmp(book->type, "boolean") == 0) {
        cell->kind = DW_CELL_YES;
        cell->text = strcmp(book->value, "true") == 0 ? "yes" : "no";
        cell->n = strlen(cell->text);
    } else if (cell->formula && cell->n && strchr("#E", cell->text[0]) &&
               (cell->text[0] == '#' || strncmp(cell->text, "Err:", 4) == 0))
        cell->kind = DW_CELL_FAULT;
}

static void end_cell(struct dw_xml *xml)
{
    struct book *book = xml->user;
    struct dw_cell cell = book->cell;
    book->has_cell = false;
    judge_cell(book, &cell);
    for (long k = 0; cell.n && k < book->repeat && !book->maker->err; k++) {
        if (book->column + k + 1 > DW_GRID_COLUMNS) {
            dw_xml__stop(xml, DW_ERR_LIMIT, "the row has more cells than any table has columns");
            break;
        }
        cell.line = (int)book->row;
        cell.at = cell.column = (int)(book->column + k + 1);
        dw_maker__cell(book->maker, &cell);
    }
    book->column += book->repeat;
    xml->err = xml->err ? xml->err : book->maker->err;
}

/* --- the walk -------------------------------------------------------------------------------- */

/* Comments, drawings and what is noted of changes have texts that are not the cell's. */
static bool is_aside(const char *name)
{
    return strcmp(name, "annotation") == 0 || strcmp(name, "shapes") == 0 ||
           strcmp(name, "frame") == 0 || strcmp(name, "tracked-changes") == 0;
}

static void begin_text(struct book *book, const char *name, const char **attributes)
{
    if (strcmp(name, "p") == 0) {
        book->gathering = true;
        if (book->paragraphs++ > 0)
            dw_buf__char(&book->text, '\n');
    } else if (book->gathering && strcmp(name, "s") == 0) {
        for (long i = dw_xml__number(attributes, "c", 1); i > 0 && i <= 100; i--)
            dw_buf__char(&book->text, ' ');
    } else if (book->gathering && strcmp(name, "tab") == 0)
        dw_buf__char(&book->text, '\t');
    else if (book->gathering && strcmp(name, "line-break") == 0)
        dw_buf__char(&book->text, '\n');
}

static void begin_style(struct book *book, const char *name, const char **attributes)
{
    const char *display = dw_xml__get(attributes, "display");
    if (strcmp(name, "style") == 0)
        copy_text(book->style, sizeof book->style, dw_xml__get(attributes, "name"));
    if (strcmp(name, "table-properties") == 0 && display && strcmp(display, "false") == 0 &&
        book->n_hidden_styles < DW_COUNT(book->hidden_styles))
        memcpy(book->hidden_styles[book->n_hidden_styles++], book->style, sizeof book->style);
}

static void on_begin(struct dw_xml *xml, const char *name, const char **attributes)
{
    struct book *book = xml->user;
    if (book->silent || is_aside(name)) {
        book->silent += is_aside(name);
        return;
    }
    if (strcmp(name, "table") == 0 && book->in_table)
        dw_xml__stop(xml, DW_ERR_INPUT, "a sheet within a cell can't be read");
    else if (strcmp(name, "table") == 0)
        begin_table(xml, attributes);
    else if (!book->in_table)
        begin_style(book, name, attributes);
    else if (strcmp(name, "table-row") == 0)
        begin_row(book, attributes);
    else if (strcmp(name, "table-column") == 0)
        begin_column(book, attributes);
    else if (strcmp(name, "table-cell") == 0)
        begin_cell(xml, attributes);
    else if (strcmp(name, "covered-table-cell") == 0)
        book->column += repeated(attributes, "number-columns-repeated");
    else if (book->has_cell)
        begin_text(book, name, attributes);
    if (book->text.failed)
        dw_xml__stop(xml, DW_ERR_NOMEM, " ");
}

static void on_end(struct dw_xml *xml, const char *name)
{
    struct book *book = xml->user;
    if (book->silent) {
        book->silent -= is_aside(name);
        return;
    }
    if (strcmp(name, "table") == 0 && book->in_table)
        end_table(xml);
    else if (strcmp(name, "table-row") == 0 && book->in_table)
        end_row(xml);
    else if (strcmp(name, "table-cell") == 0 && book->in_table)
        end_cell(xml);
    else if (strcmp(name, "p") == 0)
        book->gathering = false;
}

static void on_text(struct dw_xml *xml, const char *text, size_t n)
{
    struct book *book = xml->user;
    if (!book->has_cell || !book->gathering || book->silent)
        return;
    dw_buf__add(&book->text, text, n);
    if (book->text.failed)
        dw_xml__stop(xml, DW_ERR_NOMEM, " ");
    if (book->text.n > DW_GRID_MEMORY)
        dw_xml__stop(xml, DW_ERR_LIMIT, "a cell of the workbook holds too much text");
}

dw_err dw_ods__read(struct dw_zip *zip, struct dw_grid_maker *maker)
{
    struct book *book = calloc(1, sizeof *book);
    if (!book)
        return dw_maker__fail(maker, DW_ERR_NOMEM, " ");
    struct dw_xml xml = {.user = book, .begin = on_begin, .end = on_end, .text = on_text};
    book->maker = maker;
    dw_err err = dw_xml__walk(zip, "content.xml", &xml, maker->error);
    free(book->merges);
    dw_buf__free(&book->text);
    free(book);
    return err;
}
