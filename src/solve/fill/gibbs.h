/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The smoothest way to cut: the distribution over layouts of greatest entropy under which the bars
 * at hand give every demand and the whole waste on average, and so many of them leave nothing; for
 * a bar of length k
 *
 *   p_k(a) = v^[waste(a) = 0] u^waste(a) prod_i w_i^a_i / Z_k,
 *   sum_k n_k E_k[a_i] = d_i,    sum_k n_k E_k[waste] = waste,
 *   sum_k n_k P_k[waste = 0] >= exact,  v >= 1, over the bars that are counted (v = 1 for others).
 *
 * n_k p_k(a) is a solution of the LP over the layouts in the relative interior of its optimal face,
 * where the simplex method gives a vertex; log w_i are central duals. Found by coordinate ascent on
 * the dual, one type at a time, each step exact where all bars are alike (iterative proportional
 * fitting: Deming, Stephan 1940; Csiszar 1975), the layouts of bars of all lengths summed over by
 * one pair of tables, forward and backward, as in the knapsack recursion. A second place for
 * `double`, like the LP: nothing it says is called proven; layouts drawn from it are checked in
 * integers, duals are rounded and bounded in integers. */
#ifndef DW_SOLVE_FILL_GIBBS_H
#define DW_SOLVE_FILL_GIBBS_H

#include "solve/group/list.h"

struct dw_gibbs;

/* Tables over `capacity`, of the longest bar, when it has at most DW_GIBBS_CELLS units, else over
 * lengths rounded to DW_GIBBS_COARSE cells. size[n] is borrowed. NULL: no memory, or the tables
 * would pass DW_GIBBS_TABLE numbers. */
#define DW_GIBBS_CELLS  INT64_C(24000)
#define DW_GIBBS_COARSE INT64_C(4000)
#define DW_GIBBS_TABLE  INT64_C(24000000)
struct dw_gibbs *dw_gibbs__new(int64_t capacity, size_t n, const int64_t *size,
                               const int64_t *demand);
void dw_gibbs__free(struct dw_gibbs *gibbs);

/* Bars of one length, each of which may leave so much waste. */
struct dw_gibbs_bars {
    int64_t capacity;
    int64_t n;
    int64_t most_waste;
    bool counted; /* as exact when it leaves none */
};

/* What is asked for from now on: demand[n] (0 allowed) from bars[n_bars], borrowed, with waste in
 * all and so many exact. The weights stay. false: no memory. */
bool dw_gibbs__target(struct dw_gibbs *gibbs, const int64_t *demand,
                      const struct dw_gibbs_bars *bars, size_t n_bars, int64_t waste,
                      int64_t exact);

/* One round over all types. Mean relative error of sum_k n_k E_k[a_i] before it; negative: some
 * type or bar has no layout left. Cost: O(n pieces capacity), see dw_gibbs__cost. */
double dw_gibbs__sweep(struct dw_gibbs *gibbs);
int64_t dw_gibbs__cost(const struct dw_gibbs *gibbs); /* units of work of one sweep */

/* Logarithm of how many plans there are, about: the entropy less what it takes to meet each demand
 * exactly (Barvinok, Hartigan 2010, Gaussian approximation), bars of a length in any order. Types
 * are taken as independent, which makes it too low rather than too high. After a sweep and
 * dw_gibbs__ready. */
double dw_gibbs__plans(const struct dw_gibbs *gibbs);

/* Draws a layout of bars[k] from the distribution; true lengths are respected. expected = n p(a).
 * items has room for n. Number of items; 0: the draw did not fit. Call dw_gibbs__ready first, after
 * the last sweep (false: no layout is left), and dw_gibbs__aim for each k. */
bool dw_gibbs__ready(struct dw_gibbs *gibbs);
void dw_gibbs__aim(struct dw_gibbs *gibbs, size_t k);
size_t dw_gibbs__draw(struct dw_gibbs *gibbs, uint64_t *seed, struct dw_type_count *items,
                      int64_t *waste, double *expected);

/* Weights w_i, to be kept and put back. length n. */
double *dw_gibbs__weights(struct dw_gibbs *gibbs);
double dw_gibbs__waste_weight(const struct dw_gibbs *gibbs);
double dw_gibbs__exact_weight(const struct dw_gibbs *gibbs);

#endif
