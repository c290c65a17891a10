/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels with QR codes on sheets and rolls. */
#include "draw/apart.h"
#include "draw/page.h"
#include "model/saw.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- drawing ------------------------------------------------------------------------------ */

#define PAD_MM 1.6

#define LEAST_MM 1.5 /* letters are no smaller */

/* One text of a label, in the order in which they stand, and how it is laid. */
struct text {
    const char *text;
    double size; /* on a label that is 36 mm high */
    bool bold;
    struct dw_type type;
    double height;
};

#define TEXTS 8

/* The texts that there are; returns how many. */
static size_t list_texts(const struct dw_label *label, struct text texts[TEXTS])
{
    const struct text all[TEXTS] = {
        {.text = label->title, .size = 5, .bold = true},
        {.text = label->length, .size = 6, .bold = true},
        {.text = label->bar, .size = 3.4, .bold = true},
        {.text = label->work, .size = 3.2},
        {.text = label->remark, .size = 3},
        {.text = label->job, .size = 3},
        {.text = label->section, .size = 3.2},
        {.text = label->material, .size = 3},
    };
    size_t n = 0;
    for (size_t i = 0; i < TEXTS; i++)
        if (all[i].text && *all[i].text)
            texts[n++] = all[i];
    return n;
}

/* What is bold shrinks a little to stay on one line. */
static void set_type(struct dw_canvas *canvas, struct text *text, double scale, double width)
{
    double size = text->size * scale > LEAST_MM ? text->size * scale : LEAST_MM;
    text->type = (struct dw_type){.size_mm = size, .bold = text->bold};
    if (!text->bold)
        return;
    double fits = size * (width - 0.1) / dw_canvas__measure(canvas, &text->type, text->text);
    if (fits < size && fits > size * 0.6 && fits > LEAST_MM)
        text->type.size_mm = fits;
}

/* Lays the texts out at the largest scale at which all fit into `room`; false if none does: then
 * they are laid out at the smallest. */
static bool fit_texts(struct dw_canvas *canvas, struct text *texts, size_t n, double unit,
                      double width, double room)
{
    static const double scales[] = {1, 0.85, 0.72, 0.61, 0.52, 0.44, 0.37, 0.25};
    bool fits = false;
    for (size_t k = 0; k < DW_COUNT(scales) && !fits; k++) {
        double height = 0;
        for (size_t i = 0; i < n && height <= room + 0.2; i++) {
            set_type(canvas, &texts[i], unit * scales[k], width);
            texts[i].height =
                dw_canvas__paragraph(canvas, 0, 0, width, &texts[i].type, texts[i].text, false);
            height += texts[i].height;
        }
        fits = height <= room + 0.2;
    }
    return fits;
}

/* Letters shrink until all is on the label; if that is not enough, the code gives way. With
 * CODE_BYTES a module of the code is half a millimetre or more on every stock: three dots at 150
 * dpi. */
static void draw_label(struct dw_canvas *canvas, const struct dw_label *label, double x, double y,
                       double w, double h)
{
    double side = h - PAD_MM < w * 0.46 ? h - PAD_MM : w * 0.46;
    double left = label->code ? side + PAD_MM : PAD_MM;
    double unit = h / 36 > 0.62 ? h / 36 : 0.62;
    if (unit > 1.2)
        unit = 1.2;
    struct text texts[TEXTS];
    size_t n = list_texts(label, texts);
    double bottom = y + h - PAD_MM, room = h - 2 * PAD_MM;
    if (!fit_texts(canvas, texts, n, unit, w - left - PAD_MM, room) && label->code) {
        left = PAD_MM;
        fit_texts(canvas, texts, n, unit, w - left - PAD_MM, room);
    }
    if (left > PAD_MM)
        dw_canvas__code(canvas, x + PAD_MM / 2, y + (h - side) / 2, side, label->code);
    y += PAD_MM;
    for (size_t i = 0; i < n && y + texts[i].height <= bottom + 0.2; i++) {
        dw_canvas__paragraph(canvas, x + left, y, w - left - PAD_MM, &texts[i].type, texts[i].text,
                             true);
        y += texts[i].height;
    }
}

struct sheets {
    const struct dw_label *labels;
    size_t n;
    const struct dw_label_stock *stock;
    size_t skip;
    const struct dw_draw_options *options;
};

static dw_err draw_sheets(void *user, struct dw_drawing **out, struct dw_error *error)
{
    const struct sheets *sheets = user;
    const struct dw_label_stock *stock = sheets->stock;
    size_t a_page = (size_t)stock->columns * (size_t)stock->rows;
    struct dw_canvas *canvas = NULL;
    dw_err err = dw_canvas__new(sheets->options->form, stock->page_width_mm, stock->page_height_mm,
                                sheets->options->dpi, false, &canvas, error);
    if (err != DW_OK)
        return err;
    dw_canvas__about(
        canvas, &(struct dw_about){.title = "Labels", .date = dw_draw__stamp(sheets->options)});
    dw_canvas__page(canvas);
    for (size_t i = 0; i < sheets->n; i++) {
        size_t at = (sheets->skip + i) % a_page;
        if (i > 0 && at == 0)
            dw_canvas__page(canvas);
        double column = (double)(at % (size_t)stock->columns);
        double row = (double)(at / (size_t)stock->columns);
        draw_label(canvas, &sheets->labels[i],
                   stock->left_mm + column * stock->step_x_mm + sheets->options->shift_mm[0],
                   stock->top_mm + row * stock->step_y_mm + sheets->options->shift_mm[1],
                   stock->width_mm, stock->height_mm);
    }
    err = dw_canvas__finish(canvas, out, error);
    dw_canvas__free(canvas);
    return err;
}

