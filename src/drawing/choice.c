/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The choice of layers, as it is written beside the name of the drawing. */
#include "drawing/choice.h"

#include <string.h>
#include <strings.h>

static void trim(const char **text, size_t *n)
{
    while (*n > 0 && **text == ' ') {
        (*text)++;
        (*n)--;
    }
    while (*n > 0 && (*text)[*n - 1] == ' ')
        (*n)--;
}

static dw_err refuse(struct dw_dxf *dxf, const char *text, size_t n, const char *why)
{
    const struct dw_place *at = &dxf->source->at;
    return dw_error__at(dxf->error, DW_ERR_INPUT, at->file, at->line, at->column,
                        "layers: `%.*s` %s", n < 60 ? (int)n : 60, text, why);
}

static dw_err read_one(struct dw_dxf *dxf, const char *text, size_t n)
{
    const char *equals = memchr(text, '=', n);
    if (!equals)
        return refuse(dxf, text, n,
                      "lacks what it is; write rails=al38 for a material, axis=none to leave it "
                      "out");
    const char *name = text, *to = equals + 1;
    size_t n_name = (size_t)(equals - text), n_to = n - n_name - 1;
    dw_err err = DW_OK;
    trim(&name, &n_name);
    trim(&to, &n_to);
    if (n_name == 0 || n_to == 0)
        return refuse(dxf, text, n, "lacks a layer or a material");
    size_t layer = dw_dxf__layer(dxf, name, n_name, &err);
    if (err)
        return err;
    if (dxf->layers[layer].chosen)
        return refuse(dxf, name, n_name, "stands there twice");
    dxf->layers[layer].chosen = true;
    dxf->layers[layer].left_out = n_to == 4 && memcmp(to, "none", 4) == 0;
    if (!dxf->layers[layer].left_out)
        dxf->layers[layer].to = dw_arena__text_n(dxf->sketch->arena, to, n_to);
    if (!dxf->layers[layer].left_out && !dxf->layers[layer].to)
        return dw_error__nomem(dxf->error);
    return DW_OK;
}

dw_err dw_choice__read(struct dw_dxf *dxf)
{
    dw_err err = DW_OK;
    for (const char *at = dxf->source->layers; at && *at && !err;) {
        size_t n = strcspn(at, ",;");
        const char *text = at;
        size_t length = n;
        trim(&text, &length);
        err = length > 0 ? read_one(dxf, text, length) : DW_OK;
        at += n + (at[n] != '\0');
    }
    for (size_t i = 0; i < dxf->n_layers; i++)
        dxf->layers[i].known = false;
    return err;
}

dw_err dw_choice__check(struct dw_dxf *dxf)
{
    const struct dw_place *at = &dxf->source->at;
    dw_err err = DW_OK;
    for (size_t i = 0; i < dxf->n_layers && !err; i++)
        if (dxf->layers[i].chosen && !dxf->layers[i].known)
            err = dw_report__add(dxf->report, DW_WRONG, at->file, at->line, at->column,
                                 "layers: the drawing has no layer `%.60s`", dxf->layers[i].name);
    return err;
}
