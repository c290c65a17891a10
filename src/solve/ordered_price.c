/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The market of a group, and plans of its sets at prices. */
#include "solve/ordered_core.h"
#include "solve/groups.h"

#include <stdlib.h>
#include <string.h>

/* --- the market --------------------------------------------------------------------------- */

static bool in_group(const size_t *group_of, size_t group, const struct dw_supply *supply)
{
    return group_of[supply->material] == group;
}

bool dw_ordered__suits(const struct dw_job *job, const size_t *group_of, size_t group)
{
    for (size_t k = 0; k < job->n_supplies; k++)
        if (in_group(group_of, group, &job->supplies[k]) &&
            dw_supply__charger(job, &job->supplies[k]) != DW_NONE)
            return true;
    return false;
}

static size_t seller_of(struct dw_market *market, size_t supplier,
                        const struct dw_bought_fittings *fittings)
{
    for (size_t s = 0; s < market->n_sellers; s++)
        if (market->sellers[s].supplier == supplier)
            return s;
    market->sellers[market->n_sellers] =
        (struct dw_seller){supplier, &market->job->suppliers[supplier], fittings[supplier]};
    return market->n_sellers++;
}

/* More than each piece of the set needs, the last price break asks for and the highest threshold is
 * reached with only costs more. */
static int64_t most_bought(const struct dw_market *market, const struct dw_supply *supply,
                           const struct dw_supplier *terms, int64_t pieces)
{
    int64_t most = pieces;
    dw_money price = dw_ware__lowest(
        market, &(struct dw_ware){.supply = (size_t)(supply - market->job->supplies)}, 0,
        INT64_MAX);
    if (supply->n_breaks > 0 && supply->breaks[supply->n_breaks - 1].from > most)
        most = supply->breaks[supply->n_breaks - 1].from;
    if (price > 0 && dw_ceil__div(dw_supplier__highest(terms), price) > most)
        most = dw_ceil__div(dw_supplier__highest(terms), price);
    most = dw_supply__packed(supply, most);
    int64_t there =
        supply->count == DW_UNLIMITED ? most : supply->count / supply->pack * supply->pack;
    return there < most ? there : most;
}

static int64_t pieces_of(const struct dw_market *market, size_t set)
{
    int64_t n = 0;
    for (size_t i = 0; i < market->job->n_parts; i++)
        if (market->set_of[market->job->parts[i].materials[0]] == set)
            n += market->job->parts[i].count;
    return n;
}

static size_t set_in_market(struct dw_market *market, size_t set)
{
    for (size_t s = 0; s < market->n_sets; s++)
        if (market->sets[s] == set)
            return s;
    market->sets[market->n_sets] = set;
    return market->n_sets++;
}

static bool make_room(struct dw_market *market)
{
    const struct dw_job *job = market->job;
    market->set_of = dw_arena__alloc(market->arena, job->n_materials, sizeof *market->set_of);
    market->sets = dw_arena__alloc(market->arena, job->n_materials, sizeof *market->sets);
    market->sellers = dw_arena__alloc(market->arena, job->n_suppliers, sizeof *market->sellers);
    market->wares = dw_arena__alloc(market->arena, job->n_supplies, sizeof *market->wares);
    return market->set_of && market->sets && market->sellers && market->wares;
}

dw_err dw_market__make(const struct dw_job *job, const size_t *group_of, size_t group,
                       struct dw_arena *arena, struct dw_market *out, struct dw_error *error)
{
    *out = (struct dw_market){.job = job, .arena = arena};
    size_t n_sets = 0;
    struct dw_bought_fittings *fittings =
        dw_arena__alloc(arena, job->n_suppliers, sizeof *fittings);
    if (!fittings || !make_room(out))
        return dw_error__nomem(error);
    dw_err code = dw_groups__find_sets(job, out->set_of, &n_sets, error);
    if (code == DW_OK)
        code = dw_charges__fittings(job, fittings, error);
    if (code != DW_OK)
        return code;
    for (size_t m = 0; m < job->n_materials; m++)
        if (group_of[m] == group && out->set_of[m] != DW_NONE)
            set_in_market(out, out->set_of[m]);
    for (size_t k = 0; k < job->n_supplies; k++) {
        const struct dw_supply *supply = &job->supplies[k];
        size_t charger = dw_supply__charger(job, supply);
        if (charger == DW_NONE || !in_group(group_of, group, supply))
            continue;
        size_t set = out->set_of[supply->material], seller = seller_of(out, charger, fittings);
        out->wares[out->n_wares++] =
            (struct dw_ware){.supply = k,
                             .seller = seller,
                             .set = set == DW_NONE ? DW_NONE : set_in_market(out, set),
                             .pack = supply->pack,
                             .most = most_bought(out, supply, &job->suppliers[charger],
                                                 set == DW_NONE ? 0 : pieces_of(out, set)),
                             .worth = dw_supply__spare_worth(job, supply)};
    }
    return DW_OK;
}

