/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Members of the JSON documents that commands print, and printing them. */
#include "cli/terminal/json.h"

#include <stdlib.h>

#include <string.h>

json_t *dw_cli__json_text(const char *text)
{
    return text ? json_string(text) : json_null();
}

json_t *dw_cli__json_money(const struct dw_job *job, dw_money amount)
{
    char text[DW_MONEY_TEXT];
    dw_money_print(text, amount, job->currency, true);
    return json_string(text);
}

json_t *dw_cli__json_length(const struct dw_job *job, dw_length length)
{
    struct dw_length_style style = {
        .unit = job->unit, .denominator = job->denominator, .decimals = DW_CLI_JSON_DECIMALS};
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, length, &style);
    return json_pack("{s:I, s:s}", "nm", (json_int_t)length, "text", text);
}

json_t *dw_cli__json_remarks(const struct dw_report *report)
{
    json_t *list = json_array();
    for (size_t i = 0; list && i < report->n_remarks; i++) {
        const struct dw_remark *remark = &report->remarks[i];
        json_t *item =
            json_pack("{s:s, s:s, s:i, s:i, s:s}", "severity", dw_severity_word(remark->severity),
                      "file", remark->what.file, "line", remark->what.line, "column",
                      remark->what.column, "text", remark->what.text);
        if (json_array_append_new(list, item)) {
            json_decref(list);
            list = NULL;
        }
    }
    return list;
}

json_t *dw_cli__json_take(struct dw_buf *buf)
{
    char *text = dw_buf__take(buf);
    json_t *json = text ? json_loads(text, 0, NULL) : NULL;
    free(text);
    return json;
}

json_t *dw_cli__json_care(const struct dw_job *job, const struct dw_care *care,
                          enum dw_caution_place place)
{
    const struct dw_care none = {0};
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .style = dw_job__style(job)};
    dw_care__put(&out, NULL, care ? care : &none, place);
    return dw_cli__json_take(&buf);
}

struct dw_out dw_cli__json_out(const struct dw_job *job, struct dw_buf *buf)
{
    return (struct dw_out){.buf = buf,
                           .style = {.unit = job->unit,
                                     .denominator = job->denominator,
                                     .decimals = DW_CLI_JSON_DECIMALS},
                           .currency = job->currency,
                           .indent = 2};
}

char *dw_cli__json_end(struct dw_buf *buf)
{
    dw_buf__char(buf, '\n');
    char *text = dw_buf__take(buf);
    if (!text)
        dw_cli__complain("out of memory");
    return text;
}

char *dw_cli__json_dump(json_t *document)
{
    char *text = document ? json_dumps(document, JSON_INDENT(2)) : NULL;
    struct dw_buf all = {0};
    json_decref(document);
    if (text)
        dw_buf__format(&all, "%s\n", text);
    char *out = text ? dw_buf__take(&all) : NULL;
    free(text);
    if (!out)
        dw_cli__complain("out of memory");
    return out;
}

enum dw_cli_status dw_cli__json_write(json_t *document)
{
    char *text = dw_cli__json_dump(document);
    enum dw_cli_status status = text ? dw_cli__write(text, strlen(text)) : DW_CLI_FAILED;
    free(text);
    return status;
}
