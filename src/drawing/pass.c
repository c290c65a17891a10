/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines that pass where others end, lines that cross, and lines that lie along each other. Pairs
 * that come close are found by sweeping along one axis. Cost: O(n log n + pairs close in it). */
#include "drawing/wire.h"

#include <math.h>
#include <stdlib.h>

#define GAP ((long double)DW_SKETCH_GAP)

struct box {
    dw_length low[3], high[3];
    size_t wire;
};

struct crossing {
    size_t wires[2];
    struct dw_spot at;
};

struct sweep {
    struct dw_sketch *sketch;
    struct dw_passes *passes;
    struct dw_report *report;
    int axis;
    size_t n_boxes;
    struct box *boxes;
    size_t n_crossings, capacity;
    struct crossing *crossings;
};

/* --- boxes ----------------------------------------------------------------------------------- */

static struct box box_of(const struct dw_wire *wire, size_t w)
{
    struct box box = {.wire = w};
    for (int i = 0; i < 3; i++) {
        dw_length a = wire->ends[0].at[i], b = wire->ends[1].at[i];
        box.low[i] = a < b ? a : b;
        box.high[i] = a < b ? b : a;
        if (wire->arc) {
            /* the whole circle, as far out as it goes along this axis */
            long double reach =
                wire->radius * sqrtl(fmaxl(0, 1 - wire->normal.at[i] * wire->normal.at[i]));
            box.low[i] = (dw_length)(wire->centre.at[i] - reach) - 1;
            box.high[i] = (dw_length)(wire->centre.at[i] + reach) + 1;
        }
        box.low[i] -= DW_SKETCH_GAP;
    }
    return box;
}

#define COMPARE(axis)                                                                              \
    static int by_##axis(const void *a, const void *b)                                             \
    {                                                                                              \
        const struct box *x = a, *y = b;                                                           \
        if (x->low[axis] != y->low[axis])                                                          \
            return x->low[axis] < y->low[axis] ? -1 : 1;                                           \
        return x->wire < y->wire ? -1 : x->wire > y->wire;                                         \
    }
COMPARE(0)
COMPARE(1)
COMPARE(2)

/* Along the axis on which the lines are spread furthest. */
static void sort_boxes(struct sweep *sweep)
{
    static int (*const compare[])(const void *, const void *) = {by_0, by_1, by_2};
    dw_length widest = -1;
    for (int i = 0; i < 3; i++) {
        dw_length low = DW_LENGTH_MAX, high = -DW_LENGTH_MAX;
        for (size_t k = 0; k < sweep->n_boxes; k++) {
            low = sweep->boxes[k].low[i] < low ? sweep->boxes[k].low[i] : low;
            high = sweep->boxes[k].low[i] > high ? sweep->boxes[k].low[i] : high;
        }
        if (high - low > widest) {
            widest = high - low;
            sweep->axis = i;
        }
    }
    qsort(sweep->boxes, sweep->n_boxes, sizeof *sweep->boxes, compare[sweep->axis]);
}

/* --- an end on a line ------------------------------------------------------------------------ */

/* Distance from a point to a line, and its direction there; false if the nearest point of the line
 * is at one of its ends. */
static bool inside_straight(const struct dw_wire *wire, const struct dw_spot *spot,
                            long double *distance, struct dw_vec *along)
{
    struct dw_vec whole = dw_vec__between(&wire->ends[0], &wire->ends[1]);
    struct dw_vec to = dw_vec__between(&wire->ends[0], spot);
    long double length = dw_vec__size(whole);
    *along = dw_vec__times(whole, 1 / length);
    long double foot = dw_vec__dot(to, *along);
    *distance = dw_vec__size(dw_vec__cross(to, *along));
    return foot >= GAP && foot <= length - GAP;
}

static bool inside_arc(const struct dw_wire *wire, const struct dw_spot *spot,
                       long double *distance, struct dw_vec *along)
{
    struct dw_vec to = dw_vec__add(dw_vec__of(spot), wire->centre, -1);
    long double height = dw_vec__dot(to, wire->normal);
    struct dw_vec spoke = dw_vec__add(to, wire->normal, -height);
    struct dw_vec first = dw_vec__add(dw_vec__of(&wire->ends[0]), wire->centre, -1);
    long double size = dw_vec__size(spoke);
    *distance = hypotl(height, size - wire->radius);
    *along = dw_vec__unit(dw_vec__cross(wire->normal, spoke));
    long double angle =
        atan2l(dw_vec__dot(dw_vec__cross(first, spoke), wire->normal), dw_vec__dot(first, spoke));
    if (angle < 0)
        angle += 2 * DW_PI;
    long double margin = GAP / wire->radius;
    return angle >= margin && angle <= wire->angle - margin;
}

