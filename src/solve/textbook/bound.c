/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bounds by dual-feasible functions: f with sum f(l_i) a_i <= f(C) for every layout a, so the
 * values f(l_i) are duals over the scale f(C) and the bound is ceil( sum f(l_i) d_i / f(C) ).
 * Everything in integers. Sources: Fekete, Schepers 2001 (u_k, U_e, phi_e; U_e gives Martello and
 * Toth's L2); Carlier, Clautiaux, Moukrim 2007 (f_CCM). Cost: O(n) a function, O(n) functions a
 * family. */
#include "solve/textbook/bound.h"

#include <stdlib.h>

/* U_e scaled by C: C if x > C - e, x if e <= x <= C - e, 0 if x < e. e <= C / 2. */
static int64_t dff_drop(int64_t x, int64_t capacity, int64_t e)
{
    if (x > capacity - e)
        return capacity;
    return x >= e ? x : 0;
}

/* phi_e scaled by q = floor(C / e): q - floor((C - x) / e) if x > C / 2, 1 if e <= x, 0 below. */
static int64_t dff_phi(int64_t x, int64_t capacity, int64_t e)
{
    if (2 * x > capacity)
        return capacity / e - (capacity - x) / e;
    return x >= e ? 1 : 0;
}

/* f_CCM,k: 2 (floor(C / k) - floor((C - x) / k)) if x > C / 2, floor(C / k) if x = C / 2,
 * 2 floor(x / k) below; f(C) = 2 floor(C / k). */
static int64_t dff_ccm(int64_t x, int64_t capacity, int64_t k)
{
    if (2 * x > capacity)
        return 2 * (capacity / k - (capacity - x) / k);
    return 2 * x == capacity ? capacity / k : 2 * (x / k);
}

/* u_k scaled by k C: k x if (k + 1) x / C is whole, C floor((k + 1) x / C) otherwise. */
static int64_t dff_round(int64_t x, int64_t capacity, int64_t k)
{
    int64_t whole = (k + 1) * x / capacity;
    return (k + 1) * x % capacity == 0 ? k * x : capacity * whole;
}

typedef int64_t (*dff)(int64_t x, int64_t capacity, int64_t parameter);

static void try_dff(struct dw_csp__state *state, dff f, int64_t parameter, int64_t scale,
                    int64_t *dual)
{
    for (size_t i = 0; i < state->n; i++)
        dual[i] = f(state->size[i], state->capacity, parameter);
    dw_csp__offer_duals(state, dual, scale);
}

/* Functions with a threshold at the length `at`, 1 <= at <= C. */
static void try_threshold(struct dw_csp__state *state, int64_t at, int64_t *dual)
{
    int64_t capacity = state->capacity;
    if (2 * at <= capacity) {
        try_dff(state, dff_drop, at, capacity, dual);
        try_dff(state, dff_phi, at, capacity / at, dual);
    }
    try_dff(state, dff_ccm, at, 2 * (capacity / at), dual);
}

enum { LAST_ROUND = 40 }; /* u_k for k up to this; k C stays far below 2^62 */

void dw_csp__bound(struct dw_csp__state *state)
{
    int64_t *dual = malloc((state->n + 1) * sizeof *dual);
    if (!dual) {
        state->failed = true;
        return;
    }
    try_dff(state, dff_drop, 0, state->capacity, dual);
    for (int64_t k = 1; k <= LAST_ROUND; k++)
        try_dff(state, dff_round, k, k * state->capacity, dual);
    for (size_t i = 0; i < state->n && dw_csp__spend(state, 1 + (int64_t)state->n / 64); i++) {
        int64_t size = state->size[i], rest = state->capacity - size;
        try_threshold(state, size, dual);
        if (size < state->capacity)
            try_threshold(state, size + 1, dual);
        if (rest > 0)
            try_threshold(state, rest, dual);
        if (rest > 0)
            try_threshold(state, rest + 1, dual);
    }
    free(dual);
}
