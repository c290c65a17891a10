/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a bar did not come out as planned: what happened is booked, the rest is planned again. */
#ifndef DW_JOB_MISCUT_H
#define DW_JOB_MISCUT_H

#include "job/shelf.h"

enum dw_miscut_kind {
    DW_MISCUT_SHORT,     /* a piece came out too short; the bar was left as it then was */
    DW_MISCUT_WRONG_BAR, /* the layout was cut from another piece than the planned one */
    DW_MISCUT_BAR_SHORT, /* the bar was measured before the first cut and is not as planned */
};

struct dw_miscut {
    enum dw_miscut_kind kind;
    int64_t plan;
    int64_t bar;
    int64_t piece;      /* SHORT: which piece of the bar, from 1 in cutting order */
    dw_length came_out; /* SHORT: how long it is */
    const char *number; /* WRONG_BAR: the piece that was cut */
    int64_t n_done; /* WRONG_BAR: good pieces that it gave; -1 = as many as it is long enough for */
    dw_length measured; /* BAR_SHORT */
    const char *place;  /* where the offcuts were put; may be NULL */
};

struct dw_miscut_result {
    struct dw_plan *plan; /* of the rest, for the job as changed; NULL: nothing is left to cut */
    int64_t new_plan;    /* under which it is held; 0 = not held: no tube for it, or nothing left */
    size_t *part_of;     /* index in the job as written of each part of the rest */
    int64_t n_locked;    /* bars that are cut and stay so */
    dw_money before;     /* of what was still planned, the bar in question with it */
    dw_money spent;      /* on that bar, less the book value of what came off it */
    dw_money after;      /* of the new plan for the rest */
    dw_money difference; /* after + spent - before: what the mistake costs */
    int64_t step;        /* that booked what happened */
};
void dw_miscut_result_free(struct dw_miscut_result *result);

/* `job` is the job as written, freshly loaded; DW_ERR_STATE if it is not the one that the plan was
 * held for. It becomes the job of the rest: parts that are cut are gone, the supplies are what can
 * still be bought, what the plan holds, and what is free on the shelf, the spoiled pieces at book
 * value 0, so that they are used first. Bars already cut stay as they are.
 *
 * What happened is booked first and stays booked whatever comes after. The new plan replaces the
 * old one; without tube for it (result->plan is infeasible) the old one stays open. */
dw_err dw_miscut__run(struct dw_ledger *ledger, const struct dw_act *act, struct dw_job *job,
                      const struct dw_miscut *miscut, const struct dw_job_request *request,
                      struct dw_miscut_result *result, struct dw_report *report,
                      struct dw_error *error);

#endif
