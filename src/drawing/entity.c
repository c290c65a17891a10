/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Entities one after the other: polylines with their vertices, and blocks unfolded where they are
 * inserted. */
#include "drawing/dxf.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static bool is_type(const struct dw_raw *raw, const char *type)
{
    return strlen(type) == raw->n_type && memcmp(raw->type, type, raw->n_type) == 0;
}

/* --- polylines with vertices of their own -------------------------------------------------------
 */

static dw_err keep_vertex(struct dw_dxf *dxf, struct dw_raw *polyline, const struct dw_raw *vertex)
{
    if (polyline->n_vertices == DW_SKETCH_LINES)
        return dw_error__at(dxf->error, DW_ERR_LIMIT, dxf->source->name, vertex->line, 1,
                            "more than %zu lines in the drawing", DW_SKETCH_LINES);
    if (!dw_array__grow(&polyline->vertices, &polyline->capacity, polyline->n_vertices + 1,
                        sizeof *polyline->vertices))
        return dw_error__nomem(dxf->error);
    struct dw_vertex *kept = &polyline->vertices[polyline->n_vertices++];
    *kept = (struct dw_vertex){.bulge = vertex->real[DW_RAW_REAL(42)], .flags = vertex->flags};
    memcpy(kept->at, vertex->at[0], sizeof kept->at);
    polyline->bad |= vertex->bad;
    return DW_OK;
}

/* The vertices of a POLYLINE, and its SEQEND. */
static dw_err read_vertices(struct dw_dxf *dxf, struct dw_tags *tags, struct dw_raw *polyline)
{
    for (;;) {
        struct dw_tags before = *tags;
        struct dw_tag tag = {0};
        struct dw_raw raw = {0};
        dw_err err = dw_tags__next(tags, &tag, dxf->error);
        if (!err && !dw_tag__is(&tag, 0, "VERTEX") && !dw_tag__is(&tag, 0, "SEQEND")) {
            *tags = before;
            return DW_OK;
        }
        if (!err)
            err = dw_dxf__raw(dxf, tags, &tag, &raw);
        if (!err && dw_tag__is(&tag, 0, "VERTEX"))
            err = keep_vertex(dxf, polyline, &raw);
        if (err || dw_tag__is(&tag, 0, "SEQEND"))
            return err;
    }
}

/* --- blocks ------------------------------------------------------------------------------------
 */

#define ELSEWHERE 4 /* flag: contents in another file */

dw_err dw_dxf__block(struct dw_dxf *dxf, struct dw_tags *tags)
{
    const struct dw_tag head = {.text = "INSERT", .n = 6, .line = tags->line};
    struct dw_raw raw = {0};
    dw_err err = dw_dxf__raw(dxf, tags, &head, &raw);
    if (err)
        return err;
    if (!dw_array__grow(&dxf->blocks, &dxf->block_capacity, dxf->n_blocks + 1, sizeof *dxf->blocks))
        return dw_error__nomem(dxf->error);
    struct dw_block *block = &dxf->blocks[dxf->n_blocks];
    *block = (struct dw_block){
        .name = dw_arena__text_n(dxf->sketch->arena, raw.name ? raw.name : "", raw.n_name),
        .tags = *tags,
        .elsewhere = (raw.flags & ELSEWHERE) != 0};
    memcpy(block->base.at, raw.at[0], sizeof block->base.at);
    if (!block->name)
        return dw_error__nomem(dxf->error);
    dxf->n_blocks++;
    struct dw_tag tag = {0};
    while (!err && !dw_tag__is(&tag, 0, "ENDBLK")) {
        err = dw_tags__next(tags, &tag, dxf->error);
        if (!err && (dw_tag__is(&tag, 0, "ENDSEC") || dw_tag__is(&tag, 0, "EOF")))
            err = dw_error__at(dxf->error, DW_ERR_SYNTAX, dxf->source->name, tag.line, 1,
                               "block `%.60s` does not end (ENDBLK is missing)", block->name);
    }
    return err;
}

static const struct dw_block *find_block(const struct dw_dxf *dxf, const struct dw_raw *raw)
{
    for (size_t i = 0; i < dxf->n_blocks; i++)
        if (strlen(dxf->blocks[i].name) == raw->n_name &&
            strncasecmp(dxf->blocks[i].name, raw->name ? raw->name : "", raw->n_name) == 0)
            return &dxf->blocks[i];
    return NULL;
}

static long double real_or(const struct dw_raw *raw, int code, long double otherwise)
{
    return raw->has_real[DW_RAW_REAL(code)] ? raw->real[DW_RAW_REAL(code)] : otherwise;
}

/* insert = extrusion, then its point, then turned; each row and column steps within that; then
 * scaled, about the block's base. */
