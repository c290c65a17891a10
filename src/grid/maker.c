/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A grid that grows cell by cell. */
#include "grid/part.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- names ----------------------------------------------------------------------------------- */

char *dw_cell__name(char out[DW_CELL_NAME], int column, int row)
{
    char letters[8];
    size_t n = 0;
    for (int rest = column; rest > 0 && n < sizeof letters; rest = (rest - 1) / 26)
        letters[n++] = (char)('A' + (rest - 1) % 26);
    size_t used = 0;
    while (n > 0)
        out[used++] = letters[--n];
    snprintf(out + used, DW_CELL_NAME - used, "%d", row);
    if (row <= 0)
        out[used] = '\0';
    return out;
}

int dw_cell__column(const char *letters, size_t n)
{
    int column = 0;
    if (n == 0 || n > 3)
        return 0;
    for (size_t i = 0; i < n; i++) {
        char c =
            letters[i] >= 'a' && letters[i] <= 'z' ? (char)(letters[i] - 'a' + 'A') : letters[i];
        if (c < 'A' || c > 'Z')
            return 0;
        column = column * 26 + (c - 'A' + 1);
    }
    return column;
}

/* --- growing --------------------------------------------------------------------------------- */

dw_err dw_maker__fail(struct dw_grid_maker *maker, dw_err err, const char *format, ...)
{
    char text[256];
    va_list args;
    if (maker->err)
        return maker->err;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    maker->err = err == DW_ERR_NOMEM ? dw_error__nomem(maker->error)
                                     : dw_error__set(maker->error, err, "%s", text);
    return maker->err;
}

static bool within_limits(struct dw_grid_maker *maker, size_t n)
{
    maker->n_cells++;
    maker->n_bytes += n;
    if (maker->grid->workbook &&
        (maker->n_cells > DW_GRID_CELLS || maker->n_bytes > DW_GRID_MEMORY))
        dw_maker__fail(maker, DW_ERR_LIMIT,
                       "the workbook holds more than %zu cells or %zu MiB of text", DW_GRID_CELLS,
                       DW_GRID_MEMORY >> 20);
    return !maker->err;
}

struct dw_cell *dw_maker__cell(struct dw_grid_maker *maker, const struct dw_cell *cell)
{
    bool dropped = cell->n == 0 && maker->grid->workbook;
    if (maker->err || dropped || !within_limits(maker, cell->n))
        return NULL;
    struct dw_cell *copy = dw_arena__alloc(maker->arena, 1, sizeof *copy);
    char *text = dw_arena__text_n(maker->arena, cell->text, cell->n);
    char *value = cell->value ? dw_arena__text(maker->arena, cell->value) : NULL;
    if (!copy || !text || (cell->value && !value) ||
        !dw_array__grow(&maker->cells, &maker->cell_capacity, maker->n_row_cells + 1,
                        sizeof(struct dw_cell *))) {
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
        return NULL;
    }
    *copy = *cell;
    copy->text = text;
    copy->value = value;
    maker->cells[maker->n_row_cells++] = copy;
    return copy;
}

void dw_maker__row(struct dw_grid_maker *maker, int number, bool hidden)
{
    size_t n = maker->n_row_cells;
    maker->n_row_cells = 0;
    bool any = false;
    for (size_t i = 0; i < n; i++)
        any |= maker->cells[i]->n > 0;
    if (maker->err || !any)
        return;
    if (maker->n_rows == DW_GRID_ROWS) {
        dw_maker__fail(maker, DW_ERR_LIMIT, "more than %d rows", DW_GRID_ROWS - 1);
        if (maker->error) {
            maker->error->line = maker->cells[0]->line;
            maker->error->column = maker->cells[0]->at;
        }
        return;
    }
    struct dw_cell **cells = dw_arena__alloc(maker->arena, n, sizeof(struct dw_cell *));
    if (!cells || !dw_array__grow(&maker->rows, &maker->row_capacity, maker->n_rows + 1,
                                  sizeof *maker->rows)) {
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
        return;
    }
    memcpy(cells, maker->cells, n * sizeof(struct dw_cell *));
    maker->rows[maker->n_rows++] =
        (struct dw_grid_row){.number = number, .hidden = hidden, .n_cells = n, .cells = cells};
}

void dw_maker__hide_column(struct dw_grid_maker *maker, int column)
{
    if (maker->err || maker->n_hidden >= DW_GRID_COLUMNS)
        return;
    if (dw_array__grow(&maker->hidden, &maker->hidden_capacity, maker->n_hidden + 1, sizeof(int)))
        maker->hidden[maker->n_hidden++] = column;
    else
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
}

