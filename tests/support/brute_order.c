/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Materials that parts and end-bent bars link are a set: apart from what suppliers charge, sets
 * have nothing to do with each other. For each set and each choice of lots of its bars, brute_solve
 * says what all else costs when a bar of an opened pack forgoes what it is worth whole; then all
 * choices of all sets are put together with what the suppliers ask for them. */
#include "brute_order.h"

#include "brute.h"

#include <dropwise/takeoff.h>
#include <dropwise/terms.h>
#include <stdlib.h>
#include <string.h>

#define MAX_WARES   8
#define MAX_CHOICES 3000   /* of one set */
#define MAX_ORDERS  400000 /* of all */

struct ware {
    size_t supply, supplier, set;
    int64_t most, lots; /* bars at most; lots = most / pack + 1 */
    dw_money worth;
};

struct table {
    size_t n;        /* choices of lots */
    dw_money *money; /* length n; -1: no plan */
    bool *planned;
};

struct whole {
    const struct dw_job *job;
    size_t n_sets;
    size_t *set_of; /* length n_materials */
    size_t n_wares;
    struct ware wares[MAX_WARES];
    struct table *tables; /* length n_sets */
    dw_money fittings[8];
    bool fitted[8];
};

static bool charges(const struct dw_supplier *t)
{
    return t->minimum > 0 || t->freight > 0 || (t->small_charge > 0 && t->small_under > 0) ||
           (t->cuts_a_pack > 0 && (t->cut_charge > 0 || t->cut_minimum > 0));
}

static size_t supplier_of(const struct dw_job *job, const char *name)
{
    for (size_t s = 0; name && s < job->n_suppliers; s++)
        if (strcmp(job->suppliers[s].name, name) == 0 && charges(&job->suppliers[s]))
            return s;
    return DW_NONE;
}

static dw_money price_at(const struct dw_supply *supply, int64_t bars)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks; i++)
        if (supply->breaks[i].from <= bars)
            price = supply->breaks[i].price;
    return price;
}

/* So many that neither more pieces, a further price break nor a further threshold ask for more. */
static int64_t most_bars(const struct whole *w, const struct dw_supply *supply, size_t supplier)
{
    const struct dw_supplier *t = &w->job->suppliers[supplier];
    int64_t most = 0;
    for (size_t i = 0; i < w->job->n_parts; i++)
        most += w->job->parts[i].count;
    for (size_t i = 0; i < supply->n_breaks; i++)
        most = supply->breaks[i].from > most ? supply->breaks[i].from : most;
    dw_money least = price_at(supply, INT64_MAX), reach = t->minimum;
    reach = t->small_under > reach ? t->small_under : reach;
    reach = t->freight_free > reach ? t->freight_free : reach;
    if (least > 0 && (reach + least - 1) / least > most)
        most = (reach + least - 1) / least;
    most = (most + supply->pack - 1) / supply->pack * supply->pack;
    if (supply->count != DW_UNLIMITED && supply->count < most)
        most = supply->count / supply->pack * supply->pack;
    return most;
}

/* Sets as groups would be without suppliers: brute_groups knows of none. Whether a material has a
 * set at all is not asked of bars: what is linked to a group by its supplier can be bought too. */
static bool find_wares(struct whole *w, const bool *reached)
{
    for (size_t k = 0; k < w->job->n_supplies; k++) {
        const struct dw_supply *supply = &w->job->supplies[k];
        size_t s = supplier_of(w->job, supply->supplier);
        if (supply->source != DW_SOURCE_NEW || s == DW_NONE || !reached[s])
            continue;
        if (w->n_wares == MAX_WARES)
            return false;
        dw_length length = supply->measured ? supply->measured : supply->length;
        struct ware *ware = &w->wares[w->n_wares++];
        *ware = (struct ware){.supply = k,
                              .supplier = s,
                              .set = w->set_of[supply->material],
                              .most = most_bars(w, supply, s)};
        ware->lots = ware->most / supply->pack + 1;
        ware->worth = supply->bend > 0 ? 0 : brute_worth(w->job, supply->material, length);
    }
    return true;
}