dw_err dw_draw_labels(const struct dw_label *labels, size_t n_labels,
                      const struct dw_label_stock *stock, size_t skip,
                      const struct dw_draw_options *options, struct dw_drawing **out,
                      struct dw_error *error)
{
    size_t a_page = (size_t)stock->columns * (size_t)stock->rows;
    struct sheets sheets = {labels, n_labels, stock, skip % a_page, options};
    return dw_draw__apart(draw_sheets, &sheets, out, error);
}

/* --- labels of a plan --------------------------------------------------------------------- */

struct maker {
    const struct dw_job *job;
    const char *number; /* of the plan; NULL = none */
    bool parts, offcuts;
    struct dw_label_list *list;
    size_t capacity;
    dw_err err;
};

static const char *keep_text(struct maker *maker, struct dw_buf *buf)
{
    char *text = dw_buf__take(buf);
    char *kept = text ? dw_arena__text(maker->list->arena, text) : NULL;
    free(text);
    if (!kept)
        maker->err = DW_ERR_NOMEM;
    return kept;
}

/* Code texts are cut to what a small code holds: the longest name must not make it unreadable. */
#define CODE_BYTES 26 /* of version 2 at level M, ISO/IEC 18004 table 7 */

static const char *keep_code(struct maker *maker, struct dw_buf *buf)
{
    if (!buf->failed && buf->n > CODE_BYTES) {
        buf->n = dw_utf8__check(buf->text, CODE_BYTES);
        buf->text[buf->n] = '\0';
    }
    return keep_text(maker, buf);
}

static void add_label(struct maker *maker, struct dw_label label)
{
    if (maker->err != DW_OK)
        return;
    if (!dw_array__grow(&maker->list->labels, &maker->capacity, maker->list->n + 1,
                        sizeof *maker->list->labels)) {
        maker->err = DW_ERR_NOMEM;
        return;
    }
    maker->list->labels[maker->list->n++] = label;
}

static const char *material_text(const struct dw_job *job, const struct dw_layout *layout,
                                 bool tail)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    bool straight = tail && supply->tail_material != DW_NONE;
    const struct dw_material *material =
        &job->materials[straight ? supply->tail_material : supply->material];
    return material->name ? material->name : material->id;
}

/* "plan 3, bar 7, piece 2 of 4" */
static const char *bar_text(struct maker *maker, int64_t bar, int64_t piece, int64_t n)
{
    struct dw_buf buf = {0};
    if (maker->number)
        dw_buf__format(&buf, "plan %s, ", maker->number);
    dw_buf__format(
        &buf, piece > 0 ? "bar %" PRId64 ", piece %" PRId64 " of %" PRId64 : "left of bar %" PRId64,
        bar, piece, n);
    return keep_text(maker, &buf);
}

static const char *work_text(struct maker *maker, const struct dw_saw_piece *saw)
{
    const struct dw_length_style style = dw_draw__style(maker->job);
    struct dw_buf buf = {0};
    dw_saw__brief(&buf, saw, &style);
    if (saw->short_of)
        dw_buf__format(&buf, "%sshort: not by hand", buf.n > 0 ? "; " : "");
    if (saw->measure_first) {
        dw_buf__format(&buf, "%smeasure on site before cutting, ", buf.n > 0 ? "; " : "");
        dw_saw__planned_as(&buf, saw, &style);
    }
    if (buf.n == 0)
        return NULL;
    dw_draw__hold(&buf, style.unit);
    return keep_text(maker, &buf);
}

/* What the labels of a row of pieces have in common. The first piece of an end-bent bar carries the
 * bend; what follows is of the tail's material. */
static struct dw_label label_of(struct maker *maker, const struct dw_layout *layout, size_t index,
                                const struct dw_saw_piece *saw)
{
    const struct dw_piece *piece = &layout->pieces[index];
    const struct dw_part *part = &maker->job->parts[piece->part];
    struct dw_buf code = {0}, length = {0}, job = {0};
    dw_buf__format(&length, "%s%s", part->measure_first ? "plan " : "",
                   dw_draw__length(maker->job, piece->length).text);
    dw_buf__format(&code, "%s %s", dw_draw__length(maker->job, piece->length).text,
                   part->label ? part->label : "");
    dw_buf__put(&job, "");
    dw_saw__client(&job, saw->order, saw->client, saw->due);
    return (struct dw_label){.title = part->label,
                             .length = keep_text(maker, &length),
                             .code = keep_code(maker, &code),
                             .material = material_text(maker->job, layout, index > 0),
                             .work = work_text(maker, saw),
                             .job = keep_text(maker, &job),
                             .section = part->section,
                             .remark = part->remark};
}

