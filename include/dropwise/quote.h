/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each client of a batch is charged, and the proof that it adds up.
 *
 * Each bar costs c and has length L; job j uses of it
 *   u_j = its pieces + the kerf of the cut after each + its share of the trims (by piece length).
 * What is left (leftover, surplus pieces, bend ends) is `rest`; L = sum u_j + rest.
 *
 *   whole bars    every bar is charged: c over the jobs, by the waste rule
 *   length used   job j pays c u_j / L; c rest / L goes by the waste rule
 *   percentage    job j pays c p_j / L (1 + percent), p_j its pieces alone; the shop bears or
 *                 gains the difference to c
 *
 * Rest is by the waste rule, but for what the shop owns: with offcuts the shop's, a kept leftover
 * stays with the shop at what its length cost (c r / L), and so do the bars of a pack that stay
 * uncut. By whole bars the clients have paid for their offcuts, whoever keeps them. A bar from
 * which nobody has a piece, and uncut bars that clients pay, are shared by batch. Cuts are shared
 * by pieces, suppliers' charges by what each job spends on tube and fittings. In every way
 *
 *   sum over jobs of what is charged + what the shop bears = what was spent,
 *
 * in the currency's minor unit, exactly; shares are rounded by largest remainder.
 *
 * Threads: any; job, plan and order are only read and may be shared. */
#ifndef DROPWISE_QUOTE_H
#define DROPWISE_QUOTE_H

#include <dropwise/order.h>

#ifdef __cplusplus
extern "C" {
#endif

struct dw_quote_line {
    enum dw_line_kind kind;
    const char *text;     /* for the client: "38.1 x 1.65 mm tube, 12.4 m with kerf and trim" */
    const char *quantity; /* "12.4 m", "6", "2.5 h"; may be NULL */
    size_t index;         /* material or fitting that it is of; DW_NONE = none */
    dw_length length;     /* of tube that is charged; 0 = none */
    int64_t count;        /* pieces of that tube, fittings; 0 = none */
    int64_t milli_hours;  /* of labour */
    dw_money price_each;  /* of a fitting or an hour, if the price is so many times that; else 0 */
    dw_money cost;        /* private */
    dw_money price;       /* printed: rounded by itself */
    int64_t tax_ppm;      /* DW_NO_TAX = not taxed */
    dw_money tax;         /* of the printed price, rounded to the minor unit */
};

/* An offcut that the plan keeps. */
struct dw_quote_offcut {
    size_t layout;
    size_t supply;
    dw_length length;
    int64_t count;
    size_t owner;  /* index of the client's job; DW_NONE = the shop */
    dw_money cost; /* borne by the shop for it; 0 if a client paid */
};

struct dw_quote_job {
    size_t order;
    const char *name;
    const char *client;
    const char *address; /* lines; this and the next three as the job says, may be NULL */
    const char *reference;
    const char *scope;
    const char *language; /* of the client's paper: the job's, else the shop's */
    const char *due;
    size_t n_lines;
    struct dw_quote_line *lines; /* length n_lines */
    dw_money charged;            /* share of what was spent: cost of all lines but labour */
    dw_money cost;               /* sum of the lines' cost */
    dw_money price;              /* sum of the lines' printed prices */
    dw_money tax;
    dw_money total; /* price + tax */
    size_t n_offcuts;
    const struct dw_quote_offcut *offcuts; /* length n_offcuts, of the document's: the client's */
};

struct dw_quote_doc {
    const char *job;
    const char *date;        /* today, as given */
    const char *valid_until; /* date + valid_days; NULL = not stated */
    const char *sender;      /* name of the shop that quotes; NULL = the job names no shop */
    const char *currency;
    const char *way;    /* one line: how tube is charged */
    const char *rule;   /* one line: who bears the waste, and how shares are rounded */
    const char *uplift; /* one line, private: "markup 50 % on cost (margin 33.33 %)" */
    const char *tax_name;
    size_t n_jobs;
    struct dw_quote_job *jobs; /* length n_jobs, one a client's job */
    size_t n_offcuts;
    struct dw_quote_offcut *offcuts; /* length n_offcuts, by owner, the shop's last */
    size_t n_shop_offcuts;
    const struct dw_quote_offcut *shop_offcuts; /* length n_shop_offcuts, of these */
    dw_money spent;   /* bars, book values, cuts, fittings, suppliers' charges */
    dw_money charged; /* sum of jobs[].charged */
    dw_money shop;    /* spent - charged: what the shop bears; below 0 it gains */
    size_t n_notes;
    const char **notes; /* length n_notes */
    struct dw_arena *arena;
};

/* Quotes every job of the batch. The document borrows names from job and plan. today: ISO 8601
 * date, needed for a validity date. DW_ERR_INPUT: terms that contradict each other, margin of 100 %
 * or more. Cost: O(pieces + parts) shares, each O(jobs). */
dw_err dw_quote_make(const struct dw_job *job, const struct dw_plan *plan,
                     const struct dw_quote_terms *terms, const char *today,
                     struct dw_quote_doc **out, struct dw_error *error);
void dw_quote_free(struct dw_quote_doc *doc);

/* Price of a cost under markup or margin to a multiple of `step` > 0: rounded once, from the exact
 * price, half away from zero. DW_ERR_INPUT, DW_ERR_RANGE. */
dw_err dw_uplift_price(dw_money cost, enum dw_uplift uplift, int64_t ppm, dw_money step,
                       dw_money *price, struct dw_error *error);
/* The margin that a markup is, and the other way round, parts per million, half away from zero. */
dw_err dw_margin_of_markup(int64_t markup_ppm, int64_t *margin_ppm, struct dw_error *error);
dw_err dw_markup_of_margin(int64_t margin_ppm, int64_t *markup_ppm, struct dw_error *error);

/* Splits `total` into shares in proportion to weights >= 0, each a multiple of `unit`, by largest
 * remainder, ties to the lower index; they add up to total exactly (a total that is no multiple
 * leaves its odd part with the first receiver). All weights 0: all to index 0. Cost: O(n log n). */
dw_err dw_share_split(dw_money total, dw_money unit, size_t n, const int64_t *weights,
                      dw_money *shares, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
