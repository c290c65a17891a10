/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small drawing of one piece: the outline of a straight one, the centre line of a bent one. */
#include "draw/glyph.h"
#include "model/saw.h"

#include <math.h>
#include <stdio.h>

#define LINE_MM    0.3
#define TUBE_MM    5.0 /* height of the outline */
#define LEAN_MOST  7.0 /* mm along the tube between long and short point */
#define ARC_STEPS  8
#define DEGREES(a) ((double)(a) / DW_UDEG * 0.017453292519943295)

bool dw_glyph__wanted(const struct dw_saw_piece *piece)
{
    return piece->ends[0].shape != DW_SHAPE_SQUARE || piece->ends[1].shape != DW_SHAPE_SQUARE ||
           piece->n_bends == 1;
}

/* --- straight -------------------------------------------------------------------------------- */

static double lean_of(const struct dw_saw_end *end)
{
    double lean = end->shape == DW_SHAPE_MITRE ? TUBE_MM * tan(DEGREES(end->angle_udeg)) : 0;
    return lean < LEAN_MOST ? lean : LEAN_MOST;
}

/* The saddle that sits on the side of another tube; `inward` is +1 at the left end, -1 at the
 * right. */
static void draw_notch(struct dw_canvas *canvas, double x, double y, double inward)
{
    double before_x = x, before_y = y;
    for (int i = 1; i <= ARC_STEPS; i++) {
        double turn = 3.141592653589793 * i / ARC_STEPS;
        double to_x = x + inward * TUBE_MM / 2.5 * sin(turn), to_y = y + TUBE_MM * i / ARC_STEPS;
        dw_canvas__rule(canvas, before_x, before_y, to_x, to_y, LINE_MM);
        before_x = to_x;
        before_y = to_y;
    }
}

static void write_angle(struct dw_canvas *canvas, const struct dw_saw_end *end, double x, double y,
                        enum dw_align align)
{
    if (end->shape != DW_SHAPE_MITRE)
        return;
    const struct dw_type tiny = {.size_mm = 2.2, .least_mm = 1.6, .align = align};
    char degrees[DW_ANGLE_TEXT], text[DW_ANGLE_TEXT + 4];
    dw_angle__print(degrees, end->angle_udeg);
    snprintf(text, sizeof text, "%s\u00b0", degrees);
    dw_canvas__line(canvas, x, y, 6, &tiny, text);
}

/* top[e] and bottom[e]: how far end e's corners lie inside the long point. The long point of end 1
 * is on top. */
static void draw_straight(struct dw_canvas *canvas, const struct dw_saw_piece *piece, double x,
                          double y)
{
    double w = DW_GLYPH_WIDTH_MM, h = TUBE_MM, top[2] = {0}, bottom[2] = {0};
    bool unsaid = piece->ends[0].shape == DW_SHAPE_MITRE &&
                  piece->ends[1].shape == DW_SHAPE_MITRE && piece->long_points == DW_POINTS_UNSAID;
    bool opposite = piece->long_points == DW_POINTS_OPPOSITE_SIDES;
    bottom[0] = lean_of(&piece->ends[0]);
    *(opposite ? &top[1] : &bottom[1]) = unsaid ? 0 : lean_of(&piece->ends[1]);
    dw_canvas__rule(canvas, x + top[0], y, x + w - top[1], y, LINE_MM);
    dw_canvas__rule(canvas, x + bottom[0], y + h, x + w - bottom[1], y + h, LINE_MM);
    if (piece->ends[0].shape == DW_SHAPE_NOTCH)
        draw_notch(canvas, x, y, 1);
    else
        dw_canvas__rule(canvas, x + top[0], y, x + bottom[0], y + h, LINE_MM);
    if (piece->ends[1].shape == DW_SHAPE_NOTCH)
        draw_notch(canvas, x + w, y, -1);
    else if (unsaid)
        dw_canvas__dashed(canvas, x + w, y, x + w, y + h, LINE_MM);
    else
        dw_canvas__rule(canvas, x + w - top[1], y, x + w - bottom[1], y + h, LINE_MM);
    double inside = y + 1.2;
    write_angle(canvas, &piece->ends[0], x + bottom[0] + 0.6, inside, DW_ALIGN_LEFT);
    write_angle(canvas, &piece->ends[1], x + w - top[1] - bottom[1] - (unsaid ? 7.4 : 6.6), inside,
                DW_ALIGN_RIGHT);
    const struct dw_type tiny = {.size_mm = 2.2, .align = DW_ALIGN_CENTRE};
    if (unsaid)
        dw_canvas__line(canvas, x + w / 2 - 1.5, inside, 3, &tiny, "?");
}

/* --- bent once ------------------------------------------------------------------------------- */

/* Calls `to` with the corners of the centre line, the bend as a few of them; heading right, turning
 * down. Unit: nanometres. */
struct trace {
    struct dw_canvas *canvas; /* NULL: only the extent is wanted */
    double x, y, scale;       /* of the drawing */
    double at_x, at_y;        /* of the tube */
    double least_x, most_x, most_y;
};

static void go(struct trace *trace, double heading, double length)
{
    double to_x = trace->at_x + length * cos(heading), to_y = trace->at_y + length * sin(heading);
    if (trace->canvas)
        dw_canvas__rule(trace->canvas, trace->x + (trace->at_x - trace->least_x) * trace->scale,
                        trace->y + trace->at_y * trace->scale,
                        trace->x + (to_x - trace->least_x) * trace->scale,
                        trace->y + to_y * trace->scale, 0.6);
    trace->at_x = to_x;
    trace->at_y = to_y;
    if (!trace->canvas) {
        trace->least_x = fmin(trace->least_x, to_x);
        trace->most_x = fmax(trace->most_x, to_x);
        trace->most_y = fmax(trace->most_y, to_y);
    }
}

static void run(struct trace *trace, const struct dw_saw_piece *piece)
{
    const struct dw_made_bend *bend = &piece->bends[0];
    double angle = DEGREES(bend->angle_udeg), step = angle / ARC_STEPS;
    trace->at_x = trace->at_y = 0;
    go(trace, 0, (double)bend->straight);
    for (int i = 0; i < ARC_STEPS; i++)
        go(trace, step * (i + 0.5), 2 * (double)bend->radius * sin(step / 2));
    go(trace, angle, (double)piece->last_straight);
}

static void draw_bent(struct dw_canvas *canvas, const struct dw_saw_piece *piece, double x,
                      double y)
{
    struct trace trace = {.x = x, .y = y + 0.4};
    run(&trace, piece);
    double wide = (DW_GLYPH_WIDTH_MM - 1) / (trace.most_x - trace.least_x + 1);
    double high = (DW_GLYPH_HEIGHT_MM - 1) / (trace.most_y + 1);
    trace.scale = wide < high ? wide : high;
    trace.canvas = canvas;
    run(&trace, piece);
}

void dw_glyph__draw(struct dw_canvas *canvas, const struct dw_saw_piece *piece, double x, double y)
{
    if (piece->n_bends == 0)
        draw_straight(canvas, piece, x, y + 0.6);
    else if (piece->n_bends == 1)
        draw_bent(canvas, piece, x, y);
}
