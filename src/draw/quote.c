/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The quote: its two papers and their frames. */
#include "draw/quote.h"

#include <stdio.h>
#include <string.h>

static void draw_body(struct dw_flow *flow, void *user)
{
    const struct dw_quote_paper *paper = user;
    if (paper->client == DW_NONE)
        dw_quote__private(flow, paper);
    else
        dw_quote__client(flow, paper);
}

static dw_err draw_private(const struct dw_quote_paper *paper, struct dw_drawing **out,
                           struct dw_error *error)
{
    const struct dw_quote_doc *quote = paper->quote;
    const char *name = quote->job ? quote->job : "Job";
    const struct dw_frame frame = {
        .job = name,
        .title = "Costs",
        .band = "FOR THE SHOP ALONE: COSTS AND MARGINS, NOT FOR A CLIENT",
        .date = paper->options->date ? paper->options->date : quote->date,
        .number = paper->options->plan_number,
        .place = DW_AT_QUOTE,
        .about = {.title = "Costs, for the shop alone", .date = dw_draw__stamp(paper->options)}};
    return dw_flow__run(paper->options, &frame, draw_body, (void *)paper, out, error);
}

/* Dates as the client's language says them. */
struct dates {
    struct dw_buf today, until, due;
};

static void add_row(struct dw_letter *letter, enum dw_say label, const char *text)
{
    letter->rows[letter->n_rows].label = letter->language->words[label];
    letter->rows[letter->n_rows++].text = text;
}

static dw_err draw_client(const struct dw_quote_paper *paper, struct dw_drawing **out,
                          struct dw_error *error)
{
    const struct dw_quote_doc *quote = paper->quote;
    const struct dw_quote_job *job = &quote->jobs[paper->client];
    const struct dw_language *language = paper->language;
    const struct dw_draw_options *options = paper->options;
    struct dates dates = {{0}, {0}, {0}};
    if (quote->date)
        dw_language__date(&dates.today, language, quote->date);
    if (quote->valid_until)
        dw_language__date(&dates.until, language, quote->valid_until);
    if (job->due)
        dw_language__date(&dates.due, language, job->due);
    struct dw_letter letter = {.language = language,
                               .shop = paper->shop,
                               .to = job->client,
                               .address = job->address,
                               .title = language->words[DW_SAY_QUOTE],
                               .number = options->paper_number,
                               .caution = language->words[DW_SAY_CAUTION]};
    add_row(&letter, DW_SAY_DATE_OF_PAPER, dates.today.text);
    add_row(&letter, DW_SAY_VALID_UNTIL, dates.until.text);
    add_row(&letter, DW_SAY_REFERENCE, job->reference);
    add_row(&letter, DW_SAY_DUE, dates.due.text);
    struct dw_buf title = {0};
    dw_buf__format(&title, "%s%s%s", letter.title, letter.number ? " " : "",
                   letter.number ? letter.number : "");
    const struct dw_frame frame = {.page = dw_letter__page,
                                   .user = &letter,
                                   .about = {.title = title.text,
                                             .author = paper->shop ? paper->shop->name : NULL,
                                             .date = dw_draw__stamp(options)}};
    bool failed = title.failed || dates.today.failed || dates.until.failed || dates.due.failed;
    dw_err err = failed ? dw_error__nomem(error)
                        : dw_flow__run(options, &frame, draw_body, (void *)paper, out, error);
    dw_buf__free(&title);
    dw_buf__free(&dates.today);
    dw_buf__free(&dates.until);
    dw_buf__free(&dates.due);
    return err;
}

dw_err dw_draw_quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error)
{
    *out = NULL;
    if (client != DW_NONE && client >= quote->n_jobs)
        return dw_error__set(error, DW_ERR_NOTFOUND, "the quote has no job %zu", client + 1);
    struct dw_quote_paper paper = {job, quote, client, options, NULL, NULL};
    paper.shop = options->shop ? options->shop : job->shop;
    if (client == DW_NONE)
        return draw_private(&paper, out, error);
    const char *code = quote->jobs[client].language;
    code = !code && paper.shop ? paper.shop->language : code;
    paper.language = dw_language__find(code);
    if (!paper.language)
        return dw_error__set(error, DW_ERR_INPUT,
                             "no words of the language \"%s\" are there: take en, de, fr or es",
                             code);
    return draw_client(&paper, out, error);
}
