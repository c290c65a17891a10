/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows from a plan: order, quote. */
#include "web/planned.h"

#include "job/trade.h"
#include "model/caution.h"

dw_err dw_api__plan_order(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_order_doc *order = NULL;
    dw_err err = dw_planned__for_call(call, &planned);
    if (!err)
        err = dw_planned__order(call, &planned, &order);
    if (!err)
        dw_job__order_put(&call->out, planned.job, planned.plan, order);
    dw_order_free(order);
    dw_planned__free(&planned);
    return err;
}

dw_err dw_api__plan_quote(struct dw_web_call *call)
{
    struct dw_planned planned = {0};
    struct dw_quote_doc *quote = NULL;
    dw_err err = dw_planned__for_call(call, &planned);
    if (!err)
        err = dw_planned__quote(call, &planned, &quote);
    if (!err && quote)
        dw_job__quote_put(&call->out, planned.job, planned.plan, quote, DW_NONE,
                          dw_web__query(call->request, "private") != NULL);
    dw_quote_free(quote);
    dw_planned__free(&planned);
    return err;
}
