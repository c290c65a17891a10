/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quote: shares of what is spent become lines with a price, a tax and a sum. */
#include "cost/cost.h"

#include <dropwise/shop.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

struct work {
    const struct dw_job *job;
    const struct dw_plan *plan;
    const struct dw_quote_terms *terms;
    struct dw_quote_doc *doc;
    struct dw_cost_cells cells;
    struct dw_cost_notes notes;
    struct dw_cost_sum sum;
    struct dw_error *error;
};

/* "12.5 %" of parts per million, without needless zeros. */
#define PERCENT_TEXT 36
static void print_percent(char out[PERCENT_TEXT], int64_t ppm)
{
    char rate[32];
    dw_cost__rate(rate, ppm);
    snprintf(out, PERCENT_TEXT, "%s %%", rate);
}

/* --- lines
 * ---------------------------------------------------------------------------------------- */

static const char *tube_text(struct work *w, const struct dw_cost_cell *cell)
{
    struct dw_arena *arena = w->doc->arena;
    const char *material = dw_cost__material(arena, w->job, cell->index);
    if (!material)
        return NULL;
    if (w->terms->way == DW_CHARGE_BARS)
        return dw_cost__text(arena, "%s, whole bars for %" PRId64 " piece%s", material,
                             cell->quantity, cell->quantity == 1 ? "" : "s");
    if (w->terms->way == DW_CHARGE_USED)
        return dw_cost__text(arena, "%s, with saw cuts and squared ends", material);
    char percent[PERCENT_TEXT];
    print_percent(percent, w->terms->percent_ppm);
    return dw_cost__text(arena, "%s, with %s for waste", material, percent);
}

static const char *cell_text(struct work *w, const struct dw_cost_cell *cell)
{
    struct dw_arena *arena = w->doc->arena;
    const char *name = NULL;
    switch (cell->kind) {
    case DW_LINE_TUBE:
        return tube_text(w, cell);
    case DW_LINE_WASTE:
        name = dw_cost__material(arena, w->job, cell->index);
        return name ? dw_cost__text(arena, "%s, share of what the bars leave", name) : NULL;
    case DW_LINE_CUTS:
        return dw_arena__text(arena, "cutting to length");
    case DW_LINE_FITTINGS:
        name = w->job->fittings[cell->index].name;
        return dw_arena__text(arena, name ? name : w->job->fittings[cell->index].id);
    default:
        return dw_arena__text(arena, "delivery and suppliers' charges");
    }
}

static const char *cell_quantity(struct work *w, const struct dw_cost_cell *cell)
{
    char length[DW_LENGTH_TEXT];
    if (cell->kind == DW_LINE_FITTINGS)
        return dw_cost__text(w->doc->arena, "%" PRId64, cell->quantity);
    if (cell->kind != DW_LINE_TUBE)
        return dw_arena__text(w->doc->arena, "");
    dw_cost__length(w->job, cell->length, length);
    return dw_arena__text(w->doc->arena, length);
}

/* price, then tax, each rounded on its own line so that the page adds up. */
static dw_err price_line(struct work *w, struct dw_quote_line *line, bool net)
{
    dw_money minor = dw_cost__minor(w->job->currency);
    dw_money step = w->terms->round_to ? w->terms->round_to : minor;
    enum dw_uplift uplift = net ? DW_UPLIFT_NONE : w->terms->uplift;
    dw_err err =
        dw_uplift_price(line->cost, uplift, w->terms->uplift_ppm, step, &line->price, w->error);
    if (err)
        return err;
    line->tax_ppm = w->terms->tax_ppm[line->kind];
    if (line->tax_ppm == DW_NO_TAX)
        return DW_OK;
    w->sum.overflow |= !dw_cost__nearest(line->price, line->tax_ppm, DW_PPM, minor, &line->tax);
    return DW_OK;
}

/* What one of `count` costs, in the currency's coins, if that is exact. */
static dw_money price_each(struct work *w, dw_money price, int64_t count, int64_t unit)
{
    dw_money all = 0, step = dw_cost__minor(w->job->currency);
    if (count <= 0 || !dw_mul__i64(price, unit, &all) || all % count != 0)
        return 0;
    return all / count % step == 0 ? all / count : 0;
}

