/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of parts, posts, bars or offcuts: written in the job, or in tables that it names. */
#include "format/fields.h"
#include "format/joint.h"
#include "format/table.h"

#include <stdlib.h>
#include <string.h>

#define TABLE_LIMIT 100               /* tables that a job names */
#define FILE_LIMIT  (TABLE_LIMIT + 2) /* and a shop, and its logo */

struct row_list {
    const char *what;
    const struct dw_field *fields;
    size_t n_fields;
    dw_row_read *read_row;
    dw_drawing_read *read_drawing; /* NULL: a drawing has no such rows */
    void *user;
};

static const char *join_path(struct dw_reader *reader, const char *folder, const char *name)
{
    if (name[0] == '/' || folder[0] == '\0')
        return dw_job_text(reader->job, name);
    struct dw_buf buf = {0};
    size_t n = strlen(folder);
    dw_buf__format(&buf, "%s%s%s", folder, folder[n - 1] == '/' ? "" : "/", name);
    char *path = dw_buf__take(&buf);
    const char *copy = path ? dw_job_text(reader->job, path) : NULL;
    free(path);
    return copy;
}

/* A file with what is said of it: {file: cut.xlsx, sheet: Frame, columns: "length=D", material:
 * al38}; of a drawing {file: frame.dxf, unit: mm, layers: "rails=al38", label: A, in line: one
 * tube}. */
struct file_row {
    const struct dw_node *file;
    struct dw_table_choice table;
    struct dw_drawing_file drawing;
    size_t material;
};

const char *dw_reader__path(struct dw_reader *reader, const char *folder, const char *name)
{
    struct dw_job *job = reader->job;
    const char *path = join_path(reader, folder, name);
    if (!job->files)
        job->files = dw_job_alloc(job, FILE_LIMIT, sizeof *job->files);
    if (!path || !job->files)
        return NULL;
    if (job->n_files < FILE_LIMIT)
        job->files[job->n_files++] = path;
    return path;
}

static void read_table(struct dw_reader *reader, const struct row_list *list,
                       const struct dw_table_choice *choice, const char *path, const char *text,
                       size_t n)
{
    struct dw_table *table = calloc(1, sizeof *table);
    if (!table) {
        reader->no_memory = true;
        return;
    }
    table->reader = reader;
    table->what = list->what;
    table->fields = list->fields;
    table->n_fields = list->n_fields;
    table->choice = *choice;
    struct dw_node *rows = NULL;
    dw_table__read(table, text, n, path, &rows);
    for (size_t i = 0; rows && i < rows->n_items; i++)
        list->read_row(reader, rows->items[i], list->user);
    free(table);
}

/* A drawing holds parts alone. */
static void take_drawing(struct dw_reader *reader, const struct row_list *list,
                         const struct file_row *row, const char *path, const char *text, size_t n)
{
    struct dw_drawing_file drawing = row->drawing;
    drawing.name = path;
    drawing.text = text;
    drawing.n = n;
    if (row->table.sheet || row->table.columns)
        dw_reader__say(reader, DW_WRONG, drawing.at,
                       "a drawing has no sheets and columns; `layers` chooses what is read of it");
    else if (list->read_drawing)
        list->read_drawing(reader, &drawing, list->user);
    else
        dw_reader__say(reader, DW_WRONG, drawing.at, "a drawing has parts; it can't list %s",
                       list->what);
}

static void read_text(struct dw_reader *reader, const struct row_list *list,
                      const struct file_row *row, const char *path, const char *text, size_t n)
{
    const struct dw_drawing_file *drawing = &row->drawing;
    if (dw_sketch__is(text, n))
        take_drawing(reader, list, row, path, text, n);
    else if (drawing->unit || drawing->layers || drawing->label || drawing->one_tube)
        dw_reader__say(reader, DW_WRONG, drawing->at,
                       "%.200s is no drawing (DXF); unit, layers, label and in line are for one",
                       path);
    else
        read_table(reader, list, &row->table, path, text, n);
}

