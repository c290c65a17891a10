/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise order: what to buy, from whom, until when. */
#include "cli/commands/deal.h"
#include "cli/commands/sender.h"
#include "cli/reports/paper.h"
#include "cli/reports/report.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static char *make_json(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_order_doc *order)
{
    struct dw_buf buf = {0};
    struct dw_out out = dw_cli__json_out(job, &buf);
    dw_job__order_put(&out, job, plan, order);
    return dw_cli__json_end(&buf);
}

/* --- page
 * ------------------------------------------------------------------------------------------ */

static void add_line(struct dw_cli_page *page, const struct dw_order_line *line,
                     struct dw_cli_table *table)
{
    bool goods = line->kind == DW_ORDER_BARS || line->kind == DW_ORDER_FITTING;
    bool counted = goods || line->kind == DW_ORDER_CUTS;
    struct dw_buf text = {0};
    if (counted)
        dw_cli__cell_format(table, "%" PRId64, line->quantity);
    else
        dw_cli__cell(table, "");
    dw_cli__cell(table, line->item);
    dw_cli__clean(&text, line->text);
    if (line->pack > 1)
        dw_buf__format(&text, ", %s of %" PRId64, dw_cli__count(line->packs, "pack", "packs").text,
                       line->pack);
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, dw_cli__weight(page, line->weight_mg).text);
    dw_cli__cell(table, counted ? dw_cli__amount(page, line->unit_price).text : "");
    dw_cli__cell(table, dw_cli__amount(page, line->money).text);
}

static void add_sum(struct dw_cli_page *page, struct dw_cli_table *table, const char *text,
                    dw_money money)
{
    dw_cli__cell(table, "");
    dw_cli__cell(table, "");
    dw_cli__cell(table, text);
    dw_cli__cell(table, "");
    dw_cli__cell(table, "");
    dw_cli__cell(table, dw_cli__amount(page, money).text);
}

static void put_supplier(struct dw_cli_page *page, const struct dw_order_supplier *supplier)
{
    static const struct dw_cli_column columns[] = {
        {.title = "count", .right = true},
        {.title = "item", .own_line = true},
        {.title = "what", .fold = true},
        {.title = "weight", .right = true},
        {.title = "each", .say = "each", .right = true},
        {.title = "amount", .say = "amount", .right = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    struct dw_buf name = {0};
    dw_cli__clean(&name, supplier->name ? supplier->name : "No supplier named");
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &name);
    for (size_t i = 0; i < supplier->n_lines; i++)
        add_line(page, &supplier->lines[i], &table);
    add_sum(page, &table, "sum", supplier->total);
    dw_cli__table_end(page, &table);
    struct dw_buf dates = {0};
    if (supplier->price_date)
        dw_buf__format(&dates, "Prices of %s", supplier->price_date);
    if (supplier->valid_until)
        dw_buf__format(&dates, "%s until %s", dates.n ? ", valid" : "Prices valid",
                       supplier->valid_until);
    if (dates.n)
        dw_buf__char(&dates, '.');
    if (dates.n)
        dw_cli__fold_buf(page, DW_CLI_QUIET, "  ", &dates);
}

static char *make_page(struct dw_cli_page *page, const struct dw_job *job,
                       const struct dw_plan *plan, const struct dw_order_doc *order)
{
    struct dw_buf line = {0};
    dw_buf__put(&line, "Order");
    if (order->job) {
        dw_buf__put(&line, " for ");
        dw_cli__clean(&line, order->job);
    }
    if (order->date)
        dw_buf__format(&line, ", %s", order->date);
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &line);
    if (order->n_suppliers == 0)
        dw_cli__fold(page, DW_CLI_PLAIN, "", "Nothing has to be bought.");
    for (size_t i = 0; i < order->n_suppliers; i++)
        put_supplier(page, &order->suppliers[i]);
    if (order->n_suppliers > 0) {
        dw_buf__format(&line, "Total %s", dw_cli__money(page, order->total).text);
        if (order->weight_mg > 0)
            dw_buf__format(&line, ", bars about %s", dw_cli__weight(page, order->weight_mg).text);
        dw_cli__newline(page);
        dw_cli__fold_buf(page, DW_CLI_STRONG, "", &line);
    }
    if (order->n_suppliers > 0)
        dw_cli__fold(page, DW_CLI_QUIET, "",
                     "These are prices to be paid, as the job file gives them.");
    dw_cli__put_paid(page, job, plan, "From the shelf, paid already: ");
    for (size_t i = 0; i < order->n_notes; i++)
        dw_cli__say_text(page, DW_CLI_CARE, "! ", order->notes[i]);
    dw_cli__newline(page);
    dw_cli__report_care(page, &(const struct dw_care){0}, DW_AT_BUY);
    return dw_cli__page_take(page);
}