/* Suppliers whose bars are linked, through others, to a set: only those sell for the shelf. */
static void reach(const struct whole *w, bool *reached)
{
    const struct dw_job *job = w->job;
    bool *material = calloc(job->n_materials + 1, sizeof *material);
    for (size_t m = 0; m < job->n_materials; m++)
        material[m] = w->set_of[m] != DW_NONE;
    for (size_t round = 0; round <= job->n_suppliers; round++)
        for (size_t s = 0; s < job->n_suppliers; s++) {
            for (size_t k = 0; k < job->n_supplies; k++)
                if (job->supplies[k].source == DW_SOURCE_NEW &&
                    supplier_of(job, job->supplies[k].supplier) == s)
                    reached[s] = reached[s] || material[job->supplies[k].material];
            for (size_t k = 0; k < job->n_supplies && reached[s]; k++)
                if (job->supplies[k].source == DW_SOURCE_NEW &&
                    supplier_of(job, job->supplies[k].supplier) == s)
                    material[job->supplies[k].material] = true;
        }
    free(material);
}

static void count_fittings(struct whole *w)
{
    for (size_t i = 0; i < w->job->n_loose; i++) {
        const struct dw_fitting *fitting = &w->job->fittings[w->job->loose[i].fitting];
        size_t s = supplier_of(w->job, fitting->supplier);
        if (s == DW_NONE)
            continue;
        w->fitted[s] = true;
        w->fittings[s] += w->job->loose[i].count * fitting->price;
    }
}

/* --- one set ---------------------------------------------------------------------------------- */

static int64_t choices_of(const struct whole *w, size_t set)
{
    int64_t n = 1;
    for (size_t k = 0; k < w->n_wares && n <= MAX_CHOICES; k++)
        n *= w->wares[k].set == set ? w->wares[k].lots : 1;
    return n;
}

/* Bars that are there at their worth; new bars stay in the job with none to be had, as they bear on
 * what leftovers are worth. */
static bool solve_choice(const struct whole *w, size_t set, const size_t *materials, size_t n,
                         int64_t choice, struct table *table)
{
    struct dw_job job = *w->job;
    struct brute brute = {0};
    job.supplies = calloc(job.n_supplies + w->n_wares + 1, sizeof *job.supplies);
    if (!job.supplies)
        return false;
    memcpy(job.supplies, w->job->supplies, job.n_supplies * sizeof *job.supplies);
    int64_t at = choice;
    for (size_t k = 0; k < w->n_wares; k++) {
        const struct ware *ware = &w->wares[k];
        if (ware->set != set)
            continue;
        const struct dw_supply *supply = &w->job->supplies[ware->supply];
        int64_t bars = at % ware->lots * supply->pack;
        at /= ware->lots;
        job.supplies[ware->supply].count = 0;
        if (bars == 0)
            continue;
        job.supplies[job.n_supplies] = *supply;
        job.supplies[job.n_supplies].source = DW_SOURCE_SHELF;
        job.supplies[job.n_supplies].count = bars;
        job.supplies[job.n_supplies].price = ware->worth;
        job.supplies[job.n_supplies++].n_breaks = 0;
    }
    bool fine = brute_solve(&brute, &job, materials, n) == 0;
    table->planned[choice] = fine && brute.feasible;
    table->money[choice] = brute.money;
    brute_free(&brute);
    free(job.supplies);
    return fine;
}

static bool solve_set(struct whole *w, size_t set)
{
    struct table *table = &w->tables[set];
    size_t *materials = calloc(w->job->n_materials + 1, sizeof *materials), n = 0;
    for (size_t m = 0; m < w->job->n_materials; m++)
        if (w->set_of[m] == set)
            materials[n++] = m;
    table->n = (size_t)choices_of(w, set);
    table->money = calloc(table->n + 1, sizeof *table->money);
    table->planned = calloc(table->n + 1, sizeof *table->planned);
    bool fine = table->n <= MAX_CHOICES && table->money && table->planned;
    for (size_t c = 0; c < table->n && fine; c++)
        fine = solve_choice(w, set, materials, n, (int64_t)c, table);
    free(materials);
    return fine;
}

/* --- all of it -------------------------------------------------------------------------------- */

static dw_money charge_of(const struct dw_supplier *t, dw_money goods, int64_t cuts)
{
    dw_money sum = goods < t->minimum ? t->minimum - goods : 0;
    if (goods < t->small_under)
        sum += t->small_charge;
    if (!(t->freight_free > 0 && goods >= t->freight_free))
        sum += t->freight;
    if (cuts > t->cuts_free) {
        dw_money each = (cuts - t->cuts_free) * t->cut_charge;
        sum += each > t->cut_minimum ? each : t->cut_minimum;
    }
    return sum;
}

