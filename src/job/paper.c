/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is drawn for each paper, and in which form it is written. */
#include "job/paper.h"
#include "base/base.h"
#include "draw/page.h"
#include "job/several.h"
#include "model/model.h"

#include <dropwise/draw.h>
#include <dropwise/files.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const forms[] = {"pdf", "svg", "png"};
static const char *const papers[] = {"a4", "letter"};
static const char *const orders[] = {"plan", "section", "stops"};

static size_t find(const char *const *words, size_t n, const char *word)
{
    size_t i = 0;
    while (i < n && strcmp(words[i], word) != 0)
        i++;
    return i;
}

const char *dw_paper__form_of(const char *path)
{
    const char *dot = strrchr(path, '.');
    size_t i = dot ? find(forms, DW_COUNT(forms), dot + 1) : DW_COUNT(forms);
    return i < DW_COUNT(forms) ? forms[i] : NULL;
}

/* What the request leaves open is the shop's. */
static dw_err read_request(const struct dw_paper_request *request, const struct dw_shop *of_job,
                           struct dw_draw_options *options, struct dw_error *error)
{
    const struct dw_shop *shop = request->shop ? request->shop : of_job;
    const char *size = request->paper ? request->paper : shop ? shop->paper : NULL;
    size_t form = find(forms, DW_COUNT(forms), request->form);
    size_t paper = size ? find(papers, DW_COUNT(papers), size) : 0;
    size_t order = request->order ? find(orders, DW_COUNT(orders), request->order) : 0;
    if (form == DW_COUNT(forms))
        return dw_error__set(error, DW_ERR_INPUT, "\"%s\" is no form of paper: pdf, svg or png",
                             request->form);
    if (paper == DW_COUNT(papers))
        return dw_error__set(error, DW_ERR_INPUT, "\"%s\" is no paper size: a4 or letter",
                             request->paper);
    if (order == DW_COUNT(orders))
        return dw_error__set(error, DW_ERR_INPUT,
                             "\"%s\" is no order of bars: plan, section or stops", request->order);
    *options = (struct dw_draw_options){.form = (enum dw_form)form,
                                        .paper = (enum dw_paper)paper,
                                        .order = (enum dw_sheet_order)order,
                                        .dpi = request->dpi,
                                        .plan_number = request->number,
                                        .date = request->date,
                                        .paper_number = request->paper_number,
                                        .numbers = request->numbers,
                                        .wanted = request->wanted,
                                        .shop = request->shop,
                                        .parts = request->parts,
                                        .compact = request->compact,
                                        .large = request->large,
                                        .stamp = request->stamp[0] ? request->stamp : NULL,
                                        .to_come = request->to_come};
    return DW_OK;
}

/* Takes the pages out of a document and frees the rest. */
static dw_err take_pages(dw_err err, struct dw_drawing *document, struct dw_paper_pages *out,
                         struct dw_error *error)
{
    *out = (struct dw_paper_pages){0};
    if (err == DW_OK) {
        out->files = calloc(document->n_files + 1, sizeof *out->files);
        if (!out->files)
            err = dw_error__nomem(error);
    }
    if (err == DW_OK) {
        out->n_pages = document->n_pages;
        out->n_files = document->n_files;
        snprintf(out->missing, sizeof out->missing, "%s",
                 document->missing ? document->missing : "");
        for (size_t i = 0; i < document->n_files; i++) {
            out->files[i] = (struct dw_paper_file){document->files[i].bytes, document->files[i].n};
            document->files[i] = (struct dw_image){0};
        }
    }
    dw_drawing_free(document);
    return err;
}

void dw_paper__free(struct dw_paper_pages *pages)
{
    for (size_t i = 0; i < pages->n_files; i++)
        free(pages->files[i].bytes);
    free(pages->files);
    *pages = (struct dw_paper_pages){0};
}

/* --- writing ------------------------------------------------------------------------------ */

