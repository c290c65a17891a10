/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise labels: a label for each piece of a plan. */
#include "cli/reports/paper.h"

#include <stdlib.h>
#include <string.h>

/* "a4-21      A4 sheet, ..." a line a stock, after a colon or alone. */
static void list_stocks(struct dw_buf *text)
{
    const char *id = NULL, *about = NULL;
    for (size_t i = 0; dw_paper__stock(i, &id, &about); i++)
        dw_buf__format(text, "  %-12s %s\n", id, about);
}

static enum dw_cli_status print_stocks(void)
{
    struct dw_buf text = {0};
    list_stocks(&text);
    dw_buf__put(&text, "or any by its measures in mm, or with \" in\" at the end in inches:\n"
                       "  62 x 29\n"
                       "  3 x 7 of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1\n");
    size_t n = text.n;
    char *lines = dw_buf__take(&text);
    enum dw_cli_status status = lines ? dw_cli__write(lines, n) : DW_CLI_FAILED;
    free(lines);
    return status;
}

static bool read_labels(const struct dw_cli_args *args, struct dw_labels_request *labels)
{
    const char *which = dw_cli__value(args, "which"), *skip = dw_cli__value(args, "skip");
    const char *stock = dw_cli__value(args, "stock");
    *labels = (struct dw_labels_request){
        .stock = stock,
        .parts = !which || strcmp(which, "offcuts") != 0,
        .offcuts = !which || strcmp(which, "parts") != 0,
    };
    return !skip || dw_cli__number("skip", skip, 0, 1000, &labels->skip);
}

static enum dw_cli_status draw(const struct dw_cli_args *args,
                               const struct dw_paper_request *request,
                               const struct dw_labels_request *labels,
                               const struct dw_cli_planned *planned)
{
    struct dw_paper_pages pages = {0};
    struct dw_error error = {0};
    size_t n_labels = 0;
    dw_err err =
        dw_paper__labels(planned->job, planned->plan, labels, request, &n_labels, &pages, &error);
    enum dw_cli_status status = dw_cli__status(err);
    char what[64];
    snprintf(what, sizeof what, "%zu label%s", n_labels, n_labels == 1 ? "" : "s");
    if (err == DW_ERR_NOTFOUND)
        status = DW_CLI_REFUSED;
    if (err) {
        dw_cli__say_error(&error);
    } else if (n_labels == 0) {
        dw_cli__complain("labels: the plan has nothing to label, so no file was written");
        status = DW_CLI_REFUSED;
    } else {
        status = dw_cli__paper_write(args, &pages, what);
    }
    dw_paper__free(&pages);
    return status;
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct dw_paper_request request = {0};
    struct dw_labels_request labels = {0};
    struct dw_cli_planned planned = {0};
    if (dw_cli__has(args, "stocks"))
        return print_stocks();
    if (args->n_operands != 2) {
        dw_cli__complain("labels: name the job and its plan: dropwise labels JOB PLAN.json");
        return DW_CLI_REFUSED;
    }
    enum dw_cli_status status = dw_cli__paper_request(args, &request);
    if (status == DW_CLI_DONE && !read_labels(args, &labels))
        status = DW_CLI_REFUSED;
    if (status == DW_CLI_DONE)
        status = dw_cli__planned_load(args, &planned);
    if (status == DW_CLI_DONE)
        status = draw(args, &request, &labels, &planned);
    dw_cli__planned_free(&planned);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_PAPER_OPTIONS{
        "stock", 0, "NAME", NULL,
        "label stock, see --stocks, or its measures, 62 x 29; otherwise the shop's, or a4-21"},
    {"stocks", 0, NULL, NULL, "list the label stocks and end"},
    {"skip", 0, "N", NULL, "labels of the first sheet that are used up"},
    {"which", 0, "WHAT", "parts offcuts both", "what gets labels; otherwise both"},
};

const struct dw_cli_command dw_cli__cmd_labels = {
    .name = "labels",
    .operands = "JOB PLAN.json",
    .summary = "draw labels with QR codes for parts and offcuts",
    .about =
        "Draws a label for each piece and each offcut to keep, on sheets or rolls, in the order "
        "of cutting: name or number, length, bar and piece, mitres, bend, remark, client, due "
        "date, section and material, with a QR code where there is room. Stick each on before "
        "the cut, away from the blade, so that the mark survives.",
    .least = 0,
    .most = 2,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
