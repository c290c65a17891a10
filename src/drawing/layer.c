/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layers of a drawing: found by name, made where they are new. */
#include "drawing/dxf.h"

#include <string.h>
#include <strings.h>

/* \U+00FC stands for a character in older files. */
static const char *unescape(struct dw_arena *arena, const char *text, size_t n)
{
    struct dw_buf buf = {0};
    for (size_t i = 0; i < n; i++) {
        unsigned code = 0;
        int digits = 0;
        for (; n - i >= 7 && memcmp(text + i, "\\U+", 3) == 0 && digits < 4; digits++) {
            const char *hex = strchr("0123456789ABCDEF", text[i + 3 + (size_t)digits]);
            if (!hex)
                break;
            code = code * 16 + (unsigned)(hex - "0123456789ABCDEF");
        }
        if (digits < 4 || code < 0x80 || (code >= 0xD800 && code < 0xE000)) {
            dw_buf__char(&buf, text[i]);
            continue;
        }
        if (code >= 0x800)
            dw_buf__char(&buf, (char)(0xE0 | code >> 12));
        dw_buf__char(&buf, (char)((code >= 0x800 ? 0x80 : 0xC0) |
                                  (code >> 6 & (code >= 0x800 ? 0x3Fu : 0x1Fu))));
        dw_buf__char(&buf, (char)(0x80 | (code & 0x3F)));
        i += 6;
    }
    char *copy = buf.failed ? NULL : dw_arena__text_n(arena, buf.n ? buf.text : "", buf.n);
    dw_buf__free(&buf);
    return copy;
}

/* Names differ in more than small and capital letters. */
static size_t find_layer(const struct dw_dxf *dxf, const char *name)
{
    for (size_t i = 0; i < dxf->n_layers; i++)
        if (strcasecmp(dxf->layers[i].name, name) == 0)
            return i;
    return DW_NONE;
}

size_t dw_dxf__layer(struct dw_dxf *dxf, const char *name, size_t n, dw_err *err)
{
    const char *copy = n > 0 ? unescape(dxf->sketch->arena, name, n) : "0";
    size_t found = copy ? find_layer(dxf, copy) : DW_NONE;
    if (found != DW_NONE) {
        dxf->layers[found].known = true;
        return found;
    }
    if (copy && dxf->n_layers == DW_SKETCH_LAYERS) {
        *err = dw_error__at(dxf->error, DW_ERR_LIMIT, dxf->source->name, 0, 0,
                            "more than %d layers", DW_SKETCH_LAYERS);
        return DW_NONE;
    }
    if (!copy || !dw_array__grow(&dxf->layers, &dxf->layer_capacity, dxf->n_layers + 1,
                                 sizeof *dxf->layers)) {
        *err = dw_error__nomem(dxf->error);
        return DW_NONE;
    }
    /* what never plots is no tube */
    dxf->layers[dxf->n_layers] = (struct dw_layer){
        .name = copy, .left_out = strcasecmp(copy, "Defpoints") == 0, .known = true};
    return dxf->n_layers++;
}
