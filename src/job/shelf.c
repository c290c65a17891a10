/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Planning from the shelf. */
#include <dropwise/shelf.h>

#include "base/base.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

/* --- which pieces, at what money -------------------------------------------------------------- */

struct offering {
    struct dw_job *job;
    const struct dw_shelf_request *request;
    struct dw_shelf_rules rules;
    struct dw_shelf_found *found;
    struct dw_report *report;
    dw_length *shortest; /* length n_materials: least part that accepts the material; 0 = none */
    struct dw_supply *rows;
    size_t n;
};

static bool is_client(const struct dw_job *job, const char *owner)
{
    for (size_t i = 0; i < job->n_orders; i++)
        if (job->orders[i].client && strcmp(job->orders[i].client, owner) == 0)
            return true;
    return false;
}

/* The bent material of an end-bent bar gives its tail's parts too. */
static dw_length shortest_of(const struct offering *offering, const struct dw_supply *supply)
{
    dw_length least = offering->shortest[supply->material];
    if (supply->bend > 0 && supply->tail_material != DW_NONE) {
        dw_length tail = offering->shortest[supply->tail_material];
        if (tail > 0 && (least == 0 || tail < least))
            least = tail;
    }
    return least;
}

/* Cost: O(parts * materials a part). */
static void find_shortest(struct offering *offering)
{
    const struct dw_job *job = offering->job;
    for (size_t i = 0; i < job->n_parts; i++)
        for (size_t k = 0; k < job->parts[i].n_materials; k++) {
            dw_length *least = &offering->shortest[job->parts[i].materials[k]];
            if (*least == 0 || job->parts[i].min < *least)
                *least = job->parts[i].min;
        }
}

/* What the plan counts for a piece and why, see dw_shelf_supply; and what was paid for it. */
static void set_money(const struct offering *offering, const struct dw_stock *stock,
                      struct dw_supply *supply)
{
    const struct dw_job *job = offering->job;
    dw_money price = 0, favour = 0, floor = 0;
    int64_t days = 0;
    supply->paid = stock->owner ? 0 : stock->value;
    dw_muldiv__i64(supply->paid, offering->rules.book_share_ppm, 1000000, &price);
    supply->counted = stock->owner           ? DW_COUNTED_CLIENT
                      : price < supply->paid ? DW_COUNTED_SHARE
                                             : DW_COUNTED_PAID;
    if (price > 0 && dw_date__days(stock->date, offering->request->today, &days) && days > 0 &&
        dw_mul__i64(offering->rules.favour_old, days / 30, &favour) && favour > 0) {
        price -= favour < price ? favour : price;
        supply->counted = DW_COUNTED_AGE;
    }
    dw_length rest = dw_supply_usable(supply) - shortest_of(offering, supply) - job->saw.kerf;
    size_t left = supply->bend > 0 ? supply->tail_material : supply->material;
    if (rest > 0)
        floor = dw_job_worth(job, left, rest);
    if (floor > price) {
        price = floor;
        supply->counted = DW_COUNTED_FLOOR;
    }
    supply->price = price;
    if (supply->price == supply->paid && !stock->owner)
        supply->counted = DW_COUNTED_PAID;
}

/* Bars of an end-bent material are bent as the job's new bars of it are. false: there are none. */
static bool take_bend(const struct dw_job *job, struct dw_supply *supply)
{
    if (!job->materials[supply->material].end_bent)
        return true;
    const struct dw_supply *other = dw_job__bent(job, supply->material);
    if (!other)
        return false;
    supply->bend = other->bend;
    supply->tail_material = other->tail_material;
    return true;
}

/* false: no memory. */
static bool copy_texts(struct dw_job *job, struct dw_supply *supply)
{
    const char **texts[] = {&supply->id, &supply->place, &supply->owner, &supply->mark,
                            &supply->date};
    for (size_t i = 0; i < DW_COUNT(texts); i++) {
        if (!*texts[i])
            continue;
        *texts[i] = dw_job_text(job, *texts[i]);
        if (!*texts[i])
            return false;
    }
    return true;
}

/* Where the book value of a piece comes from: its delivery, its cut, or who put it there. */
static const char *paid_from(struct dw_job *job, const struct dw_stock *stock)
{
    struct dw_buf text = {0};
    if (stock->came_for)
        dw_buf__format(&text, "delivered for plan %lld", (long long)stock->came_for);
    else if (stock->from)
        dw_buf__format(&text, "left of %s", stock->from);
    else
        dw_buf__put(&text, "put on the shelf");
    if (stock->since)
        dw_buf__format(&text, ", %s", stock->since);
    const char *copy = text.failed ? NULL : dw_job_text(job, text.text);
    dw_buf__free(&text);
    return copy;
}