/* --- a set at prices ---------------------------------------------------------------------- */

/* The job with other bars on offer: those of each ware that are bought anyhow, at what they are
 * worth if they stay whole, and those that can be bought at its price. They count as bars that are
 * there, so that leftovers are worth what they are in the job. */
struct offer {
    struct dw_job job;
    size_t *of;      /* length job.n_supplies: supply of the job as it is */
    size_t *ware_of; /* length job.n_supplies: ware, DW_NONE */
};

static void add_offer(struct offer *offer, size_t supply, size_t ware, int64_t count,
                      dw_money price)
{
    struct dw_supply *row = &offer->job.supplies[offer->job.n_supplies];
    if (count <= 0)
        return;
    *row = offer->job.supplies[supply];
    row->source = DW_SOURCE_SHELF;
    row->n_breaks = 0;
    row->price = price;
    row->count = count;
    offer->of[offer->job.n_supplies] = supply;
    offer->ware_of[offer->job.n_supplies++] = ware;
}

static bool make_offer(const struct dw_market *market, size_t s, const int64_t *lo,
                       const int64_t *hi, const dw_money *price, struct offer *offer)
{
    const struct dw_job *job = market->job;
    size_t room = job->n_supplies + 2 * market->n_wares + 1;
    *offer = (struct offer){.job = *job};
    offer->job.supplies = calloc(room, sizeof *offer->job.supplies);
    offer->of = calloc(room, sizeof *offer->of);
    offer->ware_of = calloc(room, sizeof *offer->ware_of);
    if (!offer->job.supplies || !offer->of || !offer->ware_of)
        return false;
    memcpy(offer->job.supplies, job->supplies, job->n_supplies * sizeof *job->supplies);
    for (size_t i = 0; i < job->n_supplies; i++) {
        offer->of[i] = i;
        offer->ware_of[i] = DW_NONE;
    }
    for (size_t k = 0; k < market->n_wares; k++) {
        const struct dw_ware *ware = &market->wares[k];
        if (ware->set != s)
            continue;
        add_offer(offer, ware->supply, k, lo[k], ware->worth);
        add_offer(offer, ware->supply, k, hi[k] - lo[k], price[k]);
    }
    for (size_t k = 0; k < market->n_wares; k++)
        if (market->wares[k].set == s)
            offer->job.supplies[market->wares[k].supply].count = 0;
    return true;
}

static void free_offer(struct offer *offer)
{
    free(offer->job.supplies);
    free(offer->of);
    free(offer->ware_of);
}

/* --- plans that were made ----------------------------------------------------------------- */

static void free_priced(struct dw_priced *row)
{
    if (!row)
        return;
    free(row->key);
    free(row->used);
    free(row->layouts.layouts);
    dw_plan_free(row->scratch);
    free(row);
}

void dw_priced_list__free(struct dw_priced_list *list)
{
    for (size_t i = 0; i < list->n; i++)
        free_priced(list->rows[i]);
    free(list->rows);
    *list = (struct dw_priced_list){0};
}

/* Bars of the layouts, and what the plan costs apart from the wares. */
static void read_layouts(const struct offer *offer, int64_t *bars, struct dw_priced *row)
{
    row->apart = row->value;
    for (size_t i = 0; i < row->layouts.n; i++) {
        struct dw_layout *layout = &row->layouts.layouts[i];
        size_t at = layout->supply;
        bars[at] += layout->count;
        layout->supply = offer->of[at];
        if (offer->ware_of[at] != DW_NONE)
            row->used[offer->ware_of[at]] += layout->count;
    }
    for (size_t at = 0; at < offer->job.n_supplies; at++)
        if (offer->ware_of[at] != DW_NONE)
            row->apart -= offer->job.supplies[at].price *
                          dw_supply__packed(&offer->job.supplies[at], bars[at]);
}

