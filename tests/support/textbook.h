/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cutting-stock problems as the literature states them: bars of some lengths and prices, lengths
 * and demands; no leftover worth. */
#ifndef TESTS_SUPPORT_TEXTBOOK_H
#define TESTS_SUPPORT_TEXTBOOK_H

#include <dropwise/solve.h>

struct textbook_bar {
    int64_t length; /* in `unit` */
    dw_money price;
    int64_t count; /* DW_UNLIMITED */
};

struct textbook_part {
    int64_t length; /* in `unit` */
    int64_t count;
};

/* A job of one tube, kerf 0. NULL: no memory. */
struct dw_job *textbook_job(dw_length unit, const struct textbook_bar *bars, size_t n_bars,
                            const struct textbook_part *parts, size_t n_parts);

/* CUTGEN1 (Gau, Waescher, EJOR 84 (1995) 572-579), after the description and check values there:
 * m lengths between v1 L and v2 L, demands of mean dbar, equal lengths merged, longest first.
 * parts has room for m. *seed goes on from problem to problem. Returns how many lengths. */
size_t textbook_cutgen1(int64_t *seed, size_t m, int64_t length, double v1, double v2, double dbar,
                        struct textbook_part *parts);

#endif