/* Copies a heap array of the maker into its arena. */
static void *keep(struct dw_grid_maker *maker, const void *array, size_t n, size_t size)
{
    void *copy = dw_arena__alloc(maker->arena, n, size);
    if (!copy)
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
    else if (n)
        memcpy(copy, array, n * size);
    return copy;
}

void dw_maker__sheet(struct dw_grid_maker *maker, const char *name, bool hidden)
{
    struct dw_grid_sheet sheet = {.hidden = hidden};
    dw_maker__row(maker, 0, false);
    if (maker->err)
        return;
    sheet.name = dw_arena__text(maker->arena, name);
    sheet.rows = keep(maker, maker->rows, maker->n_rows, sizeof *sheet.rows);
    sheet.hidden_columns = keep(maker, maker->hidden, maker->n_hidden, sizeof(int));
    sheet.n_rows = maker->n_rows;
    sheet.n_hidden_columns = maker->n_hidden;
    maker->n_rows = maker->n_hidden = 0;
    for (size_t r = 0; !maker->err && r < sheet.n_rows; r++) {
        const struct dw_grid_row *row = &sheet.rows[r];
        int last = row->cells[row->n_cells - 1]->column;
        sheet.n_columns = last > sheet.n_columns ? last : sheet.n_columns;
    }
    if (!sheet.name ||
        !dw_array__grow(&maker->sheets, &maker->sheet_capacity, maker->n_sheets + 1, sizeof sheet))
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
    else
        maker->sheets[maker->n_sheets++] = sheet;
}

dw_err dw_maker__end(struct dw_grid_maker *maker)
{
    if (!maker->err) {
        maker->grid->sheets = keep(maker, maker->sheets, maker->n_sheets, sizeof *maker->sheets);
        maker->grid->n_sheets = maker->n_sheets;
    }
    free(maker->cells);
    free(maker->rows);
    free(maker->sheets);
    free(maker->hidden);
    return maker->err;
}

/* --- merged cells ---------------------------------------------------------------------------- */

static struct dw_cell *cell_at(const struct dw_grid_row *row, int column)
{
    for (size_t i = 0; i < row->n_cells; i++)
        if (row->cells[i]->column == column)
            return row->cells[i];
    return NULL;
}

static struct dw_grid_row *row_at(struct dw_grid_sheet *sheet, int number)
{
    size_t low = 0, high = sheet->n_rows;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (sheet->rows[middle].number < number)
            low = middle + 1;
        else
            high = middle;
    }
    return low < sheet->n_rows && sheet->rows[low].number == number ? &sheet->rows[low] : NULL;
}

/* Puts a copy of the first cell into a row that has other cells: below it, not beside it. */
static void cover(struct dw_grid_maker *maker, struct dw_grid_row *row, const struct dw_cell *first)
{
    if (cell_at(row, first->column))
        return;
    struct dw_cell **cells = dw_arena__alloc(maker->arena, row->n_cells + 1, sizeof *cells);
    struct dw_cell *copy = dw_arena__alloc(maker->arena, 1, sizeof *copy);
    if (!cells || !copy) {
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
        return;
    }
    *copy = *first;
    copy->covered = true;
    copy->line = row->number;
    size_t at = 0;
    while (at < row->n_cells && row->cells[at]->column < first->column)
        at++;
    memcpy(cells, row->cells, at * sizeof *cells);
    cells[at] = copy;
    memcpy(cells + at + 1, row->cells + at, (row->n_cells - at) * sizeof *cells);
    row->cells = cells;
    row->n_cells++;
}

void dw_grid__merge(struct dw_grid_maker *maker, struct dw_grid_sheet *sheet,
                    const struct dw_merge *merges, size_t n)
{
    for (size_t i = 0; !maker->err && i < n; i++) {
        const struct dw_grid_row *top = row_at(sheet, merges[i].top);
        const struct dw_cell *first = top ? cell_at(top, merges[i].left) : NULL;
        int bottom = merges[i].bottom;
        int last = sheet->n_rows ? sheet->rows[sheet->n_rows - 1].number : 0;
        for (int r = merges[i].top + 1; first && !maker->err && r <= bottom && r <= last; r++) {
            struct dw_grid_row *row = row_at(sheet, r);
            if (row && within_limits(maker, 0))
                cover(maker, row, first);
        }
    }
}
