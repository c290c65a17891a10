/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Papers as use cases: what a face needs to have them drawn and written, without drawing itself. */
#ifndef DW_JOB_PAPER_H
#define DW_JOB_PAPER_H

#include <dropwise/ledger.h>
#include <dropwise/order.h>
#include <dropwise/plan.h>
#include <dropwise/quote.h>
#include <dropwise/shop.h>

struct dw_paper_request {
    const char *form;   /* "pdf" "svg" "png" */
    const char *paper;  /* "a4" "letter"; NULL = a4 */
    const char *order;  /* of the cut sheet: "longest" "plan" "section"; NULL = longest */
    int dpi;            /* of png; 0 = 150 */
    const char *number; /* plan number; NULL = as dw_paper__number; on labels only if it is held */
    const char *date;   /* NULL = the job's, if it has one */
    const struct dw_shop *shop; /* who sends it; NULL = the job's, if it names one */
    const char *paper_number;   /* of a quote; NULL = none */
    const char *const *numbers; /* of orders, one a supplier of the document; NULL = none */
    const char *wanted;         /* day by which an order is wanted */
    bool parts;                 /* a quote lists the parts too */
    bool compact, large;        /* forms of the cut sheet */
    char stamp[24];             /* when a PDF was made, ISO 8601; "" = the date */
    const bool *to_come;        /* of the cut sheet, see dw_shelf_to_come; NULL = not known */
};

/* The number that papers of a plan carry where none is given. Eight hexadecimal digits. */
struct dw_paper_number {
    char text[48];
};
dw_err dw_paper__number(const struct dw_job *job, const struct dw_plan *plan,
                        struct dw_paper_number *out, struct dw_error *error);

/* A drawn paper: one PDF of all pages, or a file a page. */
struct dw_paper_file {
    unsigned char *bytes; /* length n */
    size_t n;
};
struct dw_paper_pages {
    size_t n_pages;
    size_t n_files;
    struct dw_paper_file *files; /* length n_files */
    char missing[96];            /* characters that no installed font can draw; "" = none */
};
void dw_paper__free(struct dw_paper_pages *pages);

/* The form that a file's name asks for by its ending; NULL if none is known. */
const char *dw_paper__form_of(const char *path);

/* Whole or not at all, all pages or none: `path` for a PDF or one page, else name-1.svg, ...
 * With replace false nothing is written if any of them exists: DW_ERR_EXISTS. */
dw_err dw_paper__write(const struct dw_paper_pages *pages, const char *path, bool replace,
                       struct dw_error *error);

dw_err dw_paper__sheet(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_paper_request *request, struct dw_paper_pages *out,
                       struct dw_error *error);

struct dw_labels_request {
    const char *stock; /* see dw_paper__stock; NULL = the shop's, else A4 with 21 labels */
    bool parts;
    bool offcuts;
    int64_t skip; /* labels of the first sheet that are used up */
};
/* *n_labels may be 0: then no page is made. DW_ERR_NOTFOUND for an unknown stock. */
dw_err dw_paper__labels(const struct dw_job *job, const struct dw_plan *plan,
                        const struct dw_labels_request *labels,
                        const struct dw_paper_request *request, size_t *n_labels,
                        struct dw_paper_pages *out, struct dw_error *error);
/* A label for each piece of the shelf, its number in large and in the code: scanned, it leads back
 * to the piece. job: for its unit; parts and offcuts of `labels` are not looked at. */
dw_err dw_paper__shelf_labels(const struct dw_job *job, const struct dw_stock_list *pieces,
                              const struct dw_labels_request *labels,
                              const struct dw_paper_request *request, struct dw_paper_pages *out,
                              struct dw_error *error);
/* What is wrong with the name of a stock, or its measures; NULL: nothing. Static. */
const char *dw_paper__stock_fault(const char *stock);
/* Name and description of the i-th label stock; false past the last. Borrowed, static. */
bool dw_paper__stock(size_t i, const char **id, const char **text);

/* number of the request NULL: none is printed. */
dw_err dw_paper__order(const struct dw_job *job, const struct dw_order_doc *order,
                       const struct dw_paper_request *request, struct dw_paper_pages *out,
                       struct dw_error *error);
/* client: index into quote->jobs, without cost; DW_NONE = the private view. */
dw_err dw_paper__quote(const struct dw_job *job, const struct dw_quote_doc *quote, size_t client,
                       const struct dw_paper_request *request, struct dw_paper_pages *out,
                       struct dw_error *error);

/* A bar to scale and a QR code as SVG, for a page. */
dw_err dw_paper__bar(const struct dw_job *job, const struct dw_layout *layout, double width_mm,
                     struct dw_paper_file *out, struct dw_error *error);
dw_err dw_paper__code(const char *text, double width_mm, struct dw_paper_file *out,
                      struct dw_error *error);

#endif
