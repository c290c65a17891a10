/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise quote: what a client's job costs. */
#include "cli/commands/deal.h"
#include "cli/commands/sender.h"
#include "cli/reports/paper.h"
#include "cli/reports/report.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

/* What is shown of a quote: one client's job or all, with cost or without. */
struct view {
    struct dw_cli_page *page;
    const struct dw_job *job;
    const struct dw_plan *plan;
    const struct dw_quote_doc *quote;
    size_t order; /* DW_NONE = all */
    bool with_cost;
};

static bool is_shown(const struct view *view, size_t order)
{
    return view->order == DW_NONE || view->order == order;
}

static char *make_json(const struct view *view)
{
    struct dw_buf buf = {0};
    struct dw_out out = dw_cli__json_out(view->job, &buf);
    dw_job__quote_put(&out, view->job, view->plan, view->quote, view->order, view->with_cost);
    return dw_cli__json_end(&buf);
}

/* --- page
 * --------------------------------------------------------------------------------------------- */

static const struct dw_cli_column columns[] = {
    {.title = "what", .fold = true, .own_line = true},
    {.title = "quantity", .right = true},
    {.title = "cost", .say = "cost", .right = true},
    {.title = "price", .say = "price", .right = true},
    {.title = "tax", .say = "tax", .right = true},
};

static void add_line(const struct view *view, const struct dw_quote_line *line,
                     struct dw_cli_table *table)
{
    dw_cli__cell(table, line->text);
    dw_cli__cell(table, line->quantity);
    dw_cli__cell(table, view->with_cost ? dw_cli__amount(view->page, line->cost).text : "");
    dw_cli__cell(table, dw_cli__amount(view->page, line->price).text);
    dw_cli__cell(table,
                 line->tax_ppm != DW_NO_TAX ? dw_cli__amount(view->page, line->tax).text : "");
}

static bool is_taxed(const struct dw_quote_job *job)
{
    for (size_t i = 0; i < job->n_lines; i++) {
        if (job->lines[i].tax_ppm != DW_NO_TAX)
            return true;
    }
    return false;
}

static void put_offcuts(const struct view *view, const struct dw_quote_offcut *offcuts, size_t n,
                        const char *lead)
{
    struct dw_buf text = {0};
    for (size_t i = 0; i < n; i++) {
        dw_buf__put(&text, text.n ? ", " : lead);
        if (offcuts[i].count > 1)
            dw_buf__format(&text, "%lld of ", (long long)offcuts[i].count);
        dw_buf__put(&text, dw_cli__length(view->page, offcuts[i].length).text);
    }
    if (text.n) {
        dw_buf__char(&text, '.');
        dw_cli__fold_buf(view->page, DW_CLI_PLAIN, "  ", &text);
    }
}

static void put_job(const struct view *view, const struct dw_quote_job *job)
{
    struct dw_cli_page *page = view->page;
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    struct dw_buf line = {0};
    dw_cli__clean(&line, job->name ? job->name : "Material");
    if (job->client) {
        dw_buf__put(&line, " for ");
        dw_cli__clean(&line, job->client);
    }
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &line);
    bool taxed = is_taxed(job);
    for (size_t i = 0; i < job->n_lines; i++)
        add_line(view, &job->lines[i], &table);
    dw_cli__cell(&table, "sum");
    dw_cli__cell(&table, "");
    dw_cli__cell(&table, view->with_cost ? dw_cli__amount(page, job->cost).text : "");
    dw_cli__cell(&table, dw_cli__amount(page, job->price).text);
    dw_cli__cell(&table, taxed ? dw_cli__amount(page, job->tax).text : "");
    dw_cli__table_end(page, &table);
    dw_buf__format(&line, "Total %s", dw_cli__money(page, job->total).text);
    if (taxed) {
        dw_buf__put(&line, " with ");
        dw_cli__clean(&line, view->quote->tax_name);
    }
    dw_cli__fold_buf(page, DW_CLI_STRONG, "  ", &line);
    put_offcuts(view, job->offcuts, job->n_offcuts, "Yours, left over: ");
}

