/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quote. The client's paper is written from names, quantities, prices and taxes alone: no cost,
 * share or uplift is at hand where it is drawn. */
#include "draw/ruled.h"

#include <stdio.h>

struct quote_paper {
    const struct dw_job *job;
    const struct dw_quote_doc *quote;
    size_t client; /* DW_NONE = private view of all */
};

/* --- the client's paper ------------------------------------------------------------------- */

static void draw_client_lines(struct dw_flow *flow, const struct quote_paper *paper,
                              const struct dw_quote_job *job)
{
    static const struct dw_ruled_column columns[] = {{"what", 0, DW_ALIGN_LEFT},
                                                     {"quantity", 34, DW_ALIGN_RIGHT},
                                                     {"price", 32, DW_ALIGN_RIGHT},
                                                     {"tax", 30, DW_ALIGN_RIGHT}};
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    dw_flow__need(flow, 16);
    dw_ruled__head(&table);
    for (size_t i = 0; i < job->n_lines; i++) {
        const struct dw_quote_line *line = &job->lines[i];
        struct dw_text price = dw_draw__money(paper->job, line->price);
        struct dw_text tax = dw_draw__money(paper->job, line->tax);
        const char *const cells[] = {line->text, line->quantity, price.text,
                                     line->tax_ppm == DW_NO_TAX ? NULL : tax.text};
        dw_ruled__row(&table, cells, false);
    }
    dw_ruled__rule(&table, 0.3);
    struct dw_text price = dw_draw__money(paper->job, job->price);
    struct dw_text tax = dw_draw__money(paper->job, job->tax);
    struct dw_text total = dw_draw__money(paper->job, job->total);
    const char *const sums[] = {"Sum", NULL, price.text, tax.text};
    dw_ruled__row(&table, sums, false);
    const char *const totals[] = {"Total", NULL, total.text, NULL};
    dw_ruled__row(&table, totals, true);
    flow->y += 4;
}

static void draw_client_offcuts(struct dw_flow *flow, const struct quote_paper *paper)
{
    char text[300];
    for (size_t i = 0; i < paper->quote->n_offcuts; i++) {
        const struct dw_quote_offcut *offcut = &paper->quote->offcuts[i];
        if (offcut->owner != paper->client)
            continue;
        snprintf(text, sizeof text, "Yours to keep: %lld × leftover of %s",
                 (long long)offcut->count, dw_draw__length(paper->job, offcut->length).text);
        dw_flow__say(flow, 3.2, false, text);
    }
}

static void draw_client(struct dw_flow *flow, const struct quote_paper *paper)
{
    const struct dw_quote_doc *quote = paper->quote;
    const struct dw_quote_job *job = &quote->jobs[paper->client];
    char text[300];
    if (job->client) {
        snprintf(text, sizeof text, "For: %s", job->client);
        dw_flow__say(flow, 4.6, true, text);
    }
    if (quote->valid_until) {
        snprintf(text, sizeof text, "Valid until %s", quote->valid_until);
        dw_flow__say(flow, 3.4, false, text);
    }
    flow->y += 3;
    draw_client_lines(flow, paper, job);
    draw_client_offcuts(flow, paper);
}

/* --- the private view ---------------------------------------------------------------------- */

static void draw_private_job(struct dw_flow *flow, const struct quote_paper *paper,
                             const struct dw_quote_job *job)
{
    static const struct dw_ruled_column columns[] = {{"what", 0, DW_ALIGN_LEFT},
                                                     {"quantity", 28, DW_ALIGN_RIGHT},
                                                     {"cost", 27, DW_ALIGN_RIGHT},
                                                     {"price", 27, DW_ALIGN_RIGHT},
                                                     {"tax", 24, DW_ALIGN_RIGHT}};
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    char text[300];
    snprintf(text, sizeof text, "%s%s%s", job->name ? job->name : "job",
             job->client ? ", for " : "", job->client ? job->client : "");
    dw_flow__say(flow, 4.2, true, text);
    dw_flow__need(flow, 16);
    dw_ruled__head(&table);
    for (size_t i = 0; i < job->n_lines; i++) {
        const struct dw_quote_line *line = &job->lines[i];
        struct dw_text cost = dw_draw__money(paper->job, line->cost);
        struct dw_text price = dw_draw__money(paper->job, line->price);
        struct dw_text tax = dw_draw__money(paper->job, line->tax);
        const char *const cells[] = {line->text, line->quantity, cost.text, price.text,
                                     line->tax_ppm == DW_NO_TAX ? NULL : tax.text};
        dw_ruled__row(&table, cells, false);
    }
    dw_ruled__rule(&table, 0.3);
    struct dw_text cost = dw_draw__money(paper->job, job->cost);
    struct dw_text price = dw_draw__money(paper->job, job->price);
    struct dw_text tax = dw_draw__money(paper->job, job->tax);
    struct dw_text total = dw_draw__money(paper->job, job->total);
    const char *const sums[] = {"Sum", NULL, cost.text, price.text, tax.text};
    dw_ruled__row(&table, sums, true);
    const char *const totals[] = {"Total with tax", NULL, NULL, total.text, NULL};
    dw_ruled__row(&table, totals, true);
    flow->y += 4;
}

static void draw_private(struct dw_flow *flow, const struct quote_paper *paper)
{
    const struct dw_quote_doc *quote = paper->quote;
    char text[300];
    dw_flow__say(flow, 3.4, true, "Private: for the shop, not for a client.");
    dw_flow__say(flow, 3.2, false, quote->way);
    dw_flow__say(flow, 3.2, false, quote->rule);
    dw_flow__say(flow, 3.2, false, quote->uplift);
    flow->y += 3;
    for (size_t j = 0; j < quote->n_jobs; j++)
        draw_private_job(flow, paper, &quote->jobs[j]);
    snprintf(text, sizeof text, "Spent %s, charged to jobs %s, borne by the shop %s.",
             dw_draw__money(paper->job, quote->spent).text,
             dw_draw__money(paper->job, quote->charged).text,
             dw_draw__money(paper->job, quote->shop).text);
    dw_flow__say(flow, 3.4, true, text);
    for (size_t i = 0; i < quote->n_notes; i++)
        dw_flow__say(flow, 3, false, quote->notes[i]);
}

static void draw_body(struct dw_flow *flow, void *user)
{
    const struct quote_paper *paper = user;
    if (paper->client == DW_NONE)
        draw_private(flow, paper);
    else
        draw_client(flow, paper);
}

dw_err dw_draw_quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error)
{
    *out = NULL;
    if (client != DW_NONE && client >= quote->n_jobs)
        return dw_error__set(error, DW_ERR_NOTFOUND, "the quote has no job %zu", client + 1);
    struct quote_paper paper = {job, quote, client};
    const char *name = client == DW_NONE ? quote->job : quote->jobs[client].name;
    const struct dw_frame frame = {.job = name ? name : "Job",
                                   .title = client == DW_NONE ? "Quote, private" : "Quote",
                                   .date = options->date ? options->date : quote->date,
                                   .number = options->plan_number,
                                   .place = DW_AT_QUOTE};
    return dw_flow__run(options, &frame, draw_body, &paper, out, error);
}
