/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans that are held, at the saw: shown, bars ticked off, deliveries, given back. */
#include "web/planned.h"
#include "web/stock.h"

#include <dropwise/shelf.h>
#include "job/shelf_record.h"
#include "model/model.h"
#include "model/record.h"

#include <stdlib.h>
#include <string.h>

#define BARS_MOST 10000 /* in one call */

/* --- what is held ----------------------------------------------------------------------------- */

static dw_err list_plans(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_held_list *list = NULL;
    bool all = dw_web__query(call->request, "all") != NULL;
    dw_err err = dw_ledger_plans(ledger, !all, &list, &call->error);
    if (err)
        return err;
    dw_out__open(&call->out, NULL, '{');
    dw_out__open(&call->out, "plans", '[');
    for (size_t i = 0; i < list->n; i++) {
        const struct dw_held_plan *plan = &list->rows[i];
        char *key = NULL; /* stays NULL if it was held elsewhere */
        dw_planned__of_held(ledger, plan->id, &key, NULL);
        dw_out__open(&call->out, NULL, '{');
        dw_out__int(&call->out, "held", plan->id);
        dw_out__text(&call->out, "plan", key);
        free(key);
        dw_out__text(&call->out, "name", plan->job);
        dw_out__text(&call->out, "when", plan->when);
        dw_out__yes(&call->out, "open", plan->open);
        dw_out__int(&call->out, "bars", (int64_t)plan->n_bars);
        dw_out__int(&call->out, "cut", plan->n_cut);
        dw_out__int(&call->out, "missing", plan->n_missing);
        dw_out__close(&call->out, '{');
    }
    dw_out__close(&call->out, '[');
    dw_out__close(&call->out, '{');
    dw_held_list_free(list);
    return DW_OK;
}

dw_err dw_api__held_list(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, list_plans);
}

/* A held plan with what is read beside it. */
struct shown {
    const struct dw_held_plan *plan;
    const struct dw_stock_list *pieces; /* all that the ledger has */
    json_t *document;                   /* of the plan; NULL: it has none */
    struct dw_planned planned;          /* its job is NULL: not held by the page, or unreadable */
    struct dw_job *catalogue;           /* NULL: planned.job is known */
    const struct dw_job *job;           /* the one that is known */
    struct dw_held_list *cut;           /* the plan with all its bars cut; NULL: not known */
    struct dw_stock_list *cut_pieces;   /* and the pieces that there would be */
    bool kerf_known;
    dw_length kerf;
};

/* The layout of a bar in the plan's document; NULL if it has none. */
static const json_t *layout_of(const json_t *document, int64_t bar)
{
    const json_t *layout = NULL;
    size_t i = 0;
    json_array_foreach(json_object_get(document, "layouts"), i, layout)
    {
        int64_t first = json_integer_value(json_object_get(layout, "bar"));
        if (first <= bar && bar - first < json_integer_value(json_object_get(layout, "count")))
            return layout;
    }
    return NULL;
}

/* The first piece of an end-bent bar says so, or is the end of the bend. */
static bool is_bent(const json_t *layout)
{
    const json_t *first = json_array_get(json_object_get(layout, "pieces"), 0);
    const char *use = json_string_value(json_object_get(first, "use"));
    return json_is_true(json_object_get(first, "bent bar")) ||
           (use && strcmp(use, dw_use_word(DW_USE_BEND_END)) == 0);
}

/* How the bar lies on the saw; the ledger knows what is squared off both ends together. */
static struct dw_supply supply_of(const struct dw_held_bar *bar, const json_t *layout)
{
    struct dw_supply supply = {
        .ends = {bar->ends[0], bar->ends[1]}, .trim = bar->trim, .bend = is_bent(layout)};
    int64_t n = dw_supply_squarings(&supply);
    supply.trim = n ? bar->trim / n : 0;
    return supply;
}

