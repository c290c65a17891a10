/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise takeoff: from drawn dimensions to cut lengths, step by step. */
#include "cli/commands/deal.h"
#include "cli/reports/report.h"

#include "job/drawn.h"

#include <inttypes.h>

/* What a run of the command holds. */
struct takeoff {
    struct dw_cli_page page;
    struct dw_job *job;
    struct dw_drawn_sheet sheet;
};

/* --- JSON
 * ----------------------------------------------------------------------------------------- */

static json_t *steps_json(const struct dw_job *job, const struct dw_takeoff *takeoff)
{
    json_t *steps = json_array();
    for (size_t i = 0; i < takeoff->n_steps; i++) {
        const struct dw_step *step = &takeoff->steps[i];
        dw_cli__json_add(&steps, json_pack("{s:s, s:o, s:b}", "text", step->text, "amount",
                                           dw_cli__json_length(job, step->amount), "rounded",
                                           step->rounded));
    }
    return steps;
}

static json_t *parts_json(const struct dw_job *job)
{
    json_t *parts = json_array();
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (!part->takeoff)
            continue;
        dw_cli__json_add(&parts, json_pack("{s:s, s:I, s:o, s:b, s:o, s:o}", "label", part->label,
                                           "count", (json_int_t)part->count, "cut",
                                           dw_cli__json_length(job, part->takeoff->cut), "rounded",
                                           part->takeoff->rounded, "allowance",
                                           dw_cli__json_length(job, part->allowance), "steps",
                                           steps_json(job, part->takeoff)));
    }
    return parts;
}

static json_t *fittings_json(const struct takeoff *state)
{
    const struct dw_job *job = state->job;
    json_t *list = json_array();
    for (size_t o = 0; o < job->n_orders; o++) {
        for (size_t f = 0; f < job->n_fittings; f++) {
            int64_t count = state->sheet.fittings[o * job->n_fittings + f];
            if (count)
                dw_cli__json_add(&list, json_pack("{s:o, s:s, s:I}", "job",
                                                  dw_cli__json_text(job->orders[o].name), "fitting",
                                                  job->fittings[f].id, "count", (json_int_t)count));
        }
    }
    return list;
}

/* Texts of a section's limits that are passed, or of those that can't be judged. */
static json_t *breaches_json(const struct dw_limits *limits, size_t section, bool judged)
{
    json_t *list = json_array();
    for (size_t i = 0; i < limits->n_breaches; i++) {
        const struct dw_breach *breach = &limits->breaches[i];
        if (breach->section == section && (breach->by > 0) == judged)
            dw_cli__json_add(&list, json_string(breach->text));
    }
    return list;
}

static json_t *sections_json(const struct takeoff *state)
{
    json_t *list = json_array();
    const struct dw_limits *limits = state->sheet.limits;
    for (size_t i = 0; i < limits->n_loads; i++) {
        const struct dw_section_load *load = &limits->loads[i];
        dw_cli__json_add(&list, json_pack("{s:o, s:I, s:o, s:o, s:o, s:o}", "section",
                                          dw_cli__json_text(load->name), "pieces",
                                          (json_int_t)load->n_pieces, "longest",
                                          dw_cli__json_length(state->job, load->longest),
                                          "weight_mg", dw_cli__json_weight(load->weight_mg), "over",
                                          breaches_json(limits, i, true), "unjudged",
                                          breaches_json(limits, i, false)));
    }
    return list;
}

static enum dw_cli_status print_json(const struct takeoff *state)
{
    return dw_cli__json_write(
        json_pack("{s:s, s:i, s:o, s:o, s:o, s:o, s:o}", "format", "dropwise takeoff", "version", 1,
                  "job", dw_cli__json_text(state->job->name), "parts", parts_json(state->job),
                  "fittings", fittings_json(state), "sections", sections_json(state), "cautions",
                  dw_cli__json_care(state->job, NULL, DW_AT_DRAWN)));
}

/* --- page
 * ----------------------------------------------------------------------------------------- */

static void put_part(struct dw_cli_page *page, const struct dw_part *part)
{
    static const struct dw_cli_column columns[] = {{.right = true}, {.fold = true}};
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 4};
    struct dw_buf line = {0};
    dw_buf__format(&line, "%" PRId64 " x ", part->count);
    dw_cli__clean(&line, part->label);
    dw_buf__format(&line, ": cut %s", dw_cli__length(page, part->takeoff->cut).text);
    if (part->allowance)
        dw_buf__format(&line, ", planned %s longer until it is measured",
                       dw_cli__length(page, part->allowance).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &line);
    for (size_t i = 0; i < part->takeoff->n_steps; i++) {
        dw_cli__cell(&table, dw_cli__length(page, part->takeoff->steps[i].amount).text);
        dw_cli__cell(&table, part->takeoff->steps[i].text);
    }
    dw_cli__table_end(page, &table);
}

static void put_parts(struct takeoff *state)
{
    dw_cli__heading(&state->page, "Cut lengths");
    bool any = false;
    for (size_t i = 0; i < state->job->n_parts; i++) {
        if (state->job->parts[i].takeoff)
            put_part(&state->page, &state->job->parts[i]);
        any |= state->job->parts[i].takeoff != NULL;
    }
    if (!any)
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
    const struct dw_job *job = state->job;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t o = 0; o < job->n_orders; o++) {
        for (size_t f = 0; f < job->n_fittings; f++) {
            int64_t count = state->sheet.fittings[o * job->n_fittings + f];
            if (count == 0)
                continue;
            dw_cli__cell_format(&table, "%" PRId64, count);
            dw_cli__cell(&table, job->fittings[f].id);
            dw_cli__cell(&table, job->fittings[f].name);
            dw_cli__cell(&table, job->n_orders > 1 ? job->orders[o].name : "");
        }
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
    for (size_t i = 0; i < state->sheet.limits->n_loads; i++) {
        const struct dw_section_load *load = &state->sheet.limits->loads[i];
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

static enum dw_cli_status print_page(struct takeoff *state)
{
    if (state->job->name)
        dw_cli__say_text(&state->page, DW_CLI_STRONG, "", state->job->name);
    put_parts(state);
    put_fittings(state);
    put_sections(state);
    return dw_cli__page_end(&state->page);
}

/* --- the command
 * ------------------------------------------------------------------------------------ */

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct takeoff state = {0};
    struct dw_report report = {0};
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &state.page);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args->operands[0], &state.job, &report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, state.job, &state.page);
    if (status == DW_CLI_DONE) {
        dw_err err = dw_job__drawn(state.job, &state.sheet, &error);
        if (err)
            dw_cli__say_error(&error);
        status = dw_cli__status(err);
    }
    if (status == DW_CLI_DONE)
        status = dw_cli__has(args, "json") ? print_json(&state) : print_page(&state);
    dw_job__drawn_free(&state.sheet);
    dw_job_free(state.job);
    dw_report_free(&report);
    dw_cli__page_free(&state.page);
    return status;
}

const struct dw_cli_command dw_cli__cmd_takeoff = {
    .name = "takeoff",
    .operands = "JOB",
    .summary = "show how drawn dimensions become cut lengths, fittings, and what sections weigh",
    .about = "For every part that is drawn (centre to centre, outside or clear with a fitting at "
             "each end, offset, bent, mitred) shows the cut length and each step from the drawing "
             "to it; counts the fittings; and holds every section against the longest piece, "
             "weight, door, van and riser that the job sets, with by how much a limit is passed.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .run = run,
};
