/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What suppliers charge beside their goods, and how much of what they sell is best bought: see
 * struct dw_charge. The verifier has its own idea of it. */
#ifndef DW_MODEL_CHARGES_H
#define DW_MODEL_CHARGES_H

#include "model/model.h"

/* Whether a supplier charges anything beside its goods. */
bool dw_supplier__charges(const struct dw_supplier *terms);
/* Whether some supplier of the job does. */
bool dw_job__is_charged(const struct dw_job *job);
/* The supplier that charges for a new bar, by its index; DW_NONE: none does. */
size_t dw_supply__charger(const struct dw_job *job, const struct dw_supply *supply);

/* Fittings that a job needs, supplier by supplier. */
struct dw_bought_fittings {
    dw_money goods;
    bool any;
};
/* rows: length n_suppliers. DW_ERR_RANGE, DW_ERR_NOMEM. Cost: O(orders x parts). */
dw_err dw_charges__fittings(const struct dw_job *job, struct dw_bought_fittings *rows,
                            struct dw_error *error);

/* Goods from which on nothing more is gained by more of them. */
dw_money dw_supplier__highest(const struct dw_supplier *terms);
/* What is charged for an order of so much; `supplier`, `group` and `spare` stay 0. false: overflow.
 */
bool dw_charges__of(const struct dw_supplier *terms, dw_money goods, int64_t cuts,
                    struct dw_charge *out);

/* Whole packs that hold so many bars: a multiple of pack. */
int64_t dw_supply__packed(const struct dw_supply *supply, int64_t bars);
/* b x price(b). false: overflow. */
bool dw_supply__lot(const struct dw_supply *supply, int64_t bars, dw_money *money);
/* phi(L) of one bar bought for the shelf; 0 of an end-bent one. */
dw_money dw_supply__spare_worth(const struct dw_job *job, const struct dw_supply *supply);

/* One supplier's part of an order, to be made as cheap as can be. */
struct dw_buy {
    const struct dw_job *job;
    size_t supplier;
    struct dw_bought_fittings fittings;
    size_t n;
    const size_t *supplies; /* length n: new bars of this supplier, increasing */
    const dw_money *worth;  /* length n: dw_supply__spare_worth */
    const int64_t *used;    /* length n: bars that are cut of each */
};

/* Chooses what is bought for what is cut: bought[n]. The least money, of equals the fewest bars;
 * with more than some thousand ways that none of the others is sure to beat, a good choice. *charge
 * says what comes of it, *bars what the bars cost; supplier and group in it are left alone.
 * DW_ERR_RANGE, DW_ERR_NOMEM. Cost: O(n ways^2) */
dw_err dw_buy__choose(const struct dw_buy *buy, int64_t *bought, dw_money *bars,
                      struct dw_charge *charge, struct dw_error *error);

#endif
