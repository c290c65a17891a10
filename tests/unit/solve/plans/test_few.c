/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fewer layouts: valid by an own recount, never dearer than allowed, as few as an exhaustive search
 * finds, and the same each time. */
#include "solve/plans/few.h"
#include "solve/plans/few_core.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "random_job.h"
#include "textbook.h"

enum { MOST_PARTS = 40, MOST_LAYOUTS = 4096 };

static struct dw_plan *solve(const struct dw_job *job, int64_t ppm, int64_t threads)
{
    struct dw_settings settings;
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    dw_settings_default(&settings);
    settings.time_ms = 0;
    settings.threads = threads;
    settings.few_layouts_ppm = ppm;
    if (dw_solve(job, &settings, NULL, &plan, &error) != DW_OK)
        fail_msg("%s", error.text);
    return plan;
}

static struct dw_job *make_job(int64_t length, const struct textbook_part *parts, size_t n)
{
    const struct textbook_bar bar = {length, DW_MONEY_ONE, DW_UNLIMITED};
    struct dw_job *job = textbook_job(DW_NM_PER_MM, &bar, 1, parts, n);
    assert_non_null(job);
    return job;
}

/* Every piece once and no other, every bar within its length, from the plan's layouts alone. */
static void recount(const struct dw_job *job, const struct dw_plan *plan)
{
    int64_t made[MOST_PARTS] = {0}, bars = 0;
    for (size_t p = 0; p < plan->n_layouts; p++) {
        const struct dw_layout *layout = &plan->layouts[p];
        dw_length used = 0;
        for (size_t j = 0; j < layout->n_pieces; j++) {
            const struct dw_piece *piece = &layout->pieces[j];
            assert_int_equal(piece->use, DW_USE_PART);
            assert_int_equal(piece->length, job->parts[piece->part].min);
            used += piece->length * piece->count;
            made[piece->part] += piece->count * layout->count;
        }
        assert_true(used <= job->supplies[layout->supply].length);
        bars += layout->count;
    }
    for (size_t i = 0; i < job->n_parts; i++)
        assert_int_equal(made[i], job->parts[i].count);
    assert_int_equal(bars, plan->totals.n_bars);
}

/* --- the exhaustive reference ----------------------------------------------------------------- */

struct brute {
    size_t n;
    int64_t length, size[MOST_PARTS];
    size_t n_layouts;
    int64_t layouts[MOST_LAYOUTS][4];
};

static void list_layouts(struct brute *b, size_t i, int64_t room, int64_t *count,
                         const struct textbook_part *parts)
{
    if (i == b->n) {
        assert_true(b->n_layouts < MOST_LAYOUTS);
        if (room < b->length)
            memcpy(b->layouts[b->n_layouts++], count, sizeof b->layouts[0]);
        return;
    }
    for (int64_t c = 0; c <= parts[i].count && c * b->size[i] <= room; c++) {
        count[i] = c;
        list_layouts(b, i + 1, room - c * b->size[i], count, parts);
    }
    count[i] = 0;
}

/* Whether `left` can be cut with at most `most` of the layouts from `at` on, `bars` bars. */
static bool can(const struct brute *b, size_t at, const int64_t *left, int64_t bars, size_t most)
{
    int64_t sum = 0;
    for (size_t i = 0; i < b->n; i++)
        sum += left[i] * b->size[i];
    if (sum == 0)
        return true;
    if (most == 0 || sum > bars * b->length)
        return false;
    for (size_t a = at; a < b->n_layouts; a++) {
        int64_t rest[4];
        memcpy(rest, left, sizeof rest);
        for (int64_t times = 1; times <= bars; times++) {
            bool enough = true;
            for (size_t i = 0; i < b->n; i++) {
                rest[i] -= b->layouts[a][i];
                enough = enough && rest[i] >= 0;
            }
            if (!enough)
                break;
            if (can(b, a + 1, rest, bars - times, most - 1))
                return true;
        }
    }
    return false;
}

