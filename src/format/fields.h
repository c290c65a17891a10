/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be given of each record of a job, told from the tables that its readers read by: for
 * forms, so that none of them knows a record by heart. */
#ifndef DW_FORMAT_FIELDS_H
#define DW_FORMAT_FIELDS_H

#include "format/reader.h"
#include "units/out.h"

/* A field whose value is one of words[first..end). */
struct dw_choice {
    const char *field;
    const struct dw_words *words;
    size_t first, end;
};

struct dw_fields {
    const char *record; /* as in shared/job.schema.json: "bar", "bar.price breaks"; "" = the job */
    const struct dw_field *fields; /* length n */
    size_t n;
    const struct dw_choice *choices; /* length n_choices */
    size_t n_choices;
};

/* Each stands beside the table that it is of. */
#define DW_FIELDS_LIST(X)                                                                          \
    X(top)                                                                                         \
    X(saw)                                                                                         \
    X(rules)                                                                                       \
    X(worth)                                                                                       \
    X(material)                                                                                    \
    X(bar)                                                                                         \
    X(price_break)                                                                                 \
    X(offcut)                                                                                      \
    X(part)                                                                                        \
    X(post)                                                                                        \
    X(end)                                                                                         \
    X(bend)                                                                                        \
    X(bent)                                                                                        \
    X(offset)                                                                                      \
    X(order)                                                                                       \
    X(fitting)                                                                                     \
    X(loose)                                                                                       \
    X(section)                                                                                     \
    X(supplier)                                                                                    \
    X(quote)                                                                                       \
    X(tax)                                                                                         \
    X(labour)

#define DW_FIELDS_DECLARE(name) extern const struct dw_fields dw_fields__##name;
DW_FIELDS_LIST(DW_FIELDS_DECLARE)
#undef DW_FIELDS_DECLARE

#define DW_FIELDS(name, path, table)                                                               \
    const struct dw_fields dw_fields__##name = {(path), (table), DW_COUNT(table), NULL, 0}
#define DW_FIELDS_CHOOSE(name, path, table, list)                                                  \
    const struct dw_fields dw_fields__##name = {(path), (table), DW_COUNT(table), (list),          \
                                                DW_COUNT(list)}

/* {"material": [{"name": "alloy", "also": [other names], "kind": "text", "must": false}, ...],
 * ...}: "kind" is text, remark, date, length, range, money, count, cap, percent, rate, yes,
 * density, material, ends, angle, hours, seconds, minutes, weight, worth, inner (a value with parts
 * of its own) or word, which has "choices" too. */
void dw_fields__put(struct dw_out *out, const char *key);

#endif