static dw_err add_line(struct work *w, struct dw_quote_job *to, struct dw_quote_line line, bool net)
{
    if (!line.text || !line.quantity)
        return dw_error__nomem(w->error);
    dw_err err = price_line(w, &line, net);
    if (err)
        return err;
    if (line.kind == DW_LINE_FITTINGS)
        line.price_each = price_each(w, line.price, line.count, 1);
    if (line.kind == DW_LINE_LABOUR)
        line.price_each = price_each(w, line.price, line.milli_hours, 1000);
    if (line.kind != DW_LINE_LABOUR)
        dw_cost__add(&w->sum, &to->charged, line.cost);
    dw_cost__add(&w->sum, &to->cost, line.cost);
    dw_cost__add(&w->sum, &to->price, line.price);
    dw_cost__add(&w->sum, &to->tax, line.tax);
    to->lines[to->n_lines++] = line;
    return DW_OK;
}

static const char *hours_text(struct work *w, int64_t milli)
{
    char text[32];
    int n = snprintf(text, sizeof text, "%" PRId64 ".%03" PRId64, milli / 1000, milli % 1000);
    while (n > 0 && text[n - 1] == '0')
        n--;
    if (n > 0 && text[n - 1] == '.')
        n--;
    return dw_cost__text(w->doc->arena, "%.*s h", n, text);
}

static dw_err add_labour(struct work *w, struct dw_quote_job *to, const struct dw_labour *labour)
{
    struct dw_quote_line line = {
        .kind = DW_LINE_LABOUR, .index = DW_NONE, .milli_hours = labour->milli_hours};
    line.text = dw_arena__text(w->doc->arena, labour->text ? labour->text : "labour");
    line.quantity = hours_text(w, labour->milli_hours);
    w->sum.overflow |= !dw_cost__nearest(labour->rate, labour->milli_hours, 1000,
                                         dw_cost__minor(w->job->currency), &line.cost);
    return add_line(w, to, line, labour->net);
}

static dw_err fill_job(struct work *w, size_t order)
{
    struct dw_quote_job *to = &w->doc->jobs[order];
    size_t n = 0;
    for (size_t i = 0; i < w->cells.n; i++)
        n += w->cells.cells[i].order == order;
    for (size_t i = 0; i < w->terms->n_labour; i++)
        n += w->terms->labour[i].order == order;
    const struct dw_order *of = &w->job->orders[order];
    const struct dw_shop *shop = w->job->shop;
    *to = (struct dw_quote_job){.order = order,
                                .name = of->name,
                                .client = of->client,
                                .address = of->address,
                                .reference = of->reference,
                                .scope = of->scope,
                                .language = of->language ? of->language
                                            : shop       ? shop->language
                                                         : NULL,
                                .due = of->due};
    to->lines = dw_arena__alloc(w->doc->arena, n, sizeof *to->lines);
    if (!to->lines)
        return dw_error__nomem(w->error);
    dw_err err = DW_OK;
    for (size_t i = 0; i < w->cells.n && !err; i++) {
        const struct dw_cost_cell *cell = &w->cells.cells[i];
        if (cell->order != order || (cell->share == 0 && cell->quantity == 0))
            continue; /* less than half a coin */
        struct dw_quote_line line = {.kind = cell->kind, .index = DW_NONE, .cost = cell->share};
        if (cell->kind == DW_LINE_TUBE || cell->kind == DW_LINE_WASTE ||
            cell->kind == DW_LINE_FITTINGS)
            line.index = cell->index;
        line.length = cell->kind == DW_LINE_TUBE ? cell->length : 0;
        line.count = cell->quantity;
        line.text = cell_text(w, cell);
        line.quantity = cell_quantity(w, cell);
        err = add_line(w, to, line, false);
    }
    for (size_t i = 0; i < w->terms->n_labour && !err; i++) {
        if (w->terms->labour[i].order == order)
            err = add_labour(w, to, &w->terms->labour[i]);
    }
    to->total = to->price;
    dw_cost__add(&w->sum, &to->total, to->tax);
    dw_cost__add(&w->sum, &w->doc->charged, to->charged);
    return err;
}

