/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Heads, rules and rows of a table that flows. */
#include "draw/ruled.h"

#define GAP_MM 3.0

static double column_width(const struct dw_ruled *table, size_t c)
{
    if (table->columns[c].width > 0)
        return table->columns[c].width;
    double rest = table->flow->right - table->flow->left;
    for (size_t i = 0; i < table->n; i++)
        rest -= table->columns[i].width + (i > 0 ? GAP_MM : 0);
    return rest;
}

void dw_ruled__rule(const struct dw_ruled *table, double width)
{
    struct dw_flow *flow = table->flow;
    dw_canvas__rule(flow->canvas, flow->left, flow->y, flow->right, flow->y, width);
    flow->y += 1;
}

void dw_ruled__head(const struct dw_ruled *table)
{
    double x = table->flow->left;
    for (size_t c = 0; c < table->n; c++) {
        const struct dw_type type = {
            .size_mm = 2.7, .least_mm = 2, .align = table->columns[c].align};
        double width = column_width(table, c);
        dw_canvas__line(table->flow->canvas, x, table->flow->y, width, &type,
                        table->columns[c].head);
        x += width + GAP_MM;
    }
    table->flow->y += 4;
    dw_ruled__rule(table, 0.2);
}

/* Draws, or with `draw` false only measures, a row; returns its height. */
static double lay_row(const struct dw_ruled *table, const char *const *cells, bool bold, bool draw)
{
    double x = table->flow->left, height = 0;
    for (size_t c = 0; c < table->n; c++) {
        double width = column_width(table, c), used = 0;
        const struct dw_type type = {
            .size_mm = 3.4, .least_mm = 2, .bold = bold, .align = table->columns[c].align};
        if (cells[c] && type.align == DW_ALIGN_LEFT)
            used = dw_canvas__paragraph(table->flow->canvas, x, table->flow->y, width, &type,
                                        cells[c], draw);
        else if (cells[c] && draw)
            used = dw_canvas__line(table->flow->canvas, x, table->flow->y, width, &type, cells[c]);
        height = used > height ? used : height;
        x += width + GAP_MM;
    }
    return height > 4 ? height : 4;
}

void dw_ruled__row(const struct dw_ruled *table, const char *const *cells, bool bold)
{
    double height = lay_row(table, cells, bold, false) + 1.2;
    if (dw_flow__need(table->flow, height))
        dw_ruled__head(table);
    lay_row(table, cells, bold, true);
    table->flow->y += height;
}

void dw_ruled__sum(const struct dw_ruled *table, const char *const *cells, bool bold)
{
    struct dw_flow *flow = table->flow;
    double last = column_width(table, table->n - 1),
           width = flow->right - flow->left - last - GAP_MM;
    const struct dw_type label = {.size_mm = bold ? 4 : 3.4, .bold = bold};
    const struct dw_type amount = {
        .size_mm = bold ? 4.4 : 3.4, .least_mm = 2, .bold = bold, .align = DW_ALIGN_RIGHT};
    if (!cells[0])
        return;
    double height = dw_canvas__paragraph(flow->canvas, 0, 0, width, &label, cells[0], false) + 1.2;
    dw_flow__need(flow, height);
    dw_canvas__paragraph(flow->canvas, flow->left, flow->y, width, &label, cells[0], true);
    if (cells[table->n - 1])
        dw_canvas__line(flow->canvas, flow->right - last, flow->y, last, &amount,
                        cells[table->n - 1]);
    flow->y += height;
}
