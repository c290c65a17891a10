/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one generator of the solver: the same seed gives the same numbers on every machine. */
#ifndef DW_SOLVE_BUDGET_RANDOM_H
#define DW_SOLVE_BUDGET_RANDOM_H

#include <stdint.h>

/* xorshift64 (Marsaglia 2003). *seed, not 0, is the state. */
uint64_t dw_random__next(uint64_t *seed);
/* 0 <= u < 1 */
double dw_random__uniform(uint64_t *seed);
/* 0 .. below - 1; below >= 1. */
int64_t dw_random__below(uint64_t *seed, int64_t below);

#endif
