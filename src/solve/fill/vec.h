/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Polynomial steps on vectors of doubles, eight lanes at a time. The lanes are summed in a fixed
 * order, so every machine gives the same bits. */
#ifndef DW_SOLVE_FILL_VEC_H
#define DW_SOLVE_FILL_VEC_H

#include <stddef.h>

/* out[t] = sum_k c[k] in[t - k step], 0 <= k <= top, terms before in[0] left out; n entries. */
void dw_vec__convolve(double *out, const double *in, size_t n, size_t step, const double *c,
                      size_t top);
/* r[t] = sum_k c[k] r[t + k step] in place, terms past r[n - 1] left out; c[0] = 1. */
void dw_vec__correlate(double *r, size_t n, size_t step, const double *c, size_t top);
/* sum[k] = sum_t a[t] r[t + k step], 0 <= k <= top; both of n entries. */
void dw_vec__dots(const double *a, const double *r, size_t n, size_t step, double *sum, size_t top);

#endif
