/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Second reference: the cutting problem of a job as a mixed-integer program, bar by bar and piece
 * by piece, for general solvers that read CPLEX LP text (glpsol, cbc). */
#ifndef TEST_MIP_H
#define TEST_MIP_H

#include <dropwise/plan.h>
#include <stdio.h>

enum mip_answer { MIP_OPTIMAL, MIP_INFEASIBLE, MIP_UNKNOWN };
enum mip_solver { MIP_GLPSOL, MIP_CBC };

/* Writes the problem of the group that materials[0..n) are: all rules of job.h and plan.h, lengths
 * in multiples of `step`, which divides every length of the job. */
void mip_write(FILE *file, const struct dw_job *job, const size_t *materials, size_t n,
               dw_length step);
/* Greatest length that divides every length of the job. */
dw_length mip_step(const struct dw_job *job);
/* Solves it with a system program, at most `seconds`. Money only when optimal. Bars of more than
 * 200 steps are not tried. */
enum mip_answer mip_solve(const struct dw_job *job, const size_t *materials, size_t n,
                          enum mip_solver solver, int seconds, dw_money *money);

#endif
