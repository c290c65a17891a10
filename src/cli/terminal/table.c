/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables that fit the page: columns where there is room, else a block a row. */
#include "cli/terminal/page.h"

#include <stdlib.h>
#include <string.h>

#define GAP           2  /* columns between two cells */
#define FOLD_LEAST    18 /* narrowest column that is folded */
#define TOGETHER_MOST 16 /* widest cell that is not broken in a block */
#define INDENT_MOST   8

static void add_cell(struct dw_cli_table *table, struct dw_buf *buf)
{
    char *text = dw_buf__take(buf);
    if (!text || table->failed ||
        !dw_array__grow(&table->cells, &table->capacity, table->n_cells + 1,
                        sizeof *table->cells)) {
        table->failed = true;
        free(text);
        return;
    }
    table->cells[table->n_cells++] = text;
}

void dw_cli__cell(struct dw_cli_table *table, const char *text)
{
    struct dw_buf buf = {0};
    dw_cli__clean(&buf, text ? text : "");
    add_cell(table, &buf);
}

void dw_cli__cell_format(struct dw_cli_table *table, const char *format, ...)
{
    char text[1024];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    dw_cli__cell(table, text);
}

void dw_cli__cell_buf(struct dw_cli_table *table, struct dw_buf *text)
{
    char *raw = dw_buf__take(text);
    if (raw)
        dw_cli__cell(table, raw);
    else
        table->failed = true;
    free(raw);
}

static size_t width_of(const char *text)
{
    return text ? dw_utf8__width(text, strlen(text)) : 0;
}

static const char *cell_at(const struct dw_cli_table *table, size_t row, size_t column)
{
    size_t i = row * table->n_columns + column;
    return i < table->n_cells ? table->cells[i] : "";
}

static size_t n_rows(const struct dw_cli_table *table)
{
    return (table->n_cells + table->n_columns - 1) / table->n_columns;
}

static bool has_title(const struct dw_cli_table *table)
{
    for (size_t c = 0; c < table->n_columns; c++)
        if (table->columns[c].title && *table->columns[c].title)
            return true;
    return false;
}

/* Columns that a figure takes from its decimal point on. */
static size_t after_point(const char *text)
{
    const char *point = strrchr(text, '.');
    return point ? width_of(point) : 0;
}

/* Puts blanks after the shorter figures of the columns that want it, in new cells. */
static void align_points(struct dw_cli_table *table)
{
    for (size_t c = 0; c < table->n_columns; c++) {
        size_t most = 0;
        for (size_t r = 0; table->columns[c].point && r < n_rows(table); r++)
            if (after_point(cell_at(table, r, c)) > most)
                most = after_point(cell_at(table, r, c));
        for (size_t i = c; most > 0 && i < table->n_cells; i += table->n_columns) {
            struct dw_buf text = {0};
            dw_buf__put(&text, table->cells[i]);
            for (size_t k = after_point(table->cells[i]); *table->cells[i] && k < most; k++)
                dw_buf__put(&text, DW_CLI_NO_BREAK);
            char *padded = dw_buf__take(&text);
            table->failed = table->failed || !padded;
            if (!padded)
                return;
            free(table->cells[i]);
            table->cells[i] = padded;
        }
    }
}

/* Natural widths; a column without any text has width 0 and is left out. */
static void measure(const struct dw_cli_table *table, size_t *widths)
{
    for (size_t c = 0; c < table->n_columns; c++) {
        widths[c] = 0;
        for (size_t r = 0; r < n_rows(table); r++) {
            size_t width = width_of(cell_at(table, r, c));
            if (width > widths[c])
                widths[c] = width;
        }
        size_t title = width_of(table->columns[c].title);
        if (widths[c] > 0 && title > widths[c])
            widths[c] = title;
    }
}

static size_t longest_word(const struct dw_cli_table *table, size_t column)
{
    size_t longest = 0;
    for (size_t r = 0; r < n_rows(table); r++)
        for (const char *at = cell_at(table, r, column); *at; at += strspn(at, " ")) {
            size_t n = strcspn(at, " ");
            if (dw_utf8__width(at, n) > longest)
                longest = dw_utf8__width(at, n);
            at += n;
        }
    return longest;
}

/* Takes columns away from the widest of those that may be narrow, until `much` are gone; `words`:
 * none becomes narrower than its longest word. Returns how many are left to take. */
static size_t squeeze(const struct dw_cli_table *table, size_t much, bool words, size_t *widths)
{
    size_t least[DW_CLI_COLUMNS_MAX] = {0};
    for (size_t c = 0; c < table->n_columns; c++) {
        least[c] = table->columns[c].narrow ? table->columns[c].narrow : SIZE_MAX;
        if (words && least[c] < longest_word(table, c))
            least[c] = longest_word(table, c);
    }
    for (; much > 0; much--) {
        size_t widest = DW_NONE;
        for (size_t c = 0; c < table->n_columns; c++)
            if (widths[c] > least[c] && (widest == DW_NONE || widths[c] > widths[widest]))
                widest = c;
        if (widest == DW_NONE)
            break;
        widths[widest]--;
    }
    return much;
}

/* Whether the columns fit `width`, the folding one made narrower if need be; where that is not
 * enough, all that may be narrow. */
