/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing of centre lines on paper: projected, fitted into a box, and labelled. */
#include "draw/frame_picture.h"
#include "draw/apart.h"

#include <math.h>
#include <string.h>

struct flat_point {
    double x, y; /* to the right, up */
};

/* How the drawing is looked at, and where it stands. */
struct view {
    int across, up;                      /* axes that are shown; across < 0: in space */
    double low_x, low_y, high_x, high_y; /* of what is shown, nanometres */
    double left, bottom;                 /* millimetres */
    double scale;                        /* millimetres a nanometre */
};

/* --- projection ------------------------------------------------------------------------------ */

/* Isometric: x and y go down to the right and to the left at 30 degrees, z up (ISO 5456-3). */
static struct flat_point project(const struct view *view, const dw_length at[3])
{
    static const double cos30 = 0.86602540378443865, sin30 = 0.5;
    if (view->across >= 0)
        return (struct flat_point){(double)at[view->across], (double)at[view->up]};
    double x = (double)at[0], y = (double)at[1], z = (double)at[2];
    return (struct flat_point){(x - y) * cos30, z - (x + y) * sin30};
}

/* What lies in a plane of two axes is shown in it. */
static void set_axes(const struct dw_picture *picture, struct view *view)
{
    static const int axes[3][2] = {{0, 1}, {0, 2}, {1, 2}}; /* z, y, x is constant */
    const dw_length *first = picture->tubes[0].points[0];
    view->across = -1;
    for (int i = 0; i < 3 && view->across < 0; i++) {
        int fixed = 2 - i;
        bool lies = true;
        for (size_t t = 0; t < picture->n_tubes && lies; t++)
            for (size_t k = 0; k < picture->tubes[t].n_points; k++)
                lies &= picture->tubes[t].points[k][fixed] == first[fixed];
        if (lies) {
            view->across = axes[i][0];
            view->up = axes[i][1];
        }
    }
}

static struct view view_of(const struct dw_picture *picture)
{
    struct view view = {
        .low_x = INFINITY, .low_y = INFINITY, .high_x = -INFINITY, .high_y = -INFINITY};
    set_axes(picture, &view);
    for (size_t t = 0; t < picture->n_tubes; t++)
        for (size_t k = 0; k < picture->tubes[t].n_points; k++) {
            struct flat_point p = project(&view, picture->tubes[t].points[k]);
            view.low_x = fmin(view.low_x, p.x);
            view.high_x = fmax(view.high_x, p.x);
            view.low_y = fmin(view.low_y, p.y);
            view.high_y = fmax(view.high_y, p.y);
        }
    return view;
}

#define EDGE 6.0 /* millimetres around the lines, for labels that stand out */

static double fit(const struct view *view, double width, double height)
{
    double w = view->high_x - view->low_x, h = view->high_y - view->low_y;
    double by_width = w > 0 ? (width - 2 * EDGE) / w : INFINITY;
    double by_height = h > 0 ? (height - 2 * EDGE) / h : INFINITY;
    return fmin(by_width, by_height);
}

static void place(struct view *view, double x, double y, double width, double height)
{
    view->scale = fit(view, width, height);
    double w = (view->high_x - view->low_x) * view->scale;
    double h = (view->high_y - view->low_y) * view->scale;
    view->left = x + (width - w) / 2;
    view->bottom = y + (height + h) / 2;
}

static struct flat_point on_paper(const struct view *view, const dw_length at[3])
{
    struct flat_point p = project(view, at);
    return (struct flat_point){view->left + (p.x - view->low_x) * view->scale,
                               view->bottom - (p.y - view->low_y) * view->scale};
}

double dw_frame_picture__height(const struct dw_picture *picture, double width, double most)
{
    struct view view = view_of(picture);
    double scale = fit(&view, width, most);
    return fmin(most, (view.high_y - view.low_y) * scale + 2 * EDGE);
}

/* --- labels ---------------------------------------------------------------------------------- */

struct spot {
    double x, y, w, h;
};

struct labels {
    struct dw_canvas *canvas;
    const struct dw_picture *picture;
    const struct view *view;
    struct spot page;   /* the box of the picture */
    struct spot *taken; /* length n */
    size_t n;
};

static bool is_free(const struct labels *labels, const struct spot *spot)
{
    const struct spot *page = &labels->page;
    if (spot->x < page->x || spot->y < page->y || spot->x + spot->w > page->x + page->w ||
        spot->y + spot->h > page->y + page->h)
        return false;
    for (size_t i = 0; i < labels->n; i++) {
        const struct spot *other = &labels->taken[i];
        if (spot->x < other->x + other->w && other->x < spot->x + spot->w &&
            spot->y < other->y + other->h && other->y < spot->y + spot->h)
            return false;
    }
    return true;
}

/* The point at a share of a tube's length on paper. */
static struct flat_point along(const struct labels *labels, const struct dw_picture_tube *tube,
                               double share)
{
    double whole = 0, walked = 0;
    struct flat_point at = on_paper(labels->view, tube->points[0]);
    for (int pass = 0; pass < 2; pass++)
        for (size_t k = 1; k < tube->n_points; k++) {
            struct flat_point a = on_paper(labels->view, tube->points[k - 1]);
            struct flat_point b = on_paper(labels->view, tube->points[k]);
            double step = hypot(b.x - a.x, b.y - a.y);
            if (pass == 0)
                whole += step;
            else if (walked + step >= share * whole && step > 0) {
                double rest = (share * whole - walked) / step;
                return (struct flat_point){a.x + (b.x - a.x) * rest, a.y + (b.y - a.y) * rest};
            } else
                walked += step;
        }
    return at;
}