/* --- the command
 * ------------------------------------------------------------------------------------ */

/* Who orders, and the number of each supplier's order. */
struct order_sender {
    struct dw_cli_sender sender;
    char (*texts)[DW_SERIES_TEXT];
    const char **numbers; /* length of the order's suppliers; NULL where an order has none */
};

static dw_err write_table(const struct dw_cli_deal *deal, const struct dw_order_doc *order,
                          const char *path, struct dw_error *error)
{
    struct dw_tables tables = {0};
    const struct dw_table_wish wish = dw_cli__table_at(deal->args, path, deal->date);
    dw_err err = dw_tables__order(deal->job, order, &wish, &tables, error);
    if (!err)
        err = dw_tables__write(&tables, path, dw_cli__has(deal->args, "replace"), error);
    dw_tables__free(&tables);
    return err;
}

static dw_err draw_paper(const struct dw_cli_deal *deal, const struct dw_order_doc *order,
                         const struct order_sender *from, const char *path, struct dw_error *error)
{
    struct dw_paper_request request = dw_cli__paper_at(deal->args, path, deal->date);
    struct dw_paper_pages pages = {0};
    struct dw_paper_number number = {{0}};
    dw_err err = dw_paper__number(deal->job, deal->plan, &number, error);
    request.number = number.text;
    request.shop = from->sender.shop;
    request.numbers = from->numbers;
    request.wanted = dw_cli__value(deal->args, "wanted");
    if (!err)
        err = dw_paper__order(deal->job, order, &request, &pages, error);
    if (!err)
        err = dw_paper__write(&pages, path, dw_cli__has(deal->args, "replace"), error);
    dw_cli__paper_missing(deal->args, &pages);
    dw_paper__free(&pages);
    return err;
}

/* By its ending a file is a paper or a table. */
static dw_err write_file(const struct dw_cli_deal *deal, const struct dw_order_doc *order,
                         const struct order_sender *from, const char *path, struct dw_error *error)
{
    if (dw_paper__form_of(path))
        return draw_paper(deal, order, from, path, error);
    if (dw_tables__form_of(path))
        return write_table(deal, order, path, error);
    return dw_error__at(error, DW_ERR_INPUT, path, 0, 0, DW_CLI_ENDINGS("an order"));
}

static enum dw_cli_status write_files(const struct dw_cli_deal *deal,
                                      const struct dw_order_doc *order,
                                      const struct order_sender *from)
{
    for (size_t i = 0; i < deal->args->n_given; i++) {
        const struct dw_cli_given *given = &deal->args->given[i];
        if (given->option.letter != 'o')
            continue;
        struct dw_error error = {0};
        dw_err err = write_file(deal, order, from, given->value, &error);
        if (err) {
            dw_cli__say_error(&error);
            return dw_cli__status(err);
        }
    }
    return DW_CLI_DONE;
}

/* All that a supplier's order says but its date. */
static char *subject_of(const struct dw_cli_deal *deal, const struct dw_order_doc *order, size_t s)
{
    struct dw_order_doc alone = *order;
    alone.date = NULL;
    alone.suppliers = &order->suppliers[s];
    alone.n_suppliers = 1;
    return make_json(deal->job, deal->plan, &alone);
}

