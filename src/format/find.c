/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where in a file the table is: its sheet, its heading, and what columns without one seem to hold.
 */
#include "format/heading.h"
#include "format/table.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ROWS_LOOKED 300 /* among which the heading is */

/* --- a line ---------------------------------------------------------------------------------- */

static bool is_hidden(const struct dw_grid_sheet *sheet, int column)
{
    for (size_t i = 0; i < sheet->n_hidden_columns; i++)
        if (sheet->hidden_columns[i] == column)
            return true;
    return false;
}

/* The unit that a number's format shows behind it: 1180 as `1180 mm`. */
static enum dw_unit shown_unit(const struct dw_cell *cell)
{
    const char *end = cell->text + cell->n;
    const char *begin = end;
    while (begin > cell->text && ((begin[-1] >= 'a' && begin[-1] <= 'z') || begin[-1] == '"'))
        begin--;
    if (begin == end - 1 && *begin == '"')
        return DW_UNIT_IN;
    return begin < end ? dw_unit_find(begin, (size_t)(end - begin)) : DW_UNIT_NONE;
}

/* What is read of a number: its fraction where the cell shows one that it holds, else its value. */
static void set_number(struct dw_table *table, const struct dw_cell *cell, struct dw_node *node)
{
    enum dw_unit unit = shown_unit(cell);
    bool fraction = strchr(cell->text, '/') != NULL && !cell->rounded;
    struct dw_buf text = {0};
    node->text = fraction ? cell->text : cell->value;
    if (unit != DW_UNIT_NONE && !fraction) {
        dw_buf__format(&text, "%s %s", cell->value, dw_unit_name(unit));
        node->text = text.failed ? NULL : dw_arena__text(table->reader->tree, text.text);
        dw_buf__free(&text);
        table->reader->no_memory |= node->text == NULL;
        node->text = node->text ? node->text : "";
    }
    node->n = strlen(node->text);
}

void dw_table__line(struct dw_table *table, const struct dw_grid_sheet *sheet,
                    const struct dw_grid_row *row, struct dw_table_line *line)
{
    int last = row->n_cells ? row->cells[row->n_cells - 1]->column : 0;
    line->row = row;
    line->n = last <= DW_KEY_LIMIT ? (size_t)last : DW_KEY_LIMIT + 1;
    for (size_t i = 0; i < line->n; i++) {
        line->cells[i] = NULL;
        line->nodes[i] = (struct dw_node){
            .text = "", .quoting = DW_QUOTE_OTHER, .at = {table->file, row->number, (int)i + 1}};
    }
    for (size_t k = 0; k < row->n_cells; k++) {
        const struct dw_cell *cell = row->cells[k];
        size_t i = (size_t)cell->column - 1;
        if (i >= line->n || is_hidden(sheet, cell->column))
            continue;
        struct dw_node *node = &line->nodes[i];
        line->cells[i] = cell;
        node->kind = cell->n ? DW_NODE_SCALAR : DW_NODE_NULL;
        node->text = cell->text;
        node->n = cell->n;
        node->at.line = cell->line;
        node->at.column = cell->at;
        if (!table->workbook)
            node->quoting = cell->quoted ? DW_QUOTE_DOUBLE : DW_QUOTE_NONE;
        if (cell->kind == DW_CELL_NUMBER)
            set_number(table, cell, node);
    }
}

/* --- the heading ----------------------------------------------------------------------------- */

/* How much of a heading a row is: columns that it names, and twice those that a list must have. */
static size_t judge_row(const struct dw_table *table, const struct dw_grid_sheet *sheet,
                        const struct dw_grid_row *row, size_t *known)
{
    uint32_t seen = 0;
    size_t score = 0;
    *known = 0;
    for (size_t i = 0; i < row->n_cells; i++) {
        const struct dw_cell *cell = row->cells[i];
        enum dw_unit unit = DW_UNIT_NONE;
        int special = DW_MEANS_NOTHING;
        if (cell->kind != DW_CELL_TEXT || cell->n == 0 || cell->n > 200 ||
            is_hidden(sheet, cell->column))
            continue;
        size_t field = dw_table__column(table, cell->text, cell->n, &unit, &special);
        if (field == DW_NONE && special != DW_MEANS_ITEM)
            continue;
        if (field != DW_NONE && seen >> field & 1)
            continue;
        seen |= field != DW_NONE ? UINT32_C(1) << field : 0;
        ++*known;
        bool needed = field != DW_NONE && table->fields[field].need != DW_MAY;
        score += needed ? 4 : 2;
    }
    return score;
}

