/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The smoothest way to cut: the distribution over layouts of greatest entropy under which n bars of
 * one length give every demand and the whole waste on average,
 *
 *   p(a) = u^waste(a) prod_i w_i^a_i / Z,   n E[a_i] = d_i,   n E[waste] = waste.
 *
 * n p(a) is a solution of the LP over the layouts in the relative interior of its optimal face,
 * where the simplex method gives a vertex; log w_i are central duals. Found by coordinate ascent on
 * the dual, one type at a time, each step exact (iterative proportional fitting: Deming, Stephan
 * 1940; Csiszar 1975), the layouts summed over by a pair of tables, forward and backward, as in the
 * knapsack recursion. A second place for `double`, like the LP: nothing it says is called proven;
 * layouts drawn from it are checked in integers, duals are rounded and bounded in integers. */
#ifndef DW_SOLVE_FILL_GIBBS_H
#define DW_SOLVE_FILL_GIBBS_H

#include "solve/group/list.h"

struct dw_gibbs;

/* Tables over `capacity` when it has at most DW_GIBBS_CELLS units, else over
 * lengths rounded to DW_GIBBS_COARSE cells. size[n] is borrowed. NULL: no memory, or the tables
 * would pass DW_GIBBS_TABLE numbers. */
#define DW_GIBBS_CELLS  INT64_C(24000)
#define DW_GIBBS_COARSE INT64_C(4000)
#define DW_GIBBS_TABLE  INT64_C(24000000)
struct dw_gibbs *dw_gibbs__new(int64_t capacity, size_t n, const int64_t *size,
                               const int64_t *demand);
void dw_gibbs__free(struct dw_gibbs *gibbs);

/* What is asked for from now on: demand[n] (0 allowed) from so many bars, each of which may leave
 * so much waste, and all of them together that much. The weights stay. */
void dw_gibbs__target(struct dw_gibbs *gibbs, const int64_t *demand, int64_t bars,
                      int64_t most_waste, int64_t waste);

/* One round over all types. Mean relative error of n E[a_i] before it; negative: some type has no
 * layout left. Cost: O(n pieces capacity), see dw_gibbs__cost. */
double dw_gibbs__sweep(struct dw_gibbs *gibbs);
int64_t dw_gibbs__cost(const struct dw_gibbs *gibbs); /* units of work of one sweep */

/* Draws a layout from the distribution; true lengths are respected. expected = n p(a). items has
 * room for n. Number of items; 0: the draw did not fit. Call dw_gibbs__ready first, after the last
 * sweep (false: no layout is left). */
bool dw_gibbs__ready(struct dw_gibbs *gibbs);
size_t dw_gibbs__draw(struct dw_gibbs *gibbs, uint64_t *seed, struct dw_type_count *items,
                      int64_t *waste, double *expected);

/* Weights w_i, to be kept and put back. length n. */
double *dw_gibbs__weights(struct dw_gibbs *gibbs);
double dw_gibbs__waste_weight(const struct dw_gibbs *gibbs);

#endif
