/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise list: how each row of a list was understood, and the clean table of it. */
#include "cli/commands/kinds.h"
#include "cli/commands/list_drawing.h"
#include "cli/terminal/json.h"
#include "cli/terminal/page.h"

#include "job/sketched.h"

#include <dropwise/list.h>

#include <stdlib.h>
#include <string.h>

#define SHOWN_MOST (DW_CLI_COLUMNS_MAX - 2) /* beside the row's number and the length as read */

/* What a run of the command holds. */
struct listing {
    const struct dw_cli_args *args;
    struct dw_cli_page page;
    struct dw_report report;
    struct dw_list *list;
};

/* --- JSON ----------------------------------------------------------------------------------------
 */

static json_t *texts_json(const char *const *texts, size_t n)
{
    json_t *list = json_array();
    for (size_t i = 0; list && i < n; i++)
        if (json_array_append_new(list, dw_cli__json_text(texts[i]))) {
            json_decref(list);
            return NULL;
        }
    return list;
}

/* A figure of a part that is taken; else null. */
static json_t *figure(const struct dw_list_row *row, int64_t value)
{
    return row->cells && value > 0 ? json_integer((json_int_t)value) : json_null();
}

static json_t *rows_json(const struct dw_list *list)
{
    json_t *rows = json_array();
    for (size_t r = 0; rows && r < list->n_rows; r++) {
        const struct dw_list_row *row = &list->rows[r];
        json_t *cells = row->cells ? texts_json(row->cells, list->n_columns) : json_null();
        json_t *item = json_pack("{s:i, s:s, s:o, s:o, s:o, s:o, s:o}", "row", row->line, "role",
                                 row->role, "text", dw_cli__json_text(row->text), "cells", cells,
                                 "least nm", figure(row, row->least), "most nm",
                                 figure(row, row->most), "count", figure(row, row->count));
        if (json_array_append_new(rows, item)) {
            json_decref(rows);
            return NULL;
        }
    }
    return rows;
}

static enum dw_cli_status print_json(const struct listing *state)
{
    const struct dw_list *list = state->list;
    return dw_cli__json_write(json_pack(
        "{s:s, s:i, s:o, s:o, s:o, s:o, s:I}", "format", "dropwise list", "version", 1, "sheet",
        dw_cli__json_text(list ? list->sheet : NULL), "columns",
        list ? texts_json(list->columns, list->n_columns) : json_array(), "rows",
        list ? rows_json(list) : json_array(), "remarks", dw_cli__json_remarks(&state->report),
        "taken", (json_int_t)(list ? list->n_taken : 0)));
}

/* --- page ------------------------------------------------------------------------------------ */

static void put_clean(struct dw_cli_table *table, const char *text)
{
    struct dw_buf cell = {0};
    dw_cli__clean(&cell, text);
    dw_cli__cell_buf(table, &cell);
}

static bool is_figure(const char *column)
{
    return strcmp(column, "length") == 0 || strcmp(column, "count") == 0 ||
           strcmp(column, "price") == 0;
}

/* The length as it was read, in full. */
static void put_length(struct listing *state, struct dw_cli_table *table,
                       const struct dw_list_row *row)
{
    if (row->least == 0)
        dw_cli__cell(table, "");
    else if (row->most == row->least)
        dw_cli__cell(table, dw_cli__fine(&state->page, row->least).text);
    else
        dw_cli__cell_format(table, "%s to %s", dw_cli__fine(&state->page, row->least).text,
                            dw_cli__fine(&state->page, row->most).text);
}

static void put_taken(struct listing *state)
{
    const struct dw_list *list = state->list;
    size_t shown = list->n_columns < SHOWN_MOST ? list->n_columns : SHOWN_MOST;
    struct dw_cli_column columns[DW_CLI_COLUMNS_MAX] = {
        {.title = "row", .say = "row", .right = true}};
    for (size_t c = 0; c < shown; c++)
        columns[c + 1] = (struct dw_cli_column){.title = list->columns[c],
                                                .say = list->columns[c],
                                                .right = is_figure(list->columns[c])};
    columns[shown + 1] =
        (struct dw_cli_column){.title = "read as", .say = "read as", .right = true};
    struct dw_cli_table table = {.n_columns = shown + 2, .columns = columns, .indent = 2};
    for (size_t r = 0; r < list->n_rows; r++) {
        if (!list->rows[r].cells)
            continue;
        dw_cli__cell_format(&table, "%d", list->rows[r].line);
        for (size_t c = 0; c < shown; c++)
            put_clean(&table, list->rows[r].cells[c]);
        put_length(state, &table, &list->rows[r]);
    }
    if (table.n_cells > 0)
        dw_cli__heading(&state->page, "Taken");
    if (table.n_cells > 0)
        dw_cli__table_end(&state->page, &table);
}

