/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines, boxes and text on pages, over cairo and pango. */
#include "draw/canvas.h"
#include "draw/drawing.h"
#include "base/apart.h"
#include "draw/picture.h"

#include <cairo.h>
#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <pango/pangocairo.h>
#include <qrencode.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define POINTS_PER_MM (72.0 / 25.4)
#define FONT          "DejaVu Sans, Sans"
#define RESERVE       (32u << 20) /* bytes: more than a page takes and gives back */

struct dw_canvas {
    enum dw_form form;
    double width_mm;
    double height_mm;
    int dpi;
    bool counting;
    dw_err failed;
    struct dw_error why; /* of a failure that the user can mend */
    struct dw_about about;
    size_t n_pages;
    cairo_surface_t *surface;
    cairo_t *cairo;
    PangoLayout *layout;   /* one for all texts of a surface */
    PangoAttrList *plain;  /* a name that is broken gets no hyphen of ours */
    struct dw_buf missing; /* characters that no font has, each once */
    struct dw_buf bytes;   /* of the surface at hand */
    struct dw_files files; /* finished */
    struct dw_box *boxes;  /* heap */
    size_t n_boxes;
    size_t boxes_capacity;
    struct dw_arena *arena; /* texts of the boxes */
};

void dw_canvas__fail(struct dw_canvas *canvas, dw_err err)
{
    if (canvas->failed == DW_OK)
        canvas->failed = err;
}

/* Harfbuzz, pango and fontconfig take less than they are told where memory ends, and say nothing.
 * So it must not end: what can be had between pages could be had on them. */
static void want_reserve(struct dw_canvas *canvas)
{
    void *reserve = malloc(RESERVE);
    if (!reserve)
        dw_canvas__fail(canvas, DW_ERR_NOMEM);
    free(reserve);
}

/* --- surfaces ----------------------------------------------------------------------------- */

static cairo_status_t collect(void *closure, const unsigned char *bytes, unsigned int n)
{
    struct dw_buf *buf = closure;
    dw_buf__add(buf, (const char *)bytes, n);
    return buf->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static double pixels_per_mm(const struct dw_canvas *canvas)
{
    return canvas->dpi / 25.4;
}

/* A date is given, so that the same paper is the same bytes. */
static void say_about(struct dw_canvas *canvas)
{
    const struct dw_about *about = &canvas->about;
    char time[40] = "";
    if (about->date)
        snprintf(time, sizeof time, "%.20s%s", about->date,
                 strchr(about->date, 'T') ? "" : "T00:00:00Z");
    const struct {
        cairo_pdf_metadata_t what;
        const char *text;
    } rows[] = {{CAIRO_PDF_METADATA_CREATOR, "dropwise"},
                {CAIRO_PDF_METADATA_TITLE, about->title},
                {CAIRO_PDF_METADATA_AUTHOR, about->author},
                {CAIRO_PDF_METADATA_CREATE_DATE, *time ? time : NULL},
                {CAIRO_PDF_METADATA_MOD_DATE, *time ? time : NULL}};
    for (size_t i = 0; i < DW_COUNT(rows); i++)
        if (rows[i].text)
            cairo_pdf_surface_set_metadata(canvas->surface, rows[i].what, rows[i].text);
}

void dw_canvas__about(struct dw_canvas *canvas, const struct dw_about *about)
{
    canvas->about = *about;
}

static void open_surface(struct dw_canvas *canvas)
{
    double w = canvas->width_mm * POINTS_PER_MM, h = canvas->height_mm * POINTS_PER_MM;
    double scale = POINTS_PER_MM;
    if (canvas->counting) {
        canvas->surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
    } else if (canvas->form == DW_FORM_PDF) {
        canvas->surface = cairo_pdf_surface_create_for_stream(collect, &canvas->bytes, w, h);
        say_about(canvas);
    } else if (canvas->form == DW_FORM_SVG) {
        canvas->surface = cairo_svg_surface_create_for_stream(collect, &canvas->bytes, w, h);
    } else {
        scale = pixels_per_mm(canvas);
        canvas->surface =
            cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(canvas->width_mm * scale + 0.5),
                                       (int)(canvas->height_mm * scale + 0.5));
    }
    canvas->cairo = cairo_create(canvas->surface);
    cairo_scale(canvas->cairo, scale, scale);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(canvas->cairo, options);
    cairo_font_options_destroy(options);
    if (canvas->form == DW_FORM_PNG && !canvas->counting) {
        cairo_set_source_rgb(canvas->cairo, 1, 1, 1);
        cairo_paint(canvas->cairo);
    }
    cairo_set_source_rgb(canvas->cairo, 0, 0, 0);
    canvas->layout = pango_cairo_create_layout(canvas->cairo);
    canvas->plain = pango_attr_list_new();
    pango_attr_list_insert(canvas->plain, pango_attr_insert_hyphens_new(FALSE));
    pango_context_set_round_glyph_positions(pango_layout_get_context(canvas->layout), FALSE);
}