dw_err dw_paper__write(const struct dw_paper_pages *pages, const char *path, bool replace,
                       struct dw_error *error)
{
    struct dw_several_file *files = calloc(pages->n_files + 1, sizeof *files);
    if (!files)
        return dw_error__nomem(error);
    for (size_t i = 0; i < pages->n_files; i++) {
        char page[24];
        snprintf(page, sizeof page, "%zu", i + 1);
        files[i].name = dw_several__name(path, pages->n_files > 1 ? page : NULL);
        files[i].bytes = pages->files[i].bytes;
        files[i].n = pages->files[i].n;
    }
    dw_err err = dw_several__write(files, pages->n_files, replace, error);
    for (size_t i = 0; i < pages->n_files; i++)
        free(files[i].name);
    free(files);
    return err;
}

/* --- papers ------------------------------------------------------------------------------- */

/* Its number on the shelf, or, while it is not held, eight hexadecimal digits of FNV-1a over the
 * plan document. */
dw_err dw_paper__number(const struct dw_job *job, const struct dw_plan *plan,
                        struct dw_paper_number *out, struct dw_error *error)
{
    char *text = NULL;
    if (plan->number > 0) {
        int n = snprintf(out->text, sizeof out->text, "%" PRId64, plan->number);
        if (plan->replaces > 0)
            snprintf(out->text + n, sizeof out->text - (size_t)n, ", in place of %" PRId64,
                     plan->replaces);
        return DW_OK;
    }
    dw_err err = dw_plan_to_json(job, plan, &text, error);
    if (err != DW_OK)
        return err;
    uint32_t hash = 2166136261u;
    for (const unsigned char *c = (const unsigned char *)text; *c; c++)
        hash = (hash ^ *c) * 16777619u;
    free(text);
    snprintf(out->text, sizeof out->text, "%08lx", (unsigned long)hash);
    return DW_OK;
}

dw_err dw_paper__sheet(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_paper_request *request, struct dw_paper_pages *out,
                       struct dw_error *error)
{
    *out = (struct dw_paper_pages){0};
    struct dw_draw_options options = {0};
    struct dw_paper_number number = {{0}};
    dw_err err = read_request(request, job ? job->shop : NULL, &options, error);
    if (err == DW_OK && !options.plan_number) {
        err = dw_paper__number(job, plan, &number, error);
        options.plan_number = number.text;
    }
    if (err != DW_OK)
        return err;
    struct dw_drawing *document = NULL;
    err = dw_draw_sheet(job, plan, &options, &document, error);
    return take_pages(err, document, out, error);
}

const char *dw_paper__stock_fault(const char *stock)
{
    struct dw_label_stock measured;
    return dw_label_stock_find(stock) ? NULL : dw_label_stock_read(stock, &measured);
}

bool dw_paper__stock(size_t i, const char **id, const char **text)
{
    const struct dw_label_stock *stock = dw_label_stock_at(i);
    if (!stock)
        return false;
    *id = stock->id;
    *text = stock->text;
    return true;
}

#define USUAL "a4-21" /* label stock */

/* No labels make no page. */
static dw_err draw_labels(const struct dw_job *job, const struct dw_label *list, size_t n,
                          const struct dw_labels_request *labels,
                          const struct dw_paper_request *request, struct dw_paper_pages *out,
                          struct dw_error *error)
{
    struct dw_draw_options options = {0};
    struct dw_drawing *document = NULL;
    dw_err err = read_request(request, job ? job->shop : NULL, &options, error);
    if (err != DW_OK)
        return err;
    const struct dw_shop *shop = request->shop ? request->shop : job->shop;
    const char *name = labels->stock ? labels->stock : shop && shop->labels ? shop->labels : USUAL;
    for (size_t i = 0; shop && i < 2; i++)
        options.shift_mm[i] = (double)shop->shift[i] / (double)DW_NM_PER_MM;
    struct dw_label_stock measured;
    const struct dw_label_stock *stock = dw_label_stock_find(name);
    const char *fault = stock ? NULL : dw_label_stock_read(name, &measured);
    if (fault)
        return dw_error__set(error, DW_ERR_NOTFOUND, "label stock \"%.80s\": %s", name, fault);
    stock = stock ? stock : &measured;
    if (n == 0)
        return DW_OK;
    err = dw_draw_labels(list, n, stock, (size_t)labels->skip, &options, &document, error);
    return take_pages(err, document, out, error);
}

