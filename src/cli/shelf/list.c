/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf list, find, history, export: looking at the shelf. */
#include "cli/shelf/parts.h"

#include <stdlib.h>
#include <string.h>

#define ALL_STATES ((1u << DW_STATE_VOID) - 1)

/* What is on the shelf or held; what is gone is counted apart. */
static void put_sum(struct dw_cli_shelf *shelf, const struct dw_stock_list *list,
                    struct dw_buf *text)
{
    dw_length sum = 0;
    size_t there = 0;
    for (size_t i = 0; i < list->n; i++) {
        if (!dw_stock_there(&list->rows[i]))
            continue;
        sum += dw_stock_actual(&list->rows[i]);
        there++;
    }
    dw_buf__format(text, "%s, ", dw_cli__count((int64_t)there, "piece", "pieces").text);
    dw_buf__put(text, dw_cli__long(&shelf->page, sum).text);
    dw_buf__put(text, " in all");
    if (there < list->n)
        dw_buf__format(text, "; %s used, thrown away or lost",
                       dw_cli__count((int64_t)(list->n - there), "more is", "more are").text);
    dw_buf__put(text, ".");
}

static enum dw_cli_status show_list(struct dw_cli_shelf *shelf, const struct dw_stock_query *query,
                                    const char *none)
{
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    dw_err err = dw_ledger_list(shelf->ledger, query, &list, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "pieces", dw_cli__stocks_json(shelf, list));
    struct dw_buf text = {0};
    if (list->n > 0) {
        dw_cli__stock_table(&shelf->page, list);
        put_sum(shelf, list, &text);
    } else {
        dw_buf__put(&text, none);
    }
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &text);
    dw_stock_list_free(list);
    return dw_cli__shelf_end(shelf, document);
}

/* --- list ------------------------------------------------------------------------------------- */

static enum dw_cli_status list_pieces(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_stock_query query = {
        .material = args->n_operands ? args->operands[0] : NULL,
        .place = dw_cli__value(args, "place"),
        .owner = dw_cli__has(args, "shop") ? "" : dw_cli__value(args, "owner"),
        .before = dw_cli__value(args, "before"),
        .states = dw_cli__has(args, "all") ? ALL_STATES : 0,
        .only_bars = dw_cli__has(args, "bars"),
        .only_offcuts = dw_cli__has(args, "offcuts"),
    };
    return show_list(shelf, &query, "Nothing like that is on the shelf.");
}

static enum dw_cli_status run_list(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, list_pieces);
}

static const struct dw_cli_option list_options[] = {
    {"place", 0, "PLACE", NULL, "only what lies there"},
    {"owner", 0, "NAME", NULL, "only what this client owns"},
    {"shop", 0, NULL, NULL, "only what the shop owns"},
    {"before", 0, "DAY", NULL, "only what is there since before that day"},
    {"bars", 0, NULL, NULL, "only whole bars"},
    {"offcuts", 0, NULL, NULL, "only offcuts"},
    {"all", 'a', NULL, NULL, "used, scrapped and lost pieces too"},
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__shelf_list = {
    .name = "list",
    .operands = "[MATERIAL]",
    .summary = "show what is on the shelf",
    .about = "Lists the pieces on the shelf and those that plans hold, by material and length.",
    .least = 0,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(list_options),
    .options = list_options,
    .run = run_list,
};

/* --- find ------------------------------------------------------------------------------------- */

static bool is_known(const struct dw_cli_shelf *shelf, const char *material)
{
    for (size_t i = 0; i < shelf->job->n_materials; i++)
        if (strcmp(shelf->job->materials[i].id, material) == 0)
            return true;
    return false;
}

static enum dw_cli_status find_piece(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    const char *allowance = dw_cli__value(args, "allow");
    dw_length extra = 0;
    struct dw_stock_query query = {
        .material = args->n_operands > 1 ? args->operands[1] : NULL,
        .states = dw_cli__has(args, "held") ? 0 : 1u << DW_STATE_SHELF,
    };
    if (!dw_cli__shelf_length(shelf, "length", args->operands[0], &query.at_least) ||
        (allowance && !dw_cli__shelf_length(shelf, "--allow", allowance, &extra)))
        return DW_CLI_REFUSED;
    if (query.material && !is_known(shelf, query.material)) {
        dw_cli__complain("the shelf knows no material \"%s\"; quote a length of several words: "
                         "\"%s %s\"",
                         query.material, args->operands[0], query.material);
        return DW_CLI_REFUSED;
    }
    query.at_least += extra;
    return show_list(shelf, &query, "Nothing on the shelf is long enough.");
}

static enum dw_cli_status run_find(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, find_piece);
}

