/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings as they are kept and freed: bytes of their files, boxes, texts. */
#include "draw/drawing.h"

#include <stdlib.h>

dw_err dw_files__add(struct dw_files *files, struct dw_buf *bytes)
{
    size_t n = bytes->n;
    char *text = dw_buf__take(bytes);
    if (!text || !dw_array__grow(&files->all, &files->capacity, files->n + 1, sizeof *files->all)) {
        free(text);
        return DW_ERR_NOMEM;
    }
    files->all[files->n++] = (struct dw_image){.bytes = (unsigned char *)text, .n = n};
    return DW_OK;
}

void dw_files__free(struct dw_files *files)
{
    for (size_t i = 0; i < files->n; i++)
        free(files->all[i].bytes);
    free(files->all);
    *files = (struct dw_files){0};
}

void dw_drawing_free(struct dw_drawing *document)
{
    if (!document)
        return;
    dw_files__free(&(struct dw_files){.all = document->files, .n = document->n_files});
    free(document->boxes);
    dw_arena__free(document->arena);
    free(document);
}
