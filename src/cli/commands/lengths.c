/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise lengths: which stock lengths past jobs would have wanted. */
#include "cli/commands/deal.h"
#include "cli/terminal/run.h"

#include "job/lengths.h"

#include <inttypes.h>
#include <string.h>

/* What a run of the command holds. */
struct carrying {
    const struct dw_cli_args *args;
    struct dw_cli_page page;
    struct dw_job *job;
    struct dw_settings settings;
    int64_t most;
    json_t *materials; /* with --json */
};

/* --- one material
 * ---------------------------------------------------------------------------------- */

static void add_json(struct carrying *state, size_t material, const struct dw_lengths *lengths)
{
    const struct dw_job *job = state->job;
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .style = dw_job__style(job), .currency = job->currency};
    const struct dw_record_out to = {.out = &out, .job = job, .version = DW_RECORD_ALL};
    out.style.decimals = DW_CLI_JSON_DECIMALS;
    dw_lengths__record(&to, NULL, material, lengths);
    dw_cli__json_add(&state->materials, dw_cli__json_take(&buf));
}

static void put_uses(struct carrying *state, const struct dw_lengths *lengths)
{
    static const struct dw_cli_column columns[] = {
        {.title = "carry", .own_line = true},
        {.title = "length", .right = true},
        {.title = "bars", .say = "bars", .right = true},
        {.title = "jobs", .say = "jobs", .right = true},
        {.title = "bars cost", .say = "bars cost", .right = true},
    };
    struct dw_cli_page *page = &state->page;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t i = 0; i < lengths->n_uses; i++) {
        const struct dw_lengths_use *use = &lengths->uses[i];
        const struct dw_supply *supply = &state->job->supplies[use->supply];
        dw_cli__cell(&table, supply->id);
        dw_cli__cell(&table, dw_cli__length(page, supply->length).text);
        dw_cli__cell_format(&table, "%" PRId64, use->bars);
        dw_cli__cell_format(&table, "%" PRId64, use->n_jobs);
        dw_cli__cell(&table, dw_cli__amount(page, use->money).text);
    }
    dw_cli__table_end(page, &table);
}

static void put_proof(struct carrying *state, const struct dw_lengths *lengths)
{
    struct dw_cli_page *page = &state->page;
    struct dw_buf line = {0};
    if (lengths->status == DW_STATUS_OPTIMAL) {
        dw_buf__format(&line, "Cheapest: no other set of at most %" PRId64 " costs less.",
                       state->most);
        dw_cli__fold_buf(page, DW_CLI_GOOD, "  ", &line);
        return;
    }
    dw_money above = lengths->value - lengths->bound;
    dw_buf__format(&line, "At most %s ", dw_cli__money(page, above).text);
    dw_buf__format(&line, "(%s) above the cheapest there can be%s.",
                   dw_cli__percent(above, lengths->value).text,
                   lengths->status == DW_STATUS_STOPPED ? "; the time was up" : "");
    dw_cli__fold_buf(page, DW_CLI_CARE, "  ", &line);
}

static void put_material(struct carrying *state, size_t material, const struct dw_lengths *lengths)
{
    struct dw_cli_page *page = &state->page;
    const struct dw_material *what = &state->job->materials[material];
    struct dw_buf line = {0};
    dw_cli__clean(&line, what->name ? what->name : what->id);
    dw_buf__format(&line, ": %s of %" PRId64 " in the catalogue",
                   dw_cli__count((int64_t)lengths->n_uses, "length", "lengths").text,
                   lengths->n_catalogue);
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &line);
    if (lengths->status == DW_STATUS_INFEASIBLE) {
        dw_cli__fold(page, DW_CLI_CARE, "  ", "No set of lengths serves all jobs.");
        return;
    }
    put_uses(state, lengths);
    dw_buf__format(&line, "%s for %s, cuts included; ", dw_cli__money(page, lengths->value).text,
                   dw_cli__count((int64_t)lengths->n_jobs, "job", "jobs").text);
    dw_buf__format(&line, "%s of ", dw_cli__long(page, lengths->needed).text);
    dw_buf__format(&line, "%s bought are in parts (%s).", dw_cli__long(page, lengths->bought).text,
                   dw_cli__percent(lengths->needed, lengths->bought).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &line);
    put_proof(state, lengths);
}

