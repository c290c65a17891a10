/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows from a plan: order, quote, papers. */
#include "web/planned.h"

#include "job/paper.h"
#include "job/trade.h"
#include "model/model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Loads the plan of the path; one that lacks tube is refused. Free it in every case. */
static dw_err load(struct dw_web_call *call, struct dw_planned *planned)
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__load(ledger, call->params[0], planned, &call->error);
    dw_call__shelf_end(call);
    if (!err && planned->plan->status == DW_STATUS_INFEASIBLE)
        err = dw_error__set(&call->error, DW_ERR_STATE, "there is not enough tube for this plan");
    if (!err) {
        call->out.style = dw_job__style(planned->job);
        call->out.currency = planned->job->currency;
    }
    return err;
}

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

static void put_order(struct dw_out *out, const struct dw_order_doc *order)
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
    dw_out__close(out, '{');
}

dw_err dw_api__plan_order(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_order_doc *order = NULL;
    dw_err err = load(call, &planned);
    if (!err)
        err = dw_order_make(planned.job, planned.plan, call->today, &order, &call->error);
    if (!err)
        put_order(&call->out, order);
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

static void put_quote(struct dw_out *out, const struct dw_quote_doc *quote, bool cost)
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
    }
    put_notes(out, quote->notes, cost ? quote->n_notes : 0);
    dw_out__close(out, '{');
}

static dw_err make_quote(struct dw_web_call *call, const struct dw_planned *planned,
                         struct dw_quote_doc **quote)
{
    if (!planned->job->quote)
        return dw_error__set(&call->error, DW_ERR_STATE,
                             "the job does not say how to charge: fill in `Quote` first");
    return dw_quote_make(planned->job, planned->plan, planned->job->quote, call->today, quote,
                         &call->error);
}

dw_err dw_api__plan_quote(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_quote_doc *quote = NULL;
    dw_err err = load(call, &planned);
    if (!err)
        err = make_quote(call, &planned, &quote);
    if (!err && quote)
        put_quote(&call->out, quote, dw_web__query(call->request, "private") != NULL);
    dw_quote_free(quote);
    dw_planned__free(&planned);
    return err;
}

/* --- papers ----------------------------------------------------------------------------------- */

static dw_err draw_order(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct dw_paper_request *request, struct dw_paper_pages *pages)
{
    struct dw_order_doc *order = NULL;
    dw_err err = dw_order_make(planned->job, planned->plan, call->today, &order, &call->error);
    if (!err)
        err = dw_paper__order(planned->job, order, request, pages, &call->error);
    dw_order_free(order);
    return err;
}

static dw_err draw_quote(struct dw_web_call *call, const struct dw_planned *planned,
                         const struct dw_paper_request *request, struct dw_paper_pages *pages)
{
    struct dw_quote_doc *quote = NULL;
    const char *text = dw_web__query(call->request, "client");
    size_t client = dw_web__query(call->request, "private") ? DW_NONE : 0;
    dw_err err = make_quote(call, planned, &quote);
    if (!err && text && client != DW_NONE && strlen(text) < 6)
        client = (size_t)strtoul(text, NULL, 10);
    if (!err && quote && client != DW_NONE && client >= quote->n_jobs)
        err = dw_error__set(&call->error, DW_ERR_NOTFOUND, "the batch has no such client");
    if (!err && quote)
        err = dw_paper__quote(planned->job, quote, client, request, pages, &call->error);
    dw_quote_free(quote);
    return err;
}

static dw_err draw_labels(struct dw_web_call *call, const struct dw_planned *planned,
                          const struct dw_paper_request *request, struct dw_paper_pages *pages)
{
    const char *stock = dw_web__query(call->request, "stock"), *text = NULL;
    struct dw_labels_request labels = {.stock = stock, .parts = true, .offcuts = true};
    size_t n = 0;
    if (!stock)
        dw_paper__stock(0, &labels.stock, &text);
    dw_err err =
        dw_paper__labels(planned->job, planned->plan, &labels, request, &n, pages, &call->error);
    return err || n > 0 ? err
                        : dw_error__set(&call->error, DW_ERR_STATE, "there is nothing to label");
}

static dw_err draw(struct dw_web_call *call, const struct dw_planned *planned,
                   struct dw_paper_pages *pages)
{
    char number[32];
    const char *what = call->params[1];
    const char *paper = dw_web__query(call->request, "paper");
    const char *order = dw_web__query(call->request, "order");
    struct dw_paper_request request = {
        .form = "pdf", .paper = paper, .order = order, .date = call->today};
    snprintf(number, sizeof number, "%lld", (long long)planned->held);
    request.number = planned->held ? number : NULL;
    if (strcmp(what, "sheet.pdf") == 0)
        return dw_paper__sheet(planned->job, planned->plan, &request, pages, &call->error);
    if (strcmp(what, "labels.pdf") == 0)
        return draw_labels(call, planned, &request, pages);
    if (strcmp(what, "order.pdf") == 0)
        return draw_order(call, planned, &request, pages);
    if (strcmp(what, "quote.pdf") == 0)
        return draw_quote(call, planned, &request, pages);
    return dw_error__set(&call->error, DW_ERR_NOTFOUND, "there is no paper %s", what);
}

dw_err dw_api__plan_paper(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_paper_pages pages = {0};
    dw_err err = load(call, &planned);
    if (!err)
        err = draw(call, &planned, &pages);
    if (!err && pages.n_files == 1) {
        call->reply->own = pages.files[0].bytes;
        call->reply->n = pages.files[0].n;
        pages.files[0] = (struct dw_paper_file){0};
        call->reply->type = "application/pdf";
        snprintf(call->reply->file, sizeof call->reply->file, "plan-%.20s-%.20s", call->params[0],
                 call->params[1]);
    }
    dw_paper__free(&pages);
    dw_planned__free(&planned);
    return err;
}
