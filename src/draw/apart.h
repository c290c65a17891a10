/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawing in a process of its own, so that a caller outlives a library that ends its process where
 * memory is short. */
#ifndef DW_DRAW_APART_H
#define DW_DRAW_APART_H

#include "base/base.h"
#include <dropwise/draw.h>

/* Draws with canvases and hands the drawing over. Runs in the child: what it writes elsewhere is
 * lost. */
typedef dw_err dw_draw_work(void *user, struct dw_drawing **out, struct dw_error *error);

/* The drawing or the error of `work`. DW_ERR_NOMEM if the child died of its own, DW_ERR_BUSY if no
 * child can be had. Children of the caller's are not waited for. */
dw_err dw_draw__apart(dw_draw_work *work, void *user, struct dw_drawing **out,
                      struct dw_error *error);
/* The same for a drawing of one page: its bytes alone. */
dw_err dw_draw__apart_single(dw_draw_work *work, void *user, struct dw_image *out,
                             struct dw_error *error);

/* In the child: it goes on. One that says nothing of it for a minute is ended. */
void dw_draw__goes_on(void);

#endif
