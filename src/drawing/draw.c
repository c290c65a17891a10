/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From entities to straight lines and arcs in space. */
#include "drawing/dxf.h"

#include <math.h>
#include <string.h>

static bool is_type(const struct dw_raw *raw, const char *type)
{
    return strlen(type) == raw->n_type && memcmp(raw->type, type, raw->n_type) == 0;
}

/* --- the record of an entity -------------------------------------------------------------------
 */

#define KINDS_MOST ((size_t)200) /* of what is no centre line; all others are told together */

/* What is no centre line is told once for each type and layer. */
static struct dw_entity *find_counted(struct dw_dxf *dxf, const struct dw_entity *one)
{
    for (size_t i = 0; i < dxf->n_others; i++) {
        struct dw_entity *entity = &dxf->others[i];
        if (entity->role == one->role && entity->layer == one->layer &&
            strcmp(entity->type, one->type) == 0)
            return entity;
    }
    return dxf->n_others == KINDS_MOST ? &dxf->others[KINDS_MOST - 1] : NULL;
}

static dw_err keep_entity(struct dw_dxf *dxf, const struct dw_raw *raw, size_t layer,
                          enum dw_entity_role role)
{
    struct dw_arena *arena = dxf->sketch->arena;
    char type[40] = {0};
    memcpy(type, raw->type, raw->n_type < sizeof type ? raw->n_type : sizeof type - 1);
    struct dw_entity one = {
        .type = type, .line = raw->line, .layer = layer, .role = role, .count = 1};
    struct dw_entity *counted = role == DW_ENTITY_TAKEN ? NULL : find_counted(dxf, &one);
    if (counted) {
        counted->count++;
        return DW_OK;
    }
    one.type = dw_arena__text(arena, type);
    one.handle = dw_arena__text_n(arena, raw->handle ? raw->handle : "",
                                  raw->n_handle < 20 ? raw->n_handle : 20);
    bool taken = role == DW_ENTITY_TAKEN;
    size_t *n = taken ? &dxf->n_read : &dxf->n_others;
    struct dw_entity **list = taken ? &dxf->read : &dxf->others;
    if (!one.type || !one.handle ||
        !dw_array__grow(list, taken ? &dxf->read_capacity : &dxf->other_capacity, *n + 1,
                        sizeof one))
        return dw_error__nomem(dxf->error);
    (*list)[(*n)++] = one;
    return DW_OK;
}

/* --- lines -------------------------------------------------------------------------------------
 */

/* An entity that is being drawn. */
struct pen {
    struct dw_dxf *dxf;
    const struct dw_raw *raw;
    struct dw_pose pose; /* of the plane that it lies in, within the block */
    size_t layer;
    bool uneven; /* an arc would become part of an ellipse */
};

static dw_err keep_wire(struct pen *pen, struct dw_wire *wire, struct dw_vec a, struct dw_vec b)
{
    struct dw_dxf *dxf = pen->dxf;
    wire->entity = dxf->n_read - 1;
    wire->layer = pen->layer;
    if (!dw_spot__round(dw_pose__point(&pen->pose, a), &wire->ends[0]) ||
        !dw_spot__round(dw_pose__point(&pen->pose, b), &wire->ends[1]) ||
        (wire->arc && !(wire->radius < (long double)DW_LENGTH_MAX)))
        return dw_report__add(dxf->report, DW_WRONG, dxf->source->name, pen->raw->line, 1,
                              "%.*s: it reaches further than 1 000 km", (int)pen->raw->n_type,
                              pen->raw->type);
    if (dxf->n_wires == DW_SKETCH_LINES)
        return dw_error__at(dxf->error, DW_ERR_LIMIT, dxf->source->name, pen->raw->line, 1,
                            "more than %zu lines in the drawing", DW_SKETCH_LINES);
    if (!dw_array__grow(&dxf->wires, &dxf->wire_capacity, dxf->n_wires + 1, sizeof *dxf->wires))
        return dw_error__nomem(dxf->error);
    dxf->wires[dxf->n_wires++] = *wire;
    return DW_OK;
}

static dw_err draw_straight(struct pen *pen, struct dw_vec a, struct dw_vec b)
{
    struct dw_wire wire = {.arc = false};
    return keep_wire(pen, &wire, a, b);
}

/* An arc about `centre` from a to b, counter-clockwise by `angle`, or clockwise if that is
 * negative, in the plane of the pen. */
