/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An ASCII DXF file as a stream of tags: a group code on one line, its value on the next. */
#ifndef DW_DRAWING_TAG_H
#define DW_DRAWING_TAG_H

#include "base/base.h"

#include <dropwise/length.h>

struct dw_tag {
    int code;
    int line;         /* of the value, from 1 */
    const char *text; /* the value without blanks around it; not terminated */
    size_t n;
};

/* A place in the stream: a copy of it reads the same tags again. */
struct dw_tags {
    const char *at;
    const char *end;
    const char *file;
    int line; /* of the next code */
};

struct dw_tags dw_tags__start(const char *text, size_t n, const char *file);
/* The next tag. DW_ERR_SYNTAX with its place: a code that is no number, a code without value, the
 * end of the text (a whole file ends with an EOF tag, which the caller sees). */
dw_err dw_tags__next(struct dw_tags *tags, struct dw_tag *tag, struct dw_error *error);

bool dw_tag__is(const struct dw_tag *tag, int code, const char *text);

/* Values. False for what is no number (NaN and infinities too) or does not fit. */
bool dw_tag__integer(const struct dw_tag *tag, int64_t *out);
bool dw_tag__real(const struct dw_tag *tag, long double *out);
/* A coordinate in units of `unit_nm` nanometres, rounded to the nanometre, half away from zero:
 * exact for what has no more digits than that. False beyond `most` either way. */
bool dw_tag__length(const struct dw_tag *tag, int64_t unit_nm, int64_t most, int64_t *out);

#endif
