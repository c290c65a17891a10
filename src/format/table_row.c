/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rows of a table: which are pieces, which are left out, and what is doubtful in their cells.
 */
#include "format/heading.h"
#include "format/table.h"

#include <string.h>

#define SUM_ROWS 2 /* so many rows before a sum of theirs is one */

/* --- what the columns are -------------------------------------------------------------------- */

static const struct dw_node *cell_of(const struct dw_table *table, const struct dw_table_line *line,
                                     bool (*wanted)(const struct dw_field *field))
{
    for (size_t i = 0; i < table->n_columns && i < line->n; i++)
        if (table->columns[i].field != DW_NONE && wanted(&table->fields[table->columns[i].field]))
            return &line->nodes[i];
    return NULL;
}

static bool is_first_name(const struct dw_field *field, const char *name)
{
    size_t n = strlen(name);
    return strncmp(field->names, name, n) == 0 && (field->names[n] == '|' || !field->names[n]);
}

static bool is_size(const struct dw_field *field)
{
    return is_first_name(field, "length");
}

static bool is_label(const struct dw_field *field)
{
    return is_first_name(field, "label");
}

static bool holds(const struct dw_node *node)
{
    return node && node->n > 0;
}

/* --- what a row adds up to ------------------------------------------------------------------- */

/* The length and the count of a row, where they can be read; 0 otherwise. */
struct figures {
    dw_length length;
    int64_t count;
};

static enum dw_unit unit_of(const struct dw_table *table, const struct dw_table_line *line,
                            size_t i)
{
    enum dw_unit bare = table->columns[i].bare;
    for (size_t k = 0; k < table->n_columns && k < line->n; k++) {
        if (table->columns[k].special != DW_MEANS_UNIT || !holds(&line->nodes[k]))
            continue;
        enum dw_unit said = dw_heading__unit(line->nodes[k].text, line->nodes[k].n);
        bare = said != DW_UNIT_NONE ? said : bare;
    }
    return bare;
}

static struct figures read_figures(const struct dw_table *table, const struct dw_table_line *line)
{
    struct figures figures = {0};
    for (size_t i = 0; i < table->n_columns && i < line->n; i++) {
        const struct dw_node *node = &line->nodes[i];
        if (table->columns[i].field == DW_NONE || node->n == 0)
            continue;
        const struct dw_field *field = &table->fields[table->columns[i].field];
        const char *text = node->text;
        size_t n = node->n;
        dw_length hi = 0;
        struct dw_error error = {0};
        if (is_size(field)) {
            enum dw_unit bare = unit_of(table, line, i);
            bare = bare ? bare : table->reader->job->unit;
            (void)dw_marks__settle(&table->marks, table->reader->tree, &text, &n, bare);
            if (dw_range_parse(text, n, bare, &figures.length, &hi, &error) != DW_OK)
                figures.length = 0;
        } else if (dw_table__counts(field)) {
            dw_heading__bare_count(&text, &n);
            for (size_t k = 0; k < n && figures.count < DW_MAX_PIECES; k++)
                figures.count =
                    text[k] >= '0' && text[k] <= '9' ? figures.count * 10 + (text[k] - '0') : 0;
        }
    }
    return figures;
}

static void add_up(struct dw_sums *sums, const struct figures *figures)
{
    dw_length times = 0;
    if (!dw_mul__i64(figures->length, figures->count, &times) ||
        !dw_add__i64(sums->times, times, &sums->times) ||
        !dw_add__i64(sums->length, figures->length, &sums->length) ||
        !dw_add__i64(sums->count, figures->count, &sums->count))
        *sums = (struct dw_sums){0};
    sums->n++;
}

static bool is_length_sum(const struct dw_sums *sums, dw_length length)
{
    return sums->n >= SUM_ROWS && length > 0 && (length == sums->length || length == sums->times);
}

static bool is_count_sum(const struct dw_sums *sums, int64_t count)
{
    return sums->n >= SUM_ROWS && count > 0 && count == sums->count;
}

/* --- totals ---------------------------------------------------------------------------------- */

/* What is there of a row, seen from outside. */
struct outline {
    bool named;         /* a word says total */
    bool named_exactly; /* and nothing else stands in that cell */
    bool whole;         /* nothing that a row needs is missing */
    bool count;
    bool length;
    bool label;
    bool item;     /* its number in the list */
    size_t other;  /* cells of columns that are read, beside count and length */
    size_t filled; /* cells of any column */
    struct figures figures;
};

