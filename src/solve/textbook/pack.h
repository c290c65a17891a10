/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact search for the last few bars. */
#ifndef DW_SOLVE_TEXTBOOK_PACK_H
#define DW_SOLVE_TEXTBOOK_PACK_H

#include "solve/textbook/core.h"

enum dw_csp__packed { DW_CSP_PACKED, DW_CSP_NO_PACKING, DW_CSP_GAVE_UP };

/* Cuts left[n] from at most `bars` bars, depth first: the longest piece left opens a bar, the
 * fullest completions come first, the waste over all bars is bounded (bin completion: Martello,
 * Toth 1990; Gent 1998). Appends to list when packed. Gives up after `nodes` steps. Cost: O(nodes).
 */
enum dw_csp__packed dw_csp__pack(struct dw_csp__state *state, const int64_t *left, int64_t bars,
                                 int64_t nodes, struct dw_layout_list *list);

#endif
