/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Are so many bars enough?", answered by rounding the LP: for bars so long that tables cost
 * much or do not fit. */
#ifndef DW_SOLVE_TEXTBOOK_DIVE_H
#define DW_SOLVE_TEXTBOOK_DIVE_H

#include "solve/textbook/root.h"

/* Fixes the whole part of the LP's solution, or the layouts nearest to the next whole number, takes
 * what they cut out of the demand, and generates columns again for the rest, until greedy or an
 * exact search of the last bars finishes it or the bound of the rest says that `bars` are not
 * enough (residual problems: Waescher, Gau 1996; Belov, Scheithauer 2002). turn 0 takes what the LP
 * likes most; other turns add noise. Offers what it finds, with more bars if it must. true: found.
 */
bool dw_csp__dive(struct dw_csp__state *state, int64_t bars, const struct dw_csp__root *root,
                  int turn);

#endif
