/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From records to the cells of a sheet. */
#include "job/leaf.h"

#include "model/caution.h"

#include <stdlib.h>
#include <string.h>

/* --- columns ---------------------------------------------------------------------------------- */

static bool is_length(const struct dw_member *member)
{
    return member && (member->kind == DW_VALUE_LENGTH || member->kind == DW_VALUE_GIVEN);
}

static const struct dw_member *find_member(const struct dw_leaf_column *column)
{
    for (size_t i = 0; column->of && i < column->of->n; i++)
        if (strcmp(column->of->members[i].name, column->member) == 0)
            return &column->of->members[i];
    return NULL;
}

static const char *unit_of(const struct dw_member *member, bool inches)
{
    if (is_length(member))
        return inches ? ", in" : ", mm";
    if (member && member->kind == DW_VALUE_WEIGHT)
        return ", kg";
    return member && member->kind == DW_VALUE_RATE ? ", %" : "";
}

static void add_column(struct dw_leaf *leaf, const struct dw_leaf_column *column, bool inches)
{
    size_t i = leaf->n_columns;
    if (i == DW_LEAF_MOST) {
        leaf->to->failed = true;
        return;
    }
    leaf->at[i].column = column;
    leaf->at[i].member = find_member(column);
    leaf->at[i].inches = inches;
    const char *unit = unit_of(leaf->at[i].member, inches);
    leaf->sheet_columns[i].width = column->width;
    leaf->sheet_columns[i].title =
        *unit ? dw_tables__format(leaf->to, "%s%s", column->title, unit) : column->title;
    leaf->n_columns++;
}

void dw_leaf__begin(struct dw_leaf *leaf, struct dw_tables *to, const char *name,
                    const struct dw_leaf_column *columns, size_t n)
{
    *leaf = (struct dw_leaf){.to = to, .name = name, .title = to->title};
    bool inches = to->job->unit == DW_UNIT_IN || to->job->unit == DW_UNIT_FT;
    for (size_t i = 0; i < n; i++) {
        const struct dw_member *member = find_member(&columns[i]);
        bool inside = (columns[i].as & DW_LEAF_INSIDE) || (member && member->inside);
        if (columns[i].of && !member)
            to->failed = true; /* a mistake in the columns */
        if (inside && to->client)
            continue;
        if (inches && is_length(member))
            add_column(leaf, &columns[i], true);
        add_column(leaf, &columns[i], false);
    }
}

/* --- rows ------------------------------------------------------------------------------------- */

static struct dw_sheet_cell *last_row(struct dw_leaf *leaf)
{
    return leaf->n_rows ? &leaf->cells[(leaf->n_rows - 1) * leaf->n_columns] : NULL;
}

void dw_leaf__row(struct dw_leaf *leaf)
{
    size_t need = (leaf->n_rows + 1) * leaf->n_columns;
    if (leaf->to->failed)
        return;
    if (!dw_array__grow(&leaf->cells, &leaf->capacity, need, sizeof *leaf->cells)) {
        leaf->to->failed = true;
        return;
    }
    leaf->n_rows++;
    memset(last_row(leaf), 0, leaf->n_columns * sizeof *leaf->cells);
}

static struct dw_sheet_cell text_cell(const char *text, bool date)
{
    enum dw_sheet_kind kind = date ? DW_SHEET_DATE : DW_SHEET_TEXT;
    return (struct dw_sheet_cell){.kind = text ? kind : DW_SHEET_EMPTY, .text = text};
}

static struct dw_sheet_cell number_cell(int64_t value, int decimals, int shown)
{
    return (struct dw_sheet_cell){
        .kind = DW_SHEET_NUMBER, .value = value, .decimals = decimals, .shown = shown};
}

static struct dw_sheet_cell money_cell(const struct dw_leaf *leaf, dw_money money)
{
    const struct dw_currency *found = dw_currency_find(leaf->to->job->currency);
    return number_cell(money, 4, found ? found->decimals : 2);
}

/* Millimetres, exact; inches to a millionth, in which 64ths are exact. */
static struct dw_sheet_cell length_cell(dw_length nm, bool inches)
{
    struct dw_sheet_cell cell = number_cell(nm, 6, 0);
    if (inches && dw_muldiv__i64(nm, 10, 254, &cell.value)) {
        cell.value += nm * 10 % 254 >= 127;
        cell.kind = DW_SHEET_INCHES;
    }
    return cell;
}

static struct dw_sheet_cell weight_cell(int64_t mg)
{
    return mg < 0 ? (struct dw_sheet_cell){0} : number_cell((mg + 500) / 1000, 3, 3);
}