/* On the tube's line, over a white ground; smaller where larger finds no room. */
static bool put_label(struct labels *labels, const struct dw_picture_tube *tube)
{
    static const double sizes[] = {3.2, 2.6, 2.0}, shares[] = {0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8};
    for (size_t s = 0; s < DW_COUNT(sizes); s++) {
        const struct dw_type type = {.size_mm = sizes[s], .bold = true, .align = DW_ALIGN_CENTRE};
        double w = dw_canvas__measure(labels->canvas, &type, tube->label) + 1.2;
        double h = sizes[s] * 1.5;
        for (size_t i = 0; i < DW_COUNT(shares); i++) {
            struct flat_point p = along(labels, tube, shares[i]);
            struct spot spot = {p.x - w / 2, p.y - h / 2, w, h};
            if (!is_free(labels, &spot))
                continue;
            labels->taken[labels->n++] = spot;
            dw_canvas__fill(labels->canvas, spot.x, p.y - sizes[s] * 0.6, w, sizes[s] * 1.2, 1);
            dw_canvas__line(labels->canvas, spot.x, spot.y, w, &type, tube->label);
            return true;
        }
    }
    return false;
}

/* First one tube of each part, then the others. */
static dw_err put_labels(struct labels *labels, struct dw_arena *arena,
                         struct dw_unplaced *unplaced)
{
    const struct dw_picture *picture = labels->picture;
    size_t n = picture->n_tubes;
    bool *done = dw_arena__alloc(arena, n, sizeof *done);
    labels->taken = dw_arena__alloc(arena, n, sizeof *labels->taken);
    unplaced->labels = dw_arena__alloc(arena, n, sizeof(char *));
    if (!done || !labels->taken || !unplaced->labels)
        return DW_ERR_NOMEM;
    for (size_t t = 0; t < n; t++) {
        const char *label = picture->tubes[t].label;
        bool before = false;
        for (size_t k = 0; k < t && !before; k++)
            before = strcmp(picture->tubes[k].label, label) == 0;
        for (size_t k = t; k < n && !before && !done[t]; k++)
            if (strcmp(picture->tubes[k].label, label) == 0 &&
                put_label(labels, &picture->tubes[k])) {
                done[k] = true;
                break;
            } else if (k + 1 == n)
                unplaced->labels[unplaced->n++] = label;
    }
    for (size_t t = 0; t < n; t++)
        if (!done[t])
            put_label(labels, &picture->tubes[t]);
    return DW_OK;
}

/* --- the picture ------------------------------------------------------------------------------ */

static void draw_tube(struct dw_canvas *canvas, const struct view *view,
                      const struct dw_picture_tube *tube)
{
    for (size_t k = 1; k < tube->n_points; k++) {
        struct flat_point a = on_paper(view, tube->points[k - 1]);
        struct flat_point b = on_paper(view, tube->points[k]);
        dw_canvas__rule(canvas, a.x, a.y, b.x, b.y, 0.5);
    }
    /* where a tube begins and ends */
    for (int e = 0; e < 2; e++) {
        struct flat_point p = on_paper(view, tube->points[e ? tube->n_points - 1 : 0]);
        dw_canvas__fill(canvas, p.x - 0.7, p.y - 0.7, 1.4, 1.4, 0);
    }
}

dw_err dw_frame_picture__draw(struct dw_canvas *canvas, const struct dw_picture *picture, double x,
                              double y, double width, double height, struct dw_arena *arena,
                              struct dw_unplaced *unplaced)
{
    struct view view = view_of(picture);
    struct labels labels = {
        .canvas = canvas, .picture = picture, .view = &view, .page = {x, y, width, height}};
    place(&view, x, y, width, height);
    for (size_t t = 0; t < picture->n_tubes; t++)
        draw_tube(canvas, &view, &picture->tubes[t]);
    *unplaced = (struct dw_unplaced){0};
    return put_labels(&labels, arena, unplaced);
}

/* --- alone ------------------------------------------------------------------------------------ */

struct lone {
    const struct dw_picture *picture;
    double width_mm;
};

static dw_err draw_lone(void *user, struct dw_drawing **out, struct dw_error *error)
{
    const struct lone *lone = user;
    double height = dw_frame_picture__height(lone->picture, lone->width_mm, lone->width_mm);
    struct dw_canvas *canvas = NULL;
    struct dw_unplaced unplaced;
    struct dw_arena *arena = dw_arena__new();
    dw_err err = arena
                     ? dw_canvas__new(DW_FORM_SVG, lone->width_mm, height, 0, false, &canvas, error)
                     : dw_error__nomem(error);
    if (!err) {
        dw_canvas__page(canvas);
        if (dw_frame_picture__draw(canvas, lone->picture, 0, 0, lone->width_mm, height, arena,
                                   &unplaced))
            dw_canvas__fail(canvas, DW_ERR_NOMEM);
        err = dw_canvas__finish(canvas, out, error);
    }
    dw_canvas__free(canvas);
    dw_arena__free(arena);
    return err;
}

dw_err dw_draw_picture(const struct dw_picture *picture, double width_mm, struct dw_image *out,
                       struct dw_error *error)
{
    struct lone lone = {picture, width_mm};
    return dw_draw__apart_single(draw_lone, &lone, out, error);
}
