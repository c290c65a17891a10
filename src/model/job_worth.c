/* SPDX-License-Identifier: GPL-3.0-or-later */
/* phi: what a leftover is worth. See struct dw_worth for the formula. */
#include "base/base.h"
#include "model/model.h"

__extension__ typedef __int128 wide;

static dw_money narrow(wide value)
{
    return value > INT64_MAX ? INT64_MAX : (dw_money)value;
}

static dw_money lowest_price(const struct dw_supply *supply)
{
    dw_money price = supply->price;
    for (size_t i = 0; i < supply->n_breaks; i++)
        if (supply->breaks[i].price < price)
            price = supply->breaks[i].price;
    return price;
}

/* min over new straight bars k of the material of floor(share c_k r / (L_k 1 000 000)); -1: no k.
 * Prices and lengths are at most 10^15 and share at most 10^6, so that products fit 128 bits. */
static dw_money share_of_new(const struct dw_job *job, size_t material, int64_t share, dw_length r)
{
    dw_money least = -1;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        if (supply->source != DW_SOURCE_NEW || supply->material != material || supply->bend > 0)
            continue;
        dw_length length = supply->measured ? supply->measured : supply->length;
        dw_money money = narrow((wide)share * lowest_price(supply) * r / ((wide)length * 1000000));
        if (least < 0 || money < least)
            least = money;
    }
    return least;
}

static dw_money class_worth(const struct dw_worth *worth, dw_length r)
{
    dw_money money = 0;
    for (size_t i = 0; i < worth->n_classes && worth->classes[i].from <= r; i++)
        money = worth->classes[i].worth;
    return money;
}

dw_money dw_job_worth(const struct dw_job *job, size_t material, dw_length leftover)
{
    const struct dw_worth *worth = &job->materials[material].worth;
    if (leftover < worth->keep)
        return 0;
    dw_money base = 0;
    switch (worth->kind) {
    case DW_WORTH_NONE:
        return 0;
    case DW_WORTH_RATE:
        base = narrow((wide)worth->rate * leftover / worth->per);
        break;
    case DW_WORTH_SHARE:
        base = share_of_new(job, material, worth->share, leftover);
        return base < 0 ? 0 : base;
    case DW_WORTH_CLASSES:
        base = class_worth(worth, leftover);
        break;
    }
    dw_money cap = share_of_new(job, material, 1000000, leftover);
    return cap >= 0 && cap < base ? cap : base;
}

dw_length dw_worth__usual_keep(bool inches)
{
    return inches ? 12 * DW_NM_PER_IN : 300 * DW_NM_PER_MM;
}
