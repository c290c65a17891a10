/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Complete lists of the columns that a cheaper plan can use (reduced-cost fixing; Baldacci,
 * Christofides, Mingozzi 2008, route enumeration): with safe bound LB at some duals, a column of
 * reduced cost above UB - grid - LB is in no plan below UB. In integers throughout. */
#ifndef DW_SOLVE_SEARCH_KNOWN_H
#define DW_SOLVE_SEARCH_KNOWN_H

#include "solve/lp/relax.h"

struct dw_known;

#define DW_KNOWN_FEW  20000  /* worth a list at any node */
#define DW_KNOWN_MANY 300000 /* where nothing else is left to branch on */

/* All columns that matter below a node, at the duals of its solved relaxation: those of `above`
 * that still matter, or, without it, a new listing; NULL in *out if that has more than `most`.
 * DW_ERR_NOMEM. Give it back with dw_known__drop. */
dw_err dw_known__list(struct dw_master *master, const struct dw_relax *relax,
                      const struct dw_relaxed *relaxed, struct dw_known *above, dw_money value,
                      size_t most, struct dw_known **out, struct dw_error *error);
struct dw_known *dw_known__share(struct dw_known *known);
void dw_known__drop(struct dw_known *known);
const struct dw_col *const *dw_known__cols(const struct dw_known *known);
size_t dw_known__n(const struct dw_known *known);

#endif
