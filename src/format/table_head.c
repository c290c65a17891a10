/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The header row of a table. */
#include "format/heading.h"
#include "format/table.h"

#include <stdio.h>
#include <string.h>

/* Drops blanks and opening marks at the end: "length (" and "length in " become "length". */
static size_t cut_tail(const char *folded, size_t n)
{
    for (;;) {
        while (n > 0 && strchr(" ([,/", folded[n - 1]))
            n--;
        if (n < 3 || memcmp(folded + n - 3, " in", 3) != 0)
            return n;
        n -= 3;
    }
}

/* "length (mm)": where the last word begins and ends, and where what comes before it ends. */
static void split_last(const char *folded, size_t *begin, size_t *end, size_t *before)
{
    *end = strlen(folded);
    while (*end > 0 && strchr(" )].", folded[*end - 1]))
        --*end;
    *begin = *end;
    while (*begin > 0 && !strchr(" ([,/", folded[*begin - 1]))
        --*begin;
    *before = cut_tail(folded, *begin);
}

static bool is_currency(const struct dw_reader *reader, const char *word, size_t n)
{
    char code[DW_KEY_TEXT];
    dw_key__fold(code, reader->job->currency, strlen(reader->job->currency));
    return strlen(code) == n && memcmp(code, word, n) == 0;
}

/* The field of a name or of a name and a unit, as jobs have them. */
static size_t find_by_name(const struct dw_table *table, const char *text, size_t n,
                           enum dw_unit *unit)
{
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, text, n);
    size_t field = dw_field__find(table->fields, table->n_fields, folded);
    if (field != DW_NONE)
        return field;
    size_t begin = 0, end = 0, before = 0;
    split_last(folded, &begin, &end, &before);
    enum dw_unit found = dw_unit_find(folded + begin, end - begin);
    bool money = is_currency(table->reader, folded + begin, end - begin);
    folded[before] = '\0';
    field = dw_field__find(table->fields, table->n_fields, folded);
    if (field != DW_NONE && found != DW_UNIT_NONE && dw_field__is_length(&table->fields[field]))
        *unit = found;
    else if (field == DW_NONE || !money || !dw_field__is_money(&table->fields[field]))
        return DW_NONE;
    return field;
}

bool dw_table__counts(const struct dw_field *field)
{
    return field->read == dw_read__count || field->read == dw_read__cap;
}

size_t dw_table__column(const struct dw_table *table, const char *text, size_t n,
                        enum dw_unit *unit, int *special)
{
    *unit = DW_UNIT_NONE;
    *special = DW_MEANS_NOTHING;
    enum dw_unit said = DW_UNIT_NONE;
    enum dw_meaning meaning = dw_heading__read(text, n, &said);
    char key[DW_KEY_TEXT];
    size_t field = find_by_name(table, text, n, unit);
    /* `In stock` is no stock in inches. */
    if (meaning == DW_MEANS_ASIDE &&
        dw_field__find(table->fields, table->n_fields, dw_key__fold(key, text, n)) == DW_NONE)
        field = DW_NONE;
    /* `No.` may be how many or which one. */
    if (field != DW_NONE && !(meaning == DW_MEANS_ITEM && dw_table__counts(&table->fields[field])))
        return field;
    const char *name = dw_heading__field(meaning);
    if (!name) {
        *special = (int)meaning;
        return DW_NONE;
    }
    field = dw_field__find(table->fields, table->n_fields, name);
    if (field != DW_NONE && dw_field__is_length(&table->fields[field]))
        *unit = said;
    return field;
}

static void explain_unknown(struct dw_table *table, const struct dw_node *cell)
{
    char folded[DW_KEY_TEXT], name[DW_KEY_TEXT];
    dw_key__fold(folded, cell->text, cell->n);
    size_t guess = dw_field__guess(table->fields, table->n_fields, folded);
    if (guess != DW_NONE)
        dw_reader__say(table->reader, DW_WRONG, cell->at,
                       "column `%.60s` is not known; did you mean `%s`?", cell->text,
                       dw_field__name(name, &table->fields[guess]));
    else
        dw_reader__say(table->reader, DW_DOUBT, cell->at,
                       "column `%.60s` is not known here and is passed over", cell->text);
}

/* Whether the field has a column of its own that was chosen. */
static bool is_chosen(const struct dw_table *table, size_t field)
{
    return field < DW_FIELD_MAX && table->chosen[field] > 0;
}