static bool has_pass(const struct dw_passes *passes, size_t from, size_t meeting, size_t wire)
{
    for (size_t i = from; i < passes->n; i++)
        if (passes->passes[i].meeting == meeting && passes->passes[i].wire == wire)
            return true;
    return false;
}

/* Does the line pass an end of the other one? `from`: passes of this pair begin there. */
static dw_err pass_end(struct sweep *sweep, size_t line, size_t other, int end, size_t from)
{
    const struct dw_wire *wire = &sweep->sketch->wires[line], *ends = &sweep->sketch->wires[other];
    struct dw_passes *passes = sweep->passes;
    size_t meeting = ends->meetings[end];
    long double distance = 0;
    struct dw_vec along;
    bool inside = wire->arc ? inside_arc(wire, &ends->ends[end], &distance, &along)
                            : inside_straight(wire, &ends->ends[end], &distance, &along);
    if (!inside || distance >= GAP || wire->meetings[0] == meeting ||
        wire->meetings[1] == meeting || has_pass(passes, from, meeting, line))
        return DW_OK;
    if (!dw_array__grow(&passes->passes, &passes->capacity, passes->n + 1, sizeof *passes->passes))
        return DW_ERR_NOMEM;
    passes->passes[passes->n++] = (struct dw_pass){meeting, line, along};
    if (distance <= (long double)DW_SKETCH_SAME)
        return DW_OK;
    const struct dw_entity *entity = &sweep->sketch->entities[wire->entity];
    return dw_sketch__say(sweep->sketch, sweep->report, DW_DOUBT, ends->entity, &ends->ends[end],
                          "this end is %.2f mm from the %s of line %d; they are taken as meeting",
                          (double)(distance / DW_NM_PER_MM), entity->type, entity->line);
}

/* --- two lines ------------------------------------------------------------------------------- */

/* What ends there meets the other line; it does not cross it. */
static bool is_end(const struct dw_wire *wire, struct dw_vec at)
{
    return dw_vec__size(dw_vec__add(at, dw_vec__of(&wire->ends[0]), -1)) < GAP ||
           dw_vec__size(dw_vec__add(at, dw_vec__of(&wire->ends[1]), -1)) < GAP;
}

static dw_err keep_crossing(struct sweep *sweep, size_t a, size_t b, struct dw_vec at)
{
    if (is_end(&sweep->sketch->wires[a], at) || is_end(&sweep->sketch->wires[b], at))
        return DW_OK;
    if (!dw_array__grow(&sweep->crossings, &sweep->capacity, sweep->n_crossings + 1,
                        sizeof *sweep->crossings))
        return DW_ERR_NOMEM;
    struct crossing *crossing = &sweep->crossings[sweep->n_crossings];
    *crossing = (struct crossing){.wires = {a, b}};
    sweep->n_crossings += dw_spot__round(at, &crossing->at);
    return DW_OK;
}

/* Where two straight stretches from p to p + u and from q to q + v come closest, if that is within
 * both and closer than a gap: with w = p - q, a = uu, b = uv, c = vv, d = uw, e = vw,
 * s = (b e - c d) / (a c - b b), t = (a e - b d) / (a c - b b). */
static bool cross_straight(struct dw_vec p, struct dw_vec u, struct dw_vec q, struct dw_vec v,
                           struct dw_vec *at)
{
    struct dw_vec w = dw_vec__add(p, q, -1);
    long double a = dw_vec__dot(u, u), b = dw_vec__dot(u, v), c = dw_vec__dot(v, v);
    long double d = dw_vec__dot(u, w), e = dw_vec__dot(v, w), whole = a * c - b * b;
    if (whole <= 1e-9L * a * c)
        return false;
    long double s = (b * e - c * d) / whole, t = (a * e - b * d) / whole;
    if (s < 0 || s > 1 || t < 0 || t > 1)
        return false;
    *at = dw_vec__add(p, u, s);
    return dw_vec__size(dw_vec__add(*at, dw_vec__add(q, v, t), -1)) < GAP;
}