/* --- offcuts
 * ---------------------------------------------------------------------------------------- */

/* The client's job that uses most of the bar; the first of several. */
static size_t main_user(const struct dw_cost_bar *bar)
{
    size_t best = 0;
    for (size_t i = 1; i < bar->n; i++) {
        if (bar->used_by[i] > bar->used_by[best])
            best = i;
    }
    return bar->n ? bar->orders[best] : DW_NONE;
}

static const struct dw_take *find_take(const struct dw_plan *plan, size_t supply)
{
    size_t lo = 0;
    size_t hi = plan->n_takes;
    while (hi - lo > 1) { /* takes are in order of supply */
        size_t mid = lo + (hi - lo) / 2;
        if (plan->takes[mid].supply > supply)
            hi = mid;
        else
            lo = mid;
    }
    return &plan->takes[lo];
}

static dw_err add_offcut(struct work *w, size_t i)
{
    const struct dw_layout *layout = &w->plan->layouts[i];
    struct dw_quote_offcut *out = &w->doc->offcuts[w->doc->n_offcuts++];
    *out = (struct dw_quote_offcut){.layout = i,
                                    .supply = layout->supply,
                                    .length = layout->leftover,
                                    .count = layout->count,
                                    .owner = DW_NONE};
    struct dw_cost_bar bar = {0};
    if (!dw_cost__bar_room(w->doc->arena, layout->n_pieces + 1, &bar))
        return dw_error__nomem(w->error);
    dw_err err = dw_cost__bar(w->job, layout, find_take(w->plan, layout->supply), &bar, w->error);
    if (!err && w->terms->offcuts == DW_OWNER_CLIENT)
        out->owner = main_user(&bar);
    if (!err && w->terms->way != DW_CHARGE_BARS && out->owner == DW_NONE) {
        w->sum.overflow |= !dw_cost__nearest(bar.money, out->length, bar.length,
                                             dw_cost__minor(w->job->currency), &out->cost);
    }
    return err;
}

/* Brings those of one owner together, in the order of the plan; the jobs are filled already. */
static dw_err sort_offcuts(struct work *w)
{
    struct dw_quote_doc *doc = w->doc;
    struct dw_quote_offcut *sorted =
        dw_arena__alloc(doc->arena, doc->n_offcuts + 1, sizeof *sorted);
    size_t *next = dw_arena__alloc(doc->arena, doc->n_jobs + 1, sizeof *next);
    if (!sorted || !next)
        return dw_error__nomem(w->error);
    for (size_t i = 0; i < doc->n_offcuts; i++) {
        size_t owner = doc->offcuts[i].owner;
        ++*(owner == DW_NONE ? &doc->n_shop_offcuts : &doc->jobs[owner].n_offcuts);
    }
    size_t n = 0;
    for (size_t o = 0; o < doc->n_jobs; o++) {
        doc->jobs[o].offcuts = &sorted[n];
        next[o] = n;
        n += doc->jobs[o].n_offcuts;
    }
    doc->shop_offcuts = &sorted[n];
    next[doc->n_jobs] = n;
    for (size_t i = 0; i < doc->n_offcuts; i++) {
        size_t owner = doc->offcuts[i].owner;
        sorted[next[owner == DW_NONE ? doc->n_jobs : owner]++] = doc->offcuts[i];
    }
    doc->offcuts = sorted;
    return DW_OK;
}

static dw_err fill_offcuts(struct work *w)
{
    size_t n = 0;
    for (size_t i = 0; i < w->plan->n_layouts; i++)
        n += w->plan->layouts[i].rest == DW_REST_KEPT;
    w->doc->offcuts = dw_arena__alloc(w->doc->arena, n, sizeof *w->doc->offcuts);
    if (!w->doc->offcuts)
        return dw_error__nomem(w->error);
    dw_err err = DW_OK;
    for (size_t i = 0; i < w->plan->n_layouts && !err; i++) {
        if (w->plan->layouts[i].rest == DW_REST_KEPT)
            err = add_offcut(w, i);
    }
    return err ? err : sort_offcuts(w);
}

