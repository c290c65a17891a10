/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines and arcs by themselves: lengths, directions, those that are too short or drawn twice. */
#include "drawing/wire.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Turns by `angle` about the unit axis (Rodrigues 1840): v cos + (k x v) sin + k (k v)(1 - cos). */
static struct dw_vec turn(struct dw_vec v, struct dw_vec axis, long double angle)
{
    struct dw_vec out = dw_vec__times(v, cosl(angle));
    out = dw_vec__add(out, dw_vec__cross(axis, v), sinl(angle));
    return dw_vec__add(out, axis, dw_vec__dot(axis, v) * (1 - cosl(angle)));
}

struct dw_vec dw_wire__at(const struct dw_wire *wire, long double share)
{
    struct dw_vec from = dw_vec__of(&wire->ends[0]);
    if (!wire->arc)
        return dw_vec__add(from, dw_vec__between(&wire->ends[0], &wire->ends[1]), share);
    struct dw_vec spoke = dw_vec__add(from, wire->centre, -1);
    return dw_vec__add(wire->centre, turn(spoke, wire->normal, wire->angle * share), 1);
}

struct dw_vec dw_wire__away(const struct dw_wire *wire, int end)
{
    if (!wire->arc)
        return dw_vec__unit(dw_vec__between(&wire->ends[end], &wire->ends[1 - end]));
    struct dw_vec spoke = dw_vec__add(dw_vec__of(&wire->ends[end]), wire->centre, -1);
    struct dw_vec along = dw_vec__cross(wire->normal, spoke);
    return dw_vec__unit(end == 0 ? along : dw_vec__times(along, -1));
}

dw_length dw_wire__length(const struct dw_wire *wire)
{
    if (wire->arc)
        return llroundl(wire->radius * wire->angle);
    dw_length length = dw_spot__distance(&wire->ends[0], &wire->ends[1]);
    long double exact = dw_vec__size(dw_vec__between(&wire->ends[0], &wire->ends[1]));
    return exact - (long double)length >= 0.5L ? length + 1 : length;
}

/* --- too short ------------------------------------------------------------------------------- */

static bool has_others(const struct dw_sketch *sketch, size_t w)
{
    size_t entity = sketch->wires[w].entity;
    return (w > 0 && sketch->wires[w - 1].entity == entity) ||
           (w + 1 < sketch->n_wires && sketch->wires[w + 1].entity == entity);
}

static void leave_out(struct dw_sketch *sketch, size_t w, enum dw_entity_role role)
{
    sketch->wires[w].left_out = true;
    if (!has_others(sketch, w))
        sketch->entities[sketch->wires[w].entity].role = role;
}

dw_err dw_wires__short(struct dw_sketch *sketch, struct dw_report *report)
{
    dw_err err = DW_OK;
    for (size_t w = 0; w < sketch->n_wires && !err; w++) {
        const struct dw_wire *wire = &sketch->wires[w];
        if (dw_wire__length(wire) >= DW_SKETCH_GAP)
            continue;
        leave_out(sketch, w, DW_ENTITY_SHORT);
        err = dw_sketch__say(sketch, report, DW_DOUBT, wire->entity, &wire->ends[0],
                             "shorter than 2 mm; it is left out");
    }
    return err;
}

/* --- drawn twice ----------------------------------------------------------------------------- */

struct pair {
    size_t low, high; /* meetings of the two ends */
    size_t wire;
};

static int by_meetings(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    if (x->low != y->low)
        return x->low < y->low ? -1 : 1;
    if (x->high != y->high)
        return x->high < y->high ? -1 : 1;
    return x->wire < y->wire ? -1 : x->wire > y->wire;
}

static bool is_same(const struct dw_wire *a, const struct dw_wire *b)
{
    struct dw_vec apart = dw_vec__add(dw_wire__at(a, 0.5L), dw_wire__at(b, 0.5L), -1);
    return dw_vec__size(apart) < (long double)DW_SKETCH_GAP;
}

/* Of lines between the same two meetings, the first in the file stays. */
static dw_err drop_same(struct dw_sketch *sketch, const struct pair *pairs, size_t n,
                        struct dw_report *report)
{
    dw_err err = DW_OK;
    for (size_t i = 1; i < n && !err; i++)
        for (size_t k = 0; k < i && !err; k++) {
            const struct dw_wire *first = &sketch->wires[pairs[k].wire];
            struct dw_wire *again = &sketch->wires[pairs[i].wire];
            if (first->left_out || again->left_out || !is_same(first, again))
                continue;
            leave_out(sketch, pairs[i].wire, DW_ENTITY_TWICE);
            err = dw_sketch__say(sketch, report, DW_DOUBT, again->entity, &again->ends[0],
                                 "drawn twice: it lies where the %s of line %d on layer `%.60s` "
                                 "does; it is taken once",
                                 sketch->entities[first->entity].type,
                                 sketch->entities[first->entity].line,
                                 sketch->layers[first->layer].name);
        }
    return err;
}

dw_err dw_wires__twice(struct dw_sketch *sketch, struct dw_report *report)
{
    struct pair *pairs = calloc(sketch->n_wires + 1, sizeof *pairs);
    size_t n = 0;
    if (!pairs)
        return DW_ERR_NOMEM;
    for (size_t w = 0; w < sketch->n_wires; w++) {
        const size_t *ends = sketch->wires[w].meetings;
        if (!sketch->wires[w].left_out)
            pairs[n++] = (struct pair){ends[0] < ends[1] ? ends[0] : ends[1],
                                       ends[0] < ends[1] ? ends[1] : ends[0], w};
    }
    qsort(pairs, n, sizeof *pairs, by_meetings);
    dw_err err = DW_OK;
    for (size_t from = 0, to = 0; from < n && !err; from = to) {
        while (to < n && pairs[to].low == pairs[from].low && pairs[to].high == pairs[from].high)
            to++;
        err = drop_same(sketch, pairs + from, to - from, report);
    }
    free(pairs);
    return err;
}