static void look_at(const struct dw_table *table, const struct dw_table_line *line, size_t i,
                    struct outline *outline)
{
    size_t field = table->columns[i].field;
    const struct dw_node *node = i < line->n ? &line->nodes[i] : NULL;
    if (holds(node)) {
        bool exactly = false;
        outline->named |= dw_heading__is_total(node->text, node->n, &exactly);
        outline->named_exactly |= exactly;
        outline->filled++;
    }
    outline->item |= holds(node) && table->columns[i].special == DW_MEANS_ITEM &&
                     strspn(node->text, "0123456789.") == node->n;
    if (field == DW_NONE)
        return;
    const struct dw_field *what = &table->fields[field];
    bool count = dw_table__counts(what), length = dw_field__is_length(what);
    outline->whole &= holds(node) || !dw_table__needs(table, field);
    outline->count |= holds(node) && count;
    outline->length |= holds(node) && length;
    outline->label |= holds(node) && is_label(what);
    outline->other += holds(node) && !count && !length;
}

static struct outline outline_of(const struct dw_table *table, const struct dw_table_line *line)
{
    struct outline outline = {.whole = true};
    for (size_t i = 0; i < table->n_columns; i++)
        look_at(table, line, i, &outline);
    for (size_t i = table->n_columns; i < line->n; i++)
        outline.filled += holds(&line->nodes[i]);
    outline.figures = read_figures(table, line);
    return outline;
}

/* A row that says total, that holds a count and nothing else of use, or that has no label and is
 * the sum of the rows above. */
static bool is_total(const struct dw_table *table, const struct outline *outline)
{
    const struct figures *figures = &outline->figures;
    bool summed = is_length_sum(&table->all, figures->length) ||
                  is_length_sum(&table->since, figures->length) ||
                  is_count_sum(&table->all, figures->count) ||
                  is_count_sum(&table->since, figures->count);
    bool nameless = outline->other == 0 && table->labelled;
    return outline->named_exactly || (outline->named && !outline->whole) ||
           (outline->count && !outline->length && outline->other == 0 && !outline->whole) ||
           (nameless && summed);
}

/* Each figure of a row that says total is the sum of those above: then nothing is open. */
static bool is_proven_total(const struct dw_table *table, const struct outline *outline)
{
    const struct figures *figures = &outline->figures;
    bool length = is_length_sum(&table->all, figures->length) ||
                  is_length_sum(&table->since, figures->length);
    bool count =
        is_count_sum(&table->all, figures->count) || is_count_sum(&table->since, figures->count);
    return outline->named_exactly && (length || count) && (length || !outline->length) &&
           (count || !outline->count);
}

/* Sums of both columns in a row that has a label: no chance makes that. */
static bool is_masked_total(const struct dw_table *table, const struct outline *outline)
{
    const struct figures *figures = &outline->figures;
    return (outline->label && is_length_sum(&table->all, figures->length) &&
            is_count_sum(&table->all, figures->count)) ||
           (outline->named && (is_length_sum(&table->all, figures->length) ||
                               is_count_sum(&table->all, figures->count)));
}

/* --- cells ----------------------------------------------------------------------------------- */

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
    if (table->told_bare || cell->bare || !dw_field__is_length(&table->fields[column->field]) ||
        !is_bare(cell))
        return;
    table->told_bare = true;
    dw_reader__say(table->reader, DW_NOTE, column->key->at,
                   "the column names no unit; its bare numbers are taken in the job's unit, %s",
                   dw_unit_name(table->reader->job->unit));
}

static bool check_excess(struct dw_table *table, const struct dw_table_line *line)
{
    for (size_t i = 0; i < line->n; i++) {
        const struct dw_node *cell = &line->nodes[i];
        bool beyond = i >= table->n_columns;
        if (cell->n == 0 || (!beyond && (table->columns[i].title[0] || table->columns[i].key)))
            continue;
        if (table->workbook || table->choice.columns) {
            dw_reader__say(table->reader, DW_DOUBT, cell->at,
                           "`%.40s` stands beside the list and is passed over", cell->text);
            continue;
        }
        dw_reader__say(table->reader, DW_WRONG, cell->at,
                       beyond ? "the row has more cells than there are columns; a separator inside "
                                "a cell needs quotes"
                              : "`%.40s` stands in a column without a name",
                       cell->text);
        return false;
    }
    return true;
}

/* A length out of a formula may have more digits than a nanometre has: digits / 10^decimals of the
 * unit, to the nearest nanometre. */