/* A plan may count a piece of the shelf at other money than was paid for it. */
static void put_paid(const struct view *view)
{
    struct dw_buf line = {0};
    dw_money paid = 0, counted = view->plan->totals.taken;
    if (!dw_plan__paid(view->job, view->plan, &paid) || (paid == 0 && counted == 0))
        return;
    dw_buf__format(&line, "Shelf bars and offcuts at book value: %s",
                   dw_cli__amount(view->page, paid).text);
    if (paid != counted)
        dw_buf__format(&line, " (the plan counted %s)", dw_cli__amount(view->page, counted).text);
    dw_buf__char(&line, '.');
    dw_cli__fold_buf(view->page, DW_CLI_PLAIN, "  ", &line);
    dw_cli__put_paid(view->page, view->job, view->plan, "Paid for them: ");
}

static void put_private(const struct view *view)
{
    const struct dw_quote_doc *quote = view->quote;
    struct dw_cli_page *page = view->page;
    struct dw_buf line = {0};
    dw_cli__heading(page, "Not for the client");
    dw_cli__fold(page, DW_CLI_PLAIN, "  ",
                 "Cost is what is paid: new bars at the prices of the job file, shelf bars and "
                 "offcuts at book value. Price is what the client is charged. What a plan counts "
                 "for a piece is in neither.");
    dw_buf__format(&line, "Spent %s, ", dw_cli__money(page, quote->spent).text);
    dw_buf__format(&line, "charged to the jobs at cost %s, ",
                   dw_cli__money(page, quote->charged).text);
    dw_buf__format(&line, "borne by the shop %s.", dw_cli__money(page, quote->shop).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &line);
    put_paid(view);
    dw_buf__format(&line, "Prices: %s.", quote->uplift);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &line);
    dw_buf__format(&line, "Rule: %s.", quote->rule);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &line);
    put_offcuts(view, quote->shop_offcuts, quote->n_shop_offcuts, "The shop's, left over: ");
}

static char *make_page(const struct view *view)
{
    const struct dw_quote_doc *quote = view->quote;
    struct dw_buf line = {0};
    dw_buf__put(&line, "Quote");
    if (quote->date)
        dw_buf__format(&line, " of %s", quote->date);
    if (quote->valid_until)
        dw_buf__format(&line, ", valid until %s", quote->valid_until);
    dw_cli__fold_buf(view->page, DW_CLI_STRONG, "", &line);
    dw_buf__format(&line, "Tube is charged by %s.", quote->way);
    dw_cli__fold_buf(view->page, DW_CLI_PLAIN, "", &line);
    for (size_t i = 0; i < quote->n_jobs; i++) {
        if (is_shown(view, quote->jobs[i].order))
            put_job(view, &quote->jobs[i]);
    }
    dw_cli__newline(view->page);
    for (size_t i = 0; i < quote->n_notes; i++)
        dw_cli__say_text(view->page, DW_CLI_QUIET, "", quote->notes[i]);
    if (view->with_cost)
        put_private(view);
    dw_cli__newline(view->page);
    dw_cli__report_care(view->page, &(const struct dw_care){0}, DW_AT_QUOTE);
    return dw_cli__page_take(view->page);
}

/* --- the command
 * ---------------------------------------------------------------------------------------- */

/* The client's job that --job names. */
static enum dw_cli_status find_order(const struct dw_cli_args *args, const struct dw_job *job,
                                     size_t *order)
{
    const char *name = dw_cli__value(args, "job");
    *order = DW_NONE;
    for (size_t i = 0; name && i < job->n_orders; i++) {
        if (job->orders[i].name && strcmp(job->orders[i].name, name) == 0)
            *order = i;
    }
    if (!name || *order != DW_NONE)
        return DW_CLI_DONE;
    dw_cli__complain("--job: the batch has no job `%.60s`", name);
    return DW_CLI_REFUSED;
}

