/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A list as it was understood, and the clean table of it. */
#include <dropwise/list.h>
#include "format/part.h"
#include "format/sheet.h"
#include "format/table.h"

#include <stdlib.h>
#include <string.h>

/* What a row of a table is called in messages, and its fields. */
static const struct kind {
    const char *what;
    const struct dw_field *(*fields)(size_t *n);
} kinds[] = {
    [DW_TABLE_PARTS] = {"each part", dw_part__fields},
    [DW_TABLE_POSTS] = {"each post", dw_post__fields},
    [DW_TABLE_BARS] = {"each bar", dw_bar__fields},
    [DW_TABLE_OFFCUTS] = {"each offcut", dw_offcut__fields},
};

bool dw_table_kind_find(const char *key, enum dw_table_kind *kind)
{
    static const char *const keys[] = {
#define KEY_ROW(kind, key) [kind] = key,
        DW_TABLE_LIST(KEY_ROW)
#undef KEY_ROW
    };
    for (size_t i = 0; i < DW_COUNT(keys); i++)
        if (strcmp(keys[i], key) == 0) {
            *kind = (enum dw_table_kind)i;
            return true;
        }
    return false;
}

static bool ends_in_digit(const char *text, size_t n)
{
    return n > 0 && strchr("0123456789.,", text[n - 1]) != NULL;
}

/* What the map of a row says for a key, with the unit of its column. */
static const char *cell_text(struct dw_list *list, const struct dw_node *map,
                             const struct dw_node *key)
{
    const struct dw_node *cell = NULL;
    for (size_t i = 0; i + 1 < map->n_items; i += 2)
        if (map->items[i] == key)
            cell = map->items[i + 1];
    if (!cell)
        return "";
    struct dw_buf text = {0};
    dw_buf__add(&text, cell->text, cell->n);
    if (cell->bare && ends_in_digit(cell->text, cell->n))
        dw_buf__format(&text, " %s", dw_unit_name(cell->bare));
    const char *copy =
        text.failed ? NULL : dw_arena__text_n(list->arena, text.n ? text.text : "", text.n);
    dw_buf__free(&text);
    return copy;
}

/* Whether the values of a row can be read: lengths, counts, money and dates. What a material or an
 * end is called is for the job to say. */
static bool is_readable(const struct dw_table *table, enum dw_table_kind kind,
                        const struct dw_node *map, struct dw_list_row *out)
{
    static const size_t row_bytes = 2048; /* more than any row that fields are read into */
    bool good = true;
    void *row = dw_arena__alloc(table->reader->tree, 1, row_bytes);
    if (!row) {
        table->reader->no_memory = true;
        return false;
    }
    for (size_t i = 0; i + 1 < map->n_items; i += 2) {
        size_t f = dw_field__find(table->fields, table->n_fields, map->items[i]->text);
        const struct dw_field *field = f != DW_NONE ? &table->fields[f] : NULL;
        if (field && field->offset + sizeof(struct dw_worth) < row_bytes &&
            (dw_field__is_length(field) || dw_field__is_money(field) || dw_table__counts(field) ||
             field->read == dw_read__date))
            good &= field->read(table->reader, field, map->items[i + 1], row);
    }
    if (kind == DW_TABLE_PARTS || kind == DW_TABLE_POSTS) { /* rows that begin with the part */
        const struct dw_part *part = row;
        out->least = part->min;
        out->most = part->max;
        out->count = part->count;
    }
    return good;
}

static bool copy_cells(struct dw_list *list, const struct dw_told_row *told,
                       struct dw_list_row *row)
{
    row->n_shown = told->n_cells;
    row->shown = dw_arena__alloc(list->arena, told->n_cells + 1, sizeof *row->shown);
    bool good = row->shown != NULL;
    for (size_t i = 0; good && i < told->n_cells; i++) {
        row->shown[i] = dw_arena__text(list->arena, told->cells[i]);
        good = row->shown[i] != NULL;
    }
    return good;
}

static bool fill_row(struct dw_list *list, const struct dw_table *table, enum dw_table_kind kind,
                     const struct dw_told_row *told, struct dw_list_row *row)
{
    *row = (struct dw_list_row){.line = told->line};
    bool taken = told->map && is_readable(table, kind, told->map, row);
    row->role = dw_row_role_word(told->map && !taken ? DW_ROW_REFUSED : told->role);
    row->text = dw_arena__text(list->arena, told->text);
    bool good = row->text && copy_cells(list, told, row);
    if (!taken)
        return good;
    row->cells = dw_arena__alloc(list->arena, list->n_columns, sizeof(char *));
    good &= row->cells != NULL;
    size_t n = 0;
    for (size_t c = 0; good && c < table->n_columns; c++) {
        if (!table->columns[c].key)
            continue;
        row->cells[n] = cell_text(list, told->map, table->columns[c].key);
        good = row->cells[n++] != NULL;
    }
    list->n_taken++;
    return good;
}

