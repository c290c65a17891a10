/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars of a held plan as records: for the page and for `--json`. */
#ifndef DW_JOB_HELD_H
#define DW_JOB_HELD_H

#include "model/record.h"

#include <dropwise/ledger.h>

/* `to->job` is not looked at. */
extern const struct dw_member_table dw_held_bar__members;   /* struct dw_held_bar */
extern const struct dw_member_table dw_held_piece__members; /* struct dw_held_piece */

/* The bar with its pieces, into an object that is open. */
void dw_held__put_bar(const struct dw_record_out *to, const struct dw_held_bar *bar);

/* The kerf that a plan was made with, of the lengths of a bar that leaves something:
 *   kerf = (bar - trims - pieces - leftover) / number of pieces
 * false if no bar of it tells. */
bool dw_held__kerf(const struct dw_held_plan *plan, dw_length *kerf);

#endif
