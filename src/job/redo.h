/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One step of the shelf out of what happened at the saw and a new plan for the rest. */
#ifndef DW_JOB_REDO_H
#define DW_JOB_REDO_H

#include <dropwise/miscut.h>
#include "job/rest.h"

/* What happened, as acts on the ledger. */
struct dw_redo {
    enum dw_step_kind kind;
    int64_t bar;
    const struct dw_cut *cut; /* NULL: the bar is not cut */
    dw_length measured;       /* of the bar, before its first cut; 0 = it was not */
    const char *place;        /* of what comes off; may be NULL */
    size_t n_trues;
    const struct dw_rest_true *trues; /* length n_trues */
    const struct dw_held_plan *held;  /* as it is after these acts */
    int64_t seen;                     /* last step when it was read */
};

/* `job` is the one that the held plan was made for and becomes that of the rest. Fills all of
 * result but before, spent and difference. DW_ERR_STATE, DW_ERR_HELD: another process changed the
 * plan or what it takes meanwhile, nothing is booked; from the start it may go well. */
dw_err dw_redo__run(struct dw_ledger *ledger, const struct dw_act *act, struct dw_job *job,
                    const struct dw_redo *redo, const struct dw_job_request *request,
                    struct dw_miscut_result *result, struct dw_report *report,
                    struct dw_error *error);

#endif
