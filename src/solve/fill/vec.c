/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inner loops of the distribution, eight lanes at a time. */
#include "solve/fill/vec.h"

#include <string.h>

enum { LANES = 8 };
typedef double lanes __attribute__((vector_size(LANES * sizeof(double)), aligned(8), may_alias));

#define INLINE static inline __attribute__((always_inline))

/* out[t] += c in[t], t < n; out and in may overlap if in >= out. */
INLINE void add_scaled(double *out, const double *in, size_t n, double c)
{
    size_t t = 0;
    for (; t + LANES <= n; t += LANES)
        *(lanes *)(out + t) += c * *(const lanes *)(in + t);
    for (; t < n; t++)
        out[t] += c * in[t];
}

INLINE void set_sum(double *out, const double *a, const double *b, size_t n, double c)
{
    size_t t = 0;
    for (; t + LANES <= n; t += LANES)
        *(lanes *)(out + t) = *(const lanes *)(a + t) + c * *(const lanes *)(b + t);
    for (; t < n; t++)
        out[t] = a[t] + c * b[t];
}

INLINE double dot(const double *a, const double *b, size_t n)
{
    lanes sums[2] = {{0}, {0}};
    size_t t = 0;
    for (; t + 2 * LANES <= n; t += 2 * LANES) {
        sums[0] += *(const lanes *)(a + t) * *(const lanes *)(b + t);
        sums[1] += *(const lanes *)(a + t + LANES) * *(const lanes *)(b + t + LANES);
    }
    sums[0] += sums[1];
    double sum = 0;
    for (size_t lane = 0; lane < LANES; lane++)
        sum += sums[0][lane];
    for (; t < n; t++)
        sum += a[t] * b[t];
    return sum;
}

INLINE void convolve(double *out, const double *in, size_t n, size_t step, const double *c,
                     size_t top)
{
    size_t head = step < n ? step : n;
    memcpy(out, in, head * sizeof *out);
    if (head < n)
        set_sum(out + head, in + head, in, n - head, c[1]);
    for (size_t k = 2; k <= top && k * step < n; k++)
        add_scaled(out + k * step, in, n - k * step, c[k]);
}

INLINE void correlate(double *r, size_t n, size_t step, const double *c, size_t top)
{
    if (top == 1) {
        if (step < n)
            add_scaled(r, r + step, n - step, c[1]);
        return;
    }
    size_t t = 0;
    for (; step >= LANES && t + top * step + LANES <= n; t += LANES) {
        lanes sum = *(const lanes *)(r + t);
        for (size_t k = 1; k <= top; k++)
            sum += c[k] * *(const lanes *)(r + t + k * step);
        *(lanes *)(r + t) = sum;
    }
    for (; t < n; t++) {
        double sum = r[t];
        for (size_t k = 1; k <= top && t + k * step < n; k++)
            sum += c[k] * r[t + k * step];
        r[t] = sum;
    }
}

INLINE void dots(const double *a, const double *r, size_t n, size_t step, double *sum, size_t top)
{
    for (size_t k = 0; k <= top; k++)
        sum[k] = k * step < n ? dot(a, r + k * step, n - k * step) : 0;
}

#ifdef __x86_64__
#define WIDE __attribute__((target("avx2")))

WIDE static void convolve_wide(double *out, const double *in, size_t n, size_t step,
                               const double *c, size_t top)
{
    convolve(out, in, n, step, c, top);
}

WIDE static void correlate_wide(double *r, size_t n, size_t step, const double *c, size_t top)
{
    correlate(r, n, step, c, top);
}

WIDE static void dots_wide(const double *a, const double *r, size_t n, size_t step, double *sum,
                           size_t top)
{
    dots(a, r, n, step, sum, top);
}

static int wide(void)
{
    return __builtin_cpu_supports("avx2");
}
#else
#define convolve_wide  convolve
#define correlate_wide correlate
#define dots_wide      dots
static int wide(void)
{
    return 0;
}
#endif

void dw_vec__convolve(double *out, const double *in, size_t n, size_t step, const double *c,
                      size_t top)
{
    if (wide())
        convolve_wide(out, in, n, step, c, top);
    else
        convolve(out, in, n, step, c, top);
}

void dw_vec__correlate(double *r, size_t n, size_t step, const double *c, size_t top)
{
    if (wide())
        correlate_wide(r, n, step, c, top);
    else
        correlate(r, n, step, c, top);
}

void dw_vec__dots(const double *a, const double *r, size_t n, size_t step, double *sum, size_t top)
{
    if (wide())
        dots_wide(a, r, n, step, sum, top);
    else
        dots(a, r, n, step, sum, top);
}
