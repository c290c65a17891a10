/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces of the shelf for a person and for a program. */
#include "cli/reports/report.h"
#include "cli/shelf/shelf.h"

#include "job/shelf_record.h"

#include <stdlib.h>
#include <string.h>

static const struct dw_cli_column columns[] = {
    {.title = "number"},
    {.title = "material", .say = "of ", .narrow = 8},
    {.title = "length", .right = true},
    {.title = "ends", .say = "ends ", .narrow = 5},
    {.title = "value", .right = true, .say = "worth "},
    {.title = "place", .say = "at ", .narrow = 8},
    {.title = "state", .narrow = 8},
    {.title = "remarks", .fold = true, .narrow = 12},
};

static const char *ends_of(const struct dw_stock *stock)
{
    if (stock->ends[0] == stock->ends[1])
        return stock->ends[0] == DW_END_MILL ? "mill" : "sawn";
    return stock->ends[0] == DW_END_MILL ? "mill, sawn" : "sawn, mill";
}

static void add(struct dw_buf *buf, const char *lead, const char *text)
{
    if (text)
        dw_buf__format(buf, "%s%s%s", buf->n ? "; " : "", lead, text);
}

static void put_remarks(struct dw_cli_table *table, const struct dw_stock *stock)
{
    struct dw_buf buf = {0};
    add(&buf, "owner ", stock->owner);
    add(&buf, "mark ", stock->mark);
    add(&buf, "cut from ", stock->from);
    add(&buf, "for ", stock->job);
    add(&buf, "", stock->date);
    add(&buf, "", stock->remark);
    dw_cli__cell_buf(table, &buf);
}

void dw_cli__stock_table(struct dw_cli_page *page, const struct dw_stock_list *list)
{
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    if (list->n == 0)
        return;
    for (size_t i = 0; i < list->n; i++) {
        const struct dw_stock *stock = &list->rows[i];
        dw_cli__cell(&table, stock->number);
        dw_cli__cell(&table, stock->material);
        dw_cli__cell(&table, dw_cli__length(page, dw_stock_actual(stock)).text);
        dw_cli__cell(&table, ends_of(stock));
        dw_cli__cell(&table, stock->value ? dw_cli__amount(page, stock->value).text : "");
        dw_cli__cell(&table, stock->place);
        if (stock->plan)
            dw_cli__cell_format(&table, "held, plan %lld", (long long)stock->plan);
        else
            dw_cli__cell(&table, stock->state == DW_STATE_SHELF ? "" : dw_state_word(stock->state));
        put_remarks(&table, stock);
    }
    dw_cli__table_end(page, &table);
}

/* --- JSON ------------------------------------------------------------------------------------- */

json_t *dw_cli__length_json(const struct dw_cli_shelf *shelf, dw_length length)
{
    struct dw_length_style style = shelf->page.length;
    char text[DW_LENGTH_TEXT];
    style.decimals = DW_CLI_JSON_DECIMALS;
    dw_length_print(text, length, &style);
    return json_pack("{s:I, s:s}", "nm", (json_int_t)length, "text", text);
}

json_t *dw_cli__money_json(const struct dw_cli_shelf *shelf, dw_money amount)
{
    char text[DW_MONEY_TEXT];
    dw_money_print(text, amount, shelf->page.currency, true);
    return json_string(text);
}

struct dw_out dw_cli__shelf_out(const struct dw_cli_shelf *shelf, struct dw_buf *buf)
{
    struct dw_out out = {.buf = buf, .style = shelf->page.length, .currency = shelf->page.currency};
    out.style.decimals = DW_CLI_JSON_DECIMALS;
    return out;
}

json_t *dw_cli__stock_json(const struct dw_cli_shelf *shelf, const struct dw_stock *stock)
{
    struct dw_buf buf = {0};
    struct dw_out out = dw_cli__shelf_out(shelf, &buf);
    const struct dw_record_out to = {.out = &out, .version = DW_RECORD_ALL};
    dw_stock__record(&to, NULL, stock);
    return dw_cli__json_take(&buf);
}

json_t *dw_cli__stocks_json(const struct dw_cli_shelf *shelf, const struct dw_stock_list *list)
{
    json_t *array = json_array();
    for (size_t i = 0; array && i < list->n; i++)
        json_array_append_new(array, dw_cli__stock_json(shelf, &list->rows[i]));
    return array;
}

json_t *dw_cli__shelf_document(const struct dw_cli_shelf *shelf)
{
    char format[80];
    snprintf(format, sizeof format, "dropwise %s", shelf->args->path);
    return json_pack("{s:s, s:i, s:s}", "format", format, "version", 2, "currency",
                     shelf->page.currency);
}

/* --- the end of a command --------------------------------------------------------------------- */

enum dw_cli_status dw_cli__shelf_end(struct dw_cli_shelf *shelf, json_t *document)
{
    if (dw_cli__has(shelf->args, "json"))
        return dw_cli__json_write(document);
    json_decref(document);
    return dw_cli__page_end(&shelf->page);
}

enum dw_cli_status dw_cli__shelf_done(struct dw_cli_shelf *shelf, int64_t step,
                                      const char *sentence, json_t *more)
{
    struct dw_stock_list *list = NULL;
    struct dw_error error = {0};
    struct dw_stock_query query = {.step = step};
    dw_err err = step ? dw_ledger_list(shelf->ledger, &query, &list, &error) : DW_OK;
    if (err) {
        json_decref(more);
        return dw_cli__shelf_told(shelf, dw_cli__shelf_said(err, &error), step);
    }
    json_t *document = dw_cli__shelf_document(shelf);
    if (document) {
        json_object_set_new(document, "step", json_integer((json_int_t)step));
        json_object_set_new(document, "pieces",
                            list ? dw_cli__stocks_json(shelf, list) : json_array());
        if (more)
            json_object_update(document, more);
        if (shelf->care)
            json_object_set_new(document, "cautions",
                                dw_cli__json_care(shelf->job, shelf->care, DW_AT_CUT));
    }
    json_decref(more);
    dw_cli__fold(&shelf->page, DW_CLI_PLAIN, "", sentence);
    if (list && list->n > 0)
        dw_cli__stock_table(&shelf->page, list);
    else if (sentence[0] && sentence[strlen(sentence) - 1] == ':')
        dw_cli__put(&shelf->page, "  nothing\n");
    if (shelf->care)
        dw_cli__report_care(&shelf->page, shelf->care, DW_AT_CUT);
    dw_stock_list_free(list);
    return dw_cli__shelf_told(shelf, dw_cli__shelf_end(shelf, document), step);
}