static const char *name_at(const struct dw_job *job, enum dw_value_kind kind, size_t index)
{
    if (index == DW_NONE)
        return NULL;
    switch (kind) {
    case DW_VALUE_ID:
    case DW_VALUE_SUPPLY:
        return job->supplies[index].id;
    case DW_VALUE_MATERIAL:
        return job->materials[index].id;
    case DW_VALUE_PART:
        return job->parts[index].label;
    case DW_VALUE_ORDER:
        return job->orders[index].name;
    case DW_VALUE_SUPPLIER:
        return job->suppliers[index].name;
    default:
        return NULL;
    }
}

static struct dw_sheet_cell cell_of(const struct dw_leaf *leaf, size_t i, const void *at)
{
    const struct dw_member *member = leaf->at[i].member;
    int64_t value = 0;
    switch (member->kind) {
    case DW_VALUE_INTEGER:
        return number_cell(*(const int64_t *)at, 0, 0);
    case DW_VALUE_COUNT:
        return number_cell((int64_t) * (const size_t *)at, 0, 0);
    case DW_VALUE_LENGTH:
        return length_cell(*(const dw_length *)at, leaf->at[i].inches);
    case DW_VALUE_GIVEN:
        value = *(const dw_length *)at;
        return value ? length_cell(value, leaf->at[i].inches) : (struct dw_sheet_cell){0};
    case DW_VALUE_MONEY:
        return money_cell(leaf, *(const dw_money *)at);
    case DW_VALUE_WORD:
        return text_cell(member->words->words[*(const unsigned *)at], false);
    case DW_VALUE_YES:
        return text_cell(*(const bool *)at ? "yes" : NULL, false);
    case DW_VALUE_ANGLE:
        return number_cell(*(const int64_t *)at, 6, 0);
    case DW_VALUE_WEIGHT:
        return weight_cell(*(const int64_t *)at);
    case DW_VALUE_RATE:
        value = *(const int64_t *)at;
        return value < 0 ? (struct dw_sheet_cell){0} : number_cell(value, 4, 0);
    case DW_VALUE_TEXT:
        return text_cell(*(const char *const *)at, leaf->at[i].column->as & DW_LEAF_DATE);
    default:
        return text_cell(name_at(leaf->to->job, member->kind, *(const size_t *)at), false);
    }
}

void dw_leaf__put(struct dw_leaf *leaf, const struct dw_member_table *of, const void *record)
{
    struct dw_sheet_cell *row = last_row(leaf);
    for (size_t i = 0; row && i < leaf->n_columns; i++) {
        const struct dw_member *member = leaf->at[i].member;
        if (member && leaf->at[i].column->of == of)
            row[i] = cell_of(leaf, i, (const char *)record + member->offset);
    }
}

/* Puts a cell wherever a column has that title. */
static void put_at(struct dw_leaf *leaf, const char *title, struct dw_sheet_cell cell)
{
    struct dw_sheet_cell *row = last_row(leaf);
    for (size_t i = 0; row && i < leaf->n_columns; i++)
        if (strcmp(leaf->at[i].column->title, title) == 0)
            row[i] = cell;
}

void dw_leaf__text(struct dw_leaf *leaf, const char *title, const char *text)
{
    put_at(leaf, title, text_cell(text, false));
}

void dw_leaf__count(struct dw_leaf *leaf, const char *title, int64_t value)
{
    put_at(leaf, title, number_cell(value, 0, 0));
}

void dw_leaf__money(struct dw_leaf *leaf, const char *title, dw_money money)
{
    put_at(leaf, title, money_cell(leaf, money));
}

void dw_leaf__clear(struct dw_leaf *leaf, const char *title)
{
    put_at(leaf, title, (struct dw_sheet_cell){0});
}

/* The column with that title in a sheet that is made; n_columns if it has none. */
static size_t column_of(const struct dw_sheet *sheet, const char *title)
{
    size_t i = 0;
    while (i < sheet->n_columns && strcmp(sheet->columns[i].title, title) != 0)
        i++;
    return i;
}

void dw_leaf__sum_of(struct dw_leaf *leaf, const char *title, size_t sheet)
{
    const struct dw_sheet *from = &leaf->to->sheets[sheet];
    size_t column = column_of(from, title);
    if (column == from->n_columns || from->n_strong == 0) {
        leaf->to->failed = true;
        return;
    }
    struct dw_sheet_cell cell =
        from->cells[(from->n_rows - from->n_notes - from->n_strong) * from->n_columns + column];
    cell.kind = DW_SHEET_OF;
    cell.sheet = sheet;
    cell.column = column;
    put_at(leaf, title, cell);
}

