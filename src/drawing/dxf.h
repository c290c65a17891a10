/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files that read DXF: what they share. */
#ifndef DW_DRAWING_DXF_H
#define DW_DRAWING_DXF_H

#include "drawing/sketch.h"
#include "drawing/tag.h"

/* A block: where its entities begin in the file, and its base point. */
struct dw_block {
    const char *name;
    struct dw_tags tags;
    struct dw_spot base;
    bool elsewhere; /* its contents are in another file */
};

/* A drawing under way. The first failure sticks in `err`. */
struct dw_dxf {
    struct dw_sketch *sketch;
    const struct dw_sketch_source *source;
    struct dw_report *report;
    struct dw_error *error;
    int64_t unit_nm; /* 0 = not known yet */
    bool entities;   /* the section of that name was there */

    /* Growing, heap; the sketch gets copies. */
    struct dw_layer *layers;
    size_t n_layers, layer_capacity;
    struct dw_block *blocks;
    size_t n_blocks, block_capacity;
    struct dw_entity *read; /* those that are taken */
    size_t n_read, read_capacity;
    struct dw_entity *others; /* one row for each type, layer and reason */
    size_t n_others, other_capacity;
    struct dw_wire *wires;
    size_t n_wires, wire_capacity;
    size_t n_again; /* tags read while blocks are unfolded */
};

/* Index of a layer, made if it is new; DW_NONE after *err is set. */
size_t dw_dxf__layer(struct dw_dxf *dxf, const char *name, size_t n, dw_err *err);

/* What stands around an entity: the block that holds it. */
struct dw_scope {
    struct dw_pose pose;
    size_t layer; /* of the insert, for entities on layer 0; DW_NONE in the model itself */
    int depth;
};

/* Reads entities from *tags up to the tag `until` of code 0 (ENDSEC, ENDBLK), which is read too.
 * DW_ERR_SYNTAX, DW_ERR_LIMIT with a place, DW_ERR_NOMEM; mistakes in numbers are in the report. */
dw_err dw_dxf__entities(struct dw_dxf *dxf, struct dw_tags *tags, const char *until,
                        const struct dw_scope *scope);

/* Reads a block's head up to its first entity, and skips to its end. */
dw_err dw_dxf__block(struct dw_dxf *dxf, struct dw_tags *tags);

/* --- an entity ---------------------------------------------------------------------------------
 */

struct dw_vertex {
    dw_length at[3];
    long double bulge;
    int64_t flags;
};

/* All that is asked of any entity, by its group codes. */
struct dw_raw {
    const char *type;
    size_t n_type;
    int line;
    const char *handle, *layer, *name; /* 5, 8, 2; not terminated */
    size_t n_handle, n_layer, n_name;
    dw_length at[2][3];   /* 10 20 30, 11 21 31 */
    bool given[2][2];     /* x and y of them */
    long double real[12]; /* 40 to 51, by DW_RAW_REAL */
    bool has_real[12];
    long double normal[3]; /* 210 220 230 */
    dw_length elevation;   /* 38 */
    int64_t flags, rows;   /* 70, 71 */
    bool hidden, paper;    /* 60, 67 */
    bool bad;              /* a number was refused */
    size_t n_vertices, capacity;
    struct dw_vertex *vertices; /* heap, kept from entity to entity */
};
#define DW_RAW_REAL(code) ((code)-40)

/* Reads the tags of an entity, up to the next code 0, which is left. */
dw_err dw_dxf__raw(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *head,
                   struct dw_raw *raw);

/* Makes the lines of an entity; others are counted. */
dw_err dw_dxf__draw(struct dw_dxf *dxf, const struct dw_raw *raw, const struct dw_scope *scope);

#endif
