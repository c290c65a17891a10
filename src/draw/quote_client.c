/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quote as the client has it: no cost, share or uplift is at hand where it is drawn. */
#include "cost/cost.h"
#include "draw/quote.h"
#include "draw/ruled.h"
#include "model/saw.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

/* Everything that a line says, in the client's language. */
struct line {
    struct dw_buf what, quantity, each, amount;
};

static void free_line(struct line *line)
{
    dw_buf__free(&line->what);
    dw_buf__free(&line->quantity);
    dw_buf__free(&line->each);
    dw_buf__free(&line->amount);
}

static void put_amount(struct dw_buf *buf, const struct dw_quote_paper *paper, dw_money amount,
                       bool with_code)
{
    char figure[DW_MONEY_TEXT];
    dw_money_print(figure, amount, paper->job->currency, true);
    dw_language__figure(buf, paper->language, figure);
    if (with_code && strcmp(paper->job->currency, "XXX") != 0)
        dw_buf__format(buf, "\u00a0%s", paper->job->currency);
}

/* "steel 42.4 x 2, S235", or "Rohr 42.4 x 2 mm, S235". */
static void put_tube(struct dw_buf *buf, const struct dw_quote_paper *paper, size_t index)
{
    const struct dw_material *material = &paper->job->materials[index];
    if (material->name || material->od == 0) {
        const char *name = dw_cost__material(paper->quote->arena, paper->job, index);
        buf->failed |= name == NULL;
        dw_buf__put(buf, name ? name : "");
        return;
    }
    const char *size = dw_cost__size(paper->quote->arena, paper->job, material);
    buf->failed |= size == NULL;
    dw_language__fill(buf, paper->language, DW_SAY_TUBE, size, NULL, NULL);
    dw_material__say_make(buf, material, "");
}

static void say_what(struct dw_buf *buf, const struct dw_quote_paper *paper,
                     const struct dw_quote_line *line)
{
    bool bars = paper->job->quote && paper->job->quote->way == DW_CHARGE_BARS;
    bool one = line->count == 1;
    struct dw_buf tube = {0};
    char count[24];
    snprintf(count, sizeof count, "%" PRId64, line->count);
    if (line->kind == DW_LINE_TUBE || line->kind == DW_LINE_WASTE)
        put_tube(&tube, paper, line->index);
    if (line->kind == DW_LINE_TUBE)
        dw_language__fill(buf, paper->language,
                          bars  ? one ? DW_SAY_WHOLE_BARS : DW_SAY_WHOLE_BARS_MANY
                          : one ? DW_SAY_TUBE_TO_LENGTH
                                : DW_SAY_TUBE_TO_LENGTHS,
                          tube.text, count, NULL);
    else if (line->kind == DW_LINE_WASTE)
        dw_language__fill(buf, paper->language, DW_SAY_TUBE_WASTE, tube.text, NULL, NULL);
    else if (line->kind == DW_LINE_CUTS)
        dw_buf__put(buf, paper->language->words[DW_SAY_CUTTING]);
    else if (line->kind == DW_LINE_DELIVERY)
        dw_buf__put(buf, paper->language->words[DW_SAY_DELIVERY]);
    else
        dw_buf__put(buf, line->text);
    buf->failed |= tube.failed;
    dw_buf__free(&tube);
}

static void say_quantity(struct dw_buf *buf, const struct dw_quote_paper *paper,
                         const struct dw_quote_line *line)
{
    dw_buf__put(buf, "");
    if (line->kind == DW_LINE_TUBE) {
        dw_language__long(buf, paper->language, line->length, paper->job->unit);
    } else if (line->kind == DW_LINE_FITTINGS) {
        dw_buf__format(buf, "%" PRId64, line->count);
    } else if (line->kind == DW_LINE_LABOUR) {
        char hours[32];
        int n = snprintf(hours, sizeof hours, "%" PRId64 ".%03" PRId64, line->milli_hours / 1000,
                         line->milli_hours % 1000);
        while (n > 0 && (hours[n - 1] == '0' || hours[n - 1] == '.'))
            if (hours[--n] == '.')
                break;
        hours[n] = '\0';
        dw_language__figure(buf, paper->language, hours);
        dw_buf__format(buf, "\u00a0%s", paper->language->words[DW_SAY_HOUR]);
    }
}

/* --- lines -------------------------------------------------------------------------------------
 */

/* What the bars leave goes with the tube that it is of, if both are taxed alike. */
static bool goes_with(const struct dw_quote_line *waste, const struct dw_quote_line *tube)
{
    return waste->kind == DW_LINE_WASTE && tube->kind == DW_LINE_TUBE &&
           waste->index == tube->index && waste->tax_ppm == tube->tax_ppm;
}

static bool is_merged(const struct dw_quote_job *job, size_t i)
{
    for (size_t k = 0; k < job->n_lines; k++)
        if (goes_with(&job->lines[i], &job->lines[k]))
            return true;
    return false;
}

