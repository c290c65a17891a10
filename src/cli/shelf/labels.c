/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf labels: a label with the number of each piece. */
#include "cli/shelf/parts.h"
#include "cli/reports/paper.h"

#include <stdlib.h>
#include <string.h>

static enum dw_cli_status draw(struct dw_cli_shelf *shelf, const struct dw_stock_list *list,
                               const struct dw_paper_request *request)
{
    const char *stock = dw_cli__value(shelf->args, "stock");
    const char *skip = dw_cli__value(shelf->args, "skip");
    struct dw_labels_request labels = {.stock = stock};
    struct dw_paper_pages pages = {0};
    struct dw_error error = {0};
    if (skip && !dw_cli__number("skip", skip, 0, 1000, &labels.skip))
        return DW_CLI_REFUSED;
    dw_err err = dw_paper__shelf_labels(shelf->job, list, &labels, request, &pages, &error);
    enum dw_cli_status status = dw_cli__shelf_said(err, &error);
    if (status == DW_CLI_DONE && list->n > 0)
        status = dw_cli__paper_write(shelf->args, &pages,
                                     dw_cli__count((int64_t)list->n, "label", "labels").text);
    else if (status == DW_CLI_DONE)
        dw_cli__complain("shelf labels: there is nothing to label, so no file was written");
    dw_paper__free(&pages);
    return list->n > 0 ? status : DW_CLI_REFUSED;
}

static enum dw_cli_status make_labels(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_paper_request request = {0};
    struct dw_stock_query query = {.only_offcuts = args->n_operands == 0};
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    enum dw_cli_status status = dw_cli__paper_request(args, &request);
    if (status != DW_CLI_DONE)
        return status;
    dw_err err = args->n_operands > 0
                     ? dw_shelf_pick(shelf->ledger, args->operands, args->n_operands, &list, &error)
                     : dw_ledger_list(shelf->ledger, &query, &list, &error);
    status = err ? dw_cli__shelf_said(err, &error) : draw(shelf, list, &request);
    dw_stock_list_free(list);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, make_labels);
}

static const struct dw_cli_option options[] = {
    {"output", 'o', "FILE", NULL,
     "where it goes; .pdf, .svg or .png says the form; - prints a PDF"},
    {"replace", 0, NULL, NULL, "replace files that exist"},
    {"dpi", 0, "N", NULL, "dots an inch of .png; otherwise 150"},
    {"stock", 0, "NAME", NULL,
     "label stock, see `dropwise labels --stocks`; otherwise the shop's, or a4-21"},
    {"skip", 0, "N", NULL, "labels of the first sheet that are used up"},
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__shelf_labels = {
    .name = "labels",
    .operands = "[NUMBER...]",
    .summary = "draw labels with the numbers of pieces as QR codes",
    .about = "A label for each NUMBER, or for every offcut on the shelf: number, length, material. "
             "Its code holds the number alone: scanned on the page of `dropwise serve`, it leads "
             "to the piece.",
    .least = 0,
    .most = -1,
    .shared = DW_CLI_PAGE,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