static void note_status(struct dw_canvas *canvas, cairo_status_t status)
{
    if (status != CAIRO_STATUS_SUCCESS)
        dw_canvas__fail(canvas, status == CAIRO_STATUS_NO_MEMORY ? DW_ERR_NOMEM : DW_ERR_IO);
}

static void drop_surface(struct dw_canvas *canvas)
{
    if (!canvas->surface)
        return;
    g_object_unref(canvas->layout);
    pango_attr_list_unref(canvas->plain);
    note_status(canvas, cairo_status(canvas->cairo));
    cairo_destroy(canvas->cairo);
    cairo_surface_finish(canvas->surface); /* a PDF is written only now */
    note_status(canvas, cairo_surface_status(canvas->surface));
    cairo_surface_destroy(canvas->surface);
    canvas->layout = NULL;
    canvas->cairo = NULL;
    canvas->surface = NULL;
}

/* Ends the surface and keeps its bytes as one file. */
static void close_surface(struct dw_canvas *canvas)
{
    if (!canvas->surface)
        return;
    if (canvas->form == DW_FORM_PNG && !canvas->counting)
        note_status(canvas,
                    cairo_surface_write_to_png_stream(canvas->surface, collect, &canvas->bytes));
    drop_surface(canvas);
    if (canvas->counting)
        return;
    dw_err err = dw_files__add(&canvas->files, &canvas->bytes);
    if (err)
        dw_canvas__fail(canvas, err);
}

dw_err dw_canvas__new(enum dw_form form, double width_mm, double height_mm, int dpi, bool counting,
                      struct dw_canvas **out, struct dw_error *error)
{
    *out = NULL;
    if (dpi == 0)
        dpi = 150;
    if (dpi < 30 || dpi > 1200)
        return dw_error__set(error, DW_ERR_RANGE, "%d dpi: take 30 to 1200", dpi);
    struct dw_canvas *canvas = calloc(1, sizeof *canvas);
    if (canvas)
        canvas->arena = dw_arena__new();
    if (!canvas || !canvas->arena) {
        free(canvas);
        return dw_error__nomem(error);
    }
    canvas->form = form;
    canvas->width_mm = width_mm;
    canvas->height_mm = height_mm;
    canvas->dpi = dpi;
    canvas->counting = counting;
    *out = canvas;
    return DW_OK;
}

void dw_canvas__free(struct dw_canvas *canvas)
{
    if (!canvas)
        return;
    drop_surface(canvas);
    dw_buf__free(&canvas->bytes);
    dw_buf__free(&canvas->missing);
    dw_files__free(&canvas->files);
    free(canvas->boxes);
    dw_arena__free(canvas->arena);
    free(canvas);
}

void dw_canvas__page(struct dw_canvas *canvas)
{
    dw_apart__goes_on();
    want_reserve(canvas);
    canvas->n_pages++;
    if (canvas->surface && canvas->form == DW_FORM_PDF && !canvas->counting) {
        cairo_show_page(canvas->cairo);
        return;
    }
    close_surface(canvas);
    open_surface(canvas);
}

size_t dw_canvas__n_pages(const struct dw_canvas *canvas)
{
    return canvas->n_pages;
}

