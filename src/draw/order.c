/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order to each supplier, a letter of its own with its own page numbers. */
#include "cost/cost.h"
#include "draw/letter.h"
#include "draw/ruled.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct order_paper {
    const struct dw_job *job;
    const struct dw_order_doc *order;
    const struct dw_draw_options *options;
    struct dw_letter letter; /* of the supplier at hand */
    struct dw_buf texts[3];  /* of its rows: what the letter borrows */
    char contact[208];       /* the first line of the shop's */
    dw_money *shown;         /* amounts of a supplier's lines as they are printed */
};

/* --- lines -------------------------------------------------------------------------------------
 */

/* "steel 42.4 x 2, 42.4 x 2 mm tube, S235, rolled to a radius of 1100 mm" */
static void say_tube(struct dw_buf *buf, const struct order_paper *paper, size_t index)
{
    const struct dw_material *material = &paper->job->materials[index];
    char radius[DW_LENGTH_TEXT];
    if (material->name)
        dw_buf__put(buf, material->name);
    if (material->od) {
        const char *size = dw_cost__size(paper->order->arena, paper->job, material);
        buf->failed |= size == NULL;
        dw_buf__format(buf, "%s%s tube", material->name ? ", " : "", size ? size : "");
    } else if (!material->name) {
        dw_buf__put(buf, material->id);
    }
    dw_material__say_make(buf, material, material->name ? material->name : "");
    if (material->radius) {
        dw_cost__exact(paper->job, material->radius, radius);
        dw_buf__format(buf, ", rolled to a centre-line radius of %s", radius);
    }
}

static void say_bars(struct dw_buf *buf, const struct order_paper *paper,
                     const struct dw_order_line *line)
{
    const struct dw_supply *supply = &paper->job->supplies[line->supply];
    char length[DW_LENGTH_TEXT], bend[DW_LENGTH_TEXT];
    say_tube(buf, paper, supply->material);
    dw_cost__exact(paper->job, supply->length, length);
    dw_buf__format(buf, ", %s long", length);
    if (supply->bend) {
        dw_cost__exact(paper->job, supply->bend, bend);
        dw_buf__format(buf, ", one end bent within %s", bend);
    }
    if (line->pack > 1)
        dw_buf__format(buf, "\n%" PRId64 " pack%s of %" PRId64, line->packs,
                       line->packs == 1 ? "" : "s", line->pack);
    if (line->weight_mg >= 0) {
        char weight[DW_WEIGHT_TEXT];
        dw_weight_print(weight, line->weight_mg, paper->job->unit);
        dw_buf__format(buf, "%sabout %s", line->pack > 1 ? ", " : "\n", weight);
    }
}

static const struct dw_supplier *terms_of(const struct order_paper *paper, const char *name)
{
    for (size_t i = 0; name && i < paper->job->n_suppliers; i++)
        if (strcmp(paper->job->suppliers[i].name, name) == 0)
            return &paper->job->suppliers[i];
    return NULL;
}

/* "Cutting by you: 3 cuts to 3000 mm; 2 of them free" */
static void say_cuts(struct dw_buf *buf, const struct order_paper *paper,
                     const struct dw_order_supplier *supplier, const struct dw_order_line *cuts)
{
    const struct dw_supplier *terms = terms_of(paper, supplier->name);
    const char *lead = "Cutting by you: ";
    char length[DW_LENGTH_TEXT];
    for (size_t i = 0; terms && i < supplier->n_lines; i++) {
        const struct dw_order_line *line = &supplier->lines[i];
        int64_t n = line->packs * terms->cuts_a_pack;
        if (line->kind != DW_ORDER_BARS || n == 0)
            continue;
        dw_cost__exact(paper->job, line->length, length);
        dw_buf__format(buf, "%s%" PRId64 " cut%s to bars of %s", lead, n, n == 1 ? "" : "s",
                       length);
        lead = ", ";
    }
    int64_t free = terms && terms->cuts_free < cuts->quantity ? terms->cuts_free : cuts->quantity;
    if (terms && free > 0)
        dw_buf__format(buf, "; %" PRId64 " of them free", free);
}

