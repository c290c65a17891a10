/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Checked integers against the same sums in 128 bits. */
#include "base/base.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

__extension__ typedef __int128 wide;

static const int64_t edges[] = {
    INT64_MIN,
    INT64_MIN + 1,
    -INT64_C(4294967296),
    -1000000007,
    -12,
    -7,
    -3,
    -2,
    -1,
    0,
    1,
    2,
    3,
    7,
    12,
    1000000007,
    INT64_C(3037000499),
    INT64_C(3037000500),
    INT64_C(4294967296),
    INT64_MAX / 2,
    INT64_MAX - 1,
    INT64_MAX,
};

#define N_EDGES (sizeof edges / sizeof edges[0])

static int64_t draw(uint64_t *seed)
{
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    int64_t value = (int64_t)(*seed ^ *seed >> 29);
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return value >> (*seed >> 58);
}

static bool fits(wide value)
{
    return value >= INT64_MIN && value <= INT64_MAX;
}

static void check_against(bool ok, int64_t out, wide truth)
{
    assert_int_equal(ok, fits(truth));
    assert_int_equal(out, ok ? (int64_t)truth : 77);
}

static wide floor_div(wide a, wide b)
{
    wide quotient = a / b;
    return quotient * b > a ? quotient - 1 : quotient;
}

static void check_pair(int64_t a, int64_t b)
{
    int64_t out = 77;
    bool ok = dw_add__i64(a, b, &out);
    check_against(ok, out, (wide)a + b);
    out = 77;
    ok = dw_sub__i64(a, b, &out);
    check_against(ok, out, (wide)a - b);
    out = 77;
    ok = dw_mul__i64(a, b, &out);
    check_against(ok, out, (wide)a * b);
    if (b > 0) {
        int64_t down = dw_floor__div(a, b), up = dw_ceil__div(a, b);
        assert_true((wide)down * b <= a && ((wide)down + 1) * b > a);
        assert_true((wide)up * b >= a && ((wide)up - 1) * b < a);
    }
}

static void check_triple(int64_t a, int64_t b, int64_t c)
{
    int64_t out = 77;
    bool ok = dw_muldiv__i64(a, b, c, &out);
    if (c <= 0)
        assert_true(!ok && out == 77);
    else
        check_against(ok, out, floor_div((wide)a * b, c));
}

static void test_arithmetic(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_EDGES; i++)
        for (size_t j = 0; j < N_EDGES; j++) {
            check_pair(edges[i], edges[j]);
            for (size_t k = 0; k < N_EDGES; k++)
                check_triple(edges[i], edges[j], edges[k]);
        }
    uint64_t seed = 1;
    for (int i = 0; i < 200000; i++) {
        int64_t a = draw(&seed), b = draw(&seed), c = draw(&seed);
        check_pair(a, b);
        check_triple(a, b, c);
    }
}

/* The greatest divisor divides both, and what is left of them has no divisor in common: with
 * a = g x and b = g y there are integers s, t with s x + t y = 1 (Bezout). */
static void check_gcd(int64_t a, int64_t b)
{
    int64_t g = dw_gcd__i64(a, b);
    assert_true(g > 0 && a % g == 0 && b % g == 0);
    wide r0 = a / g, r1 = b / g, s0 = 1, s1 = 0;
    wide x = r0, y = r1;
    while (r1 != 0) {
        wide q = r0 / r1, next = r0 - q * r1, s = s0 - q * s1;
        r0 = r1, r1 = next, s0 = s1, s1 = s;
    }
    assert_true(r0 == 1 || r0 == -1);
    assert_true(y == 0 || (r0 - s0 * x) % y == 0);
}

static void test_gcd(void **state)
{
    (void)state;
    assert_int_equal(dw_gcd__i64(0, 0), 0);
    assert_int_equal(dw_gcd__i64(40, 64), 8);
    assert_int_equal(dw_gcd__i64(-40, 64), 8);
    assert_int_equal(dw_gcd__i64(0, -5), 5);
    assert_int_equal(dw_gcd__i64(INT64_MIN, 6), 2);
    for (size_t i = 0; i < N_EDGES; i++)
        for (size_t j = 0; j < N_EDGES; j++)
            if ((edges[i] != 0 && edges[i] != INT64_MIN) ||
                (edges[j] != 0 && edges[j] != INT64_MIN))
                check_gcd(edges[i], edges[j]);
    uint64_t seed = 2;
    for (int i = 0; i < 50000; i++) {
        int64_t a = draw(&seed), b = draw(&seed);
        if (a != 0 && b != 0)
            check_gcd(a, b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_arithmetic),
        cmocka_unit_test(test_gcd),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
