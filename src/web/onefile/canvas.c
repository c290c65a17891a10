/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines, boxes and text on pages (draw/canvas.h) as SVG that a browser shows and prints, without
 * the libraries that the program draws with. A PDF is asked of the browser: that form is all pages
 * one after the other. */
#include "draw/canvas.h"
#include "draw/drawing.h"
#include "web/onefile/text.h"

#include <math.h>
#include <qrencode.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct dw_canvas {
    enum dw_form form;
    double width_mm;
    double height_mm;
    bool counting;
    dw_err failed;
    size_t n_pages;
    struct dw_buf bytes;   /* of the page at hand, or of all pages */
    struct dw_files files; /* finished */
};

void dw_canvas__fail(struct dw_canvas *canvas, dw_err err)
{
    if (canvas->failed == DW_OK)
        canvas->failed = err;
}

/* --- pages ------------------------------------------------------------------------------------ */

dw_err dw_canvas__new(enum dw_form form, double width_mm, double height_mm, int dpi, bool counting,
                      struct dw_canvas **out, struct dw_error *error)
{
    (void)dpi;
    *out = NULL;
    if (form == DW_FORM_PNG)
        return dw_error__set(error, DW_ERR_STATE,
                             "here papers are drawn as SVG, or printed; `dropwise` makes PNG");
    struct dw_canvas *canvas = calloc(1, sizeof *canvas);
    if (!canvas)
        return dw_error__nomem(error);
    canvas->form = form;
    canvas->width_mm = width_mm;
    canvas->height_mm = height_mm;
    canvas->counting = counting;
    *out = canvas;
    return DW_OK;
}

void dw_canvas__free(struct dw_canvas *canvas)
{
    if (!canvas)
        return;
    dw_buf__free(&canvas->bytes);
    dw_files__free(&canvas->files);
    free(canvas);
}

static void open_page(struct dw_canvas *canvas)
{
    if (canvas->form == DW_FORM_SVG)
        dw_buf__put(&canvas->bytes, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    dw_buf__format(&canvas->bytes,
                   "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%gmm\" height=\"%gmm\" "
                   "viewBox=\"0 0 %g %g\" font-family=\"" DW_TEXT_FONTS "\" "
                   "stroke=\"none\" xml:space=\"preserve\">\n",
                   canvas->width_mm, canvas->height_mm, canvas->width_mm, canvas->height_mm);
}

/* What was drawn since the last one becomes a file. */
static void keep_file(struct dw_canvas *canvas)
{
    dw_err err = dw_files__add(&canvas->files, &canvas->bytes);
    if (err)
        dw_canvas__fail(canvas, err);
}

static void close_page(struct dw_canvas *canvas, bool last)
{
    if (canvas->n_pages == 0 || canvas->counting)
        return;
    dw_buf__put(&canvas->bytes, "</svg>\n");
    if (last || canvas->form != DW_FORM_PDF)
        keep_file(canvas);
}

void dw_canvas__page(struct dw_canvas *canvas)
{
    close_page(canvas, false);
    canvas->n_pages++;
    if (!canvas->counting)
        open_page(canvas);
}

size_t dw_canvas__n_pages(const struct dw_canvas *canvas)
{
    return canvas->n_pages;
}

dw_err dw_canvas__finish(struct dw_canvas *canvas, struct dw_drawing **out, struct dw_error *error)
{
    close_page(canvas, true);
    *out = calloc(1, sizeof **out);
    if (!*out)
        dw_canvas__fail(canvas, DW_ERR_NOMEM);
    if (canvas->failed != DW_OK) {
        free(*out);
        *out = NULL;
        return dw_error__set(error, canvas->failed, "the paper could not be drawn: %s",
                             dw_err_text(canvas->failed));
    }
    **out = (struct dw_drawing){.n_pages = canvas->n_pages,
                                .page_width_mm = canvas->width_mm,
                                .page_height_mm = canvas->height_mm,
                                .n_files = canvas->files.n,
                                .files = canvas->files.all};
    canvas->files = (struct dw_files){0};
    return DW_OK;
}

/* --- text ------------------------------------------------------------------------------------- */

static void put_escaped(struct dw_buf *out, const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++)
        switch (text[i]) {
        case '<':
            dw_buf__put(out, "&lt;");
            break;
        case '>':
            dw_buf__put(out, "&gt;");
            break;
        case '&':
            dw_buf__put(out, "&amp;");
            break;
        default:
            dw_buf__char(out, text[i]);
        }
}

