/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last pages of the cut sheet: drawings that the parts come from, and what each label is. */
#include "draw/frame_picture.h"
#include "draw/sheet.h"

#include <inttypes.h>
#include <string.h>

#define COLUMNS 3

static bool is_shown(const struct dw_picture *picture, const char *label)
{
    for (size_t t = 0; t < picture->n_tubes; t++)
        if (strcmp(picture->tubes[t].label, label) == 0)
            return true;
    return false;
}

/* "P1: 2 x 739 mm", each in a column of its own. */
static void draw_legend(struct dw_flow *flow, const struct dw_job *job,
                        const struct dw_picture *picture)
{
    const struct dw_type type = {.size_mm = 3.2, .least_mm = 1.6};
    double width = (flow->right - flow->left) / COLUMNS;
    size_t column = 0;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (part->post || !is_shown(picture, part->label))
            continue;
        struct dw_buf buf = {0};
        if (column == 0)
            dw_flow__need(flow, 5);
        dw_buf__format(&buf, "%s: %" PRId64 " \u00d7 %s", part->label, part->count,
                       dw_draw__length(job, part->min).text);
        if (part->section)
            dw_buf__format(&buf, ", %s", part->section);
        if (buf.failed)
            dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
        else
            dw_canvas__line(flow->canvas, flow->left + width * (double)column, flow->y, width - 3,
                            &type, buf.text);
        dw_buf__free(&buf);
        column = (column + 1) % COLUMNS;
        flow->y += column == 0 ? 5 : 0;
    }
    flow->y += column == 0 ? 0 : 5;
}

static void say_unplaced(struct dw_flow *flow, const struct dw_unplaced *unplaced)
{
    struct dw_buf buf = {0};
    for (size_t i = 0; i < unplaced->n; i++)
        dw_buf__format(&buf, "%s%s", i ? ", " : "No room in the picture for the labels ",
                       unplaced->labels[i]);
    if (buf.failed)
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    else if (unplaced->n > 0)
        dw_flow__say(flow, 3.2, false, buf.text);
    dw_buf__free(&buf);
}

static void draw_one(struct dw_flow *flow, const struct dw_job *job,
                     const struct dw_picture *picture)
{
    struct dw_unplaced unplaced = {0};
    struct dw_arena *arena = dw_arena__new();
    struct dw_buf title = {0};
    dw_flow__page(flow);
    dw_buf__format(&title, "Parts as drawn in %s", picture->name);
    dw_flow__say(flow, 4, true, title.failed ? "" : title.text);
    double width = flow->right - flow->left;
    double height = dw_frame_picture__height(picture, width, (flow->bottom - flow->y) * 0.72);
    if (!arena || title.failed ||
        dw_frame_picture__draw(flow->canvas, picture, flow->left, flow->y, width, height, arena,
                               &unplaced))
        dw_canvas__fail(flow->canvas, DW_ERR_NOMEM);
    flow->y += height + 3;
    say_unplaced(flow, &unplaced);
    draw_legend(flow, job, picture);
    dw_buf__free(&title);
    dw_arena__free(arena);
}

void dw_sheet__pictures(struct dw_flow *flow, const struct dw_job *job)
{
    for (size_t i = 0; i < job->n_pictures; i++)
        draw_one(flow, job, &job->pictures[i]);
}
