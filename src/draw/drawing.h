/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files of a drawing, whatever canvas made them. */
#ifndef DW_DRAW_DRAWING_H
#define DW_DRAW_DRAWING_H

#include "base/base.h"
#include <dropwise/draw.h>

/* Files that are finished, in the order of the pages; heap, length n. */
struct dw_files {
    struct dw_image *all;
    size_t n;
    size_t capacity;
};

/* What `bytes` holds becomes one more file, and `bytes` is empty. DW_OK, DW_ERR_NOMEM. */
dw_err dw_files__add(struct dw_files *files, struct dw_buf *bytes);
void dw_files__free(struct dw_files *files);

#endif
