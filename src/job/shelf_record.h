/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces of a shelf and bars of a held plan as records: for the page and for `--json`. */
#ifndef DW_JOB_SHELF_RECORD_H
#define DW_JOB_SHELF_RECORD_H

#include "model/caution.h"
#include "model/record.h"

#include <dropwise/ledger.h>

/* `to->job` is not looked at by any of these. */
extern const struct dw_member_table dw_stock__members;      /* struct dw_stock */
extern const struct dw_member_table dw_held_bar__members;   /* struct dw_held_bar */
extern const struct dw_member_table dw_held_piece__members; /* struct dw_held_piece */

/* A piece with its actual length and its ends, as an object. */
void dw_stock__record(const struct dw_record_out *to, const char *key,
                      const struct dw_stock *stock);
/* The bar with its pieces, into an object that is open. */
void dw_held__put_bar(const struct dw_record_out *to, const struct dw_held_bar *bar);

/* Gathers what there is to be said of the bars of a held plan that are not cut yet. materials: of a
 * job or of the shelf; a material that is not among them is not known. */
void dw_held__care(struct dw_care *care, const struct dw_job *materials,
                   const struct dw_held_bar *bars, size_t n);

/* The kerf that a plan was made with, of the lengths of a bar that leaves something:
 *   kerf = (bar - trims - pieces - leftover) / number of pieces
 * false if no bar of it tells. */
bool dw_held__kerf(const struct dw_held_plan *plan, dw_length *kerf);

#endif
