/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a bar did not come out as planned: what happened is booked, the rest is planned again; or
 * the rest alone, where there was no tube for it before.
 *
 * Threads: one ledger and the job, which changes, belong to one thread meanwhile. */
#ifndef DROPWISE_MISCUT_H
#define DROPWISE_MISCUT_H

#include <dropwise/shelf.h>

#ifdef __cplusplus
extern "C" {
#endif

enum dw_miscut_kind {
    DW_MISCUT_SHORT,     /* a piece came out too short; the bar was left as it then was */
    DW_MISCUT_WRONG_BAR, /* the layout was cut from another piece than the planned one */
    DW_MISCUT_BAR_SHORT, /* the bar was measured before the first cut and is not as planned */
    DW_MISCUT_TRUE,      /* pieces that were to be measured first are measured: nothing is wrong */
    DW_MISCUT_REST, /* nothing more happened: the rest is planned with the tube that there is */
};

/* The true length of a piece of the bar, from 1 in cutting order. */
struct dw_true_length {
    int64_t piece;
    dw_length length;
};

struct dw_miscut {
    enum dw_miscut_kind kind;
    int64_t plan;
    int64_t bar;        /* REST: 0 */
    int64_t piece;      /* SHORT: which piece of the bar, from 1 in cutting order */
    dw_length came_out; /* SHORT: how long it is */
    const char *number; /* WRONG_BAR: the piece that was cut */
    int64_t n_done; /* WRONG_BAR: good pieces that it gave; -1 = as many as it is long enough for.
                       TRUE: pieces of the bar that are cut already, before those measured */
    dw_length measured; /* BAR_SHORT */
    size_t n_trues;
    const struct dw_true_length *trues; /* TRUE: length n_trues >= 1 */
    const char *place;                  /* where the offcuts were put; may be NULL */
};

/* In the money of a mistake a piece of the shelf has one value: what the old plan counted for it,
 * if it was offered to that plan, else its book value. A bar that was bought for the job has what
 * was paid for it. */
struct dw_miscut_result {
    struct dw_plan *plan; /* of the rest, for the job as changed; NULL: nothing is left to cut */
    int64_t new_plan;    /* under which it is held; 0 = not held: no tube for it, or nothing left */
    int64_t n_locked;    /* bars that are cut and stay so */
    dw_money before;     /* of what was still planned, the bar in question with it */
    dw_money spent;      /* on that bar, less the value of what came off it */
    dw_money after;      /* of the new plan for the rest */
    dw_money difference; /* after + spent - before: what the mistake costs */
    dw_money revalued; /* by which the new plan counts pieces of the shelf dearer: its own money is
                          after + revalued */
    struct dw_stock_list *back; /* held for the old plan, not for the new one: on the shelf again */
    int64_t step;               /* that booked all of it; 0 = nothing was booked */
    bool written;               /* the document is in its place */
};
void dw_miscut_result_free(struct dw_miscut_result *result);

/* `job` is the job as written, freshly loaded; DW_ERR_STATE if it is not the one that the plan was
 * held for. It becomes the job of the rest (dw_job.part_of): parts that are cut are gone, the
 * supplies are what can still be bought, what the plan holds, and what is free on the shelf. Bars
 * already cut stay as they are.
 *
 * It is one step of the shelf: what happened is booked, the old plan closed, the new one held, and
 * its document written to request->path, all or nothing. Without tube for the rest (result->plan is
 * infeasible) what happened is booked alone and the old plan stays open, until DW_MISCUT_REST finds
 * tube for what is left. After an error nothing is booked, unless result->step says so: then the
 * document alone could not be put in its place. */
dw_err dw_miscut_run(struct dw_ledger *ledger, const struct dw_act *act, struct dw_job *job,
                     const struct dw_miscut *miscut, const struct dw_job_request *request,
                     struct dw_miscut_result *result, struct dw_report *report,
                     struct dw_error *error);

/* What happened at the saw by such a step: the pieces that it touched, but not those that the new
 * plan holds, save those that came off the bar. */
dw_err dw_miscut_at_saw(struct dw_ledger *ledger, int64_t step, struct dw_stock_list **out,
                        struct dw_error *error);
/* Did the piece come off a bar of the list? Then its number has to be written on it now. */
bool dw_miscut_came_off(const struct dw_stock_list *list, const struct dw_stock *piece);

#ifdef __cplusplus
}
#endif
#endif
