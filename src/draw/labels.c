/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Labels with QR codes on sheets and rolls. */
#include "draw/page.h"

#include <stdlib.h>
#include <string.h>

/* Sizes in common use at stationers (common practice). */
static const struct dw_label_stock stocks[] = {
    {"a4-21", "A4 sheet, 3 x 7, 63.5 x 38.1 mm", 210, 297, 3, 7, 63.5, 38.1, 7.25, 15.15, 66, 38.1},
    {"a4-24", "A4 sheet, 3 x 8, 70 x 37 mm", 210, 297, 3, 8, 70, 37, 0, 0.5, 70, 37},
    {"a4-14", "A4 sheet, 2 x 7, 99.1 x 38.1 mm", 210, 297, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6,
     38.1},
    {"a4-65", "A4 sheet, 5 x 13, 38.1 x 21.2 mm", 210, 297, 5, 13, 38.1, 21.2, 4.75, 10.7, 40.6,
     21.2},
    {"letter-30", "Letter sheet, 3 x 10, 2 5/8 x 1 in", 215.9, 279.4, 3, 10, 66.675, 25.4, 4.7625,
     12.7, 69.85, 25.4},
    {"letter-10", "Letter sheet, 2 x 5, 4 x 2 in", 215.9, 279.4, 2, 5, 101.6, 50.8, 3.96875, 12.7,
     106.3625, 50.8},
    {"roll-62x29", "Roll, 62 x 29 mm", 62, 29, 1, 1, 62, 29, 0, 0, 62, 29},
    {"roll-57x32", "Roll, 57 x 32 mm", 57, 32, 1, 1, 57, 32, 0, 0, 57, 32},
    {"roll-89x36", "Roll, 89 x 36 mm", 89, 36, 1, 1, 89, 36, 0, 0, 89, 36},
    {"roll-100x50", "Roll, 100 x 50 mm", 100, 50, 1, 1, 100, 50, 0, 0, 100, 50},
};

const struct dw_label_stock *dw_label_stock_at(size_t index)
{
    return index < DW_COUNT(stocks) ? &stocks[index] : NULL;
}

const struct dw_label_stock *dw_label_stock_find(const char *id)
{
    for (size_t i = 0; i < DW_COUNT(stocks); i++)
        if (strcmp(stocks[i].id, id) == 0)
            return &stocks[i];
    return NULL;
}

/* --- drawing ------------------------------------------------------------------------------ */

#define PAD_MM 1.6

struct lines {
    struct dw_canvas *canvas;
    double x, y, width, bottom;
};

static void add_line(struct lines *lines, double size, bool bold, const char *text)
{
    if (!text || !*text || lines->y + size * 1.17 > lines->bottom + 0.2)
        return;
    const struct dw_type type = {.size_mm = size, .least_mm = size * 0.6, .bold = bold};
    lines->y += dw_canvas__line(lines->canvas, lines->x, lines->y, lines->width, &type, text);
}

/* Title and length first: on a small label the rest gives way. With CODE_BYTES a
 * module of the code is half a millimetre or more on every stock: three dots at 150 dpi. */
static void draw_label(struct dw_canvas *canvas, const struct dw_label *label, double x, double y,
                       double w, double h)
{
    double side = h - PAD_MM < w * 0.46 ? h - PAD_MM : w * 0.46;
    if (label->code)
        dw_canvas__code(canvas, x + PAD_MM / 2, y + (h - side) / 2, side, label->code);
    double left = label->code ? side + PAD_MM : PAD_MM;
    double unit = h / 36 > 0.62 ? h / 36 : 0.62;
    if (unit > 1.2)
        unit = 1.2;
    struct lines lines = {canvas, x + left, y + PAD_MM, w - left - PAD_MM, y + h - PAD_MM};
    add_line(&lines, 5 * unit, true, label->title);
    add_line(&lines, 6 * unit, true, label->length);
    add_line(&lines, 3.2 * unit, false, label->material);
    add_line(&lines, 3.2 * unit, false, label->job);
    add_line(&lines, 3.2 * unit, false, label->section);
    add_line(&lines, 2.8 * unit, false, label->remark);
}

dw_err dw_draw_labels(const struct dw_label *labels, size_t n_labels,
                      const struct dw_label_stock *stock, size_t skip,
                      const struct dw_draw_options *options, struct dw_drawing **out,
                      struct dw_error *error)
{
    *out = NULL;
    size_t a_page = (size_t)stock->columns * (size_t)stock->rows;
    struct dw_canvas *canvas = NULL;
    dw_err err = dw_canvas__new(options->form, stock->page_width_mm, stock->page_height_mm,
                                options->dpi, false, &canvas, error);
    if (err != DW_OK)
        return err;
    skip %= a_page;
    dw_canvas__page(canvas);
    for (size_t i = 0; i < n_labels; i++) {
        size_t at = (skip + i) % a_page;
        if (i > 0 && at == 0)
            dw_canvas__page(canvas);
        double column = (double)(at % (size_t)stock->columns);
        double row = (double)(at / (size_t)stock->columns);
        draw_label(canvas, &labels[i], stock->left_mm + column * stock->step_x_mm,
                   stock->top_mm + row * stock->step_y_mm, stock->width_mm, stock->height_mm);
    }
    err = dw_canvas__finish(canvas, out, error);
    dw_canvas__free(canvas);
    return err;
}