/* The field that was chosen for column number `column`, from 1. */
static size_t chosen_field(const struct dw_table *table, size_t column)
{
    for (size_t i = 0; i < table->n_fields; i++)
        if (is_chosen(table, i) && (size_t)table->chosen[i] == column)
            return i;
    return DW_NONE;
}

/* The key that stands for the column in each row's map: the field's own name. */
static struct dw_node *make_key(struct dw_table *table, const struct dw_node *cell, size_t field)
{
    struct dw_reader *reader = table->reader;
    char name[DW_KEY_TEXT];
    dw_field__name(name, &table->fields[field]);
    struct dw_node *key = dw_arena__alloc(reader->tree, 1, sizeof *key);
    const char *text = dw_arena__text(reader->tree, name);
    if (!key || !text) {
        reader->no_memory = true;
        return NULL;
    }
    *key = (struct dw_node){.kind = DW_NODE_SCALAR, .quoting = DW_QUOTE_OTHER};
    key->text = text;
    key->n = strlen(text);
    key->at = cell->at;
    return key;
}

static bool is_repeated(struct dw_table *table, const struct dw_node *cell, size_t field)
{
    for (size_t i = 0; i + 1 < table->n_columns; i++) {
        char name[DW_KEY_TEXT];
        if (table->columns[i].field != field)
            continue;
        if (strcmp(dw_field__name(name, &table->fields[field]), "label") == 0)
            dw_reader__say(table->reader, DW_DOUBT, cell->at,
                           "column `%.60s` names the pieces too and is passed over", cell->text);
        else
            dw_reader__say(table->reader, DW_WRONG, cell->at,
                           "columns `%.60s` and `%.60s` both say `%s`; rename or drop one",
                           table->columns[i].title, cell->text,
                           dw_field__name(name, &table->fields[field]));
        return true;
    }
    return false;
}

static bool add_column(struct dw_table *table, const struct dw_node *cell)
{
    size_t chosen = chosen_field(table, table->n_columns + 1);
    struct dw_column *column = &table->columns[table->n_columns++];
    *column =
        (struct dw_column){.field = DW_NONE, .title = cell->text, .special = DW_MEANS_NOTHING};
    if (cell->n == 0 && chosen == DW_NONE)
        return true;
    size_t field = dw_table__column(table, cell->text, cell->n, &column->bare, &column->special);
    if (chosen != DW_NONE) {
        enum dw_unit unit = DW_UNIT_NONE;
        dw_heading__read(cell->text, cell->n, &unit);
        field = chosen;
        column->special = DW_MEANS_NOTHING;
        column->bare = dw_field__is_length(&table->fields[field]) ? unit : DW_UNIT_NONE;
    } else if (field != DW_NONE && is_chosen(table, field))
        return true;
    if (field == DW_NONE) {
        if (column->special == DW_MEANS_NOTHING)
            explain_unknown(table, cell);
        else if (column->special == DW_MEANS_ASIDE)
            dw_reader__say(table->reader, DW_NOTE, cell->at, "column `%.60s` is passed over",
                           cell->text);
        return true;
    }
    if (is_repeated(table, cell, field))
        return dw_field__find(table->fields, table->n_fields, "label") == field;
    column->field = field;
    column->key = make_key(table, cell, field);
    return column->key != NULL;
}

/* Where no column names the pieces, their numbers in the list do. */
static bool name_by_item(struct dw_table *table, const struct dw_node *cells)
{
    size_t label = dw_field__find(table->fields, table->n_fields, "label");
    bool named = label == DW_NONE;
    for (size_t i = 0; i < table->n_columns; i++)
        named |= table->columns[i].field == label;
    for (size_t i = 0; !named && i < table->n_columns; i++) {
        struct dw_column *column = &table->columns[i];
        if (column->special != DW_MEANS_ITEM)
            continue;
        column->field = label;
        column->key = make_key(table, &cells[i], label);
        return column->key != NULL;
    }
    return true;
}

