/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files of the cut sheet: what they share. */
#ifndef DW_DRAW_SHEET_H
#define DW_DRAW_SHEET_H

#include "draw/page.h"

/* How large the sheet is written: the usual way, close for long jobs, large for poor light. */
struct dw_sheet_form {
    double marks_mm; /* of running marks: 4.5 or more in each form */
    double stop_mm;  /* of stop settings */
    double row_mm;   /* least height of a row of pieces */
    bool pictures;   /* each bar is drawn */
};

struct dw_cut_sheet {
    const struct dw_job *job;
    const struct dw_plan *plan;
    enum dw_sheet_order order;
    size_t *sequence; /* length plan->n_layouts: in what order the blocks stand */
    dw_length longest;
    const bool *to_come; /* see struct dw_draw_options */
    struct dw_sheet_form form;
};

/* "3 x new bar al38 6 m, 6000 mm, at rack 1, mark H 4471": what to take. */
void dw_sheet__take(struct dw_buf *buf, const struct dw_cut_sheet *sheet,
                    const struct dw_supply *supply, int64_t count);
/* "still to come", or which of its bars: "still to come: bars 7 and 8". Nothing if all are here or
 * it is not known. */
void dw_sheet__to_come(struct dw_buf *buf, const struct dw_cut_sheet *sheet,
                       const struct dw_layout *layout);

/* What to fetch, above the first bar, what the drawings mean; and below the last bar how many of
 * each part there are to be, and who cut them. */
void dw_sheet__fetch(struct dw_flow *flow, const struct dw_cut_sheet *sheet);
void dw_sheet__key(struct dw_flow *flow);
void dw_sheet__tally(struct dw_flow *flow, const struct dw_cut_sheet *sheet);

/* All about the bars of one layout, on one page if it can be. */
void dw_sheet__block(struct dw_flow *flow, const struct dw_cut_sheet *sheet,
                     const struct dw_layout *layout);

#endif
