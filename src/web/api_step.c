/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps of the shelf: moving and throwing away, a table taken in, stock-taking, undo. Each may say
 * "seen", the last step its author knew of: what was changed since is refused, with what changed.
 */
#include "web/stock.h"

#include "model/model.h"

#include <stdlib.h>
#include <string.h>

/* --- move, scrap ------------------------------------------------------------------------------ */

static dw_err change(struct dw_web_call *call, struct dw_ledger *ledger, bool scrap)
{
    struct dw_job *catalogue = NULL;
    const char **numbers = NULL, *place = NULL;
    size_t n = 0;
    int64_t step = 0;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = dw_stock__numbers(call, &numbers, &n);
    if (!err && !scrap)
        err = dw_call__text(call, "place", true, &place);
    if (!err && scrap)
        err = dw_ledger_scrap(ledger, &call->act, numbers, n, &step, &call->error);
    else if (!err)
        err = dw_ledger_move(ledger, &call->act, numbers, n, place, &step, &call->error);
    free(numbers);
    dw_job_free(catalogue);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

static dw_err move(struct dw_web_call *call, struct dw_ledger *ledger)
{
    return change(call, ledger, false);
}

static dw_err scrap(struct dw_web_call *call, struct dw_ledger *ledger)
{
    return change(call, ledger, true);
}

/* {"numbers": ["C18"], "place": "rack 2", "seen": 41} */
dw_err dw_api__move(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, move);
}

/* {"numbers": ["C18"], "seen": 41} */
dw_err dw_api__scrap(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, scrap);
}

/* --- surplus ---------------------------------------------------------------------------------- */

static dw_err surplus(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_stock_list *list = NULL;
    struct dw_job *catalogue = NULL;
    size_t n_old = 0;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = dw_shelf_surplus(ledger, call->today, &list, &n_old, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "currency", catalogue->currency);
        err = dw_stock__put_seen(call, ledger);
        dw_out__int(&call->out, "too_old", (int64_t)n_old);
        dw_stock__put_list(&call->out, list);
        dw_out__close(&call->out, '{');
    }
    dw_stock_list_free(list);
    dw_job_free(catalogue);
    return err;
}

/* The first "too_old" of the pieces are there for their age, the others for the ceiling. */
dw_err dw_api__surplus(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, surplus);
}

/* --- a table ---------------------------------------------------------------------------------- */

static dw_err read_table(struct dw_web_call *call, const struct dw_job *catalogue,
                         struct dw_shelf_table *out)
{
    const char *text = NULL;
    dw_err err = dw_call__text(call, "text", true, &text);
    if (!err)
        *out = (struct dw_shelf_table){
            .path = "table", .text = text, .n = strlen(text), .bare = catalogue->unit};
    return err;
}

static dw_err import(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_job *catalogue = NULL;
    struct dw_stock_list *list = NULL;
    struct dw_shelf_table table = {0};
    int64_t step = 0;
    bool dry = dw_call__yes(call, "dry");
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = read_table(call, catalogue, &table);
    if (!err && dry)
        err = dw_shelf_import_dry(ledger, &call->act, &table, &list, &call->report, &call->error);
    else if (!err)
        err = dw_shelf_import(ledger, &call->act, &table, &step, &call->report, &call->error);
    if (!err && dry) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "currency", catalogue->currency);
        err = dw_stock__put_seen(call, ledger);
        dw_call__put_remarks(&call->out, &call->report);
        dw_stock__put_list(&call->out, list);
        dw_out__close(&call->out, '{');
    } else if (!err) {
        err = dw_stock__put_step(call, ledger, step);
    }
    dw_stock_list_free(list);
    dw_job_free(catalogue);
    return err;
}

/* {"text": table, "unit": "mm", "dry": true}: what would be added; without "dry" it is. */
dw_err dw_api__import(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, import);
}

/* --- stock-taking ----------------------------------------------------------------------------- */

