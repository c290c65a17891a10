/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise miscut: what went wrong at the saw, and how to go on. */
#include "cli/report.h"
#include "cli/run.h"
#include "cli/shelf.h"
#include "job/miscut.h"

#include <stdlib.h>
#include <string.h>

struct going_on {
    struct dw_cli_shelf shelf;
    struct dw_job *job;
    struct dw_report report;
    struct dw_miscut miscut;
    struct dw_miscut_result result;
};

/* --- what happened ---------------------------------------------------------------------------- */

/* "2=47 1/2 in": the second piece came out so long. */
static bool read_short(struct going_on *at, const char *text)
{
    char number[24] = {0};
    const char *equals = strchr(text, '=');
    if (!equals || equals == text || (size_t)(equals - text) >= sizeof number) {
        dw_cli__complain("--short %s: write which piece of the bar came out how long, as "
                         "2=\"47 1/2 in\"",
                         text);
        return false;
    }
    memcpy(number, text, (size_t)(equals - text));
    at->miscut.kind = DW_MISCUT_SHORT;
    return dw_cli__shelf_number("piece", number, &at->miscut.piece) &&
           dw_cli__shelf_length(&at->shelf, "--short", equals + 1, &at->miscut.came_out);
}

static bool read_wrong(struct going_on *at, const char *number)
{
    const char *pieces = dw_cli__value(at->shelf.args, "pieces");
    at->miscut.kind = DW_MISCUT_WRONG_BAR;
    at->miscut.number = number;
    at->miscut.n_done = -1;
    return !pieces || dw_cli__number("pieces", pieces, 0, 100000, &at->miscut.n_done);
}

static bool read_mishap(struct going_on *at)
{
    const struct dw_cli_args *args = at->shelf.args;
    const char *too_short = dw_cli__value(args, "short");
    const char *wrong = dw_cli__value(args, "wrong-bar");
    const char *measured = dw_cli__value(args, "measured");
    if ((too_short != NULL) + (wrong != NULL) + (measured != NULL) != 1) {
        dw_cli__complain("miscut wants one of --short, --wrong-bar, --measured: what went wrong");
        return false;
    }
    at->miscut.place = dw_cli__value(args, "place");
    if (!dw_cli__shelf_number("plan", args->operands[1], &at->miscut.plan) ||
        !dw_cli__shelf_number("bar", args->operands[2], &at->miscut.bar))
        return false;
    at->miscut.kind = DW_MISCUT_BAR_SHORT;
    return too_short ? read_short(at, too_short)
           : wrong   ? read_wrong(at, wrong)
                   : dw_cli__shelf_length(&at->shelf, "--measured", measured, &at->miscut.measured);
}

/* --- showing ---------------------------------------------------------------------------------- */

static void put_money(struct going_on *at)
{
    static const struct dw_cli_column columns[] = {{.title = ""}, {.title = "", .right = true}};
    struct dw_cli_page *page = &at->shelf.page;
    const struct dw_miscut_result *result = &at->result;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    dw_cli__cell(&table, "planned for what was left, this bar with it");
    dw_cli__cell(&table, dw_cli__money(page, result->before).text);
    dw_cli__cell(&table, "gone with this bar");
    dw_cli__cell(&table, dw_cli__money(page, result->spent).text);
    dw_cli__cell(&table, "new plan for the rest");
    dw_cli__cell(&table, dw_cli__money(page, result->after).text);
    bool dearer = result->difference >= 0;
    dw_cli__cell(&table, dearer ? "the mistake costs" : "yet cheaper than planned by");
    dw_cli__cell(&table,
                 dw_cli__money(page, dearer ? result->difference : -result->difference).text);
    dw_cli__heading(page, "Money");
    dw_cli__table_end(page, &table);
}

static void put_new_plan(struct going_on *at)
{
    struct dw_cli_page *page = &at->shelf.page;
    const struct dw_plan *plan = at->result.plan;
    struct dw_buf text = {0};
    dw_buf__format(&text, "Plan %lld replaces plan %lld; %s cut so far and stay as they are.",
                   (long long)at->result.new_plan, (long long)at->miscut.plan,
                   at->result.n_locked == 1
                       ? "1 bar is"
                       : dw_cli__count(at->result.n_locked, "bar is", "bars are").text);
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &text);
    dw_cli__newline(page);
    dw_cli__report_bars(page, at->job, plan);
    if (dw_cli__report_layouts(page, at->job, plan) != DW_OK)
        page->buf.failed = true;
    dw_cli__report_proof(page, at->job, plan, dw_cli__run_stopped());
    put_money(at);
}