/* Stop and running mark of each piece, counts written out. */
static void put_marks(const struct dw_record_out *to, const struct dw_held_bar *bar, dw_length kerf)
{
    dw_length at = 0;
    dw_out__open(to->out, "marks", '[');
    for (size_t i = 0; i < bar->n_pieces; i++)
        for (int64_t k = 0; k < bar->pieces[i].count; k++) {
            struct dw_mark mark = {i, bar->pieces[i].length, at + bar->pieces[i].length};
            dw_record__object(to, NULL, &dw_mark__members, &mark);
            at = mark.running + kerf;
        }
    dw_out__close(to->out, '[');
}

/* What came off a bar that is cut and has a number. */
static void put_left(struct dw_out *out, const struct dw_held_bar *bar,
                     const struct dw_stock_list *pieces)
{
    dw_out__open(out, "left", '[');
    for (size_t i = 0; i < pieces->n && bar->cut && bar->number; i++)
        if (pieces->rows[i].from && strcmp(pieces->rows[i].from, bar->number) == 0)
            dw_stock__put(out, NULL, &pieces->rows[i]);
    dw_out__close(out, '[');
}

/* The number that the rest of a bar will have, so that it can be written on it before the cut. */
static void put_promised(struct dw_out *out, const struct shown *shown, size_t i)
{
    const struct dw_held_bar *bar = shown->cut ? &shown->cut->rows[0].bars[i] : NULL;
    const struct dw_stock_list *pieces = shown->cut_pieces;
    for (size_t k = 0; bar && bar->number && k < pieces->n; k++)
        if (pieces->rows[k].from && strcmp(pieces->rows[k].from, bar->number) == 0)
            dw_out__text(out, "rest_number", pieces->rows[k].number);
}

