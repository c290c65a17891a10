/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one-bar kernels against plain enumeration, and the distribution over layouts against its own
 * definition. */
#include "solve/fill/gibbs.h"
#include "solve/bar/knap.h"
#include "solve/budget/random.h"
#include "solve/bar/knap_inner.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

enum { N = 7 };

static uint64_t seed = 7;

static int64_t between(int64_t low, int64_t high)
{
    return low + (int64_t)(dw_random__next(&seed) % (uint64_t)(high - low + 1));
}

struct small {
    int64_t capacity, size[N], demand[N], value[N];
};

static void make(struct small *small)
{
    small->capacity = between(40, 120);
    int64_t size = small->capacity;
    for (size_t i = 0; i < N; i++) {
        size -= between(1, small->capacity / N - 1);
        small->size[i] = size;
        small->demand[i] = between(1, 3);
        small->value[i] = between(0, 100);
    }
}

/* Best value among all layouts that waste at most `waste`, and how many reach `least` and have type
 * `with` (N: any). */
static void enumerate(const struct small *s, size_t i, int64_t room, int64_t value, bool has,
                      size_t with, int64_t waste, int64_t least, int64_t *best, int64_t *count)
{
    if (i == N) {
        if (room > waste)
            return;
        *best = value > *best ? value : *best;
        *count += value >= least && (has || with == N);
        return;
    }
    for (int64_t k = 0; k <= s->demand[i] && k * s->size[i] <= room; k++)
        enumerate(s, i + 1, room - k * s->size[i], value + k * s->value[i],
                  has || (i == with && k > 0), with, waste, least, best, count);
}

static int64_t value_of(const struct small *s, const struct dw_layout_list *list, size_t k)
{
    int64_t value = 0, length = 0;
    for (size_t i = 0; i < list->cuts[k].n; i++) {
        const struct dw_type_count *item = &list->items[list->cuts[k].first + i];
        assert_true(item->count >= 1 && item->count <= s->demand[item->type]);
        value += item->count * s->value[item->type];
        length += item->count * s->size[item->type];
    }
    assert_true(length <= s->capacity);
    return value;
}

static void check_layouts(const struct small *s, struct dw_knap *knap, int64_t best)
{
    struct dw_layout_list list = {0};
    assert_true(dw_knap__layouts(knap, best - 1, 10, &list));
    assert_true(list.n >= 1);
    for (size_t k = 0; k < list.n; k++)
        assert_int_equal(value_of(s, &list, k), best);
    dw_layout_list__free(&list);
}

static void check_solution(const struct small *s, struct dw_knap *knap, struct dw_effort *effort,
                           int64_t best)
{
    assert_int_equal(dw_knap__solve(knap, effort, s->value, 0), best);
    if (best > 0)
        check_layouts(s, knap, best);
}

static void test_both_methods(void **unused)
{
    (void)unused;
    struct dw_effort effort = {0};
    for (int round = 0; round < 300; round++) {
        struct small s;
        make(&s);
        int64_t best = -1, count = 0;
        enumerate(&s, 0, s.capacity, 0, false, N, s.capacity, 0, &best, &count);
        struct dw_knap *knap = dw_knap__new(s.capacity, N, s.size, s.demand, true);
        assert_non_null(knap);
        check_solution(&s, knap, &effort, best);
        dw_knap__free(knap);
        knap = dw_knap__new(s.capacity, N, s.size, s.demand, false);
        assert_non_null(knap);
        assert_null(knap->table);
        check_solution(&s, knap, &effort, best);
        dw_knap__free(knap);
    }
}

/* Lengths far above the cells of the coarse bound, so that rounding down tells. */
static void test_long_bars(void **unused)
{
    (void)unused;
    struct dw_effort effort = {0};
    for (int round = 0; round < 300; round++) {
        struct small s;
        make(&s);
        const int64_t unit = 1000003;
        s.capacity *= unit;
        for (size_t i = 0; i < N; i++)
            s.size[i] = s.size[i] * unit + between(-unit / 2, unit / 2);
        int64_t best = -1, count = 0;
        enumerate(&s, 0, s.capacity, 0, false, N, s.capacity, 0, &best, &count);
        struct dw_knap *knap = dw_knap__new(s.capacity, N, s.size, s.demand, true);
        assert_non_null(knap);
        assert_null(knap->table);
        assert_non_null(knap->coarse);
        check_solution(&s, knap, &effort, best);
        dw_knap__free(knap);
    }
}