static json_t *result_json(struct going_on *at)
{
    const struct dw_miscut_result *result = &at->result;
    struct dw_cli_shelf *shelf = &at->shelf;
    char *text = NULL;
    json_t *plan = NULL;
    if (result->plan && dw_plan_to_json(at->job, result->plan, &text, NULL) == DW_OK)
        plan = json_loads(text, 0, NULL);
    free(text);
    return json_pack(
        "{s:I, s:I, s:I, s:o, s:o, s:o, s:o, s:o}", "replaces", (json_int_t)at->miscut.plan, "plan",
        (json_int_t)result->new_plan, "locked", (json_int_t)result->n_locked, "before",
        dw_cli__money_json(shelf, result->before), "spent",
        dw_cli__money_json(shelf, result->spent), "after", dw_cli__money_json(shelf, result->after),
        "difference", dw_cli__money_json(shelf, result->difference), "document",
        plan ? plan : json_null());
}

static enum dw_cli_status show(struct going_on *at)
{
    const struct dw_miscut_result *result = &at->result;
    struct dw_cli_page *page = &at->shelf.page;
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    bool none = result->plan && result->plan->status == DW_STATUS_INFEASIBLE;
    dw_err err = dw_ledger_list(at->shelf.ledger, &(struct dw_stock_query){.step = result->step},
                                &list, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    dw_cli__fold(page, DW_CLI_STRONG, "", "Booked:");
    dw_cli__stock_table(page, list);
    dw_stock_list_free(list);
    if (none) {
        dw_cli__newline(page);
        dw_cli__fold(page, DW_CLI_CARE, "",
                     "There is not enough tube for the rest. The old plan stays open.");
        dw_cli__report_short(page, at->job, result->plan, NULL, 0);
    } else if (result->plan) {
        put_new_plan(at);
    } else {
        dw_cli__newline(page);
        dw_cli__fold(page, DW_CLI_GOOD, "", "Every part is cut; the plan is closed.");
        put_money(at);
    }
    json_t *document = dw_cli__shelf_document(&at->shelf);
    json_t *more = result_json(at);
    if (document && more)
        json_object_update(document, more);
    json_decref(more);
    enum dw_cli_status status = dw_cli__shelf_end(&at->shelf, document);
    return status == DW_CLI_DONE && none ? DW_CLI_SHORT : status;
}

/* --- the command ------------------------------------------------------------------------------ */

static enum dw_cli_status work(struct going_on *at)
{
    struct dw_settings settings;
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__settings(at->shelf.args, &settings);
    if (status != DW_CLI_DONE)
        return status;
    struct dw_cli_run run = {0};
    dw_cli__run_start(&run, &at->shelf.page, settings.time_ms);
    struct dw_job_request request = {.settings = settings, .hooks = dw_cli__run_hooks(&run)};
    dw_err err = dw_miscut__run(at->shelf.ledger, &at->shelf.act, at->job, &at->miscut, &request,
                                &at->result, &at->report, &error);
    dw_cli__run_end(&run);
    if (!err)
        return show(at);
    dw_cli__say_error(&error);
    if (at->result.step)
        dw_cli__complain("what happened is booked as step %lld; the rest was not planned again",
                         (long long)at->result.step);
    return dw_cli__status(err);
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct going_on at = {0};
    enum dw_cli_status status = dw_cli__shelf_open(args, DW_LEDGER_WRITE, &at.shelf);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args->operands[0], &at.job, &at.report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, at.job, &at.shelf.page);
    if (status == DW_CLI_DONE && !read_mishap(&at))
        status = DW_CLI_REFUSED;
    if (status == DW_CLI_DONE)
        status = work(&at);
    dw_miscut_result_free(&at.result);
    dw_job_free(at.job);
    dw_report_free(&at.report);
    dw_cli__shelf_close(&at.shelf);
    return status;
}

static const struct dw_cli_option options[] = {
    {"short", 0, "PIECE=LENGTH", NULL,
     "that piece of the bar, counted from its datum end, came out so long; nothing was cut after"},
    {"wrong-bar", 0, "NUMBER", NULL, "the bar's pieces were cut from this piece of the shelf"},
    {"pieces", 0, "N", NULL, "with --wrong-bar: so many came out; otherwise as many as fit"},
    {"measured", 0, "LENGTH", NULL, "the bar is this long, found before its first cut"},
    {"place", 0, "PLACE", NULL, "where what came off is put"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__cmd_miscut = {
    .name = "miscut",
    .operands = "JOB PLAN BAR",
    .summary = "book a bar that went wrong and plan the rest again",
    .about =
        "For a plan that the shelf holds. Says what went wrong with a bar: a piece that came out "
        "too short, pieces cut from the wrong bar, a bar that is not as long as it should be. It "
        "is booked as it happened; bars that are cut stay as they are; what spoiled is offered "
        "for other parts first; the rest is planned again and held under a new number; and the "
        "money of the mistake is shown.\n\n"
        "JOB is the file that the plan was made from, unchanged. `dropwise shelf plans PLAN` "
        "shows the numbers of the bars.",
    .least = 3,
    .most = 3,
    .shared = DW_CLI_SETTINGS | DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