static dw_err draw_arc(struct pen *pen, struct dw_vec a, struct dw_vec b, struct dw_vec centre,
                       long double angle)
{
    struct dw_wire wire = {.arc = true};
    long double scale = dw_pose__scale(&pen->pose);
    if (scale == 0) {
        pen->uneven = true;
        return DW_OK;
    }
    struct dw_vec from = dw_pose__point(&pen->pose, a);
    wire.centre = dw_pose__point(&pen->pose, centre);
    wire.radius = dw_vec__size(dw_vec__add(from, wire.centre, -1));
    wire.normal = dw_vec__unit(dw_vec__cross(pen->pose.axes[0], pen->pose.axes[1]));
    if (angle < 0)
        wire.normal = dw_vec__times(wire.normal, -1);
    wire.angle = fabsl(angle);
    return keep_wire(pen, &wire, a, b);
}

/* From vertex to vertex. The arc of a bulge b over the chord c, with the chord turned left l: angle
 * 4 atan b, centre in the middle of the chord + l (1 - b^2) / (4 b). */
static dw_err draw_side(struct pen *pen, const struct dw_vertex *from, const struct dw_vertex *to)
{
    const struct dw_spot ends[2] = {{{from->at[0], from->at[1], from->at[2]}},
                                    {{to->at[0], to->at[1], to->at[2]}}};
    struct dw_vec a = dw_vec__of(&ends[0]), b = dw_vec__of(&ends[1]);
    long double bulge = from->bulge;
    if (fabsl(bulge) < 1e-9L)
        return draw_straight(pen, a, b);
    struct dw_vec chord = dw_vec__between(&ends[0], &ends[1]);
    struct dw_vec left = {{-chord.at[1], chord.at[0], 0}};
    struct dw_vec middle = dw_vec__times(dw_vec__add(a, b, 1), 0.5L);
    struct dw_vec centre = dw_vec__add(middle, left, (1 - bulge * bulge) / (4 * bulge));
    return draw_arc(pen, a, b, centre, 4 * atanl(bulge));
}

/* --- entities ---------------------------------------------------------------------------------
 */

#define CLOSED  1
#define FITTED  (2 | 4) /* points of a curve through, or near, the vertices */
#define SPATIAL 8
#define MESH    (16 | 64)

static struct dw_pose own_plane(const struct dw_raw *raw)
{
    return dw_pose__extruded((struct dw_vec){{raw->normal[0], raw->normal[1], raw->normal[2]}});
}

static dw_err draw_polyline(struct pen *pen)
{
    const struct dw_raw *raw = pen->raw;
    struct dw_pose plane = own_plane(raw);
    bool light = is_type(raw, "LWPOLYLINE"), spatial = !light && raw->flags & SPATIAL;
    if (!spatial)
        pen->pose = dw_pose__within(&pen->pose, &plane);
    dw_err err = DW_OK;
    size_t n = raw->n_vertices;
    for (size_t i = 0; i < n && !err; i++) {
        struct dw_vertex from = raw->vertices[i], to = raw->vertices[i + 1 < n ? i + 1 : 0];
        if (i + 1 == n && !(raw->flags & CLOSED))
            break;
        if (!spatial)
            from.at[2] = to.at[2] = light ? raw->elevation : raw->at[0][2];
        else
            from.bulge = 0;
        if (memcmp(from.at, to.at, sizeof from.at) != 0) /* a vertex that is given twice */
            err = draw_side(pen, &from, &to);
    }
    return err;
}

static struct dw_vec on_circle(struct dw_vec centre, long double radius, long double degrees)
{
    long double sine = 0, cosine = 0;
    dw_angle__sincos(degrees, &sine, &cosine);
    centre.at[0] += radius * cosine;
    centre.at[1] += radius * sine;
    return centre;
}

/* A whole turn is drawn as two halves. */
static dw_err draw_turn(struct pen *pen)
{
    const struct dw_raw *raw = pen->raw;
    const struct dw_spot at = {{raw->at[0][0], raw->at[0][1], raw->at[0][2]}};
    struct dw_vec centre = dw_vec__of(&at);
    long double radius = raw->real[DW_RAW_REAL(40)] * (long double)pen->dxf->unit_nm;
    long double from = raw->real[DW_RAW_REAL(50)], turn = 360;
    if (is_type(raw, "ARC"))
        turn = fmodl(raw->real[DW_RAW_REAL(51)] - from, 360);
    if (turn <= 1e-9L)
        turn += 360;
    struct dw_pose plane = own_plane(raw);
    pen->pose = dw_pose__within(&pen->pose, &plane);
    int parts = turn > 359.999999L ? 2 : 1;
    dw_err err = DW_OK;
    for (int i = 0; i < parts && !err; i++)
        err = draw_arc(pen, on_circle(centre, radius, from + turn / parts * i),
                       on_circle(centre, radius, from + turn / parts * (i + 1)), centre,
                       turn / parts * DW_PI / 180);
    return err;
}

