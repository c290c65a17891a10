/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One bar drawn to scale. */
#include "draw/bar.h"
#include "draw/apart.h"
#include "draw/page.h"

#include <inttypes.h>
#include <stdio.h>

struct bar {
    struct dw_canvas *canvas;
    const struct dw_job *job;
    double x, y; /* of the tube's upper left corner */
    double height;
    double mm_per_nm;
};

static double at(const struct bar *bar, dw_length from_end)
{
    return bar->x + (double)from_end * bar->mm_per_nm;
}

dw_length dw_draw__bar_length(const struct dw_job *job, const struct dw_layout *layout)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    return supply->measured ? supply->measured : supply->length;
}

/* A text is written whole or not at all. */
static bool draw_whole(const struct bar *bar, double x, double y, double w, const char *string)
{
    const struct dw_type text = {.size_mm = 2.9, .least_mm = 2, .align = DW_ALIGN_CENTRE};
    const struct dw_type least = {.size_mm = 2};
    if (w < 2 || dw_canvas__measure(bar->canvas, &least, string) > w - 1.2)
        return false;
    dw_canvas__line(bar->canvas, x + 0.6, y, w - 1.2, &text, string);
    return true;
}

/* Its length, and its number on the bar with its name, or the number alone. */
static void draw_piece(const struct bar *bar, dw_length from, dw_length to, int64_t number,
                       const char *name, const char *length)
{
    double x = at(bar, from), w = at(bar, to) - x;
    char text[96];
    dw_canvas__frame(bar->canvas, x, bar->y, w, bar->height, 0.3);
    draw_whole(bar, x, bar->y + 0.5, w, length);
    int n = snprintf(text, sizeof text, "%" PRId64 " %s", number, name ? name : "");
    if (n >= (int)sizeof text || !draw_whole(bar, x, bar->y + 4.1, w, text)) {
        snprintf(text, sizeof text, "%" PRId64, number);
        draw_whole(bar, x, bar->y + 4.1, w, text);
    }
}

/* The cut as wide as it is, never too thin to see; the arrow lies on the waste side. */
static void draw_cut(const struct bar *bar, dw_length from, dw_length to, double piece_mm)
{
    double x = at(bar, from), w = at(bar, to) - x;
    double least = piece_mm < 1 ? piece_mm / 4 : 0.25;
    dw_canvas__fill(bar->canvas, x, bar->y - 1, w > least ? w : least, bar->height + 2, 0);
    if (piece_mm > 2.5)
        dw_canvas__triangle(bar->canvas, x, bar->y - 3, 1.6, 2);
}

static void draw_leftover(const struct bar *bar, const struct dw_layout *layout, dw_length from,
                          dw_length to)
{
    double x = at(bar, from), w = at(bar, to) - x;
    if (layout->rest == DW_REST_KEPT) {
        dw_canvas__dashed(bar->canvas, x, bar->y, x + w, bar->y, 0.3);
        dw_canvas__dashed(bar->canvas, x, bar->y + bar->height, x + w, bar->y + bar->height, 0.3);
        dw_canvas__dashed(bar->canvas, x + w, bar->y, x + w, bar->y + bar->height, 0.3);
        draw_whole(bar, x, bar->y + 0.5, w, dw_draw__length(bar->job, layout->leftover).text);
        draw_whole(bar, x, bar->y + 4.1, w, "keep");
    } else if (to > from) {
        dw_canvas__frame(bar->canvas, x, bar->y, w, bar->height, 0.12);
        dw_canvas__hatch(bar->canvas, x, bar->y, w, bar->height, 1.6);
    }
}

static void draw_trim(const struct bar *bar, dw_length from, dw_length to)
{
    double x = at(bar, from), w = at(bar, to) - x;
    if (w > 0)
        dw_canvas__hatch(bar->canvas, x, bar->y, w, bar->height, 0.5);
}

