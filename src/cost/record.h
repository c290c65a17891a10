/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The members of an order and a quote, one table a record, as every document of them has them. */
#ifndef DW_COST_RECORD_H
#define DW_COST_RECORD_H

#include "cost/cost.h"
#include "model/record.h"

extern const struct dw_words dw_order_kind__words; /* enum dw_order_kind */

extern const struct dw_member_table dw_order_doc__members;      /* struct dw_order_doc */
extern const struct dw_member_table dw_order_supplier__members; /* struct dw_order_supplier */
extern const struct dw_member_table dw_order_line__members;     /* struct dw_order_line */
extern const struct dw_member_table dw_quote_doc__members;      /* struct dw_quote_doc */
extern const struct dw_member_table dw_quote_job__members;      /* struct dw_quote_job */
extern const struct dw_member_table dw_quote_line__members;     /* struct dw_quote_line */

#endif
