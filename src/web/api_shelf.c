/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shelf: what lies there, where, since when; adding, moving, throwing away. */
#include "web/app.h"

#include "model/model.h"
#include <stdlib.h>
#include <string.h>

#define ROWS_MOST 500

/* Prints lengths in the shop's unit and money in its currency, unless the query asks for another
 * unit. *catalogue is the ledger's materials; free it. */
static dw_err ready(struct dw_web_call *call, struct dw_ledger *ledger, struct dw_job **catalogue)
{
    const char *unit = dw_web__query(call->request, "unit");
    if (!unit)
        unit = json_string_value(json_object_get(call->body, "unit"));
    dw_err err = dw_shelf__catalogue(ledger, catalogue, &call->error);
    if (err)
        return err;
    enum dw_unit found = unit ? dw_unit_find(unit, strlen(unit)) : DW_UNIT_NONE;
    if (found)
        (*catalogue)->unit = found;
    call->out.style = dw_job__style(*catalogue);
    call->out.currency = (*catalogue)->currency;
    return DW_OK;
}

static void put_stock(struct dw_out *out, const struct dw_stock *stock)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "number", stock->number);
    dw_out__text(out, "material", stock->material);
    dw_out__text(out, "kind", stock->kind == DW_KIND_BAR ? "bar" : "offcut");
    dw_out__length(out, "length", dw_stock_actual(stock));
    dw_out__text(out, "place", stock->place);
    dw_out__text(out, "owner", stock->owner);
    dw_out__text(out, "date", stock->date);
    dw_out__text(out, "from", stock->from);
    dw_out__text(out, "job", stock->job);
    dw_out__text(out, "remark", stock->remark);
    dw_out__text(out, "state", dw_state_word(stock->state));
    dw_out__int(out, "plan", stock->plan);
    dw_out__money(out, "value", stock->value);
    dw_out__close(out, '{');
}

static void put_stocks(struct dw_out *out, const struct dw_stock_list *list)
{
    dw_out__int(out, "n", (int64_t)list->n);
    dw_out__open(out, "pieces", '[');
    for (size_t i = 0; i < list->n && i < ROWS_MOST; i++)
        put_stock(out, &list->rows[i]);
    dw_out__close(out, '[');
}

static dw_err read_query(struct dw_web_call *call, struct dw_stock_query *query)
{
    const struct dw_web_request *request = call->request;
    const char *at_least = dw_web__query(request, "at_least");
    query->material = dw_web__query(request, "material");
    query->place = dw_web__query(request, "place");
    query->number = dw_web__query(request, "number");
    const char **texts[] = {&query->material, &query->place, &query->number};
    for (size_t i = 0; i < DW_COUNT(texts); i++)
        if (*texts[i] && !**texts[i])
            *texts[i] = NULL;
    if (!at_least || !*at_least)
        return DW_OK;
    struct dw_error why = {0};
    dw_err err =
        dw_length_parse(at_least, strlen(at_least), call->out.style.unit, &query->at_least, &why);
    return err ? dw_error__at(&call->error, err, NULL, 0, why.column, "%s", why.text) : DW_OK;
}

static dw_err list(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_stock_query query = {0};
    struct dw_stock_list *found = NULL;
    struct dw_job *catalogue = NULL;
    dw_err err = ready(call, ledger, &catalogue);
    if (!err)
        err = read_query(call, &query);
    if (!err)
        err = dw_ledger_list(ledger, &query, &found, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "unit", dw_unit_name(catalogue->unit));
        dw_out__text(&call->out, "currency", catalogue->currency);
        put_stocks(&call->out, found);
        dw_out__close(&call->out, '{');
    }
    dw_stock_list_free(found);
    dw_job_free(catalogue);
    return err;
}

/* ?at_least=600 mm&material=al38&place=&number=&unit=mm */
dw_err dw_api__shelf_list(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, list);
}

/* --- one piece -------------------------------------------------------------------------------- */

