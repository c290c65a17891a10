/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pages to draw on, in millimetres, over cairo and pango, for a process of its own (apart.h). The
 * first failure sticks: draw on, and look at it once, in dw_canvas__finish. */
#ifndef DW_DRAW_CANVAS_H
#define DW_DRAW_CANVAS_H

#include "base/base.h"
#include <dropwise/draw.h>
#include <dropwise/shop.h>

struct dw_canvas;

/* `counting` makes pages of no form: to learn how many there will be. */
dw_err dw_canvas__new(enum dw_form form, double width_mm, double height_mm, int dpi, bool counting,
                      struct dw_canvas **out, struct dw_error *error);
void dw_canvas__free(struct dw_canvas *canvas);

void dw_canvas__page(struct dw_canvas *canvas); /* begins the next page */
size_t dw_canvas__n_pages(const struct dw_canvas *canvas);

/* What the caller lacked memory for: told by dw_canvas__finish. */
void dw_canvas__fail(struct dw_canvas *canvas, dw_err err);

/* What a PDF says of itself: title and language may be NULL, `date` is its ISO 8601 date or time.
 * To be said before the first page. */
struct dw_about {
    const char *title;
    const char *author;
    const char *language;
    const char *date;
};
void dw_canvas__about(struct dw_canvas *canvas, const struct dw_about *about);

/* Hands the pages over. DW_ERR_NOMEM or DW_ERR_IO for what failed on the way. */
dw_err dw_canvas__finish(struct dw_canvas *canvas, struct dw_drawing **out, struct dw_error *error);

/* --- text --------------------------------------------------------------------------------- */

enum dw_align { DW_ALIGN_LEFT, DW_ALIGN_CENTRE, DW_ALIGN_RIGHT };

struct dw_type {
    double size_mm; /* of the em */
    double
        least_mm; /* a line that is too wide may shrink to this before it is cut short; 0 = size */
    bool bold;
    enum dw_align align;
};

/* One line in a box that begins at x, y (upper left) and is `width` wide. Shrinks, then ends in an
 * ellipsis. Returns the height of the line. */
double dw_canvas__line(struct dw_canvas *canvas, double x, double y, double width,
                       const struct dw_type *type, const char *text);
/* As many lines as it takes. With `draw` false it only measures. Returns the height. */
double dw_canvas__paragraph(struct dw_canvas *canvas, double x, double y, double width,
                            const struct dw_type *type, const char *text, bool draw);
/* Width of one line as it would be drawn without limit. */
double dw_canvas__measure(struct dw_canvas *canvas, const struct dw_type *type, const char *text);

/* --- ink ---------------------------------------------------------------------------------- */

/* grey: 0 black .. 1 white. */
void dw_canvas__rule(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                     double width);
void dw_canvas__dashed(struct dw_canvas *canvas, double x1, double y1, double x2, double y2,
                       double width);
void dw_canvas__frame(struct dw_canvas *canvas, double x, double y, double w, double h,
                      double width);
void dw_canvas__fill(struct dw_canvas *canvas, double x, double y, double w, double h, double grey);
/* Diagonal lines inside a box. */
void dw_canvas__hatch(struct dw_canvas *canvas, double x, double y, double w, double h,
                      double step);
void dw_canvas__triangle(struct dw_canvas *canvas, double x, double y, double w, double h);

/* A logo, as large as fits into the box; a picture that can't be drawn fails the canvas. */
void dw_canvas__picture(struct dw_canvas *canvas, double x, double y, double w, double h,
                        const struct dw_logo *logo);
/* A black bar with white text in its middle. */
void dw_canvas__band(struct dw_canvas *canvas, double x, double y, double w, double h,
                     const char *text);

/* A QR code (ISO/IEC 18004) of `text`, side w, quiet zone of four modules inside it. */
void dw_canvas__code(struct dw_canvas *canvas, double x, double y, double w, const char *text);

#endif
