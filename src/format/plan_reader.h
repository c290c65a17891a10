/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files share that read a plan document: places in it, objects by their tables, arrays. */
#ifndef DW_FORMAT_PLAN_READER_H
#define DW_FORMAT_PLAN_READER_H

#include "format/plan_json.h"

#include <jansson.h>

struct dw_plan_reader {
    const struct dw_job *job;
    struct dw_plan *plan;
    const char *file;
    int version; /* of the document */
    struct dw_error *error;
};

/* Where a value stands in the document: a JSON pointer (RFC 6901), innermost last. */
struct dw_pointer {
    const struct dw_pointer *above; /* NULL at the top */
    const char *name;               /* NULL: an index */
    size_t index;
};

/* Sets the error with its place; false. */
bool dw_plan__refuse(struct dw_plan_reader *r, const struct dw_pointer *at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Room in the plan's arena; NULL sets the error. */
void *dw_plan__room(struct dw_plan_reader *r, size_t count, size_t size);

/* The text as JSON; NULL sets the error. */
json_t *dw_plan__parse(const char *text, size_t n, const char *name, struct dw_error *error);
/* Whether it is a plan, and its version. Asked first: a document of another kind has none of the
 * members that are looked for. */
bool dw_plan__check_kind(struct dw_plan_reader *r, const json_t *root);

/* Exactly the named members: an object with others is of another kind or a newer version. */
bool dw_plan__members_are(struct dw_plan_reader *r, const struct dw_pointer *at,
                          const json_t *object, const char *const *names, size_t n);
/* The members of the table that the document's version has and, beside them, those in `more`, which
 * the caller reads. */
bool dw_plan__read_object(struct dw_plan_reader *r, const struct dw_pointer *at,
                          const json_t *object, const struct dw_member_table *table,
                          const char *const *more, size_t n_more, void *row);

/* A text, or null. */
bool dw_plan__read_text(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                        const char **out);
/* {"index", ...} of what `kind` names, within the job. */
bool dw_plan__read_reference(struct dw_plan_reader *r, const struct dw_pointer *at,
                             const json_t *value, enum dw_value_kind kind, size_t *out);

typedef bool dw_plan_row(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                         void *row);
/* The member `name`, an array of rows of `size` bytes. */
bool dw_plan__read_array(struct dw_plan_reader *r, const struct dw_pointer *above,
                         const json_t *object, const char *name, size_t size, dw_plan_row *read,
                         void **rows, size_t *n);

#endif
