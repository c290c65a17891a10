/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small drawing of one piece, not to scale: which way its mitres lean, its notches, its bend. */
#ifndef DW_DRAW_GLYPH_H
#define DW_DRAW_GLYPH_H

#include "draw/canvas.h"
#include "model/model.h"

#define DW_GLYPH_WIDTH_MM  26.0
#define DW_GLYPH_HEIGHT_MM 8.0

/* Whether there is something to draw that words alone could be misread about. */
bool dw_glyph__wanted(const struct dw_saw_piece *piece);

/* Upper left corner x, y; end 1, the datum end, is on the left. */
void dw_glyph__draw(struct dw_canvas *canvas, const struct dw_saw_piece *piece, double x, double y);

#endif