static void say_what(struct dw_buf *buf, const struct order_paper *paper,
                     const struct dw_order_supplier *supplier, const struct dw_order_line *line)
{
    static const char *const charges[] = {[DW_ORDER_MINIMUM] = "Up to your least order",
                                          [DW_ORDER_SMALL] = "Your surcharge for a small order",
                                          [DW_ORDER_FREIGHT] = "Freight"};
    if (line->kind == DW_ORDER_BARS)
        say_bars(buf, paper, line);
    else if (line->kind == DW_ORDER_CUTS)
        say_cuts(buf, paper, supplier, line);
    else
        dw_buf__put(buf, line->kind == DW_ORDER_FITTING ? line->text : charges[line->kind]);
    dw_draw__hold(buf, paper->job->unit);
}

static void put_amount(struct dw_buf *buf, const struct order_paper *paper, dw_money amount,
                       bool bare)
{
    char figure[DW_MONEY_TEXT];
    dw_money_print(figure, amount, paper->job->currency, bare);
    dw_language__figure(buf, paper->letter.language, figure);
}

static void draw_line(const struct dw_ruled *table, const struct order_paper *paper,
                      const struct dw_order_supplier *supplier, size_t i)
{
    const struct dw_order_line *line = &supplier->lines[i];
    bool goods = line->kind == DW_ORDER_BARS || line->kind == DW_ORDER_FITTING;
    char quantity[32] = "";
    struct dw_buf what = {0}, each = {0}, amount = {0};
    if (goods || line->kind == DW_ORDER_CUTS) {
        snprintf(quantity, sizeof quantity, "%" PRId64, line->quantity);
        put_amount(&each, paper, line->unit_price, true);
    }
    put_amount(&amount, paper, paper->shown[i], true);
    say_what(&what, paper, supplier, line);
    if (what.failed || each.failed || amount.failed)
        dw_canvas__fail(table->flow->canvas, DW_ERR_NOMEM);
    const char *const cells[] = {line->number, what.text, quantity, each.text, amount.text};
    dw_ruled__row(table, cells, false);
    dw_buf__free(&what);
    dw_buf__free(&each);
    dw_buf__free(&amount);
}

static void draw_lines(struct dw_flow *flow, struct order_paper *paper,
                       const struct dw_order_supplier *supplier)
{
    char head[40];
    struct dw_buf text = {0};
    dw_money sum = 0;
    snprintf(head, sizeof head, "Amount%s%s", strcmp(paper->job->currency, "XXX") ? ", " : "",
             strcmp(paper->job->currency, "XXX") ? paper->job->currency : "");
    const struct dw_ruled_column columns[] = {{"Item number", 25, DW_ALIGN_LEFT},
                                              {"Designation", 0, DW_ALIGN_LEFT},
                                              {"Quantity", 15, DW_ALIGN_RIGHT},
                                              {"Unit price", 20, DW_ALIGN_RIGHT},
                                              {head, 28, DW_ALIGN_RIGHT}};
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    dw_money *exact = calloc(supplier->n_lines + 1, sizeof *exact);
    paper->shown = calloc(supplier->n_lines + 1, sizeof *paper->shown);
    if (!exact || !paper->shown) {
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    } else {
        for (size_t i = 0; i < supplier->n_lines; i++)
            exact[i] = supplier->lines[i].money;
        dw_cost__add_up(paper->job->currency, supplier->n_lines, exact, paper->shown, &sum);
        dw_flow__need(flow, 16);
        dw_ruled__head(&table);
        for (size_t i = 0; i < supplier->n_lines; i++)
            draw_line(&table, paper, supplier, i);
        dw_ruled__rule(&table, 0.5);
        put_amount(&text, paper, sum, false);
        const char *const cells[] = {"Total without tax", NULL, NULL, NULL, text.text};
        dw_ruled__sum(&table, cells, true);
        dw_buf__free(&text);
    }
    free(exact);
    free(paper->shown);
    paper->shown = NULL;
}

/* --- the letter --------------------------------------------------------------------------------
 */

static void say_day(struct dw_buf *buf, const struct order_paper *paper, const char *date)
{
    dw_buf__free(buf);
    if (date)
        dw_language__date(buf, paper->letter.language, date);
}

static void add_row(struct dw_letter *letter, const char *label, const char *text)
{
    letter->rows[letter->n_rows].label = label;
    letter->rows[letter->n_rows++].text = text;
}

