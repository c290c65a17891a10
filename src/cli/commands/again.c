/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Booking what happened at a bar and planning the rest again: reading, showing. */
#include "cli/commands/again.h"
#include "cli/reports/report.h"
#include "cli/terminal/run.h"

#include "format/format.h"

#include <stdlib.h>
#include <string.h>

bool dw_cli__again_bar(struct dw_cli_again *again)
{
    const char **operands = again->shelf.args->operands;
    return dw_cli__shelf_number("plan", operands[1], &again->miscut.plan) &&
           dw_cli__shelf_number("bar", operands[2], &again->miscut.bar);
}

bool dw_cli__again_piece(const struct dw_cli_again *again, const char *what, const char *text,
                         int64_t *piece, dw_length *length)
{
    char number[24] = {0};
    const char *equals = strchr(text, '=');
    if (!equals || equals == text || (size_t)(equals - text) >= sizeof number) {
        dw_cli__complain("%s %s: write which piece of the bar is how long, as 2=\"47 1/2 in\"",
                         what, text);
        return false;
    }
    memcpy(number, text, (size_t)(equals - text));
    return dw_cli__shelf_number("piece", number, piece) &&
           dw_cli__shelf_length(&again->shelf, what, equals + 1, length);
}

/* --- showing ---------------------------------------------------------------------------------- */

static void put_amount(struct dw_cli_again *again, struct dw_cli_table *table, const char *what,
                       dw_money amount)
{
    dw_cli__cell(table, what);
    dw_cli__cell(table, dw_cli__money(&again->shelf.page, amount).text);
}

/* Two questions, two answers: what it costs, and what the plan counts otherwise for other reasons.
 */
static void put_money(struct dw_cli_again *again)
{
    static const struct dw_cli_column columns[] = {{.title = ""}, {.title = "", .right = true}};
    struct dw_cli_page *page = &again->shelf.page;
    const struct dw_miscut_result *result = &again->result;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    bool dearer = result->difference >= 0;
    if (again->miscut.kind == DW_MISCUT_REST) {
        put_amount(again, &table, "planned for the bars that were left", result->before);
    } else {
        put_amount(again, &table, "planned for what was left, this bar with it", result->before);
        put_amount(again, &table, "gone with this bar", result->spent);
    }
    put_amount(again, &table, "new plan for the rest", result->after);
    put_amount(again, &table, dearer ? again->dearer : again->cheaper,
               dearer ? result->difference : -result->difference);
    dw_cli__heading(page, "Money");
    dw_cli__table_end(page, &table);
    if (result->revalued == 0)
        return;
    bool more = result->revalued > 0;
    struct dw_buf text = {0};
    dw_buf__format(&text,
                   "Every piece of the shelf stands here at one value before and after. By itself "
                   "the new plan counts %s %s for pieces of the shelf that came to it since: its "
                   "money is %s.",
                   dw_cli__money(page, more ? result->revalued : -result->revalued).text,
                   more ? "more" : "less",
                   dw_cli__money(page, result->after + result->revalued).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
}

/* "Back on the shelf, since the new plan does without: C5, C7." */
static void put_back(struct dw_cli_again *again)
{
    const struct dw_stock_list *back = again->result.back;
    struct dw_buf text = {0};
    if (!back || back->n == 0)
        return;
    dw_buf__put(&text, again->result.plan ? "Back on the shelf, since the new plan does without: "
                                          : "Back on the shelf: ");
    for (size_t i = 0; i < back->n; i++)
        dw_buf__format(&text, "%s%s", i ? ", " : "", back->rows[i].number);
    dw_buf__char(&text, '.');
    dw_cli__newline(&again->shelf.page);
    dw_cli__fold_buf(&again->shelf.page, DW_CLI_STRONG, "", &text);
}

static void put_document(struct dw_cli_again *again)
{
    struct dw_buf text = {0};
    const char *path = dw_cli__value(again->shelf.args, "output");
    long long plan = (long long)again->result.new_plan;
    if (path) {
        dw_buf__put(&text, "The document of the new plan is ");
        dw_cli__clean(&text, path);
    } else {
        dw_buf__format(&text,
                       "`dropwise shelf plans %lld --output PLAN.json` writes the document of the "
                       "new plan",
                       plan);
    }
    dw_buf__format(&text,
                   ": sheet, labels, order and quote are made from the job and it. They say plan "
                   "%lld, in place of %lld.",
                   plan, (long long)again->miscut.plan);
    dw_cli__newline(&again->shelf.page);
    dw_cli__fold_buf(&again->shelf.page, DW_CLI_PLAIN, "", &text);
}

static void put_new_plan(struct dw_cli_again *again)
{
    struct dw_cli_page *page = &again->shelf.page;
    const struct dw_miscut_result *result = &again->result;
    struct dw_buf text = {0};
    dw_buf__format(&text, "Plan %lld replaces plan %lld; ", (long long)result->new_plan,
                   (long long)again->miscut.plan);
    if (result->n_locked == 0)
        dw_buf__put(&text, "nothing is cut yet.");
    else
        dw_buf__format(&text, "%s cut so far and stay%s.",
                       dw_cli__count(result->n_locked, "bar is", "bars are").text,
                       result->n_locked == 1 ? "s as it is" : " as they are");
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &text);
    put_back(again);
    dw_cli__report_bars(page, again->job, result->plan);
    if (dw_cli__report_layouts(page, again->job, result->plan) != DW_OK)
        page->buf.failed = true;
    dw_cli__report_proof(page, again->job, result->plan, dw_cli__run_stopped());
    put_money(again);
    dw_cli__report_end(page);
    put_document(again);
}