/* --- what it says of itself
 * --------------------------------------------------------------------------- */

static const char *way_text(struct work *w)
{
    static const char *const ways[] = {
        [DW_CHARGE_BARS] = "whole bars bought for the job",
        [DW_CHARGE_USED] = "length used, with kerf and trim",
    };
    if (w->terms->way != DW_CHARGE_PERCENT)
        return dw_arena__text(w->doc->arena, ways[w->terms->way]);
    char percent[PERCENT_TEXT];
    print_percent(percent, w->terms->percent_ppm);
    return dw_cost__text(w->doc->arena, "length of the pieces plus %s", percent);
}

static const char *rule_text(struct work *w)
{
    static const char *const rules[] = {
        [DW_WASTE_BAR] = "what a bar leaves is shared by the jobs cut from it, by the length each "
                         "uses",
        [DW_WASTE_BATCH] = "what bars leave is shared by all jobs of the batch that use the tube, "
                           "by the length each uses",
        [DW_WASTE_SHOP] = "what bars leave is the shop's",
    };
    char unit[DW_MONEY_TEXT];
    dw_money_print(unit, dw_cost__minor(w->job->currency), w->job->currency, false);
    return dw_cost__text(w->doc->arena, "%s; shares are rounded to %s by largest remainder",
                         rules[w->terms->waste], unit);
}

static dw_err uplift_text(struct work *w, const char **out)
{
    const struct dw_quote_terms *terms = w->terms;
    int64_t other = 0;
    char first[PERCENT_TEXT];
    char second[PERCENT_TEXT];
    *out = "at cost";
    if (terms->uplift == DW_UPLIFT_NONE)
        return DW_OK;
    bool markup = terms->uplift == DW_UPLIFT_MARKUP;
    dw_err err = markup ? dw_margin_of_markup(terms->uplift_ppm, &other, w->error)
                        : dw_markup_of_margin(terms->uplift_ppm, &other, w->error);
    if (err)
        return err;
    print_percent(first, terms->uplift_ppm);
    print_percent(second, (other + 50) / 100 * 100);
    *out = dw_cost__text(w->doc->arena,
                         markup ? "markup of %s on cost (a margin of %s)"
                                : "margin of %s of the price (a markup of %s)",
                         first, second);
    return *out ? DW_OK : dw_error__nomem(w->error);
}

static dw_err add_notes(struct work *w)
{
    bool taxed = false;
    for (int i = 0; i < DW_N_LINE_KINDS; i++)
        taxed |= w->terms->tax_ppm[i] != DW_NO_TAX;
    const char *tax = taxed ? "Tax is at the rates that were entered; ask your tax adviser what is "
                              "taxed, and at what rate."
                            : "No tax is added; ask your tax adviser what is taxed, and at what "
                              "rate.";
    if (!dw_cost__note(&w->notes, tax))
        return dw_error__nomem(w->error);
    w->doc->notes = w->notes.notes;
    w->doc->n_notes = w->notes.n;
    return DW_OK;
}

static dw_err set_dates(struct work *w, const char *today)
{
    struct dw_quote_doc *doc = w->doc;
    char until[DW_DATE_TEXT];
    if (today && !dw_date__check(today))
        return dw_error__set(w->error, DW_ERR_INPUT, "`%.20s` is no date; write it as 2026-03-01",
                             today);
    if (!today && w->terms->valid_days)
        return dw_error__set(w->error, DW_ERR_INPUT,
                             "a quote that is valid for some days needs its date");
    if (!today)
        return DW_OK;
    doc->date = dw_arena__text(doc->arena, today);
    if (!doc->date)
        return dw_error__nomem(w->error);
    if (!w->terms->valid_days)
        return DW_OK;
    if (!dw_date__add(today, w->terms->valid_days, until))
        return dw_error__set(w->error, DW_ERR_RANGE, "the quote ends after the year 9999");
    doc->valid_until = dw_arena__text(doc->arena, until);
    return doc->valid_until ? DW_OK : dw_error__nomem(w->error);
}

