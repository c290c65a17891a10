/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Booking what came of what a plan buys, at what was paid. */
#ifndef DW_JOB_DELIVER_H
#define DW_JOB_DELIVER_H

#include "job/shelf.h"

/* Bars of one supply that came. Money of -1 is not said. */
struct dw_deliver_row {
    const char *supply;
    int64_t n;      /* bars; 0 = all that are still to come */
    dw_money each;  /* what was paid for one bar */
    dw_money total; /* what was paid for these n together: split to the smallest coin */
};

struct dw_deliver {
    int64_t plan;
    const char *supplier; /* NULL = of any; restricts a delivery without rows */
    size_t n;             /* 0: all that is still to come */
    const struct dw_deliver_row
        *rows; /* length n; with n 0 what is said of money must be in `paid` */
    size_t n_paid;
    const struct dw_deliver_row *paid; /* length n_paid: money of supplies that come, n not used */
    const char *place;                 /* may be NULL */
    const char *mark;                  /* heat or lot mark; may be NULL */
};

/* One step. Without money said of a supply its bars are booked at what the plan counted for them.
 * DW_ERR_STATE: nothing is to come. Otherwise errors as dw_ledger_deliver. */
dw_err dw_shelf__deliver(struct dw_ledger *ledger, const struct dw_act *act,
                         const struct dw_deliver *deliver, int64_t *step, struct dw_error *error);

#endif
