/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing made in a process of its own: glib, under pango, ends the process that has no memory
 * left, and harfbuzz and fontconfig take half of what they are told then. */
#include "draw/apart.h"
#include "base/apart.h"

#include <errno.h>
#include <glib.h>
#include <stdlib.h>
#include <string.h>

/* What the child sends first; then the characters that are missing, for each file its length and
 * bytes, for each box the box, the length of its text with the 0 at its end (0: none), and the
 * text. */
struct head {
    size_t n_pages;
    double width_mm, height_mm;
    size_t n_files, n_boxes, n_missing;
};

struct wish {
    dw_draw_work *work;
    void *user;
};

/* --- the child ------------------------------------------------------------------------------ */

static void send_drawing(struct dw_apart *to, const struct dw_drawing *drawing)
{
    const struct head head = {.n_pages = drawing->n_pages,
                              .width_mm = drawing->page_width_mm,
                              .height_mm = drawing->page_height_mm,
                              .n_files = drawing->n_files,
                              .n_boxes = drawing->n_boxes,
                              .n_missing = drawing->missing ? strlen(drawing->missing) + 1 : 0};
    dw_apart__send(to, &head, sizeof head);
    dw_apart__send(to, drawing->missing, head.n_missing);
    for (size_t i = 0; i < head.n_files; i++) {
        dw_apart__send(to, &drawing->files[i].n, sizeof drawing->files[i].n);
        dw_apart__send(to, drawing->files[i].bytes, drawing->files[i].n);
    }
    for (size_t i = 0; i < head.n_boxes; i++) {
        const char *text = drawing->boxes[i].text;
        size_t n = text ? strlen(text) + 1 : 0;
        dw_apart__send(to, &drawing->boxes[i], sizeof drawing->boxes[i]);
        dw_apart__send(to, &n, sizeof n);
        dw_apart__send(to, text, n);
    }
}

/* glib is about to end the process, or pango would go on with letters that it lacks. */
static void on_complaint(const char *domain, GLogLevelFlags level, const char *text, void *user)
{
    struct dw_error error = {0};
    dw_err err = DW_ERR_NOMEM;
    (void)domain;
    if (level & (G_LOG_LEVEL_MESSAGE | G_LOG_LEVEL_INFO | G_LOG_LEVEL_DEBUG))
        return;
    if ((level & G_LOG_LEVEL_ERROR) || errno == ENOMEM)
        dw_error__nomem(&error);
    else
        err = dw_error__set(&error, DW_ERR_IO, "the paper could not be drawn: %s",
                            text ? text : "no reason is given");
    dw_apart__give_up(user, err, &error);
}

static dw_err draw(struct dw_apart *to, void *user, struct dw_error *error)
{
    const struct wish *wish = user;
    struct dw_drawing *drawing = NULL;
    g_log_set_default_handler(on_complaint, to);
    errno = 0;
    dw_err err = wish->work(wish->user, &drawing, error);
    if (err == DW_OK)
        send_drawing(to, drawing);
    return err;
}

/* --- the caller ----------------------------------------------------------------------------- */

/* Bytes received that were not taken yet. */
struct rest {
    const char *at;
    size_t n;
};

static const void *take(struct rest *rest, size_t n)
{
    if (n > rest->n)
        return NULL;
    const char *bytes = rest->at;
    rest->at += n;
    rest->n -= n;
    return bytes;
}

static bool copy(struct rest *rest, void *to, size_t n)
{
    const void *bytes = take(rest, n);
    if (bytes && n > 0)
        memcpy(to, bytes, n);
    return bytes != NULL;
}

static bool read_file(struct rest *rest, struct dw_image *out)
{
    size_t n = 0;
    if (!copy(rest, &n, sizeof n) || n > rest->n)
        return false;
    *out = (struct dw_image){.bytes = malloc(n + 1), .n = n};
    return out->bytes && copy(rest, out->bytes, n);
}

static bool read_box(struct rest *rest, struct dw_arena *arena, struct dw_box *out)
{
    size_t n = 0;
    if (!copy(rest, out, sizeof *out) || !copy(rest, &n, sizeof n))
        return false;
    const char *text = take(rest, n);
    out->text = text && n > 0 ? dw_arena__text(arena, text) : NULL;
    return text && (n == 0 || out->text);
}

/* NULL: no memory. */
static struct dw_drawing *read_drawing(const struct head *head, struct rest rest)
{
    struct dw_drawing *drawing = calloc(1, sizeof *drawing);
    if (!drawing)
        return NULL;
    *drawing = (struct dw_drawing){.n_pages = head->n_pages,
                                   .page_width_mm = head->width_mm,
                                   .page_height_mm = head->height_mm,
                                   .files = calloc(head->n_files + 1, sizeof *drawing->files),
                                   .boxes = calloc(head->n_boxes + 1, sizeof *drawing->boxes),
                                   .arena = dw_arena__new()};
    bool good = drawing->files && drawing->boxes && drawing->arena;
    const char *missing = good ? take(&rest, head->n_missing) : NULL;
    if (missing && head->n_missing > 0)
        drawing->missing = dw_arena__text(drawing->arena, missing);
    good = good && (head->n_missing == 0 || drawing->missing);
    for (; good && drawing->n_files < head->n_files; drawing->n_files++)
        good = read_file(&rest, &drawing->files[drawing->n_files]);
    for (; good && drawing->n_boxes < head->n_boxes; drawing->n_boxes++)
        good = read_box(&rest, drawing->arena, &drawing->boxes[drawing->n_boxes]);
    if (good)
        return drawing;
    dw_drawing_free(drawing);
    return NULL;
}

dw_err dw_draw__apart(dw_draw_work *work, void *user, struct dw_drawing **out,
                      struct dw_error *error)
{
    struct wish wish = {work, user};
    struct dw_buf all = {0};
    struct head head;
    *out = NULL;
    dw_err err = dw_apart__run(draw, &wish, &all, error);
    if (err == DW_OK) {
        struct rest rest = {all.text, all.n};
        *out = copy(&rest, &head, sizeof head) ? read_drawing(&head, rest) : NULL;
        err = *out ? DW_OK : dw_error__nomem(error);
    }
    dw_buf__free(&all);
    return err;
}

dw_err dw_draw__apart_single(dw_draw_work *work, void *user, struct dw_image *out,
                             struct dw_error *error)
{
    struct dw_drawing *drawing = NULL;
    *out = (struct dw_image){0};
    dw_err err = dw_draw__apart(work, user, &drawing, error);
    if (err == DW_OK) {
        *out = drawing->files[0];
        drawing->n_files = 0;
    }
    dw_drawing_free(drawing);
    return err;
}
