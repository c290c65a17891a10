/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the handlers of the shelf share: the shop's unit, pieces for the page, what a step did. */
#ifndef DW_WEB_STOCK_H
#define DW_WEB_STOCK_H

#include "web/app.h"

/* Prints lengths in the shop's unit and money in its currency, unless the query or the body asks
 * for another unit; takes "seen" of the body over into call->act. *catalogue, the ledger's
 * materials, is yours to free in every case. */
dw_err dw_stock__ready(struct dw_web_call *call, struct dw_ledger *ledger,
                       struct dw_job **catalogue);

/* What can be given of a piece that is put on the shelf: [{"name", "kind", "must"}, ...], kinds as
 * in dw_fields__put. */
void dw_stock__put_given(struct dw_out *out, const char *key);
void dw_stock__put(struct dw_out *out, const char *key, const struct dw_stock *stock);
/* "n": 3, "there": 2, "sum": length of those that are on the shelf or held, "pieces": [...] */
void dw_stock__put_list(struct dw_out *out, const struct dw_stock_list *list);
/* "seen": the last step, to be sent back with what is decided on this look. */
dw_err dw_stock__put_seen(struct dw_web_call *call, struct dw_ledger *ledger);
/* "what": "bar 2 of plan 3 cut", "who", "when", "told": all of it in one line. */
void dw_stock__put_told(struct dw_out *out, const struct dw_deed *step);
/* The whole reply: {"step": 41, "shelf": [what came to the shelf by it or changed there]}. */
dw_err dw_stock__put_step(struct dw_web_call *call, struct dw_ledger *ledger, int64_t step);

/* A text of the query; NULL if it is empty or was not given. */
const char *dw_stock__query(const struct dw_web_call *call, const char *name);
/* A length of the query in the unit that is printed; 0 if it was not given. */
dw_err dw_stock__query_length(struct dw_web_call *call, const char *name, dw_length *out);
/* "numbers" of the body. *numbers, length *n, is yours to free; its texts are the body's. */
dw_err dw_stock__numbers(struct dw_web_call *call, const char ***numbers, size_t *n);

#endif
