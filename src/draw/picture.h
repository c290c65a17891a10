/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shop's logo on a surface: PNG by cairo, SVG by librsvg where that is installed. */
#ifndef DW_DRAW_PICTURE_H
#define DW_DRAW_PICTURE_H

#include "base/base.h"

#include <cairo.h>
#include <dropwise/shop.h>

/* As large as fits into the box, in its upper right corner. DW_ERR_INPUT: no such picture;
 * DW_ERR_STATE: librsvg is not there. */
dw_err dw_picture__draw(cairo_t *cairo, const struct dw_logo *logo, double x, double y, double w,
                        double h, struct dw_error *error);

#endif