/* --- labels of a plan --------------------------------------------------------------------- */

struct maker {
    const struct dw_job *job;
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
#define CODE_BYTES 32

static const char *keep_code(struct maker *maker, struct dw_buf *buf)
{
    if (!buf->failed && buf->n > CODE_BYTES) {
        buf->n = dw_utf8__check(buf->text, CODE_BYTES);
        buf->text[buf->n] = '\0';
    }
    return keep_text(maker, buf);
}

static void add_label(struct maker *maker, struct dw_label label, int64_t count)
{
    for (int64_t c = 0; c < count && maker->err == DW_OK; c++) {
        if (!dw_array__grow(&maker->list->labels, &maker->capacity, maker->list->n + 1,
                            sizeof *maker->list->labels)) {
            maker->err = DW_ERR_NOMEM;
            return;
        }
        maker->list->labels[maker->list->n++] = label;
    }
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

/* The first piece of an end-bent bar carries the bend; what follows is of the tail's material. */
static void add_piece(struct maker *maker, const struct dw_layout *layout, size_t index)
{
    const struct dw_piece *piece = &layout->pieces[index];
    if (piece->use != DW_USE_PART && piece->use != DW_USE_POST)
        return;
    const struct dw_part *part = &maker->job->parts[piece->part];
    struct dw_buf code = {0}, length = {0};
    dw_buf__put(&length, dw_draw__length(maker->job, piece->length).text);
    dw_buf__format(&code, "%s %s", dw_draw__length(maker->job, piece->length).text,
                   part->label ? part->label : "");
    struct dw_label label = {.title = part->label,
                             .length = keep_text(maker, &length),
                             .code = keep_code(maker, &code),
                             .material = material_text(maker->job, layout, index > 0),
                             .job = maker->job->orders[part->order].name,
                             .section = part->section,
                             .remark =
                                 part->measure_first ? "measure on site before cutting" : NULL};
    add_label(maker, label, piece->count * layout->count);
}

static void add_offcut(struct maker *maker, const struct dw_layout *layout)
{
    struct dw_buf code = {0}, length = {0};
    dw_buf__put(&length, dw_draw__length(maker->job, layout->leftover).text);
    dw_buf__format(&code, "offcut %s %s", dw_draw__length(maker->job, layout->leftover).text,
                   material_text(maker->job, layout, true));
    struct dw_label label = {.title = "Offcut no. ______",
                             .length = keep_text(maker, &length),
                             .code = keep_code(maker, &code),
                             .material = material_text(maker->job, layout, true),
                             .job = maker->job->name,
                             .remark = "stick on before the cut, at the far end"};
    add_label(maker, label, layout->count);
}

dw_err dw_label_list_make(const struct dw_job *job, const struct dw_plan *plan, bool parts,
                          bool offcuts, struct dw_label_list *out, struct dw_error *error)
{
    *out = (struct dw_label_list){.arena = dw_arena__new()};
    struct maker maker = {.job = job, .list = out, .err = out->arena ? DW_OK : DW_ERR_NOMEM};
    for (size_t j = 0; parts && j < plan->n_layouts; j++)
        for (size_t i = 0; i < plan->layouts[j].n_pieces && maker.err == DW_OK; i++)
            add_piece(&maker, &plan->layouts[j], i);
    for (size_t j = 0; offcuts && j < plan->n_layouts; j++)
        if (plan->layouts[j].rest == DW_REST_KEPT && maker.err == DW_OK)
            add_offcut(&maker, &plan->layouts[j]);
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

dw_err dw_draw_code(const char *text, double width_mm, struct dw_image *out, struct dw_error *error)
{
    *out = (struct dw_image){0};
    struct dw_canvas *canvas = NULL;
    dw_err err = dw_canvas__new(DW_FORM_SVG, width_mm, width_mm, 0, false, &canvas, error);
    if (err != DW_OK)
        return err;
    dw_canvas__page(canvas);
    dw_canvas__fill(canvas, 0, 0, width_mm, width_mm, 1);
    dw_canvas__code(canvas, 0, 0, width_mm, text);
    err = dw_canvas__finish_single(canvas, out, error);
    dw_canvas__free(canvas);
    return err;
}
