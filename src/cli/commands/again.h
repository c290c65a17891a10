/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands share that book what happened at a bar and plan the rest again. */
#ifndef DW_CLI_COMMANDS_AGAIN_H
#define DW_CLI_COMMANDS_AGAIN_H

#include "cli/shelf/shelf.h"
#include <dropwise/miscut.h>

struct dw_cli_again {
    struct dw_cli_shelf shelf;
    struct dw_job *job;
    struct dw_report report;
    struct dw_miscut miscut;
    struct dw_miscut_result result;
    struct dw_cure *cures; /* length n_cures, where tube is missing */
    size_t n_cures;
    const char *dearer;  /* how the money line reads that costs something ... */
    const char *cheaper; /* ... and the one that saves something */
};

/* JOB is the first operand. `read` fills in what happened, and says what is wrong with it: false.
 * All is freed in the end but what `read` allocated. */
enum dw_cli_status dw_cli__again(const struct dw_cli_args *args, struct dw_cli_again *again,
                                 bool (*read)(struct dw_cli_again *));

/* JOB PLAN BAR: the plan and its bar. Says what is wrong with them. */
bool dw_cli__again_bar(struct dw_cli_again *again);

/* dropwise plan --rest-of: the rest of a held plan, with the tube that there is now. */
enum dw_cli_status dw_cli__again_rest(const struct dw_cli_args *args);

/* "2=47 1/2 in": a piece of the bar and a length. Says what is wrong with it. */
bool dw_cli__again_piece(const struct dw_cli_again *again, const char *what, const char *text,
                         int64_t *piece, dw_length *length);

#define DW_CLI_AGAIN_OPTIONS                                                                       \
    {"place", 0, "PLACE", NULL, "where what came off is put"},                                     \
        DW_CLI_OUTPUT_OPTIONS("PLAN.json", "write the document of the new plan to this file"),     \
        DW_CLI_ACT_OPTIONS

#endif
