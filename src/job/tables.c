/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Books of tables: begun, written, freed. */
#include "job/tables.h"
#include "job/several.h"
#include "job/leaf.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const forms[] = {"csv", "xlsx"};

static const char *find_form(const char *word)
{
    for (size_t i = 0; i < DW_COUNT(forms); i++)
        if (strcmp(forms[i], word) == 0)
            return forms[i];
    return NULL;
}

const char *dw_tables__form_of(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot ? find_form(dot + 1) : NULL;
}

dw_err dw_tables__begin(struct dw_tables *tables, const struct dw_job *job,
                        const struct dw_table_wish *wish, struct dw_error *error)
{
    const char *form = find_form(wish->form);
    *tables = (struct dw_tables){.job = job,
                                 .csv = form == forms[0],
                                 .title = job->name,
                                 .date = wish->date ? wish->date : job->date,
                                 .paper = wish->paper};
    if (!form)
        return dw_error__set(error, DW_ERR_INPUT, "\"%s\" is no form of a table: csv or xlsx",
                             wish->form);
    tables->arena = dw_arena__new();
    return tables->arena ? DW_OK : dw_error__nomem(error);
}

dw_err dw_tables__end(struct dw_tables *tables, struct dw_error *error)
{
    if (!tables->failed)
        return DW_OK;
    dw_tables__free(tables);
    return dw_error__nomem(error);
}

void dw_tables__free(struct dw_tables *tables)
{
    free(tables->sheets);
    dw_arena__free(tables->arena);
    *tables = (struct dw_tables){0};
}

void dw_tables__last_first(struct dw_tables *tables)
{
    struct dw_sheet last = tables->sheets[tables->n_sheets - 1];
    memmove(tables->sheets + 1, tables->sheets, (tables->n_sheets - 1) * sizeof last);
    tables->sheets[0] = last;
    for (size_t i = 0; i < last.n_rows * last.n_columns; i++)
        if (last.cells[i].kind == DW_SHEET_OF)
            last.cells[i].sheet++;
}

const char *dw_tables__format(struct dw_tables *tables, const char *format, ...)
{
    va_list list;
    char text[1024];
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    const char *own = dw_arena__text(tables->arena, text);
    tables->failed = tables->failed || !own;
    return own;
}

dw_err dw_tables__bytes(const struct dw_tables *tables, const char *name, char **bytes, size_t *n,
                        struct dw_error *error)
{
    *bytes = NULL;
    const struct dw_book book = {.date = tables->date,
                                 .paper = tables->paper,
                                 .n_sheets = tables->n_sheets,
                                 .sheets = tables->sheets};
    if (!tables->csv)
        return dw_book__xlsx(&book, bytes, n, error);
    for (size_t i = 0; i < tables->n_sheets; i++)
        if (!name || strcmp(tables->sheets[i].name, name) == 0)
            return dw_sheet__csv(&tables->sheets[i], bytes, n, error);
    return dw_error__set(error, DW_ERR_NOTFOUND, "there is no table %s", name ? name : "");
}

/* The text of a CSV file, or all of an XLSX file: its i-th. */
static dw_err make_file(const struct dw_tables *tables, const char *path, size_t i, size_t n,
                        struct dw_several_file *file, char **bytes, struct dw_error *error)
{
    const char *part = n > 1 ? tables->sheets[i].name : NULL;
    struct dw_error why = {0};
    dw_err err = dw_tables__bytes(tables, n > 1 ? part : NULL, bytes, &file->n, &why);
    file->name = dw_several__name(path, part);
    file->bytes = *bytes;
    return err ? dw_error__at(error, err, err == DW_ERR_NOMEM ? NULL : path, 0, 0, "%s", why.text)
               : DW_OK;
}

/* A list that the job was read from is not written over. */
static dw_err spare_lists(const struct dw_tables *tables, const char *name, struct dw_error *error)
{
    const struct dw_job *job = tables->job;
    for (size_t i = 0; name && i < job->n_files; i++)
        if (dw_file__same(name, job->files[i]))
            return dw_error__at(error, DW_ERR_INPUT, name, 0, 0,
                                "that is a file of the job; name another");
    return DW_OK;
}

dw_err dw_tables__write(const struct dw_tables *tables, const char *path, bool replace,
                        struct dw_error *error)
{
    size_t n = tables->csv ? tables->n_sheets : 1;
    struct dw_several_file *files = calloc(n + 1, sizeof *files);
    char **bytes = calloc(n + 1, sizeof *bytes);
    dw_err err = files && bytes ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; !err && i < n; i++)
        err = make_file(tables, path, i, n, &files[i], &bytes[i], error);
    for (size_t i = 0; !err && i < n; i++)
        err = spare_lists(tables, files[i].name, error);
    if (!err)
        err = dw_several__write(files, n, replace, error);
    for (size_t i = 0; files && bytes && i < n; i++) {
        free(files[i].name);
        free(bytes[i]);
    }
    free(files);
    free(bytes);
    return err;
}
