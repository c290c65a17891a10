/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf move, scrap, surplus, count, undo: single steps. */
#include "cli/shelf/parts.h"

#include <stdlib.h>
#include <string.h>

static const struct dw_cli_option act_options[] = {DW_CLI_ACT_OPTIONS};

/* --- move, scrap ------------------------------------------------------------------------------ */

static enum dw_cli_status move_pieces(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_error error = {0};
    int64_t step = 0;
    const char *place = dw_cli__value(args, "to");
    if (!place) {
        dw_cli__complain("shelf move wants --to PLACE");
        return DW_CLI_REFUSED;
    }
    dw_err err = dw_ledger_move(shelf->ledger, &shelf->act, args->operands, args->n_operands, place,
                                &step, &error);
    return err ? dw_cli__shelf_said(err, &error) : dw_cli__shelf_done(shelf, step, "Moved:", NULL);
}

static enum dw_cli_status run_move(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, move_pieces);
}

static const struct dw_cli_option move_options[] = {
    {"to", 0, "PLACE", NULL, "where they are now; required"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_move = {
    .name = "move",
    .operands = "NUMBER...",
    .summary = "book that pieces lie somewhere else now",
    .about = "Pieces that a plan holds may be moved too.",
    .least = 1,
    .most = -1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(move_options),
    .options = move_options,
    .run = run_move,
};

static enum dw_cli_status scrap_pieces(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_error error = {0};
    int64_t step = 0;
    dw_err err = dw_ledger_scrap(shelf->ledger, &shelf->act, args->operands, args->n_operands,
                                 &step, &error);
    return err ? dw_cli__shelf_said(err, &error)
               : dw_cli__shelf_done(shelf, step, "Scrapped:", NULL);
}

static enum dw_cli_status run_scrap(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, scrap_pieces);
}

const struct dw_cli_command dw_cli__shelf_scrap = {
    .name = "scrap",
    .operands = "NUMBER...",
    .summary = "book that pieces were thrown away",
    .about = "A piece that a plan holds is refused: release the plan first.",
    .least = 1,
    .most = -1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(act_options),
    .options = act_options,
    .run = run_scrap,
};

/* --- surplus ---------------------------------------------------------------------------------- */

static enum dw_cli_status scrap_list(struct dw_cli_shelf *shelf, const struct dw_stock_list *list)
{
    struct dw_error error = {0};
    int64_t step = 0;
    const char **numbers = calloc(list->n + 1, sizeof *numbers);
    dw_err err = numbers ? DW_OK : dw_error__nomem(&error);
    for (size_t i = 0; !err && i < list->n; i++)
        numbers[i] = list->rows[i].number;
    if (!err)
        err = dw_ledger_scrap(shelf->ledger, &shelf->act, numbers, list->n, &step, &error);
    free(numbers);
    return err ? dw_cli__shelf_said(err, &error)
               : dw_cli__shelf_done(shelf, step, "Scrapped:", NULL);
}

static enum dw_cli_status show_surplus(struct dw_cli_shelf *shelf, const struct dw_stock_list *list,
                                       size_t n_old)
{
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "pieces", dw_cli__stocks_json(shelf, list));
    json_object_set_new(document, "too_old", json_integer((json_int_t)n_old));
    struct dw_buf text = {0};
    if (list->n == 0) {
        dw_buf__put(&text, "Nothing has to go.");
    } else {
        dw_buf__format(&text, "To scrap: %s over the age limit, ",
                       dw_cli__count((int64_t)n_old, "offcut", "offcuts").text);
        dw_buf__format(&text, "%zu over the ceiling. --scrap books it.", list->n - n_old);
    }
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &text);
    dw_cli__stock_table(&shelf->page, list);
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status find_surplus(struct dw_cli_shelf *shelf)
{
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    size_t n_old = 0;
    dw_err err = dw_shelf_surplus(shelf->ledger, shelf->today, &list, &n_old, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    enum dw_cli_status status = list->n > 0 && dw_cli__has(shelf->args, "scrap")
                                    ? scrap_list(shelf, list)
                                    : show_surplus(shelf, list, n_old);
    dw_stock_list_free(list);
    return status;
}

static enum dw_cli_status run_surplus(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, dw_cli__has(args, "scrap") ? DW_LEDGER_WRITE : DW_LEDGER_READ,
                             find_surplus);
}

