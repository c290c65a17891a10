/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order that a plan asks for, supplier by supplier. */
#include "cost/cost.h"

#include <inttypes.h>
#include <string.h>

struct work {
    const struct dw_job *job;
    const struct dw_plan *plan;
    struct dw_order_doc *doc;
    struct dw_cost_notes notes;
    struct dw_cost_sum sum;
    int64_t *fittings; /* length job->n_fittings: how many of each to buy */
    struct dw_error *error;
};

static bool same_name(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

static const struct dw_supplier *find_terms(const struct dw_job *job, const char *name)
{
    for (size_t i = 0; name && i < job->n_suppliers; i++) {
        if (strcmp(job->suppliers[i].name, name) == 0)
            return &job->suppliers[i];
    }
    return NULL;
}

/* Adds a note; false, and the error set, without memory. */
static dw_err say(struct work *w, const char *text)
{
    return dw_cost__note(&w->notes, text) ? DW_OK : dw_error__nomem(w->error);
}

/* --- lines ------------------------------------------------------------------------------------ */

static struct dw_order_line *add_line(struct dw_order_supplier *to, enum dw_order_kind kind,
                                      const char *text)
{
    struct dw_order_line *line = &to->lines[to->n_lines];
    *line = (struct dw_order_line){.kind = kind,
                                   .supply = DW_NONE,
                                   .text = text,
                                   .quantity = 1,
                                   .pack = 1,
                                   .packs = 1,
                                   .weight_mg = -1};
    to->n_lines += text != NULL;
    return line;
}

/* What an end-bent bar weighs is near enough that of a straight one of its length. */
static dw_err bar_weight(struct work *w, const struct dw_supply *supply, int64_t bars, int64_t *mg)
{
    dw_err err =
        dw_material_weight(&w->job->materials[supply->material], supply->length, mg, w->error);
    if (err || *mg < 0)
        return err;
    if (!dw_mul__i64(*mg, bars, mg))
        return dw_error__set(w->error, DW_ERR_RANGE, "an order heavier than can be counted");
    return DW_OK;
}

static const char *bar_text(struct work *w, const struct dw_supply *supply)
{
    char length[DW_LENGTH_TEXT];
    dw_cost__length(w->job, supply->length, length);
    const char *material = dw_cost__material(w->doc->arena, w->job, supply->material);
    if (!material)
        return NULL;
    return dw_cost__text(w->doc->arena, "%s, %s bars%s", material, length,
                         supply->bend ? ", one end bent" : "");
}

static dw_err note_spare(struct work *w, const struct dw_supply *supply, int64_t spare)
{
    if (spare == 0)
        return DW_OK;
    return say(w, dw_cost__text(w->doc->arena,
                                "%s: %" PRId64 " bar%s more than the plan cuts, by the pack or for "
                                "the price of the larger lot",
                                supply->id, spare, spare == 1 ? "" : "s"));
}

static dw_err add_bars(struct work *w, struct dw_order_supplier *to, const struct dw_take *take)
{
    const struct dw_supply *supply = &w->job->supplies[take->supply];
    struct dw_order_line *line = add_line(to, DW_ORDER_BARS, bar_text(w, supply));
    if (!line->text)
        return dw_error__nomem(w->error);
    if (take->bought <= 0 || take->money % take->bought != 0)
        return dw_error__set(w->error, DW_ERR_CHECK,
                             "%s: the plan's money is no price times a number of bars", supply->id);
    line->supply = take->supply;
    line->item = supply->id;
    line->number = supply->item;
    line->length = supply->length;
    line->quantity = take->bought;
    line->pack = supply->pack;
    line->packs = take->bought / supply->pack;
    line->spare = take->bought - take->used;
    line->unit_price = take->money / take->bought;
    line->money = take->money;
    line->date = supply->date;
    dw_err err = bar_weight(w, supply, take->bought, &line->weight_mg);
    return err ? err : note_spare(w, supply, line->spare);
}

static dw_err add_fitting(struct work *w, struct dw_order_supplier *to, size_t f)
{
    const struct dw_fitting *fitting = &w->job->fittings[f];
    const char *text = dw_arena__text(w->doc->arena, fitting->name ? fitting->name : fitting->id);
    struct dw_order_line *line = add_line(to, DW_ORDER_FITTING, text);
    if (!line->text)
        return dw_error__nomem(w->error);
    line->item = fitting->id;
    line->number = fitting->item;
    line->quantity = w->fittings[f];
    line->packs = w->fittings[f];
    line->unit_price = fitting->price;
    line->date = fitting->date;
    dw_cost__add_times(&w->sum, &line->money, fitting->price, line->quantity);
    return DW_OK;
}

static dw_err add_charge(struct work *w, struct dw_order_supplier *to, enum dw_order_kind kind,
                         const char *text, dw_money money)
{
    if (money == 0)
        return DW_OK;
    struct dw_order_line *line = add_line(to, kind, dw_arena__text(w->doc->arena, text));
    if (!line->text)
        return dw_error__nomem(w->error);
    line->unit_price = money;
    line->money = money;
    return DW_OK;
}

/* --- a supplier's charges ----------------------------------------------------------------------
 */

/* What the plan says of this supplier; NULL: it charges nothing. */
static const struct dw_charge *charge_of(const struct work *w, const char *name)
{
    for (size_t i = 0; name && i < w->plan->n_charges; i++) {
        const struct dw_charge *charge = &w->plan->charges[i];
        if (strcmp(w->job->suppliers[charge->supplier].name, name) == 0)
            return charge;
    }
    return NULL;
}

static dw_err add_cuts(struct work *w, struct dw_order_supplier *to,
                       const struct dw_supplier *terms, dw_money money)
{
    int64_t cuts = 0;
    for (size_t i = 0; i < to->n_lines; i++) {
        if (to->lines[i].kind == DW_ORDER_BARS)
            dw_cost__add_times(&w->sum, &cuts, to->lines[i].packs, terms->cuts_a_pack);
    }
    if (cuts == 0 || w->sum.overflow)
        return DW_OK;
    int64_t charged = cuts > terms->cuts_free ? cuts - terms->cuts_free : 0;
    dw_money each = 0;
    dw_cost__add_times(&w->sum, &each, charged, terms->cut_charge);
    const char *text =
        dw_cost__text(w->doc->arena, "cuts by the supplier, %" PRId64 " of them free%s",
                      cuts - charged, money > each ? ", least charge" : "");
    struct dw_order_line *line = add_line(to, DW_ORDER_CUTS, text);
    if (!line->text)
        return dw_error__nomem(w->error);
    line->quantity = cuts;
    line->unit_price = terms->cut_charge;
    line->money = money;
    return DW_OK;
}

/* As the plan has them. */
static dw_err add_charges(struct work *w, struct dw_order_supplier *to,
                          const struct dw_supplier *terms)
{
    const struct dw_charge *charge = charge_of(w, to->name);
    if (!charge)
        return add_cuts(w, to, terms, 0);
    if (charge->goods != to->goods)
        return dw_error__set(w->error, DW_ERR_CHECK, "%s: the order's goods and the plan's differ",
                             to->name);
    dw_err err = add_cuts(w, to, terms, charge->cutting);
    if (!err)
        err = add_charge(w, to, DW_ORDER_MINIMUM, "up to the least order", charge->minimum);
    if (!err)
        err = add_charge(w, to, DW_ORDER_SMALL, "small-order surcharge", charge->small);
    if (!err)
        err = add_charge(w, to, DW_ORDER_FREIGHT, "freight", charge->freight);
    return err;
}

static dw_err set_dates(struct work *w, struct dw_order_supplier *to,
                        const struct dw_supplier *terms)
{
    to->address = terms->address;
    to->customer = terms->customer;
    to->price_date = terms->price_date;
    to->valid_until = terms->valid_until;
    for (size_t i = 0; i < to->n_lines; i++) {
        struct dw_order_line *line = &to->lines[i];
        if (!line->date && (line->kind == DW_ORDER_BARS || line->kind == DW_ORDER_FITTING))
            line->date = terms->price_date;
    }
    const char *today = w->doc->date;
    to->expired = today && terms->valid_until && strcmp(today, terms->valid_until) > 0;
    if (!to->expired)
        return DW_OK;
    return say(w, dw_cost__text(w->doc->arena,
                                "%s: the prices held until %s; ask again before ordering", to->name,
                                terms->valid_until));
}

/* --- suppliers ---------------------------------------------------------------------------------
 */

static bool is_bought(const struct work *w, const struct dw_take *take)
{
    return w->job->supplies[take->supply].source == DW_SOURCE_NEW;
}

static void name_supplier(struct work *w, const char *name)
{
    struct dw_order_doc *doc = w->doc;
    for (size_t i = 0; i < doc->n_suppliers; i++) {
        if (same_name(doc->suppliers[i].name, name))
            return;
    }
    doc->suppliers[doc->n_suppliers++] = (struct dw_order_supplier){.name = name};
}

static dw_err name_suppliers(struct work *w)
{
    size_t most = w->plan->n_takes + w->job->n_fittings;
    w->doc->suppliers = dw_arena__alloc(w->doc->arena, most, sizeof *w->doc->suppliers);
    if (most && !w->doc->suppliers)
        return dw_error__nomem(w->error);
    for (size_t i = 0; i < w->plan->n_takes; i++) {
        if (is_bought(w, &w->plan->takes[i]))
            name_supplier(w, w->job->supplies[w->plan->takes[i].supply].supplier);
    }
    for (size_t f = 0; f < w->job->n_fittings; f++) {
        if (w->fittings[f] > 0)
            name_supplier(w, w->job->fittings[f].supplier);
    }
    return DW_OK;
}

static bool take_of(const struct work *w, size_t i, const char *name)
{
    const struct dw_take *take = &w->plan->takes[i];
    return is_bought(w, take) && same_name(w->job->supplies[take->supply].supplier, name);
}

static bool fitting_of(const struct work *w, size_t f, const char *name)
{
    return w->fittings[f] > 0 && same_name(w->job->fittings[f].supplier, name);
}

static dw_err add_goods(struct work *w, struct dw_order_supplier *to)
{
    size_t n = 4; /* charges */
    for (size_t i = 0; i < w->plan->n_takes; i++)
        n += take_of(w, i, to->name);
    for (size_t f = 0; f < w->job->n_fittings; f++)
        n += fitting_of(w, f, to->name);
    to->lines = dw_arena__alloc(w->doc->arena, n, sizeof *to->lines);
    if (!to->lines)
        return dw_error__nomem(w->error);
    dw_err err = DW_OK;
    for (size_t i = 0; i < w->plan->n_takes && !err; i++) {
        if (take_of(w, i, to->name))
            err = add_bars(w, to, &w->plan->takes[i]);
    }
    for (size_t f = 0; f < w->job->n_fittings && !err; f++) {
        if (fitting_of(w, f, to->name))
            err = add_fitting(w, to, f);
    }
    for (size_t i = 0; i < to->n_lines; i++)
        dw_cost__add(&w->sum, &to->goods, to->lines[i].money);
    return err;
}

static void sum_supplier(struct work *w, struct dw_order_supplier *to)
{
    struct dw_order_doc *doc = w->doc;
    for (size_t i = 0; i < to->n_lines; i++) {
        const struct dw_order_line *line = &to->lines[i];
        dw_money *sum = line->kind == DW_ORDER_BARS      ? &doc->bars
                        : line->kind == DW_ORDER_FITTING ? &doc->fittings
                                                         : &doc->charges;
        dw_cost__add(&w->sum, &to->total, line->money);
        dw_cost__add(&w->sum, sum, line->money);
        dw_cost__add(&w->sum, &doc->total, line->money);
        if (line->kind != DW_ORDER_BARS)
            continue;
        if (line->weight_mg < 0 || to->weight_mg < 0)
            to->weight_mg = -1;
        else
            dw_cost__add(&w->sum, &to->weight_mg, line->weight_mg);
    }
    if (to->weight_mg < 0 || doc->weight_mg < 0)
        doc->weight_mg = -1;
    else
        dw_cost__add(&w->sum, &doc->weight_mg, to->weight_mg);
}

static dw_err fill_supplier(struct work *w, struct dw_order_supplier *to)
{
    const struct dw_supplier *terms = find_terms(w->job, to->name);
    dw_err err = add_goods(w, to);
    if (!err && terms)
        err = add_charges(w, to, terms);
    if (!err && terms)
        err = set_dates(w, to, terms);
    if (!err)
        sum_supplier(w, to);
    return err;
}

/* --- the whole ---------------------------------------------------------------------------------
 */

static dw_err count_fittings(struct work *w)
{
    size_t n = w->job->n_fittings;
    w->fittings = dw_arena__alloc(w->doc->arena, n, sizeof *w->fittings);
    int64_t *counts = dw_arena__alloc(w->doc->arena, n, sizeof *counts);
    if (n && (!w->fittings || !counts))
        return dw_error__nomem(w->error);
    dw_err err = DW_OK;
    for (size_t o = 0; o < w->job->n_orders && !err; o++) {
        err = dw_fittings_count(w->job, o, counts, w->error);
        for (size_t f = 0; f < n && !err; f++)
            dw_cost__add(&w->sum, &w->fittings[f], counts[f]);
    }
    return err;
}

static dw_err fill_order(struct work *w, const char *today)
{
    struct dw_order_doc *doc = w->doc;
    doc->job = w->job->name ? dw_arena__text(doc->arena, w->job->name) : NULL;
    doc->currency = dw_arena__text(doc->arena, w->job->currency);
    doc->date = today ? dw_arena__text(doc->arena, today) : NULL;
    if (!doc->currency || (today && !doc->date) || (w->job->name && !doc->job))
        return dw_error__nomem(w->error);
    dw_err err = count_fittings(w);
    if (!err)
        err = name_suppliers(w);
    for (size_t i = 0; i < doc->n_suppliers && !err; i++)
        err = fill_supplier(w, &doc->suppliers[i]);
    if (!err && w->sum.overflow)
        err = dw_error__set(w->error, DW_ERR_RANGE, "an order for more money than can be counted");
    if (!err && doc->bars != w->plan->totals.bars)
        err = dw_error__set(w->error, DW_ERR_CHECK, "the order's bars and the plan's differ");
    if (!err && doc->charges != w->plan->totals.charges)
        err = dw_error__set(w->error, DW_ERR_CHECK, "the order's charges and the plan's differ");
    doc->notes = w->notes.notes;
    doc->n_notes = w->notes.n;
    return err;
}

dw_err dw_order_make(const struct dw_job *job, const struct dw_plan *plan, const char *today,
                     struct dw_order_doc **out, struct dw_error *error)
{
    *out = NULL;
    if (plan->status == DW_STATUS_INFEASIBLE)
        return dw_error__set(error, DW_ERR_STATE,
                             "the plan lacks tube; an order is made of a plan that has all parts");
    if (today && !dw_date__check(today))
        return dw_error__set(error, DW_ERR_INPUT, "`%.20s` is no date; write it as 2026-03-01",
                             today);
    struct dw_arena *arena = dw_arena__new();
    struct dw_order_doc *doc = arena ? dw_arena__alloc(arena, 1, sizeof *doc) : NULL;
    if (!doc) {
        dw_arena__free(arena);
        return dw_error__nomem(error);
    }
    doc->arena = arena;
    struct work w = {
        .job = job, .plan = plan, .doc = doc, .notes = {.arena = arena}, .error = error};
    dw_err err = fill_order(&w, today);
    if (err)
        dw_arena__free(arena);
    else
        *out = doc;
    return err;
}

void dw_order_free(struct dw_order_doc *doc)
{
    if (doc)
        dw_arena__free(doc->arena);
}
