/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cells of a text, by libcsv. It tells no positions: the text goes in byte by byte, so that each
 * cell that comes out is known to end there. */
#include "grid/part.h"

#include <csv.h>
#include <string.h>

#define LINES_LOOKED 200 /* lines by which the separator is found */

struct lexer {
    struct dw_grid_maker *maker;
    struct csv_parser parser;
    const char *name;
    unsigned char separator;
    int line;   /* of the byte that comes next */
    int column; /* in characters */
    int begin_line;
    int begin_column;
    int cells;     /* of the row so far */
    bool begun;    /* the cell's first character that is no blank has come */
    bool quoted;   /* it was a quote mark */
    size_t closed; /* offset of the quote mark that may have closed the cell; 0 = none */
};

static void reset_cell(struct lexer *lexer)
{
    lexer->begun = false;
    lexer->quoted = false;
    lexer->closed = 0;
}

static void fail_at(struct lexer *lexer, int line, int column, const char *why)
{
    struct dw_grid_maker *maker = lexer->maker;
    if (!maker->err)
        maker->err = dw_error__at(maker->error, DW_ERR_INPUT, lexer->name, line, column, "%s", why);
}

/* Called by libcsv at the end of each cell. */
static void end_cell(void *text, size_t n, void *user)
{
    struct lexer *lexer = user;
    if (++lexer->cells > DW_GRID_COLUMNS)
        fail_at(lexer, lexer->begin_line, lexer->begin_column,
                "the row has more cells than any table has columns");
    const struct dw_cell cell = {.kind = DW_CELL_TEXT,
                                 .quoted = lexer->quoted,
                                 .line = lexer->begin_line,
                                 .at = lexer->begin_column,
                                 .column = lexer->cells,
                                 .text = n ? text : "",
                                 .n = n};
    dw_maker__cell(lexer->maker, &cell);
    reset_cell(lexer);
}

/* Called by libcsv at the end of each row that is not blank. */
static void end_row(int mark, void *user)
{
    (void)mark;
    struct lexer *lexer = user;
    struct dw_grid_maker *maker = lexer->maker;
    int number = maker->n_row_cells ? maker->cells[0]->line : lexer->line;
    dw_maker__row(maker, number, false);
    maker->n_row_cells = 0;
    lexer->cells = 0;
    reset_cell(lexer);
}

/* Follows the quote marks of a cell: a doubled one stands for itself, any other one closes it. */
static void watch(struct lexer *lexer, unsigned char c, size_t at)
{
    bool blank = (c == ' ' || c == '\t') && c != lexer->separator;
    bool ends = c == lexer->separator || c == '\n' || c == '\r';
    if (!lexer->begun) {
        lexer->begin_line = lexer->line;
        lexer->begin_column = lexer->column;
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
    else if (lexer->closed && !blank && !ends)
        fail_at(lexer, lexer->line, lexer->column,
                "text after the closing quote of a cell; a quote mark inside is written twice: "
                "\"\"");
}

/* Counts lines, which end with LF, CR LF, or CR alone, and characters. */
static void step(struct lexer *lexer, unsigned char c, unsigned char next)
{
    if (c == '\n' || (c == '\r' && next != '\n')) {
        lexer->line++;
        lexer->column = 1;
    } else if (c != '\r' && (c & 0xC0) != 0x80)
        lexer->column++;
}

static void feed(struct lexer *lexer, const char *text, size_t from, size_t n)
{
    struct dw_grid_maker *maker = lexer->maker;
    for (size_t i = from; i < n && !maker->err; i++) {
        unsigned char c = (unsigned char)text[i];
        watch(lexer, c, i);
        if (!maker->err && csv_parse(&lexer->parser, &c, 1, end_cell, end_row, lexer) != 1)
            dw_maker__fail(maker, DW_ERR_NOMEM, " ");
        step(lexer, c, i + 1 < n ? (unsigned char)text[i + 1] : 0);
    }
    if (!maker->err && lexer->begun && lexer->quoted && !lexer->closed)
        fail_at(lexer, lexer->begin_line, lexer->begin_column,
                "the quote mark that opens this cell is never closed");
    if (!lexer->begun) {
        lexer->begin_line = lexer->line;
        lexer->begin_column = lexer->column;
    }
    if (!maker->err && csv_fini(&lexer->parser, end_cell, end_row, lexer) != 0)
        dw_maker__fail(maker, DW_ERR_NOMEM, " ");
}

/* --- separator ------------------------------------------------------------------------------- */

/* Cells of the line that begins at *at, split at `separator` outside quote marks; moves *at to the
 * next line. 0 for one without a character. */
static size_t count_cells(const char *text, size_t n, size_t *at, char separator)
{
    size_t cells = 1, begin = *at;
    bool quoted = false;
    for (; *at < n && (quoted || (text[*at] != '\n' && text[*at] != '\r')); ++*at) {
        if (text[*at] == '"')
            quoted = !quoted;
        cells += !quoted && text[*at] == separator;
    }
    bool empty = *at == begin;
    if (*at < n)
        ++*at;
    return empty ? 0 : cells;
}

/* How well the lines agree on a number of cells, if split at `separator`: lines of the commonest
 * number, one cell for nothing, and the number itself. */
static size_t judge(const char *text, size_t n, size_t at, char separator)
{
    size_t seen[64] = {0};
    for (size_t line = 0; at < n && line < LINES_LOOKED;) {
        size_t cells = count_cells(text, n, &at, separator);
        line += cells > 0;
        if (cells > 1)
            seen[cells < 63 ? cells : 63]++;
    }
    size_t best = 0;
    for (size_t cells = 2; cells < 64; cells++)
        if (seen[cells] * (cells - 1) > best)
            best = seen[cells] * (cells - 1);
    return best;
}

/* Offset of the first line of the table: behind a byte order mark, and behind a line `sep=;`, by
 * which some spreadsheets tell each other the separator. */
static size_t find_start(const char *text, size_t n, unsigned char *separator)
{
    size_t at = n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (n >= at + 5 && memcmp(text + at, "sep=", 4) == 0 && strchr(",;\t|", text[at + 4])) {
        *separator = (unsigned char)text[at + 4];
        return at + 5;
    }
    size_t best = 0;
    *separator = ',';
    for (const char *mark = "\t;,|"; *mark; mark++) {
        size_t score = judge(text, n, at, *mark);
        if (score > best) {
            best = score;
            *separator = (unsigned char)*mark;
        }
    }
    return at;
}

dw_err dw_separated__read(const char *text, size_t n, const char *name, struct dw_grid_maker *maker)
{
    struct lexer lexer = {.maker = maker, .name = name, .line = 1, .column = 1};
    size_t start = find_start(text, n, &lexer.separator);
    lexer.column += start >= 5 ? 5 : 0;
    if (csv_init(&lexer.parser, CSV_APPEND_NULL) != 0)
        return dw_maker__fail(maker, DW_ERR_NOMEM, " ");
    csv_set_delim(&lexer.parser, lexer.separator);
    feed(&lexer, text, start, n);
    csv_free(&lexer.parser);
    if (!maker->err)
        dw_maker__sheet(maker, "", false);
    return maker->err;
}
