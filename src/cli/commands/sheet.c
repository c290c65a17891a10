/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise sheet: the cut sheet of a plan. */
#include "cli/reports/paper.h"
#include "cli/shelf/shelf.h"

#include <stdlib.h>
#include <string.h>

/* Which bars of a held plan are still to come, by the shelf. Without --shelf a shelf that can't
 * tell is no mistake: the sheet then does not say, and *unknown is set. */
static enum dw_cli_status find_to_come(const struct dw_cli_args *args,
                                       const struct dw_cli_planned *planned, bool **to_come,
                                       bool *unknown)
{
    struct dw_cli_shelf shelf = {0};
    struct dw_error error = {0};
    bool asked = dw_cli__has(args, "shelf");
    enum dw_cli_status status = DW_CLI_FAILED;
    *unknown = false;
    if (!asked && planned->plan->number <= 0)
        return DW_CLI_DONE;
    if (dw_cli__shelf_there(args)) {
        status = dw_cli__shelf_open(args, DW_LEDGER_READ, &shelf);
        dw_err err = status == DW_CLI_DONE ? dw_shelf_to_come(shelf.ledger, planned->job,
                                                              planned->plan, to_come, &error)
                                           : DW_OK;
        if (err && (asked || err != DW_ERR_NOTFOUND))
            dw_cli__say_error(&error);
        status = err ? dw_cli__status(err) : status;
        dw_cli__shelf_close(&shelf);
    }
    *unknown = !asked && status != DW_CLI_DONE;
    return *unknown ? DW_CLI_DONE : status;
}

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

/* The same as tables. */
static enum dw_cli_status write_tables(const struct dw_cli_args *args, const char *path)
{
    struct dw_cli_planned planned = {0};
    struct dw_tables tables = {0};
    struct dw_error error = {0};
    const struct dw_table_wish wish = dw_cli__table_at(args, path, dw_cli__value(args, "date"));
    enum dw_cli_status status = dw_cli__planned_load(args, &planned);
    if (status == DW_CLI_DONE) {
        dw_err err = dw_tables__plan(planned.job, planned.plan, &wish, &tables, &error);
        if (!err)
            err = dw_tables__write(&tables, path, dw_cli__has(args, "replace"), &error);
        if (err)
            dw_cli__say_error(&error);
        status = dw_cli__status(err);
    }
    dw_tables__free(&tables);
    dw_cli__planned_free(&planned);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_paper_request request = {0};
    struct dw_cli_planned planned = {0};
    bool *to_come = NULL, unknown = false;
    const char *path = dw_cli__value(args, "output");
    if (path && dw_tables__form_of(path))
        return write_tables(args, path);
    enum dw_cli_status status = dw_cli__paper_request(args, &request);
    if (status == DW_CLI_DONE)
        status = dw_cli__planned_load(args, &planned);
    if (status == DW_CLI_DONE)
        status = find_to_come(args, &planned, &to_come, &unknown);
    request.to_come = to_come;
    const char *form = dw_cli__value(args, "form");
    request.compact = form && strcmp(form, "compact") == 0;
    request.large = form && strcmp(form, "large") == 0;
    if (status == DW_CLI_DONE)
        status = draw(args, &request, &planned);
    if (status == DW_CLI_DONE && unknown)
        dw_cli__complain("sheet: the shelf has no plan %lld with these bars, so the sheet does not "
                         "say which are still to come; --shelf names another shelf",
                         (long long)planned.plan->number);
    free(to_come);
    dw_cli__planned_free(&planned);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_PAPER_OPTIONS{"paper", 0, "SIZE", "a4 letter", "paper; otherwise a4"},
    {"order", 0, "WHICH", "plan section stops",
     "which bar comes next: as numbered, those of one section together, or so that the saw's stop "
     "stays where it is; numbers are the same in each; otherwise plan"},
    {"form", 0, "WHICH", "usual compact large",
     "compact: without drawings, for long jobs; large: larger figures, for poor light"},
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__cmd_sheet = {
    .name = "sheet",
    .operands = "JOB PLAN.json",
    .summary = "draw the sheet at the saw",
    .about =
        "Draws each bar to scale with the number, stop setting and running mark of every piece, "
        "how its ends are mitred or notched, its bend and remark, a box to tick for each bar, "
        "where each piece goes and what is left, black on white, for A4 or Letter. Bars that hold "
        "a part to be measured first come last. Of a plan that is held, the shelf tells which "
        "bars are still to be delivered, and the sheet says so. The plan is verified before it is "
        "drawn.\n\n"
        "A file that ends in .csv or .xlsx gets the same as tables: bars, pieces with their marks, "
        "what is taken, money.",
    .least = 2,
    .most = 2,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
