/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One bar to scale: trims, pieces, kerfs, what is left, and on which side of each cut the waste is.
 */
#ifndef DW_DRAW_BAR_H
#define DW_DRAW_BAR_H

#include "draw/canvas.h"

#define DW_BAR_HEIGHT_MM 15.0

/* Upper left corner x, y; `width` millimetres stand for `length` of tube. */
void dw_draw__bar(struct dw_canvas *canvas, const struct dw_job *job,
                  const struct dw_layout *layout, double x, double y, double width,
                  dw_length length);

/* Length of a bar as it lies there, trims included. */
dw_length dw_draw__bar_length(const struct dw_job *job, const struct dw_layout *layout);

#endif
