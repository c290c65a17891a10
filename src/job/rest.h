/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of a job is still to be cut, when a part of its plan is done. */
#ifndef DW_JOB_REST_H
#define DW_JOB_REST_H

#include "job/shelf.h"

/* One piece of a held bar, counts written out. */
struct dw_rest_piece {
    enum dw_use use;
    size_t part;
    dw_length length;
};
/* The i-th piece of a bar, from 0; false past the last. */
bool dw_rest__piece(const struct dw_held_bar *bar, int64_t i, struct dw_rest_piece *out);

/* Takes off the job's demand what the plan and those that it replaced have cut, and off limited
 * supplies the new bars that were used. *part_of, one entry for each part that remains, is the
 * index that the part had; yours to free. *n_cut: bars cut so far. */
dw_err dw_rest__reduce(struct dw_ledger *ledger, int64_t plan, struct dw_job *job, size_t **part_of,
                       int64_t *n_cut, struct dw_error *error);

/* Money of the bars of a held plan that are not cut, by the job's prices (dw_plan_sum). Each
 * supply is found in the job by its id. */
dw_err dw_rest__money(const struct dw_job *job, const struct dw_held_plan *held, dw_money *out,
                      struct dw_error *error);

/* Index of a supply by id; DW_NONE. */
size_t dw_rest__supply(const struct dw_job *job, const char *id);

#endif