static const struct dw_cli_option surplus_options[] = {
    {"scrap", 0, NULL, NULL, "book them as thrown away"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_surplus = {
    .name = "surplus",
    .operands = "",
    .summary = "list the offcuts that the shop's rules say to scrap",
    .about = "Offcuts older than the rule max-age-days, and, while there are more than "
             "max-offcuts, those of least book value. `dropwise shelf rules` sets both.",
    .least = 0,
    .most = 0,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(surplus_options),
    .options = surplus_options,
    .run = run_surplus,
};

/* --- count ------------------------------------------------------------------------------------ */

static enum dw_cli_status counted(struct dw_cli_shelf *shelf, dw_err err,
                                  struct dw_stock_list *list, int64_t step,
                                  struct dw_report *report, const struct dw_error *error)
{
    bool told = report->n_wrong > 0;
    dw_cli__say_report(report, SIZE_MAX);
    dw_report_free(report);
    if (err)
        return told ? dw_cli__status(err) : dw_cli__shelf_said(err, error);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "step", json_integer((json_int_t)step));
    json_object_set_new(document, "differences", dw_cli__stocks_json(shelf, list));
    dw_cli__fold(&shelf->page, DW_CLI_PLAIN, "",
                 list->n == 0 ? "All as booked."
                 : step       ? "Not as booked; corrected to:"
                              : "Not as booked; it would be corrected to:");
    dw_cli__stock_table(&shelf->page, list);
    dw_stock_list_free(list);
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status count_one(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_counted row = {.number = args->operands[0], .place = dw_cli__value(args, "place")};
    struct dw_report report = {0};
    struct dw_count count = {.n = 1,
                             .rows = &row,
                             .bring_back = true,
                             .dry = dw_cli__has(args, "dry-run"),
                             .report = &report};
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    int64_t step = 0;
    if (!dw_cli__shelf_length(shelf, "length", args->operands[1], &row.length))
        return DW_CLI_REFUSED;
    dw_err err = dw_ledger_count(shelf->ledger, &shelf->act, &count, &list, &step, &error);
    return counted(shelf, err, list, step, &report, &error);
}

static enum dw_cli_status count_table(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_shelf_count count = {
        .table = {.path = args->operands[0],
                  .bare = dw_cli__value(args, "unit") ? shelf->page.length.unit : DW_UNIT_NONE},
        .complete = dw_cli__has(args, "complete"),
        .dry = dw_cli__has(args, "dry-run"),
        .place = dw_cli__value(args, "place"),
        .material = dw_cli__value(args, "material"),
    };
    struct dw_report report = {0};
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    int64_t step = 0;
    dw_err err =
        dw_shelf_count_pieces(shelf->ledger, &shelf->act, &count, &list, &step, &report, &error);
    return counted(shelf, err, list, step, &report, &error);
}

static enum dw_cli_status count_shelf(struct dw_cli_shelf *shelf)
{
    return shelf->args->n_operands == 2 ? count_one(shelf) : count_table(shelf);
}

static enum dw_cli_status run_count(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, count_shelf);
}

static const struct dw_cli_option count_options[] = {
    {"complete", 0, NULL, NULL, "the table has everything: what it leaves out is lost"},
    {"place", 0, "PLACE", NULL, "only this place was counted; with NUMBER: it lies here"},
    {"material", 0, "ID", NULL, "only this material was counted"},
    {"dry-run", 0, NULL, NULL, "show the differences, book nothing"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_count = {
    .name = "count",
    .operands = "TABLE.csv | NUMBER LENGTH",
    .summary = "correct the ledger after a stock-taking",
    .about =
        "Compares what was seen with what is booked and books the differences: lengths, "
        "places, pieces found again and, with --complete, pieces that are lost. The table "
        "has the columns number, length, place; `dropwise shelf export` makes one to start "
        "from. One piece can be corrected by NUMBER and LENGTH; one that is used or thrown away "
        "by the book is then on the shelf again. In a table such a row is a doubt and "
        "nothing is booked of it.",
    .least = 1,
    .most = 2,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(count_options),
    .options = count_options,
    .run = run_count,
};

/* --- undo ------------------------------------------------------------------------------------- */

static dw_err moves_pieces(struct dw_cli_shelf *shelf, int64_t step, bool *moves,
                           struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.step = step};
    dw_err err = dw_ledger_list(shelf->ledger, &query, &list, error);
    *moves = !err && list->n > 0;
    dw_stock_list_free(list);
    return err;
}

static enum dw_cli_status undo_step(struct dw_cli_shelf *shelf)
{
    const char *expect = dw_cli__value(shelf->args, "step");
    struct dw_error error = {0};
    struct dw_deed undone = {0};
    int64_t step = 0, wanted = 0;
    if (expect && !dw_cli__shelf_number("--step", expect, &wanted))
        return DW_CLI_REFUSED;
    dw_err err = dw_ledger_undo(shelf->ledger, &shelf->act, wanted, &undone, &step, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    bool moved = false;
    err = moves_pieces(shelf, step, &moved, &error);
    if (err)
        return dw_cli__shelf_told(shelf, dw_cli__shelf_said(err, &error), step);
    char told[DW_DEED_TEXT], sentence[DW_DEED_TEXT + 80];
    dw_deed_print(told, &undone);
    snprintf(sentence, sizeof sentence, "Taken back: %s.%s", told, moved ? " As it is again:" : "");
    json_t *more = json_pack(
        "{s:I, s:s, s:o, s:s, s:s}", "undone", (json_int_t)undone.id, "what", undone.what, "who",
        dw_cli__json_text(undone.who[0] ? undone.who : NULL), "when", undone.when, "told", told);
    return dw_cli__shelf_done(shelf, step, sentence, more);
}

static enum dw_cli_status run_undo(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, undo_step);
}

static const struct dw_cli_option undo_options[] = {
    {"step", 0, "N", NULL, "only if this is the last step; needed when someone else did it"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_undo = {
    .name = "undo",
    .operands = "",
    .summary = "undo the last step",
    .about = "Puts back what the last step changed, and says what it was, whose and when; the "
             "history keeps both. Again undoes the one before. A step that someone else did is "
             "undone only with --step and its number; with --step, only if no one did another "
             "step meanwhile.",
    .least = 0,
    .most = 0,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(undo_options),
    .options = undo_options,
    .run = run_undo,
};
