/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What to buy, supplier by supplier, for one job or a batch.
 *
 * Threads: any; job and plan are only read and may be shared. */
#ifndef DROPWISE_ORDER_H
#define DROPWISE_ORDER_H

#include <dropwise/plan.h>
#include <dropwise/takeoff.h>
#include <dropwise/terms.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Kinds of lines of an order: bars, whose money is that of the plan's take to the last digit;
 * fittings; cuts made by the supplier; what is missing to the least order; small-order surcharge;
 * freight. X(name, word) */
#define DW_ORDER_KIND_LIST(X)                                                                      \
    X(DW_ORDER_BARS, "bars")                                                                       \
    X(DW_ORDER_FITTING, "fitting")                                                                 \
    X(DW_ORDER_CUTS, "cuts")                                                                       \
    X(DW_ORDER_MINIMUM, "minimum")                                                                 \
    X(DW_ORDER_SMALL, "surcharge")                                                                 \
    X(DW_ORDER_FREIGHT, "freight")

enum dw_order_kind {
#define DW_ORDER_KIND_ENUM(name, word) name,
    DW_ORDER_KIND_LIST(DW_ORDER_KIND_ENUM)
#undef DW_ORDER_KIND_ENUM
};
const char *dw_order_kind_word(enum dw_order_kind kind); /* borrowed */

struct dw_order_line {
    enum dw_order_kind kind;
    size_t supply;      /* of the job, for bars; DW_NONE otherwise */
    const char *item;   /* supply or fitting id; NULL for charges */
    const char *number; /* its supplier's for it; NULL = not said */
    const char *text;   /* for a person: "38.1 x 1.65 mm tube, 6096 mm bars" */
    dw_length length;   /* of a bar; 0 otherwise */
    int64_t quantity;   /* bars paid, fittings, cuts; 1 for charges */
    int64_t pack;       /* bars a pack, 1 = singly */
    int64_t packs;      /* quantity / pack */
    int64_t spare;      /* bars paid that the plan leaves uncut */
    dw_money unit_price;
    dw_money money;    /* quantity unit_price, a charge as it stands */
    int64_t weight_mg; /* -1 = not known */
    const char *date;  /* of the price; may be NULL */
};

struct dw_order_supplier {
    const char *name;     /* NULL: no supplier was named */
    const char *address;  /* lines; this and the next: NULL = not said */
    const char *customer; /* what number the shop is there */
    size_t n_lines;
    struct dw_order_line *lines; /* length n_lines */
    dw_money goods;              /* bars and fittings */
    dw_money total;              /* all lines */
    int64_t weight_mg;           /* of the bars; -1 = not known */
    const char *price_date;
    const char *valid_until;
    bool expired; /* `today` is past valid_until */
};

struct dw_order_doc {
    const char *job;
    const char *date; /* today, as given */
    const char *currency;
    size_t n_suppliers;
    struct dw_order_supplier *suppliers; /* length n_suppliers, in order of appearance */
    dw_money bars;                       /* = plan->totals.bars */
    dw_money fittings;
    dw_money charges; /* = plan->totals.charges: cuts, minimum, surcharge, freight */
    dw_money total;   /* bars + fittings + charges */
    int64_t weight_mg;
    size_t n_notes;
    const char **notes; /* length n_notes: expired prices, bars to spare, figures not known */
    struct dw_arena *arena;
};

/* The order that a plan asks for. Nothing is priced anew: bars and charges are the plan's, and a
 * take that is not quantity times price, or goods that are not those that the plan's charges are
 * for, are DW_ERR_CHECK; a plan that lacks tube is DW_ERR_STATE. The
 * document borrows names from job and plan. today: ISO 8601 date, NULL = not checked.
 * Cost: O(takes + parts). */
dw_err dw_order_make(const struct dw_job *job, const struct dw_plan *plan, const char *today,
                     struct dw_order_doc **out, struct dw_error *error);
void dw_order_free(struct dw_order_doc *doc);

#ifdef __cplusplus
}
#endif
#endif
