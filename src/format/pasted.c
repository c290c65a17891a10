/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A YAML job and rows of a table as trees, every value as it was written. */
#include "format/pasted.h"
#include "format/part.h"
#include "format/table.h"

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

/* Does the first line name a column? */
static bool is_headed(const struct dw_table *table, const char *text, size_t n)
{
    size_t at = n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (n >= at + 4 && memcmp(text + at, "sep=", 4) == 0)
        return true;
    while (at < n && text[at] != '\n' && text[at] != '\r') {
        size_t length = 0;
        while (at + length < n && !strchr("\t;,\n\r", text[at + length]))
            length++;
        const char *cell = text + at;
        size_t quoted = length >= 2 && cell[0] == '"' && cell[length - 1] == '"';
        enum dw_unit unit = DW_UNIT_NONE;
        if (length > 0 &&
            dw_table__column(table, cell + quoted, length - 2 * quoted, &unit) != DW_NONE)
            return true;
        at += length;
        at += at < n && text[at] != '\n' && text[at] != '\r';
    }
    return false;
}

/* Separator of a table without header, as its first line shows it. */
static char separator_of(const char *text, size_t n)
{
    size_t line = strcspn(text, "\r\n");
    line = line < n ? line : n;
    return memchr(text, '\t', line) ? '\t' : memchr(text, ';', line) ? ';' : ',';
}

static const struct dw_node *cell_of(const struct dw_node *row, const struct dw_node *key)
{
    for (size_t i = 0; i + 1 < row->n_items; i += 2)
        if (row->items[i] == key)
            return row->items[i + 1];
    return NULL;
}

static bool ends_in_digit(const struct dw_node *cell)
{
    return cell->n > 0 && strchr("0123456789.,", cell->text[cell->n - 1]) != NULL;
}

static void put_cell(struct dw_buf *buf, const struct dw_node *cell)
{
    struct dw_buf text = {0};
    if (cell)
        dw_buf__add(&text, cell->text, cell->n);
    if (cell && cell->bare && ends_in_digit(cell))
        dw_buf__format(&text, " %s", dw_unit_name(cell->bare));
    buf->failed = buf->failed || text.failed;
    dw_buf__json_n(buf, text.n ? text.text : "", text.n);
    dw_buf__free(&text);
}

static void put_rows(struct dw_buf *buf, const struct dw_table *table, const struct dw_node *rows)
{
    const char *comma = "";
    dw_buf__put(buf, "{\"columns\":[");
    for (size_t c = 0; c < table->n_columns; c++) {
        if (!table->columns[c].key)
            continue;
        dw_buf__put(buf, comma);
        dw_buf__json(buf, table->columns[c].key->text);
        comma = ",";
    }
    dw_buf__put(buf, "],\"rows\":[");
    for (size_t r = 0; r < rows->n_items; r++) {
        comma = "";
        dw_buf__put(buf, r ? ",[" : "[");
        for (size_t c = 0; c < table->n_columns; c++) {
            if (!table->columns[c].key)
                continue;
            dw_buf__put(buf, comma);
            put_cell(buf, cell_of(rows->items[r], table->columns[c].key));
            comma = ",";
        }
        dw_buf__char(buf, ']');
    }
    dw_buf__put(buf, "]}");
}

static const struct kind {
    const char *key;
    const char *what;
    const struct dw_field *(*fields)(size_t *n);
} kinds[] = {
#define KIND_ROW(kind, key, what, fields) [kind] = {key, what, fields},
    DW_TABLE_LIST(KIND_ROW)
#undef KIND_ROW
};

bool dw_table__kind(const char *key, enum dw_table_kind *kind)
{
    for (size_t i = 0; i < DW_COUNT(kinds); i++)
        if (strcmp(kinds[i].key, key) == 0) {
            *kind = (enum dw_table_kind)i;
            return true;
        }
    return false;
}

static dw_err read_rows(struct dw_reader *reader, struct dw_table *table, bool may_lack_head,
                        const char *text, size_t n, const char *name, char **json,
                        struct dw_error *error)
{
    struct dw_buf headed = {0}, buf = {0};
    struct dw_node *rows = NULL;
    if (may_lack_head && !is_headed(table, text, n)) {
        char separator = separator_of(text, n);
        dw_buf__format(&headed, "label%clength%ccount\n", separator, separator);
    }
    dw_buf__add(&headed, text, n);
    char *whole = dw_buf__take(&headed);
    if (!whole)
        return dw_error__nomem(error);
    dw_table__read(table, whole, strlen(whole), name, &rows);
    dw_err err = DW_OK;
    if (reader->no_memory)
        err = dw_error__nomem(error);
    else if (!rows)
        err = refuse(reader->report, error);
    if (!err && rows) {
        put_rows(&buf, table, rows);
        err = finish(&buf, json, error);
    }
    free(whole);
    return err;
}

dw_err dw_table__json(enum dw_table_kind kind, const char *text, size_t n, const char *name,
                      enum dw_unit unit, char **json, struct dw_report *report,
                      struct dw_error *error)
{
    *json = NULL;
    struct dw_reader reader = {.report = report};
    struct dw_table *table = calloc(1, sizeof *table);
    reader.tree = dw_arena__new();
    dw_err err = table && reader.tree ? dw_job_new(&reader.job, error) : dw_error__nomem(error);
    if (!err) {
        reader.job->unit = unit;
        table->reader = &reader;
        table->what = kinds[kind].what;
        table->fields = kinds[kind].fields(&table->n_fields);
        err = read_rows(&reader, table, kind == DW_TABLE_PARTS, text, n, name, json, error);
    }
    free(table);
    dw_arena__free(reader.tree);
    dw_job_free(reader.job);
    return err;
}
