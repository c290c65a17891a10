/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stock lengths are worth carrying, judged by past jobs.
 *
 * Given jobs j (the orders of one dw_job), bars k of one material and a number K, finds the set S
 * of at most K lengths for which
 *
 *   sum over j of  min { bars at their lowest price, their squaring cuts, a cut for each piece :
 *                        job j cut alone, from bars of S }
 *
 * is least (the rare cut that a bar used to the last nanometre saves is counted like the others).
 * Each job is cut by itself, as it was then; packs are not counted (a shop that carries a length
 * buys it by the lot), and what is left of a bar counts as waste.
 *
 * Method: each job on each set is an integer program, solved by dw_solve with its bound. Sets are
 * searched best first: a set begins with a bound for each job, the cover problem
 *   min sum c_k n_k   s.t.  sum z_k n_k >= sum of its pieces,   n integer,
 * z_k the most that a bar of k can hold, pieces weighed by length or by a solved set's duals
 * (surrogate relaxation), and jobs are solved one after the other until no other set can be
 * cheaper. A job whose pieces go into the bars of that cover (best fit decreasing) needs no solver.
 *
 * Threads: as dw_solve; works on threads of its own. */
#ifndef DROPWISE_LENGTHS_H
#define DROPWISE_LENGTHS_H

#include <dropwise/solve.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_LENGTHS_MOST 20 /* lengths in a catalogue */

struct dw_lengths_use {
    size_t supply;  /* of the job given */
    int64_t bars;   /* over all jobs */
    dw_money money; /* bars at their lowest price, with squaring cuts */
    int64_t n_jobs; /* jobs that use it */
};

struct dw_lengths {
    size_t n_uses;               /* <= K: a length that no job uses is left out */
    struct dw_lengths_use *uses; /* length n_uses, in order of supply */
    size_t n_jobs;               /* orders that need the material */
    int64_t n_catalogue;
    dw_money value;
    dw_money bound;        /* no set of at most K lengths is cheaper */
    enum dw_status status; /* OPTIMAL, WITHIN, STOPPED; INFEASIBLE: no set serves all jobs */
    dw_length bought;      /* length of the bars */
    dw_length needed;      /* length of the pieces */
    int64_t n_sets;        /* sets there are */
    int64_t n_solved;      /* jobs on a set that had to be solved */
    struct dw_arena *arena;
};

/* Catalogue: the new straight bars of `material`, each length an own supply. Parts: those whose
 * first material it is, posts left out. settings.time_ms 0: until it is proven. Progress tells the
 * best set so far and the bound, as one group.
 * DW_ERR_INPUT: no bar, no part, most < 1. DW_ERR_LIMIT: more than DW_LENGTHS_MOST lengths. */
dw_err dw_lengths_choose(const struct dw_job *job, size_t material, size_t most,
                         const struct dw_settings *settings, const struct dw_hooks *hooks,
                         struct dw_lengths **out, struct dw_error *error);
void dw_lengths_free(struct dw_lengths *lengths);

#ifdef __cplusplus
}
#endif
#endif
