/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a column's heading says, in six languages. */
#ifndef DW_FORMAT_HEADING_H
#define DW_FORMAT_HEADING_H

#include "base/base.h"

#include <dropwise/length.h>

/* X(name, field): what a heading can mean, stronger ones first: of `part length` it is the length,
 * of `item description` the description. `field` is a name of the field in the tables of a job;
 * NULL: none of theirs. */
#define DW_MEANING_LIST(X)                                                                         \
    X(DW_MEANS_LENGTH, "length")                                                                   \
    X(DW_MEANS_COUNT, "count")                                                                     \
    X(DW_MEANS_MATERIAL, "material")                                                               \
    X(DW_MEANS_REMARK, "remark")                                                                   \
    X(DW_MEANS_LABEL, "label")                                                                     \
    X(DW_MEANS_ITEM, NULL)  /* a number of the row in the list */                                  \
    X(DW_MEANS_UNIT, NULL)  /* the unit of the row's length */                                     \
    X(DW_MEANS_SUM, NULL)   /* a sum of the row, as length times count */                          \
    X(DW_MEANS_ASIDE, NULL) /* a weight, a date, a revision: nothing that a part is cut by */      \
    X(DW_MEANS_NOTHING, NULL)

enum dw_meaning {
#define DW_MEANING_ENUM(name, field) name,
    DW_MEANING_LIST(DW_MEANING_ENUM)
#undef DW_MEANING_ENUM
};

/* Reads a heading as `Cut Lg. [mm]`. *unit is the unit in it, or DW_UNIT_NONE. */
enum dw_meaning dw_heading__read(const char *text, size_t n, enum dw_unit *unit);
/* Whether the text may say how many times a list is wanted: `make 3 off`, `3 sets`, `x 4`. */
bool dw_heading__is_times(const char *text, size_t n);
/* Unit that a line of text speaks of, as `all sizes in cm`; DW_UNIT_NONE if none, or of one thing
 * alone, as `6 m bars`. */
enum dw_unit dw_heading__speaks_of(const char *text, size_t n);
/* "length", or NULL. */
const char *dw_heading__field(enum dw_meaning meaning);
/* Whether a word of the text says total or sum. `exactly`: nothing else stands there. */
bool dw_heading__is_total(const char *text, size_t n, bool *exactly);
/* Unit of a text that is nothing else, as `(mm)`; DW_UNIT_NONE if it is more or none. */
enum dw_unit dw_heading__unit(const char *text, size_t n);
/* Takes off words for pieces before and behind a count, and one or two noughts that are decimals:
 * `4 pcs`, `x 4`, `4 Stk.`, `4,00`. */
void dw_heading__bare_count(const char **text, size_t *n);

/* Small Latin letters and digits, accents taken off, all else as one blank. Returns out. */
#define DW_HEADING_TEXT 128
char *dw_heading__fold(char out[DW_HEADING_TEXT], const char *text, size_t n);

#endif