static void round_computed(struct dw_table *table, const struct dw_cell *cell, struct dw_node *node)
{
    static const int64_t nm[] = {0, 1000000, 10000000, 1000000000, 25400000, 304800000};
    enum dw_unit unit = node->bare ? node->bare : table->reader->job->unit;
    int64_t digits = 0, scale = 1, twice = 0;
    const char *at = cell->value;
    bool behind = false;
    for (; (*at >= '0' && *at <= '9') || *at == '.'; at++) {
        if (*at == '.')
            behind = true;
        else if (!dw_mul__i64(digits, 10, &digits) || !dw_add__i64(digits, *at - '0', &digits) ||
                 (behind && !dw_mul__i64(scale, 10, &scale)))
            return;
    }
    if (*at || unit == DW_UNIT_NONE || !dw_muldiv__i64(digits, 2 * nm[unit], scale, &twice))
        return;
    char text[DW_LENGTH_TEXT];
    struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 6};
    dw_length_print(text, (twice + 1) / 2, &style);
    const char *copy = dw_arena__text(table->reader->tree, text);
    table->reader->no_memory |= copy == NULL;
    node->text = copy ? copy : "";
    node->n = strlen(node->text);
    dw_reader__say(table->reader, DW_NOTE, node->at, "%s is taken as %s, to the nanometre",
                   cell->value, text);
}

/* What a cell of a workbook holds must be what its column is for. */
static bool check_kind(struct dw_table *table, const struct dw_field *field,
                       const struct dw_cell *cell, struct dw_node *node)
{
    bool length = dw_field__is_length(field);
    bool number = length || dw_table__counts(field) || dw_field__is_money(field);
    const char *why = NULL;
    if (cell->kind == DW_CELL_FAULT)
        why = "`%.40s` is a formula that failed; mend it in the workbook";
    else if (cell->kind == DW_CELL_DATE && number)
        why = "the workbook holds a date here, `%.40s`; it may have made one of a fraction; write "
              "the number as text";
    else if (cell->kind == DW_CELL_YES && number)
        why = "`%.40s` is no number";
    else if (cell->covered && number)
        why = "`%.40s` is in a cell merged over several rows; write it in each of them";
    if (why) {
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
        dw_reader__say(table->reader, DW_WRONG, node->at, why, cell->text);
#pragma GCC diagnostic pop
        return false;
    }
    if (cell->kind == DW_CELL_DATE && cell->value) {
        node->text = cell->value;
        node->n = strlen(cell->value);
    }
    if (number && cell->struck)
        dw_reader__say(table->reader, DW_DOUBT, node->at,
                       "`%.40s` is struck through in the workbook", cell->text);
    if (number && cell->rounded)
        dw_reader__say(table->reader, DW_DOUBT, node->at,
                       "the cell shows %.40s but holds %.40s, which is taken", cell->text,
                       cell->value);
    if (number && cell->linked)
        dw_reader__say(table->reader, DW_DOUBT, node->at,
                       "%.40s comes from another workbook, as it was when this one was saved",
                       cell->text);
    if (length && cell->computed && cell->kind == DW_CELL_NUMBER)
        round_computed(table, cell, node);
    return true;
}

/* Both readings of `1.240`, each written so that it has only that one. */
static void say_doubtful(struct dw_table *table, const struct dw_node *node, const char *text)
{
    size_t mark = strcspn(text, ".,");
    const char *behind = text[mark] ? text + mark + 1 : "";
    size_t digits = strspn(behind, "0123456789");
    dw_reader__say(
        table->reader, DW_WRONG, node->at,
        "thousands or decimals? `%.40s` can be both, and no other number of the list says "
        "which; write %.*s%.*s or %.*s.%.*s0",
        text, (int)mark, text, (int)digits, behind, (int)mark, text, (int)digits, behind);
}

/* One reading of points and commas in a number that was typed. */
static bool settle_marks(struct dw_table *table, const struct dw_field *field, struct dw_node *node)
{
    bool length = dw_field__is_length(field);
    enum dw_unit unit = length ? node->bare ? node->bare : table->reader->job->unit : DW_UNIT_NONE;
    const char *before = node->text;
    if (!length && !dw_field__is_money(field))
        return true;
    switch (dw_marks__settle(&table->marks, table->reader->tree, &node->text, &node->n, unit)) {
    case DW_MARK_NO_MEMORY:
        table->reader->no_memory = true;
        return false;
    case DW_MARK_DOUBTFUL:
        say_doubtful(table, node, before);
        return false;
    case DW_MARK_SETTLED:
        node->quoting = DW_QUOTE_OTHER;
        dw_reader__say(table->reader, DW_NOTE, node->at,
                       "`%.40s` is read as %.40s, as the list's "
                       "other numbers are written",
                       before, node->text);
        return true;
    case DW_MARK_ODD:
        dw_reader__say(table->reader, DW_DOUBT, node->at,
                       "the list writes decimals with a comma (line %d) and with a point (line %d)",
                       table->marks.comma_at.line, table->marks.point_at.line);
        table->marks.comma = table->marks.point = false; /* said once */
        return true;
    case DW_MARK_CLEAR:
    default:
        return true;
    }
}

