/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the end of a tube meets: which tube, at what angle, and on which side. */
#include "drawing/wire.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static size_t layer_of(const struct dw_sketch *sketch, const struct dw_leg *leg)
{
    return sketch->wires[leg->wire].layer;
}

/* The leg goes on, straight or as another tube's end, in the direction of a third one. */
static bool is_in_pair(const struct dw_meeting *meeting, size_t leg)
{
    for (size_t i = 0; i < meeting->n_legs; i++)
        if (i != leg && dw_legs__in_line(&meeting->legs[leg], &meeting->legs[i]))
            return true;
    return false;
}

/* The tube that an end sits on: where there are tubes in line, one of these, and of them one that
 * passes; else any other. DW_NONE: it is alone. */
static size_t find_on(const struct dw_meeting *meeting, size_t leg)
{
    size_t best = DW_NONE;
    int rank = -1;
    for (size_t i = 0; i < meeting->n_legs; i++) {
        int now = (is_in_pair(meeting, i) ? 2 : 0) + (meeting->legs[i].ends ? 0 : 1);
        if (i == leg || now <= rank)
            continue;
        best = i;
        rank = now;
    }
    return best;
}

/* --- words -------------------------------------------------------------------------------------
 */

static int by_text(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* "T on posts with braces": the layers of the other tubes, each once, in the order of letters. */
static dw_err set_text(const struct dw_sketch *sketch, const struct dw_meeting *meeting,
                       struct dw_tube_end *end, bool ring)
{
    const char *names[100];
    size_t n = 0;
    struct dw_buf buf = {0};
    for (size_t i = 0; i < meeting->n_legs && n < DW_COUNT(names); i++)
        if (i != end->leg && layer_of(sketch, &meeting->legs[i]) != end->on)
            names[n++] = sketch->layers[layer_of(sketch, &meeting->legs[i])].name;
    qsort(names, n, sizeof *names, by_text);
    if (ring && meeting->meet == DW_MEET_SPLICE) {
        end->text = "ring";
        return DW_OK;
    }
    dw_buf__put(&buf, dw_meeting__word(meeting->meet));
    if (end->in_line && meeting->meet != DW_MEET_SPLICE)
        dw_buf__put(&buf, " in line");
    if (end->on != DW_NONE)
        dw_buf__format(&buf, " %s %s", meeting->meet == DW_MEET_T && !end->in_line ? "on" : "with",
                       sketch->layers[end->on].name);
    for (size_t i = 0; i < n; i++)
        if (i == 0 || strcmp(names[i], names[i - 1]) != 0)
            dw_buf__format(&buf, " and %s", names[i]);
    end->text = buf.failed ? NULL : dw_arena__text(sketch->arena, buf.text);
    dw_buf__free(&buf);
    return end->text ? DW_OK : DW_ERR_NOMEM;
}

/* --- ends --------------------------------------------------------------------------------------
 */

/* The side away from the other tube. */
static struct dw_vec side_of(struct dw_vec along, struct dw_vec other)
{
    struct dw_vec across = dw_vec__add(other, along, -dw_vec__dot(other, along));
    return dw_vec__unit(dw_vec__times(across, -1));
}

static void set_angle(const struct dw_meeting *meeting, struct dw_tube_end *end, size_t other)
{
    const struct dw_leg *leg = &meeting->legs[end->leg], *on = &meeting->legs[other];
    long double angle = dw_vec__angle(leg->away, on->away);
    if (meeting->meet != DW_MEET_CORNER && angle > DW_PI / 2)
        angle = DW_PI - angle;
    end->angle_udeg = llroundl(angle * 180000000 / DW_PI);
    end->single = meeting->n_legs == 2 || (meeting->n_legs == 3 && meeting->meet == DW_MEET_T);
    if (meeting->meet == DW_MEET_CORNER && meeting->n_legs == 2)
        end->side = side_of(leg->away, on->away);
}

static dw_err find_end(struct dw_sketch *sketch, struct dw_tube_end *end, bool ring)
{
    const struct dw_meeting *meeting = &sketch->meetings[end->meeting];
    size_t other = find_on(meeting, end->leg);
    end->in_line = is_in_pair(meeting, end->leg);
    end->on = other == DW_NONE ? DW_NONE : layer_of(sketch, &meeting->legs[other]);
    if (other != DW_NONE)
        set_angle(meeting, end, other);
    return set_text(sketch, meeting, end, ring);
}

/* From the side of one end to that of the other, looking along the tube. */
static void set_facing(const struct dw_sketch *sketch, struct dw_tube *tube)
{
    const struct dw_tube_end *ends = tube->ends;
    tube->facing_udeg = DW_UNTURNED;
    if (tube->bent || dw_vec__size(ends[0].side) == 0 || dw_vec__size(ends[1].side) == 0)
        return;
    struct dw_vec along = sketch->meetings[ends[0].meeting].legs[ends[0].leg].away;
    long double sine = dw_vec__dot(dw_vec__cross(ends[0].side, ends[1].side), along);
    long double angle = atan2l(sine, dw_vec__dot(ends[0].side, ends[1].side));
    tube->facing_udeg = llroundl(angle * 180000000 / DW_PI);
}

dw_err dw_tubes__ends(struct dw_sketch *sketch)
{
    dw_err err = DW_OK;
    for (size_t t = 0; t < sketch->n_tubes && !err; t++) {
        struct dw_tube *tube = &sketch->tubes[t];
        for (int e = 0; e < 2 && !err; e++)
            err = find_end(sketch, &tube->ends[e], tube->closed);
        set_facing(sketch, tube);
    }
    return err;
}