/* Names of a field for a message: "count (or qty, quantity, pcs)". */
static void list_names(char *out, size_t room, const struct dw_field *field)
{
    size_t used = 0;
    size_t n = 0;
    for (const char *name = field->names; *name && used + 8 < room; n++) {
        size_t length = strcspn(name, "|");
        int put = snprintf(out + used, room - used, "%s%.*s",
                           n == 0   ? ""
                           : n == 1 ? " (or "
                                    : ", ",
                           (int)length, name);
        used += put > 0 ? (size_t)put : 0;
        name += length + (name[length] == '|');
    }
    if (n > 1 && used + 1 < room)
        snprintf(out + used, room - used, ")");
}

static bool has_column(const struct dw_table *table, size_t field)
{
    for (size_t i = 0; i < table->n_columns; i++)
        if (table->columns[i].field == field)
            return true;
    return false;
}

bool dw_table__needs(const struct dw_table *table, size_t field)
{
    enum dw_need need = table->fields[field].need;
    if (need != DW_ONE_OF)
        return need != DW_MAY && need != DW_INSTEAD;
    for (size_t i = 0; i < table->n_fields; i++) {
        if (table->fields[i].need == DW_INSTEAD && has_column(table, i))
            return false;
    }
    return true;
}

static bool check_columns(struct dw_table *table)
{
    bool good = true;
    for (size_t i = 0; i < table->n_fields; i++) {
        char names[256];
        bool material = strncmp(table->fields[i].names, "material", 8) == 0;
        bool needed =
            dw_table__needs(table, i) || (material && table->reader->job->n_materials > 1 &&
                                          table->reader->n_file_material == 0);
        if (!needed || has_column(table, i))
            continue;
        list_names(names, sizeof names, &table->fields[i]);
        dw_reader__say(table->reader, DW_WRONG, table->header, "%s needs a column %s", table->what,
                       names);
        good = false;
    }
    return good;
}

bool dw_table__head(struct dw_table *table, const struct dw_node *cells, size_t n_cells)
{
    bool good = true;
    table->header = cells[0].at;
    if (n_cells > DW_KEY_LIMIT) {
        dw_reader__say(table->reader, DW_WRONG, table->header, "more than %d columns",
                       DW_KEY_LIMIT);
        return false;
    }
    for (size_t i = 0; i < n_cells; i++)
        good &= add_column(table, &cells[i]);
    good = good && name_by_item(table, cells);
    return check_columns(table) && good;
}

/* --- chosen columns --------------------------------------------------------------------------- */

/* Column of what is written behind the equals sign: its letters, or its heading. 0: none. */
static int find_target(const char *text, size_t n, const struct dw_table_line *line)
{
    char wanted[DW_HEADING_TEXT], title[DW_HEADING_TEXT];
    dw_heading__fold(wanted, text, n);
    for (size_t i = 0; line && i < line->n; i++) {
        dw_heading__fold(title, line->nodes[i].text, line->nodes[i].n);
        if (*wanted && strcmp(wanted, title) == 0)
            return (int)i + 1;
    }
    int column = dw_cell__column(text, n);
    return column <= DW_KEY_LIMIT ? column : 0;
}

static bool choose_one(struct dw_table *table, const char *text, size_t n,
                       const struct dw_table_line *line)
{
    const char *equals = memchr(text, '=', n);
    size_t before = equals ? (size_t)(equals - text) : n;
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, text, before);
    size_t field = dw_field__find(table->fields, table->n_fields, folded);
    const char *target = equals ? equals + 1 : text + n;
    size_t length = (size_t)(text + n - target);
    for (; length > 0 && *target == ' '; length--)
        target++;
    while (length > 0 && target[length - 1] == ' ')
        length--;
    int column = equals && length ? find_target(target, length, line) : 0;
    if (field == DW_NONE)
        dw_reader__say(table->reader, DW_WRONG, table->choice.at,
                       "columns: `%.*s` is nothing that a row has; write them as "
                       "label=B,length=D,count=E",
                       (int)(before < 60 ? before : 60), text);
    else if (column == 0)
        dw_reader__say(table->reader, DW_WRONG, table->choice.at,
                       "columns: `%.*s` is no column; write its letter or its heading",
                       (int)(length < 60 ? length : 60), target);
    else
        table->chosen[field] = column;
    return field != DW_NONE && column > 0;
}

bool dw_table__choose(struct dw_table *table, const struct dw_table_line *line)
{
    bool good = true;
    for (const char *at = table->choice.columns; at && *at;) {
        size_t n = strcspn(at, ",");
        good &= choose_one(table, at, n, line);
        at += n + (at[n] == ',');
    }
    return good;
}