/* One line whose box begins at x, y. */
static void put_text(struct dw_canvas *canvas, double x, double y, double size, bool bold,
                     const char *text, size_t n, const char *more)
{
    if (canvas->counting)
        return;
    dw_buf__format(&canvas->bytes, "<text x=\"%.3f\" y=\"%.3f\" font-size=\"%.3f\"%s>", x,
                   y + size * DW_TEXT_ASCENT, size, bold ? " font-weight=\"bold\"" : "");
    put_escaped(&canvas->bytes, text, n);
    dw_buf__put(&canvas->bytes, more);
    dw_buf__put(&canvas->bytes, "</text>\n");
}

double dw_canvas__measure(struct dw_canvas *canvas, const struct dw_type *type, const char *text)
{
    (void)canvas;
    return dw_text__width(text, strlen(text), type->size_mm, type->bold);
}

double dw_canvas__line(struct dw_canvas *canvas, double x, double y, double width,
                       const struct dw_type *type, const char *text)
{
    static const char dots[] = "\u2026";
    size_t n = strcspn(text, "\n");
    double size = type->size_mm, drawn = dw_text__width(text, n, size, type->bold);
    const double full = size * DW_TEXT_HEIGHT;
    const char *more = "";
    if (drawn > width && type->least_mm > 0 && type->least_mm < size) {
        size = fmax(size * width / drawn * 0.995, type->least_mm);
        drawn = dw_text__width(text, n, size, type->bold);
    }
    if (drawn > width) {
        double room = width - dw_text__width(dots, strlen(dots), size, type->bold);
        n = dw_text__fit(text, n, size, type->bold, room);
        drawn = dw_text__width(text, n, size, type->bold) + width - room;
        more = dots;
    }
    double aside = type->align == DW_ALIGN_RIGHT    ? width - drawn
                   : type->align == DW_ALIGN_CENTRE ? (width - drawn) / 2
                                                    : 0;
    put_text(canvas, x + aside, y + (full - size * DW_TEXT_HEIGHT) * 0.8, size, type->bold, text, n,
             more);
    return full;
}

double dw_canvas__paragraph(struct dw_canvas *canvas, double x, double y, double width,
                            const struct dw_type *type, const char *text, bool draw)
{
    const double line = type->size_mm * DW_TEXT_HEIGHT;
    double height = 0;
    do {
        size_t skip = 0, n = dw_text__wrap(text, type->size_mm, type->bold, width, &skip);
        double drawn = dw_text__width(text, n, type->size_mm, type->bold);
        double aside = type->align == DW_ALIGN_RIGHT    ? width - drawn
                       : type->align == DW_ALIGN_CENTRE ? (width - drawn) / 2
                                                        : 0;
        if (draw)
            put_text(canvas, x + aside, y + height, type->size_mm, type->bold, text, n, "");
        height += line;
        text += skip;
    } while (*text);
    return height;
}

/* --- ink -------------------------------------------------------------------------------------- */

static void put_path(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                     double width, const char *more)
{
    if (!canvas->counting)
        dw_buf__format(&canvas->bytes,
                       "<path d=\"M%.3f %.3fL%.3f %.3f\" stroke=\"#000\" stroke-width=\"%g\"%s/>\n",
                       x1, y1, x2, y2, width, more);
}

void dw_canvas__rule(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                     double width)
{
    put_path(canvas, x1, y1, x2, y2, width, "");
}

void dw_canvas__dashed(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                       double width)
{
    put_path(canvas, x1, y1, x2, y2, width, " stroke-dasharray=\"1.2 0.8\"");
}

static void put_box(struct dw_canvas *canvas, double x, double y, double w, double h,
                    const char *paint)
{
    if (!canvas->counting)
        dw_buf__format(&canvas->bytes,
                       "<rect x=\"%.3f\" y=\"%.3f\" width=\"%.3f\" height=\"%.3f\" %s/>\n", x, y, w,
                       h, paint);
}

void dw_canvas__frame(struct dw_canvas *canvas, double x, double y, double w, double h,
                      double width)
{
    char paint[80];
    snprintf(paint, sizeof paint, "fill=\"none\" stroke=\"#000\" stroke-width=\"%g\"", width);
    put_box(canvas, x, y, w, h, paint);
}

void dw_canvas__fill(struct dw_canvas *canvas, double x, double y, double w, double h, double grey)
{
    char paint[40];
    int level = (int)(grey * 255 + 0.5);
    snprintf(paint, sizeof paint, "fill=\"#%02x%02x%02x\"", level, level, level);
    put_box(canvas, x, y, w, h, paint);
}

