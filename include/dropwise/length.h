/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact lengths: an int64_t of nanometres. 1/64 in = 396 875 nm, 0.001 in = 25 400 nm. */
#ifndef DROPWISE_LENGTH_H
#define DROPWISE_LENGTH_H

#include <dropwise/error.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef int64_t dw_length; /* nanometres */

#define DW_NM_PER_MM INT64_C(1000000)
#define DW_NM_PER_IN INT64_C(25400000)
#define DW_LENGTH_MAX (INT64_C(1000000) * 1000 * DW_NM_PER_MM) /* 1 000 km: refused beyond */

enum dw_unit { DW_UNIT_NONE, DW_UNIT_MM, DW_UNIT_CM, DW_UNIT_M, DW_UNIT_IN, DW_UNIT_FT };

/* Reads one length: `24 3/8"`, `2' 6-1/2"`, `24.375 in`, `619,5 mm`, `1.2 m`; typographic quotes,
 * primes and fraction characters are accepted. A bare number takes `bare`; with DW_UNIT_NONE it is
 * refused. text[0..n) need not be terminated. On failure *out is 0 and error->column (from 1,
 * counted in characters of text) points at the place. DW_ERR_SYNTAX, DW_ERR_RANGE. */
dw_err dw_length_parse(const char *text, size_t n, enum dw_unit bare, dw_length *out,
                       struct dw_error *error);

/* Reads a length or a range: `14 to 20 in`, `14..20 in`, `350 - 400 mm` (blanks around the dash).
 * A unit written once, at the end, serves both. A single length gives lo == hi. */
dw_err dw_range_parse(const char *text, size_t n, enum dw_unit bare, dw_length *lo, dw_length *hi,
                      struct dw_error *error);

/* "mm", "in", ... as written in jobs; borrowed. dw_unit_find returns DW_UNIT_NONE if unknown. */
const char *dw_unit_name(enum dw_unit unit);
enum dw_unit dw_unit_find(const char *name, size_t n);

struct dw_length_style {
    enum dw_unit unit;   /* unit of the output; DW_UNIT_FT prints feet and inches: 8'-5/8" */
    int denominator;     /* inches: largest denominator, a power of two up to 64; 0 = decimals */
    int decimals;        /* at most this many decimals when no fraction is used */
    bool bare;           /* leave the unit out */
    char decimal_mark;   /* '.' or ','; 0 = '.' */
};

#define DW_LENGTH_TEXT 48 /* a buffer of this size holds every printed length */

/* Prints a length. A value that the style cannot hold exactly is rounded half away from zero and
 * begins with "~". Returns the number of characters, terminator not counted. */
size_t dw_length_print(char out[DW_LENGTH_TEXT], dw_length nm, const struct dw_length_style *style);

#ifdef __cplusplus
}
#endif
#endif
