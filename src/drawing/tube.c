/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lines and arcs that go on as one become a tube, from one end of it to the other. */
#include "drawing/wire.h"

#include <math.h>
#include <string.h>

/* A walk along lines that go on; the wires of all tubes stand one after the other in one array. */
struct walk {
    struct dw_sketch *sketch;
    const size_t *partners;
    size_t *wires;
    bool *backwards;
    size_t n;
};

static size_t leg_of(const struct dw_meeting *meeting, size_t wire, int end)
{
    for (size_t i = 0; i < meeting->n_legs; i++)
        if (meeting->legs[i].wire == wire && meeting->legs[i].end == end)
            return i;
    return 0; /* never: each end has its leg */
}

static void set_end(struct walk *walk, struct dw_tube *tube, int which, size_t wire, int end)
{
    size_t meeting = walk->sketch->wires[wire].meetings[end];
    struct dw_meeting *at = &walk->sketch->meetings[meeting];
    tube->ends[which] = (struct dw_tube_end){.meeting = meeting, .leg = leg_of(at, wire, end)};
    at->legs[tube->ends[which].leg].ends = true;
}

/* From an end, given as 2 wire + end, to the last line, or round a ring to the first again. */
static void walk_from(struct walk *walk, size_t start)
{
    struct dw_sketch *sketch = walk->sketch;
    size_t index = sketch->n_tubes++;
    struct dw_tube *tube = &sketch->tubes[index];
    *tube = (struct dw_tube){.wires = walk->wires + walk->n,
                             .backwards = walk->backwards + walk->n,
                             .layer = sketch->wires[start / 2].layer};
    set_end(walk, tube, 0, start / 2, (int)(start % 2));
    for (size_t at = start;;) {
        struct dw_wire *wire = &sketch->wires[at / 2];
        tube->wires[tube->n_wires] = at / 2;
        tube->backwards[tube->n_wires++] = at % 2 == 1;
        tube->bent |= wire->arc;
        wire->tube = index;
        size_t next = walk->partners[at ^ 1];
        if (next == DW_NONE || next == start) {
            tube->closed = next == start;
            set_end(walk, tube, 1, at / 2, (int)((at ^ 1) % 2));
            break;
        }
        at = next;
    }
    walk->n += tube->n_wires;
}

dw_err dw_tubes__make(struct dw_sketch *sketch, size_t *partners)
{
    struct dw_arena *arena = sketch->arena;
    size_t n = sketch->n_wires;
    struct walk walk = {.sketch = sketch, .partners = partners};
    walk.wires = dw_arena__alloc(arena, n + 1, sizeof *walk.wires);
    walk.backwards = dw_arena__alloc(arena, n + 1, sizeof *walk.backwards);
    sketch->tubes = dw_arena__alloc(arena, n + 1, sizeof *sketch->tubes);
    if (!walk.wires || !walk.backwards || !sketch->tubes)
        return DW_ERR_NOMEM;
    for (size_t w = 0; w < n; w++)
        sketch->wires[w].tube = DW_NONE;
    for (int rings = 0; rings < 2; rings++)
        for (size_t w = 0; w < n; w++)
            for (size_t e = 0; e < 2; e++)
                if (!sketch->wires[w].left_out && sketch->wires[w].tube == DW_NONE &&
                    (rings || partners[2 * w + e] == DW_NONE))
                    walk_from(&walk, 2 * w + e);
    return DW_OK;
}

/* --- measures -------------------------------------------------------------------------------- */

dw_length dw_tube__length(const struct dw_sketch *sketch, const struct dw_tube *tube)
{
    dw_length length = 0;
    for (size_t i = 0; i < tube->n_wires; i++)
        length += dw_wire__length(&sketch->wires[tube->wires[i]]);
    return length;
}

struct dw_spot *dw_tube__points(const struct dw_sketch *sketch, const struct dw_tube *tube,
                                struct dw_arena *arena, size_t *n)
{
    size_t room = 1;
    for (size_t i = 0; i < tube->n_wires; i++)
        room += 1 + (size_t)(sketch->wires[tube->wires[i]].angle * 30 / DW_PI);
    struct dw_spot *points = dw_arena__alloc(arena, room, sizeof *points);
    *n = 0;
    for (size_t i = 0; points && i < tube->n_wires; i++) {
        const struct dw_wire *wire = &sketch->wires[tube->wires[i]];
        bool back = tube->backwards[i];
        size_t steps = 1 + (size_t)(wire->arc ? wire->angle * 30 / DW_PI : 0);
        if (i == 0)
            points[(*n)++] = wire->ends[back];
        for (size_t k = 1; k < steps; k++) {
            long double share = (long double)(back ? steps - k : k) / (long double)steps;
            *n += dw_spot__round(dw_wire__at(wire, share), &points[*n]);
        }
        points[(*n)++] = wire->ends[!back];
    }
    return points;
}
