/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise plan: the cheapest way to cut a job. */
#include "cli/commands/again.h"
#include "cli/shelf/from_shelf.h"
#include "cli/reports/paper.h"
#include "cli/reports/report.h"
#include "cli/terminal/run.h"

#include "format/format.h"
#include <dropwise/compare.h>
#include "model/record.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What a run of the command holds. */
struct planning {
    const struct dw_cli_args *args;
    struct dw_cli_page page;
    struct dw_job *job;
    struct dw_report report; /* on the job */
    struct dw_plan *plan;
    struct dw_cure *cures;
    size_t n_cures;
    struct dw_compared *ways; /* length n_ways: what else the job would cost */
    size_t n_ways;
    bool by_user; /* a stop was asked for */
    struct dw_cli_from_shelf shelf;
};

/* Members "compared" of the document. */
static void put_ways(struct dw_out *out, const void *user)
{
    const struct planning *state = user;
    if (state->n_ways == 0)
        return;
    dw_out__open(out, "compared", '[');
    for (size_t i = 0; i < state->n_ways; i++) {
        const struct dw_compared *way = &state->ways[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "way", dw_compare_kind_word(way->kind));
        if (way->supplier)
            dw_out__text(out, "supplier", way->supplier);
        if (way->length > 0)
            dw_out__length(out, "length", way->length);
        dw_out__yes(out, "planned", way->planned);
        dw_out__yes(out, "known", way->known);
        if (way->planned)
            dw_out__money(out, "value", way->value);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static char *make_json(const struct planning *state)
{
    struct dw_error error = {0};
    char *text = NULL;
    const struct dw_plan_beside beside = {&state->report, put_ways, state};
    if (dw_plan__to_json(state->job, state->plan, &beside, &text, &error) != DW_OK)
        dw_cli__say_error(&error);
    return text;
}

static void put_written(struct dw_cli_page *page, const char *path)
{
    if (!path)
        return;
    struct dw_buf text = {0};
    dw_buf__put(&text, "The plan document is ");
    dw_cli__clean(&text, path);
    dw_buf__char(&text, '.');
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &text);
}

static char *make_report(struct planning *state)
{
    struct dw_cli_page *page = &state->page;
    const struct dw_job *job = state->job;
    const struct dw_plan *plan = state->plan;
    dw_cli__report_title(page, job, plan);
    if (plan->status == DW_STATUS_INFEASIBLE) {
        dw_cli__report_short(page, job, plan, state->cures, state->n_cures);
        return dw_cli__page_take(page);
    }
    dw_cli__report_bars(page, job, plan);
    if (dw_cli__report_layouts(page, job, plan) != DW_OK)
        page->buf.failed = true;
    dw_cli__report_lengths(page, plan);
    dw_cli__report_money(page, job, plan);
    dw_cli__report_compared(page, plan->totals.value, state->ways, state->n_ways);
    dw_cli__report_proof(page, job, plan, state->by_user);
    dw_cli__report_end(page);
    put_written(page, dw_cli__document(state->args));
    dw_cli__from_shelf_report(&state->shelf, page);
    return dw_cli__page_take(page);
}

#define ALONE_MS   5000 /* for what the job would cost of each supplier alone, if nobody asks */
#define ALONE_WORK 5000000

/* What suppliers charge makes the difference between plans of one supplier alone, so these are
 * always told. */
static dw_err compare(struct planning *state, const struct dw_job_request *request,
                      struct dw_error *error)
{
    const bool asked = dw_cli__has(state->args, "compare");
    struct dw_settings settings = request->settings;
    if (state->plan->status == DW_STATUS_INFEASIBLE || dw_cli__run_stopped() ||
        (!asked && state->plan->n_charges == 0))
        return DW_OK;
    if (!asked && (settings.time_ms == 0 || settings.time_ms > ALONE_MS))
        settings.time_ms = ALONE_MS;
    if (!asked && (settings.work == 0 || settings.work > ALONE_WORK))
        settings.work = ALONE_WORK;
    state->ways = calloc(dw_job_compare_room(state->job), sizeof *state->ways);
    if (!state->ways)
        return dw_error__nomem(error);
    return dw_job_compare(state->job, &settings, &request->hooks, !asked, state->ways,
                          &state->n_ways, error);
}

static dw_err make_plan(struct planning *state, struct dw_job_request *request,
                        struct dw_error *error)
{
    struct dw_cli_run run = {0};
    dw_cli__run_start(&run, &state->page, request->settings.time_ms);
    request->hooks = dw_cli__run_hooks(&run);
    dw_err err = dw_job_plan(state->job, request, &state->plan, error);
    if (!err && state->plan->status == DW_STATUS_INFEASIBLE && !dw_cli__run_stopped())
        err = dw_job_cure(state->job, state->plan, &request->hooks, &state->cures, &state->n_cures,
                          error);
    state->by_user = dw_cli__run_stopped();
    if (!err)
        err = compare(state, request, error);
    dw_cli__run_end(&run);
    return err;
}

/* --output - prints the document and nothing else, as --json does. */
static bool to_stdout(const struct dw_cli_args *args)
{
    const char *path = dw_cli__document(args);
    return path && strcmp(path, "-") == 0;
}

/* What is printed is made before the file is written, so that no file is left where it fails. A
 * plan that is held has its file already. */
static enum dw_cli_status write_and_print(struct planning *state,
                                          const struct dw_job_request *request)
{
    struct dw_error error = {0};
    bool json = dw_cli__has(state->args, "json") || to_stdout(state->args);
    char *text = json ? make_json(state) : make_report(state);
    enum dw_cli_status status = DW_CLI_FAILED;
    if (text) {
        dw_err err = dw_cli__from_shelf_holds(&state->shelf)
                         ? DW_OK
                         : dw_job_put_plan(state->job, request, state->plan, &error);
        if (err)
            dw_cli__say_error(&error);
        status = err ? dw_cli__status(err) : dw_cli__write(text, strlen(text));
    }
    free(text);
    return status;
}

/* The sheet at the saw, of a plan that was found. */
static enum dw_cli_status draw_sheet(const struct planning *state)
{
    const char *path = dw_cli__value(state->args, "sheet");
    struct dw_paper_pages pages = {0};
    struct dw_error error = {0};
    if (!path || state->plan->status == DW_STATUS_INFEASIBLE)
        return DW_CLI_DONE;
    const struct dw_paper_request request = dw_cli__paper_at(state->args, path, NULL);
    dw_err err = dw_paper__sheet(state->job, state->plan, &request, &pages, &error);
    if (!err)
        err = dw_paper__write(&pages, path, dw_cli__has(state->args, "replace"), &error);
    dw_paper__free(&pages);
    if (err)
        dw_cli__say_error(&error);
    return dw_cli__status(err);
}

static dw_err write_table(const struct planning *state, const char *path, struct dw_error *error)
{
    struct dw_tables tables = {0};
    const struct dw_table_wish wish = dw_cli__table_at(state->args, path, NULL);
    dw_err err = dw_tables__plan(state->job, state->plan, &wish, &tables, error);
    if (!err)
        err = dw_tables__write(&tables, path, dw_cli__has(state->args, "replace"), error);
    dw_tables__free(&tables);
    return err;
}

/* Bars, pieces and marks as tables, of a plan that was found. */
static enum dw_cli_status write_tables(const struct planning *state)
{
    struct dw_error error = {0};
    dw_err err = DW_OK;
    if (state->plan->status == DW_STATUS_INFEASIBLE)
        return DW_CLI_DONE;
    for (size_t i = 0; i < state->args->n_given && !err; i++) {
        const struct dw_cli_given *given = &state->args->given[i];
        if (given->option.letter == 'o' && dw_tables__form_of(given->value))
            err = write_table(state, given->value, &error);
    }
    if (err)
        dw_cli__say_error(&error);
    return dw_cli__status(err);
}

static enum dw_cli_status plan_and_print(struct planning *state, const struct dw_settings *settings)
{
    struct dw_error error = {0};
    struct dw_job_request request = {
        .settings = *settings,
        .path = to_stdout(state->args) ? NULL : dw_cli__document(state->args),
        .replace = dw_cli__has(state->args, "replace"),
    };
    dw_err err = make_plan(state, &request, &error);
    if (err) {
        dw_cli__say_error(&error);
        return dw_cli__status(err);
    }
    enum dw_cli_status status = dw_cli__from_shelf_hold(&state->shelf, state->job, state->plan);
    if (status == DW_CLI_DONE)
        status = dw_cli__shelf_told(&state->shelf.shelf, write_and_print(state, &request),
                                    state->shelf.step);
    if (status == DW_CLI_DONE)
        status = draw_sheet(state);
    if (status == DW_CLI_DONE)
        status = write_tables(state);
    if (status == DW_CLI_DONE && state->plan->status == DW_STATUS_INFEASIBLE)
        status = DW_CLI_SHORT;
    return status;
}

/* A file beside the document that is there already is refused before anything is planned. */
static enum dw_cli_status check_new(const struct dw_cli_args *args, const char *path)
{
    char *table = dw_tables__form_of(path) ? dw_tables__plan_there(path) : NULL;
    bool there = table || access(path, F_OK) == 0;
    enum dw_cli_status status = DW_CLI_DONE;
    if (there && !dw_cli__has(args, "replace")) {
        dw_cli__complain("%s: the file exists and is left as it is; name another or allow "
                         "replacing",
                         table ? table : path);
        status = DW_CLI_REFUSED;
    }
    free(table);
    return status;
}

static enum dw_cli_status check_outputs(const struct dw_cli_args *args)
{
    const char *document = dw_cli__document(args);
    enum dw_cli_status status = DW_CLI_DONE;
    for (size_t i = 0; i < args->n_given && status == DW_CLI_DONE; i++) {
        const char *path = args->given[i].value;
        if (args->given[i].option.letter != 'o' || path == document)
            continue;
        if (dw_tables__form_of(path) && dw_cli__has(args, "rest-of")) {
            dw_cli__complain("--output %s: with --rest-of the document alone is written; `dropwise "
                             "sheet` makes tables of it",
                             path);
            status = DW_CLI_REFUSED;
        } else if (dw_tables__form_of(path)) {
            status = check_new(args, path);
        } else {
            dw_cli__complain("--output %s: a plan has one document, and that is %s; tables end in "
                             ".csv or .xlsx",
                             path, document);
            status = DW_CLI_REFUSED;
        }
    }
    return status;
}

/* What is wanted of files, before anything is planned. */
static enum dw_cli_status check_files(const struct dw_cli_args *args)
{
    const char *sheet = dw_cli__value(args, "sheet");
    if (to_stdout(args) && dw_cli__has(args, "hold")) {
        dw_cli__complain("--output - : a plan that is held wants a file for its document");
        return DW_CLI_REFUSED;
    }
    if (sheet && !dw_paper__form_of(sheet)) {
        dw_cli__complain("plan: \"%s\" must end in .pdf, .svg or .png", sheet);
        return DW_CLI_REFUSED;
    }
    enum dw_cli_status status = check_outputs(args);
    return status == DW_CLI_DONE && sheet ? check_new(args, sheet) : status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct planning state = {.args = args};
    struct dw_settings settings = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &state.page);
    if (status == DW_CLI_DONE)
        status = check_files(args);
    if (status == DW_CLI_DONE && dw_cli__has(args, "rest-of")) {
        dw_cli__page_free(&state.page);
        return dw_cli__again_rest(args);
    }
    if (status == DW_CLI_DONE)
        status = dw_cli__settings(args, &settings);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args, &state.job, &state.report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, state.job, &state.page);
    if (status == DW_CLI_DONE)
        status = dw_cli__from_shelf_supply(args, state.job, &state.shelf);
    if (status == DW_CLI_DONE)
        status = plan_and_print(&state, &settings);
    dw_cli__from_shelf_end(&state.shelf);
    free(state.cures);
    free(state.ways);
    dw_plan_free(state.plan);
    dw_job_free(state.job);
    dw_report_free(&state.report);
    dw_cli__page_free(&state.page);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_OUTPUT_OPTIONS("FILE", "write the plan document to this file; - prints it; to one that "
                                  "ends in .csv or .xlsx, tables of bars, pieces and marks; may be "
                                  "repeated"),
    {"sheet", 0, "FILE", NULL, "draw the sheet at the saw too; .pdf, .svg or .png says the form"},
    DW_CLI_PAPER_SIZE,
    {"compare", 0, NULL, NULL, "say what other ways would cost, one line each"},
    DW_CLI_FROM_SHELF_OPTIONS,
    {"rest-of", 0, "PLAN", NULL,
     "with --hold: plan what PLAN has not cut yet, or not well, and hold that in its place"},
};

