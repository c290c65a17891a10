/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON written straight into a text buffer, whose first failure sticks. Keys are NULL in arrays. */
#ifndef DW_UNITS_OUT_H
#define DW_UNITS_OUT_H

#include "base/base.h"
#include "units/units.h"

/* Beyond +-(2^53 - 1) many programs lose digits of a JSON number: there it is a string. */
#define DW_SAFE_INTEGER INT64_C(9007199254740991)

struct dw_out {
    struct dw_buf *buf;
    struct dw_length_style style; /* of lengths */
    const char *currency; /* of money; NULL: two to four decimals, all that the amount has */
    int indent;           /* blanks a level, each value on its line; 0 = all on one line */
    int depth;            /* brackets that are open */
};

/* `bracket` is '{' or '['; the closing one is found by itself. */
void dw_out__open(struct dw_out *out, const char *key, char bracket);
void dw_out__close(struct dw_out *out, char bracket);
void dw_out__text(struct dw_out *out, const char *key, const char *text); /* NULL: null */
void dw_out__int(struct dw_out *out, const char *key, int64_t value);
/* The number that was written as a string of digits; false if it is not canonical. */
bool dw_out__digits(const char *text, int64_t *out);
void dw_out__yes(struct dw_out *out, const char *key, bool value);
void dw_out__null(struct dw_out *out, const char *key);
/* JSON that is written already. */
void dw_out__raw(struct dw_out *out, const char *key, const char *json);
/* {"nm": 620000000, "text": "620 mm"} */
void dw_out__length(struct dw_out *out, const char *key, dw_length nm);
/* "12.50" */
void dw_out__money(struct dw_out *out, const char *key, dw_money amount);

#endif