static void put_bars(struct dw_out *out, const struct shown *shown)
{
    const struct dw_record_out to = {.out = out, .version = DW_RECORD_ALL};
    dw_out__open(out, "bars", '[');
    for (size_t i = 0; i < shown->plan->n_bars; i++) {
        const struct dw_held_bar *bar = &shown->plan->bars[i];
        struct dw_supply supply = supply_of(bar, layout_of(shown->document, bar->bar));
        dw_out__open(out, NULL, '{');
        dw_held__put_bar(&to, bar);
        dw_planned__put_squaring(out, &supply);
        if (shown->kerf_known)
            put_marks(&to, bar, shown->kerf);
        struct dw_care care = {0};
        dw_held__care(&care, shown->job, bar, 1);
        dw_care__put(out, "cautions", &care, DW_AT_BAR);
        put_left(out, bar, shown->pieces);
        if (!bar->cut)
            put_promised(out, shown, i);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static void put_buys(struct dw_out *out, const struct dw_held_plan *plan)
{
    dw_out__open(out, "buys", '[');
    for (size_t i = 0; i < plan->n_buys; i++) {
        const struct dw_held_buy *buy = &plan->buys[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "supply", buy->supply);
        dw_out__text(out, "supplier", buy->supplier);
        dw_out__length(out, "length", buy->length);
        dw_out__int(out, "bought", buy->bought);
        dw_out__int(out, "came", buy->came);
        dw_out__money(out, "each", buy->money / buy->bought);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

/* The unit in which a plan's document writes lengths: "1288 7/8 in", or feet as 107'-4 7/8". */
static enum dw_unit unit_of(const json_t *document)
{
    const json_t *total = json_object_get(json_object_get(document, "totals"), "length in");
    const char *text = json_string_value(json_object_get(total, "text"));
    const char *space = text ? strrchr(text, ' ') : NULL;
    if (text && *text && text[strlen(text) - 1] == '"')
        return DW_UNIT_FT;
    return space ? dw_unit_find(space + 1, strlen(space + 1)) : DW_UNIT_NONE;
}

/* What is known of a plan that the page did not hold, or no more can read: its tubes by the shelf's
 * names, lengths in the unit of its document, the kerf as its bars tell it. */
static dw_err put_elsewhere(struct dw_web_call *call, struct dw_ledger *ledger, struct shown *shown)
{
    dw_err err = dw_shelf_catalogue(ledger, &shown->catalogue, &call->error);
    if (err)
        return err;
    struct dw_job *catalogue = shown->catalogue;
    enum dw_unit unit = unit_of(shown->document);
    if (unit)
        catalogue->unit = unit;
    shown->job = catalogue;
    shown->kerf_known = dw_held__kerf(shown->plan, &shown->kerf);
    call->out.style = dw_job__style(catalogue);
    call->out.currency = catalogue->currency;
    const struct dw_record_out to = {.out = &call->out, .job = catalogue, .version = DW_RECORD_ALL};
    dw_out__text(&call->out, "unit", dw_unit_name(catalogue->unit));
    dw_out__null(&call->out, "plan");
    dw_record__rows(&to, "materials", &dw_material__members, catalogue->materials,
                    catalogue->n_materials, sizeof *catalogue->materials);
    return DW_OK;
}

/* The records that the indices of the plan's document mean, and lengths as the job has them. */
static void put_ours(struct dw_web_call *call, const char *key, struct shown *shown)
{
    const struct dw_job *job = shown->planned.job;
    shown->job = job;
    shown->kerf = job->saw.kerf;
    shown->kerf_known = true;
    call->out.style = dw_job__style(job);
    call->out.currency = job->currency;
    dw_out__text(&call->out, "unit", dw_unit_name(job->unit));
    dw_out__text(&call->out, "plan", key);
    dw_planned__put_job(&call->out, &shown->planned);
}

static dw_err put_job(struct dw_web_call *call, struct dw_ledger *ledger, struct shown *shown)
{
    struct dw_error why = {0};
    char *key = NULL;
    dw_err err = dw_planned__of_held(ledger, shown->plan->id, &key, &why);
    bool elsewhere = err == DW_ERR_NOTFOUND;
    if (!err)
        err = dw_planned__load(ledger, key, &shown->planned, &why);
    bool unread = key && (err == DW_ERR_STATE || err == DW_ERR_SCHEMA);
    if (!err)
        put_ours(call, key, shown);
    else if (elsewhere || unread)
        err = put_elsewhere(call, ledger, shown);
    else
        dw_error__set(&call->error, err, "%s", why.text);
    if (unread)
        dw_out__text(&call->out, "unread", why.text);
    free(key);
    return err;
}

/* All that the ledger has, whatever became of it. */
static dw_err all_pieces(struct dw_web_call *call, struct dw_ledger *ledger,
                         struct dw_stock_list **out)
{
    const struct dw_stock_query query = {.states = (1u << DW_STATE_VOID) - 1};
    return dw_ledger_list(ledger, &query, out, &call->error);
}

static dw_err put_plan(struct dw_web_call *call, struct dw_ledger *ledger, struct shown *shown)
{
    struct dw_out *out = &call->out;
    const struct dw_held_plan *plan = shown->plan;
    dw_out__open(out, NULL, '{');
    dw_out__int(out, "held", plan->id);
    dw_out__text(out, "name", plan->job);
    dw_out__yes(out, "open", plan->open);
    dw_out__int(out, "replaces", plan->replaces);
    dw_out__int(out, "missing", plan->n_missing);
    dw_err err = put_job(call, ledger, shown);
    dw_out__text(out, "currency", out->currency);
    if (shown->kerf_known)
        dw_out__int(out, "kerf_nm", shown->kerf);
    if (!err) {
        struct dw_care care = {0};
        dw_held__care(&care, shown->job, plan->bars, plan->n_bars);
        dw_care__put(out, "cautions", &care, DW_AT_SAW);
        put_bars(out, shown);
    }
    put_buys(out, plan);
    dw_out__raw(out, "document", plan->document ? plan->document : "null");
    dw_out__close(out, '{');
    return err;
}

/* What all the bars of a plan would leave if they were cut one after the other, tried and taken
 * back. Where that can't be, nothing is promised. */
static void promise(struct dw_web_call *call, struct dw_ledger *ledger, struct shown *shown)
{
    size_t n = 0;
    int64_t id = shown->plan->id;
    if (!shown->plan->open || shown->plan->n_cut == (int64_t)shown->plan->n_bars)
        return;
    dw_err err = dw_ledger_step_begin(ledger, &call->act, DW_STEP_CUT, id, NULL);
    if (err)
        return;
    err = dw_ledger_cut_bars(ledger, &call->act, id, NULL, 0, NULL, &n, NULL, NULL);
    if (!err)
        err = dw_ledger_plan(ledger, id, &shown->cut, NULL);
    if (!err)
        err = all_pieces(call, ledger, &shown->cut_pieces);
    dw_ledger_step_drop(ledger);
    if (err || shown->cut->rows[0].n_bars != shown->plan->n_bars) {
        dw_held_list_free(shown->cut);
        shown->cut = NULL;
    }
}

static dw_err show(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_held_list *list = NULL;
    struct dw_stock_list *pieces = NULL;
    int64_t id = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_ledger_plan(ledger, id, &list, &call->error);
    if (!err)
        err = all_pieces(call, ledger, &pieces);
    if (!err) {
        struct shown shown = {.plan = &list->rows[0], .pieces = pieces};
        const char *text = shown.plan->document;
        promise(call, ledger, &shown);
        shown.document = text ? json_loads(text, 0, NULL) : NULL;
        err = text && !shown.document ? dw_error__nomem(&call->error)
                                      : put_plan(call, ledger, &shown);
        json_decref(shown.document);
        dw_planned__free(&shown.planned);
        dw_job_free(shown.catalogue);
        dw_held_list_free(shown.cut);
        dw_stock_list_free(shown.cut_pieces);
    }
    dw_stock_list_free(pieces);
    dw_held_list_free(list);
    return err;
}

dw_err dw_api__held(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, show);
}

/* --- cut, release ----------------------------------------------------------------------------- */

/* The bars of the body: "bar", "bars" or "all", of which *n is 0. *out is yours. */
static dw_err read_bars(struct dw_web_call *call, int64_t **out, size_t *n)
{
    const json_t *list = json_object_get(call->body, "bars");
    bool all = dw_call__yes(call, "all");
    *out = NULL;
    *n = list ? json_array_size(list) : all ? 0 : 1;
    if (list && (*n == 0 || *n > BARS_MOST || all))
        return dw_call__wrong(call, "bars", "bars must be a list of numbers of bars");
    int64_t *bars = calloc(*n + 1, sizeof *bars);
    if (!bars)
        return dw_error__nomem(&call->error);
    dw_err err = list || all ? DW_OK : dw_call__int(call, "bar", true, 1, INT64_MAX, bars);
    for (size_t i = 0; !err && list && i < *n; i++) {
        bars[i] = json_integer_value(json_array_get(list, i));
        if (bars[i] < 1)
            err = dw_call__wrong(call, "bars", "each of the bars must be a number from 1");
    }
    *out = bars;
    return err;
}

static dw_err cut(struct dw_web_call *call, struct dw_ledger *ledger)
{
    int64_t id = 0, step = 0, *bars = NULL;
    size_t n = 0, n_cut = 0;
    const char *place = NULL, *number = NULL;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_call__text(call, "number", false, &number);
    if (!err)
        err = read_bars(call, &bars, &n);
    if (!err)
        err = dw_call__text(call, "place", false, &place);
    if (!err && number && n != 1)
        err = dw_call__wrong(call, "number", "a number is of the rest of one bar alone");
    if (!err && number)
        err = dw_ledger_cut_marked(ledger, &call->act, id, bars[0], number, place, &step,
                                   &call->error);
    else if (!err)
        err =
            dw_ledger_cut_bars(ledger, &call->act, id, bars, n, place, &n_cut, &step, &call->error);
    free(bars);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

/* {"bar": 3, "place": "rack 2", "number": "C18"}, or "bars": [3, 4], or "all": true: one step, all
 * or none. */
dw_err dw_api__held_cut(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, cut);
}

/* -1 when it is not said. */
static dw_err read_paid(struct dw_web_call *call, const char *name, const char *currency,
                        dw_money *out)
{
    const char *text = NULL;
    *out = -1;
    dw_err err = dw_call__text(call, name, false, &text);
    if (err || !text)
        return err;
    err = dw_call__money(call, name, currency, out);
    if (!err && *out < 0)
        err = dw_call__wrong(call, name, "what was paid can't be below 0");
    return err;
}

static dw_err read_row(struct dw_web_call *call, const char *currency, struct dw_deliver_row *row)
{
    *row = (struct dw_deliver_row){.each = -1, .total = -1};
    dw_err err = dw_call__text(call, "supply", false, &row->supply);
    if (!err)
        err = dw_call__int(call, "bars", false, 1, DW_MAX_PIECES, &row->n);
    if (!err)
        err = read_paid(call, "paid", currency, &row->each);
    if (!err)
        err = read_paid(call, "total", currency, &row->total);
    if (!err && !row->supply && (row->n || row->each >= 0 || row->total >= 0))
        err = dw_error__set(&call->error, DW_ERR_INPUT,
                            "`bars`, `paid` and `total` are of one `supply`: name it");
    return err;
}

/* The members of "rows", or the one row that the body itself is. *out is yours, length *n; no row
 * is all that is still to come. */
static dw_err read_rows(struct dw_web_call *call, const char *currency, struct dw_deliver_row **out,
                        size_t *n)
{
    json_t *body = call->body, *list = json_object_get(body, "rows");
    *n = list ? json_array_size(list) : 1;
    *out = NULL;
    if (list && (*n == 0 || *n > BARS_MOST || json_object_get(body, "supply")))
        return dw_call__wrong(call, "rows", "rows must be a list of what came, a supply each");
    *out = calloc(*n, sizeof **out);
    if (!*out)
        return dw_error__nomem(&call->error);
    dw_err err = list ? DW_OK : read_row(call, currency, *out);
    for (size_t i = 0; !err && list && i < *n; i++) {
        call->body = json_array_get(list, i);
        err = read_row(call, currency, &(*out)[i]);
        if (!err && !(*out)[i].supply)
            err = dw_call__wrong(call, "rows", "each of the rows must name its supply");
        for (size_t k = 0; !err && k < i; k++)
            if (strcmp((*out)[k].supply, (*out)[i].supply) == 0)
                err = dw_call__wrong(call, "rows", "a supply has two rows: put them in one");
    }
    call->body = body;
    if (!err && !list && !(*out)->supply)
        *n = 0;
    return err;
}

static dw_err deliver(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_shelf_rules rules;
    struct dw_deliver_row *rows = NULL;
    struct dw_deliver deliver = {0};
    int64_t step = 0;
    dw_err err = dw_call__number(call, 0, &deliver.plan);
    if (!err)
        err = dw_ledger_rules(ledger, &rules, &call->error);
    if (!err)
        err = read_rows(call, rules.currency, &rows, &deliver.n);
    deliver.rows = rows;
    if (!err)
        err = dw_call__text(call, "supplier", false, &deliver.supplier);
    if (!err)
        err = dw_call__text(call, "place", false, &deliver.place);
    if (!err)
        err = dw_call__text(call, "mark", false, &deliver.mark);
    if (!err)
        err = dw_shelf_deliver(ledger, &call->act, &deliver, &step, &call->error);
    free(rows);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

/* {"supply": "six", "bars": 4, "paid": "24.00", "place": "yard"}, or several such as "rows"; {} is
 * all that is to come. One step. */
dw_err dw_api__held_deliver(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, deliver);
}

static dw_err release(struct dw_web_call *call, struct dw_ledger *ledger)
{
    int64_t id = 0, step = 0;
    dw_err err = dw_call__number(call, 0, &id);
    if (!err)
        err = dw_ledger_release(ledger, &call->act, id, &step, &call->error);
    return err ? err : dw_stock__put_step(call, ledger, step);
}

dw_err dw_api__held_release(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, release);
}
