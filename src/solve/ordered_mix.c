/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans of the sets put together to a plan of the whole, bought as is cheapest for them. */
#include "solve/ordered_core.h"

#include <stdlib.h>
#include <string.h>

/* Money of the sets' plans, bought as is cheapest for them. false: no memory. */
static dw_err sum_plans(struct dw_market_search *s, const struct dw_priced *const *sets,
                        dw_money *money)
{
    const struct dw_market *m = &s->market;
    const size_t n = m->n_wares + 1;
    int64_t *used = calloc(2 * n, sizeof *used), *bought = used ? used + n : NULL;
    size_t *supplies = calloc(n, sizeof *supplies);
    dw_money *worth = calloc(n, sizeof *worth);
    dw_err code = used && supplies && worth ? DW_OK : dw_error__nomem(s->error);
    *money = 0;
    for (size_t i = 0; i < m->n_sets; i++)
        *money += sets[i]->apart;
    for (size_t c = 0; c < m->n_sellers && code == DW_OK; c++) {
        struct dw_buy buy = {.job = m->job,
                             .supplier = m->sellers[c].supplier,
                             .fittings = m->sellers[c].fittings,
                             .supplies = supplies,
                             .worth = worth,
                             .used = used};
        struct dw_charge charge;
        dw_money bars = 0;
        for (size_t k = 0; k < m->n_wares; k++) {
            if (m->wares[k].seller != c)
                continue;
            supplies[buy.n] = m->wares[k].supply;
            worth[buy.n] = m->wares[k].worth;
            used[buy.n] = 0;
            for (size_t i = 0; i < m->n_sets; i++)
                used[buy.n] += sets[i]->used[k];
            buy.n++;
        }
        code = dw_buy__choose(&buy, bought, &bars, &charge, s->error);
        if (code == DW_OK)
            *money += bars - charge.spare + dw_charge_sum(&charge);
    }
    free(used);
    free(supplies);
    free(worth);
    return code;
}

static void take_if_better(struct dw_market_search *s, const struct dw_priced *const *sets,
                           dw_money money)
{
    if (s->has_best && money >= s->best)
        return;
    s->has_best = true;
    s->best = money;
    memcpy(s->best_sets, sets, s->market.n_sets * sizeof *sets);
}

/* Money of the sets' plans when no more is bought than they cut. */
static dw_money plain_money(struct dw_market_search *s, const struct dw_priced *const *sets)
{
    const struct dw_market *m = &s->market;
    dw_wide sum = 0;
    for (size_t c = 0; c < m->n_sellers; c++)
        s->orders[c] =
            (struct dw_plain_order){m->sellers[c].fittings.goods, 0, m->sellers[c].fittings.any};
    for (size_t i = 0; i < m->n_sets; i++)
        sum += sets[i]->apart;
    for (size_t k = 0; k < m->n_wares; k++) {
        const struct dw_ware *ware = &m->wares[k];
        const struct dw_supply *supply = &m->job->supplies[ware->supply];
        struct dw_plain_order *order = &s->orders[ware->seller];
        int64_t used = 0;
        dw_money lot = 0;
        for (size_t i = 0; i < m->n_sets; i++)
            used += sets[i]->used[k];
        if (used == 0)
            continue;
        used = dw_supply__packed(supply, used);
        if (!dw_supply__lot(supply, used, &lot) || lot > DW_NO_END)
            return DW_NO_END;
        sum += lot;
        order->goods += lot;
        order->cuts += used / ware->pack * m->sellers[ware->seller].terms->cuts_a_pack;
        order->any = true;
    }
    for (size_t c = 0; c < m->n_sellers; c++) {
        struct dw_charge charge = {0};
        if (s->orders[c].any && (s->orders[c].goods > DW_NO_END ||
                                 !dw_charges__of(m->sellers[c].terms, (dw_money)s->orders[c].goods,
                                                 s->orders[c].cuts, &charge)))
            return DW_NO_END;
        sum += dw_charge_sum(&charge);
    }
    return sum > DW_NO_END ? DW_NO_END : (dw_money)sum;
}

/* Puts each other plan of one set that was made in the place of its plan, if that is cheaper.
 * Answers whether one was. */
static bool mix_set(struct dw_market_search *s, size_t i, dw_money *money)
{
    bool changed = false;
    for (size_t q = 0; q < s->plans.n; q++) {
        const struct dw_priced *other = s->plans.rows[q], *mine = s->mixed[i];
        if (other->set != i || !other->planned || other == mine)
            continue;
        s->mixed[i] = other;
        dw_money here = plain_money(s, s->mixed);
        if (here < *money) {
            *money = here;
            changed = true;
        } else {
            s->mixed[i] = mine;
        }
    }
    return changed;
}

/* The sets' plans as a plan of the whole, and what is better with others of them in their place:
 * what one set buys more of a seller, another can buy less. */
dw_err dw_market__offer(struct dw_market_search *s, const struct dw_priced *const *sets)
{
    dw_money money = 0;
    bool changed = true;
    for (size_t i = 0; i < s->market.n_sets; i++)
        if (!sets[i]->planned)
            return DW_OK;
    dw_err code = sum_plans(s, sets, &money);
    if (code != DW_OK)
        return code;
    take_if_better(s, sets, money);
    if (s->market.n_sets == 1 || s->plans.n == s->n_mixed)
        return DW_OK;
    s->n_mixed = s->plans.n;
    memcpy(s->mixed, sets, s->market.n_sets * sizeof *sets);
    money = plain_money(s, s->mixed);
    for (int round = 0; round < 3 && changed; round++) {
        changed = false;
        for (size_t i = 0; i < s->market.n_sets; i++)
            changed = mix_set(s, i, &money) || changed;
    }
    code = sum_plans(s, s->mixed, &money);
    if (code == DW_OK)
        take_if_better(s, s->mixed, money);
    return code;
}
