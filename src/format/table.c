/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells out of a text, by libcsv. It tells no positions: the text goes in byte by byte, so that
 * each cell that comes out is known to end there. */
#include "format/table.h"

#include <csv.h>
#include <stdlib.h>
#include <string.h>

#define CELL_LIMIT 1000 /* cells of a row, empty ones at its end included */

struct lexer {
    struct dw_table *table;
    struct dw_reader *reader;
    struct csv_parser parser;
    const char *name;
    struct dw_cursor cursor;
    unsigned char separator;
    size_t begin;          /* offset of the cell's first character that is no blank */
    bool begun;            /* that character has come */
    bool quoted;           /* it was a quote mark */
    size_t closed;         /* offset of the quote mark that may have closed the cell; 0 = none */
    bool stray;            /* text follows a closed cell; said once */
    bool headed;           /* the header row has been read */
    bool give_up;          /* the rows have no meaning */
    struct dw_node *cells; /* of the row so far */
    size_t n_cells;
    size_t cell_capacity;
    struct dw_node **rows;
    size_t n_rows;
    size_t row_capacity;
};

static struct dw_place place_of(struct lexer *lexer, size_t offset)
{
    dw_cursor__seek(&lexer->cursor, offset);
    return (struct dw_place){lexer->name, lexer->cursor.line, lexer->cursor.column};
}

static void reset_cell(struct lexer *lexer)
{
    lexer->begun = false;
    lexer->quoted = false;
    lexer->closed = 0;
}

static void give_up(struct lexer *lexer, size_t offset, const char *why)
{
    dw_reader__say(lexer->reader, DW_WRONG, place_of(lexer, offset), "%s", why);
    lexer->give_up = true;
}

/* Called by libcsv at the end of each cell. */
static void end_cell(void *text, size_t n, void *user)
{
    struct lexer *lexer = user;
    if (lexer->n_cells == CELL_LIMIT)
        give_up(lexer, lexer->begin, "the row has more cells than any table has columns");
    if (lexer->give_up)
        return;
    char *copy = dw_arena__text_n(lexer->reader->tree, text, n);
    if (!copy || !dw_array__grow(&lexer->cells, &lexer->cell_capacity, lexer->n_cells + 1,
                                 sizeof *lexer->cells)) {
        lexer->reader->no_memory = true;
        return;
    }
    struct dw_node *cell = &lexer->cells[lexer->n_cells++];
    *cell = (struct dw_node){.kind = n ? DW_NODE_SCALAR : DW_NODE_NULL, .text = copy, .n = n};
    cell->quoting = lexer->quoted ? DW_QUOTE_DOUBLE : DW_QUOTE_NONE;
    cell->at = place_of(lexer, lexer->begin);
    reset_cell(lexer);
}

static void add_row(struct lexer *lexer, struct dw_node *row)
{
    if (lexer->n_rows == DW_MAX_ROWS) {
        dw_reader__say(lexer->reader, DW_WRONG, row->at, "more than %d rows", DW_MAX_ROWS);
        lexer->give_up = true;
        return;
    }
    if (!dw_array__grow(&lexer->rows, &lexer->row_capacity, lexer->n_rows + 1,
                        sizeof(struct dw_node *))) {
        lexer->reader->no_memory = true;
        return;
    }
    lexer->rows[lexer->n_rows++] = row;
}

/* Called by libcsv at the end of each row that is not blank. */
static void end_row(int mark, void *user)
{
    (void)mark;
    struct lexer *lexer = user;
    size_t n_cells = lexer->n_cells;
    lexer->n_cells = 0;
    reset_cell(lexer);
    if (lexer->reader->no_memory || lexer->give_up || n_cells == 0)
        return;
    bool empty = true;
    for (size_t i = 0; i < n_cells; i++)
        empty &= lexer->cells[i].n == 0;
    if (empty)
        return;
    if (!lexer->headed) {
        lexer->headed = true;
        lexer->give_up = !dw_table__head(lexer->table, lexer->cells, n_cells);
        return;
    }
    struct dw_node *row = dw_table__row(lexer->table, lexer->cells, n_cells);
    if (row)
        add_row(lexer, row);
}

/* Follows the quote marks of a cell: a doubled one stands for itself, any other one closes it. */
static void watch(struct lexer *lexer, unsigned char c, size_t at)
{
    bool blank = (c == ' ' || c == '\t') && c != lexer->separator;
    bool ends = c == lexer->separator || c == '\n' || c == '\r';
    if (!lexer->begun) {
        lexer->begin = at;
        lexer->begun = !blank && !ends;
        lexer->quoted = c == '"';
        return;
    }
    if (!lexer->quoted)
        return;
    if (c == '"' && lexer->closed + 1 == at)
        lexer->closed = 0;
    else if (c == '"' && lexer->closed == 0)
        lexer->closed = at;
    else if (lexer->closed && !blank && !ends && !lexer->stray) {
        lexer->stray = true;
        dw_reader__say(lexer->reader, DW_WRONG, place_of(lexer, at),
                       "text after the closing quote of a cell; a quote mark inside is written "
                       "twice: \"\"");
    }
}