static void put_left_out(struct listing *state)
{
    static const struct dw_cli_column columns[] = {
        {.title = "row", .say = "row", .right = true},
        {.title = "what it is", .own_line = true},
        {.title = "what it holds", .fold = true},
    };
    const struct dw_list *list = state->list;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t r = 0; r < list->n_rows; r++) {
        if (list->rows[r].cells)
            continue;
        dw_cli__cell_format(&table, "%d", list->rows[r].line);
        dw_cli__cell(&table, list->rows[r].role);
        put_clean(&table, list->rows[r].text);
    }
    if (table.n_cells > 0)
        dw_cli__heading(&state->page, "Not taken");
    dw_cli__table_end(&state->page, &table);
}

static enum dw_cli_status print_page(struct listing *state)
{
    const struct dw_list *list = state->list;
    struct dw_buf line = {0};
    dw_cli__clean(&line, state->args->operands[0]);
    if (list->sheet[0]) {
        dw_buf__put(&line, ", sheet ");
        dw_cli__clean(&line, list->sheet);
    }
    dw_buf__format(&line, ": %s taken, %zu not",
                   dw_cli__count((int64_t)list->n_taken, "row", "rows").text,
                   list->n_rows - list->n_taken);
    dw_cli__fold_buf(&state->page, DW_CLI_STRONG, "", &line);
    put_taken(state);
    put_left_out(state);
    return dw_cli__page_end(&state->page);
}

/* --- the command ----------------------------------------------------------------------------- */

/* Lengths are shown in the unit of bare ones. */
static enum dw_cli_status set_style(struct listing *state)
{
    struct dw_job *job = NULL;
    struct dw_error error = {0};
    dw_err err = dw_job_new(&job, &error);
    if (err) {
        dw_cli__say_error(&error);
        return dw_cli__status(err);
    }
    job->unit = DW_UNIT_MM;
    enum dw_cli_status status = dw_cli__page_job(state->args, job, &state->page);
    dw_job_free(job);
    return status;
}

/* The file that the operand names, or standard input for "-". */
static dw_err read_bytes(struct dw_list_source *source, char **text, struct dw_error *error)
{
    struct dw_job_source input = {0};
    bool from_input = strcmp(source->name, "-") == 0;
    dw_err err = from_input ? dw_cli__source(source->name, &input, text, error)
                            : dw_file__read_regular(source->name, DW_CLI_LIST_BYTES, text,
                                                    &source->n, error);
    if (from_input) {
        source->name = "standard input";
        source->n = input.n;
    }
    source->text = *text;
    return err;
}

static dw_err read_list(struct listing *state, struct dw_list_source *source,
                        struct dw_error *error)
{
    const struct dw_cli_args *args = state->args;
    const char *what = dw_cli__value(args, "what"), *unit = dw_cli__value(args, "unit");
    char *columns = NULL;
    source->sheet = dw_cli__value(args, "sheet");
    source->unit = unit ? dw_unit_find(unit, strlen(unit)) : DW_UNIT_MM;
    (void)dw_table_kind_find(what ? what : "parts", &source->kind);
    source->columns = dw_cli__columns(args, source, &columns);
    dw_err err = dw_list_read(source, &state->list, &state->report, error);
    if (!err && state->list->n_taken > 0)
        dw_cli__columns_keep(args, source, state->list);
    free(columns);
    return err;
}

static enum dw_cli_status write_clean(const struct listing *state)
{
    char *text = NULL;
    size_t n = 0;
    struct dw_error error = {0};
    if (!dw_cli__value(state->args, "output"))
        return DW_CLI_DONE;
    dw_err err = dw_list_to_csv(state->list, &text, &n, &error);
    if (err)
        dw_cli__say_error(&error);
    enum dw_cli_status status = err ? dw_cli__status(err) : dw_cli__put_out(state->args, text, n);
    free(text);
    return status;
}

