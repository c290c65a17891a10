/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Job, plan and date of a command about money, and what such commands say alike. */
#include "cli/commands/deal.h"
#include "cli/reports/paper.h"
#include "cli/terminal/run.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

/* --- date --------------------------------------------------------------------------------------
 */

static bool is_date(const char *text)
{
    static const char form[] = "0000-00-00";
    if (strlen(text) != sizeof form - 1)
        return false;
    for (size_t i = 0; form[i]; i++) {
        bool digit = text[i] >= '0' && text[i] <= '9';
        if (form[i] == '0' ? !digit : text[i] != form[i])
            return false;
    }
    return true;
}

static enum dw_cli_status set_date(struct dw_cli_deal *deal)
{
    const char *given = dw_cli__value(deal->args, "date");
    if (given && !is_date(given)) {
        dw_cli__complain("--date: `%.20s` is no date; write it as 2026-03-01", given);
        return DW_CLI_REFUSED;
    }
    time_t now = dw_cli__paper_time();
    struct tm day = {0};
    if (given)
        memcpy(deal->date, given, strlen(given) + 1);
    else if (!localtime_r(&now, &day) ||
             strftime(deal->date, sizeof deal->date, "%Y-%m-%d", &day) == 0)
        deal->date[0] = '\0';
    return DW_CLI_DONE;
}

/* --- plan --------------------------------------------------------------------------------------
 */

static dw_err make_plan(struct dw_cli_deal *deal, struct dw_error *error)
{
    struct dw_job_request request = {0};
    struct dw_cli_run run = {0};
    if (dw_cli__settings(deal->args, &request.settings) != DW_CLI_DONE)
        return DW_ERR_INPUT;
    dw_cli__run_start(&run, &deal->page, request.settings.time_ms);
    request.hooks = dw_cli__run_hooks(&run);
    dw_err err = dw_job_plan(deal->job, &request, &deal->plan, error);
    dw_cli__run_end(&run);
    return err;
}

static dw_err read_plan(struct dw_cli_deal *deal, struct dw_error *error)
{
    struct dw_job_source source = {0};
    struct dw_report report = {0};
    char *text = NULL;
    dw_err err = dw_cli__source(deal->args->operands[1], &source, &text, error);
    if (!err)
        err = dw_job_verify(deal->job, &source, &deal->plan, NULL, &report, error);
    dw_cli__say_report(&report, SIZE_MAX);
    if (err && report.n_wrong > 0)
        *error = (struct dw_error){.code = err}; /* said already */
    dw_report_free(&report);
    free(text);
    return err;
}

static enum dw_cli_status find_plan(struct dw_cli_deal *deal)
{
    struct dw_error error = {0};
    dw_err err = deal->args->n_operands > 1 ? read_plan(deal, &error) : make_plan(deal, &error);
    if (err && error.text[0])
        dw_cli__say_error(&error);
    if (err)
        return deal->args->n_operands > 1 ? dw_cli__file_status(err) : dw_cli__status(err);
    if (deal->plan->status != DW_STATUS_INFEASIBLE)
        return DW_CLI_DONE;
    dw_cli__complain("%s: not enough tube; `dropwise plan` says what is missing",
                     deal->args->operands[0]);
    return DW_CLI_SHORT;
}

enum dw_cli_status dw_cli__deal_open(const struct dw_cli_args *args, struct dw_cli_deal *deal)
{
    struct dw_report report = {0};
    deal->args = args;
    enum dw_cli_status status = dw_cli__page_init(args, &deal->page);
    if (status == DW_CLI_DONE && args->n_operands > 1 && strcmp(args->operands[0], "-") == 0 &&
        strcmp(args->operands[1], "-") == 0) {
        dw_cli__complain("only one of job and plan can come from standard input");
        status = DW_CLI_REFUSED;
    }
    if (status == DW_CLI_DONE)
        status = set_date(deal);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args, &deal->job, &report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, deal->job, &deal->page);
    if (status == DW_CLI_DONE)
        status = find_plan(deal);
    dw_report_free(&report);
    return status;
}

void dw_cli__deal_close(struct dw_cli_deal *deal)
{
    dw_plan_free(deal->plan);
    dw_job_free(deal->job);
    dw_cli__page_free(&deal->page);
}

/* --- values --------------------------------------------------------------------------------------
 */

void dw_cli__json_add(json_t **list, json_t *value)
{
    if (!*list)
        json_decref(value);
    else if (json_array_append_new(*list, value)) {
        json_decref(*list);
        *list = NULL;
    }
}

struct dw_cli_text dw_cli__weight(const struct dw_cli_page *page, int64_t mg)
{
    struct dw_cli_text out = {0};
    if (mg >= 0)
        dw_weight_print(out.text, mg, page->length.unit);
    return out;
}

void dw_cli__say_text(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead,
                      const char *text)
{
    struct dw_buf line = {0};
    dw_cli__clean(&line, text);
    dw_cli__fold_buf(page, tone, lead, &line);
}

/* --- what was paid ------------------------------------------------------------------------------
 */

/* "K1 2.00 (put on the shelf, 2026-03-01; the plan counts 3.98: worth as a leftover)" */
static void put_piece(struct dw_cli_page *page, struct dw_buf *text, const struct dw_job *job,
                      const struct dw_take *take)
{
    const struct dw_supply *supply = &job->supplies[take->supply];
    const char *reason = dw_supply_reason(supply);
    dw_cli__clean(text, supply->id);
    dw_buf__format(text, " %s (", dw_cli__amount(page, dw_take_paid(job, take)).text);
    dw_cli__clean(text, dw_supply_paid_from(supply));
    if (reason)
        dw_buf__format(text, "; the plan counts %s: %s", dw_cli__amount(page, take->money).text,
                       reason);
    dw_buf__char(text, ')');
}

void dw_cli__put_paid(struct dw_cli_page *page, const struct dw_job *job,
                      const struct dw_plan *plan, const char *lead)
{
    struct dw_buf text = {0};
    for (size_t i = 0; i < plan->n_takes; i++) {
        if (job->supplies[plan->takes[i].supply].source == DW_SOURCE_NEW)
            continue;
        dw_buf__put(&text, text.n ? ", " : lead);
        put_piece(page, &text, job, &plan->takes[i]);
    }
    if (text.n == 0)
        return;
    dw_buf__char(&text, '.');
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
}