static void feed(struct lexer *lexer, const char *text, size_t from, size_t n)
{
    struct dw_reader *reader = lexer->reader;
    for (size_t i = from; i < n && !lexer->give_up && !lexer->stray && !reader->no_memory; i++) {
        watch(lexer, (unsigned char)text[i], i);
        if (csv_parse(&lexer->parser, text + i, 1, end_cell, end_row, lexer) != 1)
            reader->no_memory = true;
    }
    if (lexer->give_up || lexer->stray || reader->no_memory)
        return;
    if (lexer->begun && lexer->quoted && !lexer->closed) {
        give_up(lexer, lexer->begin, "the quote mark that opens this cell is never closed");
        return;
    }
    if (!lexer->begun)
        lexer->begin = n;
    if (csv_fini(&lexer->parser, end_cell, end_row, lexer) != 0)
        reader->no_memory = true;
}

/* --- separator ----------------------------------------------------------------------------------
 */

/* How many cells of a line name a column, and how many there are, split at `separator`. */
static size_t count_known(const struct dw_table *table, const char *line, size_t n, char separator,
                          size_t *cells)
{
    size_t known = 0;
    bool quoted = false;
    *cells = 0;
    for (size_t at = 0, begin = 0; at <= n; at++) {
        if (at < n && line[at] == '"')
            quoted = !quoted;
        if (at < n && (quoted || line[at] != separator))
            continue;
        size_t skip = begin < at && line[begin] == '"';
        size_t end = at - (at > begin + 1 && line[at - 1] == '"');
        enum dw_unit unit = DW_UNIT_NONE;
        if (end > begin + skip)
            known +=
                dw_table__column(table, line + begin + skip, end - begin - skip, &unit) != DW_NONE;
        begin = at + 1;
        ++*cells;
    }
    return known;
}

/* The separator by which the first line names most columns; of equals, the one with most cells. */
static char find_separator(const struct dw_table *table, const char *text, size_t n)
{
    size_t begin = strspn(text, " \r\n\t,;");
    size_t length = begin < n ? strcspn(text + begin, "\r\n") : 0;
    char best = ',';
    if (length == 0) { /* nothing but separators */
        const char *any = text + strcspn(text, "\t;,");
        return *any ? *any : best;
    }
    size_t best_known = 0, best_cells = 0;
    for (const char *separator = "\t;,"; *separator; separator++) {
        size_t cells = 0;
        size_t known = count_known(table, text + begin, length, *separator, &cells);
        if (known > best_known || (known == best_known && cells > best_cells)) {
            best = *separator;
            best_known = known;
            best_cells = cells;
        }
    }
    return best;
}

/* Offset of the first line of the table: behind a byte order mark, and behind a line `sep=;`, by
 * which some spreadsheets tell each other the separator. */
static size_t find_start(const struct dw_table *table, const char *text, size_t n, char *separator)
{
    size_t at = n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (n >= at + 5 && memcmp(text + at, "sep=", 4) == 0 && strchr(",;\t", text[at + 4])) {
        *separator = text[at + 4];
        return at + 5;
    }
    *separator = find_separator(table, text + at, n - at);
    return at;
}

/* --- the table ------------------------------------------------------------------------------- */

static struct dw_node *make_list(struct lexer *lexer)
{
    struct dw_reader *reader = lexer->reader;
    struct dw_node *list = dw_arena__alloc(reader->tree, 1, sizeof *list);
    struct dw_node **items = dw_arena__alloc(reader->tree, lexer->n_rows, sizeof(struct dw_node *));
    if (!list || !items) {
        reader->no_memory = true;
        return NULL;
    }
    if (lexer->n_rows)
        memcpy(items, lexer->rows, lexer->n_rows * sizeof(struct dw_node *));
    *list = (struct dw_node){
        .kind = DW_NODE_LIST, .text = "", .items = items, .n_items = lexer->n_rows};
    list->at = lexer->table->header;
    return list;
}

void dw_table__read(struct dw_table *table, const char *text, size_t n, const char *name,
                    struct dw_node **rows)
{
    *rows = NULL;
    if (!dw_text__check(text, n, name, table->reader->report))
        return;
    struct lexer lexer = {.table = table, .reader = table->reader, .name = name};
    lexer.cursor = dw_cursor__start(text, n);
    char separator = ',';
    size_t start = find_start(table, text, n, &separator);
    lexer.separator = (unsigned char)separator;
    if (csv_init(&lexer.parser, CSV_APPEND_NULL) != 0) {
        table->reader->no_memory = true;
        return;
    }
    csv_set_delim(&lexer.parser, lexer.separator);
    feed(&lexer, text, start, n);
    csv_free(&lexer.parser);
    if (!lexer.headed && !lexer.stray && !lexer.give_up)
        dw_reader__say(table->reader, DW_WRONG, (struct dw_place){name, 1, 1},
                       "the table is empty; its first row names the columns");
    else if (!lexer.give_up && !table->reader->no_memory)
        *rows = make_list(&lexer);
    free(lexer.cells);
    free(lexer.rows);
}
