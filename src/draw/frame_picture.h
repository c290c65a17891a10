/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing of a job with the labels of its parts. */
#ifndef DW_DRAW_FRAME_PICTURE_H
#define DW_DRAW_FRAME_PICTURE_H

#include "draw/page.h"

/* A part of the picture whose label found no room. */
struct dw_unplaced {
    size_t n;
    const char **labels; /* length n, in the arena of the caller */
};

/* Height that the picture takes at that width, at most `most`. */
double dw_frame_picture__height(const struct dw_picture *picture, double width, double most);

/* Draws the picture as large as it can be in a box, which begins at x, y (upper left): as it lies
 * in its plane, or, in space, seen along a diagonal (isometric). Each part's label stands on a tube
 * of it, and on its others where there is room. DW_ERR_NOMEM.
 * Cost: O(tubes^2). */
dw_err dw_frame_picture__draw(struct dw_canvas *canvas, const struct dw_picture *picture, double x,
                              double y, double width, double height, struct dw_arena *arena,
                              struct dw_unplaced *unplaced);

#endif
