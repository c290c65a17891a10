/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of a job is still to be cut, when a part of its plan is done. */
#ifndef DW_JOB_REST_H
#define DW_JOB_REST_H

#include <dropwise/shelf.h>

/* One piece of a held bar, counts written out. */
struct dw_rest_piece {
    enum dw_use use;
    size_t part;
    dw_length length;
};
/* The i-th piece of a bar, from 0; false past the last. */
bool dw_rest__piece(const struct dw_held_bar *bar, int64_t i, struct dw_rest_piece *out);

/* Reads a held plan and makes of `job`, the job as written, the one that the plan was made for: its
 * document brings the shelf and, of a plan of a rest, what was cut before. The parts of the plan's
 * pieces are then indices of that job. Without a document the job stays as it is. DW_ERR_STATE if
 * it is not the job that the plan was held for. */
dw_err dw_rest__open(struct dw_ledger *ledger, int64_t plan, struct dw_job *job,
                     struct dw_held_list **out, struct dw_error *error);

/* Of one piece of a part that was to be measured first: its true length. */
struct dw_rest_true {
    size_t part;
    dw_length length;
};
/* Makes of the job of a plan (dw_rest__open) that of its rest: off its demand goes what the plan
 * has cut, off limited supplies the bars that were used or came. *n_cut: bars cut so far, of the
 * plans that it replaced too. */
dw_err dw_rest__reduce(struct dw_ledger *ledger, const struct dw_held_plan *plan,
                       const struct dw_rest_true *trues, size_t n_trues, struct dw_job *job,
                       int64_t *n_cut, struct dw_error *error);

/* Money of the bars of a held plan that are not cut (dw_plan_sum), by the job that it was made for,
 * and in it what `bar` itself counts (0: of none). A bought bar that is here counts as the plan
 * counted it; one that is to come as bought anew, without the bars to spare that come with it. */
dw_err dw_rest__money(const struct dw_job *job, const struct dw_held_plan *held, int64_t bar,
                      dw_money *out, dw_money *of_bar, struct dw_error *error);
/* The bought bar of a plan that is this piece of the shelf, not cut itself; NULL if none is. */
const struct dw_held_bar *dw_rest__here(const struct dw_held_plan *held, const char *number);
/* What a plan counted for a bar, its share of a lot with it. */
dw_money dw_rest__counted(const struct dw_held_plan *held, const struct dw_held_bar *bar);
/* What a piece is worth in the money of a mistake: the price in its plan, which is below what was
 * paid for a bar that was bought for the job, so that none is bought in its stead. */
dw_money dw_rest__value(const struct dw_supply *supply);
/* Money of a plan but for the bars that it buys to spare: they will be on the shelf. DW_ERR_RANGE.
 */
dw_err dw_rest__used_money(const struct dw_job *job, const struct dw_plan *plan, dw_money *out,
                           struct dw_error *error);

/* Index of a supply by id; of a piece that the job lists and the shelf has, the shelf's; DW_NONE.
 */
size_t dw_rest__supply(const struct dw_job *job, const char *id);

#endif
