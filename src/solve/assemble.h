/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the solver's form back to bars, labels and lengths. */
#ifndef DW_SOLVE_ASSEMBLE_H
#define DW_SOLVE_ASSEMBLE_H

#include "solve/group/solution.h"

struct dw_layouts {
    size_t n, capacity;
    struct dw_layout *layouts; /* heap; pieces in the plan's arena */
};

/* Adds the bars of a group's solution, supplies and parts handed out in the job's order.
 * DW_ERR_NOMEM; DW_ERR_INTERNAL if the solution is not one. */
dw_err dw_assemble__group(const struct dw_problem *problem, const struct dw_solution *solution,
                          size_t group, struct dw_plan *plan, struct dw_layouts *out,
                          struct dw_error *error);

/* Joins equal layouts and puts all in the order of cutting: by material, bars with pieces that are
 * measured first last of all, longest first piece first. Moves them into the plan. */
dw_err dw_assemble__finish(const struct dw_job *job, struct dw_plan *plan,
                           struct dw_layouts *layouts, struct dw_error *error);

#endif
