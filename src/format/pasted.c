/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A YAML job and rows of a table as trees, every value as it was written. */
#include "format/pasted.h"
#include <dropwise/list.h>
#include "format/reader.h"

#include <stdlib.h>
#include <string.h>

/* --- a tree ----------------------------------------------------------------------------------- */

static bool same_text(const struct dw_node *a, const struct dw_node *b)
{
    return a->n == b->n && memcmp(a->text, b->text, a->n) == 0;
}

/* Whether key number k of the map is one of those before it: a mistake that is told elsewhere. */
static bool given_before(const struct dw_node *map, size_t k)
{
    for (size_t i = 0; i < k; i += 2)
        if (same_text(map->items[i], map->items[k]))
            return true;
    return false;
}

static void put_node(struct dw_buf *buf, const struct dw_node *node);

static void put_map(struct dw_buf *buf, const struct dw_node *map)
{
    dw_buf__char(buf, '{');
    for (size_t k = 0; k + 1 < map->n_items; k += 2) {
        if (given_before(map, k))
            continue;
        if (k > 0)
            dw_buf__char(buf, ',');
        dw_buf__json_n(buf, map->items[k]->text, map->items[k]->n);
        dw_buf__char(buf, ':');
        put_node(buf, map->items[k + 1]);
    }
    dw_buf__char(buf, '}');
}

static void put_node(struct dw_buf *buf, const struct dw_node *node)
{
    if (node->kind == DW_NODE_NULL || node->kind == DW_NODE_SCALAR) {
        dw_buf__json_n(buf, node->text, node->n);
        return;
    }
    if (node->kind == DW_NODE_MAP) {
        put_map(buf, node);
        return;
    }
    dw_buf__char(buf, '[');
    for (size_t i = 0; i < node->n_items; i++) {
        if (i > 0)
            dw_buf__char(buf, ',');
        put_node(buf, node->items[i]);
    }
    dw_buf__char(buf, ']');
}

static dw_err finish(struct dw_buf *buf, char **json, struct dw_error *error)
{
    *json = dw_buf__take(buf);
    return *json ? DW_OK : dw_error__nomem(error);
}

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

dw_err dw_yaml__json(const char *text, size_t n, const char *name, char **json,
                     struct dw_report *report, struct dw_error *error)
{
    *json = NULL;
    struct dw_node *root = NULL;
    struct dw_buf buf = {0};
    struct dw_arena *arena = dw_arena__new();
    dw_err err =
        arena ? dw_yaml__parse(arena, text, n, name, report, &root, error) : dw_error__nomem(error);
    if (!err && !root)
        err = refuse(report, error);
    if (!err && root)
        err = dw_reader__rename(arena, root, error);
    if (!err && root) {
        put_node(&buf, root);
        err = finish(&buf, json, error);
    }
    dw_arena__free(arena);
    return err;
}

/* --- rows ------------------------------------------------------------------------------------ */

static void put_texts(struct dw_buf *buf, const char *const *texts, size_t n)
{
    dw_buf__char(buf, '[');
    for (size_t i = 0; i < n; i++) {
        dw_buf__put(buf, i ? "," : "");
        dw_buf__json(buf, texts[i]);
    }
    dw_buf__char(buf, ']');
}

/* Each line of the file, what it was taken for, and what it holds, in short and cell by cell. */
static void put_lines(struct dw_buf *buf, const struct dw_list *list)
{
    dw_buf__put(buf, ",\"lines\":[");
    for (size_t r = 0; r < list->n_rows; r++) {
        dw_buf__format(buf, "%s{\"line\":%d,\"role\":", r ? "," : "", list->rows[r].line);
        dw_buf__json(buf, list->rows[r].role);
        dw_buf__put(buf, ",\"text\":");
        dw_buf__json(buf, list->rows[r].text);
        dw_buf__put(buf, ",\"cells\":");
        put_texts(buf, list->rows[r].shown, list->rows[r].n_shown);
        dw_buf__char(buf, '}');
    }
    dw_buf__char(buf, ']');
}

static void put_list(struct dw_buf *buf, const struct dw_list *list)
{
    const char *comma = "";
    dw_buf__put(buf, "{\"columns\":");
    put_texts(buf, list->columns, list->n_columns);
    dw_buf__put(buf, ",\"at\":[");
    for (size_t c = 0; c < list->n_columns; c++)
        dw_buf__format(buf, "%s%zu", c ? "," : "", list->at[c]);
    dw_buf__put(buf, "],\"rows\":[");
    for (size_t r = 0; r < list->n_rows; r++) {
        if (!list->rows[r].cells)
            continue;
        dw_buf__put(buf, comma);
        put_texts(buf, list->rows[r].cells, list->n_columns);
        comma = ",";
    }
    dw_buf__char(buf, ']');
    put_lines(buf, list);
    dw_buf__put(buf, ",\"sheet\":");
    dw_buf__json(buf, list->sheet);
    dw_buf__char(buf, '}');
}

dw_err dw_table__json(const struct dw_list_source *source, char **json, struct dw_report *report,
                      struct dw_error *error)
{
    struct dw_list *list = NULL;
    struct dw_buf buf = {0};
    *json = NULL;
    dw_err err = dw_list_read(source, &list, report, error);
    if (err)
        return err;
    put_list(&buf, list);
    dw_list_free(list);
    return finish(&buf, json, error);
}