static void check_least(const struct textbook_part *parts, size_t n, int64_t length)
{
    struct brute *b = calloc(1, sizeof *b);
    struct dw_job *job = make_job(length, parts, n);
    struct dw_plan *plan = solve(job, 0, 1);
    int64_t count[4] = {0}, demand[4] = {0};
    assert_non_null(b);
    b->n = n;
    b->length = length;
    for (size_t i = 0; i < n; i++) {
        b->size[i] = parts[i].length;
        demand[i] = parts[i].count;
    }
    list_layouts(b, 0, length, count, parts);
    recount(job, plan);
    int64_t bars = plan->totals.n_bars;
    assert_false(can(b, 0, demand, bars - 1, (size_t)bars));
    size_t least = 1;
    while (!can(b, 0, demand, bars, least))
        least++;
    assert_int_equal(plan->n_layouts, least);
    dw_plan_free(plan);
    dw_job_free(job);
    free(b);
}

static void as_few_as_an_exhaustive_search(void **state)
{
    (void)state;
    struct random random = {7};
    for (int round = 0; round < 60; round++) {
        struct textbook_part parts[4];
        size_t n = (size_t)random_in(&random, 1, 4);
        int64_t length = random_in(&random, 12, 24), size = length;
        for (size_t i = 0; i < n; i++) {
            int64_t least = (int64_t)(n - i);
            size = random_in(&random, size / 2 > least ? size / 2 : least, size - 1);
            parts[i] = (struct textbook_part){size, random_in(&random, 1, 6)};
        }
        check_least(parts, n, length);
    }
}

/* --- worked by hand --------------------------------------------------------------------------- */

static void one_layout_where_one_is_enough(void **state)
{
    (void)state;
    const struct textbook_part thirds[] = {{6, 4}, {4, 4}, {2, 4}};
    struct dw_job *job = make_job(12, thirds, 3);
    struct dw_plan *plan = solve(job, 0, 1);
    assert_int_equal(plan->totals.n_bars, 4);
    assert_int_equal(plan->n_layouts, 1);
    dw_plan_free(plan);
    dw_job_free(job);
    const struct textbook_part uneven[] = {{6, 4}, {4, 2}}; /* 2 of [6 4], 2 of [6] */
    check_least(uneven, 2, 10);
}

/* 48 of length: four bars of 12 at 10 without waste are cheapest, and one layout serves. */
static void one_layout_among_priced_bars(void **state)
{
    (void)state;
    const struct textbook_part parts[] = {{6, 4}, {4, 4}, {2, 4}};
    const struct textbook_bar bars[] = {{12, 10 * DW_MONEY_ONE, DW_UNLIMITED},
                                        {7, 6 * DW_MONEY_ONE, 9}};
    struct dw_job *job = textbook_job(DW_NM_PER_MM, bars, 2, parts, 3);
    assert_non_null(job);
    job->saw.cut_cost = DW_MONEY_ONE / 10; /* 2 a bar */
    struct dw_plan *plan = solve(job, 0, 1);
    recount(job, plan);
    assert_int_equal(plan->totals.value, 40 * DW_MONEY_ONE + 8 * DW_MONEY_ONE / 10);
    assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
    assert_int_equal(plan->n_layouts, 1);
    dw_plan_free(plan);
    dw_job_free(job);
}

/* Three halves of a bar: two bars in two layouts, or at half as much again three bars in one. */
static void gives_up_just_what_is_allowed(void **state)
{
    (void)state;
    const struct textbook_part halves[] = {{5, 3}};
    static const struct {
        int64_t asked, ruled, bars;
        size_t layouts;
    } cases[] = {{0, 0, 2, 2},      {499999, 0, 2, 2},      {500000, 0, 3, 1},
                 {0, 500000, 3, 1}, {1000, 500000, 3, 1},   {500000, 1000, 3, 1},
                 {0, 499999, 2, 2}, {499999, 499999, 2, 2}, {1000000, 0, 3, 1}};
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        struct dw_job *job = make_job(10, halves, 1);
        job->rules.few_layouts_ppm = cases[c].ruled;
        struct dw_plan *plan = solve(job, cases[c].asked, 1);
        assert_int_equal(plan->totals.n_bars, cases[c].bars);
        assert_int_equal(plan->n_layouts, cases[c].layouts);
        assert_int_equal(plan->status, cases[c].bars == 2 ? DW_STATUS_OPTIMAL : DW_STATUS_WITHIN);
        dw_plan_free(plan);
        dw_job_free(job);
    }
    assert_int_equal(dw_few__allowance(1000, 10000), 10);
    assert_int_equal(dw_few__allowance(99, 10000), 0);
    assert_int_equal(dw_few__allowance(-1000, 10000), 0);
    assert_int_equal(dw_few__allowance(INT64_MAX, 1000000), INT64_MAX);
}

