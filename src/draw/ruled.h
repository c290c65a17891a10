/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables that flow from page to page, their head repeated. */
#ifndef DW_DRAW_RULED_H
#define DW_DRAW_RULED_H

#include "draw/page.h"

struct dw_ruled_column {
    const char *head;
    double width; /* mm; 0 in one column: the rest of the page */
    enum dw_align align;
};

struct dw_ruled {
    struct dw_flow *flow;
    const struct dw_ruled_column *columns; /* length n */
    size_t n;
};

void dw_ruled__head(const struct dw_ruled *table);
/* cells: length n; NULL = empty. Left-aligned cells wrap, figures stay on one line. */
void dw_ruled__row(const struct dw_ruled *table, const char *const *cells, bool bold);
/* The same for a row of sums: its first cell stands at the right, over all columns but the last. */
void dw_ruled__sum(const struct dw_ruled *table, const char *const *cells, bool bold);
void dw_ruled__rule(const struct dw_ruled *table, double width);

#endif