/* Whose paper it is: the one job of the view, or with cost the whole batch. false: several clients'
 * prices would stand on one paper. */
static bool paper_client(const struct view *view, size_t *client)
{
    *client = DW_NONE;
    for (size_t j = 0; j < view->quote->n_jobs && !view->with_cost; j++) {
        if (!is_shown(view, view->quote->jobs[j].order))
            continue;
        if (*client != DW_NONE)
            return false;
        *client = j;
    }
    return view->with_cost || *client != DW_NONE;
}

/* All that one client's paper says but its dates: the same again has the same number. */
static char *subject_of(const struct view *view, size_t client)
{
    struct dw_quote_doc undated = *view->quote;
    undated.date = NULL;
    undated.valid_until = NULL;
    struct view alone = *view;
    alone.quote = &undated;
    alone.order = view->quote->jobs[client].order;
    alone.with_cost = false;
    return make_json(&alone);
}

static enum dw_cli_status number_it(const struct dw_cli_args *args, const struct view *view,
                                    size_t client, struct dw_cli_sender *sender,
                                    char number[DW_SERIES_TEXT])
{
    number[0] = '\0';
    if (client == DW_NONE)
        return DW_CLI_DONE;
    char *subject = subject_of(view, client);
    enum dw_cli_status status = subject ? dw_cli__sender_number(sender, args, DW_NUMBERED_QUOTE,
                                                                view->quote->date, subject, number)
                                        : DW_CLI_FAILED;
    free(subject);
    return status;
}

/* Writes one paper; a number that can't be given was said already, and `error` is empty then. */
static enum dw_cli_status draw_paper(const struct dw_cli_args *args, const struct view *view,
                                     size_t client, const char *path, struct dw_cli_sender *sender,
                                     struct dw_error *error)
{
    char paper_number[DW_SERIES_TEXT];
    struct dw_paper_request request = dw_cli__paper_at(args, path, view->quote->date);
    struct dw_paper_pages pages = {0};
    struct dw_paper_number number = {{0}};
    dw_err err = dw_paper__number(view->job, view->plan, &number, error);
    request.number = number.text;
    request.shop = sender->shop;
    request.parts = dw_cli__has(args, "parts");
    enum dw_cli_status status =
        err ? DW_CLI_FAILED : number_it(args, view, client, sender, paper_number);
    if (!err && status != DW_CLI_DONE)
        return status;
    request.paper_number = paper_number[0] ? paper_number : NULL;
    if (!err)
        err = dw_paper__quote(view->job, view->quote, client, &request, &pages, error);
    if (!err)
        err = dw_paper__write(&pages, path, dw_cli__has(args, "replace"), error);
    dw_cli__paper_missing(args, &pages);
    dw_paper__free(&pages);
    return dw_cli__status(err);
}

static dw_err write_table(const struct dw_cli_args *args, const struct view *view, size_t client,
                          const char *path, const char *date, struct dw_error *error)
{
    struct dw_tables tables = {0};
    const struct dw_table_wish wish = dw_cli__table_at(args, path, date);
    dw_err err = dw_tables__quote(view->job, view->quote, client, &wish, &tables, error);
    if (!err)
        err = dw_tables__write(&tables, path, dw_cli__has(args, "replace"), error);
    dw_tables__free(&tables);
    return err;
}

/* By its ending a file is a paper or a table. */
static enum dw_cli_status write_file(const struct dw_cli_args *args, const struct view *view,
                                     const char *path, struct dw_cli_sender *sender)
{
    struct dw_error error = {0};
    dw_err err = DW_OK;
    size_t client = DW_NONE;
    enum dw_cli_status status = DW_CLI_DONE;
    bool paper = dw_paper__form_of(path) != NULL;
    if (!paper && !dw_tables__form_of(path))
        err = dw_error__at(&error, DW_ERR_INPUT, path, 0, 0, DW_CLI_ENDINGS("a quote"));
    else if (!paper_client(view, &client))
        err = dw_error__set(&error, DW_ERR_INPUT,
                            "quote: a paper is one client's: name the job with --job, or take all "
                            "with --private");
    else if (paper)
        status = draw_paper(args, view, client, path, sender, &error);
    else
        err = write_table(args, view, client, path, view->quote->date, &error);
    if (error.text[0])
        dw_cli__say_error(&error);
    return err ? dw_cli__status(err) : status;
}