static enum dw_cli_status number_orders(const struct dw_cli_deal *deal,
                                        const struct dw_order_doc *order, struct order_sender *from)
{
    enum dw_cli_status status = DW_CLI_DONE;
    from->texts = calloc(order->n_suppliers + 1, sizeof *from->texts);
    from->numbers = calloc(order->n_suppliers + 1, sizeof *from->numbers);
    if (!from->texts || !from->numbers)
        return DW_CLI_FAILED;
    if (order->n_suppliers > 1 && dw_cli__has(deal->args, "number")) {
        dw_cli__complain("order: --number is for one supplier's order; --supplier names it");
        return DW_CLI_REFUSED;
    }
    for (size_t s = 0; s < order->n_suppliers && status == DW_CLI_DONE; s++) {
        char *subject = subject_of(deal, order, s);
        status = subject ? dw_cli__sender_number(&from->sender, deal->args, DW_NUMBERED_ORDER,
                                                 order->date, subject, from->texts[s])
                         : DW_CLI_FAILED;
        from->numbers[s] = from->texts[s][0] ? from->texts[s] : NULL;
        free(subject);
    }
    return status;
}

/* Leaves the supplier that --supplier names, and the sums of that one alone. */
static enum dw_cli_status pick_supplier(const struct dw_cli_args *args, struct dw_order_doc *order)
{
    const char *name = dw_cli__value(args, "supplier");
    for (size_t s = 0; name && s < order->n_suppliers; s++) {
        if (!order->suppliers[s].name || strcmp(order->suppliers[s].name, name) != 0)
            continue;
        order->suppliers[0] = order->suppliers[s];
        order->n_suppliers = 1;
        order->total = order->suppliers[0].total;
        return DW_CLI_DONE;
    }
    if (name)
        dw_cli__complain("--supplier: nothing is ordered of `%.60s`", name);
    return name ? DW_CLI_REFUSED : DW_CLI_DONE;
}

/* Papers and tables of the order; --supplier leaves one of them, when the text was made. */
static enum dw_cli_status send(const struct dw_cli_deal *deal, struct dw_order_doc *order)
{
    struct order_sender from = {.texts = NULL};
    enum dw_cli_status status = pick_supplier(deal->args, order);
    if (status == DW_CLI_DONE)
        status = dw_cli__sender_open(deal->args, deal->job, &from.sender);
    if (status == DW_CLI_DONE)
        status = number_orders(deal, order, &from);
    if (status == DW_CLI_DONE)
        status = write_files(deal, order, &from);
    dw_cli__sender_close(&from.sender);
    free(from.texts);
    free(from.numbers);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_cli_deal deal = {0};
    struct dw_order_doc *order = NULL;
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__deal_open(args, &deal);
    if (status == DW_CLI_DONE) {
        dw_err err = dw_order_make(deal.job, deal.plan, deal.date, &order, &error);
        if (err)
            dw_cli__say_error(&error);
        status = dw_cli__status(err);
    }
    char *text = NULL; /* made first: no file is left where it fails */
    if (status == DW_CLI_DONE) {
        text = dw_cli__has(args, "json") ? make_json(deal.job, deal.plan, order)
                                         : make_page(&deal.page, deal.job, deal.plan, order);
        status = text ? send(&deal, order) : DW_CLI_FAILED;
    }
    if (status == DW_CLI_DONE)
        status = dw_cli__write(text, strlen(text));
    free(text);
    dw_order_free(order);
    dw_cli__deal_close(&deal);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_DEAL_OPTIONS(
        "write the order to this file, .csv .xlsx .pdf .svg or .png; may be repeated"),
    {"wanted", 0, "DATE", NULL, "day by which it is wanted, on the paper"},
    {"supplier", 0, "NAME", NULL, "files of this supplier's order alone"},
    DW_CLI_SENDER_OPTIONS,
};

const struct dw_cli_command dw_cli__cmd_order = {
    .name = "order",
    .summary = "list what to buy, supplier by supplier",
    .about = "Lists the bars that the plan buys and the fittings that the parts need, by supplier, "
             "with packs, price breaks, weight, and the supplier's charges: cuts, least order, "
             "small-order surcharge, freight. Bars cost what the plan says; nothing is priced "
             "anew. Prices that no longer hold are pointed out.\n\n"
             "Without PLAN.json the job is planned first. One of JOB and PLAN.json may be -, "
             "standard input.",
    DW_CLI_DEAL_COMMAND,
};
