/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a supplier charges for an order: see struct dw_charge. */
#include "model/charges.h"
#include "base/base.h"

#include <stdlib.h>
#include <string.h>

bool dw_supplier__charges(const struct dw_supplier *terms)
{
    return terms->minimum > 0 || (terms->small_under > 0 && terms->small_charge > 0) ||
           terms->freight > 0 ||
           (terms->cuts_a_pack > 0 && (terms->cut_charge > 0 || terms->cut_minimum > 0));
}

bool dw_job__is_charged(const struct dw_job *job)
{
    for (size_t s = 0; s < job->n_suppliers; s++)
        if (dw_supplier__charges(&job->suppliers[s]))
            return true;
    return false;
}

static size_t charger_of(const struct dw_job *job, const char *name)
{
    for (size_t s = 0; name && s < job->n_suppliers; s++)
        if (strcmp(job->suppliers[s].name, name) == 0)
            return dw_supplier__charges(&job->suppliers[s]) ? s : DW_NONE;
    return DW_NONE;
}

size_t dw_supply__charger(const struct dw_job *job, const struct dw_supply *supply)
{
    return supply->source == DW_SOURCE_NEW ? charger_of(job, supply->supplier) : DW_NONE;
}

static bool add_times(int64_t *sum, int64_t a, int64_t b)
{
    int64_t product = 0;
    return dw_mul__i64(a, b, &product) && dw_add__i64(*sum, product, sum);
}

/* Adds the fittings of one client's job. */
static bool add_fittings(const struct dw_job *job, const int64_t *counts,
                         struct dw_bought_fittings *rows)
{
    bool ok = true;
    for (size_t f = 0; f < job->n_fittings && ok; f++) {
        size_t s = counts[f] > 0 ? charger_of(job, job->fittings[f].supplier) : DW_NONE;
        if (s == DW_NONE)
            continue;
        rows[s].any = true;
        ok = add_times(&rows[s].goods, counts[f], job->fittings[f].price);
    }
    return ok;
}

dw_err dw_charges__fittings(const struct dw_job *job, struct dw_bought_fittings *rows,
                            struct dw_error *error)
{
    for (size_t s = 0; s < job->n_suppliers; s++)
        rows[s] = (struct dw_bought_fittings){0};
    if (job->n_fittings == 0)
        return DW_OK;
    int64_t *counts = calloc(job->n_fittings, sizeof *counts);
    dw_err err = counts ? DW_OK : dw_error__nomem(error);
    for (size_t o = 0; o < job->n_orders && !err; o++) {
        err = dw_fittings_count(job, o, counts, error);
        if (!err && !add_fittings(job, counts, rows))
            err = dw_error__set(error, DW_ERR_RANGE, "fittings for more money than can be counted");
    }
    free(counts);
    return err;
}

dw_money dw_supplier__highest(const struct dw_supplier *terms)
{
    dw_money highest = terms->minimum;
    if (terms->small_charge > 0 && terms->small_under > highest)
        highest = terms->small_under;
    if (terms->freight > 0 && terms->freight_free > highest)
        highest = terms->freight_free;
    return highest;
}

bool dw_charges__of(const struct dw_supplier *terms, dw_money goods, int64_t cuts,
                    struct dw_charge *out)
{
    int64_t charged = cuts > terms->cuts_free ? cuts - terms->cuts_free : 0;
    *out = (struct dw_charge){.goods = goods, .cuts = cuts};
    if (!dw_mul__i64(charged, terms->cut_charge, &out->cutting))
        return false;
    if (charged > 0 && out->cutting < terms->cut_minimum)
        out->cutting = terms->cut_minimum;
    if (goods < terms->minimum)
        out->minimum = terms->minimum - goods;
    if (goods < terms->small_under)
        out->small = terms->small_charge;
    if (terms->freight_free == 0 || goods < terms->freight_free)
        out->freight = terms->freight;
    return true;
}

/* Each is at most DW_MONEY_MAX, save cutting, which dw_charges__of has checked. */
dw_money dw_charge_sum(const struct dw_charge *charge)
{
    return charge->cutting + charge->minimum + charge->small + charge->freight;
}

int64_t dw_supply__packed(const struct dw_supply *supply, int64_t bars)
{
    int64_t pack = supply->pack > 1 ? supply->pack : 1;
    return dw_ceil__div(bars, pack) * pack;
}

bool dw_supply__lot(const struct dw_supply *supply, int64_t bars, dw_money *money)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks && supply->breaks[i].from <= bars; i++)
        price = supply->breaks[i].price;
    return dw_mul__i64(bars, price, money);
}

dw_money dw_supply__spare_worth(const struct dw_job *job, const struct dw_supply *supply)
{
    dw_length length = supply->measured ? supply->measured : supply->length;
    return supply->bend > 0 ? 0 : dw_job_worth(job, supply->material, length);
}
