/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shop: who sends the papers. */
#include "cli/shelf/shelf.h"
#include "job/paper.h"
#include "job/shop.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

/* --- what is shown -----------------------------------------------------------------------------
 */

#define ROWS 20

/* "name" and what it is, a row a setting; empty texts are left out. */
struct rows {
    size_t n;
    const char *names[ROWS];
    char *texts[ROWS]; /* owned */
};

static void add_text(struct rows *rows, const char *name, const char *text)
{
    struct dw_buf copy = {0};
    if (!text || !*text || rows->n == ROWS)
        return;
    dw_buf__put(&copy, text);
    rows->names[rows->n] = name;
    rows->texts[rows->n++] = dw_buf__take(&copy);
}

static void add_shift(struct rows *rows, const char *name, dw_length shift)
{
    const struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 3};
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, shift, &style);
    add_text(rows, name, shift ? text : NULL);
}

/* "Q-{year}-{number:3}, as in Q-2027-001" */
static void add_series(struct rows *rows, const char *name, const char *series, const char *today)
{
    char number[DW_SERIES_TEXT];
    struct dw_buf text = {0};
    if (!series)
        return;
    dw_series_number(series, today, 1, number);
    dw_buf__format(&text, "%s, as in %s", series, number);
    add_text(rows, name, text.text);
    dw_buf__free(&text);
}

static void fill_rows(struct rows *rows, const struct dw_job *job, const char *today)
{
    const struct dw_shop *shop = job->shop;
    char text[DW_MONEY_TEXT + 24] = "";
    add_text(rows, "name", shop->name);
    add_text(rows, "address", shop->address);
    add_text(rows, "contact", shop->contact);
    add_text(rows, "tax number", shop->tax_number);
    add_text(rows, "bank", shop->bank);
    add_text(rows, "deliver to", shop->deliver);
    snprintf(text, sizeof text, "%zu bytes", shop->logo.n);
    add_text(rows, "logo", shop->logo.n ? text : NULL);
    add_text(rows, "language", shop->language);
    add_series(rows, "quote numbers", shop->quotes, today);
    add_series(rows, "order numbers", shop->orders, today);
    add_text(rows, "terms", shop->terms);
    snprintf(text, sizeof text, "%lld", (long long)shop->valid_days);
    add_text(rows, "valid days", shop->valid_days ? text : NULL);
    add_text(rows, "paper", shop->paper);
    add_text(rows, "labels", shop->labels);
    add_shift(rows, "labels right", shop->shift[0]);
    add_shift(rows, "labels down", shop->shift[1]);
    dw_money_print(text, shop->hour, job->currency, false);
    add_text(rows, "hour", shop->hour ? text : NULL);
}

static enum dw_cli_status show(struct dw_cli_page *page, const struct dw_cli_args *args,
                               const struct dw_job *job, const char *today, const char *lead)
{
    static const struct dw_cli_column columns[] = {{.title = NULL}, {.title = NULL, .fold = true}};
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    struct rows rows = {0};
    json_t *document = json_object();
    json_object_set_new(document, "format", json_string("dropwise shop"));
    json_object_set_new(document, "version", json_integer(1));
    fill_rows(&rows, job, today);
    for (size_t i = 0; i < rows.n; i++) {
        struct dw_buf text = {0};
        char *saved = NULL;
        const char *name = rows.names[i];
        json_object_set_new(document, name, json_string(rows.texts[i] ? rows.texts[i] : ""));
        for (char *line = strtok_r(rows.texts[i], "\n", &saved); line;
             line = strtok_r(NULL, "\n", &saved)) {
            dw_cli__clean(&text, line);
            dw_cli__cell(&table, name);
            dw_cli__cell_buf(&table, &text);
            name = "";
        }
        free(rows.texts[i]);
    }
    if (dw_cli__has(args, "json"))
        return dw_cli__json_write(document);
    json_decref(document);
    dw_cli__fold(page, DW_CLI_STRONG, "", lead);
    dw_cli__table_end(page, &table);
    return dw_cli__page_end(page);
}

/* --- the commands ------------------------------------------------------------------------------
 */

static enum dw_cli_status check_stock(const struct dw_shop *shop)
{
    const char *fault = shop->labels ? dw_paper__stock_fault(shop->labels) : NULL;
    if (fault)
        dw_cli__complain("%s:%d:1: labels: \"%.80s\": %s; `dropwise labels --stocks` lists stocks",
                         shop->at.file, shop->at.line, shop->labels, fault);
    return fault ? DW_CLI_REFUSED : DW_CLI_DONE;
}

