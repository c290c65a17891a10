/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shop behind a paper, from the job or the shelf. */
#include "cli/commands/sender.h"

#include <string.h>

enum dw_cli_status dw_cli__sender_open(const struct dw_cli_args *args, const struct dw_job *job,
                                       struct dw_cli_sender *sender)
{
    struct dw_error error = {0};
    bool issue = dw_cli__has(args, "issue");
    *sender = (struct dw_cli_sender){.shop = job->shop};
    if (issue && dw_cli__has(args, "number")) {
        dw_cli__complain("%s: give the number with --number, or take the next one with --issue",
                         args->path);
        return DW_CLI_REFUSED;
    }
    if (!issue && !dw_cli__has(args, "shelf"))
        return DW_CLI_DONE;
    enum dw_cli_status status =
        dw_cli__shelf_open(args, issue ? DW_LEDGER_CREATE : DW_LEDGER_READ, &sender->shelf);
    if (status == DW_CLI_DONE)
        status =
            dw_cli__shelf_said(dw_shop__kept(sender->shelf.ledger, &sender->kept, &error), &error);
    if (status == DW_CLI_DONE && !sender->shop && sender->kept)
        sender->shop = sender->kept->shop;
    if (status == DW_CLI_DONE && issue && !sender->shop) {
        dw_cli__complain("%s: --issue needs a shop with a series of numbers: name it in the job "
                         "(`shop: FILE`), or keep it with `dropwise shop set FILE`",
                         args->path);
        return DW_CLI_REFUSED;
    }
    return status;
}

void dw_cli__sender_close(struct dw_cli_sender *sender)
{
    dw_job_free(sender->kept);
    dw_cli__shelf_close(&sender->shelf);
}

enum dw_cli_status dw_cli__sender_number(struct dw_cli_sender *sender,
                                         const struct dw_cli_args *args, enum dw_numbered what,
                                         const char *date, const char *subject,
                                         char number[DW_SERIES_TEXT])
{
    struct dw_error error = {0};
    const char *given = dw_cli__value(args, "number");
    number[0] = '\0';
    if (given && strlen(given) >= DW_SERIES_TEXT) {
        dw_cli__complain("--number: at most %d bytes", DW_SERIES_TEXT - 1);
        return DW_CLI_REFUSED;
    }
    if (given)
        memcpy(number, given, strlen(given) + 1);
    if (given || !dw_cli__has(args, "issue"))
        return DW_CLI_DONE;
    return dw_cli__shelf_said(dw_shop__number(sender->shelf.ledger, &sender->shelf.act,
                                              sender->shop, what, date, subject, number, &error),
                              &error);
}
