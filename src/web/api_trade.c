/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows from a plan: order, quote. */
#include "web/planned.h"

#include "job/trade.h"
#include "model/caution.h"

static void put_notes(struct dw_out *out, const char *const *notes, size_t n)
{
    dw_out__open(out, "notes", '[');
    for (size_t i = 0; i < n; i++)
        dw_out__text(out, NULL, notes[i]);
    dw_out__close(out, '[');
}

/* --- order ------------------------------------------------------------------------------------ */

static void put_order_line(struct dw_out *out, const struct dw_order_line *line)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "kind", dw_job__order_word(line->kind));
    dw_out__text(out, "item", line->item);
    dw_out__text(out, "text", line->text);
    dw_out__int(out, "quantity", line->quantity);
    dw_out__int(out, "pack", line->pack);
    dw_out__int(out, "spare", line->spare);
    dw_out__money(out, "each", line->unit_price);
    dw_out__money(out, "money", line->money);
    dw_out__close(out, '{');
}

static void put_order(struct dw_out *out, const struct dw_planned *planned,
                      const struct dw_order_doc *order)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "currency", order->currency);
    dw_out__open(out, "suppliers", '[');
    for (size_t i = 0; i < order->n_suppliers; i++) {
        const struct dw_order_supplier *supplier = &order->suppliers[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "name", supplier->name);
        dw_out__money(out, "total", supplier->total);
        dw_out__text(out, "prices_of", supplier->price_date);
        dw_out__text(out, "valid_until", supplier->valid_until);
        dw_out__yes(out, "expired", supplier->expired);
        dw_out__open(out, "lines", '[');
        for (size_t k = 0; k < supplier->n_lines; k++)
            put_order_line(out, &supplier->lines[k]);
        dw_out__close(out, '[');
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
    dw_out__money(out, "total", order->total);
    put_notes(out, order->notes, order->n_notes);
    dw_planned__put_paid(out, planned);
    dw_care__put(out, "cautions", &(const struct dw_care){0}, DW_AT_BUY);
    dw_out__close(out, '{');
}

dw_err dw_api__plan_order(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_order_doc *order = NULL;
    dw_err err = dw_planned__for_call(call, &planned);
    if (!err)
        err = dw_planned__order(call, &planned, &order);
    if (!err)
        put_order(&call->out, &planned, order);
    dw_order_free(order);
    dw_planned__free(&planned);
    return err;
}

/* --- quote ------------------------------------------------------------------------------------ */

static void put_quote_job(struct dw_out *out, const struct dw_quote_job *job, bool cost)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "name", job->name);
    dw_out__text(out, "client", job->client);
    dw_out__open(out, "lines", '[');
    for (size_t i = 0; i < job->n_lines; i++) {
        const struct dw_quote_line *line = &job->lines[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "kind", dw_line_kind_word(line->kind));
        dw_out__text(out, "text", line->text);
        dw_out__text(out, "quantity", line->quantity);
        dw_out__money(out, "price", line->price);
        dw_out__money(out, "tax", line->tax);
        if (cost)
            dw_out__money(out, "cost", line->cost);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
    dw_out__money(out, "price", job->price);
    dw_out__money(out, "tax", job->tax);
    dw_out__money(out, "total", job->total);
    if (cost)
        dw_out__money(out, "cost", job->cost);
    dw_out__close(out, '{');
}

static void put_quote(struct dw_out *out, const struct dw_planned *planned,
                      const struct dw_quote_doc *quote, bool cost)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "currency", quote->currency);
    dw_out__text(out, "valid_until", quote->valid_until);
    dw_out__text(out, "way", quote->way);
    dw_out__text(out, "tax_name", quote->tax_name);
    dw_out__open(out, "jobs", '[');
    for (size_t i = 0; i < quote->n_jobs; i++)
        put_quote_job(out, &quote->jobs[i], cost);
    dw_out__close(out, '[');
    if (cost) {
        dw_out__text(out, "rule", quote->rule);
        dw_out__text(out, "uplift", quote->uplift);
        dw_out__money(out, "spent", quote->spent);
        dw_out__money(out, "charged", quote->charged);
        dw_out__money(out, "shop", quote->shop);
        dw_planned__put_paid(out, planned);
    }
    put_notes(out, quote->notes, cost ? quote->n_notes : 0);
    dw_care__put(out, "cautions", &(const struct dw_care){0}, DW_AT_QUOTE);
    dw_out__close(out, '{');
}

dw_err dw_api__plan_quote(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_quote_doc *quote = NULL;
    dw_err err = dw_planned__for_call(call, &planned);
    if (!err)
        err = dw_planned__quote(call, &planned, &quote);
    if (!err && quote)
        put_quote(&call->out, &planned, quote, dw_web__query(call->request, "private") != NULL);
    dw_quote_free(quote);
    dw_planned__free(&planned);
    return err;
}
