/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of cost: weight, limits, order, quote; and the texts that they share. */
#ifndef DW_COST_H
#define DW_COST_H

#include "base/base.h"
#include "model/model.h"

#include <dropwise/cost.h>

/* Text in an arena, as printf writes it; NULL without memory. */
const char *dw_cost__text(struct dw_arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Material `index` for a person who does not know its id: its name, or "38.1 x 1.65 mm tube", with
 * alloy and finish; the id where neither is given. NULL without memory. */
const char *dw_cost__material(struct dw_arena *arena, const struct dw_job *job, size_t index);

/* "38.1 x 1.65 mm", "38.1 mm": never rounded; NULL without memory. The material has an outside
 * diameter. */
const char *dw_cost__size(struct dw_arena *arena, const struct dw_job *job,
                          const struct dw_material *material);

/* A length as a supplier must have it: in the job's unit, never rounded. */
void dw_cost__exact(const struct dw_job *job, dw_length nm, char out[DW_LENGTH_TEXT]);

/* Amounts as they are printed: each to the currency's coins, so that they add up to their rounded
 * sum; what is cut off goes by largest remainder. shown: length n. */
void dw_cost__add_up(const char *currency, size_t n, const dw_money *amounts, dw_money *shown,
                     dw_money *sum);

/* A length in the job's unit. */
void dw_cost__length(const struct dw_job *job, dw_length nm, char out[DW_LENGTH_TEXT]);

/* Notes of a document: a list in an arena that grows by doubling. */
struct dw_cost_notes {
    struct dw_arena *arena;
    const char **notes;
    size_t n;
    size_t capacity;
};
/* false: no memory; `text` NULL counts as that too. */
bool dw_cost__note(struct dw_cost_notes *list, const char *text);

/* Sums that stick when they overflow. */
struct dw_cost_sum {
    bool overflow;
};
void dw_cost__add(struct dw_cost_sum *sum, int64_t *to, int64_t amount);
void dw_cost__add_times(struct dw_cost_sum *sum, int64_t *to, int64_t a, int64_t b);

/* a b / c to the nearest multiple of `step`, half up: rounded once, from the exact quotient. a, b
 * >= 0, c, step > 0. false: too large. */
bool dw_cost__nearest(int64_t a, int64_t b, int64_t c, int64_t step, int64_t *out);

/* "12.5" of parts per million, per cent, without needless zeros. */
void dw_cost__rate(char out[32], int64_t ppm);

/* The minor unit of a currency as dw_money: 100 for EUR, 10 000 for JPY, 10 for BHD. */
dw_money dw_cost__minor(const char *currency);

/* One sum that somebody bears: what a line of a quote is made of. */
struct dw_cost_cell {
    size_t order;           /* DW_NONE = the shop */
    enum dw_line_kind kind; /* DW_LINE_TUBE and DW_LINE_WASTE: of a material */
    size_t index;           /* material or fitting */
    int64_t quantity;       /* pieces, fittings */
    dw_length length;       /* DW_LINE_TUBE: what is charged by */
    dw_money fine;          /* before rounding, in parts of 1/10 000 */
    dw_money share;         /* in the minor unit; all shares add up to what was spent */
};

struct dw_cost_cells {
    size_t n;
    struct dw_cost_cell *cells; /* length n, by order, shop last; in the arena */
    dw_money spent;             /* in the minor unit */
};

/* Who bears what of the money that plan and order spend. Cost: O(pieces + orders x (materials +
 * fittings)). */
dw_err dw_cost__spread(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_quote_terms *terms, const struct dw_order_doc *order,
                       struct dw_arena *arena, struct dw_cost_cells *out, struct dw_error *error);

/* One bar of a layout by who uses it. */
struct dw_cost_bar {
    dw_length length; /* L: measured or nominal */
    dw_length trims;
    dw_length used;   /* sum of used_by */
    dw_length pieces; /* pieces of all orders */
    dw_money money;   /* of all bars of the layout */
    size_t n;
    size_t *orders;   /* length n: who uses it, in order of first piece */
    int64_t *used_by; /* length n: u_j of quote.h, pieces, kerfs and trims_by */
    int64_t *pieces_by;
    int64_t *trims_by; /* the trims by piece length, in whole nanometres by largest remainder */
    int64_t *count_by; /* pieces counted */
};

/* Arrays for bars of up to `n` pieces, in the arena. false: no memory. */
bool dw_cost__bar_room(struct dw_arena *arena, size_t n, struct dw_cost_bar *bar);

/* Fills `bar`, whose arrays have room for one entry a piece of the layout. DW_ERR_RANGE. */
dw_err dw_cost__bar(const struct dw_job *job, const struct dw_layout *layout,
                    const struct dw_take *take, struct dw_cost_bar *bar, struct dw_error *error);

#endif
