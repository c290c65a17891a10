/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers by chance, from a seed alone. */
#include "solve/budget/random.h"

uint64_t dw_random__next(uint64_t *seed)
{
    uint64_t x = *seed;
    x ^= x << 13;
    x ^= x >> 7;
    x ^= x << 17;
    return *seed = x;
}

double dw_random__uniform(uint64_t *seed)
{
    return (double)(dw_random__next(seed) >> 11) * 0x1p-53;
}

int64_t dw_random__below(uint64_t *seed, int64_t below)
{
    return (int64_t)((dw_random__next(seed) >> 11) % (uint64_t)below);
}
