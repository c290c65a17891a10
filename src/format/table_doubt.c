/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What stands around the rows of a list and may bear on them: lines above it, sums beside it. */
#include "format/heading.h"
#include "format/table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- above ------------------------------------------------------------------------------------ */

/* Whether bare lengths of the list would be taken in another unit than this, as no heading says. */
static bool differs(const struct dw_table *table, enum dw_unit unit)
{
    bool open = false;
    for (size_t i = 0; i < table->n_columns; i++)
        open |= table->columns[i].field != DW_NONE && table->columns[i].bare == DW_UNIT_NONE &&
                dw_field__is_length(&table->fields[table->columns[i].field]);
    return open && unit != table->reader->job->unit;
}

/* The cells of a line as one text; NULL without memory. */
static char *join(const struct dw_table_line *line)
{
    struct dw_buf all = {0};
    for (size_t i = 0; i < line->n; i++) {
        dw_buf__put(&all, all.n && line->nodes[i].n ? " " : "");
        dw_buf__put(&all, line->nodes[i].text);
    }
    return dw_buf__take(&all);
}

void dw_table__doubt_above(struct dw_table *table, const struct dw_table_line *line)
{
    char *text = join(line);
    size_t first = 0;
    while (first + 1 < line->n && line->nodes[first].n == 0)
        first++;
    table->reader->no_memory |= text == NULL;
    enum dw_unit unit = text ? dw_heading__speaks_of(text, strlen(text)) : DW_UNIT_NONE;
    if (unit != DW_UNIT_NONE && differs(table, unit))
        dw_reader__say(table->reader, DW_DOUBT, line->nodes[first].at,
                       "`%.40s` speaks of %s, and the lengths are taken in %s; say the unit in "
                       "their heading",
                       text, dw_unit_name(unit), dw_unit_name(table->reader->job->unit));
    if (text && dw_heading__is_times(text, strlen(text)))
        dw_reader__say(table->reader, DW_DOUBT, line->nodes[first].at,
                       "`%.40s` may say how many times the list is wanted; the counts are taken as "
                       "they stand",
                       text);
    free(text);
}

/* --- beside ----------------------------------------------------------------------------------- */

/* A number with any marks: `last`, the last mark is a decimal one; else all part thousands. */
static double number_of(const char *text, bool last)
{
    const char *mark = last ? strpbrk(text, ",.") : NULL;
    for (const char *next = mark; next; next = strpbrk(next + 1, ",."))
        mark = next;
    double value = 0, scale = 1;
    for (const char *at = text; *at; at++) {
        if (*at < '0' || *at > '9')
            continue;
        value = value * 10 + (*at - '0');
        scale *= mark && at > mark ? 10 : 1;
    }
    return value / scale;
}

/* In any unit, and to the digits that people round to. */
static bool is_product(double value, double nm)
{
    static const double units[] = {1e6, 1e7, 1e9, 25.4e6, 304.8e6};
    bool found = false;
    for (size_t i = 0; i < DW_COUNT(units); i++)
        found |= fabs(value * units[i] - nm) <= 0.01 * nm;
    return found;
}

void dw_table__doubt_sum(struct dw_table *table, const struct dw_table_line *line, dw_length length,
                         int64_t count)
{
    for (size_t i = 0; i < table->n_columns && i < line->n; i++) {
        struct dw_column *column = &table->columns[i];
        const struct dw_node *cell = &line->nodes[i];
        if (column->special != DW_MEANS_SUM || column->doubted || cell->n == 0 || length <= 0 ||
            !strpbrk(cell->text, "0123456789"))
            continue;
        double nm = (double)length * (double)count, value = number_of(cell->text, true);
        column->doubted = !is_product(value, nm) && !is_product(number_of(cell->text, false), nm) &&
                          fabs(value - (double)count) > 1e-9;
        if (column->doubted)
            dw_reader__say(
                table->reader, DW_DOUBT, cell->at,
                "`%.40s` in column `%.40s` is not length times count; is the count that of "
                "all pieces?",
                cell->text, column->title);
    }
}
