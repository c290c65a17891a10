/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Worked examples of the literature and of textbooks, solved to proven optimality. Kerf 0; the
 * optima not printed in the source were found anew with GLPK. */
#include "textbook.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <cmocka.h>

#define ONE DW_MONEY_ONE
#define ANY DW_UNLIMITED

struct example {
    const char *source;
    int64_t unit; /* nm a unit of length */
    struct textbook_bar bars[4];
    struct textbook_part parts[20];
    int64_t optimum; /* money, in whole units */
    int64_t n_bars;  /* 0: not stated */
};

static const struct example examples[] = {
    {"Gilmore, Gomory 1961, several priced bars",
     1000000,
     {{5, 6 * ONE, ANY}, {6, 7 * ONE, ANY}, {9, 10 * ONE, ANY}},
     {{2, 20}, {3, 10}, {4, 20}},
     170,
     20},
    {"Chvatal, Linear Programming (1983), ch. 13, with the data of GAMS model library, CUTSTOCK",
     1000000,
     {{100, ONE, ANY}},
     {{45, 97}, {36, 610}, {31, 395}, {14, 211}},
     453,
     453},
    {"Fourer, Gay, Kernighan, AMPL (ampl.com), cut.mod and cut.dat",
     1000000,
     {{110, ONE, ANY}},
     {{20, 48}, {45, 35}, {50, 24}, {55, 10}, {75, 8}},
     47,
     47},
    {"ampl.com, Java example on cutting with several layouts",
     1000000,
     {{6450, ONE, ANY}},
     {{677, 10}, {756, 40}, {1746, 33}, {1876, 10}},
     18,
     18},
    {"en.wikipedia.org, Cutting stock problem, paper mill",
     1000000,
     {{5600, ONE, ANY}},
     {{1380, 22},
      {1520, 25},
      {1560, 12},
      {1710, 14},
      {1820, 18},
      {1880, 18},
      {1930, 20},
      {2000, 10},
      {2050, 12},
      {2100, 14},
      {2140, 16},
      {2150, 18},
      {2200, 20}},
     73,
     73},
    {"jump.dev, tutorial on column generation; 334 there too, not called optimal",
     100000,
     {{1000, ONE, ANY}},
     {{750, 189},
      {538, 33},
      {530, 36},
      {510, 41},
      {502, 35},
      {322, 37},
      {308, 44},
      {298, 49},
      {201, 37},
      {162, 36},
      {145, 42},
      {110, 33},
      {86, 47},
      {82, 35},
      {66, 49},
      {51, 42}},
     334,
     334},
    {"Gueret, Prins, Sevaux, Applications of Optimization (2002), desk legs: price = length",
     1000000,
     {{150, 150 * ONE, ANY}, {200, 200 * ONE, ANY}},
     {{40, 432}, {60, 500}, {70, 400}},
     75300,
     0},
    {"GLPK-java CutSimple: limited bars, price = length",
     1000000,
     {{50, 50 * ONE, 2}, {100, 100 * ONE, 3}, {200, 200 * ONE, 2}},
     {{6, 20}, {10, 10}, {16, 3}, {25, 7}, {40, 2}, {63, 1}},
     600,
     0},
    {"Taha, Operations Research, paper rolls (from memory)",
     1000000,
     {{20, ONE, ANY}},
     {{5, 150}, {7, 200}, {9, 300}},
     263,
     263},
    {"Haessler, Management Science 34 (1988), table 2, without the limit on knives",
     125000,
     {{1376, ONE, ANY}},
     {{200, 5},
      {198, 73},
      {144, 14},
      {140, 4},
      {124, 23},
      {123, 5},
      {111, 29},
      {100, 87},
      {98, 9},
      {96, 31},
      {82, 6},
      {81, 14},
      {80, 43},
      {70, 15},
      {68, 21},
      {62, 5}},
     33,
     33},
    {"Delorme, Iori, Martello 2016, example 1",
     1000000,
     {{9, ONE, ANY}},
     {{4, 2}, {3, 2}, {2, 2}},
     2,
     2},
    {"Goulimis, no integer round-up of the unbounded relaxation (arXiv:2004.01937)",
     1000000,
     {{132, ONE, ANY}},
     {{44, 2}, {33, 3}, {12, 6}},
     3,
     3},
    {"Fieldhouse 1990 (from memory)", 1000000, {{30, ONE, ANY}}, {{15, 1}, {10, 2}, {6, 4}}, 3, 3},
    {"Winston, Operations Research, Woodco (from memory)",
     1000000,
     {{17, ONE, ANY}},
     {{3, 25}, {5, 20}, {9, 15}},
     19,
     19},
    {"Valerio de Carvalho 2002 (from memory)",
     1000000,
     {{8, ONE, ANY}},
     {{4, 5}, {3, 4}, {2, 8}},
     6,
     6},
};

static struct dw_plan *solve(const struct dw_job *job)
{
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    if (dw_solve(job, NULL, NULL, &plan, &error) != DW_OK)
        fail_msg("%s", error.text);
    return plan;
}

static size_t count_bars(const struct example *e)
{
    size_t n = 0;
    while (n < 4 && e->bars[n].length > 0)
        n++;
    return n;
}

static size_t count_parts(const struct example *e)
{
    size_t n = 0;
    while (n < 20 && e->parts[n].length > 0)
        n++;
    return n;
}

static void test_examples(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof examples / sizeof *examples; i++) {
        const struct example *e = &examples[i];
        struct dw_job *job =
            textbook_job(e->unit, e->bars, count_bars(e), e->parts, count_parts(e));
        assert_non_null(job);
        struct dw_plan *plan = solve(job);
        if (plan->status != DW_STATUS_OPTIMAL || plan->totals.value != e->optimum * ONE)
            fail_msg("%s: value %lld, status %d", e->source, (long long)plan->totals.value,
                     (int)plan->status);
        assert_int_equal(plan->bound, plan->totals.value);
        if (e->n_bars > 0)
            assert_int_equal(plan->totals.n_bars, e->n_bars);
        dw_plan_free(plan);
        dw_job_free(job);
    }
}