static bool order_money(const struct whole *w, const int64_t *bought, dw_money *money)
{
    dw_money goods[8], sum = 0;
    int64_t cuts[8] = {0};
    bool any[8];
    for (size_t s = 0; s < w->job->n_suppliers; s++) {
        goods[s] = w->fittings[s];
        any[s] = w->fitted[s];
    }
    for (size_t k = 0; k < w->n_wares; k++) {
        const struct ware *ware = &w->wares[k];
        const struct dw_supply *supply = &w->job->supplies[ware->supply];
        dw_money lot = bought[k] * price_at(supply, bought[k]);
        goods[ware->supplier] += lot;
        sum += lot - ware->worth * bought[k];
        any[ware->supplier] = any[ware->supplier] || bought[k] > 0;
        cuts[ware->supplier] +=
            bought[k] / supply->pack * w->job->suppliers[ware->supplier].cuts_a_pack;
    }
    for (size_t s = 0; s < w->job->n_suppliers; s++)
        if (any[s] && charges(&w->job->suppliers[s]))
            sum += charge_of(&w->job->suppliers[s], goods[s], cuts[s]);
    for (size_t set = 0; set < w->n_sets; set++) {
        size_t choice = 0, times = 1;
        for (size_t k = 0; k < w->n_wares; k++) {
            if (w->wares[k].set != set)
                continue;
            choice += times * (size_t)(bought[k] / w->job->supplies[w->wares[k].supply].pack);
            times *= (size_t)w->wares[k].lots;
        }
        if (!w->tables[set].planned[choice])
            return false;
        sum += w->tables[set].money[choice];
    }
    *money = sum;
    return true;
}

static bool next_order(const struct whole *w, int64_t *bought)
{
    for (size_t k = 0; k < w->n_wares; k++) {
        bought[k] += w->job->supplies[w->wares[k].supply].pack;
        if (bought[k] <= w->wares[k].most)
            return true;
        bought[k] = 0;
    }
    return false;
}

static enum brute_order_answer best_order(const struct whole *w, dw_money *money)
{
    int64_t bought[MAX_WARES] = {0}, n = 1;
    bool found = false;
    for (size_t k = 0; k < w->n_wares && n <= MAX_ORDERS; k++)
        n *= w->wares[k].lots;
    if (n > MAX_ORDERS)
        return BRUTE_ORDER_TOO_LARGE;
    do {
        dw_money here = 0;
        if (order_money(w, bought, &here) && (!found || here < *money)) {
            *money = here;
            found = true;
        }
    } while (next_order(w, bought));
    return found ? BRUTE_ORDER_FOUND : BRUTE_ORDER_NONE;
}

static bool fits(const struct whole *w)
{
    int64_t all = 1;
    for (size_t set = 0; set < w->n_sets; set++)
        if (choices_of(w, set) > MAX_CHOICES)
            return false;
    for (size_t k = 0; k < w->n_wares && all <= MAX_ORDERS; k++)
        all *= w->wares[k].lots;
    return all <= MAX_ORDERS;
}

enum brute_order_answer brute_order(const struct dw_job *job, dw_money *money)
{
    struct whole w = {.job = job};
    bool reached[8] = {false};
    enum brute_order_answer answer = BRUTE_ORDER_TOO_LARGE;
    w.set_of = calloc(job->n_materials + 1, sizeof *w.set_of);
    if (!w.set_of || job->n_suppliers > 8)
        return answer;
    w.n_sets = brute_groups(job, w.set_of);
    w.tables = calloc(w.n_sets + 1, sizeof *w.tables);
    reach(&w, reached);
    count_fittings(&w);
    bool fine = w.tables && find_wares(&w, reached) && fits(&w);
    for (size_t set = 0; set < w.n_sets && fine; set++)
        fine = solve_set(&w, set);
    if (fine)
        answer = best_order(&w, money);
    for (size_t set = 0; w.tables && set < w.n_sets; set++) {
        free(w.tables[set].money);
        free(w.tables[set].planned);
    }
    free(w.tables);
    free(w.set_of);
    return answer;
}
