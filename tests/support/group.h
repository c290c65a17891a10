/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job as one group in the solver's own form. */
#ifndef TESTS_SUPPORT_GROUP_H
#define TESTS_SUPPORT_GROUP_H

#include "solve/lp/relax.h"

/* All materials of the job in one group, whether or not anything links them. NULL: it cannot be
 * made. `arena` owns it. */
struct dw_problem *group_of_job(const struct dw_job *job, struct dw_arena *arena);

/* The relaxation of the whole problem, without counts. Its arena owns the arrays; no demand: no
 * memory. */
struct dw_relax group_relax(const struct dw_problem *problem);

#endif
