/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Order and quote as documents. */
#ifndef DW_JOB_TRADE_H
#define DW_JOB_TRADE_H

#include "units/out.h"

#include <dropwise/cost.h>
#include <dropwise/order_file.h>

/* The documents of shared/order.schema.json and shared/quote.schema.json, as an object; lengths in
 * the style of `out`, money in the job's currency. A quote is that of the client's job `order`
 * alone, or of all for DW_NONE; with `inside`, what is of the shop alone is in it too. */
void dw_job__order_put(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_order_doc *order);
void dw_job__quote_put(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_quote_doc *quote, size_t order, bool inside);

#endif