static dw_money price_with_waste(const struct dw_quote_job *job, size_t i)
{
    dw_money price = job->lines[i].price;
    for (size_t k = 0; k < job->n_lines; k++)
        if (goes_with(&job->lines[k], &job->lines[i]))
            price += job->lines[k].price;
    return price;
}

static void check(struct dw_flow *flow, bool failed)
{
    if (failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
}

static void draw_line(const struct dw_ruled *table, const struct dw_quote_paper *paper,
                      const struct dw_quote_job *job, size_t i)
{
    const struct dw_quote_line *from = &job->lines[i];
    dw_money price = price_with_waste(job, i);
    struct line line = {{0}, {0}, {0}, {0}};
    say_what(&line.what, paper, from);
    say_quantity(&line.quantity, paper, from);
    if (from->price_each && from->price_each != price)
        put_amount(&line.each, paper, from->price_each, false);
    put_amount(&line.amount, paper, price, false);
    const char *const cells[] = {line.what.text, line.quantity.text, line.each.text,
                                 line.amount.text};
    check(table->flow, line.what.failed || line.quantity.failed || line.amount.failed);
    dw_ruled__row(table, cells, false);
    free_line(&line);
}

static void draw_sum(const struct dw_ruled *table, const struct dw_quote_paper *paper,
                     struct dw_buf *what, dw_money amount, bool bold)
{
    struct dw_buf text = {0};
    put_amount(&text, paper, amount, true);
    const char *const cells[] = {what->text, NULL, NULL, text.text};
    check(table->flow, text.failed || what->failed);
    dw_ruled__sum(table, cells, bold);
    dw_buf__free(&text);
    dw_buf__free(what);
}

/* "VAT 21 % on 565.29 EUR": what it is on, and how much, is at hand for each rate; what is not
 * taxed is named. */
static void draw_taxes(const struct dw_ruled *table, const struct dw_quote_paper *paper,
                       const struct dw_quote_job *job)
{
    const struct dw_language *language = paper->language;
    struct dw_buf untaxed = {0}, base_text = {0}, what = {0};
    for (size_t i = 0; i < job->n_lines; i++) {
        const struct dw_quote_line *line = &job->lines[i];
        dw_money base = 0, tax = 0;
        bool first = true;
        char rate[32], percent[40];
        for (size_t k = 0; k < job->n_lines; k++) {
            if (job->lines[k].tax_ppm != line->tax_ppm)
                continue;
            first &= k >= i;
            base += job->lines[k].price;
            tax += job->lines[k].tax;
        }
        if (line->tax_ppm == DW_NO_TAX && !is_merged(job, i)) {
            dw_buf__put(&untaxed, untaxed.n ? "; " : "");
            say_what(&untaxed, paper, line);
        }
        if (!first || line->tax_ppm == DW_NO_TAX)
            continue;
        dw_cost__rate(rate, line->tax_ppm);
        struct dw_buf figure = {0};
        dw_language__figure(&figure, language, rate);
        snprintf(percent, sizeof percent, "%s\u00a0%%", figure.text ? figure.text : "");
        dw_buf__free(&figure);
        put_amount(&base_text, paper, base, true);
        dw_language__fill(&what, language, DW_SAY_TAX_ON, paper->quote->tax_name, percent,
                          base_text.text);
        dw_buf__free(&base_text);
        draw_sum(table, paper, &what, tax, false);
    }
    if (job->tax != 0 && untaxed.n > 0) {
        dw_language__fill(&what, language, DW_SAY_NO_TAX_ON, paper->quote->tax_name, untaxed.text,
                          NULL);
        const char *const cells[] = {what.text, NULL, NULL, NULL};
        check(table->flow, what.failed || untaxed.failed);
        dw_ruled__sum(table, cells, false);
        dw_buf__free(&what);
    }
    dw_buf__free(&untaxed);
}

static void draw_lines(struct dw_flow *flow, const struct dw_quote_paper *paper,
                       const struct dw_quote_job *job)
{
    const struct dw_language *language = paper->language;
    char amount[64];
    snprintf(amount, sizeof amount, "%s%s%s", language->words[DW_SAY_AMOUNT],
             strcmp(paper->job->currency, "XXX") ? ", " : "",
             strcmp(paper->job->currency, "XXX") ? paper->job->currency : "");
    const struct dw_ruled_column columns[] = {
        {language->words[DW_SAY_WHAT], 0, DW_ALIGN_LEFT},
        {language->words[DW_SAY_QUANTITY], 22, DW_ALIGN_RIGHT},
        {language->words[DW_SAY_EACH], 22, DW_ALIGN_RIGHT},
        {amount, 32, DW_ALIGN_RIGHT}};
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    struct dw_buf what = {0};
    dw_flow__need(flow, 16);
    dw_ruled__head(&table);
    for (size_t i = 0; i < job->n_lines; i++)
        if (!is_merged(job, i))
            draw_line(&table, paper, job, i);
    dw_flow__need(flow, 26);
    dw_ruled__rule(&table, 0.3);
    if (job->tax != 0) {
        dw_buf__put(&what, language->words[DW_SAY_NET]);
        draw_sum(&table, paper, &what, job->price, false);
    }
    draw_taxes(&table, paper, job);
    dw_ruled__rule(&table, 0.5);
    dw_buf__put(&what, language->words[DW_SAY_TOTAL]);
    draw_sum(&table, paper, &what, job->total, true);
    flow->y += 4;
}

/* --- what else it says --------------------------------------------------------------------------
 */

static void draw_offcuts(struct dw_flow *flow, const struct dw_quote_paper *paper,
                         const struct dw_quote_job *job)
{
    for (size_t i = 0; i < job->n_offcuts; i++) {
        const struct dw_quote_offcut *offcut = &job->offcuts[i];
        struct dw_buf text = {0};
        char count[24];
        snprintf(count, sizeof count, "%" PRId64, offcut->count);
        dw_language__fill(&text, paper->language,
                          offcut->count == 1 ? DW_SAY_OFFCUT : DW_SAY_OFFCUTS,
                          dw_draw__length(paper->job, offcut->length).text, count, NULL);
        check(flow, text.failed);
        dw_flow__say(flow, 3.2, false, text.text);
        dw_buf__free(&text);
    }
}

static void draw_parts(struct dw_flow *flow, const struct dw_quote_paper *paper, size_t order)
{
    const struct dw_language *language = paper->language;
    const struct dw_ruled_column columns[] = {{language->words[DW_SAY_PART], 0, DW_ALIGN_LEFT},
                                              {language->words[DW_SAY_SECTION], 36, DW_ALIGN_LEFT},
                                              {language->words[DW_SAY_LENGTH], 34, DW_ALIGN_RIGHT},
                                              {language->words[DW_SAY_COUNT], 22, DW_ALIGN_RIGHT}};
    const struct dw_ruled table = {flow, columns, DW_COUNT(columns)};
    dw_flow__need(flow, 24);
    flow->y += 3;
    dw_flow__say(flow, 3.8, true, language->words[DW_SAY_PARTS]);
    dw_ruled__head(&table);
    for (size_t i = 0; i < paper->job->n_parts; i++) {
        const struct dw_part *part = &paper->job->parts[i];
        char count[24];
        if (part->order != order || part->post)
            continue;
        snprintf(count, sizeof count, "%" PRId64, part->count);
        struct dw_text length = dw_draw__length(paper->job, part->min);
        const char *const cells[] = {part->label ? part->label : "", part->section, length.text,
                                     count};
        dw_ruled__row(&table, cells, false);
    }
}

#define SIGN_MM 24.0 /* room for a signature, and what it is */

/* What is agreed to, and where it is signed. */
static void draw_terms(struct dw_flow *flow, const struct dw_quote_paper *paper)
{
    const struct dw_language *language = paper->language;
    const struct dw_type small = {.size_mm = 2.7};
    double middle = flow->left + (flow->right - flow->left) * 0.55;
    const char *terms = paper->shop ? paper->shop->terms : NULL;
    const struct dw_type plain = {.size_mm = 3.2};
    double height = SIGN_MM;
    if (terms)
        height += 9 + dw_canvas__paragraph(flow->canvas, 0, 0, flow->right - flow->left, &plain,
                                           terms, false);
    dw_flow__need(flow, height);
    if (terms) {
        flow->y += 2;
        dw_flow__say(flow, 3.4, true, language->words[DW_SAY_TERMS]);
        dw_flow__say(flow, plain.size_mm, false, terms);
    }
    flow->y += SIGN_MM - 8;
    dw_canvas__rule(flow->canvas, flow->left, flow->y, middle - 6, flow->y, 0.2);
    dw_canvas__rule(flow->canvas, middle, flow->y, flow->right, flow->y, 0.2);
    dw_canvas__line(flow->canvas, flow->left, flow->y + 1, middle - flow->left - 6, &small,
                    language->words[DW_SAY_ACCEPTED]);
    dw_canvas__line(flow->canvas, middle, flow->y + 1, flow->right - middle, &small,
                    language->words[DW_SAY_SIGNATURE]);
    flow->y += 8;
}

void dw_quote__client(struct dw_flow *flow, const struct dw_quote_paper *paper)
{
    const struct dw_quote_job *job = &paper->quote->jobs[paper->client];
    if (job->name)
        dw_flow__say(flow, 4, true, job->name);
    if (job->scope) {
        struct dw_buf scope = {0};
        dw_buf__put(&scope, job->scope);
        dw_draw__hold(&scope, paper->job->unit);
        check(flow, scope.failed);
        dw_flow__say(flow, 3.4, false, scope.text);
        dw_buf__free(&scope);
    }
    flow->y += 3;
    draw_lines(flow, paper, job);
    draw_offcuts(flow, paper, job);
    draw_terms(flow, paper);
    if (paper->options->parts)
        draw_parts(flow, paper, job->order);
}