static void read_file(struct dw_reader *reader, const struct row_list *list,
                      const struct file_row *row)
{
    const struct dw_node *name = row->file;
    if (!reader->folder) {
        dw_reader__say(reader, DW_WRONG, name->at, "a file can't be named here; write %s as a row",
                       list->what);
        return;
    }
    if (++reader->n_tables > TABLE_LIMIT) {
        if (reader->n_tables == TABLE_LIMIT + 1)
            dw_reader__say(reader, DW_WRONG, name->at, "more than %d tables", TABLE_LIMIT);
        return;
    }
    const char *path = dw_reader__path(reader, reader->folder, name->text);
    if (!path) {
        reader->no_memory = true;
        return;
    }
    struct dw_error error = {0};
    char *text = NULL;
    size_t n = 0;
    dw_err err = dw_file__read_regular(path, DW_FILE_LIMIT, &text, &n, &error);
    if (err == DW_ERR_NOMEM)
        reader->no_memory = true;
    else if (err != DW_OK)
        dw_reader__say(reader, DW_WRONG, name->at, "%.200s: %s", path, error.text);
    else
        read_text(reader, list, row, path, text, n);
    free(text);
}

static bool read_in_line(struct dw_reader *reader, const struct dw_field *field,
                         const struct dw_node *value, void *row)
{
    bool one = strcmp(value->text, "one tube") == 0;
    ((struct file_row *)row)->drawing.one_tube = one;
    return one || strcmp(value->text, "two tubes") == 0 ||
           dw_read__refuse(reader, field, value, 0,
                           "write one tube or two tubes: what lines of a layer are that meet in "
                           "line");
}

static const struct dw_field file_fields[] = {
    {"file", dw_read__node, offsetof(struct file_row, file), DW_MUST},
    {"sheet", dw_read__text, offsetof(struct file_row, table.sheet), DW_MAY},
    {"columns", dw_read__text, offsetof(struct file_row, table.columns), DW_MAY},
    {"material", dw_read__material, offsetof(struct file_row, material), DW_MAY},
    {"unit", dw_read__unit, offsetof(struct file_row, drawing.unit), DW_MAY},
    {"layers", dw_read__text, offsetof(struct file_row, drawing.layers), DW_MAY},
    {"label", dw_read__text, offsetof(struct file_row, drawing.label), DW_MAY},
    {"in line", read_in_line, 0, DW_MAY},
};

static bool names_file(const struct dw_node *map)
{
    for (size_t k = 0; k + 1 < map->n_items; k += 2)
        if (map->items[k]->kind == DW_NODE_SCALAR && strcmp(map->items[k]->text, "file") == 0)
            return true;
    return false;
}

static void read_described(struct dw_reader *reader, const struct row_list *list,
                           const struct dw_node *map)
{
    struct file_row row = {.material = DW_NONE};
    if (!dw_reader__map(reader, map, "a file", file_fields, DW_COUNT(file_fields), &row, NULL))
        return;
    row.table.at = row.drawing.at = map->at;
    reader->n_file_material = row.material == DW_NONE ? 0 : row.material + 1;
    if (row.file->kind == DW_NODE_SCALAR)
        read_file(reader, list, &row);
    else
        dw_reader__say(reader, DW_WRONG, row.file->at, "a file: `file` is the name of one");
    reader->n_file_material = 0;
}

static void read_item(struct dw_reader *reader, const struct row_list *list,
                      const struct dw_node *item)
{
    const struct file_row alone = {
        .file = item, .table = {.at = item->at}, .drawing = {.at = item->at}};
    if (item->kind == DW_NODE_SCALAR)
        read_file(reader, list, &alone);
    else if (item->kind == DW_NODE_MAP && names_file(item))
        read_described(reader, list, item);
    else
        list->read_row(reader, item, list->user);
}