/* --- kerf --------------------------------------------------------------------------------------
 */

/* How many pieces one bar gives: the largest count that is not refused for want of tube. */
static int64_t pieces_of_one_bar(dw_length bar, dw_length piece, dw_length kerf)
{
    for (int64_t count = 1;; count++) {
        struct textbook_bar bars = {bar, ONE, 1};
        struct textbook_part parts = {piece, count};
        struct dw_job *job = textbook_job(1, &bars, 1, &parts, 1);
        assert_non_null(job);
        job->saw.kerf = kerf;
        struct dw_plan *plan = solve(job);
        bool enough = plan->status != DW_STATUS_INFEASIBLE;
        if (!enough) {
            assert_int_equal(plan->groups[0].n_shortages, 1);
            assert_int_equal(plan->groups[0].shortages[0].missing, 1);
            assert_int_equal(plan->n_layouts, 0);
        }
        dw_plan_free(plan);
        dw_job_free(job);
        if (!enough)
            return count - 1;
    }
}

static void test_kerf(void **state)
{
    (void)state;
    const dw_length inch = DW_NM_PER_IN, mm = DW_NM_PER_MM;
    /* slashgear.com/1866963: four 2 ft pieces do not come out of 8 ft, blade 1/8 in */
    assert_int_equal(pieces_of_one_bar(96 * inch, 24 * inch, inch / 8), 3);
    /* chiefsshop.wordpress.com/2010/05/19: two 48 in pieces do not come out of 96 in; the second is
     * at most 47 7/8 */
    assert_int_equal(pieces_of_one_bar(96 * inch, 48 * inch, inch / 8), 1);
    assert_int_equal(pieces_of_one_bar(96 * inch, 48 * inch - inch / 16, inch / 8), 2);
    /* by hand: 6 m rod, 1 m pieces, 3 mm: five, not six */
    assert_int_equal(pieces_of_one_bar(6000 * mm, 1000 * mm, 3 * mm), 5);
    /* The sixth would be 985 mm (6000 - 5 x 1003): six of 997.5 fill the rod with five cuts. */
    assert_int_equal(pieces_of_one_bar(6000 * mm, 997500000, 3 * mm), 6);
    assert_int_equal(pieces_of_one_bar(6000 * mm, 997500001, 3 * mm), 5);
}

/* --- CUTGEN1
 * -------------------------------------------------------------------------------------- */

/* Gau, Waescher 1995, p. 576: the first and the last of 150 problems, and their optima. */
static void test_cutgen1_printed(void **state)
{
    (void)state;
    static const struct textbook_part first[] = {{577, 63}, {570, 64}, {544, 85}, {539, 84},
                                                 {526, 54}, {512, 20}, {504, 24}, {459, 31},
                                                 {446, 48}, {378, 27}};
    static const struct textbook_part last[] = {{570, 16}, {558, 94}, {543, 20},
                                                {540, 99}, {513, 59}, {490, 48},
                                                {476, 78}, {453, 35}, {434, 51}};
    struct textbook_part parts[10];
    const struct textbook_bar bar = {1000, ONE, ANY};
    int64_t seed = 1994;
    for (int number = 1; number <= 150; number++) {
        size_t n = textbook_cutgen1(&seed, 10, 1000, 0.375, 0.625, 50, parts);
        if (number > 1 && number < 150)
            continue;
        const struct textbook_part *printed = number == 1 ? first : last;
        assert_int_equal(n, number == 1 ? 10 : 9);
        assert_memory_equal(parts, printed, n * sizeof *parts);
        struct dw_job *job = textbook_job(DW_NM_PER_MM, &bar, 1, parts, n);
        assert_non_null(job);
        struct dw_plan *plan = solve(job);
        assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
        assert_int_equal(plan->totals.n_bars, number == 1 ? 394 : 322);
        dw_plan_free(plan);
        dw_job_free(job);
    }
}

/* The first problems of the 18 classes of Foerster and Waescher 2000 (from memory): proven, and a
 * plan for ten times each demand takes no more than ten times the bars. */
static void test_cutgen1_classes(void **state)
{
    (void)state;
    static const double v1[] = {0.01, 0.01, 0.2}, v2[] = {0.2, 0.8, 0.8};
    static const size_t m[] = {10, 20, 40};
    const struct textbook_bar bar = {1000, ONE, ANY};
    for (size_t class = 0; class < 18; class ++) {
        struct textbook_part parts[40];
        int64_t seed = 1994, bars[2];
        size_t n = textbook_cutgen1(&seed, m[class / 2 % 3], 1000, v1[class / 6], v2[class / 6],
                                    class % 2 ? 100 : 10, parts);
        for (int many = 0; many < 2; many++) {
            for (size_t i = 0; many && i < n; i++)
                parts[i].count *= 10;
            struct dw_job *job = textbook_job(DW_NM_PER_MM, &bar, 1, parts, n);
            assert_non_null(job);
            struct dw_plan *plan = solve(job);
            assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
            bars[many] = plan->totals.n_bars;
            dw_plan_free(plan);
            dw_job_free(job);
        }
        assert_true(bars[1] <= 10 * bars[0]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_examples),
        cmocka_unit_test(test_kerf),
        cmocka_unit_test(test_cutgen1_printed),
        cmocka_unit_test(test_cutgen1_classes),
    };
    return cmocka_run_group_tests_name("solve: examples", tests, NULL, NULL);
}
