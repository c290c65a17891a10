/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shelf: what lies there, where, since when; a piece and its history; putting one there. */
#include "web/stock.h"

#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define EVENTS_MOST  1000
#define EVENTS_USUAL 40
#define COUNT_MOST   1000

/* --- the list --------------------------------------------------------------------------------- */

static dw_err read_query(struct dw_web_call *call, struct dw_stock_query *query)
{
    const char *kind = dw_stock__query(call, "kind");
    dw_length allow = 0;
    *query = (struct dw_stock_query){
        .material = dw_stock__query(call, "material"),
        .place = dw_stock__query(call, "place"),
        .number = dw_stock__query(call, "number"),
        .owner = dw_web__query(call->request, "shop") ? "" : dw_stock__query(call, "owner"),
        .before = dw_stock__query(call, "before"),
        .only_bars = kind && strcmp(kind, dw_kind_word(DW_KIND_BAR)) == 0,
        .only_offcuts = kind && strcmp(kind, dw_kind_word(DW_KIND_OFFCUT)) == 0,
    };
    if (dw_web__query(call->request, "all"))
        query->states = (1u << DW_STATE_VOID) - 1;
    else if (dw_web__query(call->request, "free"))
        query->states = 1u << DW_STATE_SHELF;
    dw_err err = dw_stock__query_length(call, "at_least", &query->at_least);
    if (!err)
        err = dw_stock__query_length(call, "allow", &allow);
    if (!err && !dw_add__i64(query->at_least, allow, &query->at_least))
        err = dw_error__set(&call->error, DW_ERR_RANGE, "that is longer than any tube");
    return err;
}

static dw_err list(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_stock_query query = {0};
    struct dw_stock_list *found = NULL;
    struct dw_job *catalogue = NULL;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = read_query(call, &query);
    if (!err)
        err = dw_ledger_list(ledger, &query, &found, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "unit", dw_unit_name(catalogue->unit));
        dw_out__text(&call->out, "currency", catalogue->currency);
        err = dw_stock__put_seen(call, ledger);
        dw_stock__put_list(&call->out, found);
        dw_out__close(&call->out, '{');
    }
    dw_stock_list_free(found);
    dw_job_free(catalogue);
    return err;
}

/* ?at_least=600 mm&allow=3&material=al38&place=&number=&owner=&shop=1&before=2026-01-31&kind=bar
 * &all=1&free=1&unit=mm */
dw_err dw_api__shelf_list(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, list);
}

/* --- history ---------------------------------------------------------------------------------- */

static void put_event(struct dw_out *out, const struct dw_event *event)
{
    dw_out__open(out, NULL, '{');
    dw_out__int(out, "step", event->step);
    dw_out__text(out, "number", event->number);
    dw_out__text(out, "when", event->when);
    dw_out__text(out, "who", event->who);
    dw_out__text(out, "what", event->what);
    dw_out__text(out, "note", event->note);
    dw_out__text(out, "told", event->told);
    dw_out__text(out, "before",
                 event->created || event->told ? NULL : dw_state_word(event->from_state));
    dw_out__text(out, "state", event->told ? NULL : dw_state_word(event->to_state));
    dw_out__length(out, "from_length", event->from_length);
    dw_out__length(out, "length", event->to_length);
    dw_out__text(out, "from_place", event->from_place);
    dw_out__text(out, "place", event->to_place);
    dw_out__int(out, "plan", event->to_plan);
    dw_out__yes(out, "undone", event->undone);
    dw_out__close(out, '{');
}

static void put_history(struct dw_out *out, const struct dw_history *history)
{
    dw_out__open(out, "history", '[');
    for (size_t i = 0; i < history->n; i++)
        put_event(out, &history->rows[i]);
    dw_out__close(out, '[');
}

static dw_err show(struct dw_web_call *call, struct dw_ledger *ledger)
{
    const char *number = call->params[0];
    struct dw_stock_list *found = NULL;
    struct dw_history *history = NULL;
    struct dw_job *catalogue = NULL;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = dw_shelf_pick(ledger, &number, 1, &found, &call->error);
    if (!err)
        err = dw_ledger_history(ledger, number, 0, &history, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "currency", catalogue->currency);
        err = dw_stock__put_seen(call, ledger);
        dw_stock__put_list(&call->out, found);
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

static dw_err show_history(struct dw_web_call *call, struct dw_ledger *ledger)
{
    const char *last = dw_stock__query(call, "last");
    int64_t step = 0, undoable = 0, most = last ? 0 : EVENTS_USUAL;
    struct dw_deed told = {0};
    struct dw_history *history = NULL;
    struct dw_job *catalogue = NULL;
    for (size_t i = 0; last && last[i] >= '0' && last[i] <= '9' && most <= EVENTS_MOST; i++)
        most = most * 10 + (last[i] - '0');
    if (most < 1 || most > EVENTS_MOST)
        return dw_error__set(&call->error, DW_ERR_INPUT, "last must be 1 to %d", EVENTS_MOST);
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = dw_ledger_history(ledger, NULL, most, &history, &call->error);
    if (!err)
        err = dw_ledger_last(ledger, &step, &undoable, &call->error);
    if (!err && undoable)
        err = dw_ledger_deed(ledger, undoable, &told, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__int(&call->out, "undoable", undoable);
        if (undoable) {
            dw_out__open(&call->out, "undo", '{');
            dw_stock__put_told(&call->out, &told);
            dw_out__close(&call->out, '{');
        }
        put_history(&call->out, history);
        dw_out__close(&call->out, '{');
    }
    dw_history_free(history);
    dw_job_free(catalogue);
    return err;
}

/* ?last=40: the last moves of the whole shelf, oldest first; "undoable": the step that an undo
 * would undo, 0 = none; "undo": what it was, who did it and when. */
dw_err dw_api__history(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, show_history);
}

