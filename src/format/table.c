/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A table out of a file: its cells, the heading among them, and the rows below. */
#include "format/table.h"
#include "format/heading.h"

#include <stdlib.h>
#include <string.h>

#define SCALE 500                    /* lengths so many times shorter than most are doubtful */
#define SHORT (50 * DW_NM_PER_MM)    /* and such of which there are many */
#define TINY  (10 * DW_NM_PER_MM)    /* and shorter ones */
#define TALL  (15000 * DW_NM_PER_MM) /* and longer than tube is sold */

const char *dw_row_role_word(enum dw_row_role role)
{
    static const char *const role_words[] = {
#define ROLE_ROW(name, word) [name] = word,
        DW_ROW_ROLE_LIST(ROLE_ROW)
#undef ROLE_ROW
    };
    return role_words[role];
}

/* What reading a table holds. */
#define CELL_SHOWN 120 /* bytes of a cell when a line is told */

struct reading {
    struct dw_table *table;
    const struct dw_grid_sheet *sheet;
    size_t head; /* row of the heading; DW_NONE: none */
    struct dw_table_line line;
    struct dw_node **maps;
    size_t n_maps;
    size_t map_capacity;
};

static bool start_line(struct reading *reading)
{
    reading->line.nodes = calloc(DW_KEY_LIMIT + 1, sizeof *reading->line.nodes);
    reading->line.cells = calloc(DW_KEY_LIMIT + 1, sizeof *reading->line.cells);
    reading->table->reader->no_memory |= !reading->line.nodes || !reading->line.cells;
    return reading->line.nodes && reading->line.cells;
}

/* --- how rows were understood --------------------------------------------------------------------
 */

/* The cells of a row, short. */
static const char *row_text(struct reading *reading)
{
    struct dw_buf buf = {0};
    const struct dw_table_line *line = &reading->line;
    for (size_t i = 0; i < line->n && buf.n < 100; i++) {
        const char *text = line->cells[i] ? line->cells[i]->text : "";
        size_t n = strlen(text) < 40 ? strlen(text) : 40;
        if (n > 0)
            dw_buf__format(&buf, "%s%.*s", buf.n ? " | " : "", (int)dw_utf8__check(text, n), text);
    }
    char *text = buf.n ? dw_buf__take(&buf) : NULL;
    const char *copy = dw_arena__text(reading->table->reader->tree, text ? text : "");
    free(text);
    return copy;
}

/* A text cut to what fits a table on a screen. */
static const char *short_text(struct dw_arena *arena, const char *text)
{
    size_t n = strlen(text);
    return dw_arena__text_n(arena, text, n > CELL_SHOWN ? dw_utf8__check(text, CELL_SHOWN) : n);
}

static const char **row_cells(struct reading *reading)
{
    const struct dw_table_line *line = &reading->line;
    struct dw_arena *arena = reading->table->reader->tree;
    const char **cells = dw_arena__alloc(arena, line->n + 1, sizeof *cells);
    for (size_t i = 0; cells && i < line->n; i++) {
        cells[i] = short_text(arena, line->cells[i] ? line->cells[i]->text : "");
        cells = cells[i] ? cells : NULL;
    }
    return cells;
}

static void tell(struct reading *reading, enum dw_row_role role, const struct dw_node *map)
{
    struct dw_told *told = reading->table->told;
    if (!told)
        return;
    const char *text = row_text(reading);
    const char **cells = row_cells(reading);
    if (!text || !cells ||
        !dw_array__grow(&told->rows, &told->capacity, told->n + 1, sizeof *told->rows)) {
        reading->table->reader->no_memory = true;
        return;
    }
    told->rows[told->n++] = (struct dw_told_row){.line = reading->line.row->number,
                                                 .role = role,
                                                 .text = text,
                                                 .n_cells = reading->line.n,
                                                 .cells = cells,
                                                 .map = map};
}

/* --- before the rows ------------------------------------------------------------------------- */

static bool is_number_field(const struct dw_table *table, size_t column)
{
    size_t field = column < table->n_columns ? table->columns[column].field : DW_NONE;
    return field != DW_NONE && (dw_field__is_length(&table->fields[field]) ||
                                dw_field__is_money(&table->fields[field]));
}

