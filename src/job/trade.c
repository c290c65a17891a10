/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Order and quote as documents, the same from every face. */
#include "job/trade.h"

#include "cost/record.h"
#include "model/caution.h"

#define VERSION 1

static void open_document(struct dw_out *out, const struct dw_job *job, const char *format)
{
    out->currency = job->currency;
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "format", format);
    dw_out__int(out, "version", VERSION);
}

static void close_document(struct dw_out *out, enum dw_caution_place place)
{
    dw_care__put(out, "cautions", &(const struct dw_care){0}, place);
    dw_out__close(out, '{');
}

/* "paid": what of the plan comes from the shelf, what was paid for it and how that is known, and
 * what the plan counts with why. For the shop, not for a client. */
static void put_paid(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan)
{
    dw_out__open(out, "paid", '[');
    for (size_t i = 0; i < plan->n_takes; i++) {
        const struct dw_take *take = &plan->takes[i];
        const struct dw_supply *supply = &job->supplies[take->supply];
        if (supply->source == DW_SOURCE_NEW)
            continue;
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "piece", supply->id);
        dw_out__int(out, "count", take->used);
        dw_out__money(out, "paid", dw_take_paid(job, take));
        dw_out__text(out, "from", dw_supply_paid_from(supply));
        dw_out__money(out, "counted", take->money);
        dw_out__text(out, "reason", dw_supply_reason(supply));
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

void dw_job__order_put(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_order_doc *order)
{
    const struct dw_record_out to = {.out = out, .job = job, .version = VERSION};
    open_document(out, job, "dropwise order");
    dw_record__put(&to, &dw_order_doc__members, order);
    put_paid(out, job, plan);
    close_document(out, DW_AT_BUY);
}

void dw_job__quote_put(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_quote_doc *quote, size_t order, bool inside)
{
    const struct dw_record_out to = {.out = out, .job = job, .version = VERSION, .client = !inside};
    struct dw_quote_doc view = *quote;
    for (size_t i = 0; order != DW_NONE && i < quote->n_jobs; i++) {
        if (quote->jobs[i].order != order)
            continue;
        view.jobs = &quote->jobs[i];
        view.n_jobs = 1;
    }
    open_document(out, job, "dropwise quote");
    dw_out__text(out, "view", inside ? "private" : "client");
    dw_record__put(&to, &dw_quote_doc__members, &view);
    if (inside)
        put_paid(out, job, plan);
    close_document(out, DW_AT_QUOTE);
}