const struct dw_cli_command dw_cli__cmd_plan = {
    .name = "plan",
    .operands = "JOB",
    .summary = "find the cheapest way to cut a job and print it",
    .about =
        "Reads a job, finds the cheapest way to cut it from the bars that can be bought and the "
        "bars and offcuts that are there, proves how good that is, and prints the plan: what "
        "to take and buy, how each bar is cut with stop settings and running marks, what is "
        "left, and the money. What is doubtful in the job is said first.\n\n"
        "Ctrl-C stops the search with the best plan so far; a second Ctrl-C ends the program. "
        "The plan is checked by the verifier before anything is written.\n\n"
        "With --from-shelf, what lies on the shelf of the job's materials is offered too, at what "
        "the shop's rules make of its book value; --hold keeps the pieces that the plan takes for "
        "it, and its bars can then be booked with `dropwise shelf cut`. A job that an open plan "
        "holds already is refused unless --again says that it is to be made once more. With "
        "--hold and --output both happen or neither.\n\n"
        "After a wrong cut that left too little tube, or when other tube came than was planned, "
        "--rest-of PLAN plans what is still to be cut of a held plan with what the shelf has now. "
        "What is cut stays; the new plan takes the place of PLAN and says so on its papers. JOB is "
        "the file that PLAN was made from, unchanged. It is one step and one undo.\n\n"
        "With --compare the job is planned in other ways as well, each with the same time and "
        "work, "
        "and a line says what each would cost: all new bars from one supplier, without one of "
        "several, without the shelf, new bars of one length only, no new offcuts. Where suppliers "
        "charge beside their goods, plans with all new bars from one are always compared.\n\n"
        "A file of --output that ends in .xlsx gets sheets of bars, of pieces with stops and "
        "running marks, of what is taken and of money; one that ends in .csv becomes four, "
        "plan-bars.csv and so on of plan.csv.\n\n"
        "JOB is a YAML file; - reads it from standard input.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_SETTINGS | DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