/* Every number that was typed into a column of lengths or money says how the list writes numbers.
 */
static void see_marks(struct reading *reading)
{
    struct dw_table *table = reading->table;
    const struct dw_grid_sheet *sheet = reading->sheet;
    for (size_t r = reading->head == DW_NONE ? 0 : reading->head + 1; r < sheet->n_rows; r++)
        for (size_t k = 0; k < sheet->rows[r].n_cells; k++) {
            const struct dw_cell *cell = sheet->rows[r].cells[k];
            size_t column = (size_t)cell->column - 1;
            if (cell->kind != DW_CELL_TEXT || !is_number_field(table, column))
                continue;
            enum dw_unit unit = table->columns[column].bare;
            if (!dw_field__is_length(&table->fields[table->columns[column].field]))
                unit = DW_UNIT_NONE;
            else if (unit == DW_UNIT_NONE)
                unit = table->reader->job->unit;
            dw_marks__see(&table->marks, cell->text, cell->n, unit,
                          (struct dw_place){table->file, cell->line, cell->at});
        }
}

/* A column headed `No.` that repeats itself counts pieces: numbers of rows don't. */
static void count_by_item(struct reading *reading)
{
    struct dw_table *table = reading->table;
    const struct dw_grid_row *head = &reading->sheet->rows[reading->head];
    bool has_count = false;
    size_t item = DW_NONE;
    uint32_t seen[4] = {0};
    bool repeats = false, whole = true;
    int64_t n = 0;
    for (size_t k = 0; k < head->n_cells; k++) {
        const struct dw_cell *cell = head->cells[k];
        enum dw_unit unit = DW_UNIT_NONE;
        int special = DW_MEANS_NOTHING;
        size_t field = dw_table__column(table, cell->text, cell->n, &unit, &special);
        has_count |= field != DW_NONE && dw_table__counts(&table->fields[field]);
        if (special == DW_MEANS_ITEM && cell->column <= DW_KEY_LIMIT)
            item = item == DW_NONE ? (size_t)cell->column : DW_KEY_LIMIT + 1;
    }
    if (has_count || item == DW_NONE || item > DW_KEY_LIMIT)
        return;
    for (size_t r = reading->head + 1; r < reading->sheet->n_rows; r++)
        for (size_t k = 0; k < reading->sheet->rows[r].n_cells; k++) {
            const struct dw_cell *cell = reading->sheet->rows[r].cells[k];
            if ((size_t)cell->column != item || cell->n == 0)
                continue;
            long value = strtol(cell->text, NULL, 10);
            whole &= strspn(cell->text, "0123456789") == cell->n;
            if (value >= 0 && value < 128) {
                repeats |= seen[value / 32] >> (value % 32) & 1;
                seen[value / 32] |= UINT32_C(1) << (value % 32);
            }
            n++;
        }
    for (size_t f = 0; whole && repeats && n > 0 && f < table->n_fields; f++)
        if (dw_table__counts(&table->fields[f]) && table->fields[f].need == DW_COLUMN)
            table->chosen[f] = (int)item;
}

/* The heading's columns, or those that were chosen. */
static bool read_head(struct reading *reading)
{
    struct dw_table *table = reading->table;
    struct dw_table_line *line = &reading->line;
    bool headed = reading->head != DW_NONE;
    if (headed)
        dw_table__line(table, reading->sheet, &reading->sheet->rows[reading->head], line);
    if (!dw_table__choose(table, headed ? line : NULL))
        return false;
    if (headed)
        count_by_item(reading);
    int last = 0;
    for (size_t i = 0; i < table->n_fields && i < DW_FIELD_MAX; i++)
        last = table->chosen[i] > last ? table->chosen[i] : last;
    static const struct dw_grid_row blank = {.number = 1};
    if (!headed)
        dw_table__line(table, reading->sheet, &blank, line);
    for (; line->n < (size_t)last; line->n++) {
        line->cells[line->n] = NULL;
        line->nodes[line->n] =
            (struct dw_node){.text = "", .at = {table->file, line->row->number, (int)line->n + 1}};
    }
    return dw_table__head(table, line->nodes, line->n);
}

