/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files that find out how lines make tubes: what they share. */
#ifndef DW_DRAWING_WIRE_H
#define DW_DRAWING_WIRE_H

#include "drawing/sketch.h"

/* From lines to tubes, in this order. Doubts go to the report. DW_ERR_NOMEM; DW_ERR_INPUT after a
 * mistake that leaves no tubes. */
dw_err dw_wires__join(struct dw_sketch *sketch, bool one_tube, struct dw_report *report);

/* Marks what is shorter than a gap. */
dw_err dw_wires__short(struct dw_sketch *sketch, struct dw_report *report);
/* Gives each end its meeting: ends that are closer than a gap share one. */
dw_err dw_wires__meet(struct dw_sketch *sketch, struct dw_report *report);
/* Marks what lies where another line does. */
dw_err dw_wires__twice(struct dw_sketch *sketch, struct dw_report *report);

/* A line that passes a meeting without ending there. */
struct dw_pass {
    size_t meeting;
    size_t wire;
    struct dw_vec along; /* unit: direction of its centre line there */
};

struct dw_passes {
    size_t n, capacity;
    struct dw_pass *passes; /* heap; by meeting, then wire */
};

/* Where ends meet other lines between their ends; doubts lines that cross without a joint, and
 * those that lie along each other. */
dw_err dw_wires__pass(struct dw_sketch *sketch, struct dw_passes *passes, struct dw_report *report);

/* Legs of each meeting; which ends go on as one tube, and what kind of meeting it is. */
dw_err dw_meetings__make(struct dw_sketch *sketch, const struct dw_passes *passes, bool one_tube,
                         size_t *partners, struct dw_report *report);
/* Walks from end to end. `partners`, length 2 n_wires: the end (2 wire + end) that each end goes on
 * to; DW_NONE: the tube ends. */
dw_err dw_tubes__make(struct dw_sketch *sketch, size_t *partners);

/* What each end of each tube meets. */
dw_err dw_tubes__ends(struct dw_sketch *sketch);

/* Directions of legs that differ by less are in line. */
#define DW_IN_LINE (0.5L * DW_PI / 180)
bool dw_legs__in_line(const struct dw_leg *a, const struct dw_leg *b);

/* Unit direction of the centre line at an end, away from it. */
struct dw_vec dw_wire__away(const struct dw_wire *wire, int end);
/* Point of an arc, or of a straight line, at `share` (0 to 1) of its length. */
struct dw_vec dw_wire__at(const struct dw_wire *wire, long double share);

#endif
