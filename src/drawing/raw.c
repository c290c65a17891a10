/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One entity of a DXF file as its tags say it, before anybody asks what it draws. */
#include "drawing/dxf.h"

#include <string.h>

static bool is_type(const struct dw_raw *raw, const char *type)
{
    return strlen(type) == raw->n_type && memcmp(raw->type, type, raw->n_type) == 0;
}

static dw_err refuse(struct dw_dxf *dxf, const struct dw_tag *tag, struct dw_raw *raw)
{
    raw->bad = true;
    return dw_report__add(dxf->report, DW_WRONG, dxf->source->name, tag->line, 1,
                          "%.*s: `%.*s` (group %d) is no number that a drawing can have here; "
                          "coordinates go up to 1 000 km",
                          raw->n_type < 20 ? (int)raw->n_type : 20, raw->type,
                          tag->n < 40 ? (int)tag->n : 40, tag->text, tag->code);
}

static bool read_length(const struct dw_dxf *dxf, const struct dw_tag *tag, dw_length *out)
{
    return dw_tag__length(tag, dxf->unit_nm, DW_LENGTH_MAX, out);
}

/* 10 begins a vertex of a polyline that has all of them within itself. */
static dw_err read_vertex(struct dw_dxf *dxf, const struct dw_tag *tag, struct dw_raw *raw,
                          bool *good)
{
    if (tag->code == 10) {
        if (raw->n_vertices == DW_SKETCH_LINES)
            return dw_error__at(dxf->error, DW_ERR_LIMIT, dxf->source->name, tag->line, 1,
                                "more than %zu lines in the drawing", DW_SKETCH_LINES);
        if (!dw_array__grow(&raw->vertices, &raw->capacity, raw->n_vertices + 1,
                            sizeof *raw->vertices))
            return dw_error__nomem(dxf->error);
        raw->vertices[raw->n_vertices++] = (struct dw_vertex){.bulge = 0};
    }
    if (raw->n_vertices == 0)
        return DW_OK;
    struct dw_vertex *vertex = &raw->vertices[raw->n_vertices - 1];
    if (tag->code == 42)
        *good = dw_tag__real(tag, &vertex->bulge);
    else
        *good = read_length(dxf, tag, &vertex->at[tag->code == 20]);
    return DW_OK;
}

static bool read_whole(const struct dw_tag *tag, struct dw_raw *raw)
{
    int64_t value = 0;
    bool good = dw_tag__integer(tag, &value);
    if (tag->code == 70)
        raw->flags = value;
    else if (tag->code == 71)
        raw->rows = value;
    else if (tag->code == 60)
        raw->hidden = value != 0;
    else
        raw->paper = value != 0;
    return good;
}

static bool read_text(const struct dw_tag *tag, struct dw_raw *raw)
{
    if (tag->code == 5) {
        raw->handle = tag->text;
        raw->n_handle = tag->n;
    } else if (tag->code == 8) {
        raw->layer = tag->text;
        raw->n_layer = tag->n;
    } else if (tag->code == 2) {
        raw->name = tag->text;
        raw->n_name = tag->n;
    } else
        return false;
    return true;
}

/* Types whose numbers are asked for: in others the same codes mean other things. */
static bool is_drawn(const struct dw_raw *raw)
{
    static const char *const types[] = {"LINE",   "LWPOLYLINE", "POLYLINE", "VERTEX",
                                        "SEQEND", "ARC",        "CIRCLE",   "INSERT"};
    for (size_t i = 0; i < DW_COUNT(types); i++)
        if (is_type(raw, types[i]))
            return true;
    return false;
}

static dw_err read_number(struct dw_dxf *dxf, const struct dw_tag *tag, struct dw_raw *raw)
{
    bool good = true, light = is_type(raw, "LWPOLYLINE");
    int code = tag->code;
    dw_err err = DW_OK;
    if (light && (code == 10 || code == 20 || code == 42))
        err = read_vertex(dxf, tag, raw, &good);
    else if (code == 10 || code == 11 || code == 20 || code == 21 || code == 30 || code == 31) {
        good = read_length(dxf, tag, &raw->at[code % 10][code / 10 - 1]);
        if (code < 30)
            raw->given[code % 10][code / 10 - 1] = true;
    } else if (code >= 40 && code <= 51 && !light) {
        good = dw_tag__real(tag, &raw->real[DW_RAW_REAL(code)]);
        raw->has_real[DW_RAW_REAL(code)] = true;
    } else if (code == 210 || code == 220 || code == 230)
        good = dw_tag__real(tag, &raw->normal[code / 10 - 21]);
    else if (code == 38)
        good = read_length(dxf, tag, &raw->elevation);
    return !err && !good ? refuse(dxf, tag, raw) : err;
}

dw_err dw_dxf__raw(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *head,
                   struct dw_raw *raw)
{
    struct dw_vertex *vertices = raw->vertices;
    size_t capacity = raw->capacity;
    *raw = (struct dw_raw){.type = head->text,
                           .n_type = head->n,
                           .line = head->line,
                           .vertices = vertices,
                           .capacity = capacity,
                           .normal = {0, 0, 1}};
    bool drawn = is_drawn(raw), own = true;
    for (;;) {
        struct dw_tags before = *tags;
        struct dw_tag tag = {0};
        dw_err err = dw_tags__next(tags, &tag, dxf->error);
        if (err)
            return err;
        if (tag.code == 0) {
            *tags = before;
            return DW_OK;
        }
        /* what stands between 102 { and 102 }, and behind 1001, is of other programs */
        if (tag.code == 102)
            own = tag.n > 0 && tag.text[0] == '}';
        if (tag.code >= 1000)
            own = false;
        if (!own || read_text(&tag, raw))
            continue;
        if (tag.code == 60 || tag.code == 67 || (drawn && (tag.code == 70 || tag.code == 71)))
            err = read_whole(&tag, raw) ? DW_OK : refuse(dxf, &tag, raw);
        else if (drawn)
            err = read_number(dxf, &tag, raw);
        if (err)
            return err;
    }
}