/* Each line is cut to the box by its own arithmetic: no two pages share a clip. */
void dw_canvas__hatch(struct dw_canvas *canvas, double x, double y, double w, double h, double step)
{
    int lines = (int)((w + h) / step) + 1;
    for (int i = 0; i <= lines; i++) {
        double top = i * step, from = fmax(0, top - w), to = fmin(h, top);
        if (to > from)
            put_path(canvas, x + top - from, y + from, x + top - to, y + to, 0.12, "");
    }
}

void dw_canvas__triangle(struct dw_canvas *canvas, double x, double y, double w, double h)
{
    if (!canvas->counting)
        dw_buf__format(&canvas->bytes, "<path d=\"M%.3f %.3fL%.3f %.3fL%.3f %.3fZ\"/>\n", x, y,
                       x + w, y + h / 2, x, y + h);
}

/* Dark modules as one path, a run of them in a row as one box. */
void dw_canvas__code(struct dw_canvas *canvas, double x, double y, double w, const char *text)
{
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_L);
    if (!code) {
        dw_canvas__fail(canvas, DW_ERR_NOMEM);
        return;
    }
    double module = w / (code->width + 8);
    if (!canvas->counting)
        dw_buf__format(&canvas->bytes,
                       "<path shape-rendering=\"crispEdges\" transform=\"translate(%.3f %.3f) "
                       "scale(%.5f)\" d=\"",
                       x, y, module);
    for (int row = 0; row < code->width && !canvas->counting; row++) {
        const unsigned char *modules = code->data + row * code->width;
        for (int from = 0, to; from < code->width; from = to + 1) {
            for (to = from; to < code->width && (modules[to] & 1); to++)
                ;
            if (to > from)
                dw_buf__format(&canvas->bytes, "M%d %dh%dv1h-%dz", from + 4, row + 4, to - from,
                               to - from);
        }
    }
    if (!canvas->counting)
        dw_buf__put(&canvas->bytes, "\"/>\n");
    QRcode_free(code);
}

/* --- pictures --------------------------------------------------------------------------------- */

/* What a PDF says of itself is asked by the browser's own print. */
void dw_canvas__about(struct dw_canvas *canvas, const struct dw_about *about)
{
    (void)canvas;
    (void)about;
}

static void put_base64(struct dw_buf *out, const unsigned char *bytes, size_t n)
{
    static const char digits[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    for (size_t i = 0; i < n; i += 3) {
        unsigned word = (unsigned)bytes[i] << 16 | (i + 1 < n ? (unsigned)bytes[i + 1] << 8 : 0) |
                        (i + 2 < n ? bytes[i + 2] : 0);
        dw_buf__char(out, digits[word >> 18]);
        dw_buf__char(out, digits[word >> 12 & 63]);
        dw_buf__char(out, i + 1 < n ? digits[word >> 6 & 63] : '=');
        dw_buf__char(out, i + 2 < n ? digits[word & 63] : '=');
    }
}

/* As an image within the page: the browser draws it, and an SVG there runs no script. */
void dw_canvas__picture(struct dw_canvas *canvas, double x, double y, double w, double h,
                        const struct dw_logo *logo)
{
    bool png = logo->n > 4 && memcmp(logo->bytes, "\x89PNG", 4) == 0;
    if (canvas->counting)
        return;
    dw_buf__format(&canvas->bytes,
                   "<image x=\"%.3f\" y=\"%.3f\" width=\"%.3f\" height=\"%.3f\" "
                   "preserveAspectRatio=\"xMaxYMin meet\" href=\"data:image/%s;base64,",
                   x, y, w, h, png ? "png" : "svg+xml");
    put_base64(&canvas->bytes, logo->bytes, logo->n);
    dw_buf__put(&canvas->bytes, "\"/>\n");
}

void dw_canvas__band(struct dw_canvas *canvas, double x, double y, double w, double h,
                     const char *text)
{
    const struct dw_type type = {.size_mm = h * 0.5, .bold = true, .align = DW_ALIGN_CENTRE};
    dw_canvas__fill(canvas, x, y, w, h, 0);
    if (!canvas->counting)
        dw_buf__put(&canvas->bytes, "<g fill=\"#fff\">");
    dw_canvas__line(canvas, x, y + h * 0.2, w, &type, text);
    if (!canvas->counting)
        dw_buf__put(&canvas->bytes, "</g>\n");
}
