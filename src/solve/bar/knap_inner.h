/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The two methods behind knap.h. */
#ifndef DW_SOLVE_BAR_KNAP_INNER_H
#define DW_SOLVE_BAR_KNAP_INNER_H

#include "solve/bar/knap.h"

struct dw_knap {
    int64_t capacity;
    size_t n;
    const int64_t *size; /* borrowed */
    int64_t *top;        /* length n: copies that fit and are asked for */
    const int64_t *value;

    size_t n_active;
    size_t *active; /* length n: types with top > 0 */

    /* Dense: row j [t] = best of the first j active types within length t; n + 1 rows of cells.
     * NULL when by branch and bound. */
    int32_t *table;
    size_t cells;   /* capacity + 1 */
    size_t slack;   /* cells a layout may waste */
    int64_t walked; /* steps of dw_knap__list, to be booked as work */

    /* Branch and bound. */
    size_t *order;   /* length n: by value a length, best first */
    int64_t *count;  /* length n: copies in the layout at hand, in that order */
    int32_t *coarse; /* table of the bound, or NULL */
    size_t coarse_cells;
    struct dw_layout_list found; /* improving layouts, the last is the best */
    struct dw_type_count *items; /* scratch, length n */
};

/* Less than any value: no layout. */
#define DW_KNAP_NONE (-(INT32_C(1) << 30))

/* Lists the active types from top. */
void dw_knap__activate(struct dw_knap *knap);
/* Row out[t] = max over k <= top of in[t - k size] + k p, t < cells. Cost: O(cells top). */
void dw_knap__add_type(int32_t *out, const int32_t *in, size_t cells, size_t size, int64_t top,
                       int32_t p);
int64_t dw_knap__dense(struct dw_knap *knap, struct dw_effort *effort);
bool dw_knap__dense_layouts(struct dw_knap *knap, int64_t least, size_t most,
                            struct dw_layout_list *list);
int64_t dw_knap__search(struct dw_knap *knap, struct dw_effort *effort, int64_t least);

#endif