/* --- adding ----------------------------------------------------------------------------------- */

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

/* "sawn", or "sawn,mill" for datum end and far end. */
static dw_err read_ends(struct dw_web_call *call, enum dw_end ends[2])
{
    const char *text = NULL;
    dw_err err = dw_call__text(call, "ends", false, &text);
    return err || !text || dw_ends__read(text, strlen(text), ends)
               ? err
               : dw_call__wrong(call, "ends",
                                "ends must be mill, sawn, `mill,sawn` or `sawn,mill`");
}

/* What can be given of a piece that is put on the shelf; `to` is where in a struct dw_stock it goes
 * as it is, NOWHERE for what is read otherwise. */
#define NOWHERE    SIZE_MAX
#define TO(member) offsetof(struct dw_stock, member)
static const struct {
    const char *name, *kind; /* as in GET /api/members */
    bool must;
    size_t to;
} given[] = {
    {"length", "length", true, TO(length)}, {"material", "material", true, TO(material)},
    {"place", "text", false, TO(place)},    {"number", "text", false, TO(number)},
    {"count", "count", false, NOWHERE},     {"value", "money", false, TO(value)},
    {"bar", "yes", false, NOWHERE},         {"outside", "length", false, NOWHERE},
    {"wall", "length", false, NOWHERE},     {"measured", "length", false, TO(measured)},
    {"ends", "ends", false, NOWHERE},       {"owner", "text", false, TO(owner)},
    {"mark", "text", false, TO(mark)},      {"date", "date", false, TO(date)},
    {"job", "text", false, TO(job)},        {"remark", "remark", false, TO(remark)},
};
#undef TO

void dw_stock__put_given(struct dw_out *out, const char *key)
{
    dw_out__open(out, key, '[');
    for (size_t i = 0; i < DW_COUNT(given); i++) {
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "name", given[i].name);
        dw_out__text(out, "kind", given[i].kind);
        dw_out__yes(out, "must", given[i].must);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static dw_err read_given(struct dw_web_call *call, const struct dw_job *catalogue, size_t i,
                         struct dw_stock *stock)
{
    void *to = (char *)stock + given[i].to;
    if (strcmp(given[i].kind, "length") == 0)
        return dw_call__length(call, given[i].name, given[i].must, catalogue->unit, to);
    if (strcmp(given[i].kind, "money") == 0)
        return dw_call__money(call, given[i].name, catalogue->currency, to);
    return dw_call__text(call, given[i].name, given[i].must, to);
}

static dw_err read_stock(struct dw_web_call *call, const struct dw_job *catalogue,
                         struct dw_stock *stock)
{
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(given); i++)
        if (given[i].to != NOWHERE)
            err = read_given(call, catalogue, i, stock);
    if (!stock->date)
        stock->date = call->today;
    bool bar = dw_call__yes(call, "bar");
    stock->kind = bar ? DW_KIND_BAR : DW_KIND_OFFCUT;
    stock->ends[0] = stock->ends[1] = bar ? DW_END_MILL : DW_END_SAWN;
    return err ? err : read_ends(call, stock->ends);
}

/* How many alike. */
static dw_err read_count(struct dw_web_call *call, const struct dw_stock *stock, int64_t *count)
{
    *count = 1;
    dw_err err = dw_call__int(call, "count", false, 1, COUNT_MOST, count);
    if (!err && stock->number && *count > 1)
        err = dw_call__wrong(call, "number",
                             "one number can't stand for several pieces: leave it out");
    return err;
}

static dw_err add_alike(struct dw_web_call *call, struct dw_ledger *ledger,
                        const struct dw_stock *stock, int64_t count, int64_t *step)
{
    struct dw_stock *pieces = calloc((size_t)count, sizeof *pieces);
    dw_err err = pieces ? DW_OK : dw_error__nomem(&call->error);
    for (int64_t i = 0; !err && i < count; i++)
        pieces[i] = *stock;
    if (!err)
        err = dw_ledger_add(ledger, &call->act, pieces, (size_t)count, step, &call->error);
    if (!err)
        err = dw_shelf_doubt_values(pieces, (size_t)count, &call->report, &call->error);
    if (err == DW_ERR_EXISTS)
        call->field = "number";
    free(pieces);
    return err;
}

static dw_err add(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_stock stock = {0};
    struct dw_job *catalogue = NULL;
    int64_t count = 1, step = 0;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = read_stock(call, catalogue, &stock);
    if (!err)
        err = read_count(call, &stock, &count);
    if (!err)
        err = add_material(call, ledger, catalogue, stock.material);
    if (!err)
        err = add_alike(call, ledger, &stock, count, &step);
    dw_job_free(catalogue);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

/* The body has the members of `given`. */
dw_err dw_api__shelf_add(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, add);
}