static bool fill(struct dw_list *list, const struct dw_table *table, enum dw_table_kind kind,
                 const struct dw_told *told)
{
    size_t n = 0;
    for (size_t c = 0; c < table->n_columns; c++)
        list->n_columns += table->columns[c].key != NULL;
    list->columns = dw_arena__alloc(list->arena, list->n_columns, sizeof(char *));
    list->rows = dw_arena__alloc(list->arena, told->n, sizeof *list->rows);
    list->sheet = dw_arena__text(list->arena, told->sheet ? told->sheet : "");
    list->lengths = dw_arena__alloc(list->arena, list->n_columns, sizeof(bool));
    list->at = dw_arena__alloc(list->arena, list->n_columns, sizeof *list->at);
    bool good = list->columns && list->rows && list->sheet && list->lengths && list->at;
    for (size_t c = 0; good && c < table->n_columns; c++) {
        if (!table->columns[c].key)
            continue;
        list->at[n] = c + 1;
        list->lengths[n] = dw_field__is_length(&table->fields[table->columns[c].field]);
        list->columns[n] = dw_arena__text(list->arena, table->columns[c].key->text);
        good = list->columns[n++] != NULL;
    }
    for (size_t r = 0; good && r < told->n; r++)
        good = fill_row(list, table, kind, &told->rows[r], &list->rows[r]);
    list->n_rows = told->n;
    return good;
}

/* The first mistake as the reason why nothing was read. */
static dw_err refuse(const struct dw_report *report, struct dw_error *error)
{
    for (size_t i = 0; i < report->n_remarks; i++) {
        const struct dw_error *what = &report->remarks[i].what;
        if (report->remarks[i].severity == DW_WRONG)
            return dw_error__at(error, DW_ERR_INPUT, what->file, what->line, what->column, "%s",
                                what->text);
    }
    return dw_error__set(error, DW_ERR_INPUT, "this can't be read");
}

static dw_err read_list(struct dw_reader *reader, const struct dw_list_source *source,
                        struct dw_list *list, struct dw_error *error)
{
    struct dw_told told = {0};
    struct dw_node *rows = NULL;
    struct dw_table *table = calloc(1, sizeof *table);
    if (!table)
        return dw_error__nomem(error);
    table->reader = reader;
    table->what = kinds[source->kind].what;
    table->fields = kinds[source->kind].fields(&table->n_fields);
    table->choice = (struct dw_table_choice){source->sheet, source->columns, {source->name, 0, 0}};
    table->may_lack_head = source->may_lack_head;
    table->told = &told;
    dw_table__read(table, source->text, source->n, source->name, &rows);
    dw_err err = DW_OK;
    if (!rows && !reader->no_memory)
        err = refuse(reader->report, error);
    else if (reader->no_memory || !fill(list, table, source->kind, &told))
        err = dw_error__nomem(error);
    free(told.rows);
    free(table);
    return err;
}

dw_err dw_list_read(const struct dw_list_source *source, struct dw_list **out,
                    struct dw_report *report, struct dw_error *error)
{
    struct dw_reader reader = {.report = report};
    struct dw_list *list = calloc(1, sizeof *list);
    *out = NULL;
    reader.tree = dw_arena__new();
    if (list)
        list->arena = dw_arena__new();
    dw_err err = list && list->arena && reader.tree ? dw_job_new(&reader.job, error)
                                                    : dw_error__nomem(error);
    if (!err) {
        reader.job->unit = list->unit = source->unit;
        err = read_list(&reader, source, list, error);
    }
    if (!err && dw_report__sort(report, source->name))
        err = dw_error__nomem(error);
    dw_arena__free(reader.tree);
    dw_job_free(reader.job);
    if (err)
        dw_list_free(list);
    else
        *out = list;
    return err;
}

void dw_list_free(struct dw_list *list)
{
    if (!list)
        return;
    dw_arena__free(list->arena);
    free(list);
}

/* A bare length with the list's unit, in the list's arena; any other text as it is. */
static const char *full_text(const struct dw_list *list, size_t column, const char *text)
{
    struct dw_buf full = {0};
    if (!list->lengths[column] || !ends_in_digit(text, strlen(text)))
        return text;
    dw_buf__format(&full, "%s %s", text, dw_unit_name(list->unit));
    const char *copy = full.failed ? NULL : dw_arena__text(list->arena, full.text);
    dw_buf__free(&full);
    return copy;
}

dw_err dw_list_to_csv(const struct dw_list *list, char **text, size_t *n, struct dw_error *error)
{
    size_t at = 0;
    struct dw_sheet sheet = {.n_columns = list->n_columns, .n_rows = list->n_taken};
    struct dw_sheet_column *columns = calloc(list->n_columns + 1, sizeof *columns);
    struct dw_sheet_cell *cells = calloc(list->n_taken * list->n_columns + 1, sizeof *cells);
    dw_err err = columns && cells ? DW_OK : dw_error__nomem(error);
    for (size_t c = 0; !err && c < list->n_columns; c++)
        columns[c].title = list->columns[c];
    for (size_t r = 0; !err && r < list->n_rows; r++)
        for (size_t c = 0; !err && list->rows[r].cells && c < list->n_columns; c++) {
            const char *cell = full_text(list, c, list->rows[r].cells[c]);
            cells[at++] = (struct dw_sheet_cell){.kind = DW_SHEET_TEXT, .text = cell};
            err = cell ? DW_OK : dw_error__nomem(error);
        }
    sheet.columns = columns;
    sheet.cells = cells;
    if (!err)
        err = dw_sheet__csv(&sheet, text, n, error);
    free(columns);
    free(cells);
    return err;
}