dw_err dw_paper__labels(const struct dw_job *job, const struct dw_plan *plan,
                        const struct dw_labels_request *labels,
                        const struct dw_paper_request *request, size_t *n_labels,
                        struct dw_paper_pages *out, struct dw_error *error)
{
    *out = (struct dw_paper_pages){0};
    *n_labels = 0;
    struct dw_label_list list;
    dw_err err = dw_label_list_make(job, plan, request->number, labels->parts, labels->offcuts,
                                    &list, error);
    if (err != DW_OK)
        return err;
    *n_labels = list.n;
    err = draw_labels(job, list.labels, list.n, labels, request, out, error);
    dw_label_list_free(&list);
    return err;
}

dw_err dw_paper__shelf_labels(const struct dw_job *job, const struct dw_stock_list *pieces,
                              const struct dw_labels_request *labels,
                              const struct dw_paper_request *request, struct dw_paper_pages *out,
                              struct dw_error *error)
{
    *out = (struct dw_paper_pages){0};
    const struct dw_length_style style = dw_job__style(job);
    struct dw_label *list = calloc(pieces->n + 1, sizeof *list);
    char(*lengths)[DW_LENGTH_TEXT] = calloc(pieces->n + 1, sizeof *lengths);
    dw_err err = list && lengths ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; err == DW_OK && i < pieces->n; i++) {
        const struct dw_stock *stock = &pieces->rows[i];
        dw_length_print(lengths[i], dw_stock_actual(stock), &style);
        list[i] = (struct dw_label){.code = stock->number,
                                    .title = stock->number,
                                    .length = lengths[i],
                                    .material = stock->material,
                                    .job = stock->owner ? stock->owner : stock->job,
                                    .section = stock->mark,
                                    .remark = stock->remark};
    }
    if (err == DW_OK)
        err = draw_labels(job, list, pieces->n, labels, request, out, error);
    free(list);
    free(lengths);
    return err;
}

dw_err dw_paper__order(const struct dw_job *job, const struct dw_order_doc *order,
                       const struct dw_paper_request *request, struct dw_paper_pages *out,
                       struct dw_error *error)
{
    *out = (struct dw_paper_pages){0};
    struct dw_draw_options options = {0};
    dw_err err = read_request(request, job ? job->shop : NULL, &options, error);
    if (err != DW_OK)
        return err;
    struct dw_drawing *document = NULL;
    err = dw_draw_order(job, order, &options, &document, error);
    return take_pages(err, document, out, error);
}

dw_err dw_paper__quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                       const struct dw_paper_request *request, struct dw_paper_pages *out,
                       struct dw_error *error)
{
    *out = (struct dw_paper_pages){0};
    struct dw_draw_options options = {0};
    dw_err err = read_request(request, job ? job->shop : NULL, &options, error);
    if (err != DW_OK)
        return err;
    struct dw_drawing *document = NULL;
    err = dw_draw_quote(job, quote, client, &options, &document, error);
    return take_pages(err, document, out, error);
}

dw_err dw_paper__bar(const struct dw_job *job, const struct dw_layout *layout, double width_mm,
                     struct dw_paper_file *out, struct dw_error *error)
{
    struct dw_image file;
    dw_err err = dw_draw_bar(job, layout, width_mm, &file, error);
    *out = (struct dw_paper_file){file.bytes, file.n};
    return err;
}

dw_err dw_paper__code(const char *text, double width_mm, struct dw_paper_file *out,
                      struct dw_error *error)
{
    struct dw_image file;
    dw_err err = dw_draw_code(text, width_mm, &file, error);
    *out = (struct dw_paper_file){file.bytes, file.n};
    return err;
}