dw_err dw_canvas__finish(struct dw_canvas *canvas, struct dw_drawing **out, struct dw_error *error)
{
    *out = NULL;
    want_reserve(canvas);
    close_surface(canvas);
    struct dw_drawing *document = calloc(1, sizeof *document);
    if (!document)
        dw_canvas__fail(canvas, DW_ERR_NOMEM);
    if (canvas->failed != DW_OK) {
        free(document);
        if (canvas->why.code == canvas->failed)
            return dw_error__set(error, canvas->failed, "%s", canvas->why.text);
        return dw_error__set(error, canvas->failed, "the paper could not be drawn: %s",
                             dw_err_text(canvas->failed));
    }
    *document = (struct dw_drawing){
        .n_pages = canvas->n_pages,
        .page_width_mm = canvas->width_mm,
        .page_height_mm = canvas->height_mm,
        .n_files = canvas->files.n,
        .files = canvas->files.all,
        .n_boxes = canvas->n_boxes,
        .boxes = canvas->boxes,
        .missing = canvas->missing.n ? dw_arena__text(canvas->arena, canvas->missing.text) : NULL,
        .arena = canvas->arena};
    canvas->files = (struct dw_files){0};
    canvas->boxes = NULL;
    canvas->arena = NULL;
    *out = document;
    return DW_OK;
}

/* --- boxes -------------------------------------------------------------------------------- */

static void note_box(struct dw_canvas *canvas, enum dw_box_kind kind, double x, double y,
                     double width, double height, const char *text)
{
    if (canvas->counting)
        return;
    char *copy = text ? dw_arena__text(canvas->arena, text) : NULL;
    if ((text && !copy) || !dw_array__grow(&canvas->boxes, &canvas->boxes_capacity,
                                           canvas->n_boxes + 1, sizeof *canvas->boxes)) {
        dw_canvas__fail(canvas, DW_ERR_NOMEM);
        return;
    }
    canvas->boxes[canvas->n_boxes++] = (struct dw_box){.page = canvas->n_pages - 1,
                                                       .kind = kind,
                                                       .x = x,
                                                       .y = y,
                                                       .width = width,
                                                       .height = height,
                                                       .text = copy};
}

/* --- text --------------------------------------------------------------------------------- */

/* The surface's layout, set to a text of one size, as wide as it likes. */
static PangoLayout *set_layout(struct dw_canvas *canvas, const struct dw_type *type, double size,
                               const char *text)
{
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, FONT);
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    pango_font_description_set_weight(font, type->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(canvas->layout, font);
    pango_font_description_free(font);
    pango_layout_set_attributes(canvas->layout, canvas->plain);
    pango_layout_set_width(canvas->layout, -1);
    pango_layout_set_ellipsize(canvas->layout, PANGO_ELLIPSIZE_NONE);
    pango_layout_set_text(canvas->layout, text, -1);
    return canvas->layout;
}

static void layout_size(PangoLayout *layout, double *width, double *height)
{
    PangoRectangle logical;
    pango_layout_get_extents(layout, NULL, &logical);
    *width = (double)logical.width / PANGO_SCALE;
    *height = (double)logical.height / PANGO_SCALE;
}

/* A run that harfbuzz had no memory to shape has characters where glyphs should be. */
static bool is_shaped(const PangoGlyphItem *run, const char *text)
{
    hb_font_t *font = pango_font_get_hb_font(run->item->analysis.font);
    const PangoGlyphString *glyphs = run->glyphs;
    bool strange = false;
    for (int i = 0; font && i < glyphs->num_glyphs; i++) {
        const char *at = text + run->item->offset + glyphs->log_clusters[i];
        gunichar code = g_utf8_get_char(at);
        hb_codepoint_t right = 0;
        if (glyphs->glyphs[i].glyph != code)
            return true;
        strange |= hb_font_get_nominal_glyph(font, code, &right) && right != code;
    }
    return !strange;
}

#define MISSING_MOST 80 /* bytes that are told of characters that no font has */

/* Keeps each character of a run for which a box with its number would be drawn. */
static void note_missing(struct dw_canvas *canvas, const PangoGlyphItem *run, const char *text)
{
    const PangoGlyphString *glyphs = run->glyphs;
    for (int i = 0; i < glyphs->num_glyphs; i++) {
        const char *at = text + run->item->offset + glyphs->log_clusters[i];
        int n = (int)(g_utf8_next_char(at) - at);
        char one[8] = "";
        if (!(glyphs->glyphs[i].glyph & PANGO_GLYPH_UNKNOWN_FLAG) || canvas->counting ||
            canvas->missing.n > MISSING_MOST)
            continue;
        snprintf(one, sizeof one, "%.*s", n, at);
        if (!canvas->missing.n || !strstr(canvas->missing.text, one))
            dw_buf__put(&canvas->missing, one);
    }
}