/* Enters one piece, or counts why not. false: no memory. */
static bool offer(struct offering *offering, size_t material, const struct dw_stock *stock)
{
    struct dw_job *job = offering->job;
    struct dw_shelf_found *found = offering->found;
    struct dw_supply supply = {
        .id = stock->number,
        .material = material,
        .source = stock->kind == DW_KIND_BAR ? DW_SOURCE_SHELF : DW_SOURCE_OFFCUT,
        .length = stock->length,
        .measured = stock->measured,
        .count = 1,
        .pack = 1,
        .ends = {stock->ends[0], stock->ends[1]},
        .trim = job->saw.trim,
        .tail_material = DW_NONE,
        .brought = true,
        .place = stock->place,
        .owner = stock->owner,
        .mark = stock->mark,
        .date = stock->date,
    };
    supply.paid_from = paid_from(job, stock);
    if (!copy_texts(job, &supply) || !supply.paid_from)
        return false;
    dw_length least = shortest_of(offering, &supply);
    if (stock->owner && !is_client(job, stock->owner)) {
        found->n_foreign++;
    } else if (!take_bend(job, &supply) || dw_supply_usable(&supply) < least || least == 0) {
        found->n_too_short++;
    } else {
        set_money(offering, stock, &supply);
        found->n_raised += supply.price > supply.paid;
        offering->rows[offering->n++] = supply;
    }
    return true;
}

dw_err dw_shelf_doubt_values(const struct dw_stock *pieces, size_t n, struct dw_report *report,
                             struct dw_error *error)
{
    const struct dw_stock *first = NULL;
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const struct dw_stock *stock = &pieces[i];
        if (stock->kind != DW_KIND_BAR || stock->value > 0 || stock->owner)
            continue;
        first = first ? first : stock;
        count++;
    }
    if (!first)
        return DW_OK;
    bool named = first->number != NULL;
    dw_err err = dw_report__add(
        report, DW_DOUBT, NULL, 0, 0,
        "%zu whole bar%s at book value 0%s%.64s%s: a plan takes bars that cost nothing rather "
        "than fill others; say what was paid",
        count, count == 1 ? "" : "s", named ? " (" : "", named ? first->number : "",
        !named       ? ""
        : count == 1 ? ")"
                     : ", ...)");
    return err ? dw_error__nomem(error) : DW_OK;
}

/* --- is it the same tube ---------------------------------------------------------------------- */

static bool differs(int64_t a, int64_t b)
{
    return a != 0 && b != 0 && a != b;
}

static dw_err compare_material(struct offering *offering, size_t material,
                               const struct dw_material_list *known, struct dw_error *error)
{
    const struct dw_material *here = &offering->job->materials[material];
    for (size_t i = 0; i < known->n; i++) {
        const struct dw_material *there = &known->rows[i];
        if (strcmp(there->id, here->id) != 0)
            continue;
        const char *what = differs(here->od, there->od)           ? "outside diameter"
                           : differs(here->wall, there->wall)     ? "wall"
                           : differs(here->radius, there->radius) ? "radius"
                                                                  : NULL;
        if (what && dw_report__add(offering->report, DW_WRONG, here->at.file, here->at.line,
                                   here->at.column,
                                   "material %s has another %s on the shelf: one of the two needs "
                                   "another id",
                                   here->id, what) != DW_OK)
            return dw_error__nomem(error);
    }
    return DW_OK;
}

/* --- all materials of a job ------------------------------------------------------------------- */

static dw_err offer_material(struct offering *offering, struct dw_ledger *ledger, size_t material,
                             struct dw_error *error)
{
    struct dw_stock_query query = {.material = offering->job->materials[material].id,
                                   .states = 1u << DW_STATE_SHELF};
    struct dw_stock_list *lists[2] = {NULL, NULL};
    dw_err err = dw_ledger_list(ledger, &query, &lists[0], error);
    query.states = 1u << DW_STATE_HELD;
    query.plan = offering->request->replaces;
    if (!err && query.plan)
        err = dw_ledger_list(ledger, &query, &lists[1], error);
    size_t n = 0;
    for (int k = 0; k < 2 && !err; k++)
        n += lists[k] ? lists[k]->n : 0;
    struct dw_supply *rows = NULL;
    if (!err && n > 0) {
        rows = realloc(offering->rows, (offering->n + n) * sizeof *rows);
        offering->rows = rows ? rows : offering->rows;
        err = rows ? DW_OK : dw_error__nomem(error);
    }
    for (int k = 0; k < 2 && !err && lists[k]; k++)
        err = dw_shelf_doubt_values(lists[k]->rows, lists[k]->n, offering->report, error);
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; !err && lists[k] && i < lists[k]->n; i++)
            if (!offer(offering, material, &lists[k]->rows[i]))
                err = dw_error__nomem(error);
    dw_stock_list_free(lists[0]);
    dw_stock_list_free(lists[1]);
    return err;
}