static void test_waste_and_lists(void **unused)
{
    (void)unused;
    struct dw_effort effort = {0};
    for (int round = 0; round < 300; round++) {
        struct small s;
        make(&s);
        for (size_t i = 0; i < N; i += 2)
            s.value[i] -= 60; /* negative values are legal here */
        int64_t waste = between(0, 8), best = DW_KNAP_NONE, count = 0;
        size_t with = (size_t)between(0, N - 1);
        int64_t least = between(-50, 150);
        enumerate(&s, 0, s.capacity, 0, false, with, waste, least, &best, &count);
        struct dw_knap *knap = dw_knap__new(s.capacity, N, s.size, s.demand, true);
        assert_non_null(knap);
        assert_true(dw_knap__retarget(knap, s.demand, waste));
        int64_t found = dw_knap__solve(knap, &effort, s.value, INT32_MIN);
        if (best > DW_KNAP_NONE)
            assert_int_equal(found, best);
        else
            assert_true(found < DW_KNAP_NONE / 2);
        struct dw_layout_list list = {0};
        assert_int_equal(dw_knap__list(knap, with, least, 1000000, false, &list), count);
        assert_int_equal(list.n, count);
        for (size_t k = 0; k < list.n; k++)
            assert_true(value_of(&s, &list, k) >= least);
        dw_layout_list__free(&list);
        int64_t all = 0;
        enumerate(&s, 0, s.capacity, 0, false, N, waste, least, &best, &all);
        assert_int_equal(dw_knap__all(knap, least, 1000000, &list), all);
        assert_int_equal(list.n, all);
        dw_layout_list__free(&list);
        dw_knap__free(knap);
    }
}

/* Exact fills only, every piece once: E[a_i] = d_i / bars by counting every layout with its weight.
 */
static double mean_of(const double *w, const int64_t *size, size_t n, int64_t capacity, size_t type)
{
    double all = 0, with = 0;
    for (unsigned set = 0; set < 1u << n; set++) {
        int64_t length = 0;
        double weight = 1;
        for (size_t i = 0; i < n; i++)
            if (set >> i & 1u) {
                length += size[i];
                weight *= w[i];
            }
        if (length == capacity) {
            all += weight;
            with += set >> type & 1u ? weight : 0;
        }
    }
    return with / all;
}

static void test_distribution(void **unused)
{
    (void)unused;
    const int64_t size[] = {60, 55, 50, 45, 40, 35, 30, 25, 20, 15, 15 - 5, 15}, capacity = 100;
    int64_t demand[12];
    for (size_t i = 0; i < 12; i++)
        demand[i] = 1;
    struct dw_gibbs *gibbs = dw_gibbs__new(capacity, 12, size, demand);
    assert_non_null(gibbs);
    /* The lengths sum to four bars. */
    dw_gibbs__target(gibbs, demand, 4, 0, 0);
    double error = 1;
    for (int sweep = 0; sweep < 400 && error > 1e-9; sweep++)
        error = dw_gibbs__sweep(gibbs);
    assert_true(error >= 0 && error < 1e-3);
    for (size_t i = 0; i < 12; i++)
        assert_true(fabs(mean_of(dw_gibbs__weights(gibbs), size, 12, capacity, i) - 0.25) < 1e-3);
    assert_true(dw_gibbs__ready(gibbs));
    for (int draw = 0; draw < 200; draw++) {
        struct dw_type_count items[12];
        int64_t waste = -1, length = 0;
        double expected = 0;
        size_t n = dw_gibbs__draw(gibbs, &seed, items, &waste, &expected);
        for (size_t k = 0; k < n; k++)
            length += items[k].count * size[items[k].type];
        assert_int_equal(length, capacity);
        assert_int_equal(waste, 0);
        assert_true(expected > 0 && expected <= 4.001);
    }
    dw_gibbs__free(gibbs);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_both_methods),
        cmocka_unit_test(test_long_bars),
        cmocka_unit_test(test_waste_and_lists),
        cmocka_unit_test(test_distribution),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