static void check_runs(struct dw_canvas *canvas)
{
    const char *text = pango_layout_get_text(canvas->layout);
    PangoLayoutIter *at = pango_layout_get_iter(canvas->layout);
    do {
        const PangoGlyphItem *run = pango_layout_iter_get_run_readonly(at);
        if (run && !is_shaped(run, text))
            dw_canvas__fail(canvas, DW_ERR_NOMEM);
        if (run)
            note_missing(canvas, run, text);
    } while (pango_layout_iter_next_run(at));
    pango_layout_iter_free(at);
}

static void show_layout(struct dw_canvas *canvas, double x, double y, const char *text)
{
    double width, height;
    check_runs(canvas);
    layout_size(canvas->layout, &width, &height);
    note_box(canvas, DW_BOX_TEXT, x, y, width, height, text);
    if (canvas->counting)
        return;
    if (canvas->n_boxes > 0 && pango_layout_is_ellipsized(canvas->layout))
        canvas->boxes[canvas->n_boxes - 1].cut = true;
    cairo_move_to(canvas->cairo, x, y);
    pango_cairo_show_layout(canvas->cairo, canvas->layout);
}

double dw_canvas__measure(struct dw_canvas *canvas, const struct dw_type *type, const char *text)
{
    double width, height;
    layout_size(set_layout(canvas, type, type->size_mm, text), &width, &height);
    return width;
}

double dw_canvas__line(struct dw_canvas *canvas, double x, double y, double width,
                       const struct dw_type *type, const char *text)
{
    double size = type->size_mm, drawn, height;
    PangoLayout *layout = set_layout(canvas, type, size, text);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    layout_size(layout, &drawn, &height);
    double full = height;
    if (drawn > width && type->least_mm > 0 && type->least_mm < size) {
        double fitting = size * width / drawn * 0.995;
        size = fitting > type->least_mm ? fitting : type->least_mm;
        set_layout(canvas, type, size, text);
        layout_size(layout, &drawn, &height);
    }
    if (drawn > width) {
        pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
        pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
        layout_size(layout, &drawn, &height);
    }
    double aside = type->align == DW_ALIGN_RIGHT    ? width - drawn
                   : type->align == DW_ALIGN_CENTRE ? (width - drawn) / 2
                                                    : 0;
    show_layout(canvas, x + aside, y + (full - height) * 0.8, text);
    return full;
}

double dw_canvas__paragraph(struct dw_canvas *canvas, double x, double y, double width,
                            const struct dw_type *type, const char *text, bool draw)
{
    double drawn, height;
    PangoLayout *layout = set_layout(canvas, type, type->size_mm, text);
    pango_layout_set_single_paragraph_mode(layout, FALSE);
    pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    layout_size(layout, &drawn, &height);
    if (draw)
        show_layout(canvas, x, y, text);
    return height;
}

/* --- ink ---------------------------------------------------------------------------------- */

void dw_canvas__rule(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                     double width)
{
    cairo_set_line_width(canvas->cairo, width);
    cairo_move_to(canvas->cairo, x1, y1);
    cairo_line_to(canvas->cairo, x2, y2);
    cairo_stroke(canvas->cairo);
}

void dw_canvas__dashed(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                       double width)
{
    const double dash[] = {1.2, 0.8};
    cairo_set_dash(canvas->cairo, dash, 2, 0);
    dw_canvas__rule(canvas, x1, y1, x2, y2, width);
    cairo_set_dash(canvas->cairo, NULL, 0, 0);
}

void dw_canvas__frame(struct dw_canvas *canvas, double x, double y, double w, double h,
                      double width)
{
    note_box(canvas, DW_BOX_FRAME, x, y, w, h, NULL);
    cairo_set_line_width(canvas->cairo, width);
    cairo_rectangle(canvas->cairo, x, y, w, h);
    cairo_stroke(canvas->cairo);
}

void dw_canvas__fill(struct dw_canvas *canvas, double x, double y, double w, double h, double grey)
{
    cairo_set_source_rgb(canvas->cairo, grey, grey, grey);
    cairo_rectangle(canvas->cairo, x, y, w, h);
    cairo_fill(canvas->cairo);
    cairo_set_source_rgb(canvas->cairo, 0, 0, 0);
}

void dw_canvas__hatch(struct dw_canvas *canvas, double x, double y, double w, double h, double step)
{
    cairo_save(canvas->cairo);
    cairo_rectangle(canvas->cairo, x, y, w, h);
    cairo_clip(canvas->cairo);
    cairo_set_line_width(canvas->cairo, 0.12);
    int lines = (int)((w + h) / step) + 1;
    for (int i = 0; i <= lines; i++) {
        cairo_move_to(canvas->cairo, x + i * step, y);
        cairo_line_to(canvas->cairo, x + i * step - h, y + h);
    }
    cairo_stroke(canvas->cairo);
    cairo_restore(canvas->cairo);
}