/* The row of the sheet that is most of a heading. The first row may name a single column. */
static size_t find_head(const struct dw_table *table, const struct dw_grid_sheet *sheet,
                        size_t *best_score)
{
    size_t best = DW_NONE;
    *best_score = 0;
    for (size_t r = 0; r < sheet->n_rows && r < ROWS_LOOKED; r++) {
        size_t known = 0;
        if (sheet->rows[r].hidden)
            continue;
        size_t score = judge_row(table, sheet, &sheet->rows[r], &known);
        if (score <= *best_score || (known < 2 && r > 0))
            continue;
        *best_score = score;
        best = r;
    }
    return best;
}

/* --- the sheet ------------------------------------------------------------------------------- */

static bool same_name(const char *a, const char *b)
{
    char x[DW_HEADING_TEXT], y[DW_HEADING_TEXT];
    dw_heading__fold(x, a, strlen(a));
    dw_heading__fold(y, b, strlen(b));
    return strcmp(a, b) == 0 || (*x && strcmp(x, y) == 0);
}

static void list_sheets(const struct dw_grid *grid, char *out, size_t room)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < grid->n_sheets && used + 1 < room; i++) {
        int put = snprintf(out + used, room - used, "%s%.40s", i ? ", " : "", grid->sheets[i].name);
        used += put > 0 ? (size_t)put : 0;
    }
}

static struct dw_place first_place(const char *name)
{
    return (struct dw_place){name, 1, 1};
}

static const struct dw_grid_sheet *named_sheet(struct dw_table *table, const struct dw_grid *grid,
                                               const char *name)
{
    char list[300];
    for (size_t i = 0; i < grid->n_sheets; i++)
        if (same_name(grid->sheets[i].name, table->choice.sheet))
            return &grid->sheets[i];
    list_sheets(grid, list, sizeof list);
    if (grid->workbook)
        dw_reader__say(table->reader, DW_WRONG, first_place(name),
                       "there is no sheet `%.60s`; there are: %s", table->choice.sheet, list);
    else
        dw_reader__say(table->reader, DW_WRONG, first_place(name),
                       "sheet `%.60s`: this file is a text and has no sheets", table->choice.sheet);
    return NULL;
}

/* Of the sheets that are shown, the one whose heading says most; two alike are refused. */
static const struct dw_grid_sheet *likely_sheet(struct dw_table *table, const struct dw_grid *grid,
                                                const char *name)
{
    const struct dw_grid_sheet *best = NULL, *other = NULL;
    size_t best_score = 0;
    for (size_t i = 0; i < grid->n_sheets; i++) {
        const struct dw_grid_sheet *sheet = &grid->sheets[i];
        size_t score = 0;
        if (sheet->n_rows == 0 || sheet->hidden)
            continue;
        bool headed = find_head(table, sheet, &score) != DW_NONE;
        if (best && headed && score == best_score)
            other = sheet;
        if (!best || score > best_score) {
            best = sheet;
            best_score = score;
            other = NULL;
        }
    }
    if (!best)
        dw_reader__say(table->reader, DW_WRONG, first_place(name),
                       grid->workbook ? "no sheet of the workbook holds anything"
                                      : "the table is empty; its first row names the columns");
    if (!other)
        return best;
    dw_reader__say(table->reader, DW_WRONG, first_place(name),
                   "sheets `%.60s` and `%.60s` both look like a list; say which one it is",
                   best->name, other->name);
    return NULL;
}

