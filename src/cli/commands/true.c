/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise true: the true length of what was to be measured first, and how to go on. */
#include "cli/commands/again.h"

#include <stdlib.h>

/* The operands behind the bar: 3="1768 mm". */
static bool read_lengths(struct dw_cli_again *again)
{
    const struct dw_cli_args *args = again->shelf.args;
    const char *pieces = dw_cli__value(args, "pieces");
    if (!dw_cli__again_bar(again))
        return false;
    struct dw_true_length *lengths = dw_job_alloc(again->job, args->n_operands, sizeof *lengths);
    if (!lengths) {
        dw_cli__complain("out of memory");
        return false;
    }
    again->miscut.kind = DW_MISCUT_TRUE;
    again->miscut.trues = lengths;
    for (size_t i = 3; i < args->n_operands; i++) {
        struct dw_true_length *one = &lengths[again->miscut.n_trues++];
        if (!dw_cli__again_piece(again, "true length", args->operands[i], &one->piece,
                                 &one->length))
            return false;
    }
    return !pieces || dw_cli__number("pieces", pieces, 0, 100000, &again->miscut.n_done);
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_cli_again again = {.dearer = "the true length costs",
                                 .cheaper = "cheaper than planned by"};
    return dw_cli__again(args, &again, read_lengths);
}

static const struct dw_cli_option options[] = {
    {"pieces", 0, "N", NULL,
     "so many pieces of the bar, from its datum end, are cut already; otherwise none"},
    DW_CLI_AGAIN_OPTIONS,
};

const struct dw_cli_command dw_cli__cmd_true = {
    .name = "true",
    .operands = "JOB PLAN BAR PIECE=LENGTH...",
    .summary = "say the true length of a part measured first and plan the rest again",
    .about =
        "For a plan that the shelf holds. A part to be measured first is planned with an "
        "allowance and cut last. Once it is measured, this takes its true length in place of the "
        "planned one and plans again what is not cut yet, under a new number. A true length may "
        "be longer than planned. With --pieces the first pieces of the bar are booked as cut, and "
        "what is still in the saw is offered to the new plan as an offcut. All of it is one step: "
        "`dropwise shelf undo` takes it back as one.\n\n"
        "JOB is the file that the plan was made from, unchanged. PIECE is the number of the piece "
        "on its bar, counted from the datum end, as in `dropwise true rack.yaml 3 7 "
        "2=1768`. `dropwise shelf plans PLAN` shows the bars.",
    .least = 4,
    .most = -1,
    .shared = DW_CLI_SETTINGS | DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