static void fits_on_given_numbers_of_bars(void **state)
{
    (void)state;
    struct dw_job *job = make_job(10, &(struct textbook_part){5, 3}, 1);
    struct dw_bar_kind kind = {0};
    struct dw_bar_stock stock = {.cap = 10};
    const struct dw_problem problem = {.job = job,
                                       .n_kinds = 1,
                                       .kinds = &kind,
                                       .n_stocks = 1,
                                       .stocks = &stock,
                                       .max_kept = DW_UNLIMITED};
    int64_t sizes[] = {6, 3, 2};
    size_t items[] = {0, 1, 2};
    struct dw_few few = {.problem = &problem,
                         .cap = 10,
                         .pieces = 4,
                         .n = 3,
                         .item = items,
                         .size = sizes,
                         .value = sizes,
                         .most = 10,
                         .random = 1};
    struct dw_few_set set = {0};
    assert_true(dw_few_set__make(&set, 2, 3));
    set.n_layouts = 2;
    set.bars[0] = 3;
    set.bars[1] = 2;
    assert_true(dw_few__fit(&few, (const int64_t[]){3, 7, 4}, &set, 1000));
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(3 * set.count[i] + 2 * set.count[3 + i], i == 0 ? 3 : i == 1 ? 7 : 4);
    /* 61 of 50; then 1 is not 3 a + 2 b */
    assert_false(dw_few__fit(&few, (const int64_t[]){3, 7, 11}, &set, 1000));
    assert_false(dw_few__fit(&few, (const int64_t[]){1, 2, 2}, &set, 1000));
    few.pieces = 3; /* 6 + 3 three times, and 3 + 3 + 2 + 2 twice, is the only way */
    assert_false(dw_few__fit(&few, (const int64_t[]){3, 7, 4}, &set, 1000));
    dw_few_set__free(&set);
    dw_job_free(job);
}

/* --- the published classes -------------------------------------------------------------------- */

/* Averages of Foerster and Waescher 2000 over 100 problems, from memory; here over the first 3. */
static void beats_pattern_merging(void **state)
{
    (void)state;
    static const struct {
        size_t types;
        double v1, v2, mean;
        double layouts;
    } classes[] = {
        {10, 0.01, 0.2, 100, 7.81}, {20, 0.01, 0.2, 10, 5.89}, {20, 0.01, 0.8, 100, 19.28}};
    for (size_t c = 0; c < sizeof classes / sizeof classes[0]; c++) {
        int64_t seed = 1994;
        size_t layouts = 0, at_one_percent = 0;
        for (int i = 0; i < 3; i++) {
            struct textbook_part parts[MOST_PARTS];
            size_t n = textbook_cutgen1(&seed, classes[c].types, 1000, classes[c].v1, classes[c].v2,
                                        classes[c].mean, parts);
            struct dw_job *job = make_job(1000, parts, n);
            struct dw_plan *plan = solve(job, 0, 1), *fewer = solve(job, 10000, 1);
            recount(job, plan);
            recount(job, fewer);
            assert_int_equal(plan->status, DW_STATUS_OPTIMAL);
            assert_true(fewer->totals.value <= plan->totals.value + plan->totals.value / 100);
            layouts += plan->n_layouts;
            at_one_percent += fewer->n_layouts;
            dw_plan_free(plan);
            dw_plan_free(fewer);
            dw_job_free(job);
        }
        assert_true((double)layouts <= 3 * classes[c].layouts);
        assert_true(at_one_percent <= layouts);
    }
}

