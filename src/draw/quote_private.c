/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The private view of a quote: cost and price side by side, for the shop alone. */
#include "draw/quote.h"
#include "draw/ruled.h"

#include <stdio.h>

static void draw_private_job(struct dw_flow *flow, const struct dw_quote_paper *paper,
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

void dw_quote__private(struct dw_flow *flow, const struct dw_quote_paper *paper)
{
    const struct dw_quote_doc *quote = paper->quote;
    char text[300];
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