/* So many chords that none is further than a fifth of a millimetre from its arc. */
static int chords_of(const struct dw_wire *wire)
{
    long double step = 2 * acosl(fmaxl(0, 1 - 0.2e6L / wire->radius));
    long double n = wire->arc ? ceill(wire->angle / fmaxl(step, 0.01L)) : 1;
    return n < 1 ? 1 : (int)n;
}

static dw_err cross(struct sweep *sweep, size_t a, size_t b)
{
    const struct dw_wire *x = &sweep->sketch->wires[a], *y = &sweep->sketch->wires[b];
    int n = chords_of(x), m = chords_of(y);
    for (int i = 0; i < n; i++)
        for (int k = 0; k < m; k++) {
            struct dw_vec p = dw_wire__at(x, (long double)i / n);
            struct dw_vec q = dw_wire__at(y, (long double)k / m);
            struct dw_vec u = dw_vec__add(dw_wire__at(x, (long double)(i + 1) / n), p, -1);
            struct dw_vec v = dw_vec__add(dw_wire__at(y, (long double)(k + 1) / m), q, -1);
            struct dw_vec at;
            if (cross_straight(p, u, q, v, &at))
                return keep_crossing(sweep, a, b, at);
        }
    return DW_OK;
}

/* Two straight lines side by side: for how far, if more than a gap. */
static dw_err doubt_along(struct sweep *sweep, size_t a, size_t b)
{
    const struct dw_wire *x = &sweep->sketch->wires[a], *y = &sweep->sketch->wires[b];
    if (x->arc || y->arc)
        return DW_OK;
    struct dw_vec whole = dw_vec__between(&x->ends[0], &x->ends[1]);
    struct dw_vec other = dw_vec__between(&y->ends[0], &y->ends[1]);
    long double length = dw_vec__size(whole);
    struct dw_vec along = dw_vec__times(whole, 1 / length);
    struct dw_vec start = dw_vec__between(&x->ends[0], &y->ends[0]);
    long double from = dw_vec__dot(start, along), step = dw_vec__dot(other, along);
    if (fabsl(step) < 0.99L * dw_vec__size(other))
        return DW_OK;
    long double low = fmaxl(0, fminl(from, from + step));
    long double high = fminl(length, fmaxl(from, from + step));
    if (high - low < GAP)
        return DW_OK;
    for (int i = 0; i < 2; i++) {
        long double at = i == 0 ? low : high;
        struct dw_vec apart = dw_vec__add(start, other, (at - from) / step);
        if (dw_vec__size(dw_vec__add(apart, along, -at)) >= GAP)
            return DW_OK;
    }
    const struct dw_entity *entity = &sweep->sketch->entities[x->entity];
    return dw_sketch__say(sweep->sketch, sweep->report, DW_DOUBT, y->entity, &y->ends[0],
                          "it lies along the %s of line %d for %.1f mm; is one tube drawn twice?",
                          entity->type, entity->line, (double)((high - low) / DW_NM_PER_MM));
}

static dw_err look_at(struct sweep *sweep, size_t a, size_t b)
{
    dw_err err = DW_OK;
    size_t from = sweep->passes->n;
    for (int end = 0; end < 2 && !err; end++) {
        err = pass_end(sweep, a, b, end, from);
        if (!err)
            err = pass_end(sweep, b, a, end, from);
    }
    if (!err)
        err = cross(sweep, a < b ? a : b, a < b ? b : a);
    return err ? err : doubt_along(sweep, a < b ? a : b, a < b ? b : a);
}

/* --- crossings without a joint --------------------------------------------------------------- */

static int by_meeting(const void *a, const void *b)
{
    const struct dw_pass *x = a, *y = b;
    if (x->meeting != y->meeting)
        return x->meeting < y->meeting ? -1 : 1;
    return x->wire < y->wire ? -1 : x->wire > y->wire;
}

static int by_wire(const void *a, const void *b)
{
    const struct dw_pass *x = a, *y = b;
    if (x->wire != y->wire)
        return x->wire < y->wire ? -1 : 1;
    return x->meeting < y->meeting ? -1 : x->meeting > y->meeting;
}

static int by_wires(const void *a, const void *b)
{
    const struct crossing *x = a, *y = b;
    for (int i = 0; i < 2; i++)
        if (x->wires[i] != y->wires[i])
            return x->wires[i] < y->wires[i] ? -1 : 1;
    return 0;
}