/* Above the tube: how far the bend of an end-bent bar reaches. */
static void draw_bend(const struct bar *bar, dw_length bend)
{
    const struct dw_type tiny = {.size_mm = 2};
    double to = at(bar, bend), y = bar->y - 1.2;
    if (bend == 0)
        return;
    dw_canvas__rule(bar->canvas, bar->x, y, to, y, 0.2);
    dw_canvas__rule(bar->canvas, to, y - 0.7, to, y + 0.7, 0.2);
    if (dw_canvas__measure(bar->canvas, &tiny, "bend") < to - bar->x - 1)
        dw_canvas__line(bar->canvas, bar->x + 0.6, y - 2.6, to - bar->x, &tiny, "bend");
}

static const char *piece_name(const struct dw_job *job, const struct dw_piece *piece)
{
    if (piece->use == DW_USE_BEND_END)
        return "bend end, scrap";
    if (piece->use == DW_USE_SURPLUS)
        return "surplus";
    return job->parts[piece->part].label;
}

/* Pieces and cuts from the squared datum end on; returns where the last cut ended. */
static dw_length draw_pieces(const struct bar *bar, const struct dw_layout *layout, dw_length from,
                             dw_length end)
{
    int64_t number = 0;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        struct dw_text length = dw_draw__length(bar->job, piece->length);
        for (int64_t c = 0; c < piece->count; c++) {
            dw_length to = from + piece->length, past = to + bar->job->saw.kerf;
            draw_piece(bar, from, to, ++number, piece_name(bar->job, piece), length.text);
            if (past > end)
                past = end;
            if (past > to)
                draw_cut(bar, to, past, at(bar, to) - at(bar, from));
            from = past;
        }
    }
    return from;
}

void dw_draw__bar(struct dw_canvas *canvas, const struct dw_job *job,
                  const struct dw_layout *layout, double x, double y, double width,
                  dw_length length)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    const struct bar bar = {.canvas = canvas,
                            .job = job,
                            .x = x,
                            .y = y + 4,
                            .height = 8,
                            .mm_per_nm = width / (double)length};
    dw_length whole = dw_draw__bar_length(job, layout);
    dw_length start = dw_supply_squared(supply, 0) ? supply->trim : 0;
    dw_length end = whole - (dw_supply_squared(supply, 1) ? supply->trim : 0);
    dw_canvas__frame(canvas, x, bar.y, at(&bar, whole) - x, bar.height, 0.15);
    draw_bend(&bar, supply->bend);
    draw_trim(&bar, 0, start);
    dw_length used = draw_pieces(&bar, layout, start, end);
    draw_leftover(&bar, layout, used, end);
    draw_trim(&bar, end, whole);
    dw_canvas__rule(canvas, at(&bar, start), bar.y - 2, at(&bar, start), bar.y + bar.height + 2,
                    0.6);
}

struct picture {
    const struct dw_job *job;
    const struct dw_layout *layout;
    double width_mm;
};

static dw_err draw_picture(void *user, struct dw_drawing **out, struct dw_error *error)
{
    const struct picture *picture = user;
    struct dw_canvas *canvas = NULL;
    dw_err err =
        dw_canvas__new(DW_FORM_SVG, picture->width_mm, DW_BAR_HEIGHT_MM, 0, false, &canvas, error);
    if (err != DW_OK)
        return err;
    dw_canvas__page(canvas);
    dw_draw__bar(canvas, picture->job, picture->layout, 1, 0, picture->width_mm - 2,
                 dw_draw__bar_length(picture->job, picture->layout));
    err = dw_canvas__finish(canvas, out, error);
    dw_canvas__free(canvas);
    return err;
}

dw_err dw_draw_bar(const struct dw_job *job, const struct dw_layout *layout, double width_mm,
                   struct dw_image *out, struct dw_error *error)
{
    struct picture picture = {job, layout, width_mm};
    return dw_draw__apart_single(draw_picture, &picture, out, error);
}