static struct dw_label offcut_of(struct maker *maker, const struct dw_layout *layout)
{
    struct dw_buf code = {0}, length = {0};
    dw_buf__put(&length, dw_draw__length(maker->job, layout->leftover).text);
    dw_buf__format(&code, "offcut %s %s", dw_draw__length(maker->job, layout->leftover).text,
                   material_text(maker->job, layout, true));
    return (struct dw_label){.title = "Offcut no. ______",
                             .length = keep_text(maker, &length),
                             .code = keep_code(maker, &code),
                             .material = material_text(maker->job, layout, true),
                             .job = maker->job->name,
                             .remark = "stick on before the cut, at the far end"};
}

static bool is_labelled(const struct dw_piece *piece)
{
    return piece->use == DW_USE_PART || piece->use == DW_USE_POST;
}

/* Labels of one bar, from the datum end on. rows: length layout->n_pieces. */
static void add_bar(struct maker *maker, const struct dw_layout *layout,
                    const struct dw_label *rows, const struct dw_saw_piece *saw, int64_t bar)
{
    int64_t n = (int64_t)dw_layout_n_marks(layout);
    for (size_t i = 0; i < layout->n_pieces && maker->parts; i++) {
        struct dw_label label = rows[i];
        for (int64_t c = 0; c < layout->pieces[i].count && is_labelled(&layout->pieces[i]); c++) {
            label.bar = bar_text(maker, bar, saw[i].number + c, n);
            add_label(maker, label);
        }
    }
    if (maker->offcuts && layout->rest == DW_REST_KEPT) {
        struct dw_label label = offcut_of(maker, layout);
        label.bar = bar_text(maker, bar, 0, n);
        add_label(maker, label);
    }
}

static void add_layout(struct maker *maker, const struct dw_layout *layout)
{
    struct dw_label *rows = calloc(layout->n_pieces + 1, sizeof *rows);
    struct dw_saw_piece *saw = calloc(layout->n_pieces + 1, sizeof *saw);
    if (!rows || !saw)
        maker->err = DW_ERR_NOMEM;
    if (maker->err == DW_OK)
        dw_layout_saw(maker->job, layout, saw);
    for (size_t i = 0; i < layout->n_pieces && maker->err == DW_OK; i++)
        if (is_labelled(&layout->pieces[i]))
            rows[i] = label_of(maker, layout, i, &saw[i]);
    for (int64_t b = 0; b < layout->count && maker->err == DW_OK; b++)
        add_bar(maker, layout, rows, saw, layout->bar + b);
    free(rows);
    free(saw);
}

dw_err dw_label_list_make(const struct dw_job *job, const struct dw_plan *plan, const char *number,
                          bool parts, bool offcuts, struct dw_label_list *out,
                          struct dw_error *error)
{
    char held[24];
    snprintf(held, sizeof held, "%" PRId64, plan->number);
    *out = (struct dw_label_list){.arena = dw_arena__new()};
    struct maker maker = {.job = job,
                          .number = number             ? number
                                    : plan->number > 0 ? held
                                                       : NULL,
                          .parts = parts,
                          .offcuts = offcuts,
                          .list = out,
                          .err = out->arena ? DW_OK : DW_ERR_NOMEM};
    for (size_t j = 0; j < plan->n_layouts && maker.err == DW_OK; j++)
        add_layout(&maker, &plan->layouts[j]);
    if (maker.err != DW_OK) {
        dw_label_list_free(out);
        return dw_error__nomem(error);
    }
    return DW_OK;
}

void dw_label_list_free(struct dw_label_list *list)
{
    free(list->labels);
    dw_arena__free(list->arena);
    *list = (struct dw_label_list){0};
}

/* --- a code alone --------------------------------------------------------------------------- */

struct code {
    const char *text;
    double width_mm;
};

static dw_err draw_code(void *user, struct dw_drawing **out, struct dw_error *error)
{
    const struct code *code = user;
    struct dw_canvas *canvas = NULL;
    dw_err err =
        dw_canvas__new(DW_FORM_SVG, code->width_mm, code->width_mm, 0, false, &canvas, error);
    if (err != DW_OK)
        return err;
    dw_canvas__page(canvas);
    dw_canvas__fill(canvas, 0, 0, code->width_mm, code->width_mm, 1);
    dw_canvas__code(canvas, 0, 0, code->width_mm, code->text);
    err = dw_canvas__finish(canvas, out, error);
    dw_canvas__free(canvas);
    return err;
}

dw_err dw_draw_code(const char *text, double width_mm, struct dw_image *out, struct dw_error *error)
{
    struct code code = {text, width_mm};
    return dw_draw__apart_single(draw_code, &code, out, error);
}
