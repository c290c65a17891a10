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

dw_err dw_pasted__table(const struct dw_pasted *pasted, char **json, struct dw_report *report,
                        struct dw_error *error)
{
    struct dw_list_source source = {.name = pasted->name ? pasted->name : NAME,
                                    .text = pasted->text,
                                    .n = pasted->n,
                                    .sheet = pasted->sheet,
                                    .columns = pasted->columns,
                                    .unit = pasted->unit};
    *json = NULL;
    if (!dw_table_kind_find(pasted->what, &source.kind))
        return dw_error__set(error, DW_ERR_INPUT,
                             "a table has parts, posts, bars or offcuts, not %.20s", pasted->what);
    source.may_lack_head = source.kind == DW_TABLE_PARTS;
    return dw_table__json(&source, json, report, error);
}

void dw_pasted__fields(struct dw_out *out, const char *key)
{
    dw_fields__put(out, key);
}
