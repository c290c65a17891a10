/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise miscut: what went wrong at the saw, and how to go on. */
#include "cli/commands/again.h"

/* "2=47 1/2 in": the second piece came out so long. */
static bool read_short(struct dw_cli_again *again, const char *text)
{
    again->miscut.kind = DW_MISCUT_SHORT;
    return dw_cli__again_piece(again, "--short", text, &again->miscut.piece,
                               &again->miscut.came_out);
}

static bool read_wrong(struct dw_cli_again *again, const char *number)
{
    const char *pieces = dw_cli__value(again->shelf.args, "pieces");
    again->miscut.kind = DW_MISCUT_WRONG_BAR;
    again->miscut.number = number;
    again->miscut.n_done = -1;
    return !pieces || dw_cli__number("pieces", pieces, 0, 100000, &again->miscut.n_done);
}

static bool read_mishap(struct dw_cli_again *again)
{
    const struct dw_cli_args *args = again->shelf.args;
    const char *too_short = dw_cli__value(args, "short");
    const char *wrong = dw_cli__value(args, "wrong-bar");
    const char *measured = dw_cli__value(args, "measured");
    if (!dw_cli__again_bar(again))
        return false;
    if ((too_short != NULL) + (wrong != NULL) + (measured != NULL) != 1) {
        dw_cli__complain("miscut wants one of --short, --wrong-bar, --measured: what went wrong");
        return false;
    }
    again->miscut.kind = DW_MISCUT_BAR_SHORT;
    return too_short ? read_short(again, too_short)
           : wrong   ? read_wrong(again, wrong)
                     : dw_cli__shelf_length(&again->shelf, "--measured", measured,
                                            &again->miscut.measured);
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_cli_again again = {.dearer = "the mistake costs",
                                 .cheaper = "yet cheaper than planned by"};
    return dw_cli__again(args, &again, read_mishap);
}

static const struct dw_cli_option options[] = {
    {"short", 0, "PIECE=LENGTH", NULL,
     "that piece of the bar, counted from its datum end, came out so long; nothing was cut after"},
    {"wrong-bar", 0, "NUMBER", NULL, "the bar's pieces were cut from this piece of the shelf"},
    {"pieces", 0, "N", NULL, "with --wrong-bar: so many came out; otherwise as many as fit"},
    {"measured", 0, "LENGTH", NULL, "the bar is this long, found before its first cut"},
    DW_CLI_AGAIN_OPTIONS,
};

const struct dw_cli_command dw_cli__cmd_miscut = {
    .name = "miscut",
    .operands = "JOB PLAN BAR",
    .summary = "book a bar that went wrong and plan the rest again",
    .about =
        "For a plan that the shelf holds. Says what went wrong with a bar: a piece that came out "
        "too short, pieces cut from the wrong bar, a bar that is not as long as it should be. It "
        "is booked as it happened; bars that are cut stay as they are; what spoiled is offered "
        "for other parts first; the rest is planned again and held under a new number; and the "
        "money of the mistake is shown, every piece of the shelf at one value before and after. "
        "All of it is one step: `dropwise shelf undo` takes it back as one, and the old plan is "
        "open again.\n\n"
        "JOB is the file that the plan was made from, unchanged. `dropwise shelf plans PLAN` "
        "shows the numbers of the bars. From JOB and the file of --output every paper can be made "
        "of what is left.",
    .least = 3,
    .most = 3,
    .shared = DW_CLI_SETTINGS | DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
