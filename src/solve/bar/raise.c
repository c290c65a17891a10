/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Most processors compare four 64-bit integers at a time, but the least that a compiler may count
 * on for x86-64 does not: which of the two it is, is asked when the program runs. */
#include "solve/bar/raise.h"

#if defined(__x86_64__) && defined(__GNUC__)
#define WIDE 1
#include <immintrin.h>
#else
#define WIDE 0
#endif

static void raise_plain(int64_t *to, const int64_t *keep, const int64_t *from, int64_t add,
                        size_t n)
{
    for (size_t x = n; x-- > 0;) {
        int64_t value = from[x] + add;
        to[x] = value > keep[x] ? value : keep[x];
    }
}

#if WIDE
__attribute__((target("avx2"))) static void raise_wide(int64_t *to, const int64_t *keep,
                                                       const int64_t *from, int64_t add, size_t n)
{
    const __m256i more = _mm256_set1_epi64x(add);
    size_t x = n;
    for (; x >= 4; x -= 4) {
        __m256i old = _mm256_loadu_si256((const __m256i *)(const void *)(keep + x - 4));
        __m256i new = _mm256_loadu_si256((const __m256i *)(const void *)(from + x - 4));
        new = _mm256_add_epi64(new, more);
        old = _mm256_blendv_epi8(old, new, _mm256_cmpgt_epi64(new, old));
        _mm256_storeu_si256((__m256i *)(void *)(to + x - 4), old);
    }
    raise_plain(to, keep, from, add, x);
}
#endif

void dw_raise__row(int64_t *to, const int64_t *keep, const int64_t *from, int64_t add, size_t n)
{
#if WIDE
    if (__builtin_cpu_supports("avx2")) {
        raise_wide(to, keep, from, add, n);
        return;
    }
#endif
    raise_plain(to, keep, from, add, n);
}
