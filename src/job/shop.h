/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shop that is kept with the shelf, and the numbers that its papers were given. */
#ifndef DW_JOB_SHOP_H
#define DW_JOB_SHOP_H

#include <dropwise/files.h>

#include <dropwise/ledger.h>
#include <dropwise/shop.h>

/* Reads a shop's file; *out is a job without parts whose `shop` it is. All that is wrong is in the
 * report, DW_ERR_INPUT then. */
dw_err dw_shop__read(const char *path, struct dw_job **out, struct dw_report *report,
                     struct dw_error *error);

/* The same, and keeps file and logo with the shelf, in place of those before. */
dw_err dw_shop__keep(struct dw_ledger *ledger, const struct dw_act *act, const char *path,
                     struct dw_job **out, struct dw_report *report, struct dw_error *error);

/* The shop that is kept, as dw_shop__read gives it. *out NULL and DW_OK: none is. */
dw_err dw_shop__kept(struct dw_ledger *ledger, struct dw_job **out, struct dw_error *error);

enum dw_numbered { DW_NUMBERED_QUOTE, DW_NUMBERED_ORDER };

/* The number of a paper that says `subject`: the one that it was given before, else the next of the
 * shop's series, which is kept. DW_ERR_INPUT: the shop has no such series. */
dw_err dw_shop__number(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_shop *shop, enum dw_numbered what, const char *date,
                       const char *subject, char number[DW_SERIES_TEXT], struct dw_error *error);

#endif