static dw_err describe(struct work *w)
{
    struct dw_quote_doc *doc = w->doc;
    doc->job = w->job->name;
    doc->currency = w->job->currency;
    doc->sender = w->job->shop ? w->job->shop->name : NULL;
    doc->tax_name = w->terms->tax_name ? w->terms->tax_name : "tax";
    doc->way = way_text(w);
    doc->rule = rule_text(w);
    if (!doc->way || !doc->rule)
        return dw_error__nomem(w->error);
    dw_err err = uplift_text(w, &doc->uplift);
    return err ? err : add_notes(w);
}

/* --- the whole
 * ------------------------------------------------------------------------------------- */

static dw_err check_terms(struct work *w)
{
    struct dw_report report = {0};
    struct dw_error failed = {0};
    dw_err err = dw_terms__check_quote(w->job, w->terms, &report, &failed);
    for (size_t i = 0; err && i < report.n_remarks; i++) {
        if (report.remarks[i].severity == DW_WRONG) {
            dw_error__set(w->error, err, "%s", report.remarks[i].what.text);
            break;
        }
    }
    if (err)
        dw_error__set(w->error, err, "%s", failed.text);
    if (!err && w->terms->round_to % dw_cost__minor(w->job->currency))
        err = dw_error__set(w->error, DW_ERR_INPUT,
                            "prices can't be rounded to a part of the smallest coin of %s",
                            w->job->currency);
    dw_report_free(&report);
    return err;
}

static dw_err fill_quote(struct work *w, const struct dw_order_doc *order, const char *today)
{
    struct dw_quote_doc *doc = w->doc;
    dw_err err = set_dates(w, today);
    if (!err)
        err = describe(w);
    if (!err)
        err = dw_cost__spread(w->job, w->plan, w->terms, order, doc->arena, &w->cells, w->error);
    if (err)
        return err;
    doc->spent = w->cells.spent;
    doc->n_jobs = w->job->n_orders;
    doc->jobs = dw_arena__alloc(doc->arena, doc->n_jobs, sizeof *doc->jobs);
    if (!doc->jobs)
        return dw_error__nomem(w->error);
    for (size_t o = 0; o < doc->n_jobs && !err; o++)
        err = fill_job(w, o);
    if (!err)
        err = fill_offcuts(w);
    doc->shop = doc->spent;
    dw_cost__add(&w->sum, &doc->shop, -doc->charged);
    if (!err && w->sum.overflow)
        err = dw_error__set(w->error, DW_ERR_RANGE, "a quote for more than can be counted");
    if (!err && doc->shop != w->cells.cells[w->cells.n - 1].share)
        err = dw_error__set(w->error, DW_ERR_INTERNAL, "the quote does not add up");
    return err;
}

dw_err dw_quote_make(const struct dw_job *job, const struct dw_plan *plan,
                     const struct dw_quote_terms *terms, const char *today,
                     struct dw_quote_doc **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_order_doc *order = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_quote_doc *doc = arena ? dw_arena__alloc(arena, 1, sizeof *doc) : NULL;
    if (!doc) {
        dw_arena__free(arena);
        return dw_error__nomem(error);
    }
    doc->arena = arena;
    struct work w = {.job = job,
                     .plan = plan,
                     .terms = terms,
                     .doc = doc,
                     .notes = {.arena = arena},
                     .error = error};
    dw_err err = check_terms(&w);
    if (!err)
        err = dw_order_make(job, plan, today, &order, error);
    if (!err)
        err = fill_quote(&w, order, today);
    dw_order_free(order);
    if (err)
        dw_arena__free(arena);
    else
        *out = doc;
    return err;
}

void dw_quote_free(struct dw_quote_doc *doc)
{
    if (doc)
        dw_arena__free(doc->arena);
}
