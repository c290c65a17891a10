/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fewer layouts on the bars of one stock. With lengths s_i, capacity C and what n_layouts layouts
 * give together, d_i = sum_p t_p a_pi, find fewer layouts that give exactly the same:
 *
 *   sum_p t_p a_pi = d_i,   sum_i s_i a_pi <= C,   sum_p t_p <= bars,   as few p as possible. */
#ifndef DW_SOLVE_PLANS_FEW_CORE_H
#define DW_SOLVE_PLANS_FEW_CORE_H

#include "solve/budget/effort.h"
#include "solve/budget/random.h"
#include "solve/lp/lp.h"
#include "solve/group/problem.h"

#define DW_FEW_STEPS 50

/* The stock and the lengths that are cut from it; shared by the methods. */
struct dw_few {
    const struct dw_problem *problem;
    size_t stock;
    int64_t cap;
    int64_t pieces; /* the most on a bar */
    size_t n;       /* lengths */
    size_t *item;   /* length n: index of the problem's items, increasing */
    int64_t *size;  /* length n */
    int64_t *value; /* length n, >= 0: the dual of a piece, or its size */
    int64_t most;   /* value of the best filled bar seen */
    uint64_t random;
    int64_t steps; /* of the searches; DW_FEW_STEPS to a unit of work */
    int64_t end;   /* of steps, where the sequential heuristic gives up */
};

/* Layouts over the n lengths of a struct dw_few. */
struct dw_few_set {
    size_t n_layouts;
    size_t room;    /* layouts that fit */
    int64_t *bars;  /* length room, >= 1 */
    int64_t *count; /* room x n */
};

/* false: no memory. */
bool dw_few_set__make(struct dw_few_set *set, size_t room, size_t n);
void dw_few_set__free(struct dw_few_set *set);

/* What one straight bar with `left` of its capacity left earns; DW_NEVER if it may not be. */
dw_money dw_few__credit(const struct dw_few *few, int64_t left);

/* Sequential heuristic with aspiration levels (Haessler 1975): one layout after the other, often
 * and with little waste. `demand` (length n) is used up. At most out->room layouts and `bars` bars;
 * false if the pieces do not go in. scratch: length 4 n + 2. */
bool dw_few__sequential(struct dw_few *few, int64_t *demand, int64_t bars, struct dw_few_set *out,
                        int64_t *scratch);

/* Given how often each layout is cut, out->bars of out->n_layouts, finds what is on them (the
 * combinations of Foerster and Waescher 2000, without their case distinctions): a depth-first
 * search of at most max_steps steps. demand: length n. */
bool dw_few__fit(struct dw_few *few, const int64_t *demand, struct dw_few_set *out,
                 int64_t max_steps);

/* A plan of the same pieces on at most `bars` bars with few more layouts than lengths, from a basic
 * solution over the plan's layouts. `demand` (length n) is used up; out->room >= plan->n_layouts.
 * false: none was found. */
bool dw_few__basic(struct dw_few *few, const struct dw_few_set *plan, int64_t *demand, int64_t bars,
                   struct dw_effort *effort, struct dw_lp_env *env, struct dw_few_set *out);

#endif
