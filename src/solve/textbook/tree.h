/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Are so many bars enough?", answered by a complete search. */
#ifndef DW_SOLVE_TEXTBOOK_TREE_H
#define DW_SOLVE_TEXTBOOK_TREE_H

#include "solve/textbook/core.h"

enum dw_csp__answer { DW_CSP_YES, DW_CSP_NO, DW_CSP_UNKNOWN };

/* Branch and price on whole layouts. A node is what is left to cut, from how many bars. Its LP has
 * the demands as equalities and only layouts whose waste all bars together can afford. With integer
 * duals P, z = max P a over those layouts:
 *
 *   no solution            if P d > bars z
 *   layout a in none       if P a < P d - (bars - 1) z
 *
 * so each child is one of the few layouts left for some length, the one with fewest; of them only
 * those that no exchange of pieces between bars can fill more. The answer NO rests on integers
 * alone; the LP only proposes the duals. YES: the plan was offered to state. UNKNOWN: out of work,
 * or the capacity is too large for the tables. nodes: at most so many, 0 = no limit. complete:
 * where every length has many layouts, all those of one length are tried if they are some hundreds;
 * else only what the LP likes, which may find a plan and proves nothing. columns: layouts to start
 * the LP with. */
enum dw_csp__answer dw_csp__tree(struct dw_csp__state *state, int64_t bars, int64_t nodes,
                                 bool complete, const struct dw_layout_list *columns);

#endif