static void read_bound(const struct dw_outcome *outcome, struct dw_priced *row)
{
    const struct dw_certified *certified = &outcome->certified;
    row->value = outcome->best.money;
    row->exact = outcome->finished;
    row->bounded = outcome->finished || certified->scale > 0;
    row->bound = certified->bound;
    if (certified->scale > 0 && certified->searched && certified->searched_bound > row->bound)
        row->bound = certified->searched_bound;
    if (outcome->finished || (row->bounded && row->bound > row->value))
        row->bound = row->value;
    row->exact = row->exact || (row->bounded && row->bound == row->value);
}

static dw_err plan_set(const struct dw_market *market, const struct dw_wish *wish,
                       struct dw_effort *effort, struct offer *offer, struct dw_priced *row,
                       struct dw_error *error)
{
    struct dw_outcome outcome = {0};
    struct dw_effort spent = {
        .hooks = effort->hooks, .deadline_ms = effort->deadline_ms, .limit = row->slice};
    if (effort->limit > 0 && effort->limit - effort->work < spent.limit)
        spent.limit = effort->limit > effort->work ? effort->limit - effort->work : 1;
    int64_t *bars = calloc(offer->job.n_supplies + 1, sizeof *bars);
    dw_err code = bars ? DW_OK : dw_error__nomem(error);
    if (code == DW_OK)
        code = dw_engine__group(&offer->job, market->set_of, market->sets[row->set], wish, &spent,
                                &outcome, error);
    if (code == DW_OK) {
        row->planned = !outcome.infeasible;
        row->never = outcome.infeasible && outcome.finished;
    }
    if (code == DW_OK && row->planned) {
        read_bound(&outcome, row);
        code = dw_assemble__group(outcome.problem, &outcome.best, 0, row->scratch, &row->layouts,
                                  error);
    }
    if (code == DW_OK && row->planned)
        read_layouts(offer, bars, row);
    dw_effort__spend(effort, spent.work);
    dw_outcome__free(&outcome);
    free(bars);
    return code;
}

static bool same_key(const int64_t *a, const int64_t *b, size_t n)
{
    return memcmp(a, b, n * sizeof *a) == 0;
}

static bool make_key(const struct dw_market *market, size_t s, const int64_t *lo, const int64_t *hi,
                     const dw_money *price, int64_t **key)
{
    *key = calloc(3 * market->n_wares + 1, sizeof **key);
    for (size_t k = 0; *key && k < market->n_wares; k++) {
        if (market->wares[k].set != s)
            continue;
        (*key)[3 * k] = lo[k];
        (*key)[3 * k + 1] = hi[k];
        (*key)[3 * k + 2] = hi[k] > lo[k] ? price[k] : 0;
    }
    return *key != NULL;
}

static struct dw_priced *new_row(const struct dw_market *market, size_t s, int64_t *key,
                                 struct dw_error *error)
{
    struct dw_priced *row = calloc(1, sizeof *row);
    if (!row) {
        free(key);
        return NULL;
    }
    row->set = s;
    row->key = key;
    row->used = calloc(market->n_wares + 1, sizeof *row->used);
    if (!row->used || dw_plan_new(&row->scratch, error) != DW_OK) {
        free_priced(row);
        return NULL;
    }
    return row;
}

const struct dw_priced *dw_priced__find(const struct dw_market *market, struct dw_priced_list *list,
                                        size_t s, const int64_t *lo, const int64_t *hi,
                                        const dw_money *price, int64_t slice,
                                        const struct dw_wish *wish, struct dw_effort *effort,
                                        dw_err *code, struct dw_error *error)
{
    int64_t *key = NULL;
    *code = DW_ERR_NOMEM;
    if (!make_key(market, s, lo, hi, price, &key)) {
        dw_error__nomem(error);
        return NULL;
    }
    for (size_t i = 0; i < list->n; i++)
        if (list->rows[i]->set == s && same_key(list->rows[i]->key, key, 3 * market->n_wares) &&
            (list->rows[i]->exact || list->rows[i]->never || list->rows[i]->slice >= slice)) {
            free(key);
            *code = DW_OK;
            return list->rows[i];
        }
    struct dw_priced *row = new_row(market, s, key, error);
    struct offer offer = {0};
    if (!row || !dw_array__grow(&list->rows, &list->capacity, list->n + 1, sizeof *list->rows) ||
        !make_offer(market, s, lo, hi, price, &offer)) {
        free_priced(row);
        free_offer(&offer);
        dw_error__nomem(error);
        return NULL;
    }
    row->slice = slice;
    *code = plan_set(market, wish, effort, &offer, row, error);
    free_offer(&offer);
    if (*code != DW_OK) {
        free_priced(row);
        return NULL;
    }
    list->rows[list->n++] = row;
    return row;
}