static bool refuse_headless(struct reading *reading)
{
    struct dw_table *table = reading->table;
    const struct dw_grid_row *first = &reading->sheet->rows[0];
    struct dw_place at = {table->file, first->cells[0]->line, first->cells[0]->at};
    char proposal[DW_PROPOSAL];
    if (first->cells[first->n_cells - 1]->column > DW_KEY_LIMIT) {
        dw_reader__say(table->reader, DW_WRONG, at, "more than %d columns", DW_KEY_LIMIT);
        return true;
    }
    dw_table__propose(table, reading->sheet, proposal);
    if (table->may_lack_head && strcmp(proposal, "label=A,length=B,count=C") == 0 &&
        reading->sheet->n_columns == 3) {
        table->choice.columns = "label=A,length=B,count=C";
        return false;
    }
    if (proposal[0])
        dw_reader__say(table->reader, DW_WRONG, at,
                       "no row names the columns; if they are %s, say so with `columns`", proposal);
    else
        dw_reader__say(
            table->reader, DW_WRONG, at,
            "none of these cells names a column; the first row of a table says what each "
            "column holds, such as length");
    return true;
}

/* --- rows ------------------------------------------------------------------------------------ */

static void keep_map(struct reading *reading, struct dw_node *map)
{
    if (reading->n_maps == DW_MAX_ROWS) {
        dw_reader__say(reading->table->reader, DW_WRONG, map->at, "more than %d rows", DW_MAX_ROWS);
        return;
    }
    if (dw_array__grow(&reading->maps, &reading->map_capacity, reading->n_maps + 1,
                       sizeof(struct dw_node *)))
        reading->maps[reading->n_maps++] = map;
    else
        reading->table->reader->no_memory = true;
}

/* Above a list without heading stands what has no length yet. */
static bool is_above(const struct reading *reading)
{
    const struct dw_table *table = reading->table;
    for (size_t i = 0; i < table->n_columns && i < reading->line.n; i++)
        if (is_number_field(table, i) && reading->line.nodes[i].n > 0 &&
            strpbrk(reading->line.nodes[i].text, "0123456789"))
            return false;
    return reading->n_maps == 0;
}

static bool is_blank(const struct dw_table_line *line)
{
    for (size_t i = 0; i < line->n; i++)
        if (line->nodes[i].n > 0)
            return false;
    return true;
}

static void read_row(struct reading *reading, size_t r)
{
    struct dw_table *table = reading->table;
    const struct dw_grid_row *row = &reading->sheet->rows[r];
    enum dw_row_role role = DW_ROW_ABOVE;
    struct dw_node *map = NULL;
    dw_table__line(table, reading->sheet, row, &reading->line);
    if (is_blank(&reading->line))
        return;
    if (reading->head != DW_NONE && r == reading->head)
        role = DW_ROW_HEADING;
    else if (reading->head != DW_NONE && r < reading->head)
        dw_table__doubt_above(table, &reading->line);
    else if (reading->head != DW_NONE || !is_above(reading))
        map = dw_table__row(table, &reading->line, &role);
    if (map)
        keep_map(reading, map);
    tell(reading, role, map);
}

/* --- lengths that are out of scale ----------------------------------------------------------- */

struct measured {
    dw_length length;
    int64_t count;
    struct dw_place at;
};

static int by_length(const void *a, const void *b)
{
    const struct measured *x = a, *y = b;
    return (x->length > y->length) - (x->length < y->length);
}

/* Reads length and count of a row's map again; false if it has no length. */
static bool measure(const struct dw_table *table, const struct dw_node *map, struct measured *out)
{
    bool good = false;
    *out = (struct measured){0};
    for (size_t k = 0; k + 1 < map->n_items; k += 2) {
        const struct dw_node *value = map->items[k + 1];
        dw_length hi = 0;
        struct dw_error error = {0};
        if (strcmp(map->items[k]->text, "count") == 0)
            out->count = strtoll(value->text, NULL, 10);
        if (strcmp(map->items[k]->text, "length") != 0)
            continue;
        enum dw_unit bare = value->bare ? value->bare : table->reader->job->unit;
        out->at = value->at;
        good = dw_range_parse(value->text, value->n, bare, &out->length, &hi, &error) == DW_OK &&
               out->length > 0;
    }
    return good;
}