/* --- sums and remarks --------------------------------------------------------------------------
 */

/* The sum of a column, shown as its rows are. */
static struct dw_sheet_cell sum_cell(struct dw_leaf *leaf, size_t column)
{
    struct dw_sheet_cell sum = {.kind = DW_SHEET_SUM};
    for (size_t r = 0; r + 1 < leaf->n_rows; r++) {
        const struct dw_sheet_cell *cell = &leaf->cells[r * leaf->n_columns + column];
        if (cell->kind == DW_SHEET_EMPTY || cell->kind == DW_SHEET_TEXT)
            continue;
        sum.decimals = cell->decimals;
        sum.shown = cell->shown;
        if (!dw_add__i64(sum.value, cell->value, &sum.value))
            leaf->to->failed = true;
    }
    return sum;
}

void dw_leaf__sums(struct dw_leaf *leaf, const char *word)
{
    if (leaf->to->csv || leaf->n_rows == 0)
        return;
    dw_leaf__row(leaf);
    struct dw_sheet_cell *row = last_row(leaf);
    if (leaf->to->failed)
        return;
    for (size_t i = 0; i < leaf->n_columns; i++) {
        unsigned as = leaf->at[i].column->as;
        if (as & DW_LEAF_SUM)
            row[i] = sum_cell(leaf, i);
        else if (as & DW_LEAF_NOTE)
            row[i] = text_cell(word, false);
        else if (as & DW_LEAF_SAME)
            row[i] = leaf->cells[i];
    }
    leaf->n_strong++;
}

void dw_leaf__no_sum(struct dw_leaf *leaf, const char *title)
{
    if (leaf->n_strong > 0)
        dw_leaf__clear(leaf, title);
}

void dw_leaf__note(struct dw_leaf *leaf, const char *word, const char *text)
{
    dw_leaf__row(leaf);
    struct dw_sheet_cell *row = last_row(leaf);
    for (size_t i = 0; row && i < leaf->n_columns; i++) {
        if (leaf->at[i].column->as & DW_LEAF_NOTE)
            row[i] = text_cell(text, false);
        if (leaf->at[i].column->as & DW_LEAF_WORD)
            row[i] = text_cell(word, false);
    }
    leaf->n_notes += row != NULL;
}

void dw_leaf__cautions(struct dw_leaf *leaf, const struct dw_care *care,
                       enum dw_caution_place place)
{
    const struct dw_length_style style = dw_job__style(leaf->to->job);
    for (unsigned i = 0; i < DW_N_CAUTIONS; i++) {
        struct dw_buf text = {0};
        if (!dw_care__shows(care, (enum dw_caution)i, place))
            continue;
        dw_care__text(&text, care, (enum dw_caution)i, &style);
        char *own = dw_buf__take(&text);
        dw_leaf__note(leaf, "caution", own ? dw_tables__format(leaf->to, "%s", own) : NULL);
        leaf->to->failed = leaf->to->failed || !own;
        free(own);
    }
}

/* --- the sheet -------------------------------------------------------------------------------- */

void dw_leaf__end(struct dw_leaf *leaf)
{
    struct dw_tables *to = leaf->to;
    struct dw_sheet_column *columns =
        dw_arena__alloc(to->arena, leaf->n_columns + 1, sizeof *columns);
    struct dw_sheet_cell *cells =
        dw_arena__alloc(to->arena, leaf->n_rows * leaf->n_columns + 1, sizeof *cells);
    if (!columns || !cells ||
        !dw_array__grow(&to->sheets, &to->capacity, to->n_sheets + 1, sizeof *to->sheets))
        to->failed = true;
    if (!to->failed) {
        memcpy(columns, leaf->sheet_columns, leaf->n_columns * sizeof *columns);
        if (leaf->n_rows > 0)
            memcpy(cells, leaf->cells, leaf->n_rows * leaf->n_columns * sizeof *cells);
        to->sheets[to->n_sheets++] = (struct dw_sheet){.name = leaf->name,
                                                       .title = leaf->title,
                                                       .n_columns = leaf->n_columns,
                                                       .columns = columns,
                                                       .n_rows = leaf->n_rows,
                                                       .cells = cells,
                                                       .n_notes = leaf->n_notes,
                                                       .n_strong = leaf->n_strong};
    }
    free(leaf->cells);
    *leaf = (struct dw_leaf){0};
}