/* What is missing of an entity whose lines are read; NULL: nothing. */
static const char *lack(const struct dw_raw *raw)
{
    if (is_type(raw, "LINE") &&
        !(raw->given[0][0] && raw->given[0][1] && raw->given[1][0] && raw->given[1][1]))
        return "it lacks a coordinate of an end (groups 10, 20, 11, 21)";
    if (is_type(raw, "ARC") || is_type(raw, "CIRCLE")) {
        if (!raw->given[0][0] || !raw->given[0][1])
            return "it lacks its centre (groups 10, 20)";
        if (!(raw->real[DW_RAW_REAL(40)] > 0))
            return "its radius (group 40) is more than 0";
        if (is_type(raw, "ARC") &&
            (!raw->has_real[DW_RAW_REAL(50)] || !raw->has_real[DW_RAW_REAL(51)]))
            return "it lacks an angle (groups 50, 51)";
    }
    if ((is_type(raw, "LWPOLYLINE") || is_type(raw, "POLYLINE")) && raw->n_vertices < 2)
        return "a polyline has two vertices or more";
    return NULL;
}

static enum dw_entity_role find_role(const struct dw_dxf *dxf, const struct dw_raw *raw,
                                     size_t layer)
{
    bool polyline = is_type(raw, "POLYLINE") && !(raw->flags & (MESH | FITTED));
    if (raw->paper)
        return DW_ENTITY_PAPER;
    if (raw->hidden || dxf->layers[layer].off)
        return DW_ENTITY_OFF;
    if (dxf->layers[layer].left_out)
        return DW_ENTITY_CHOSEN;
    if (polyline || is_type(raw, "LINE") || is_type(raw, "LWPOLYLINE") || is_type(raw, "ARC") ||
        is_type(raw, "CIRCLE"))
        return DW_ENTITY_TAKEN;
    return DW_ENTITY_OTHER;
}

static dw_err draw_taken(struct pen *pen)
{
    const struct dw_raw *raw = pen->raw;
    struct dw_dxf *dxf = pen->dxf;
    const char *missing = lack(raw);
    if (missing)
        return dw_report__add(dxf->report, DW_WRONG, dxf->source->name, raw->line, 1, "%.*s: %s",
                              (int)raw->n_type, raw->type, missing);
    dw_err err = DW_OK;
    if (is_type(raw, "LINE")) {
        const struct dw_spot a = {{raw->at[0][0], raw->at[0][1], raw->at[0][2]}};
        const struct dw_spot b = {{raw->at[1][0], raw->at[1][1], raw->at[1][2]}};
        err = draw_straight(pen, dw_vec__of(&a), dw_vec__of(&b));
    } else if (is_type(raw, "ARC") || is_type(raw, "CIRCLE"))
        err = draw_turn(pen);
    else
        err = draw_polyline(pen);
    if (!err && pen->uneven)
        err = dw_report__add(dxf->report, DW_WRONG, dxf->source->name, raw->line, 1,
                             "%.*s: its block is scaled unevenly, so that its arc is none; explode "
                             "the block",
                             (int)raw->n_type, raw->type);
    return err;
}

dw_err dw_dxf__draw(struct dw_dxf *dxf, const struct dw_raw *raw, const struct dw_scope *scope)
{
    dw_err err = DW_OK;
    size_t layer = dw_dxf__layer(dxf, raw->layer, raw->n_layer, &err);
    if (err)
        return err;
    if (scope->layer != DW_NONE && strcmp(dxf->layers[layer].name, "0") == 0)
        layer = scope->layer;
    struct pen pen = {.dxf = dxf, .raw = raw, .pose = scope->pose, .layer = layer};
    enum dw_entity_role role = find_role(dxf, raw, layer);
    err = keep_entity(dxf, raw, layer, role);
    return !err && role == DW_ENTITY_TAKEN ? draw_taken(&pen) : err;
}
