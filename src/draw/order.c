/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order to a supplier, a page or more each. */
#include "draw/ruled.h"

#include <stdio.h>

struct order_paper {
    const struct dw_job *job;
    const struct dw_order_doc *order;
};

static void draw_line(const struct dw_ruled *table, const struct order_paper *paper,
                      const struct dw_order_line *line)
{
    char quantity[32] = "", packs[48] = "";
    bool goods = line->kind == DW_ORDER_BARS || line->kind == DW_ORDER_FITTING;
    if (goods || line->kind == DW_ORDER_CUTS)
        snprintf(quantity, sizeof quantity, "%lld", (long long)line->quantity);
    if (line->pack > 1)
        snprintf(packs, sizeof packs, "%lld of %lld", (long long)line->packs,
                 (long long)line->pack);
    struct dw_text unit = dw_draw__money(paper->job, line->unit_price);
    struct dw_text money = dw_draw__money(paper->job, line->money);
    const char *const cells[] = {quantity, line->text, packs, *quantity ? unit.text : "",
                                 money.text};
    dw_ruled__row(table, cells, false);
}

static void draw_supplier(struct dw_flow *flow, const struct order_paper *paper,
                          const struct dw_order_supplier *supplier)
{
    static const struct dw_ruled_column columns[] = {{"quantity", 16, DW_ALIGN_RIGHT},
                                                     {"what", 0, DW_ALIGN_LEFT},
                                                     {"packs", 22, DW_ALIGN_LEFT},
                                                     {"each", 30, DW_ALIGN_RIGHT},
                                                     {"money", 32, DW_ALIGN_RIGHT}};
    char text[400];
    snprintf(text, sizeof text, "To: %s", supplier->name ? supplier->name : "supplier not named");
    dw_flow__say(flow, 4.6, true, text);
    if (supplier->price_date || supplier->valid_until) {
        snprintf(text, sizeof text, "%s%s%s%s%s", supplier->price_date ? "prices of " : "",
                 supplier->price_date ? supplier->price_date : "",
                 supplier->valid_until ? ", valid until " : "",
                 supplier->valid_until ? supplier->valid_until : "",
                 supplier->expired ? " (EXPIRED: ask anew)" : "");
        dw_flow__say(flow, 3.2, false, text);
    }
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    dw_flow__need(flow, 16);
    dw_ruled__head(&table);
    for (size_t i = 0; i < supplier->n_lines; i++)
        draw_line(&table, paper, &supplier->lines[i]);
    dw_ruled__rule(&table, 0.3);
    struct dw_text total = dw_draw__money(paper->job, supplier->total);
    char weight[64] = "";
    if (supplier->weight_mg >= 0)
        snprintf(weight, sizeof weight, "Total; bars weigh about %.1f kg",
                 (double)supplier->weight_mg / 1e6);
    const char *const cells[] = {NULL, *weight ? weight : "Total", NULL, NULL, total.text};
    dw_ruled__row(&table, cells, true);
    flow->y += 6;
}

static void draw_body(struct dw_flow *flow, void *user)
{
    const struct order_paper *paper = user;
    for (size_t s = 0; s < paper->order->n_suppliers; s++) {
        if (s > 0)
            dw_flow__page(flow); /* no supplier sees another's prices */
        draw_supplier(flow, paper, &paper->order->suppliers[s]);
    }
    if (paper->order->n_suppliers == 0)
        dw_flow__say(flow, 4, false, "Nothing to buy: the shelf gives all of it.");
}

dw_err dw_draw_order(const struct dw_job *job, const struct dw_order_doc *order,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error)
{
    struct order_paper paper = {job, order};
    const struct dw_frame frame = {.job = order->job ? order->job : "Job",
                                   .title = "Order",
                                   .date = options->date ? options->date : order->date,
                                   .number = options->plan_number,
                                   .place = DW_AT_BUY};
    return dw_flow__run(options, &frame, draw_body, &paper, out, error);
}
