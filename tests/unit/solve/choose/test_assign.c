/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The assignment against every assignment there is. */
#include "solve/choose/assign.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

/* xorshift64* (Vigna 2016) */
static uint64_t seed = 20260301;
static uint64_t draw(uint64_t n)
{
    seed ^= seed >> 12;
    seed ^= seed << 25;
    seed ^= seed >> 27;
    return (seed * 2685821657736338717u >> 11) % n;
}

/* Best value of rows i.. with what is left of the columns; gain < 0 = no edge. */
static int64_t best(size_t i, size_t n, size_t m, int64_t g[6][5], int64_t *caps)
{
    if (i == n)
        return 0;
    int64_t most = best(i + 1, n, m, g, caps);
    for (size_t j = 0; j < m; j++) {
        if (g[i][j] < 0 || caps[j] == 0)
            continue;
        caps[j]--;
        int64_t value = g[i][j] + best(i + 1, n, m, g, caps);
        caps[j]++;
        most = value > most ? value : most;
    }
    return most;
}

static void test_equals_brute_force(void **state)
{
    (void)state;
    for (int round = 0; round < 500; round++) {
        size_t n = 1 + draw(6), m = 1 + draw(5), n_edges = 0;
        int64_t g[6][5], caps[5];
        struct dw_assign_edge edges[30];
        for (size_t j = 0; j < m; j++)
            caps[j] = (int64_t)draw(4);
        for (size_t i = 0; i < n; i++)
            for (size_t j = 0; j < m; j++) {
                g[i][j] = draw(3) == 0 ? -1 : (int64_t)draw(round % 2 ? 4 : 1000000007);
                if (g[i][j] >= 0)
                    edges[n_edges++] = (struct dw_assign_edge){i, j, g[i][j]};
            }
        size_t col_of[6];
        struct dw_error error = {0};
        assert_int_equal(dw_assign__solve(n, m, caps, n_edges, edges, col_of, &error), DW_OK);
        int64_t value = 0, used[5] = {0};
        for (size_t i = 0; i < n; i++) {
            if (col_of[i] == SIZE_MAX)
                continue;
            assert_true(g[i][col_of[i]] > 0);
            value += g[i][col_of[i]];
            assert_true(++used[col_of[i]] <= caps[col_of[i]]);
        }
        assert_int_equal(value, best(0, n, m, g, caps));
    }
}

/* Of the six permutations only the diagonal costs 6; the others cost 8 or 9. */
static void test_three_by_three(void **state)
{
    (void)state;
    static const int64_t cost[3][3] = {{2, 3, 3}, {3, 2, 3}, {3, 3, 2}};
    struct dw_assign_edge edges[9];
    for (size_t k = 0; k < 9; k++)
        edges[k] = (struct dw_assign_edge){k / 3, k % 3, 100 - cost[k / 3][k % 3]};
    const int64_t caps[] = {1, 1, 1};
    size_t col_of[3];
    assert_int_equal(dw_assign__solve(3, 3, caps, 9, edges, col_of, NULL), DW_OK);
    assert_int_equal(col_of[0], 0);
    assert_int_equal(col_of[1], 1);
    assert_int_equal(col_of[2], 2);
}

static void test_nothing_to_assign(void **state)
{
    (void)state;
    const int64_t caps[] = {1};
    const struct dw_assign_edge loss = {0, 0, -5};
    size_t col_of[1] = {7};
    assert_int_equal(dw_assign__solve(1, 1, caps, 1, &loss, col_of, NULL), DW_OK);
    assert_true(col_of[0] == SIZE_MAX);
    assert_int_equal(dw_assign__solve(0, 1, caps, 0, NULL, NULL, NULL), DW_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_equals_brute_force),
        cmocka_unit_test(test_three_by_three),
        cmocka_unit_test(test_nothing_to_assign),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
