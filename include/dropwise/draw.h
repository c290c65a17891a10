/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Papers: the cut sheet, labels, the order, the quote; and the drawing of one bar.
 *
 * The same drawing code makes PDF, SVG and PNG. Black on white, measures in millimetres. Nothing is
 * written to disk here: a document is bytes in memory, for the caller to write.
 *
 * A drawing is made in a child process, since the libraries that it needs end theirs when memory is
 * short: DW_ERR_NOMEM then, as for all others, and DW_ERR_BUSY where no process can be started. The
 * child is waited for; the caller's signals and other children are left alone.
 *
 * Threads: any, side by side, also on one job and plan, which are only read. The child is forked
 * from the calling thread and runs nothing of the caller's. */
#ifndef DROPWISE_DRAW_H
#define DROPWISE_DRAW_H

#include <dropwise/order.h>
#include <dropwise/plan.h>
#include <dropwise/quote.h>

#ifdef __cplusplus
extern "C" {
#endif

enum dw_form { DW_FORM_PDF, DW_FORM_SVG, DW_FORM_PNG };
enum dw_paper { DW_PAPER_A4, DW_PAPER_LETTER };

struct dw_shop;

/* Order of the blocks on the cut sheet; the numbers of the bars are the plan's in each. */
enum dw_sheet_order {
    DW_SHEET_PLAN,    /* as the plan has them: in the order of cutting */
    DW_SHEET_SECTION, /* bars of one section together */
    DW_SHEET_STOPS,   /* of bars of one kind, the next begins with the length where one ends */
};

struct dw_draw_options {
    enum dw_form form;
    enum dw_paper paper;
    int dpi;                   /* of PNG, 30..1200; 0 = 150 */
    enum dw_sheet_order order; /* of the cut sheet */
    const char *plan_number;   /* printed on every page; NULL = none */
    const char *date;          /* printed; NULL = the job's date, if it has one */
    const char *paper_number;  /* of a quote; of an order see numbers; NULL = none */
    /* Of orders, a text a supplier of the document; NULL = none has a number. */
    const char *const *numbers;
    const char *wanted;         /* day by which an order is wanted; NULL = not said */
    const struct dw_shop *shop; /* who sends it; NULL = the job's, if it names one */
    bool parts;                 /* a quote lists the parts too */
    bool compact, large;        /* forms of the cut sheet: for long jobs, for poor light */
    double shift_mm[2];         /* by which labels move to the right and down, for the printer */
    const char *stamp;          /* what a PDF says of its making, ISO 8601; NULL = the date */
    /* Of the cut sheet, length plan->totals.n_bars: bar i + 1 is still to be delivered, which the
     * sheet says; NULL = not known. */
    const bool *to_come;
};

/* One file: a PDF of all pages, or one page as SVG or PNG. */
struct dw_image {
    unsigned char *bytes; /* length n */
    size_t n;
};

/* Where ink of a text or a frame lies, in millimetres from the upper left corner of its page: for
 * tests that nothing overlaps, leaves the page or is cut short. */
enum dw_box_kind { DW_BOX_TEXT, DW_BOX_FRAME, DW_BOX_CODE };
struct dw_box {
    size_t page; /* from 0 */
    enum dw_box_kind kind;
    double x, y, width, height;
    const char *text; /* of DW_BOX_TEXT, whole */
    bool cut;         /* it ends in an ellipsis: not all of it could be drawn */
};

struct dw_drawing {
    size_t n_pages;
    double page_width_mm;
    double page_height_mm;
    size_t n_files;         /* 1 for PDF, n_pages otherwise */
    struct dw_image *files; /* length n_files */
    size_t n_boxes;
    struct dw_box *boxes; /* length n_boxes */
    const char *missing;  /* characters that no installed font can draw; NULL = none */
    struct dw_arena *arena;
};
void dw_drawing_free(struct dw_drawing *document);

/* The sheet at the saw. DW_ERR_INPUT for an infeasible plan, DW_ERR_NOMEM, DW_ERR_RANGE for a dpi
 * out of range. Cost: O(pieces), counts not written out but where their marks are. */
dw_err dw_draw_sheet(const struct dw_job *job, const struct dw_plan *plan,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error);

dw_err dw_draw_order(const struct dw_job *job, const struct dw_order_doc *order,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error);

/* client: the index of one client's job, printed without cost or margin; DW_NONE = the private
 * view of all. */
dw_err dw_draw_quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                     const struct dw_draw_options *options, struct dw_drawing **out,
                     struct dw_error *error);

/* --- labels ------------------------------------------------------------------------------- */

/* Any but the title may be NULL. Nothing of them is left out or cut short, save at the foot of a
 * stock that is too small for them in letters of a millimetre and a half. */
struct dw_label {
    const char *code;  /* what the QR code says */
    const char *title; /* large: the piece's name or the offcut's number */
    const char *length;
    const char *bar;  /* "bar 7, piece 2 of 4" */
    const char *work; /* how its ends are mitred, its bend; what is to be measured */
    const char *remark;
    const char *job; /* the client's job, for whom, when it is due */
    const char *section;
    const char *material;
};

/* A common label stock. */
struct dw_label_stock {
    const char *id;   /* "a4-21": paper and labels a sheet, or "roll-62x29" */
    const char *text; /* "A4 sheet, 3 x 7, 63.5 x 38.1 mm" */
    double page_width_mm, page_height_mm;
    int columns, rows;
    double width_mm, height_mm;
    double left_mm, top_mm;      /* of the first label */
    double step_x_mm, step_y_mm; /* from one to the next */
};

/* The stocks known; NULL past the last. dw_label_stock_find: NULL if unknown. Borrowed, static. */
const struct dw_label_stock *dw_label_stock_at(size_t index);
const struct dw_label_stock *dw_label_stock_find(const char *id);

/* A stock by its measures, in mm, or inches with " in" at the end: "62 x 29" on a roll, or "3 x 7
 * of 63.5 x 38.1 on a4 at 7.25, 15.15 step 66 x 38.1": columns and rows, one label, paper, where
 * the first begins from the left and from the top, from one to the next. NULL, or what is wrong
 * with it: static. */
const char *dw_label_stock_read(const char *text, struct dw_label_stock *out);

/* skip: labels of the first sheet that are used up. options->paper is the stock's. */
dw_err dw_draw_labels(const struct dw_label *labels, size_t n_labels,
                      const struct dw_label_stock *stock, size_t skip,
                      const struct dw_draw_options *options, struct dw_drawing **out,
                      struct dw_error *error);

/* The labels of a plan, in the order of cutting: bar by bar a label for each part and post piece
 * from the datum end on, then one for the offcut kept of it. `number` names the plan on them; NULL:
 * its number on the shelf, if it is held. The strings live in the list's arena. Cost: O(labels). */
struct dw_label_list {
    size_t n;
    struct dw_label *labels; /* length n */
    struct dw_arena *arena;
};
dw_err dw_label_list_make(const struct dw_job *job, const struct dw_plan *plan, const char *number,
                          bool parts, bool offcuts, struct dw_label_list *out,
                          struct dw_error *error);
void dw_label_list_free(struct dw_label_list *list);

/* --- one bar, one code ---------------------------------------------------------------------- */

/* A bar layout to scale as an SVG picture `width_mm` wide, for a page in a browser. */
dw_err dw_draw_bar(const struct dw_job *job, const struct dw_layout *layout, double width_mm,
                   struct dw_image *out, struct dw_error *error);

/* A QR code of `text` as SVG, with its quiet zone. */
dw_err dw_draw_code(const char *text, double width_mm, struct dw_image *out,
                    struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
