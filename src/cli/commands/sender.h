/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who sends an order or a quote, and the number that it is given. */
#ifndef DW_CLI_COMMANDS_SENDER_H
#define DW_CLI_COMMANDS_SENDER_H

#include "cli/shelf/shelf.h"
#include "job/shop.h"

#define DW_CLI_SENDER_OPTIONS                                                                      \
    {"number", 0, "TEXT", NULL, "number of the paper"},                                            \
        {"issue", 0, NULL, NULL,                                                                   \
         "give the paper the next number of the shop's series, which the shelf keeps; the same "   \
         "paper gets the same number again"},                                                      \
        DW_CLI_SHELF_OPTION

struct dw_cli_sender {
    struct dw_cli_shelf shelf;
    struct dw_job *kept;        /* of the shelf; NULL = none, or not needed */
    const struct dw_shop *shop; /* the job's, else the shelf's; NULL = not known */
};

/* The shop of the job, or with --shelf or --issue that of the shelf. What is wrong is said. Close
 * in every case. */
enum dw_cli_status dw_cli__sender_open(const struct dw_cli_args *args, const struct dw_job *job,
                                       struct dw_cli_sender *sender);
void dw_cli__sender_close(struct dw_cli_sender *sender);

/* "" without --number and --issue. `subject` is all that the paper says. */
enum dw_cli_status dw_cli__sender_number(struct dw_cli_sender *sender,
                                         const struct dw_cli_args *args, enum dw_numbered what,
                                         const char *date, const char *subject,
                                         char number[DW_SERIES_TEXT]);

#endif
