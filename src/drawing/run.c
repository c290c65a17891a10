/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A tube as it is bent: straights, bends, and by how much each bend is turned from the one before.
 */
#include "drawing/sketch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define UDEG(angle) llroundl((angle)*180000000 / DW_PI)

/* The bend that is being added to. */
struct bending {
    struct dw_run *run;
    struct dw_vec normal; /* of the last bend, as walked */
    long double angle;
};

/* Unit direction of the tube at the beginning of a wire, as walked, and the normal of its arc. */
static struct dw_vec normal_of(const struct dw_wire *wire, bool back)
{
    return dw_vec__times(wire->normal, back ? -1 : 1);
}

static struct dw_vec start_of(const struct dw_wire *wire, bool back)
{
    struct dw_vec spoke = dw_vec__add(dw_vec__of(&wire->ends[back]), wire->centre, -1);
    return dw_vec__unit(dw_vec__cross(normal_of(wire, back), spoke));
}

static int64_t turn_between(struct dw_vec before, struct dw_vec after, struct dw_vec along)
{
    long double angle =
        atan2l(dw_vec__dot(dw_vec__cross(before, after), along), dw_vec__dot(before, after));
    int64_t turn = UDEG(angle);
    return turn <= -179999000 ? 180000000 : turn;
}

/* An arc that goes on in the circle of the one before it is part of the same bend. */
static bool goes_on(const struct bending *bending, const struct dw_wire *wire, bool back)
{
    const struct dw_run *run = bending->run;
    size_t n = run->n_bends;
    return n > 0 && run->straights[n] == 0 &&
           llabs(run->radii[n - 1] - llroundl(wire->radius)) <= DW_SKETCH_SAME &&
           dw_vec__angle(bending->normal, normal_of(wire, back)) < 1e-3L &&
           bending->angle + wire->angle < 2 * DW_PI - 1e-6L;
}

static void add_arc(struct bending *bending, const struct dw_wire *wire, bool back)
{
    struct dw_run *run = bending->run;
    struct dw_vec normal = normal_of(wire, back);
    if (goes_on(bending, wire, back)) {
        bending->angle += wire->angle;
        run->angles_udeg[run->n_bends - 1] = UDEG(bending->angle);
        return;
    }
    size_t n = run->n_bends++;
    run->radii[n] = llroundl(wire->radius);
    run->angles_udeg[n] = UDEG(wire->angle);
    run->turns_udeg[n] = n > 0 ? turn_between(bending->normal, normal, start_of(wire, back)) : 0;
    bending->normal = normal;
    bending->angle = wire->angle;
}

dw_err dw_tube__run(const struct dw_sketch *sketch, const struct dw_tube *tube,
                    struct dw_arena *arena, struct dw_run *out)
{
    struct bending bending = {.run = out};
    size_t n = tube->n_wires;
    *out = (struct dw_run){.straights = dw_arena__alloc(arena, n + 1, sizeof *out->straights),
                           .radii = dw_arena__alloc(arena, n, sizeof *out->radii),
                           .angles_udeg = dw_arena__alloc(arena, n, sizeof *out->angles_udeg),
                           .turns_udeg = dw_arena__alloc(arena, n, sizeof *out->turns_udeg)};
    if (!out->straights || !out->radii || !out->angles_udeg || !out->turns_udeg)
        return DW_ERR_NOMEM;
    for (size_t i = 0; i < n; i++) {
        const struct dw_wire *wire = &sketch->wires[tube->wires[i]];
        if (wire->arc)
            add_arc(&bending, wire, tube->backwards[i]);
        else
            out->straights[out->n_bends] += dw_wire__length(wire);
    }
    return DW_OK;
}