/* Passes of a wire, which are sorted by wires. */
static size_t first_pass(const struct dw_passes *passes, size_t wire)
{
    size_t low = 0, high = passes->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (passes->passes[middle].wire < wire)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Does the wire end at, or pass, that meeting? */
static bool is_at(const struct sweep *sweep, size_t wire, size_t meeting)
{
    const struct dw_passes *passes = sweep->passes;
    const size_t *ends = sweep->sketch->wires[wire].meetings;
    if (ends[0] == meeting || ends[1] == meeting)
        return true;
    for (size_t i = first_pass(passes, wire); i < passes->n && passes->passes[i].wire == wire; i++)
        if (passes->passes[i].meeting == meeting)
            return true;
    return false;
}

static bool share_meeting(const struct sweep *sweep, size_t a, size_t b)
{
    const struct dw_passes *passes = sweep->passes;
    const size_t *ends = sweep->sketch->wires[a].meetings;
    if (is_at(sweep, b, ends[0]) || is_at(sweep, b, ends[1]))
        return true;
    for (size_t i = first_pass(passes, a); i < passes->n && passes->passes[i].wire == a; i++)
        if (is_at(sweep, b, passes->passes[i].meeting))
            return true;
    return false;
}

static dw_err doubt_crossings(struct sweep *sweep)
{
    dw_err err = DW_OK;
    if (sweep->passes->n > 0)
        qsort(sweep->passes->passes, sweep->passes->n, sizeof *sweep->passes->passes, by_wire);
    if (sweep->n_crossings > 0)
        qsort(sweep->crossings, sweep->n_crossings, sizeof *sweep->crossings, by_wires);
    for (size_t i = 0; i < sweep->n_crossings && !err; i++) {
        const struct crossing *crossing = &sweep->crossings[i];
        const struct dw_wire *one = &sweep->sketch->wires[crossing->wires[0]];
        const struct dw_wire *other = &sweep->sketch->wires[crossing->wires[1]];
        const struct dw_entity *entity = &sweep->sketch->entities[one->entity];
        if (!share_meeting(sweep, crossing->wires[0], crossing->wires[1]))
            err =
                dw_sketch__say(sweep->sketch, sweep->report, DW_DOUBT, other->entity, &crossing->at,
                               "it crosses the %s of line %d without a joint; neither is cut "
                               "there",
                               entity->type, entity->line);
    }
    return err;
}

/* --- all pairs ------------------------------------------------------------------------------- */

static bool is_apart(const struct box *a, const struct box *b)
{
    for (int i = 0; i < 3; i++)
        if (a->high[i] < b->low[i] || b->high[i] < a->low[i])
            return true;
    return false;
}

static dw_err look_at_all(struct sweep *sweep)
{
    const struct dw_sketch *sketch = sweep->sketch;
    dw_err err = DW_OK;
    for (size_t i = 0; i < sweep->n_boxes && !err; i++) {
        const struct box *box = &sweep->boxes[i];
        for (size_t k = i + 1; k < sweep->n_boxes && !err &&
                               sweep->boxes[k].low[sweep->axis] <= box->high[sweep->axis];
             k++)
            if (!is_apart(box, &sweep->boxes[k]))
                err = look_at(sweep, box->wire, sweep->boxes[k].wire);
        if (!err && sweep->n_crossings > DW_SKETCH_CROSSINGS)
            return dw_sketch__say(sketch, sweep->report, DW_WRONG,
                                  sketch->wires[sweep->crossings[0].wires[0]].entity, NULL,
                                  "more than %zu lines cross without a joint; is this a drawing of "
                                  "centre lines?",
                                  DW_SKETCH_CROSSINGS);
    }
    return err ? err : doubt_crossings(sweep);
}

dw_err dw_wires__pass(struct dw_sketch *sketch, struct dw_passes *passes, struct dw_report *report)
{
    struct sweep sweep = {.sketch = sketch, .passes = passes, .report = report};
    sweep.boxes = calloc(sketch->n_wires + 1, sizeof *sweep.boxes);
    if (!sweep.boxes)
        return DW_ERR_NOMEM;
    for (size_t w = 0; w < sketch->n_wires; w++)
        if (!sketch->wires[w].left_out)
            sweep.boxes[sweep.n_boxes++] = box_of(&sketch->wires[w], w);
    sort_boxes(&sweep);
    dw_err err = look_at_all(&sweep);
    if (passes->n > 0)
        qsort(passes->passes, passes->n, sizeof *passes->passes, by_meeting);
    free(sweep.boxes);
    free(sweep.crossings);
    return err;
}
