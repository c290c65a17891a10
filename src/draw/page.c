/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The frame of a page, flow from page to page, and quantities as text. */
#include "draw/page.h"
#include "draw/apart.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const struct {
    double width_mm, height_mm;
} papers[] = {[DW_PAPER_A4] = {210, 297}, [DW_PAPER_LETTER] = {215.9, 279.4}};

/* --- text --------------------------------------------------------------------------------- */

struct dw_length_style dw_draw__style(const struct dw_job *job)
{
    return (struct dw_length_style){
        .unit = job->unit, .denominator = job->denominator, .decimals = 3};
}

static void print_length(const struct dw_job *job, dw_length length, bool bare,
                         char out[DW_LENGTH_TEXT])
{
    struct dw_length_style style = dw_draw__style(job);
    style.bare = bare;
    dw_length_print(out, length, &style);
}

struct dw_text dw_draw__length(const struct dw_job *job, dw_length length)
{
    struct dw_text text = {{0}};
    print_length(job, length, false, text.text);
    return text;
}

struct dw_text dw_draw__mark(const struct dw_job *job, dw_length length)
{
    char out[DW_LENGTH_TEXT];
    print_length(job, length, true, out);
    struct dw_text text = {{0}};
    size_t n = 0;
    for (const char *c = out; *c && n + 3 < sizeof text.text; c++) {
        if (*c == ' ')
            text.text[n++] = '\xC2'; /* a no-break space */
        text.text[n++] = *c == ' ' ? '\xA0' : *c;
    }
    return text;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

void dw_draw__hold(struct dw_buf *buf, enum dw_unit unit)
{
    const char *name = dw_unit_name(unit);
    size_t n = strlen(name);
    struct dw_buf held = {.failed = buf->failed};
    for (size_t i = 0; i < buf->n; i++) {
        const char *c = &buf->text[i];
        bool inside = *c == ' ' && i > 0 && is_digit(c[-1]) &&
                      (is_digit(c[1]) || (strncmp(c + 1, name, n) == 0 && !is_letter(c[1 + n])));
        if (inside)
            dw_buf__put(&held, "\u00a0");
        else
            dw_buf__char(&held, *c);
    }
    dw_buf__free(buf);
    *buf = held;
}

const char *dw_draw__stamp(const struct dw_draw_options *options)
{
    return options->stamp ? options->stamp : options->date;
}

struct dw_text dw_draw__money(const struct dw_job *job, dw_money amount)
{
    struct dw_text text = {{0}};
    dw_money_print(text.text, amount, job->currency, false);
    return text;
}

/* --- frame -------------------------------------------------------------------------------- */

/* On one line, or, where that would be too small to read, on two or three. */
static void draw_name(struct dw_flow *flow, double width)
{
    static const double sizes[] = {3.4, 2.8, 2.3};
    struct dw_type type = {.size_mm = 6, .least_mm = 3.4, .bold = true};
    const char *name = flow->frame->job;
    if (dw_canvas__measure(flow->canvas, &type, name) * type.least_mm / type.size_mm <= width) {
        dw_canvas__line(flow->canvas, flow->left, DW_MARGIN_MM, width, &type, name);
        return;
    }
    for (size_t i = 0; i < DW_COUNT(sizes); i++) {
        type.size_mm = sizes[i];
        type.least_mm = 1.6;
        if (dw_canvas__paragraph(flow->canvas, 0, 0, width, &type, name, false) > 8)
            continue;
        dw_canvas__paragraph(flow->canvas, flow->left, DW_MARGIN_MM, width, &type, name, true);
        return;
    }
    dw_canvas__line(flow->canvas, flow->left, DW_MARGIN_MM, width, &type, name);
}

static void draw_head(struct dw_flow *flow)
{
    const struct dw_frame *frame = flow->frame;
    const struct dw_type title = {.size_mm = 6, .align = DW_ALIGN_RIGHT};
    const struct dw_type small = {.size_mm = 3.2, .least_mm = 2};
    double width = flow->right - flow->left;
    draw_name(flow, width - 52);
    dw_canvas__line(flow->canvas, flow->right - 50, DW_MARGIN_MM, 50, &title, frame->title);
    struct dw_buf line = {0};
    dw_buf__put(&line, frame->date ? frame->date : "");
    if (frame->number)
        dw_buf__format(&line, "%splan %s", line.n ? "   " : "", frame->number);
    if (frame->client)
        dw_buf__format(&line, "%s%s", line.n ? "   " : "", frame->client);
    if (line.failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    dw_canvas__line(flow->canvas, flow->left, DW_MARGIN_MM + 8, width, &small,
                    line.text ? line.text : "");
    dw_buf__free(&line);
    dw_canvas__rule(flow->canvas, flow->left, DW_MARGIN_MM + 13, flow->right, DW_MARGIN_MM + 13,
                    0.4);
}

/* A bar of exactly 100 mm, so that anybody can see whether the printer kept the scale. */
static void draw_scale(struct dw_flow *flow, double y)
{
    const struct dw_type tiny = {.size_mm = 2.4};
    double x = flow->left;
    dw_canvas__rule(flow->canvas, x, y, x + 100, y, 0.25);
    dw_canvas__rule(flow->canvas, x, y - 1.5, x, y + 1.5, 0.25);
    dw_canvas__rule(flow->canvas, x + 50, y - 1, x + 50, y + 1, 0.25);
    dw_canvas__rule(flow->canvas, x + 100, y - 1.5, x + 100, y + 1.5, 0.25);
    dw_canvas__line(flow->canvas, x + 102, y - 1.7, 44, &tiny, "100 mm if printed at full size");
}

static void draw_foot(struct dw_flow *flow)
{
    const struct dw_type small = {.size_mm = 2.7};
    const struct dw_type page = {.size_mm = 3.2, .align = DW_ALIGN_RIGHT};
    double y = flow->bottom + 2;
    dw_canvas__rule(flow->canvas, flow->left, y, flow->right, y, 0.2);
    struct dw_buf cautions = {0};
    dw_caution__general(&cautions, flow->frame->place);
    if (cautions.failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    else
        dw_canvas__paragraph(flow->canvas, flow->left, y + 1.2, flow->right - flow->left, &small,
                             cautions.text, true);
    dw_buf__free(&cautions);
    draw_scale(flow, y + 13.2);
    char text[60];
    size_t at = 0, pages = 0;
    dw_flow__place(flow, &at, &pages);
    snprintf(text, sizeof text, "page %zu of %zu", at, pages);
    dw_canvas__line(flow->canvas, flow->right - 35, y + 11.2, 35, &page, text);
}

void dw_flow__page(struct dw_flow *flow)
{
    dw_canvas__page(flow->canvas);
    flow->part_page++;
    if (flow->n_pages == 0 && flow->part <= flow->n_parts)
        flow->part_pages[flow->part - 1] = flow->part_page;
    if (flow->frame->page) {
        flow->frame->page(flow, flow->frame->user);
        return;
    }
    if (flow->frame->band)
        dw_canvas__band(flow->canvas, 0, 0, flow->left + flow->right, 9, flow->frame->band);
    draw_head(flow);
    draw_foot(flow);
    flow->y = DW_MARGIN_MM + 16;
}

void dw_flow__part(struct dw_flow *flow)
{
    flow->part++;
    flow->part_page = 0;
}

void dw_flow__place(const struct dw_flow *flow, size_t *page, size_t *pages)
{
    *page = flow->part_page;
    *pages = flow->n_pages == 0            ? 0
             : flow->part <= flow->n_parts ? flow->part_pages[flow->part - 1]
                                           : flow->part_page;
}

bool dw_flow__need(struct dw_flow *flow, double height)
{
    if (flow->y + height <= flow->bottom)
        return false;
    dw_flow__page(flow);
    return true;
}

void dw_flow__say(struct dw_flow *flow, double size_mm, bool bold, const char *text)
{
    if (!text)
        return;
    const struct dw_type type = {.size_mm = size_mm, .bold = bold};
    double width = flow->right - flow->left;
    double height =
        dw_canvas__paragraph(flow->canvas, flow->left, flow->y, width, &type, text, false);
    dw_flow__need(flow, height + 1);
    dw_canvas__paragraph(flow->canvas, flow->left, flow->y, width, &type, text, true);
    flow->y += height + 1;
}

/* --- two passes --------------------------------------------------------------------------- */

#define PARTS 1000 /* papers in one file whose pages are counted each */

struct run {
    const struct dw_draw_options *options;
    const struct dw_frame *frame;
    dw_body *body;
    void *user;
    size_t part_pages[PARTS];
};

static dw_err make_flow(struct run *run, bool counting, struct dw_flow *flow,
                        struct dw_error *error)
{
    const struct dw_draw_options *options = run->options;
    double width = papers[options->paper].width_mm, height = papers[options->paper].height_mm;
    *flow = (struct dw_flow){.frame = run->frame,
                             .part_pages = run->part_pages,
                             .n_parts = PARTS,
                             .part = 1,
                             .paper_width = width,
                             .paper_height = height,
                             .left = DW_MARGIN_MM,
                             .right = width - DW_MARGIN_MM,
                             .bottom = height - DW_MARGIN_MM - 16};
    return dw_canvas__new(options->form, width, height, options->dpi, counting, &flow->canvas,
                          error);
}

static dw_err run_twice(void *user, struct dw_drawing **out, struct dw_error *error)
{
    struct run *run = user;
    struct dw_flow flow;
    dw_err err = make_flow(run, true, &flow, error);
    if (err != DW_OK)
        return err;
    dw_flow__page(&flow);
    run->body(&flow, run->user);
    size_t n_pages = dw_canvas__n_pages(flow.canvas);
    dw_canvas__free(flow.canvas);

    err = make_flow(run, false, &flow, error);
    if (err != DW_OK)
        return err;
    flow.n_pages = n_pages;
    dw_canvas__about(flow.canvas, &run->frame->about);
    dw_flow__page(&flow);
    run->body(&flow, run->user);
    err = dw_canvas__finish(flow.canvas, out, error);
    dw_canvas__free(flow.canvas);
    return err;
}

dw_err dw_flow__run(const struct dw_draw_options *options, const struct dw_frame *frame,
                    dw_body *body, void *user, struct dw_drawing **out, struct dw_error *error)
{
    struct run *run = calloc(1, sizeof *run);
    if (!run)
        return dw_error__nomem(error);
    *run = (struct run){.options = options, .frame = frame, .body = body, .user = user};
    dw_err err = dw_draw__apart(run_twice, run, out, error);
    free(run);
    return err;
}
