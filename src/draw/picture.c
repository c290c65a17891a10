/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Logos. librsvg is opened when an SVG is to be drawn: only papers with such a logo need it, and a
 * program that starts a hundred times a day does not load its libraries each time. */
#include "draw/picture.h"

#include <dlfcn.h>
#include <string.h>

/* --- PNG ----------------------------------------------------------------------------------------
 */

struct source {
    const struct dw_logo *logo;
    size_t at;
};

static cairo_status_t give(void *closure, unsigned char *bytes, unsigned int n)
{
    struct source *source = closure;
    if (n > source->logo->n - source->at)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(bytes, source->logo->bytes + source->at, n);
    source->at += n;
    return CAIRO_STATUS_SUCCESS;
}

static dw_err draw_png(cairo_t *cairo, const struct dw_logo *logo, double x, double y, double w,
                       double h, struct dw_error *error)
{
    struct source source = {logo, 0};
    cairo_surface_t *image = cairo_image_surface_create_from_png_stream(give, &source);
    cairo_status_t status = cairo_surface_status(image);
    double width = cairo_image_surface_get_width(image);
    double height = cairo_image_surface_get_height(image);
    dw_err err = DW_OK;
    if (status == CAIRO_STATUS_NO_MEMORY)
        err = dw_error__nomem(error);
    else if (status != CAIRO_STATUS_SUCCESS || width < 1 || height < 1)
        err = dw_error__set(error, DW_ERR_INPUT, "the shop's logo is no PNG that can be read");
    if (!err) {
        double scale = w / width < h / height ? w / width : h / height;
        cairo_save(cairo);
        cairo_translate(cairo, x + w - width * scale, y);
        cairo_scale(cairo, scale, scale);
        cairo_set_source_surface(cairo, image, 0, 0);
        cairo_paint(cairo);
        cairo_restore(cairo);
    }
    cairo_surface_destroy(image);
    return err;
}

/* --- SVG ----------------------------------------------------------------------------------------
 */

/* What is used of librsvg 2.46 and later, as its reference has it. */
struct box {
    double x, y, width, height;
};
struct rsvg {
    void *(*from_data)(const unsigned char *bytes, unsigned long n, void **error);
    int (*render)(void *handle, cairo_t *cairo, const struct box *viewport, void **error);
};

/* A pointer to a function out of one to an object, as POSIX allows. */
static bool find(void *library, const char *name, void *out)
{
    void *symbol = dlsym(library, name);
    memcpy(out, &symbol, sizeof symbol);
    return symbol != NULL;
}

static dw_err draw_svg(cairo_t *cairo, const struct dw_logo *logo, double x, double y, double w,
                       double h, struct dw_error *error)
{
    struct rsvg rsvg = {0};
    void *library = dlopen("librsvg-2.so.2", RTLD_NOW | RTLD_LOCAL);
    if (!library || !find(library, "rsvg_handle_new_from_data", &rsvg.from_data) ||
        !find(library, "rsvg_handle_render_document", &rsvg.render))
        return dw_error__set(error, DW_ERR_STATE,
                             "the shop's logo is SVG: install librsvg2-2, or give a PNG");
    void *why = NULL;
    void *handle = rsvg.from_data(logo->bytes, logo->n, &why);
    const struct box viewport = {x, y, w, h};
    if (!handle || !rsvg.render(handle, cairo, &viewport, &why))
        return dw_error__set(error, DW_ERR_INPUT, "the shop's logo is no SVG that can be drawn");
    return DW_OK;
}

dw_err dw_picture__draw(cairo_t *cairo, const struct dw_logo *logo, double x, double y, double w,
                        double h, struct dw_error *error)
{
    bool png = logo->n > 4 && memcmp(logo->bytes, "\x89PNG", 4) == 0;
    return png ? draw_png(cairo, logo, x, y, w, h, error)
               : draw_svg(cairo, logo, x, y, w, h, error);
}