static const struct dw_cli_option find_options[] = {
    {"allow", 0, "LENGTH", NULL, "so much more, for squaring and the cut"},
    {"held", 0, NULL, NULL, "show pieces that plans hold too"},
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__shelf_find = {
    .name = "find",
    .operands = "LENGTH [MATERIAL]",
    .summary = "find the pieces that can give a length",
    .about = "Lists the free pieces that are at least LENGTH long, the best fit first. "
             "Write the length as \"17-3/4 in\" or 450mm; a bare number takes the shop's unit.",
    .least = 1,
    .most = 2,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(find_options),
    .options = find_options,
    .run = run_find,
};

/* --- history ---------------------------------------------------------------------------------- */

/* "shelf -> held by plan 3, 6000 mm -> 5990 mm" */
static void put_change(struct dw_cli_shelf *shelf, struct dw_buf *buf, const struct dw_event *event)
{
    struct dw_cli_page *page = &shelf->page;
    if (!event->number)
        dw_buf__put(buf, event->told);
    else if (event->created)
        dw_buf__format(buf, "%s, %s", dw_state_word(event->to_state),
                       dw_cli__length(page, event->to_length).text);
    else if (event->from_state != event->to_state)
        dw_buf__format(buf, "%s to %s", dw_state_word(event->from_state),
                       dw_state_word(event->to_state));
    if (event->to_plan)
        dw_buf__format(buf, " by plan %lld", (long long)event->to_plan);
    if (!event->created && event->from_length != event->to_length)
        dw_buf__format(buf, "%s%s to %s", buf->n ? ", " : "",
                       dw_cli__length(page, event->from_length).text,
                       dw_cli__length(page, event->to_length).text);
    const char *from = event->created || !event->from_place ? "" : event->from_place;
    const char *to = event->to_place ? event->to_place : "";
    if (strcmp(from, to) != 0)
        dw_buf__format(buf, "%sto %s", buf->n ? ", " : "", to[0] ? to : "no place");
    if (event->undone)
        dw_buf__put(buf, " (undone)");
}

static json_t *event_json(const struct dw_cli_shelf *shelf, const struct dw_event *event)
{
    json_t *object = json_pack(
        "{s:I, s:o, s:s, s:s, s:b, s:o, s:o}", "step", (json_int_t)event->step, "number",
        dw_cli__json_text(event->number), "when", event->when, "what", event->what, "undone",
        (int)event->undone, "state",
        dw_cli__json_text(event->number ? dw_state_word(event->to_state) : NULL), "length",
        event->number ? dw_cli__length_json(shelf, event->to_length) : json_null());
    json_object_set_new(object, "before",
                        event->created || !event->number
                            ? json_null()
                            : json_string(dw_state_word(event->from_state)));
    json_object_set_new(object, "told", dw_cli__json_text(event->told));
    json_object_set_new(object, "who", dw_cli__json_text(event->who));
    json_object_set_new(object, "note", dw_cli__json_text(event->note));
    json_object_set_new(object, "place", dw_cli__json_text(event->to_place));
    json_object_set_new(object, "plan",
                        event->to_plan ? json_integer((json_int_t)event->to_plan) : json_null());
    return object;
}

/* "2026-03-31 14:05" of "2026-03-31T14:05:00Z"; a day stays a day. */
static void put_when(struct dw_cli_table *table, const char *when)
{
    char text[20];
    snprintf(text, sizeof text, "%.16s", when);
    if (strlen(text) > 10 && text[10] == 'T')
        text[10] = ' ';
    dw_cli__cell(table, text);
}

static void put_history(struct dw_cli_shelf *shelf, const struct dw_history *history)
{
    static const struct dw_cli_column columns[] = {
        {.title = "step", .right = true},  {.title = "when"}, {.title = "piece"}, {.title = "what"},
        {.title = "change", .fold = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    for (size_t i = 0; i < history->n; i++) {
        const struct dw_event *event = &history->rows[i];
        struct dw_buf change = {0};
        dw_cli__cell_format(&table, "%lld", (long long)event->step);
        put_when(&table, event->when);
        dw_cli__cell(&table, event->number ? event->number : "");
        dw_cli__cell(&table, event->what);
        put_change(shelf, &change, event);
        if (event->who)
            dw_buf__format(&change, "%sby %s", change.n ? "; " : "", event->who);
        if (event->note)
            dw_buf__format(&change, "%s%s", change.n ? "; " : "", event->note);
        dw_cli__cell_buf(&table, &change);
    }
    dw_cli__table_end(&shelf->page, &table);
}

static enum dw_cli_status show_history(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    const char *last = dw_cli__value(args, "last");
    int64_t most = 40;
    if (last && !dw_cli__number("last", last, 1, 1000000, &most))
        return DW_CLI_REFUSED;
    struct dw_history *history = NULL;
    struct dw_error error = {0};
    dw_err err = dw_ledger_history(shelf->ledger, args->n_operands ? args->operands[0] : NULL, most,
                                   &history, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    json_t *events = json_array();
    for (size_t i = 0; i < history->n; i++)
        json_array_append_new(events, event_json(shelf, &history->rows[i]));
    put_history(shelf, history);
    if (history->n == 0)
        dw_cli__fold(&shelf->page, DW_CLI_PLAIN, "", "Nothing has happened yet.");
    dw_history_free(history);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "events", events);
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status run_history(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, show_history);
}

static const struct dw_cli_option history_options[] = {
    {"last", 0, "N", NULL, "so many events, without a NUMBER; otherwise 40"},
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__shelf_history = {
    .name = "history",
    .operands = "[NUMBER]",
    .summary = "show what happened to a piece, back to the bar that it came from",
    .about = "With NUMBER, every move of that piece and of those it was cut from, oldest first. "
             "Without, the last moves of the whole shelf, and the steps that moved nothing: a plan "
             "held that takes nothing from it, a copy put back.",
    .least = 0,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(history_options),
    .options = history_options,
    .run = run_history,
};

/* --- export ----------------------------------------------------------------------------------- */

static enum dw_cli_status export_table(struct dw_cli_shelf *shelf)
{
    const char *path = dw_cli__value(shelf->args, "output");
    struct dw_error error = {0};
    char *text = NULL;
    dw_err err = dw_shelf_export(shelf->ledger, dw_cli__has(shelf->args, "all"), &text, &error);
    enum dw_cli_status status = DW_CLI_DONE;
    if (!err && path)
        err = dw_file__write(path, text, strlen(text), dw_cli__has(shelf->args, "replace"), &error);
    else if (!err)
        status = dw_cli__write(text, strlen(text));
    free(text);
    return err ? dw_cli__shelf_said(err, &error) : status;
}

static enum dw_cli_status run_export(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, export_table);
}

static const struct dw_cli_option export_options[] = {
    DW_CLI_OUTPUT_OPTIONS("FILE.csv", "write to this file; otherwise to standard output"),
    {"all", 'a', NULL, NULL, "used, scrapped and lost pieces too, with their state"},
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__shelf_export = {
    .name = "export",
    .operands = "",
    .summary = "write the shelf as a CSV table",
    .about = "Writes what is on the shelf or held as a table that a spreadsheet, `dropwise shelf "
             "import` and a job's `offcuts` can read. Lengths are exact, in mm.",
    .least = 0,
    .most = 0,
    .n_options = DW_COUNT(export_options),
    .options = export_options,
    .run = run_export,
};
