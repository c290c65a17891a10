/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables that flow from page to page, their head repeated. */
#ifndef DW_DRAW_TABLE_H
#define DW_DRAW_TABLE_H

#include "draw/page.h"

struct dw_column {
    const char *head;
    double width; /* mm; 0 in one column: the rest of the page */
    enum dw_align align;
};

struct dw_table {
    struct dw_flow *flow;
    const struct dw_column *columns; /* length n */
    size_t n;
};

void dw_table__head(const struct dw_table *table);
/* cells: length n; NULL = empty. Left-aligned cells wrap, figures stay on one line. */
void dw_table__row(const struct dw_table *table, const char *const *cells, bool bold);
void dw_table__rule(const struct dw_table *table, double width);

#endif
