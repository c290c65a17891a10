/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What commands about money share: job, plan and date. */
#ifndef DW_CLI_COMMANDS_DEAL_H
#define DW_CLI_COMMANDS_DEAL_H

#include "cli/terminal/json.h"
#include "cli/terminal/page.h"

#include "job/trade.h"

/* `JOB [PLAN.json]`: a plan that is given is verified, one that is not is made. */
struct dw_cli_deal {
    const struct dw_cli_args *args;
    struct dw_cli_page page;
    struct dw_job *job;
    struct dw_plan *plan;
    char date[16]; /* of --date or of the clock */
};

#define DW_CLI_DATE_OPTION                                                                         \
    {                                                                                              \
        "date", 0, "DATE", NULL, "date of the paper, 2026-03-01; today"                            \
    }

/* The table's rows of a command on `JOB [PLAN.json]` that also draws its paper. */
#define DW_CLI_DEAL_OPTIONS(help)                                                                  \
    DW_CLI_OUTPUT_OPTIONS("FILE", help), DW_CLI_PAPER_SIZE, DW_CLI_DATE_OPTION
/* And what such commands have in common. */
#define DW_CLI_DEAL_COMMAND                                                                        \
    .operands = "JOB [PLAN.json]", .least = 1, .most = 2,                                          \
    .shared = DW_CLI_SETTINGS | DW_CLI_PAGE | DW_CLI_JSON, .n_options = DW_COUNT(options),         \
    .options = options, .run = run

/* Reads what the arguments name and says what is wrong. DW_CLI_SHORT: the plan lacks tube. */
enum dw_cli_status dw_cli__deal_open(const struct dw_cli_args *args, struct dw_cli_deal *deal);
void dw_cli__deal_close(struct dw_cli_deal *deal);

/* Adds to a list that is being made. Without memory *list becomes NULL, and stays it: one check at
 * the end, by dw_cli__json_write, is enough. Takes the value. */
void dw_cli__json_add(json_t **list, json_t *value);

/* "12.3 kg", "" for -1. */
struct dw_cli_text dw_cli__weight(const struct dw_cli_page *page, int64_t mg);

/* What of the plan comes from the shelf: what was paid for each piece and how that is known, and
 * what the plan counts where it differs. The page begins with `lead`, and stays as it is without
 * such pieces. For the shop, not for a client or a supplier. */
void dw_cli__put_paid(struct dw_cli_page *page, const struct dw_job *job,
                      const struct dw_plan *plan, const char *lead);

/* Text of the user as a paragraph. */
void dw_cli__say_text(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead,
                      const char *text);

#endif
