/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings made in place (draw/apart.h), where no library under them ends the process. */
#include "draw/apart.h"

dw_err dw_draw__apart(dw_draw_work *work, void *user, struct dw_drawing **out,
                      struct dw_error *error)
{
    return work(user, out, error);
}

dw_err dw_draw__apart_single(dw_draw_work *work, void *user, struct dw_image *out,
                             struct dw_error *error)
{
    struct dw_drawing *drawing = NULL;
    *out = (struct dw_image){0};
    dw_err err = work(user, &drawing, error);
    if (err == DW_OK) {
        *out = drawing->files[0];
        drawing->n_files = 0;
    }
    dw_drawing_free(drawing);
    return err;
}
