/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of parts, posts, bars or offcuts: written in the job, or in tables that it names. */
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

static void read_file(struct dw_reader *reader, const struct row_list *list,
                      const struct dw_node *name, const struct dw_table_choice *choice)
{
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
        read_table(reader, list, choice, path, text, n);
    free(text);
}

/* A file with what is said of it: {file: cut.xlsx, sheet: Frame, columns: "length=D", material:
 * al38}.
 */
struct file_row {
    const struct dw_node *file;
    const char *sheet;
    const char *columns;
    size_t material;
};

static const struct dw_field file_fields[] = {
    {"file", dw_read__node, offsetof(struct file_row, file), DW_MUST},
    {"sheet", dw_read__text, offsetof(struct file_row, sheet), DW_MAY},
    {"columns", dw_read__text, offsetof(struct file_row, columns), DW_MAY},
    {"material", dw_read__material, offsetof(struct file_row, material), DW_MAY},
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
    const struct dw_table_choice choice = {row.sheet, row.columns, map->at};
    reader->n_file_material = row.material == DW_NONE ? 0 : row.material + 1;
    if (row.file->kind == DW_NODE_SCALAR)
        read_file(reader, list, row.file, &choice);
    else
        dw_reader__say(reader, DW_WRONG, row.file->at, "a file: `file` is the name of one");
    reader->n_file_material = 0;
}

static void read_item(struct dw_reader *reader, const struct row_list *list,
                      const struct dw_node *item)
{
    const struct dw_table_choice none = {.at = item->at};
    if (item->kind == DW_NODE_SCALAR)
        read_file(reader, list, item, &none);
    else if (item->kind == DW_NODE_MAP && names_file(item))
        read_described(reader, list, item);
    else
        list->read_row(reader, item, list->user);
}

void dw_reader__rows(struct dw_reader *reader, const struct dw_node *rows, const char *what,
                     const struct dw_field *fields, size_t n_fields, dw_row_read *read_row,
                     void *user)
{
    struct row_list list = {what, fields, n_fields, read_row, user};
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
    const struct row_list list = {what, fields, n_fields, read_row, user};
    read_table(reader, &list, &(const struct dw_table_choice){0}, name, text, n);
}
