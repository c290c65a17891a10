/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inner loop of the tables of rows.c. */
#ifndef DW_SOLVE_BAR_RAISE_H
#define DW_SOLVE_BAR_RAISE_H

#include "base/base.h"

/* to[x] = max(keep[x], from[x] + add) for x < n, the last x first. `to` may be `keep`, and `from`
 * may be one of them further down. */
void dw_raise__row(int64_t *to, const int64_t *keep, const int64_t *from, int64_t add, size_t n);

#endif
