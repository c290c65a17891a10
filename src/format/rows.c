/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of parts, posts, bars or offcuts: written in the job, or in tables that it names. */
#include "format/table.h"

#include <stdlib.h>
#include <string.h>

#define TABLE_LIMIT 100 /* tables that a job names */

struct row_list {
    const char *what;
    const struct dw_field *fields;
    size_t n_fields;
    dw_row_read *read_row;
    void *user;
};

/* A name in the job is a path from the job's folder. In the job's arena: places point to it. */
static const char *join_path(struct dw_reader *reader, const char *name)
{
    if (name[0] == '/' || reader->folder[0] == '\0')
        return dw_job_text(reader->job, name);
    struct dw_buf buf = {0};
    size_t n = strlen(reader->folder);
    dw_buf__format(&buf, "%s%s%s", reader->folder, reader->folder[n - 1] == '/' ? "" : "/", name);
    char *path = dw_buf__take(&buf);
    const char *copy = path ? dw_job_text(reader->job, path) : NULL;
    free(path);
    return copy;
}

static void read_table(struct dw_reader *reader, const struct row_list *list, const char *path,
                       const char *text, size_t n)
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
    struct dw_node *rows = NULL;
    dw_table__read(table, text, n, path, &rows);
    for (size_t i = 0; rows && i < rows->n_items; i++)
        list->read_row(reader, rows->items[i], list->user);
    free(table);
}

static void read_file(struct dw_reader *reader, const struct row_list *list,
                      const struct dw_node *name)
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
    const char *path = join_path(reader, name->text);
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
        read_table(reader, list, path, text, n);
    free(text);
}

static void read_item(struct dw_reader *reader, const struct row_list *list,
                      const struct dw_node *item)
{
    if (item->kind == DW_NODE_SCALAR)
        read_file(reader, list, item);
    else
        list->read_row(reader, item, list->user);
}

void dw_reader__rows(struct dw_reader *reader, const struct dw_node *rows, const char *what,
                     const struct dw_field *fields, size_t n_fields, dw_row_read *read_row,
                     void *user)
{
    struct row_list list = {what, fields, n_fields, read_row, user};
    if (rows->kind == DW_NODE_SCALAR)
        read_file(reader, &list, rows);
    else if (rows->kind != DW_NODE_LIST)
        dw_reader__say(reader, DW_WRONG, rows->at,
                       "a list is wanted, one `- {...}` for %s, or the name of a table (CSV)",
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
    read_table(reader, &list, name, text, n);
}