void dw_reader__rows(struct dw_reader *reader, const struct dw_node *rows, const char *what,
                     const struct dw_field *fields, size_t n_fields, dw_row_read *read_row,
                     dw_drawing_read *read_drawing, void *user)
{
    struct row_list list = {what, fields, n_fields, read_row, read_drawing, user};
    if (rows->kind == DW_NODE_SCALAR || (rows->kind == DW_NODE_MAP && names_file(rows)))
        read_item(reader, &list, rows);
    else if (rows->kind != DW_NODE_LIST)
        dw_reader__say(
            reader, DW_WRONG, rows->at,
            "a list is wanted, one `- {...}` for %s, or the name of a table (XLSX, ODS, CSV)",
            what);
    else if (rows->n_items > DW_MAX_ROWS)
        dw_reader__say(reader, DW_WRONG, rows->at, "more than %d rows", DW_MAX_ROWS);
    else
        for (size_t i = 0; i < rows->n_items; i++)
            read_item(reader, &list, rows->items[i]);
}

void dw_reader__table(struct dw_reader *reader, const char *text, size_t n, const char *name,
                      const char *what, const struct dw_field *fields, size_t n_fields,
                      dw_row_read *read_row, void *user)
{
    const struct row_list list = {what, fields, n_fields, read_row, NULL, user};
    read_table(reader, &list, &(const struct dw_table_choice){0}, name, text, n);
}

/* --- drawings within the job ------------------------------------------------------------------ */

/* A drawing that the job holds itself. */
struct held_row {
    struct file_row row; /* first: readers take the row for it */
    const struct dw_node *text;
};

static const struct dw_field drawing_fields[] = {
    {"name", dw_read__text, offsetof(struct held_row, row.drawing.name), DW_MUST},
    {"text", dw_read__node, offsetof(struct held_row, text), DW_MUST},
    {"unit", dw_read__unit, offsetof(struct held_row, row.drawing.unit), DW_MAY},
    {"layers", dw_read__text, offsetof(struct held_row, row.drawing.layers), DW_MAY},
    {"label", dw_read__text, offsetof(struct held_row, row.drawing.label), DW_MAY},
    {"in line", read_in_line, 0, DW_MAY},
    {"material", dw_read__material, offsetof(struct held_row, row.material), DW_MAY},
};
static const struct dw_words unit_words = {(const char *const[]){"mm", "cm", "m", "in", "ft"}, 5};
static const struct dw_words in_line_words = {(const char *const[]){"two tubes", "one tube"}, 2};
static const struct dw_choice drawing_choices[] = {{"unit", &unit_words, 0, 5},
                                                   {"in line", &in_line_words, 0, 2}};
DW_FIELDS_CHOOSE(drawing, "drawing", drawing_fields, drawing_choices);

static void read_held(struct dw_reader *reader, const struct dw_node *map,
                      dw_drawing_read *read_drawing, void *user)
{
    struct held_row held = {.row = {.material = DW_NONE, .drawing = {.at = map->at}}};
    if (!dw_reader__map(reader, map, "a drawing", drawing_fields, DW_COUNT(drawing_fields), &held,
                        NULL))
        return;
    struct dw_drawing_file *drawing = &held.row.drawing;
    drawing->text = held.text->text;
    drawing->n = held.text->n;
    reader->n_file_material = held.row.material == DW_NONE ? 0 : held.row.material + 1;
    if (held.text->kind == DW_NODE_SCALAR && dw_sketch__is(drawing->text, drawing->n))
        read_drawing(reader, drawing, user);
    else
        dw_reader__say(reader, DW_WRONG, held.text->at, "`text` is that of a drawing, ASCII DXF");
    reader->n_file_material = 0;
}

void dw_reader__held_drawings(struct dw_reader *reader, const struct dw_node *list,
                              dw_drawing_read *read_drawing, void *user)
{
    if (list->kind != DW_NODE_LIST || list->n_items > TABLE_LIMIT) {
        dw_reader__say(reader, DW_WRONG, list->at,
                       "drawings are a list of at most %d `- {name: ..., text: ...}`", TABLE_LIMIT);
        return;
    }
    for (size_t i = 0; i < list->n_items; i++)
        read_held(reader, list->items[i], read_drawing, user);
}
