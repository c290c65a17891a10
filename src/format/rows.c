/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of parts, posts, bars or offcuts: written in the job. */
#include "format/reader.h"

void dw_reader__rows(struct dw_reader *reader, const struct dw_node *rows, const char *what,
                     const struct dw_field *fields, size_t n_fields, dw_row_read *read_row,
                     void *user)
{
    (void)fields;
    (void)n_fields;
    if (rows->kind != DW_NODE_LIST) {
        dw_reader__say(reader, DW_WRONG, rows->at, "a list is wanted: one `- {...}` for %s", what);
        return;
    }
    for (size_t i = 0; i < rows->n_items; i++)
        read_row(reader, rows->items[i], user);
}
