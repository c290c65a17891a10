/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces and steps of the shelf as JSON for the page, and its queries. */
#include "web/stock.h"

#include "job/shelf_record.h"

#include <stdlib.h>
#include <string.h>

#define ROWS_MOST    500
#define NUMBERS_MOST 10000

dw_err dw_stock__ready(struct dw_web_call *call, struct dw_ledger *ledger,
                       struct dw_job **catalogue)
{
    const char *unit = dw_web__query(call->request, "unit");
    if (!unit)
        unit = json_string_value(json_object_get(call->body, "unit"));
    dw_err err = dw_call__int(call, "seen", false, 0, INT64_MAX, &call->act.seen);
    if (!err)
        err = dw_shelf_catalogue(ledger, catalogue, &call->error);
    if (err)
        return err;
    enum dw_unit found = unit ? dw_unit_find(unit, strlen(unit)) : DW_UNIT_NONE;
    if (found)
        (*catalogue)->unit = found;
    call->out.style = dw_job__style(*catalogue);
    call->out.currency = (*catalogue)->currency;
    return DW_OK;
}

/* --- out -------------------------------------------------------------------------------------- */

void dw_stock__put(struct dw_out *out, const char *key, const struct dw_stock *stock)
{
    const struct dw_record_out to = {.out = out, .version = DW_RECORD_ALL};
    dw_stock__record(&to, key, stock);
}

void dw_stock__put_list(struct dw_out *out, const struct dw_stock_list *list)
{
    dw_length sum = 0;
    int64_t there = 0;
    for (size_t i = 0; i < list->n; i++) {
        if (!dw_stock_there(&list->rows[i]))
            continue;
        if (!dw_add__i64(sum, dw_stock_actual(&list->rows[i]), &sum))
            sum = INT64_MAX;
        there++;
    }
    dw_out__int(out, "n", (int64_t)list->n);
    dw_out__int(out, "there", there);
    dw_out__length(out, "sum", sum);
    dw_out__open(out, "pieces", '[');
    for (size_t i = 0; i < list->n && i < ROWS_MOST; i++)
        dw_stock__put(out, NULL, &list->rows[i]);
    dw_out__close(out, '[');
}

dw_err dw_stock__put_seen(struct dw_web_call *call, struct dw_ledger *ledger)
{
    int64_t step = 0, undoable = 0;
    dw_err err = dw_ledger_last(ledger, &step, &undoable, &call->error);
    dw_out__int(&call->out, "seen", step);
    return err;
}

void dw_stock__put_told(struct dw_out *out, const struct dw_deed *step)
{
    char told[DW_DEED_TEXT];
    dw_deed_print(told, step);
    dw_out__text(out, "what", step->what);
    dw_out__text(out, "who", step->who[0] ? step->who : NULL);
    dw_out__text(out, "when", step->when);
    dw_out__text(out, "told", told);
}

dw_err dw_stock__put_step(struct dw_web_call *call, struct dw_ledger *ledger, int64_t step)
{
    struct dw_stock_query query = {.step = step, .states = 1u << DW_STATE_SHELF};
    struct dw_stock_list *list = NULL;
    struct dw_job *catalogue = NULL;
    dw_err err = dw_ledger_list(ledger, &query, &list, &call->error);
    if (!err)
        err = dw_stock__ready(call, ledger, &catalogue);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__int(&call->out, "step", step);
        dw_out__open(&call->out, "shelf", '[');
        for (size_t i = 0; i < list->n && i < ROWS_MOST; i++)
            dw_stock__put(&call->out, NULL, &list->rows[i]);
        dw_out__close(&call->out, '[');
        dw_call__put_remarks(&call->out, &call->report);
        dw_out__close(&call->out, '{');
    }
    dw_stock_list_free(list);
    dw_job_free(catalogue);
    return err;
}

/* --- in --------------------------------------------------------------------------------------- */

const char *dw_stock__query(const struct dw_web_call *call, const char *name)
{
    const char *text = dw_web__query(call->request, name);
    return text && *text ? text : NULL;
}

dw_err dw_stock__query_length(struct dw_web_call *call, const char *name, dw_length *out)
{
    const char *text = dw_stock__query(call, name);
    struct dw_error why = {0};
    *out = 0;
    if (!text)
        return DW_OK;
    dw_err err = dw_length_parse(text, strlen(text), call->out.style.unit, out, &why);
    if (err)
        call->field = name;
    return err ? dw_error__at(&call->error, err, NULL, 0, why.column, "%s", why.text) : DW_OK;
}

dw_err dw_stock__numbers(struct dw_web_call *call, const char ***numbers, size_t *n)
{
    const json_t *list = json_object_get(call->body, "numbers");
    *numbers = NULL;
    *n = json_array_size(list);
    if (*n == 0 || *n > NUMBERS_MOST)
        return dw_error__set(&call->error, DW_ERR_INPUT,
                             "numbers must be a list of 1 to %d numbers of pieces", NUMBERS_MOST);
    const char **out = calloc(*n, sizeof *out);
    if (!out)
        return dw_error__nomem(&call->error);
    bool good = true;
    for (size_t i = 0; good && i < *n; i++) {
        const json_t *text = json_array_get(list, i);
        out[i] = json_string_value(text);
        good = out[i] && *out[i] && strlen(out[i]) == json_string_length(text);
    }
    if (good) {
        *numbers = out;
        return DW_OK;
    }
    free(out);
    return dw_error__set(&call->error, DW_ERR_INPUT, "each of the numbers must be a text");
}
