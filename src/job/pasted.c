/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a user brings to a form, read. */
#include "job/pasted.h"
#include "format/fields.h"
#include "format/pasted.h"

#define NAME "pasted"

dw_err dw_pasted__job(const char *text, size_t n, char **json, struct dw_report *report,
                      struct dw_error *error)
{
    return dw_yaml__json(text, n, NAME, json, report, error);
}

dw_err dw_pasted__table(const char *what, const char *text, size_t n, enum dw_unit unit,
                        char **json, struct dw_report *report, struct dw_error *error)
{
    enum dw_table_kind kind = DW_TABLE_PARTS;
    *json = NULL;
    if (!dw_table__kind(what, &kind))
        return dw_error__set(error, DW_ERR_INPUT,
                             "a table has parts, posts, bars or offcuts, not %.20s", what);
    return dw_table__json(kind, text, n, NAME, unit, json, report, error);
}

void dw_pasted__fields(struct dw_out *out, const char *key)
{
    dw_fields__put(out, key);
}