static bool fit_columns(const struct dw_cli_table *table, size_t width, size_t *widths)
{
    size_t total = table->indent;
    size_t fold = DW_NONE;
    for (size_t c = 0; c < table->n_columns; c++) {
        total += widths[c] + (c > 0 && widths[c] > 0 ? GAP : 0);
        if (table->columns[c].fold)
            fold = c;
    }
    if (total <= width)
        return true;
    if (fold == DW_NONE || total - widths[fold] + FOLD_LEAST > width)
        return squeeze(table, squeeze(table, total - width, true, widths), false, widths) == 0;
    widths[fold] = width - (total - widths[fold]);
    return true;
}

static void put_cell(struct dw_cli_page *page, const struct dw_cli_column *column, const char *text,
                     size_t n, size_t width, bool last)
{
    size_t used = dw_utf8__width(text, n);
    size_t pad = width > used ? width - used : 0;
    if (column->right)
        dw_cli__spaces(page, pad);
    dw_buf__add(&page->buf, text, n);
    if (!column->right && !last)
        dw_cli__spaces(page, pad);
}

/* Index of the last column that has text on this line, so that no line ends in blanks. */
static size_t last_column(const struct dw_cli_table *table, const char *const *at,
                          const size_t *widths)
{
    size_t last = 0;
    for (size_t c = 0; c < table->n_columns; c++)
        if (widths[c] > 0 && at[c] && *at[c])
            last = c;
    return last;
}

/* One row over as many lines as its folded cell takes. at[c] is what is still to be printed. */
static void put_row(struct dw_cli_page *page, const struct dw_cli_table *table,
                    const size_t *widths, const char **at)
{
    size_t left[DW_CLI_COLUMNS_MAX]; /* bytes behind at[c] */
    for (size_t c = 0; c < table->n_columns; c++)
        left[c] = at[c] ? strlen(at[c]) : 0;
    bool more = true;
    while (more) {
        more = false;
        size_t last = last_column(table, at, widths);
        dw_cli__spaces(page, table->indent);
        for (size_t c = 0; c <= last; c++) {
            if (widths[c] == 0)
                continue;
            size_t next = 0;
            const char *text = at[c] ? at[c] : "";
            size_t end = dw_cli__fit(text, left[c], widths[c], &next);
            put_cell(page, &table->columns[c], text, end, widths[c], c == last);
            at[c] = text + next;
            left[c] -= next;
            more = more || *at[c];
            if (c < last)
                dw_cli__spaces(page, GAP);
        }
        dw_cli__newline(page);
    }
}

static void put_columns(struct dw_cli_page *page, const struct dw_cli_table *table,
                        const size_t *widths)
{
    const char *at[DW_CLI_COLUMNS_MAX] = {0};
    if (has_title(table)) {
        for (size_t c = 0; c < table->n_columns; c++)
            at[c] = table->columns[c].title;
        dw_cli__tone(page, DW_CLI_QUIET);
        put_row(page, table, widths, at);
        dw_cli__tone(page, DW_CLI_PLAIN);
    }
    for (size_t r = 0; r < n_rows(table); r++) {
        for (size_t c = 0; c < table->n_columns; c++)
            at[c] = cell_at(table, r, c);
        put_row(page, table, widths, at);
    }
}

/* A short cell stays on one line: its blanks become no-break ones. */
static void put_together(struct dw_buf *text, const char *cell)
{
    bool is_short = width_of(cell) <= TOGETHER_MOST;
    for (; *cell; cell++) {
        if (is_short && *cell == ' ')
            dw_buf__put(text, DW_CLI_NO_BREAK);
        else
            dw_buf__char(text, *cell);
    }
}

/* A row as running text, titles said where the column has one to say. */
static void put_block(struct dw_cli_page *page, const struct dw_cli_table *table, size_t row)
{
    struct dw_buf text = {0};
    for (size_t c = 0; c < table->n_columns; c++) {
        const char *cell = cell_at(table, row, c);
        if (!*cell)
            continue;
        if (text.n > 0)
            dw_buf__put(&text, table->columns[c].own_line ? "\n" : "  ");
        if (table->columns[c].say) {
            put_together(&text, table->columns[c].say);
            dw_buf__put(&text, DW_CLI_NO_BREAK);
        }
        put_together(&text, cell);
    }
    char *all = dw_buf__take(&text);
    if (!all) {
        page->buf.failed = true;
        return;
    }
    char lead[INDENT_MOST + GAP + 1] = {0};
    size_t indent = table->indent < INDENT_MOST ? table->indent : INDENT_MOST;
    memset(lead, ' ', indent);
    for (char *line = all, *end = NULL; line; line = end) {
        end = strchr(line, '\n');
        if (end)
            *end++ = '\0';
        dw_cli__hang(page, DW_CLI_PLAIN, lead, indent + GAP, line);
        memset(lead, ' ', indent + GAP);
    }
    free(all);
}

void dw_cli__table_end(struct dw_cli_page *page, struct dw_cli_table *table)
{
    size_t widths[DW_CLI_COLUMNS_MAX] = {0};
    measure(table, widths);
    bool fits = fit_columns(table, page->width, widths);
    if (fits) {
        align_points(table);
        measure(table, widths);
        fits = fit_columns(table, page->width, widths);
    }
    if (table->failed)
        page->buf.failed = true;
    if (fits)
        put_columns(page, table, widths);
    for (size_t r = 0; !fits && r < n_rows(table); r++)
        put_block(page, table, r);
    for (size_t i = 0; i < table->n_cells; i++)
        free(table->cells[i]);
    free(table->cells);
    *table = (struct dw_cli_table){0};
}