static void put_booked(struct dw_cli_again *again, const struct dw_stock_list *list)
{
    struct dw_cli_page *page = &again->shelf.page;
    struct dw_buf text = {0};
    if (again->result.step == 0) {
        dw_cli__fold(page, DW_CLI_PLAIN, "", "Nothing is booked.");
        return;
    }
    dw_buf__format(&text, "Booked as step %lld%s", (long long)again->result.step,
                   list && list->n > 0 ? ":" : ".");
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &text);
    if (list)
        dw_cli__stock_table(page, list);
}

/* What to do when tube has come. */
static void put_later(struct dw_cli_again *again)
{
    struct dw_buf text = {0};
    bool measured = again->miscut.kind == DW_MISCUT_TRUE;
    if (again->result.step || again->miscut.kind == DW_MISCUT_REST) {
        dw_buf__put(&text, "When there is tube for it, `dropwise plan ");
        dw_cli__clean(&text, again->shelf.args->operands[0]);
        dw_buf__format(&text, " --hold --rest-of %lld` plans what is left of the job.",
                       (long long)again->miscut.plan);
        dw_buf__put(&text,
                    measured ? " The true length is not kept: say it again of that plan." : "");
    } else {
        dw_buf__put(&text, "When there is tube for it, repeat this command.");
    }
    dw_cli__newline(&again->shelf.page);
    dw_cli__fold_buf(&again->shelf.page, DW_CLI_PLAIN, "", &text);
}

static void put_page(struct dw_cli_again *again, const struct dw_stock_list *list)
{
    struct dw_cli_page *page = &again->shelf.page;
    const struct dw_miscut_result *result = &again->result;
    put_booked(again, again->miscut.kind == DW_MISCUT_REST ? NULL : list);
    if (result->plan && result->plan->status == DW_STATUS_INFEASIBLE) {
        dw_cli__newline(page);
        dw_cli__fold(page, DW_CLI_CARE, "",
                     "There is not enough tube for the rest. The old plan stays open.");
        dw_cli__report_short(page, again->job, result->plan, again->cures, again->n_cures);
        put_later(again);
    } else if (result->plan) {
        put_new_plan(again);
    } else {
        dw_cli__newline(page);
        dw_cli__fold(page, DW_CLI_GOOD, "", "Every part is cut; the plan is closed.");
        put_back(again);
        put_money(again);
    }
}

static json_t *result_json(struct dw_cli_again *again, const struct dw_stock_list *list)
{
    const struct dw_miscut_result *result = &again->result;
    struct dw_cli_shelf *shelf = &again->shelf;
    json_t *document = dw_cli__shelf_document(shelf);
    char *text = NULL;
    json_t *plan = NULL;
    if (result->plan && dw_plan_to_json(again->job, result->plan, &text, NULL) == DW_OK)
        plan = json_loads(text, 0, NULL);
    free(text);
    json_t *more = json_pack(
        "{s:I, s:I, s:I, s:I, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:b}", "step",
        (json_int_t)result->step, "replaces", (json_int_t)again->miscut.plan, "plan",
        (json_int_t)result->new_plan, "locked", (json_int_t)result->n_locked, "before",
        dw_cli__money_json(shelf, result->before), "spent",
        dw_cli__money_json(shelf, result->spent), "after", dw_cli__money_json(shelf, result->after),
        "difference", dw_cli__money_json(shelf, result->difference), "counted otherwise",
        dw_cli__money_json(shelf, result->revalued), "pieces",
        list ? dw_cli__stocks_json(shelf, list) : json_array(), "back",
        result->back ? dw_cli__stocks_json(shelf, result->back) : json_array(), "document",
        plan ? plan : json_null(), "written", (int)result->written);
    struct dw_care care = {0};
    if (result->plan)
        dw_care__plan(&care, again->job, result->plan);
    json_object_set_new(more, "cautions", dw_cli__json_care(again->job, &care, DW_AT_SAW));
    if (document && more)
        json_object_update(document, more);
    json_decref(more);
    return document;
}

