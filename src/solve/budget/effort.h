/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How much a group may still spend, and what it has spent. One group, one thread, one effort;
 * within it, parts. */
#ifndef DW_SOLVE_BUDGET_EFFORT_H
#define DW_SOLVE_BUDGET_EFFORT_H

#include "base/base.h"

#include <dropwise/solve.h>

struct dw_effort {
    const struct dw_hooks *hooks;
    struct dw_effort *whole; /* this is an account within it: stops where it stops; or NULL */
    int64_t deadline_ms;     /* on the hooks' clock; 0 = none */
    int64_t overtime_ms;     /* when it is late, whatever this part had; 0 = see below */
    int64_t limit;           /* of work; 0 = none */
    int64_t work;            /* about a microsecond a unit; the same for the same input */
    bool stopped;            /* a limit was passed or the user stopped it; stays set */
    bool timed;              /* ... which the clock or the user did ... */
    int64_t stopped_ms;      /* ... then; 0 without a clock */
};

/* Adds to the work and answers whether to stop. Cheap. */
bool dw_effort__spend(struct dw_effort *effort, int64_t work);
/* Whether a stop by the clock or the user lies back so far that what is only being finished, such
 * as the evaluation of a bound, is given up too; or overtime_ms is past, which holds for many parts
 * that stop one after the other. Never because of a limit of work. */
bool dw_effort__late(struct dw_effort *effort);
/* An account of its own within `whole`, which stays borrowed: at most `most` of work (0: no limit
 * but what is left of the whole), counted from 0. */
struct dw_effort dw_effort__part(struct dw_effort *whole, int64_t most);
/* dw_effort__spend of nothing as a hook of the LP seam; user is the effort. */
bool dw_effort__stop(void *effort);

#endif