const struct dw_grid_sheet *dw_table__find(struct dw_table *table, const struct dw_grid *grid,
                                           const char *name, size_t *head)
{
    size_t score = 0;
    table->workbook = grid->workbook;
    table->file = name;
    const struct dw_grid_sheet *sheet =
        table->choice.sheet ? named_sheet(table, grid, name) : likely_sheet(table, grid, name);
    *head = sheet ? find_head(table, sheet, &score) : DW_NONE;
    if (!sheet || !grid->workbook)
        return sheet;
    struct dw_buf buf = {0};
    dw_buf__format(&buf, "%s!%s", name, sheet->name);
    char *text = dw_buf__take(&buf);
    table->file = text ? dw_job_text(table->reader->job, text) : NULL;
    free(text);
    table->reader->no_memory |= table->file == NULL;
    return table->file ? sheet : NULL;
}

/* --- by the contents ------------------------------------------------------------------------- */

/* What the cells of a column are. */
struct guess {
    size_t n;
    size_t texts;
    size_t lengths; /* read as a length of 10 mm or more */
    size_t counts;  /* whole numbers up to 9999 */
    int64_t last;
    bool rising; /* 1, 2, 3, ... */
};

static void guess_cell(const struct dw_table *table, const struct dw_node *node,
                       struct guess *guess)
{
    dw_length lo = 0, hi = 0;
    struct dw_error error = {0};
    enum dw_unit unit = table->reader->job->unit;
    bool whole = node->n > 0 && node->n <= 4;
    int64_t value = 0;
    for (size_t i = 0; i < node->n && whole; i++) {
        whole = node->text[i] >= '0' && node->text[i] <= '9';
        value = value * 10 + (node->text[i] - '0');
    }
    bool length =
        dw_range_parse(node->text, node->n, unit ? unit : DW_UNIT_MM, &lo, &hi, &error) == DW_OK &&
        lo >= 10 * DW_NM_PER_MM;
    guess->rising = (guess->n == 0 || guess->rising) && whole && value == guess->last + 1;
    guess->last = whole ? value : -1;
    guess->n++;
    guess->lengths += length;
    guess->counts += whole;
    guess->texts += !length && !whole;
}

/* The only column of the kind; DW_NONE: none, or several. */
static size_t only(const bool *columns, size_t n)
{
    size_t found = DW_NONE;
    for (size_t i = 0; i < n; i++) {
        if (columns[i] && found != DW_NONE)
            return DW_NONE;
        if (columns[i])
            found = i;
    }
    return found;
}

char *dw_table__propose(const struct dw_table *table, const struct dw_grid_sheet *sheet,
                        char out[DW_PROPOSAL])
{
    struct guess guesses[DW_KEY_LIMIT] = {{0}};
    bool labels[DW_KEY_LIMIT] = {false}, lengths[DW_KEY_LIMIT] = {false};
    bool counts[DW_KEY_LIMIT] = {false};
    out[0] = '\0';
    for (size_t r = 0; r < sheet->n_rows && r < ROWS_LOOKED; r++)
        for (size_t k = 0; k < sheet->rows[r].n_cells; k++) {
            const struct dw_cell *cell = sheet->rows[r].cells[k];
            const char *text =
                cell->value && cell->kind == DW_CELL_NUMBER ? cell->value : cell->text;
            struct dw_node node = {.text = text, .n = strlen(text)};
            if (node.n && cell->column <= DW_KEY_LIMIT)
                guess_cell(table, &node, &guesses[cell->column - 1]);
        }
    for (size_t i = 0; i < DW_KEY_LIMIT; i++) {
        const struct guess *guess = &guesses[i];
        bool most = guess->n > 0;
        labels[i] = most && guess->texts * 2 > guess->n;
        counts[i] = most && guess->counts * 10 >= guess->n * 8 &&
                    !(guess->rising && guess->n > 2) && guess->lengths * 2 < guess->n;
        lengths[i] = most && guess->lengths * 10 >= guess->n * 8;
    }
    size_t label = only(labels, DW_KEY_LIMIT), length = only(lengths, DW_KEY_LIMIT);
    size_t count = only(counts, DW_KEY_LIMIT);
    if (label == DW_NONE || length == DW_NONE || count == DW_NONE)
        return out;
    char names[3][DW_CELL_NAME];
    snprintf(
        out, DW_PROPOSAL, "label=%s,length=%s,count=%s", dw_cell__name(names[0], (int)label + 1, 0),
        dw_cell__name(names[1], (int)length + 1, 0), dw_cell__name(names[2], (int)count + 1, 0));
    return out;
}
