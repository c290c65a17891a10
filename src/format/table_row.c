/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a table. */
#include "format/table.h"

#include <string.h>

/* Words that begin the row which a spreadsheet adds up. */
static bool is_total(const struct dw_node *cell, bool *exactly)
{
    static const char *const words[] = {"total",     "totals",      "sum",   "subtotal",
                                        "sub total", "grand total", "summe", "gesamt"};
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, cell->text, cell->n);
    *exactly = false;
    for (size_t i = 0; i < DW_COUNT(words); i++) {
        size_t n = strlen(words[i]);
        if (strncmp(folded, words[i], n) != 0 || (folded[n] && folded[n] != ' '))
            continue;
        *exactly |= folded[n] == '\0';
        if (*exactly)
            return true;
    }
    return strncmp(folded, "total ", 6) == 0 || strncmp(folded, "sum ", 4) == 0;
}

/* A row that says total, or that holds a count and nothing else of use. */
static bool is_totals_row(const struct dw_table *table, const struct dw_node *cells, size_t n_cells)
{
    bool whole = true, count = false, other = false, named = false, named_exactly = false;
    for (size_t i = 0; i < table->n_columns; i++) {
        size_t field = table->columns[i].field;
        bool empty = i >= n_cells || cells[i].n == 0;
        if (!empty) {
            bool exactly = false;
            named |= is_total(&cells[i], &exactly);
            named_exactly |= exactly;
        }
        if (field == DW_NONE)
            continue;
        whole &= !empty || !dw_table__needs(table, field);
        if (!empty && table->fields[field].need == DW_COLUMN)
            count = true;
        else if (!empty)
            other = true;
    }
    return named_exactly || (named && !whole) || (count && !other && !whole);
}

static bool is_bare(const struct dw_node *cell)
{
    if (cell->n == 0)
        return false;
    for (size_t i = 0; i < cell->n; i++)
        if (!strchr("0123456789.,/- ", cell->text[i]))
            return false;
    return true;
}

/* Said once a table: which unit its bare lengths were taken in. */
static void tell_bare(struct dw_table *table, const struct dw_column *column,
                      const struct dw_node *cell)
{
    if (table->told_bare || column->bare || !dw_field__is_length(&table->fields[column->field]) ||
        !is_bare(cell))
        return;
    table->told_bare = true;
    dw_reader__say(table->reader, DW_NOTE, column->key->at,
                   "the column names no unit; its bare numbers are taken in the job's unit, %s",
                   dw_unit_name(table->reader->job->unit));
}

static bool check_excess(struct dw_table *table, const struct dw_node *cells, size_t n_cells)
{
    for (size_t i = 0; i < n_cells; i++) {
        bool beyond = i >= table->n_columns;
        if (cells[i].n == 0 || (!beyond && table->columns[i].title[0]))
            continue;
        dw_reader__say(table->reader, DW_WRONG, cells[i].at,
                       beyond ? "the row has more cells than there are columns; a separator inside "
                                "a cell needs quotes"
                              : "`%.40s` stands in a column without a name",
                       cells[i].text);
        return false;
    }
    return true;
}

static struct dw_node *make_map(struct dw_table *table, const struct dw_node *cells, size_t n_cells)
{
    struct dw_reader *reader = table->reader;
    struct dw_node *map = dw_arena__alloc(reader->tree, 1, sizeof *map);
    struct dw_node **items =
        dw_arena__alloc(reader->tree, 2 * table->n_columns, sizeof(struct dw_node *));
    if (!map || !items) {
        reader->no_memory = true;
        return NULL;
    }
    *map = (struct dw_node){.kind = DW_NODE_MAP, .text = "", .items = items, .at = cells[0].at};
    for (size_t i = 0; i < table->n_columns; i++) {
        const struct dw_column *column = &table->columns[i];
        bool empty = i >= n_cells || cells[i].n == 0;
        if (column->field == DW_NONE || (empty && !dw_table__needs(table, column->field)))
            continue;
        struct dw_node *value = dw_arena__alloc(reader->tree, 1, sizeof *value);
        if (!value) {
            reader->no_memory = true;
            return NULL;
        }
        *value = cells[i < n_cells ? i : n_cells - 1];
        if (empty) {
            value->kind = DW_NODE_NULL;
            value->text = "";
            value->n = 0;
        }
        value->bare = column->bare;
        tell_bare(table, column, value);
        items[map->n_items++] = column->key;
        items[map->n_items++] = value;
    }
    return map;
}

struct dw_node *dw_table__row(struct dw_table *table, const struct dw_node *cells, size_t n_cells)
{
    bool empty = true;
    for (size_t i = 0; i < n_cells; i++)
        empty &= cells[i].n == 0;
    if (empty)
        return NULL;
    if (is_totals_row(table, cells, n_cells)) {
        dw_reader__say(table->reader, DW_WRONG, cells[0].at,
                       "this looks like a row of totals; leave it out of the list");
        return NULL;
    }
    return check_excess(table, cells, n_cells) ? make_map(table, cells, n_cells) : NULL;
}
