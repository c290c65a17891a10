/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Division that rounds down, or up. */
#include "base/base.h"

bool dw_add__i64(int64_t a, int64_t b, int64_t *out)
{
    int64_t sum;
    if (__builtin_add_overflow(a, b, &sum))
        return false;
    *out = sum;
    return true;
}

bool dw_sub__i64(int64_t a, int64_t b, int64_t *out)
{
    int64_t difference;
    if (__builtin_sub_overflow(a, b, &difference))
        return false;
    *out = difference;
    return true;
}

bool dw_mul__i64(int64_t a, int64_t b, int64_t *out)
{
    int64_t product;
    if (__builtin_mul_overflow(a, b, &product))
        return false;
    *out = product;
    return true;
}

int64_t dw_floor__div(int64_t a, int64_t b)
{
    int64_t quotient = a / b;
    return a % b < 0 ? quotient - 1 : quotient;
}

int64_t dw_ceil__div(int64_t a, int64_t b)
{
    int64_t quotient = a / b;
    return a % b > 0 ? quotient + 1 : quotient;
}

bool dw_muldiv__i64(int64_t a, int64_t b, int64_t c, int64_t *out)
{
    if (c <= 0)
        return false;
    __extension__ typedef __int128 wide;
    wide product = (wide)a * b;
    wide quotient = product / c;
    if (product % c < 0)
        quotient--;
    if (quotient > INT64_MAX || quotient < INT64_MIN)
        return false;
    *out = (int64_t)quotient;
    return true;
}

int64_t dw_gcd__i64(int64_t a, int64_t b)
{
    uint64_t x = a < 0 ? -(uint64_t)a : (uint64_t)a;
    uint64_t y = b < 0 ? -(uint64_t)b : (uint64_t)b;
    while (y) {
        uint64_t rest = x % y;
        x = y;
        y = rest;
    }
    return x > INT64_MAX ? INT64_MAX : (int64_t)x;
}
