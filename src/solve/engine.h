/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One group from problem to proven plan. */
#ifndef DW_SOLVE_ENGINE_H
#define DW_SOLVE_ENGINE_H

#include "solve/lp/certify.h"
#include "solve/group/solution.h"

struct dw_outcome {
    struct dw_arena *arena; /* owns problem, columns and certificate */
    struct dw_problem *problem;
    struct dw_pool pool;
    struct dw_solution best;
    bool *never; /* length n_parts of the job; in the arena */
    bool infeasible;
    bool finished; /* the search was completed: no plan is cheaper, or none exists */
    bool stopped;
    struct dw_certified certified;
    int64_t work;
};

/* What is asked for beside the plan of least money. */
struct dw_wish {
    bool greedy_only;
    int64_t few_ppm; /* of the money that may be given up for fewer layouts */
};

/* DW_ERR_NOMEM. Free with dw_outcome__free, also after an error. */
dw_err dw_engine__group(const struct dw_job *job, const size_t *group_of, size_t group,
                        const struct dw_wish *wish, struct dw_effort *effort,
                        struct dw_outcome *out, struct dw_error *error);
/* The group's problem alone, for what is said of a group that was planned by other means. */
dw_err dw_outcome__problem(const struct dw_job *job, const size_t *group_of, size_t group,
                           struct dw_outcome *out, struct dw_error *error);
void dw_outcome__free(struct dw_outcome *outcome);

#endif