static enum dw_cli_status choose(struct carrying *state, size_t material)
{
    struct dw_lengths *lengths = NULL;
    struct dw_error error = {0};
    struct dw_cli_run run = {0};
    dw_cli__run_start(&run, &state->page, state->settings.time_ms);
    struct dw_hooks hooks = dw_cli__run_hooks(&run);
    dw_err err = dw_lengths_choose(state->job, material, (size_t)state->most, &state->settings,
                                   &hooks, &lengths, &error);
    dw_cli__run_end(&run);
    if (err) {
        dw_cli__say_error(&error);
        return dw_cli__status(err);
    }
    if (state->materials)
        add_json(state, material, lengths);
    else
        put_material(state, material, lengths);
    bool never = lengths->status == DW_STATUS_INFEASIBLE;
    dw_lengths_free(lengths);
    return never ? DW_CLI_SHORT : DW_CLI_DONE;
}

/* --- the command
 * ------------------------------------------------------------------------------------ */

static enum dw_cli_status choose_all(struct carrying *state)
{
    const char *only = dw_cli__value(state->args, "material");
    enum dw_cli_status worst = DW_CLI_DONE;
    bool any = false;
    for (size_t m = 0; m < state->job->n_materials; m++) {
        const char *id = state->job->materials[m].id;
        if (only ? strcmp(only, id) != 0 : !dw_lengths__choosable(state->job, m))
            continue;
        any = true;
        enum dw_cli_status status = choose(state, m);
        if (status > DW_CLI_SHORT)
            return status;
        worst = status > worst ? status : worst;
    }
    if (!any && only)
        dw_cli__complain("--material: `%.60s` is none of the materials", only);
    else if (!any)
        dw_cli__complain("no material has both parts and new bars to choose from");
    return any ? worst : DW_CLI_REFUSED;
}

static enum dw_cli_status print(struct carrying *state)
{
    if (!state->materials) {
        dw_cli__newline(&state->page);
        dw_cli__fold(&state->page, DW_CLI_QUIET, "",
                     "Each job is cut by itself, bars at their lowest price, leftovers as waste.");
        return dw_cli__page_end(&state->page);
    }
    json_t *document =
        json_pack("{s:s, s:i, s:o, s:s, s:I, s:o}", "format", "dropwise lengths", "version", 1,
                  "job", dw_cli__json_text(state->job->name), "currency", state->job->currency,
                  "most", (json_int_t)state->most, "materials", state->materials);
    state->materials = NULL;
    return dw_cli__json_write(document);
}

static enum dw_cli_status open_all(struct carrying *state, struct dw_report *report)
{
    const char *most = dw_cli__value(state->args, "most");
    state->most = 2;
    if (most && !dw_cli__number("most", most, 1, DW_LENGTHS_MOST, &state->most))
        return DW_CLI_REFUSED;
    enum dw_cli_status status = dw_cli__page_init(state->args, &state->page);
    if (status == DW_CLI_DONE)
        status = dw_cli__settings(state->args, &state->settings);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(state->args, &state->job, report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(state->args, state->job, &state->page);
    if (dw_cli__has(state->args, "json"))
        state->materials = json_array();
    else if (status == DW_CLI_DONE)
        dw_cli__say_text(&state->page, DW_CLI_STRONG,
                         "Lengths to carry: ", state->job->name ? state->job->name : "past jobs");
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct carrying state = {.args = args};
    struct dw_report report = {0};
    enum dw_cli_status status = open_all(&state, &report);
    if (status == DW_CLI_DONE) {
        status = choose_all(&state);
        if (status <= DW_CLI_SHORT) {
            enum dw_cli_status printed = print(&state);
            status = printed > status ? printed : status;
        }
    }
    json_decref(state.materials);
    dw_job_free(state.job);
    dw_report_free(&report);
    dw_cli__page_free(&state.page);
    return status;
}

static const struct dw_cli_option options[] = {
    {"most", 'k', "K", NULL, "how many lengths to carry at most; 2"},
    {"material", 0, "ID", NULL, "this material alone"},
};

const struct dw_cli_command dw_cli__cmd_lengths = {
    .name = "lengths",
    .operands = "JOB",
    .summary = "choose which stock lengths to carry, judged by past jobs",
    .about =
        "JOB is a file with past jobs under `jobs` and the catalogue of lengths under `bars`. "
        "For each material, finds the set of at most K lengths from which all of those jobs, each "
        "cut by itself, would have cost least, and proves it: every job on every set that "
        "matters is an integer program. When the time is up, the best set so far is given with "
        "how far from the cheapest it can be.\n\n"
        "Bars count at their lowest price and not by the pack, as a shop buys that carries a "
        "length; what is left of a bar counts as waste.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_SETTINGS | DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