static enum dw_cli_status write_files(const struct dw_cli_args *args, const struct view *view,
                                      struct dw_cli_sender *sender)
{
    enum dw_cli_status status = DW_CLI_DONE;
    for (size_t i = 0; i < args->n_given && status == DW_CLI_DONE; i++)
        if (args->given[i].option.letter == 'o')
            status = write_file(args, view, args->given[i].value, sender);
    return status;
}

static enum dw_cli_status quote_it(const struct dw_cli_args *args, struct dw_cli_deal *deal,
                                   size_t order)
{
    struct dw_quote_doc *quote = NULL;
    struct dw_error error = {0};
    dw_err err = dw_quote_make(deal->job, deal->plan, deal->job->quote, deal->date, &quote, &error);
    if (err) {
        dw_cli__say_error(&error);
        return dw_cli__status(err);
    }
    const struct view view = {.page = &deal->page,
                              .job = deal->job,
                              .plan = deal->plan,
                              .quote = quote,
                              .order = order,
                              .with_cost = dw_cli__has(args, "private")};
    struct dw_cli_sender sender = {0};
    char *text = dw_cli__has(args, "json") ? make_json(&view) : make_page(&view);
    enum dw_cli_status status =
        text ? dw_cli__sender_open(args, deal->job, &sender) : DW_CLI_FAILED;
    if (status == DW_CLI_DONE)
        status = write_files(args, &view, &sender);
    dw_cli__sender_close(&sender);
    if (status == DW_CLI_DONE)
        status = dw_cli__write(text, strlen(text));
    free(text);
    dw_quote_free(quote);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_cli_deal deal = {0};
    size_t order = DW_NONE;
    enum dw_cli_status status = dw_cli__deal_open(args, &deal);
    if (status == DW_CLI_DONE && !deal.job->quote) {
        dw_cli__complain("%s: the job does not say how to charge; add `quote: {charge: whole "
                         "bars}` or another way",
                         args->operands[0]);
        status = DW_CLI_REFUSED;
    }
    if (status == DW_CLI_DONE)
        status = find_order(args, deal.job, &order);
    if (status == DW_CLI_DONE)
        status = quote_it(args, &deal, order);
    dw_cli__deal_close(&deal);
    return status;
}

static const struct dw_cli_option options[] = {
    {"private", 'p', NULL, NULL, "show cost, margin and what the shop bears; not for the client"},
    {"job", 0, "NAME", NULL, "this client's job alone, of a batch"},
    {"parts", 0, NULL, NULL, "list on the paper what is cut, too"},
    DW_CLI_SENDER_OPTIONS,
    DW_CLI_DEAL_OPTIONS("write the quote to this file too, .pdf .svg .png .csv or .xlsx; of a "
                        "batch, one client's with --job or all with --private; may be repeated"),
};

const struct dw_cli_command dw_cli__cmd_quote = {
    .name = "quote",
    .summary = "quote the material to each client of a job or batch",
    .about =
        "Shares what plan and order spend among the clients' jobs by the job file's `quote` "
        "section: whole bars, length used, or length plus a percentage; who owns offcuts; who "
        "bears the waste; markup or margin; tax; labour. What the jobs are charged at cost and "
        "what the shop bears is what was spent, to the last cent.\n\n"
        "Without --private only what a client may see is shown: no cost, no margin.\n\n"
        "Without PLAN.json the job is planned first. One of JOB and PLAN.json may be -, standard "
        "input.",
    DW_CLI_DEAL_COMMAND,
};