/* Sets the letter for the s-th supplier, before its first page. */
static void address(struct order_paper *paper, size_t s)
{
    const struct dw_order_doc *order = paper->order;
    const struct dw_order_supplier *to = s < order->n_suppliers ? &order->suppliers[s] : NULL;
    const struct dw_shop *shop = paper->letter.shop;
    struct dw_letter *letter = &paper->letter;
    letter->to = to ? to->name : NULL;
    letter->address = to ? to->address : NULL;
    letter->number = to && paper->options->numbers ? paper->options->numbers[s] : NULL;
    letter->n_rows = 0;
    say_day(&paper->texts[0], paper, order->date);
    say_day(&paper->texts[1], paper, paper->options->wanted);
    add_row(letter, "Date", paper->texts[0].text);
    add_row(letter, "Wanted by", paper->texts[1].text);
    add_row(letter, "Our number with you", to ? to->customer : NULL);
    if (shop && shop->contact) /* telephone and mail stand in the head */
        snprintf(paper->contact, sizeof paper->contact, "%.*s", (int)strcspn(shop->contact, "\n"),
                 shop->contact);
    add_row(letter, "Contact", paper->contact);
    add_row(letter, "Deliver to", shop ? (shop->deliver ? shop->deliver : shop->address) : NULL);
}

static void draw_prices_of(struct dw_flow *flow, const struct order_paper *paper,
                           const struct dw_order_supplier *supplier)
{
    const struct dw_language *language = paper->letter.language;
    struct dw_buf text = {0};
    if (!supplier->price_date && !supplier->valid_until)
        return;
    dw_buf__put(&text, "At your prices");
    if (supplier->price_date) {
        dw_buf__put(&text, " of ");
        dw_language__date(&text, language, supplier->price_date);
    }
    if (supplier->valid_until) {
        dw_buf__put(&text, supplier->expired ? ", which held until " : ", valid until ");
        dw_language__date(&text, language, supplier->valid_until);
    }
    dw_buf__put(&text, supplier->expired ? ": please confirm them before you deliver." : ".");
    if (text.failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    flow->y += 2;
    dw_flow__say(flow, 3.2, supplier->expired, text.text);
    dw_buf__free(&text);
}

static void draw_supplier(struct dw_flow *flow, struct order_paper *paper,
                          const struct dw_order_supplier *supplier)
{
    dw_flow__say(flow, 3.4, false, "Please deliver:");
    flow->y += 2;
    draw_lines(flow, paper, supplier);
    draw_prices_of(flow, paper, supplier);
    if (supplier->weight_mg > 0) {
        char weight[DW_WEIGHT_TEXT], text[120];
        dw_weight_print(weight, supplier->weight_mg, paper->job->unit);
        snprintf(text, sizeof text, "The bars weigh about %s together.", weight);
        dw_flow__say(flow, 3.2, false, text);
    }
}

static void draw_body(struct dw_flow *flow, void *user)
{
    struct order_paper *paper = user;
    for (size_t s = 0; s < paper->order->n_suppliers; s++) {
        if (s > 0) { /* no supplier sees another's prices */
            address(paper, s);
            dw_flow__part(flow);
            dw_flow__page(flow);
        }
        draw_supplier(flow, paper, &paper->order->suppliers[s]);
    }
    if (paper->order->n_suppliers == 0)
        dw_flow__say(flow, 4, false, "Nothing to buy: the shelf gives all of it.");
    address(paper, 0); /* for the next pass */
}

dw_err dw_draw_order(const struct dw_job *job, const struct dw_order_doc *order,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error)
{
    struct order_paper paper = {.job = job, .order = order, .options = options};
    struct dw_buf cautions = {0};
    dw_buf__format(&cautions, "%s %s", dw_caution_text(DW_CAUTION_ESTIMATE),
                   dw_language__find("en")->words[DW_SAY_CAUTION]);
    paper.letter = (struct dw_letter){.language = dw_language__find("en"),
                                      .shop = options->shop ? options->shop : job->shop,
                                      .title = "Order",
                                      .caution = cautions.text};
    address(&paper, 0);
    const struct dw_frame frame = {
        .page = dw_letter__page,
        .user = &paper.letter,
        .about = {.title = order->job ? order->job : "Order",
                  .author = paper.letter.shop ? paper.letter.shop->name : NULL,
                  .date = dw_draw__stamp(options)}};
    *out = NULL;
    dw_err err = cautions.failed ? dw_error__nomem(error)
                                 : dw_flow__run(options, &frame, draw_body, &paper, out, error);
    dw_buf__free(&cautions);
    for (size_t i = 0; i < DW_COUNT(paper.texts); i++)
        dw_buf__free(&paper.texts[i]);
    return err;
}
