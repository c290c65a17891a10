/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lengths that can be left of a bar of a kind at all: its capacities less sums of pieces. Where
 * lengths have no coarse common divisor (inches and millimetres, an odd kerf) they are far fewer
 * than the cells of a grid, and a table over them is exact (states of the dynamic program by
 * forward reaching; Kellerer, Pferschy, Pisinger, Knapsack Problems, 2004, ch. 3.4). */
#ifndef DW_SOLVE_GROUP_POINTS_H
#define DW_SOLVE_GROUP_POINTS_H

#include "solve/group/problem.h"

#define DW_POINT_NONE UINT32_MAX

struct dw_points {
    size_t n;
    int64_t *x;    /* length n: nm, in the order in which they are reached */
    size_t *reach; /* length n_items + 1: so many points are reached by pieces of orders 0 .. j-1 */
    /* next[j][i], i < reach[j + 1]: the point of x[i] less one piece of order j, or DW_POINT_NONE
     */
    uint32_t **next;  /* length n_items */
    uint32_t *rising; /* length n: points by increasing x */
    size_t n_slots;   /* a power of two */
    uint32_t *slots;  /* open addressing by x: point + 1, 0 empty */
};

/* Points of the kind, in the problem's arena. NULL in *out if the
 * points of all orders are more than `most`. false: no memory.
 * Cost: O(sum of reach times pieces on a bar). */
bool dw_points__make(const struct dw_problem *problem, size_t kind, size_t most,
                     struct dw_points **out);

/* nm of number x of the tables of a kind that are not coarse: of its points, or of its grid. */
static inline int64_t dw_bar_kind__nm(const struct dw_bar_kind *kind, size_t x)
{
    return kind->points ? kind->points->x[x] : (int64_t)x * kind->cell;
}

/* The point of x; DW_POINT_NONE if it is none. Cost: O(1). */
uint32_t dw_points__find(const struct dw_points *points, int64_t x);

#endif