void dw_canvas__triangle(struct dw_canvas *canvas, double x, double y, double w, double h)
{
    cairo_move_to(canvas->cairo, x, y);
    cairo_line_to(canvas->cairo, x + w, y + h / 2);
    cairo_line_to(canvas->cairo, x, y + h);
    cairo_close_path(canvas->cairo);
    cairo_fill(canvas->cairo);
}

void dw_canvas__picture(struct dw_canvas *canvas, double x, double y, double w, double h,
                        const struct dw_logo *logo)
{
    struct dw_error why = {0};
    if (canvas->counting)
        return;
    note_box(canvas, DW_BOX_FRAME, x, y, w, h, NULL);
    dw_err err = dw_picture__draw(canvas->cairo, logo, x, y, w, h, &why);
    if (err && canvas->failed == DW_OK) {
        canvas->failed = err;
        canvas->why = why;
    }
}

void dw_canvas__band(struct dw_canvas *canvas, double x, double y, double w, double h,
                     const char *text)
{
    const struct dw_type type = {.size_mm = h * 0.5, .bold = true, .align = DW_ALIGN_CENTRE};
    dw_canvas__fill(canvas, x, y, w, h, 0);
    cairo_set_source_rgb(canvas->cairo, 1, 1, 1);
    dw_canvas__line(canvas, x, y + h * 0.2, w, &type, text);
    cairo_set_source_rgb(canvas->cairo, 0, 0, 0);
}

/* Dark modules as boxes, a run of them in a row as one. */
static void code_boxes(struct dw_canvas *canvas, const QRcode *code, double x, double y,
                       double module)
{
    cairo_antialias_t before = cairo_get_antialias(canvas->cairo);
    cairo_set_antialias(canvas->cairo, CAIRO_ANTIALIAS_NONE);
    for (int row = 0; row < code->width; row++) {
        const unsigned char *modules = code->data + row * code->width;
        for (int from = 0, to; from < code->width; from = to + 1) {
            for (to = from; to < code->width && (modules[to] & 1); to++)
                ;
            if (to > from)
                cairo_rectangle(canvas->cairo, x + (from + 4) * module, y + (row + 4) * module,
                                (to - from) * module, module);
        }
    }
    cairo_fill(canvas->cairo);
    cairo_set_antialias(canvas->cairo, before);
}

/* One bit a module, as a stencil: in a PDF a tenth of the size of boxes. */
static void code_stencil(struct dw_canvas *canvas, const QRcode *code, double x, double y,
                         double module)
{
    cairo_surface_t *stencil =
        cairo_image_surface_create(CAIRO_FORMAT_A8, code->width, code->width);
    note_status(canvas, cairo_surface_status(stencil));
    unsigned char *bytes = cairo_image_surface_get_data(stencil);
    int stride = cairo_image_surface_get_stride(stencil);
    for (int row = 0; bytes && row < code->width; row++)
        for (int column = 0; column < code->width; column++)
            bytes[row * stride + column] = code->data[row * code->width + column] & 1 ? 255 : 0;
    cairo_surface_mark_dirty(stencil);
    cairo_pattern_t *pattern = cairo_pattern_create_for_surface(stencil);
    cairo_pattern_set_filter(pattern, CAIRO_FILTER_NEAREST);
    cairo_save(canvas->cairo);
    cairo_translate(canvas->cairo, x + 4 * module, y + 4 * module);
    cairo_scale(canvas->cairo, module, module);
    cairo_mask(canvas->cairo, pattern);
    cairo_restore(canvas->cairo);
    cairo_pattern_destroy(pattern);
    cairo_surface_destroy(stencil);
}

void dw_canvas__code(struct dw_canvas *canvas, double x, double y, double w, const char *text)
{
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (!code) {
        dw_canvas__fail(canvas, DW_ERR_NOMEM);
        return;
    }
    note_box(canvas, DW_BOX_CODE, x, y, w, w, NULL);
    double module = w / (code->width + 8);
    if (canvas->form == DW_FORM_PDF)
        code_stencil(canvas, code, x, y, module);
    else
        code_boxes(canvas, code, x, y, module);
    QRcode_free(code);
}