static void put_history(struct dw_out *out, const struct dw_history *history)
{
    dw_out__open(out, "history", '[');
    for (size_t i = 0; i < history->n; i++) {
        const struct dw_event *event = &history->rows[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "number", event->number);
        dw_out__text(out, "when", event->when);
        dw_out__text(out, "who", event->who);
        dw_out__text(out, "what", event->what);
        dw_out__text(out, "note", event->note);
        dw_out__text(out, "state", dw_state_word(event->to_state));
        dw_out__text(out, "place", event->to_place);
        dw_out__yes(out, "undone", event->undone);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static dw_err show(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_stock_query query = {.number = call->params[0], .states = ~0u};
    struct dw_stock_list *found = NULL;
    struct dw_history *history = NULL;
    struct dw_job *catalogue = NULL;
    query.states &= ~(1u << DW_STATE_VOID);
    dw_err err = ready(call, ledger, &catalogue);
    if (!err)
        err = dw_ledger_list(ledger, &query, &found, &call->error);
    if (!err && found->n == 0)
        err = dw_error__set(&call->error, DW_ERR_NOTFOUND, "there is no piece %s", call->params[0]);
    if (!err)
        err = dw_ledger_history(ledger, call->params[0], 0, &history, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        put_stocks(&call->out, found);
        put_history(&call->out, history);
        dw_out__close(&call->out, '{');
    }
    dw_history_free(history);
    dw_stock_list_free(found);
    dw_job_free(catalogue);
    return err;
}

dw_err dw_api__shelf_piece(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, show);
}

/* --- changing --------------------------------------------------------------------------------- */

static void put_step(struct dw_web_call *call, int64_t step)
{
    dw_out__open(&call->out, NULL, '{');
    dw_out__int(&call->out, "step", step);
    dw_out__close(&call->out, '{');
}

static bool is_known(const struct dw_job *catalogue, const char *material)
{
    for (size_t i = 0; i < catalogue->n_materials; i++)
        if (strcmp(catalogue->materials[i].id, material) == 0)
            return true;
    return false;
}

/* A material that the ledger does not know yet comes with its diameter and wall. */
static dw_err add_material(struct dw_web_call *call, struct dw_ledger *ledger,
                           const struct dw_job *catalogue, const char *id)
{
    struct dw_material material = {.id = id};
    if (is_known(catalogue, id))
        return DW_OK;
    dw_err err = dw_call__length(call, "outside", false, catalogue->unit, &material.od);
    if (!err)
        err = dw_call__length(call, "wall", false, catalogue->unit, &material.wall);
    return err ? err : dw_ledger_material_put(ledger, &call->act, &material, &call->error);
}

static dw_err read_money(struct dw_web_call *call, const char *currency, dw_money *out)
{
    const char *text = NULL;
    struct dw_error why = {0};
    dw_err err = dw_call__text(call, "value", false, &text);
    if (err || !text)
        return err;
    err = dw_money_parse(text, strlen(text), currency, out, &why);
    return err ? dw_error__at(&call->error, err, NULL, 0, why.column, "value: %s", why.text)
               : DW_OK;
}

static dw_err read_stock(struct dw_web_call *call, const struct dw_job *catalogue,
                         struct dw_stock *stock)
{
    const struct {
        const char *name;
        bool must;
        const char **out;
    } texts[] = {
        {"material", true, &stock->material}, {"number", false, &stock->number},
        {"place", false, &stock->place},      {"owner", false, &stock->owner},
        {"mark", false, &stock->mark},        {"remark", false, &stock->remark},
    };
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(texts); i++)
        err = dw_call__text(call, texts[i].name, texts[i].must, texts[i].out);
    if (!err)
        err = dw_call__length(call, "length", true, catalogue->unit, &stock->length);
    if (!err)
        err = read_money(call, catalogue->currency, &stock->value);
    bool bar = dw_call__yes(call, "bar");
    stock->kind = bar ? DW_KIND_BAR : DW_KIND_OFFCUT;
    stock->ends[0] = stock->ends[1] = bar ? DW_END_MILL : DW_END_SAWN;
    stock->date = call->today;
    return err;
}

static dw_err add(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_stock stock = {0};
    struct dw_job *catalogue = NULL;
    int64_t step = 0;
    dw_err err = ready(call, ledger, &catalogue);
    if (!err)
        err = read_stock(call, catalogue, &stock);
    if (!err)
        err = add_material(call, ledger, catalogue, stock.material);
    if (!err)
        err = dw_ledger_add(ledger, &call->act, &stock, 1, &step, &call->error);
    dw_job_free(catalogue);
    put_step(call, step);
    return err;
}

/* {"material", "length", "number", "bar", "place", "owner", "mark", "remark", "value", "outside",
 * "wall"} */
dw_err dw_api__shelf_add(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, add);
}

static dw_err move(struct dw_web_call *call, struct dw_ledger *ledger)
{
    const char *number = call->params[0], *place = NULL;
    int64_t step = 0;
    dw_err err = dw_call__text(call, "place", true, &place);
    if (!err)
        err = dw_ledger_move(ledger, &call->act, &number, 1, place, &step, &call->error);
    put_step(call, step);
    return err;
}

dw_err dw_api__shelf_move(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, move);
}

static dw_err scrap(struct dw_web_call *call, struct dw_ledger *ledger)
{
    const char *number = call->params[0];
    int64_t step = 0;
    dw_err err = dw_ledger_scrap(ledger, &call->act, &number, 1, &step, &call->error);
    put_step(call, step);
    return err;
}

dw_err dw_api__shelf_scrap(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, scrap);
}

static dw_err undo(struct dw_web_call *call, struct dw_ledger *ledger)
{
    int64_t expect = 0, undone = 0, step = 0;
    dw_err err = dw_call__int(call, "step", false, 0, INT64_MAX, &expect);
    if (!err)
        err = dw_ledger_undo(ledger, &call->act, expect, &undone, &step, &call->error);
    dw_out__open(&call->out, NULL, '{');
    dw_out__int(&call->out, "undone", undone);
    dw_out__int(&call->out, "step", step);
    dw_out__close(&call->out, '{');
    return err;
}

/* {"step": 41}: the last step, if it is that one. */
dw_err dw_api__undo(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, undo);
}

static dw_err list_materials(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_material_list *known = NULL;
    struct dw_job *catalogue = NULL;
    dw_err err = ready(call, ledger, &catalogue);
    if (!err)
        err = dw_ledger_materials(ledger, &known, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__open(&call->out, "materials", '[');
        for (size_t i = 0; i < known->n; i++) {
            dw_out__open(&call->out, NULL, '{');
            dw_out__text(&call->out, "id", known->rows[i].id);
            dw_out__text(&call->out, "name", known->rows[i].name);
            dw_out__length(&call->out, "outside", known->rows[i].od);
            dw_out__length(&call->out, "wall", known->rows[i].wall);
            dw_out__close(&call->out, '{');
        }
        dw_out__close(&call->out, '[');
        dw_out__close(&call->out, '{');
    }
    dw_material_list_free(known);
    dw_job_free(catalogue);
    return err;
}

dw_err dw_api__materials(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, list_materials);
}