static struct dw_pose place_block(const struct dw_dxf *dxf, const struct dw_raw *raw,
                                  const struct dw_block *block, int64_t column, int64_t row)
{
    struct dw_pose turn = dw_pose__world(), scale = dw_pose__world(), base = dw_pose__world();
    struct dw_pose own =
        dw_pose__extruded((struct dw_vec){{raw->normal[0], raw->normal[1], raw->normal[2]}});
    long double sine = 0, cosine = 1;
    dw_angle__sincos(real_or(raw, 50, 0), &sine, &cosine);
    turn.axes[0] = (struct dw_vec){{cosine, sine, 0}};
    turn.axes[1] = (struct dw_vec){{-sine, cosine, 0}};
    const struct dw_spot at = {{raw->at[0][0], raw->at[0][1], raw->at[0][2]}};
    turn.origin = dw_vec__of(&at);
    for (int i = 0; i < 3; i++)
        scale.axes[i].at[i] = real_or(raw, 41 + i, 1);
    scale.origin =
        (struct dw_vec){{(long double)column * real_or(raw, 44, 0) * (long double)dxf->unit_nm,
                         (long double)row * real_or(raw, 45, 0) * (long double)dxf->unit_nm, 0}};
    base.origin = dw_vec__times(dw_vec__of(&block->base), -1);
    struct dw_pose inner = dw_pose__within(&scale, &base);
    inner = dw_pose__within(&turn, &inner);
    return dw_pose__within(&own, &inner);
}

static dw_err refuse_insert(struct dw_dxf *dxf, const struct dw_raw *raw, const char *why)
{
    return dw_report__add(dxf->report, DW_WRONG, dxf->source->name, raw->line, 1,
                          "INSERT of block `%.*s`: %s", raw->n_name < 60 ? (int)raw->n_name : 60,
                          raw->name ? raw->name : "", why);
}

static dw_err insert_block(struct dw_dxf *dxf, const struct dw_raw *raw,
                           const struct dw_scope *scope)
{
    const struct dw_block *block = find_block(dxf, raw);
    int64_t columns = raw->flags > 0 ? raw->flags : 1, rows = raw->rows > 0 ? raw->rows : 1;
    if (!block)
        return refuse_insert(dxf, raw, "the drawing has no such block");
    if (block->elsewhere)
        return refuse_insert(dxf, raw,
                             "its lines are in another file; bind that file into this "
                             "drawing");
    if (scope->depth == DW_SKETCH_DEPTH)
        return refuse_insert(dxf, raw, "more than 16 blocks within each other");
    if (columns > 1000 || rows > 1000)
        return refuse_insert(dxf, raw, "more than 1000 rows or columns");
    dw_err err = DW_OK;
    struct dw_scope inner = {.depth = scope->depth + 1};
    inner.layer = dw_dxf__layer(dxf, raw->layer, raw->n_layer, &err);
    if (!err && strcmp(dxf->layers[inner.layer].name, "0") == 0 && scope->layer != DW_NONE)
        inner.layer = scope->layer;
    for (int64_t i = 0; i < columns * rows && !err; i++) {
        struct dw_pose pose = place_block(dxf, raw, block, i % columns, i / columns);
        struct dw_tags tags = block->tags;
        inner.pose = dw_pose__within(&scope->pose, &pose);
        err = dw_dxf__entities(dxf, &tags, "ENDBLK", &inner);
    }
    return err;
}

/* --- entities ---------------------------------------------------------------------------------
 */

static dw_err read_entity(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *head,
                          const struct dw_scope *scope, struct dw_raw *raw)
{
    dw_err err = dw_dxf__raw(dxf, tags, head, raw);
    if (!err && is_type(raw, "POLYLINE"))
        err = read_vertices(dxf, tags, raw);
    if (err || raw->bad || is_type(raw, "SEQEND"))
        return err;
    size_t layer = dw_dxf__layer(dxf, raw->layer, raw->n_layer, &err);
    bool shown = !err && !raw->hidden && !raw->paper && !dxf->layers[layer].off &&
                 !dxf->layers[layer].left_out;
    if (!err && shown && is_type(raw, "INSERT"))
        return insert_block(dxf, raw, scope);
    return err ? err : dw_dxf__draw(dxf, raw, scope);
}

/* Blocks in blocks multiply: what is read again for them is bounded. */
static dw_err count_again(struct dw_dxf *dxf, const struct dw_tags *from, const struct dw_tags *to,
                          const struct dw_scope *scope)
{
    if (scope->depth > 0)
        dxf->n_again += (size_t)(to->line - from->line) / 2;
    if (dxf->n_again > DW_SKETCH_TAGS)
        return dw_error__at(dxf->error, DW_ERR_LIMIT, dxf->source->name, from->line, 1,
                            "the blocks of the drawing unfold to more than can be read");
    return DW_OK;
}

dw_err dw_dxf__entities(struct dw_dxf *dxf, struct dw_tags *tags, const char *until,
                        const struct dw_scope *scope)
{
    struct dw_raw raw = {0};
    dw_err err = DW_OK;
    while (!err) {
        struct dw_tag tag = {0};
        struct dw_tags before = *tags;
        err = dw_tags__next(tags, &tag, dxf->error);
        if (err || dw_tag__is(&tag, 0, until))
            break;
        if (dw_tag__is(&tag, 0, "SECTION") || dw_tag__is(&tag, 0, "EOF"))
            err = dw_error__at(dxf->error, DW_ERR_SYNTAX, dxf->source->name, tag.line, 1,
                               "%s is missing: section ENTITIES does not end before %.*s", until,
                               (int)tag.n, tag.text);
        else if (tag.code == 0)
            err = read_entity(dxf, tags, &tag, scope, &raw);
        if (!err)
            err = count_again(dxf, &before, tags, scope);
    }
    free(raw.vertices);
    return err;
}