/* The value of a column in a row; NULL after a remark. */
static struct dw_node *make_value(struct dw_table *table, const struct dw_table_line *line,
                                  size_t i)
{
    struct dw_reader *reader = table->reader;
    const struct dw_column *column = &table->columns[i];
    const struct dw_field *field = &table->fields[column->field];
    bool there = i < line->n && line->nodes[i].n > 0;
    struct dw_node *value = dw_arena__alloc(reader->tree, 1, sizeof *value);
    if (!value) {
        reader->no_memory = true;
        return NULL;
    }
    *value = line->nodes[i < line->n ? i : line->n - 1];
    if (table->workbook && !there) {
        value->at.column = (int)i + 1;
        value->quoting = DW_QUOTE_OTHER;
    }
    if (!there) {
        value->kind = DW_NODE_NULL;
        value->text = "";
        value->n = 0;
        return value;
    }
    value->bare = dw_field__is_length(field) ? unit_of(table, line, i) : column->bare;
    if (dw_table__counts(field))
        dw_heading__bare_count(&value->text, &value->n);
    bool typed = line->cells[i]->kind == DW_CELL_TEXT;
    if (!check_kind(table, field, line->cells[i], value) ||
        (typed && !settle_marks(table, field, value)))
        return NULL;
    return value;
}

static struct dw_node *make_map(struct dw_table *table, const struct dw_table_line *line)
{
    struct dw_reader *reader = table->reader;
    struct dw_node *map = dw_arena__alloc(reader->tree, 1, sizeof *map);
    struct dw_node **items =
        dw_arena__alloc(reader->tree, 2 * table->n_columns, sizeof(struct dw_node *));
    bool good = true;
    if (!map || !items) {
        reader->no_memory = true;
        return NULL;
    }
    *map = (struct dw_node){.kind = DW_NODE_MAP, .text = "", .items = items};
    map->at = line->nodes[0].at;
    for (size_t i = 0; i < table->n_columns; i++) {
        const struct dw_column *column = &table->columns[i];
        bool empty = i >= line->n || line->nodes[i].n == 0;
        if (column->field == DW_NONE || (empty && !dw_table__needs(table, column->field)))
            continue;
        struct dw_node *value = make_value(table, line, i);
        good &= value != NULL;
        if (!value)
            continue;
        tell_bare(table, column, value);
        items[map->n_items++] = column->key;
        items[map->n_items++] = value;
    }
    return good ? map : NULL;
}

/* --- a row ----------------------------------------------------------------------------------- */

/* The heading again, as on each printed page. */
static bool is_heading(const struct dw_table *table, const struct dw_table_line *line)
{
    size_t same = 0;
    for (size_t i = 0; i < line->n; i++) {
        char cell[DW_HEADING_TEXT], title[DW_HEADING_TEXT];
        if (line->nodes[i].n == 0)
            continue;
        dw_heading__fold(cell, line->nodes[i].text, line->nodes[i].n);
        dw_heading__fold(title, i < table->n_columns ? table->columns[i].title : "",
                         i < table->n_columns ? strlen(table->columns[i].title) : 0);
        if (strcmp(cell, title) != 0)
            return false;
        same++;
    }
    return same >= 2;
}

/* A line of units below the heading: mm under the length. It tells the columns' units. */
static bool is_units(struct dw_table *table, const struct dw_table_line *line)
{
    bool any = false;
    if (table->all.n > 0)
        return false;
    for (size_t i = 0; i < line->n; i++) {
        const struct dw_node *node = &line->nodes[i];
        bool exactly = false;
        if (node->n == 0)
            continue;
        enum dw_unit unit = dw_heading__unit(node->text, node->n);
        bool length = i < table->n_columns && table->columns[i].field != DW_NONE &&
                      dw_field__is_length(&table->fields[table->columns[i].field]);
        enum dw_unit none = DW_UNIT_NONE;
        bool word = unit != DW_UNIT_NONE ||
                    dw_heading__read(node->text, node->n, &none) == DW_MEANS_COUNT ||
                    (node->n == 1 && strchr("-/", node->text[0]));
        if (!word || dw_heading__is_total(node->text, node->n, &exactly))
            return false;
        any |= length && unit != DW_UNIT_NONE;
    }
    for (size_t i = 0; any && i < line->n && i < table->n_columns; i++) {
        size_t field = table->columns[i].field;
        if (field != DW_NONE && dw_field__is_length(&table->fields[field]) && line->nodes[i].n)
            table->columns[i].bare = dw_heading__unit(line->nodes[i].text, line->nodes[i].n);
    }
    return any;
}

