/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise sheet: the cut sheet of a plan. */
#include "cli/reports/paper.h"

static enum dw_cli_status draw(const struct dw_cli_args *args,
                               const struct dw_paper_request *request,
                               const struct dw_cli_planned *planned)
{
    struct dw_paper_pages pages = {0};
    struct dw_error error = {0};
    dw_err err = dw_paper__sheet(planned->job, planned->plan, request, &pages, &error);
    enum dw_cli_status status = dw_cli__status(err);
    if (err)
        dw_cli__say_error(&error);
    else
        status = dw_cli__paper_write(args, &pages, "Cut sheet");
    dw_paper__free(&pages);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_paper_request request = {0};
    struct dw_cli_planned planned = {0};
    enum dw_cli_status status = dw_cli__paper_request(args, &request);
    if (status == DW_CLI_DONE)
        status = dw_cli__planned_load(args, &planned);
    if (status == DW_CLI_DONE)
        status = draw(args, &request, &planned);
    dw_cli__planned_free(&planned);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_PAPER_OPTIONS{"paper", 0, "SIZE", "a4 letter", "paper; otherwise a4"},
    {"order", 0, "WHICH", "plan section stops",
     "which bar comes next: as numbered, those of one section together, or so that the saw's stop "
     "stays where it is; numbers are the same in each; otherwise plan"},
};

const struct dw_cli_command dw_cli__cmd_sheet = {
    .name = "sheet",
    .operands = "JOB PLAN.json",
    .summary = "draw the sheet at the saw",
    .about =
        "Draws each bar to scale with the number, stop setting and running mark of every piece, "
        "how its ends are mitred or notched, its bend and remark, a box to tick for each bar, "
        "where each piece goes and what is left, black on white, for A4 or Letter. Bars that hold "
        "a part to be measured first come last. The plan is verified "
        "before it is drawn.",
    .least = 2,
    .most = 2,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
