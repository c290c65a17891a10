/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the person at the saw has to know of a piece: facts, out of job and layout. */
#include "model/saw.h"

#include <dropwise/caution.h>

static struct dw_saw_end end_of(const struct dw_job *job, const struct dw_drawn_end *drawn)
{
    struct dw_saw_end end = {.meets = drawn->notch ? drawn->meets : 0};
    if (drawn->mitre_udeg) {
        end.shape = DW_SHAPE_MITRE;
        end.angle_udeg = drawn->mitre_udeg;
        end.point = drawn->point;
    } else if (drawn->notch) {
        end.shape = DW_SHAPE_NOTCH;
    }
    if (drawn->fitting < job->n_fittings)
        end.fitting = job->fittings[drawn->fitting].id;
    return end;
}

/* The dimension that the take-off began with; of a range, what this piece came out at. 0 = it is
 * the length, or no single one was written. Of a part whose true length was measured that is what
 * was written, whatever the drawing says. */
static dw_length written_of(const struct dw_part *part, dw_length length)
{
    dw_length cut = length - part->allowance, written = 0;
    if (part->measured > 0)
        return 0;
    if (part->drawn->kind == DW_DRAWN_CUT)
        written = cut - (part->takeoff->cut - part->drawn->size);
    else if (part->drawn->kind == DW_DRAWN_STRAIGHT)
        written = part->drawn->size;
    return written == cut ? 0 : written;
}

static void add_drawn(const struct dw_job *job, const struct dw_part *part,
                      struct dw_saw_piece *out)
{
    for (size_t e = 0; e < 2; e++)
        out->ends[e] = end_of(job, &part->drawn->ends[e]);
    if (out->ends[0].shape == DW_SHAPE_MITRE && out->ends[1].shape == DW_SHAPE_MITRE)
        out->long_points = part->drawn->long_points;
    if (!part->takeoff)
        return;
    out->written = written_of(part, out->length);
    out->n_bends = part->takeoff->n_bends;
    out->bends = part->takeoff->bends;
    out->last_straight = part->takeoff->last_straight;
}

static void fill(const struct dw_job *job, const struct dw_layout *layout, size_t index,
                 struct dw_saw_piece *out)
{
    const struct dw_part *part = &job->parts[layout->pieces[index].part];
    const struct dw_order *order = &job->orders[part->order];
    dw_length limit = dw_short_limit(&job->materials[job->supplies[layout->supply].material]);
    out->short_of = out->length < limit ? limit : 0;
    out->bent_bar = index == 0 && job->supplies[layout->supply].bend > 0;
    out->measure_first = part->measure_first;
    out->allowance = part->allowance;
    out->remark = part->remark;
    out->section = part->section;
    out->order = order->name;
    out->client = order->client;
    out->due = order->due;
    if (part->drawn)
        add_drawn(job, part, out);
}

void dw_layout_saw(const struct dw_job *job, const struct dw_layout *layout,
                   struct dw_saw_piece *out)
{
    int64_t number = 1;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        out[i] = (struct dw_saw_piece){.number = number, .length = piece->length};
        if (piece->use == DW_USE_PART || piece->use == DW_USE_POST)
            fill(job, layout, i, &out[i]);
        number += piece->count;
    }
}
