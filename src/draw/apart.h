/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawing in a process of its own (base/apart.h): a drawing there becomes a drawing here. */
#ifndef DW_DRAW_APART_H
#define DW_DRAW_APART_H

#include "base/base.h"
#include <dropwise/draw.h>

/* Draws with canvases and hands the drawing over. */
typedef dw_err dw_draw_work(void *user, struct dw_drawing **out, struct dw_error *error);

/* The drawing or the error of `work`; errors of dw_apart__run. */
dw_err dw_draw__apart(dw_draw_work *work, void *user, struct dw_drawing **out,
                      struct dw_error *error);
/* The same for a drawing of one page: its bytes alone. */
dw_err dw_draw__apart_single(dw_draw_work *work, void *user, struct dw_image *out,
                             struct dw_error *error);

#endif