static enum dw_cli_status list_table(struct listing *state, struct dw_list_source *source)
{
    const struct dw_cli_args *args = state->args;
    struct dw_error error = {0};
    static const char *const of_drawings[] = {"layers", "one-tube"};
    for (size_t i = 0; i < DW_COUNT(of_drawings); i++)
        if (dw_cli__has(args, of_drawings[i])) {
            dw_cli__complain("--%s: %s is no drawing (DXF)", of_drawings[i], source->name);
            return DW_CLI_REFUSED;
        }
    dw_err err = read_list(state, source, &error);
    enum dw_cli_status status =
        state->report.n_wrong > 0 ? DW_CLI_REFUSED : dw_cli__file_status(err);
    if (err && state->report.n_wrong == 0)
        dw_cli__say_error(&error);
    dw_cli__say_report(&state->report, SIZE_MAX);
    if (status == DW_CLI_DONE)
        status = write_clean(state);
    enum dw_cli_status shown = DW_CLI_DONE;
    if (dw_cli__to_stdout(args))
        shown = status;
    else if (dw_cli__has(args, "json") && (state->list || state->report.n_wrong > 0))
        shown = print_json(state);
    else if (state->list)
        shown = print_page(state);
    return status == DW_CLI_DONE ? shown : status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct listing state = {.args = args};
    struct dw_error error = {0};
    struct dw_list_source source = {.name = args->operands[0]};
    char *text = NULL;
    enum dw_cli_status status = dw_cli__page_init(args, &state.page);
    if (status == DW_CLI_DONE)
        status = set_style(&state);
    if (status == DW_CLI_DONE) {
        dw_err err = read_bytes(&source, &text, &error);
        if (err)
            dw_cli__say_error(&error);
        status = dw_cli__file_status(err);
    }
    if (status == DW_CLI_DONE)
        status = dw_sketched__is(text, source.n)
                     ? dw_cli__list_drawing(args, &state.page, source.name, text, source.n)
                     : list_table(&state, &source);
    free(text);
    dw_list_free(state.list);
    dw_report_free(&state.report);
    dw_cli__page_free(&state.page);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_OUTPUT_OPTIONS("TABLE.csv",
                          "write the rows that were taken as a clean table; - prints it"),
    {"sheet", 's', "NAME", NULL,
     "the sheet of a workbook; otherwise the one that looks like a list"},
    DW_CLI_COLUMNS_OPTIONS,
    {"what", 0, "KIND", "parts posts bars offcuts", "what the list holds; otherwise parts"},
    {"layers", 'l', "WHICH", NULL,
     "of a drawing: layers that are a material or no tube: rails=al38, axis=none"},
    {"one-tube", 0, NULL, NULL, "of a drawing: lines of a layer that meet in line are one tube"},
};

const struct dw_cli_command dw_cli__cmd_list = {
    .name = "list",
    .operands = "FILE",
    .summary = "show how each row of a list, or each line of a drawing, is understood",
    .about =
        "Reads a list as it comes: a workbook (.xlsx, .ods), a CSV or TSV file. The table in it is "
        "found among title rows, blank rows and columns, repeated headings, groups, totals and "
        "remarks; its columns are known by their headings in English, German, French, Spanish, "
        "Italian or Dutch. Every row is shown with what it was taken for. Nothing is guessed: a "
        "number that can be read in two ways is refused, and a row that is left out is said. FILE "
        "can be -, standard input.\n\n"
        "Of a drawing of centre lines (ASCII DXF, R12 to 2018) the straight lines, polylines and "
        "arcs are tubes: shown are its parts, equal ones counted, with what their ends meet, and "
        "which part each entity is. What is drawn twice, ends with a gap under 2 mm and lines that "
        "cross without a joint are doubted, with their place. A drawing that does not say its unit "
        "needs --unit.\n\n"
        "What --columns says is kept in the shop's folder for every list whose headings are the "
        "same; "
        "it is told when it is used.\n\n"
        "Bare lengths take the unit of their heading, or of --unit (mm). In messages about a "
        "workbook the numbers are those of row and column.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