/* The plan document, as `dropwise plan --json` prints it. */
static enum dw_cli_status show_document(struct dw_cli_again *again)
{
    const struct dw_miscut_result *result = &again->result;
    struct dw_error error = {0};
    char *text = NULL;
    const struct dw_plan_beside beside = {.report = &again->report};
    dw_err err = dw_plan__to_json(again->job, result->plan, &beside, &text, &error);
    enum dw_cli_status status = dw_cli__shelf_said(err, &error);
    if (!err && result->new_plan)
        dw_cli__complain("held as plan %lld, in place of plan %lld", (long long)result->new_plan,
                         (long long)again->miscut.plan);
    if (!err)
        status = dw_cli__write(text, strlen(text));
    free(text);
    return status == DW_CLI_DONE && !result->new_plan ? DW_CLI_SHORT : status;
}

static enum dw_cli_status show(struct dw_cli_again *again)
{
    if (again->miscut.kind == DW_MISCUT_REST && dw_cli__has(again->shelf.args, "json"))
        return show_document(again);
    const struct dw_miscut_result *result = &again->result;
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    bool none = result->plan && result->plan->status == DW_STATUS_INFEASIBLE;
    dw_err err =
        result->step ? dw_miscut_at_saw(again->shelf.ledger, result->step, &list, &error) : DW_OK;
    if (err)
        return dw_cli__shelf_said(err, &error);
    put_page(again, list);
    enum dw_cli_status status = dw_cli__shelf_end(&again->shelf, result_json(again, list));
    dw_stock_list_free(list);
    return status == DW_CLI_DONE && none ? DW_CLI_SHORT : status;
}

/* --- the work --------------------------------------------------------------------------------- */

/* What a failure left behind, so that nobody books it twice. */
static void say_booked(const struct dw_cli_again *again)
{
    const struct dw_miscut_result *result = &again->result;
    if (result->step && result->new_plan)
        dw_cli__complain("it is booked all the same, as step %lld: plan %lld replaces plan %lld; "
                         "`dropwise shelf plans %lld --output FILE` writes its document",
                         (long long)result->step, (long long)result->new_plan,
                         (long long)again->miscut.plan, (long long)result->new_plan);
    else if (result->step)
        dw_cli__complain("it is booked all the same, as step %lld", (long long)result->step);
}

static enum dw_cli_status work(struct dw_cli_again *again)
{
    struct dw_settings settings;
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__settings(again->shelf.args, &settings);
    if (status != DW_CLI_DONE)
        return status;
    struct dw_cli_run run = {0};
    dw_cli__run_start(&run, &again->shelf.page, settings.time_ms);
    struct dw_job_request request = {.settings = settings,
                                     .hooks = dw_cli__run_hooks(&run),
                                     .path = dw_cli__value(again->shelf.args, "output"),
                                     .replace = dw_cli__has(again->shelf.args, "replace")};
    dw_err err = dw_miscut_run(again->shelf.ledger, &again->shelf.act, again->job, &again->miscut,
                               &request, &again->result, &again->report, &error);
    if (!err && again->result.plan && again->result.plan->status == DW_STATUS_INFEASIBLE &&
        !dw_cli__run_stopped())
        dw_job_cure(again->job, again->result.plan, &request.hooks, &again->cures, &again->n_cures,
                    NULL); /* without them it is said what is missing */
    dw_cli__run_end(&run);
    status = err ? dw_cli__shelf_said(err, &error) : show(again);
    if (status == DW_CLI_FAILED || err)
        say_booked(again);
    return status;
}

enum dw_cli_status dw_cli__again(const struct dw_cli_args *args, struct dw_cli_again *again,
                                 bool (*read)(struct dw_cli_again *))
{
    enum dw_cli_status status = dw_cli__shelf_open(args, DW_LEDGER_WRITE, &again->shelf);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args, &again->job, &again->report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, again->job, &again->shelf.page);
    if (status == DW_CLI_DONE) {
        again->miscut.place = dw_cli__value(args, "place");
        status = read(again) ? work(again) : DW_CLI_REFUSED;
    }
    free(again->cures);
    dw_miscut_result_free(&again->result);
    dw_job_free(again->job);
    dw_report_free(&again->report);
    dw_cli__shelf_close(&again->shelf);
    return status;
}

/* --- the rest alone --------------------------------------------------------------------------- */

static bool read_rest(struct dw_cli_again *again)
{
    again->miscut.kind = DW_MISCUT_REST;
    return dw_cli__shelf_number("plan", dw_cli__value(again->shelf.args, "rest-of"),
                                &again->miscut.plan);
}

enum dw_cli_status dw_cli__again_rest(const struct dw_cli_args *args)
{
    struct dw_cli_again again = {.dearer = "what was missing costs",
                                 .cheaper = "cheaper than planned by"};
    if (!dw_cli__has(args, "hold")) {
        dw_cli__complain("--rest-of: the new plan takes the place of the one that is held: give "
                         "--hold too");
        return DW_CLI_REFUSED;
    }
    if (dw_cli__has(args, "again")) {
        dw_cli__complain("--again makes the whole job once more, --rest-of what is left of it: "
                         "give one of the two");
        return DW_CLI_REFUSED;
    }
    return dw_cli__again(args, &again, read_rest);
}
