/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise takeoff: from drawn dimensions to cut lengths, step by step. */
#include "cli/commands/deal.h"
#include "cli/reports/paper.h"
#include "cli/reports/report.h"

#include "job/drawn.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* What a run of the command holds. */
struct takeoff {
    struct dw_cli_page page;
    struct dw_job *job;
    struct dw_drawn_sheet sheet;
};

static char *make_json(const struct takeoff *state)
{
    struct dw_buf buf = {0};
    struct dw_out out = dw_cli__json_out(state->job, &buf);
    dw_job__drawn_put(&out, state->job, &state->sheet);
    return dw_cli__json_end(&buf);
}

/* --- page
 * ----------------------------------------------------------------------------------------- */

static void put_part(struct dw_cli_page *page, const struct dw_drawn_part *part)
{
    static const struct dw_cli_column columns[] = {{.right = true}, {.fold = true}};
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 4};
    struct dw_buf line = {0};
    dw_buf__format(&line, "%" PRId64 " x ", part->count);
    dw_cli__clean(&line, part->label);
    dw_buf__format(&line, ": cut %s", dw_cli__length(page, part->cut).text);
    if (part->allowance)
        dw_buf__format(&line, ", planned %s longer until it is measured",
                       dw_cli__length(page, part->allowance).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &line);
    for (size_t i = 0; i < part->n_steps; i++) {
        dw_cli__cell(&table, dw_cli__length(page, part->steps[i].amount).text);
        dw_cli__cell(&table, part->steps[i].text);
    }
    dw_cli__table_end(page, &table);
}

static void put_parts(struct takeoff *state)
{
    dw_cli__heading(&state->page, "Cut lengths");
    for (size_t i = 0; i < state->sheet.n_parts; i++)
        put_part(&state->page, &state->sheet.parts[i]);
    if (state->sheet.n_parts == 0)
        dw_cli__fold(&state->page, DW_CLI_PLAIN, "  ",
                     "Every part is given by its cut length; none is drawn.");
}

static void put_fittings(struct takeoff *state)
{
    static const struct dw_cli_column columns[] = {
        {.title = "count", .right = true},
        {.title = "fitting", .own_line = true},
        {.title = "name", .fold = true},
        {.title = "for", .say = "for"},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t i = 0; i < state->sheet.n_fittings; i++) {
        const struct dw_drawn_fitting *fitting = &state->sheet.fittings[i];
        dw_cli__cell_format(&table, "%" PRId64, fitting->count);
        dw_cli__cell(&table, fitting->id);
        dw_cli__cell(&table, fitting->name);
        dw_cli__cell(&table, state->job->n_orders > 1 ? fitting->job : "");
    }
    if (table.n_cells)
        dw_cli__heading(&state->page, "Fittings");
    dw_cli__table_end(&state->page, &table);
}

static void put_sections(struct takeoff *state)
{
    static const struct dw_cli_column columns[] = {
        {.title = "section", .own_line = true},
        {.title = "pieces", .say = "pieces", .right = true},
        {.title = "longest", .say = "longest", .right = true},
        {.title = "weight", .say = "weight", .right = true},
    };
    struct dw_cli_page *page = &state->page;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    dw_cli__heading(page, "Sections");
    for (size_t i = 0; i < state->sheet.n_sections; i++) {
        const struct dw_drawn_section *load = &state->sheet.sections[i];
        dw_cli__cell(&table, load->name ? load->name : "(none)");
        dw_cli__cell_format(&table, "%" PRId64, load->n_pieces);
        dw_cli__cell(&table, dw_cli__length(page, load->longest).text);
        dw_cli__cell(&table, load->weight_mg < 0 ? "not known"
                                                 : dw_cli__weight(page, load->weight_mg).text);
    }
    dw_cli__table_end(page, &table);
    for (size_t i = 0; i < state->sheet.limits->n_breaches; i++)
        dw_cli__say_text(page, DW_CLI_CARE, "  ! ", state->sheet.limits->breaches[i].text);
    dw_cli__report_care(page, &(const struct dw_care){0}, DW_AT_DRAWN);
}

static char *make_page(struct takeoff *state)
{
    if (state->job->name)
        dw_cli__say_text(&state->page, DW_CLI_STRONG, "", state->job->name);
    put_parts(state);
    put_fittings(state);
    put_sections(state);
    return dw_cli__page_take(&state->page);
}

/* --- the command
 * ------------------------------------------------------------------------------------ */

static enum dw_cli_status write_file(const struct takeoff *state, const struct dw_cli_args *args,
                                     const char *path)
{
    struct dw_tables tables = {0};
    struct dw_error error = {0};
    const struct dw_table_wish wish = dw_cli__table_at(args, path, NULL);
    dw_err err = wish.form ? dw_tables__takeoff(state->job, &state->sheet, &wish, &tables, &error)
                           : dw_error__at(&error, DW_ERR_INPUT, path, 0, 0,
                                          "a take-off is written to a name that ends in .csv or "
                                          ".xlsx");
    if (!err)
        err = dw_tables__write(&tables, path, dw_cli__has(args, "replace"), &error);
    dw_tables__free(&tables);
    if (err)
        dw_cli__say_error(&error);
    return dw_cli__status(err);
}

/* What is printed is made first: no file is left where it fails. */
static enum dw_cli_status write_and_print(struct takeoff *state, const struct dw_cli_args *args)
{
    char *text = dw_cli__has(args, "json") ? make_json(state) : make_page(state);
    enum dw_cli_status status = text ? DW_CLI_DONE : DW_CLI_FAILED;
    for (size_t i = 0; i < args->n_given && status == DW_CLI_DONE; i++)
        if (args->given[i].option.letter == 'o')
            status = write_file(state, args, args->given[i].value);
    if (status == DW_CLI_DONE)
        status = dw_cli__write(text, strlen(text));
    free(text);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct takeoff state = {0};
    struct dw_report report = {0};
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &state.page);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args, &state.job, &report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, state.job, &state.page);
    if (status == DW_CLI_DONE) {
        dw_err err = dw_drawn_sheet_make(state.job, &state.sheet, &error);
        if (err)
            dw_cli__say_error(&error);
        status = dw_cli__status(err);
    }
    if (status == DW_CLI_DONE)
        status = write_and_print(&state, args);
    dw_drawn_sheet_free(&state.sheet);
    dw_job_free(state.job);
    dw_report_free(&report);
    dw_cli__page_free(&state.page);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_OUTPUT_OPTIONS("FILE", "write the tables to this file too, .csv or .xlsx; may be "
                                  "repeated"),
    {"paper", 0, "SIZE", "a4 letter", "paper that .xlsx is set up for; otherwise a4"},
};

const struct dw_cli_command dw_cli__cmd_takeoff = {
    .name = "takeoff",
    .operands = "JOB",
    .summary = "show how drawn dimensions become cut lengths, fittings, and what sections weigh",
    .about =
        "For every part that is drawn (centre to centre, outside or clear with a fitting at "
        "each end, offset, bent, mitred) shows the cut length and each step from the drawing "
        "to it; counts the fittings; and holds every section against the longest piece, "
        "weight, door, van and riser that the job sets, with by how much a limit is passed.\n\n"
        "A file of --output that ends in .xlsx gets sheets of parts, steps, fittings and "
        "sections; one that ends in .csv becomes four, cut-parts.csv and so on of cut.csv.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
