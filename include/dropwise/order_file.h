/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order as a table for a supplier or a spreadsheet.
 *
 * Threads: any; job and order are only read and may be shared. */
#ifndef DROPWISE_ORDER_FILE_H
#define DROPWISE_ORDER_FILE_H

#include <dropwise/order.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The order as a table: one file, CSV or XLSX by the ending of its name. The CSV has the lines
 * alone, so that it can be read again; the XLSX has sums, and with several suppliers a sheet each.
 * Whole or not at all; with replace false an existing file is refused, DW_ERR_EXISTS. DW_ERR_INPUT:
 * another ending. */
dw_err dw_order_write(const struct dw_job *job, const struct dw_order_doc *order, const char *path,
                      bool replace, struct dw_error *error);

/* The same table in memory, as "csv" or "xlsx"; *bytes is yours to free with dw_free. */
dw_err dw_order_table(const struct dw_job *job, const struct dw_order_doc *order, const char *form,
                      char **bytes, size_t *n, struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