/* A number that the job uses for a supply of its own stays the job's. */
static bool taken(const struct dw_job *job, const char *id)
{
    for (size_t i = 0; i < job->n_supplies; i++)
        if (strcmp(job->supplies[i].id, id) == 0)
            return true;
    return false;
}

static dw_err refuse_taken(const struct offering *offering, struct dw_error *error)
{
    for (size_t i = 0; i < offering->n; i++)
        if (taken(offering->job, offering->rows[i].id) &&
            dw_report__add(offering->report, DW_WRONG, offering->job->file, 0, 0,
                           "the job has a bar or offcut %s of its own, and so has the shelf: leave "
                           "it out of the job",
                           offering->rows[i].id) != DW_OK)
            return dw_error__nomem(error);
    return DW_OK;
}

/* The job's own supplies, then the shelf's. */
static dw_err append(struct offering *offering, struct dw_error *error)
{
    struct dw_job *job = offering->job;
    size_t n = job->n_supplies + offering->n;
    if (n > DW_MAX_ROWS)
        return dw_error__set(error, DW_ERR_LIMIT, "over %d bars and offcuts in one job",
                             DW_MAX_ROWS);
    struct dw_supply *all = dw_job_alloc(job, n, sizeof *all);
    if (!all)
        return dw_error__nomem(error);
    if (job->n_supplies)
        memcpy(all, job->supplies, job->n_supplies * sizeof *all);
    for (size_t i = 0; offering->request->replaces && i < job->n_supplies; i++)
        if (all[i].source != DW_SOURCE_NEW)
            all[i].count = 0; /* a plan that is held has them from the shelf */
    if (offering->n)
        memcpy(all + job->n_supplies, offering->rows, offering->n * sizeof *all);
    job->supplies = all;
    job->n_supplies = n;
    offering->found->n_added = offering->n;
    return DW_OK;
}

static dw_err check_currency(const struct offering *offering, struct dw_error *error)
{
    const char *here = offering->job->currency, *there = offering->rules.currency;
    if (strcmp(there, "XXX") == 0 || strcmp(here, there) == 0)
        return DW_OK;
    return dw_error__set(error, DW_ERR_INPUT, "the job counts in %s, the shelf in %s", here, there);
}

static dw_err offer_all(struct offering *offering, struct dw_ledger *ledger, struct dw_error *error)
{
    struct dw_job *job = offering->job;
    struct dw_material_list *known = NULL;
    dw_err err = dw_ledger_rules(ledger, &offering->rules, error);
    if (!err)
        err = check_currency(offering, error);
    if (!err)
        err = dw_ledger_materials(ledger, &known, error);
    find_shortest(offering);
    size_t wrong = offering->report->n_wrong;
    for (size_t m = 0; !err && m < job->n_materials; m++) {
        err = compare_material(offering, m, known, error);
        if (!err)
            err = offer_material(offering, ledger, m, error);
    }
    dw_material_list_free(known);
    if (!err && !offering->request->replaces)
        err = refuse_taken(offering, error);
    if (!err && offering->report->n_wrong > wrong)
        err = dw_error__set(error, DW_ERR_INPUT, "the job and the shelf do not agree");
    return err ? err : append(offering, error);
}

dw_err dw_shelf_supply(struct dw_job *job, struct dw_ledger *ledger,
                       const struct dw_shelf_request *request, struct dw_shelf_found *found,
                       struct dw_report *report, struct dw_error *error)
{
    *found = (struct dw_shelf_found){.digest = dw_job_digest(job)};
    struct offering offering = {.job = job, .request = request, .found = found, .report = report};
    offering.shortest = calloc(job->n_materials + 1, sizeof *offering.shortest);
    dw_err err = offering.shortest ? offer_all(&offering, ledger, error) : dw_error__nomem(error);
    free(offering.shortest);
    free(offering.rows);
    return err;
}

/* --- holding ---------------------------------------------------------------------------------- */