/* Says what is wrong of a shop that was read. */
static enum dw_cli_status said(dw_err err, const struct dw_report *report,
                               const struct dw_error *error, const struct dw_job *job)
{
    dw_cli__say_report(report, SIZE_MAX);
    if (err && report->n_wrong == 0)
        dw_cli__say_error(error);
    if (err)
        return dw_cli__file_status(err);
    return job ? check_stock(job->shop) : DW_CLI_DONE;
}

static enum dw_cli_status show_file(const struct dw_cli_args *args)
{
    struct dw_cli_shelf shelf = {0};
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__shelf_ready(args, DW_LEDGER_READ, &shelf);
    if (status == DW_CLI_DONE) {
        dw_err err = dw_shop__read(args->operands[0], &job, &report, &error);
        status = said(err, &report, &error, job);
    }
    if (status == DW_CLI_DONE)
        status = show(&shelf.page, args, job, shelf.today, "The shop of this file");
    dw_report_free(&report);
    dw_job_free(job);
    dw_cli__shelf_close(&shelf);
    return status;
}

static enum dw_cli_status show_kept(struct dw_cli_shelf *shelf)
{
    struct dw_job *job = NULL;
    struct dw_error error = {0};
    enum dw_cli_status status =
        dw_cli__shelf_said(dw_shop__kept(shelf->ledger, &job, &error), &error);
    if (status == DW_CLI_DONE && !job) {
        dw_cli__complain("no shop is kept with this shelf; `dropwise shop set FILE` keeps one");
        return DW_CLI_REFUSED;
    }
    if (status == DW_CLI_DONE)
        status = show(&shelf->page, shelf->args, job, shelf->today, "The shop kept with the shelf");
    dw_job_free(job);
    return status;
}

static enum dw_cli_status run_show(const struct dw_cli_args *args)
{
    return args->n_operands ? show_file(args) : dw_cli__shelf_run(args, DW_LEDGER_READ, show_kept);
}

static enum dw_cli_status set(struct dw_cli_shelf *shelf)
{
    struct dw_job *checked = NULL, *job = NULL;
    struct dw_report report = {0}, again = {0};
    struct dw_error error = {0};
    const char *path = shelf->args->operands[0];
    dw_err err = dw_shop__read(path, &checked, &report, &error);
    enum dw_cli_status status = said(err, &report, &error, checked);
    if (status == DW_CLI_DONE)
        status = dw_cli__shelf_said(
            dw_shop__keep(shelf->ledger, &shelf->act, path, &job, &again, &error), &error);
    if (status == DW_CLI_DONE)
        status = show(&shelf->page, shelf->args, job, shelf->today,
                      "Kept with the shelf, for papers of jobs that name no shop");
    dw_report_free(&report);
    dw_report_free(&again);
    dw_job_free(checked);
    dw_job_free(job);
    return status;
}

static enum dw_cli_status run_set(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_CREATE, set);
}

static const struct dw_cli_option show_options[] = {DW_CLI_SHELF_OPTION};
static const struct dw_cli_option set_options[] = {DW_CLI_ACT_OPTIONS};

static const struct dw_cli_command show_command = {
    .name = "show",
    .operands = "[SHOP.yaml]",
    .summary = "show the shop that is kept with the shelf, or the one of a file",
    .about = "What of it is wrong is said with its place. shared/FORMAT.md has all keys of a "
             "shop's file.",
    .least = 0,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(show_options),
    .options = show_options,
    .run = run_show,
};

static const struct dw_cli_command set_command = {
    .name = "set",
    .operands = "SHOP.yaml",
    .summary = "keep a shop's file and logo with the shelf",
    .about = "In place of the one that was kept. Papers of jobs that name a shop of their own "
             "(`shop: FILE`) are of that one.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(set_options),
    .options = set_options,
    .run = run_set,
};

static const struct dw_cli_command *const parts[] = {&show_command, &set_command};

const struct dw_cli_command dw_cli__cmd_shop = {
    .name = "shop",
    .operands = "...",
    .summary = "who sends the papers: address, logo, numbers, terms",
    .about = "A shop is a file that jobs name, or is kept with the shelf: name, address, contact, "
             "tax number, bank, logo, series of numbers for quotes and orders, terms, paper and "
             "labels, and what its jobs have in common: saw, rules, suppliers, how clients are "
             "charged, what an hour costs.",
    .least = 0,
    .most = -1,
    .n_parts = DW_COUNT(parts),
    .parts = parts,
};
