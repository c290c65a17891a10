/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What every paper has in common: page frame, flow from page to page, lengths and money as text. */
#ifndef DW_DRAW_PAGE_H
#define DW_DRAW_PAGE_H

#include "draw/canvas.h"
#include "model/caution.h"

#define DW_MARGIN_MM 14.0

struct dw_flow;

/* Text of the frame; repeated on every page. */
struct dw_frame {
    const char *job;   /* or the client's job */
    const char *title; /* "Cut sheet" */
    const char *date;
    const char *number;          /* plan number */
    const char *client;          /* whom it is for, and when it is due */
    enum dw_caution_place place; /* whose general cautions stand at the foot of the page */
    const char *band;            /* in white on black at the head of every page; NULL = none */
    struct dw_about about;       /* what a PDF says of itself */
    /* Draws the frame in place of the one of the shop's own papers, and says where the flow may
     * go; NULL = that one. */
    void (*page)(struct dw_flow *flow, const void *user);
    const void *user;
};

struct dw_flow {
    struct dw_canvas *canvas;
    const struct dw_frame *frame;
    size_t n_pages;       /* m of "page n of m"; 0 while counting */
    size_t *part_pages;   /* pages of each part, see dw_flow__part; counted first */
    size_t n_parts, part; /* how many parts there are room for; the one at hand, from 1 */
    size_t part_page;     /* page of the part at hand, from 1 */
    double y;             /* where the next thing goes */
    double left, right;
    double bottom; /* nothing of the flow goes below */
    double paper_width, paper_height;
};

/* Draws frame after frame with `body` twice: first to count pages, then for good. */
typedef void dw_body(struct dw_flow *flow, void *user);
dw_err dw_flow__run(const struct dw_draw_options *options, const struct dw_frame *frame,
                    dw_body *body, void *user, struct dw_drawing **out, struct dw_error *error);

void dw_flow__page(struct dw_flow *flow);
/* Begins a new page unless `height` is still free. true: it did. */
bool dw_flow__need(struct dw_flow *flow, double height);

/* The pages from here on are counted for themselves: one paper of several. Call it before the first
 * page of each part but the first, which begins a page. */
void dw_flow__part(struct dw_flow *flow);
/* "n of m" of the part at hand; m is 0 while counting. */
void dw_flow__place(const struct dw_flow *flow, size_t *page, size_t *pages);

/* A paragraph as wide as the page; NULL: nothing. */
void dw_flow__say(struct dw_flow *flow, double size_mm, bool bold, const char *text);

/* --- text --------------------------------------------------------------------------------- */

/* A length in the job's unit and fractions; a money amount in its currency. */
struct dw_text {
    char text[64];
};
struct dw_text dw_draw__length(const struct dw_job *job, dw_length length);
/* The same without its unit and without a place where a line may break. */
struct dw_text dw_draw__mark(const struct dw_job *job, dw_length length);
/* How lengths are printed on papers. */
struct dw_length_style dw_draw__style(const struct dw_job *job);
/* Takes the places out of a text at which a line could break within a length: "1/4 in". */
void dw_draw__hold(struct dw_buf *buf, enum dw_unit unit);
/* What a PDF says of when it was made: options->stamp, else its date. */
const char *dw_draw__stamp(const struct dw_draw_options *options);
struct dw_text dw_draw__money(const struct dw_job *job, dw_money amount);

#endif