/* The shelf counts in the currency of the first job that has one. */
static dw_err tell_currency(struct dw_ledger *ledger, const char *currency, struct dw_error *error)
{
    struct dw_shelf_rules rules;
    dw_err err = dw_ledger_rules(ledger, &rules, error);
    if (err || strcmp(rules.currency, currency) == 0 || strcmp(currency, "XXX") == 0)
        return err;
    memcpy(rules.currency, currency, sizeof rules.currency);
    return dw_ledger_rules_set(ledger, NULL, &rules, error);
}

/* The document tells the number of the plan, so that it is written once that is known. */
static dw_err hold_numbered(struct dw_ledger *ledger, const struct dw_act *act,
                            const struct dw_job *job, struct dw_plan *plan,
                            const struct dw_shelf_hold *how, struct dw_file_ready *file,
                            int64_t *plan_id, struct dw_error *error)
{
    char *document = NULL;
    dw_err err = dw_ledger_next_plan(ledger, &plan->number, error);
    plan->replaces = how->replaces;
    if (!err)
        err = tell_currency(ledger, job->currency, error);
    if (!err)
        err = dw_plan_to_json(job, plan, &document, error);
    struct dw_hold hold = {.job_digest = how->digest,
                           .document = document,
                           .replaces = how->replaces,
                           .again = how->again};
    if (!err)
        err = dw_ledger_hold(ledger, act, job, plan, &hold, plan_id, NULL, error);
    if (!err && how->path)
        err = dw_file__ready(how->path, document, strlen(document), how->replace, file, error);
    free(document);
    return err;
}

dw_err dw_shelf_hold_plan(struct dw_ledger *ledger, const struct dw_act *act,
                          const struct dw_job *job, struct dw_plan *plan,
                          const struct dw_shelf_hold *how, int64_t *plan_id, int64_t *step,
                          struct dw_error *error)
{
    int64_t was[] = {plan->number, plan->replaces};
    struct dw_file_ready file = {0};
    *plan_id = 0;
    dw_err err = dw_ledger_step_begin(ledger, act, DW_STEP_HOLD, how->replaces, error);
    if (!err) {
        err = hold_numbered(ledger, act, job, plan, how, &file, plan_id, error);
        err = dw_ledger_step_end(ledger, err, step, error);
    }
    if (!err)
        return dw_file__place(&file, error);
    dw_file__drop(&file);
    plan->number = was[0];
    plan->replaces = was[1];
    *plan_id = 0;
    return err;
}

/* --- what is still to come ---------------------------------------------------------------------
 */

static bool is_bar(const struct dw_job *job, const struct dw_layout *layout, int64_t number,
                   const struct dw_held_bar *bar)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    dw_length length = supply->measured ? supply->measured : supply->length;
    bool same = bar->bar == number && bar->length == length && bar->leftover == layout->leftover &&
                bar->n_pieces == layout->n_pieces && strcmp(bar->supply, supply->id) == 0;
    for (size_t i = 0; same && i < layout->n_pieces; i++)
        same = bar->pieces[i].length == layout->pieces[i].length &&
               bar->pieces[i].count == layout->pieces[i].count;
    return same;
}

static bool is_plan(const struct dw_job *job, const struct dw_plan *plan,
                    const struct dw_held_plan *held)
{
    bool same = held->n_bars == (size_t)plan->totals.n_bars;
    for (size_t j = 0; j < plan->n_layouts; j++) {
        const struct dw_layout *layout = &plan->layouts[j];
        for (int64_t i = 0; same && i < layout->count; i++)
            same = is_bar(job, layout, layout->bar + i, &held->bars[layout->bar + i - 1]);
    }
    return same;
}

dw_err dw_shelf_to_come(struct dw_ledger *ledger, const struct dw_job *job,
                        const struct dw_plan *plan, bool **out, struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    *out = NULL;
    if (plan->number <= 0)
        return dw_error__set(error, DW_ERR_NOTFOUND,
                             "the plan has no number on a shelf: hold it "
                             "first");
    dw_err err = dw_ledger_plan(ledger, plan->number, &list, error);
    if (!err && !is_plan(job, plan, &list->rows[0]))
        err = dw_error__set(error, DW_ERR_NOTFOUND, "plan %lld of this shelf is another one",
                            (long long)plan->number);
    if (!err) {
        const struct dw_held_plan *held = &list->rows[0];
        *out = calloc(held->n_bars + 1, sizeof **out);
        for (size_t i = 0; *out && i < held->n_bars; i++)
            (*out)[i] = held->open && !held->bars[i].cut && !held->bars[i].number;
        err = *out ? DW_OK : dw_error__nomem(error);
    }
    dw_held_list_free(list);
    return err;
}
