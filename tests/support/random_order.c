/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "random_order.h"
#include "random_job.h"

#include <dropwise/takeoff.h>
#include <dropwise/terms.h>
#include <stdio.h>
#include <string.h>

static dw_money money(struct random *random, int64_t lo, int64_t hi)
{
    if (random_chance(random, 60))
        return random_in(random, lo, hi) * DW_MONEY_ONE;
    return random_in(random, lo * DW_MONEY_ONE, hi * DW_MONEY_ONE);
}

static bool make_terms(struct random *random, struct dw_job *job)
{
    size_t n = (size_t)random_in(random, 1, 4);
    job->suppliers = dw_job_alloc(job, n, sizeof *job->suppliers);
    if (!job->suppliers)
        return false;
    job->n_suppliers = n;
    for (size_t s = 0; s < n; s++) {
        struct dw_supplier *terms = &job->suppliers[s];
        char name[32];
        snprintf(name, sizeof name, "S%zu", s + 1);
        terms->name = dw_job_text(job, name);
        if (!terms->name)
            return false;
        if (random_chance(random, 40))
            terms->minimum = money(random, 5, 40);
        if (random_chance(random, 40)) {
            terms->small_under = money(random, 10, 60);
            terms->small_charge = money(random, 1, 12);
        }
        if (random_chance(random, 50)) {
            terms->freight = money(random, 1, 20);
            if (random_chance(random, 60))
                terms->freight_free = money(random, 20, 80);
        }
        if (random_chance(random, 40)) {
            terms->cuts_a_pack = random_in(random, 1, 3);
            terms->cut_charge = money(random, 0, 3);
            terms->cuts_free = random_in(random, 0, 4);
            if (random_chance(random, 30))
                terms->cut_minimum = money(random, 1, 8);
        }
    }
    return true;
}

/* More kinds of new bars, so that there is something to choose from. */
static bool add_bars(struct random *random, struct dw_job *job)
{
    size_t n = (size_t)random_in(random, 0, 2), old = job->n_supplies;
    struct dw_supply *supplies = dw_job_alloc(job, old + n, sizeof *supplies);
    if (!supplies)
        return false;
    memcpy(supplies, job->supplies, old * sizeof *supplies);
    for (size_t i = 0; i < n; i++) {
        struct dw_supply *supply = &supplies[job->n_supplies];
        const struct dw_supply *like = &supplies[(size_t)random_in(random, 0, (int64_t)old - 1)];
        char id[32];
        snprintf(id, sizeof id, "N%zu", i + 1);
        if (like->source != DW_SOURCE_NEW)
            continue;
        *supply = *like;
        supply->id = dw_job_text(job, id);
        supply->price = like->price + money(random, 0, 3);
        supply->n_breaks = 0;
        supply->breaks = NULL;
        supply->pack = random_chance(random, 20) ? 2 : 1;
        supply->count = random_chance(random, 30) ? 2 * supply->pack : DW_UNLIMITED;
        if (!supply->id)
            return false;
        job->n_supplies++;
    }
    job->supplies = supplies;
    return true;
}

static bool add_fittings(struct random *random, struct dw_job *job)
{
    if (random_chance(random, 60))
        return true;
    job->fittings = dw_job_alloc(job, 1, sizeof *job->fittings);
    job->loose = dw_job_alloc(job, 1, sizeof *job->loose);
    if (!job->fittings || !job->loose)
        return false;
    job->n_fittings = job->n_loose = 1;
    job->fittings[0] = (struct dw_fitting){.id = "clamp",
                                           .joins = 1,
                                           .bushing = DW_NONE,
                                           .price = money(random, 0, 6),
                                           .supplier = job->suppliers[0].name};
    job->loose[0] = (struct dw_loose){.count = random_in(random, 1, 5)};
    return true;
}

struct dw_job *random_order_job(uint64_t seed)
{
    struct random random = {seed * 77 + 5};
    struct dw_job *job = random_job(seed);
    if (!job)
        return NULL;
    bool ok = make_terms(&random, job) && add_bars(&random, job) && add_fittings(&random, job);
    for (size_t k = 0; ok && k < job->n_supplies; k++)
        if (job->supplies[k].source == DW_SOURCE_NEW && random_chance(&random, 90))
            job->supplies[k].supplier =
                job->suppliers[random_in(&random, 0, (int64_t)job->n_suppliers - 1)].name;
    if (ok)
        return job;
    dw_job_free(job);
    return NULL;
}
