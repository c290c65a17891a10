/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shop that sends papers: who it is, what it prints on them, how it numbers them.
 *
 * Threads: all of it is const once read, and may be shared. */
#ifndef DROPWISE_SHOP_H
#define DROPWISE_SHOP_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_LOGO_MAX ((size_t)1 << 20) /* bytes of a logo */

/* A picture as its file has it: PNG, or SVG without pictures of its own. */
struct dw_logo {
    const unsigned char *bytes; /* length n; NULL = none */
    size_t n;
};

/* Texts of several lines have '\n' between them; what was not given is NULL or 0. Lives in the
 * arena of the job that names it. */
struct dw_shop {
    const char *name;
    const char *address; /* lines below the name */
    const char *contact; /* lines: a person, telephone, mail */
    const char *tax_number;
    const char *bank;     /* lines: where to pay */
    const char *deliver;  /* lines: where goods go if not to the address */
    const char *language; /* of clients' papers: "en"; NULL = English */
    const char *terms;    /* lines below the total of a quote */
    const char *quotes;   /* series of the quotes' numbers, see dw_series_number */
    const char *orders;   /* of the orders' */
    int64_t valid_days;   /* of a quote whose job says nothing of it */
    const char *paper;    /* "a4" "letter" */
    const char *labels;   /* label stock by its id */
    dw_length shift[2];   /* of labels: by so much the printer prints too far left, too high */
    dw_money hour;        /* rate of an hour's work where a line of labour gives none */
    struct dw_logo logo;
    struct dw_place at;
};

/* A series is a text with {number} or {number:4} (so many digits at least) in it once, and {year}
 * or {month} where the number of that period begins with 1: "Q-{year}-{number:3}" gives
 * Q-2027-001. NULL, or what is wrong with it. Borrowed, static. */
const char *dw_series_fault(const char *series);

#define DW_SERIES_TEXT 48
/* The number `n` of the series on that day, an ISO 8601 date; n 0: what all numbers of the period
 * begin with. `series` has no fault. */
void dw_series_number(const char *series, const char *date, int64_t n, char out[DW_SERIES_TEXT]);
/* Which number of its series a text is; 0: none of them. */
int64_t dw_series_place(const char *series, const char *date, const char *number);

#ifdef __cplusplus
}
#endif
#endif
