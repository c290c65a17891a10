/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words and numbers of a written length or amount. */
#ifndef DW_UNITS_SCAN_H
#define DW_UNITS_SCAN_H

#include <dropwise/error.h>
#include <stdint.h>

enum dw_token_kind {
    DW_TOKEN_END,
    DW_TOKEN_DIGITS, /* number: its value */
    DW_TOKEN_WORD,   /* ASCII letters */
    DW_TOKEN_BLANK,  /* blanks; number is 1 for a single no-break or thin space */
    DW_TOKEN_POINT,
    DW_TOKEN_COMMA,
    DW_TOKEN_DOTS, /* two or three points */
    DW_TOKEN_SLASH,
    DW_TOKEN_DASH,
    DW_TOKEN_MINUS,    /* U+2212, which is nothing but a sign */
    DW_TOKEN_FOOT,     /* ' and its typographic kin */
    DW_TOKEN_INCH,     /* " and its kin, and two foot marks */
    DW_TOKEN_FRACTION, /* one character: number / denominator */
};

struct dw_token {
    enum dw_token_kind kind;
    int column;       /* from 1, in characters */
    const char *text; /* borrowed from the scanned text */
    size_t length;    /* bytes */
    int64_t number;
    int64_t denominator;
};

#define DW_SCAN_BYTES  256
#define DW_SCAN_TOKENS 64

struct dw_scan {
    size_t n_tokens;                        /* without the end */
    struct dw_token tokens[DW_SCAN_TOKENS]; /* tokens[n_tokens] is DW_TOKEN_END */
};

/* Cuts text[0..n) into tokens, blanks at both ends left out. Cost: O(n). */
dw_err dw_scan__text(const char *text, size_t n, struct dw_scan *scan, struct dw_error *error);

#define DW_DECIMALS_MAX 18 /* 10^18 fits int64_t */

struct dw_number {
    int64_t digits;               /* the value times 10^decimals */
    int decimals;                 /* without zeros at the end */
    bool plain;                   /* digits alone: no mark, no groups of thousands */
    const struct dw_token *doubt; /* the one mark, if what follows may be decimals or thousands */
    const struct dw_token *next;  /* the token behind the number */
};

/* Reads a decimal number. Thousands may be grouped by point, comma or no-break space, with `blanks`
 * also by a plain one. DW_ERR_SYNTAX, DW_ERR_RANGE. */
dw_err dw_scan__number(const struct dw_token *at, bool blanks, struct dw_number *number,
                       struct dw_error *error);

/* Refuses a number with a doubtful mark, and says how its two readings are written clearly. */
dw_err dw_scan__refuse_doubt(const struct dw_token *doubt, struct dw_error *error);

/* 10^exponent for 0 <= exponent <= DW_DECIMALS_MAX. */
int64_t dw_power__ten(int exponent);

#endif