/* What is doubtful in a length, beside the middle one of the list; NULL: nothing. */
static const char *doubt_of(const struct measured *one, dw_length middle)
{
    if (one->length < TINY)
        return "this length is under 10 mm; is it in the right unit and column?";
    if (one->length > TALL)
        return "this length is over 15 m, longer than tube is sold; is its unit right, and its "
               "decimal mark?";
    if (one->length < SHORT && one->count > one->length / DW_NM_PER_MM)
        return "more pieces than millimetres; are length and count in the right columns?";
    if (one->length < middle / SCALE)
        return "this length is some hundred times shorter than the middle one of the list; is its "
               "unit right, and its decimal mark?";
    return NULL;
}

/* A length far from the middle one of the list has probably another unit or a lost mark. */
static void doubt_scale(struct reading *reading)
{
    struct measured *all = calloc(reading->n_maps + 1, sizeof *all);
    size_t n = 0;
    if (!all) {
        reading->table->reader->no_memory = true;
        return;
    }
    for (size_t i = 0; i < reading->n_maps; i++)
        n += measure(reading->table, reading->maps[i], &all[n]);
    qsort(all, n, sizeof *all, by_length);
    dw_length middle = n ? all[(n - 1) / 2].length : 0;
    for (size_t i = 0; i < n; i++) {
        const char *doubt = doubt_of(&all[i], middle);
        if (doubt)
            dw_reader__say(reading->table->reader, DW_DOUBT, all[i].at, "%s", doubt);
    }
    free(all);
}

/* --- the table ------------------------------------------------------------------------------- */

static struct dw_node *make_list(struct reading *reading)
{
    struct dw_reader *reader = reading->table->reader;
    struct dw_node *list = dw_arena__alloc(reader->tree, 1, sizeof *list);
    struct dw_node **items =
        dw_arena__alloc(reader->tree, reading->n_maps, sizeof(struct dw_node *));
    if (!list || !items) {
        reader->no_memory = true;
        return NULL;
    }
    if (reading->n_maps)
        memcpy(items, reading->maps, reading->n_maps * sizeof(struct dw_node *));
    *list = (struct dw_node){
        .kind = DW_NODE_LIST, .text = "", .items = items, .n_items = reading->n_maps};
    list->at = reading->table->header;
    return list;
}

static void read_sheet(struct reading *reading, struct dw_node **rows)
{
    struct dw_table *table = reading->table;
    if (reading->head == DW_NONE && !table->choice.columns && refuse_headless(reading))
        return;
    if (!start_line(reading) || !read_head(reading))
        return;
    see_marks(reading);
    for (size_t r = 0; r < reading->sheet->n_rows && !table->reader->no_memory; r++)
        read_row(reading, r);
    doubt_scale(reading);
    if (!table->reader->no_memory)
        *rows = make_list(reading);
}

/* What kept the file from being read, as a remark. */
static void say_unread(struct dw_table *table, dw_err err, const struct dw_error *error,
                       const char *name)
{
    struct dw_place at = {name, error->line ? error->line : 1, error->column ? error->column : 1};
    if (err == DW_ERR_NOMEM)
        table->reader->no_memory = true;
    else
        dw_reader__say(table->reader, DW_WRONG, at, "%s", error->text);
}

void dw_table__read(struct dw_table *table, const char *text, size_t n, const char *name,
                    struct dw_node **rows)
{
    struct dw_grid *grid = NULL;
    struct dw_error error = {0};
    struct reading reading = {.table = table};
    *rows = NULL;
    dw_err err = dw_grid__read(table->reader->tree, text, n, name, &grid, &error);
    if (err)
        say_unread(table, err, &error, name);
    if (!err && grid->other)
        dw_reader__say(table->reader, DW_NOTE, (struct dw_place){name, 1, 1},
                       "the text is not UTF-8 and is read as %s", grid->other);
    if (!err)
        reading.sheet = dw_table__find(table, grid, name, &reading.head);
    if (reading.sheet && reading.sheet->n_rows > 0)
        read_sheet(&reading, rows);
    else if (reading.sheet)
        dw_reader__say(table->reader, DW_WRONG, (struct dw_place){table->file, 1, 1},
                       "this sheet is empty");
    if (table->told && reading.sheet)
        table->told->sheet = reading.sheet->name;
    free(reading.line.nodes);
    free(reading.line.cells);
    free(reading.maps);
}