static dw_err count_one(struct dw_web_call *call, struct dw_ledger *ledger,
                        const struct dw_job *catalogue, struct dw_stock_list **list, int64_t *step)
{
    struct dw_counted row = {0};
    struct dw_count count = {.n = 1,
                             .rows = &row,
                             .bring_back = true,
                             .dry = dw_call__yes(call, "dry"),
                             .report = &call->report};
    dw_err err = dw_call__text(call, "number", true, &row.number);
    if (!err)
        err = dw_call__length(call, "length", true, catalogue->unit, &row.length);
    if (!err)
        err = dw_call__text(call, "place", false, &row.place);
    return err ? err : dw_ledger_count(ledger, &call->act, &count, list, step, &call->error);
}

static dw_err count_table(struct dw_web_call *call, struct dw_ledger *ledger,
                          const struct dw_job *catalogue, struct dw_stock_list **list,
                          int64_t *step)
{
    struct dw_shelf_count count = {.complete = dw_call__yes(call, "complete"),
                                   .dry = dw_call__yes(call, "dry")};
    dw_err err = read_table(call, catalogue, &count.table);
    if (!err)
        err = dw_call__text(call, "place", false, &count.place);
    if (!err)
        err = dw_call__text(call, "material", false, &count.material);
    return err ? err
               : dw_shelf_count_pieces(ledger, &call->act, &count, list, step, &call->report,
                                       &call->error);
}

/* A piece as counted, and as the book still has it; in a step that was booked already, only the
 * first. */
static dw_err put_difference(struct dw_web_call *call, struct dw_ledger *ledger,
                             const struct dw_stock *counted, bool dry)
{
    struct dw_stock_list *booked = NULL;
    dw_err err = dry ? dw_shelf_pick(ledger, &counted->number, 1, &booked, &call->error) : DW_OK;
    dw_out__open(&call->out, NULL, '{');
    dw_stock__put(&call->out, "counted", counted);
    if (booked)
        dw_stock__put(&call->out, "booked", &booked->rows[0]);
    dw_out__close(&call->out, '{');
    dw_stock_list_free(booked);
    return err;
}

static dw_err put_differences(struct dw_web_call *call, struct dw_ledger *ledger,
                              const struct dw_stock_list *list, int64_t step)
{
    dw_out__open(&call->out, NULL, '{');
    dw_err err = dw_stock__put_seen(call, ledger);
    dw_out__int(&call->out, "step", step);
    dw_out__int(&call->out, "n", (int64_t)list->n);
    dw_call__put_remarks(&call->out, &call->report);
    dw_out__open(&call->out, "differences", '[');
    for (size_t i = 0; !err && i < list->n; i++)
        err = put_difference(call, ledger, &list->rows[i], step == 0);
    dw_out__close(&call->out, '[');
    dw_out__close(&call->out, '{');
    return err;
}

static dw_err count(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_job *catalogue = NULL;
    struct dw_stock_list *list = NULL;
    int64_t step = 0;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err && json_object_get(call->body, "number"))
        err = count_one(call, ledger, catalogue, &list, &step);
    else if (!err)
        err = count_table(call, ledger, catalogue, &list, &step);
    if (!err)
        err = put_differences(call, ledger, list, step);
    dw_stock_list_free(list);
    dw_job_free(catalogue);
    return err;
}

/* {"text": table of number, length, place, "complete": true, "place", "material", "dry": true,
 * "seen": 41}, or one piece: {"number": "C18", "length": "498 mm", "place"}. */
dw_err dw_api__count(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, count);
}

/* --- undo ------------------------------------------------------------------------------------- */

static dw_err undo(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_deed undone = {0};
    int64_t expect = 0, step = 0;
    dw_err err = dw_call__int(call, "step", false, 0, INT64_MAX, &expect);
    if (!err)
        err = dw_ledger_undo(ledger, &call->act, expect, &undone, &step, &call->error);
    if (err)
        return err;
    dw_out__open(&call->out, NULL, '{');
    dw_out__int(&call->out, "undone", undone.id);
    dw_out__int(&call->out, "step", step);
    dw_stock__put_told(&call->out, &undone);
    dw_out__close(&call->out, '{');
    return DW_OK;
}

/* {"step": 41}: the last step, if it is that one; without it, if it was done by who asks. */
dw_err dw_api__undo(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, undo);
}