/* --- jobs of every mix ------------------------------------------------------------------------ */

static void never_dearer_than_allowed(void **state)
{
    (void)state;
    for (uint64_t seed = 500; seed < 620; seed++) {
        struct dw_job *job = random_job(seed);
        assert_non_null(job);
        job->rules.few_layouts_ppm = 0;
        struct dw_plan *plan = solve(job, 0, 1), *fewer = solve(job, 200000, 1);
        assert_int_equal(plan->n_groups, fewer->n_groups);
        for (size_t g = 0; g < plan->n_groups; g++) {
            dw_money money = plan->groups[g].value;
            assert_true(fewer->groups[g].value >= plan->groups[g].bound);
            assert_true(fewer->groups[g].value <= money + (money > 0 ? money / 5 : 0));
        }
        dw_plan_free(plan);
        dw_plan_free(fewer);
        dw_job_free(job);
    }
}

static dw_length longest_of(const struct dw_layout *layout)
{
    dw_length longest = 0;
    for (size_t i = 0; i < layout->n_pieces; i++)
        if (layout->pieces[i].length > longest)
            longest = layout->pieces[i].length;
    return longest;
}

/* Bars are numbered in the order of cutting: the longest piece first, so that one that is spoiled
 * becomes a shorter one (common practice). */
static void the_longest_piece_is_cut_first(void **state)
{
    (void)state;
    int64_t seed = 1994;
    for (int round = 0; round < 6; round++) {
        struct textbook_part parts[MOST_PARTS];
        size_t n = textbook_cutgen1(&seed, 10, 1000, 0.2, 0.8, 10, parts);
        struct dw_job *job = make_job(1000, parts, n);
        struct dw_plan *plan = solve(job, 0, 1);
        int64_t bar = 1;
        for (size_t p = 0; p < plan->n_layouts; p++) {
            const struct dw_layout *layout = &plan->layouts[p];
            assert_int_equal(layout->bar, bar);
            assert_true(p == 0 || longest_of(layout - 1) >= longest_of(layout));
            bar += layout->count;
        }
        assert_int_equal(bar - 1, plan->totals.n_bars);
        dw_plan_free(plan);
        dw_job_free(job);
    }
}

static void the_same_each_time(void **state)
{
    (void)state;
    struct textbook_part parts[MOST_PARTS];
    int64_t seed = 77;
    size_t n = textbook_cutgen1(&seed, 20, 1000, 0.01, 0.8, 10, parts);
    struct dw_job *job = make_job(1000, parts, n);
    struct dw_plan *a = solve(job, 5000, 1), *b = solve(job, 5000, 2);
    assert_int_equal(a->n_layouts, b->n_layouts);
    assert_int_equal(a->groups[0].work, b->groups[0].work);
    for (size_t p = 0; p < a->n_layouts; p++) {
        assert_int_equal(a->layouts[p].count, b->layouts[p].count);
        assert_int_equal(a->layouts[p].n_pieces, b->layouts[p].n_pieces);
        for (size_t j = 0; j < a->layouts[p].n_pieces; j++) {
            assert_int_equal(a->layouts[p].pieces[j].part, b->layouts[p].pieces[j].part);
            assert_int_equal(a->layouts[p].pieces[j].count, b->layouts[p].pieces[j].count);
        }
    }
    dw_plan_free(a);
    dw_plan_free(b);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_few_as_an_exhaustive_search),
        cmocka_unit_test(one_layout_where_one_is_enough),
        cmocka_unit_test(one_layout_among_priced_bars),
        cmocka_unit_test(gives_up_just_what_is_allowed),
        cmocka_unit_test(fits_on_given_numbers_of_bars),
        cmocka_unit_test(beats_pattern_merging),
        cmocka_unit_test(never_dearer_than_allowed),
        cmocka_unit_test(the_longest_piece_is_cut_first),
        cmocka_unit_test(the_same_each_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
