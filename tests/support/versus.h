/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The solver against the references. */
#ifndef TEST_VERSUS_H
#define TEST_VERSUS_H

#include <dropwise/solve.h>

struct versus {
    int n_groups;     /* compared */
    int n_infeasible; /* of them */
    int n_duals;      /* proven by duals */
    int n_search;     /* proven by search */
    int n_mip;        /* also compared with a general solver */
    int n_mip_open;   /* where that one did not finish */
    char why[256];    /* the first disagreement; "" = none */
};

/* Plans the job and compares each group with the exhaustive reference: feasible or not, money,
 * status optimal; the plan passes the verifier. mip_seconds > 0: also with cbc and glpsol in turn.
 * true: all agree. Counts are added to. */
bool versus_brute(struct versus *versus, const struct dw_job *job, int mip_seconds);

/* Plans the job with settings that may end the work early: the plan passes the verifier, is
 * feasible where there is a plan, costs no less than the cheapest and claims no higher bound; it is
 * the same with two threads. */
bool versus_limits(struct versus *versus, const struct dw_job *job,
                   const struct dw_settings *settings);

#endif
