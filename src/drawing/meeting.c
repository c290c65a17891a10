/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a meeting is: the tubes that leave it, which of them go on as one, and its kind. */
#include "drawing/wire.h"

#include <math.h>
#include <stdlib.h>

#define NEARLY (5 * DW_PI / 180) /* an arc that is so far off a tangent is doubted */

/* --- legs ------------------------------------------------------------------------------------ */

static dw_err make_legs(struct dw_sketch *sketch, const struct dw_passes *passes)
{
    size_t total = 2 * sketch->n_wires + 2 * passes->n;
    struct dw_leg *legs = dw_arena__alloc(sketch->arena, total + 1, sizeof *legs);
    if (!legs)
        return DW_ERR_NOMEM;
    for (size_t w = 0; w < sketch->n_wires; w++)
        for (int e = 0; e < 2 && !sketch->wires[w].left_out; e++)
            sketch->meetings[sketch->wires[w].meetings[e]].n_legs++;
    for (size_t i = 0; i < passes->n; i++)
        sketch->meetings[passes->passes[i].meeting].n_legs += 2;
    for (size_t m = 0; m < sketch->n_meetings; m++) {
        sketch->meetings[m].legs = legs;
        legs += sketch->meetings[m].n_legs;
        sketch->meetings[m].n_legs = 0;
    }
    for (size_t w = 0; w < sketch->n_wires; w++)
        for (int e = 0; e < 2 && !sketch->wires[w].left_out; e++) {
            struct dw_meeting *meeting = &sketch->meetings[sketch->wires[w].meetings[e]];
            meeting->legs[meeting->n_legs++] =
                (struct dw_leg){w, e, true, dw_wire__away(&sketch->wires[w], e)};
        }
    for (size_t i = 0; i < passes->n; i++) {
        const struct dw_pass *pass = &passes->passes[i];
        struct dw_meeting *meeting = &sketch->meetings[pass->meeting];
        meeting->legs[meeting->n_legs++] = (struct dw_leg){pass->wire, -1, false, pass->along};
        meeting->legs[meeting->n_legs++] =
            (struct dw_leg){pass->wire, -1, false, dw_vec__times(pass->along, -1)};
    }
    return DW_OK;
}

/* By how much two legs are off one line, in radians. */
static long double off_line(const struct dw_leg *a, const struct dw_leg *b)
{
    return DW_PI - dw_vec__angle(a->away, b->away);
}

bool dw_legs__in_line(const struct dw_leg *a, const struct dw_leg *b)
{
    return off_line(a, b) < DW_IN_LINE;
}

/* --- tubes that go on ------------------------------------------------------------------------ */

static bool may_go_on(const struct dw_sketch *sketch, const struct dw_leg *a,
                      const struct dw_leg *b, bool one_tube)
{
    const struct dw_wire *x = &sketch->wires[a->wire], *y = &sketch->wires[b->wire];
    return a->ends && b->ends && x->layer == y->layer &&
           (x->arc || y->arc || x->entity == y->entity || one_tube);
}

static dw_err doubt_kink(const struct dw_sketch *sketch, const struct dw_meeting *meeting,
                         const struct dw_leg *a, const struct dw_leg *b, struct dw_report *report)
{
    const struct dw_entity *other = &sketch->entities[sketch->wires[b->wire].entity];
    return dw_sketch__say(sketch, report, DW_DOUBT, sketch->wires[a->wire].entity, &meeting->at,
                          "it meets the %s of line %d %.2f degrees off its tangent; they are taken "
                          "as two tubes",
                          other->type, other->line, (double)(off_line(a, b) * 180 / DW_PI));
}

/* Each end goes on to the one that is most in line with it. */
static dw_err pair_up(struct dw_sketch *sketch, struct dw_meeting *meeting, bool one_tube,
                      size_t *partners, struct dw_report *report)
{
    dw_err err = DW_OK;
    for (size_t i = 0; i < meeting->n_legs && !err; i++) {
        struct dw_leg *leg = &meeting->legs[i], *best = NULL;
        for (size_t k = i + 1; k < meeting->n_legs; k++) {
            struct dw_leg *other = &meeting->legs[k];
            if (may_go_on(sketch, leg, other, one_tube) &&
                (!best || off_line(leg, other) < off_line(leg, best)))
                best = other;
        }
        if (!best || off_line(leg, best) >= NEARLY)
            continue;
        if (off_line(leg, best) < DW_IN_LINE) {
            partners[2 * leg->wire + (size_t)leg->end] = 2 * best->wire + (size_t)best->end;
            partners[2 * best->wire + (size_t)best->end] = 2 * leg->wire + (size_t)leg->end;
            leg->ends = best->ends = false;
        } else if (sketch->wires[leg->wire].arc || sketch->wires[best->wire].arc)
            err = doubt_kink(sketch, meeting, leg, best, report);
    }
    return err;
}

/* --- kinds ------------------------------------------------------------------------------------ */

static enum dw_meet kind_of(const struct dw_meeting *meeting)
{
    size_t pairs = 0;
    for (size_t i = 0; i < meeting->n_legs; i++)
        for (size_t k = i + 1; k < meeting->n_legs; k++)
            pairs += dw_legs__in_line(&meeting->legs[i], &meeting->legs[k]);
    if (meeting->n_legs == 1)
        return DW_MEET_END;
    if (pairs == 0)
        return DW_MEET_CORNER;
    if (pairs > 1)
        return DW_MEET_CROSS;
    return meeting->n_legs == 2 ? DW_MEET_SPLICE : DW_MEET_T;
}

dw_err dw_meetings__make(struct dw_sketch *sketch, const struct dw_passes *passes, bool one_tube,
                         size_t *partners, struct dw_report *report)
{
    dw_err err = make_legs(sketch, passes);
    for (size_t i = 0; i < 2 * sketch->n_wires; i++)
        partners[i] = DW_NONE;
    for (size_t m = 0; m < sketch->n_meetings && !err; m++) {
        struct dw_meeting *meeting = &sketch->meetings[m];
        if (meeting->n_legs > DW_SKETCH_LEGS)
            return dw_sketch__say(sketch, report, DW_WRONG,
                                  sketch->wires[meeting->legs[0].wire].entity, &meeting->at,
                                  "more than %d lines meet here", DW_SKETCH_LEGS);
        err = pair_up(sketch, meeting, one_tube, partners, report);
        meeting->meet = kind_of(meeting);
    }
    return err;
}
