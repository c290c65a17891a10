/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact lengths: an int64_t of nanometres. 1/64 in = 396 875 nm, 0.001 in = 25 400 nm.
 *
 * Threads: any, at any time. */
#ifndef DROPWISE_LENGTH_H
#define DROPWISE_LENGTH_H

#include <dropwise/error.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef int64_t dw_length; /* nanometres */

#define DW_NM_PER_MM  INT64_C(1000000)
#define DW_NM_PER_IN  INT64_C(25400000)
#define DW_LENGTH_MAX (INT64_C(1000000) * 1000 * DW_NM_PER_MM) /* 1 000 km: refused beyond */

enum dw_unit { DW_UNIT_NONE, DW_UNIT_MM, DW_UNIT_CM, DW_UNIT_M, DW_UNIT_IN, DW_UNIT_FT };

/* Reads one length: `24 3/8"`, `24-3/8 in`, `2' 6-1/2"`, `8'-5/8"`, `24.375 in`, `619,5 mm`,
 * `1.2 m`; typographic quotes, primes, fraction characters, no-break and thin spaces are accepted,
 * two foot marks are an inch mark, unit words may be written out. A bare number takes `bare`; with
 * DW_UNIT_NONE it is refused. text[0..n) need not be terminated. On failure *out is 0 and
 * error->column (from 1, counted in characters of text) points at the place.
 *
 * What has two readings is refused:
 * - A point is a decimal mark. So is a comma, except that one to three digits (not beginning with
 *   0), a comma and three digits may mean thousands: `1,250` is refused in mm, cm and ft, and
 *   decimal in inches and metres, whose thousands nobody cuts. With both marks, or one repeated,
 *   the number is clear: `1,250.5`, `1.250,5`, `1,250,000`. A no-break or thin space groups
 *   thousands; a plain blank does not, as `2 600 mm` may be two of 600 mm.
 * - A dash without blanks joins a whole number and its fraction, or feet and inches; `10-20` is
 *   refused. A dash between blanks joins feet and marked inches under 12; in dw_range_parse it
 *   parts a range otherwise.
 * - Feet before inches are whole, inches behind feet are under 12. The inch mark behind feet may
 *   be missing only where `bare` is in or ft. A fraction behind a whole number is less than 1.
 *
 * DW_ERR_SYNTAX; DW_ERR_RANGE: negative, beyond DW_LENGTH_MAX, or no whole number of nanometres
 * (1/3 in, 1/128 in): nothing is rounded on the way in. */
dw_err dw_length_parse(const char *text, size_t n, enum dw_unit bare, dw_length *out,
                       struct dw_error *error);

/* Reads a length or a range: `14 to 20 in`, `14..20 in`, `350 - 400 mm` (blanks around the dash).
 * A unit written once, at the end, serves both; a bare end behind a written unit is accepted only
 * if `bare` is that unit, and not feet. A single length gives lo == hi; lo > hi is refused,
 * DW_ERR_RANGE. */
dw_err dw_range_parse(const char *text, size_t n, enum dw_unit bare, dw_length *lo, dw_length *hi,
                      struct dw_error *error);

/* "mm", "in", ... as written in jobs; borrowed. dw_unit_find returns DW_UNIT_NONE if unknown. */
const char *dw_unit_name(enum dw_unit unit);
enum dw_unit dw_unit_find(const char *name, size_t n);

struct dw_length_style {
    enum dw_unit unit; /* unit of the output; DW_UNIT_FT prints feet and inches: 8'-5/8" */
    int denominator;   /* inches: largest denominator, a power of two up to 64; 0 = decimals */
    int decimals;      /* at most this many decimals when no fraction is used */
    bool bare;         /* leave the unit out; feet and inches keep their marks */
    char decimal_mark; /* '.' or ','; 0 = '.' */
};

#define DW_LENGTH_TEXT 48 /* a buffer of this size holds every printed length */

/* Prints a length: `24 3/8 in`, `24.375 in`, `8'-5/8"`, `8'-0"`, `619 mm`; fractions in lowest
 * terms, decimals without zeros at the end. A value that the style cannot hold exactly is rounded
 * half away from zero and begins with "~". What has no "~" and is not negative reads back as the
 * same length; so 619.125 mm with a decimal comma is `619,1250 mm`. Returns the number of
 * characters, terminator not counted. */
size_t dw_length_print(char out[DW_LENGTH_TEXT], dw_length nm, const struct dw_length_style *style);

#ifdef __cplusplus
}
#endif
#endif
