/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A written length between its tokens and its nanometres. */
#ifndef DW_UNITS_MEASURE_H
#define DW_UNITS_MEASURE_H

#include "units/scan.h"

#include <dropwise/length.h>

/* digits / 10^decimals + numerator / denominator of a unit. */
struct dw_quantity {
    int column;
    int64_t digits;
    int decimals;
    int64_t numerator;
    int64_t denominator;
    const struct dw_token *doubt; /* as in dw_number */
    enum dw_unit unit;            /* DW_UNIT_NONE: not written */
};

/* One quantity, or feet and inches. */
struct dw_measure {
    struct dw_quantity first;
    struct dw_quantity second; /* inches, if compound */
    bool compound;
    bool unit_missing; /* the last quantity has no unit */
};

/* Whether this is the word that parts a range. */
bool dw_measure__is_to(const struct dw_token *token);

/* Reads the tokens at[0..n) as one length; at[n] has the kind DW_TOKEN_END. Cost: O(n). */
dw_err dw_measure__read(const struct dw_token *at, struct dw_measure *measure,
                        struct dw_error *error);

/* The length in nanometres; `bare` serves where no unit is written. */
dw_err dw_measure__nm(const struct dw_measure *measure, enum dw_unit bare, dw_length *nm,
                      struct dw_error *error);

#endif