/* The first cell that holds something. */
static const struct dw_node *first_of(const struct dw_table_line *line)
{
    for (size_t i = 0; i < line->n; i++)
        if (line->nodes[i].n > 0)
            return &line->nodes[i];
    return &line->nodes[0];
}

static enum dw_row_role say_left_out(struct dw_table *table, const struct dw_table_line *line,
                                     enum dw_row_role role, bool clear, const char *what)
{
    const struct dw_node *first = first_of(line);
    dw_reader__say(table->reader, clear ? DW_NOTE : DW_DOUBT, first->at, "left out: %s (`%.40s`)",
                   what, first->text);
    return role;
}

/* The title of a group, which nobody takes for a part whose figures are missing: it ends with a
 * colon, or stands beside the column of labels. */
static bool is_group(const struct dw_table *table, const struct dw_table_line *line,
                     const struct outline *outline)
{
    const struct dw_node *first = first_of(line);
    return outline->filled == 1 &&
           (first->text[first->n - 1] == ':' || (table->labelled && !outline->label));
}

/* All of it: a part that was taken out of the list by hand. */
static bool is_struck(const struct dw_table_line *line)
{
    size_t filled = 0, struck = 0;
    for (size_t i = 0; i < line->n; i++) {
        filled += line->nodes[i].n > 0;
        struck += line->nodes[i].n > 0 && line->cells[i] && line->cells[i]->struck;
    }
    return filled > 0 && struck == filled;
}

/* What a row is, before its cells are read; DW_ROW_TAKEN if it is to be. */
static enum dw_row_role judge(struct dw_table *table, const struct dw_table_line *line,
                              const struct outline *outline)
{
    if (line->row->hidden)
        return say_left_out(table, line, DW_ROW_HIDDEN, false, "the workbook hides this row");
    if (is_struck(line))
        return say_left_out(table, line, DW_ROW_HIDDEN, false,
                            "the workbook strikes this row through");
    if (is_heading(table, line) || is_units(table, line))
        return DW_ROW_REPEATED;
    if (is_total(table, outline))
        return say_left_out(table, line, DW_ROW_TOTAL, is_proven_total(table, outline),
                            "this looks like a row of totals");
    if (!outline->count && !outline->length && !outline->whole && !outline->item &&
        outline->other == outline->label)
        return say_left_out(table, line, DW_ROW_ASIDE, is_group(table, line, outline),
                            "a row with neither length nor count");
    if (!is_masked_total(table, outline))
        return DW_ROW_TAKEN;
    dw_reader__say(table->reader, DW_WRONG, first_of(line)->at,
                   "`%.40s` has the sum of the rows above; delete it if it is a total, put it "
                   "higher up if not",
                   first_of(line)->text);
    return DW_ROW_REFUSED;
}

struct dw_node *dw_table__row(struct dw_table *table, struct dw_table_line *line,
                              enum dw_row_role *role)
{
    const struct outline outline = outline_of(table, line);
    *role = judge(table, line, &outline);
    if (*role == DW_ROW_TOTAL || *role == DW_ROW_ASIDE)
        table->since = (struct dw_sums){0};
    if (*role != DW_ROW_TAKEN)
        return NULL;
    struct dw_node *map = check_excess(table, line) ? make_map(table, line) : NULL;
    if (!map) {
        *role = DW_ROW_REFUSED;
        return NULL;
    }
    if (table->labelled && outline.other == 0 && outline.length && outline.count)
        dw_reader__say(table->reader, DW_DOUBT, first_of(line)->at,
                       "this row has no label, though others have one; delete it if it is a total");
    dw_table__doubt_sum(table, line, outline.figures.length, outline.figures.count);
    add_up(&table->all, &outline.figures);
    add_up(&table->since, &outline.figures);
    table->labelled |= outline.label && holds(cell_of(table, line, is_label));
    return map;
}
