/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Posts: the best choice against every choice there is; lengths, gains and the load check. */
#include "base/base.h"
#include <dropwise/posts.h>
#include "tests/support/shop.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

static struct dw_job *read_job(const char *text)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_job_read_text(text, strlen(text), "posts.yaml", NULL, &job, &report, &error);
    for (size_t i = 0; err && i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    dw_report_free(&report);
    return job;
}

static struct dw_post_list *find(const struct dw_job *job, const struct dw_post_load *load)
{
    struct dw_post_request request = {.load = load ? *load : (struct dw_post_load){0}};
    struct dw_post_list *list = NULL;
    struct dw_error error = {0};
    dw_err err = dw_posts_find(job, &request, &list, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    return list;
}

#define HEAD                                                                                       \
    "dropwise: 1\nname: wishes\nunit: mm\ncurrency: EUR\n"                                         \
    "rules: {keep: 300, leftover worth: 50 %}\n"                                                   \
    "materials:\n  - {id: S48, alloy: S235, outside: 48.3 mm, wall: 4 mm}\n"                       \
    "bars:\n  - {id: new, material: S48, length: 6 m, price: 48}\n"

/* Leftovers count 4 a metre from 300 mm on. */
static void test_lengths_and_gains(void **state)
{
    (void)state;
    struct dw_job *job =
        read_job(HEAD "saw: {kerf: 2, cost per cut: 0.10}\n"
                      "offcuts:\n"
                      "  - {number: a, length: 500}\n"
                      "  - {number: b, length: 1200}\n"
                      "  - {number: c, length: 250}\n"
                      "  - {number: d, length: 640}\n"
                      "posts:\n"
                      "  - {label: arm, length: 400 to 600, at most: 2, worth: 9}\n"
                      "  - {label: stub, length: 200 to 250, at most: 5, worth: 1}\n");
    struct dw_post_list *list = find(job, NULL);
    assert_int_equal(list->n_sources, 4);
    assert_int_equal(list->n, 5);
    assert_true(list->several);
    /* a: 500 as it is, 9 - 2 = 7.00. d: an arm and a stub, 638 mm between them after one kerf, 438
     * and 200, 9 + 1 - 2.56 - 0.10 = 7.34. c: a stub as it is, 1.00, for 250 mm are worth nothing.
     * b: two arms would gain 18 - 4.80 - 0.10 = 13.10, less than a and d together. */
    assert_string_equal(list->sources[list->rows[0].source].number, "a");
    assert_int_equal(list->rows[0].length, 500 * MM);
    assert_int_equal(list->rows[0].gain, 70000);
    assert_string_equal(list->sources[list->rows[1].source].number, "d");
    assert_int_equal(list->rows[1].length, 438 * MM);
    assert_int_equal(list->rows[1].gain, 73400);
    assert_int_equal(list->rows[2].source, list->rows[1].source);
    assert_int_equal(list->rows[2].wish, 1);
    assert_int_equal(list->rows[2].length, 200 * MM);
    assert_int_equal(list->rows[2].leftover, 0);
    assert_string_equal(list->sources[list->rows[3].source].number, "c");
    assert_int_equal(list->rows[3].gain, DW_MONEY_ONE);
    assert_true(list->rows[4].wish == DW_NONE); /* b: no more arms are wanted */
    assert_int_equal(list->rows[4].n_could, 2);
    assert_int_equal(list->rows[4].could[0], 0); /* the dearest first */
    assert_int_equal(list->worth, 20 * DW_MONEY_ONE);
    assert_int_equal(list->gain, 153400);
    dw_post_list_free(list);
    dw_job_free(job);
}

/* What is given up is the book value, but at least the 598 mm that stay after the post, 2.392. */
static void test_book_values(void **state)
{
    (void)state;
    static const struct {
        const char *value;
        dw_money gain;
    } rows[] = {
        {"5", 2920},  /* 3 + 2.392 - 5 - 0.10 */
        {"1", 29000}, /* 3 + 2.392 - 2.392 - 0.10: it earns nothing by being cut */
        {"0", 29000},
        {"5.30", 0}, /* 3 + 2.392 - 5.30 - 0.10 < 0 */
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        struct dw_buf text = {0};
        dw_buf__put(&text, HEAD);
        dw_buf__format(&text,
                       "saw: {kerf: 2, cost per cut: 0.10}\n"
                       "offcuts: [{number: a, length: 1000, book value: %s}]\n"
                       "posts: [{label: arm, length: 400, worth: 3}]\n",
                       rows[i].value);
        struct dw_job *job = read_job(text.text);
        struct dw_post_list *list = find(job, NULL);
        assert_int_equal(list->gain, rows[i].gain);
        assert_int_equal(list->rows[0].wish == DW_NONE, rows[i].gain == 0);
        dw_post_list_free(list);
        dw_job_free(job);
        dw_buf__free(&text);
    }
}

/* Six arms of 400 mm out of 2500 mm need 2410 mm; 88 mm are scrap. Cut one by one they would leave
 * five offcuts in between, and money. */
static void test_several_of_one(void **state)
{
    (void)state;
    struct dw_job *job =
        read_job(HEAD "saw: {kerf: 2}\n"
                      "offcuts: [{number: a, length: 2500}]\n"
                      "posts: [{label: arm, length: 400, at most: 9, worth: 3}]\n");
    struct dw_post_list *list = find(job, NULL);
    assert_int_equal(list->n, 6);
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(list->rows[i].wish, 0);
        assert_int_equal(list->rows[i].leftover, i == 5 ? 88 * MM : 0);
    }
    assert_int_equal(list->gain, 6 * 30000 - 100000); /* 2.5 m at 4 a metre */
    dw_post_list_free(list);
    dw_job_free(job);
}

/* Wishes beyond what can be weighed: one post an offcut, and it is said. */
static void test_too_many_ways(void **state)
{
    (void)state;
    struct dw_buf text = {0};
    dw_buf__put(&text, HEAD "saw: {kerf: 2}\noffcuts:\n");
    for (int i = 0; i < 12; i++)
        dw_buf__format(&text, "  - {number: o%d, length: %d}\n", i, 900 + i);
    dw_buf__put(&text, "posts:\n");
    for (int j = 0; j < 12; j++)
        dw_buf__format(&text, "  - {label: w%d, length: %d, at most: 12, worth: 5}\n", j, 200 + j);
    struct dw_job *job = read_job(text.text);
    struct dw_post_list *list = find(job, NULL);
    assert_false(list->several);
    assert_int_equal(list->n, 12);
    assert_int_equal(list->worth, 60 * DW_MONEY_ONE);
    dw_post_list_free(list);
    dw_job_free(job);
    dw_buf__free(&text);
}

/* What can't be made is no choice: ten posts of 10 mm and kerfs of 2 are all that 118 mm give, so
 * that of five materials there are 11^5 = 161 051 counts to weigh, however many are wished for. */
static void test_counts_that_can_not_be(void **state)
{
    (void)state;
    struct dw_buf text = {0};
    dw_buf__put(&text, "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\nmaterials:\n");
    for (int m = 0; m < 5; m++)
        dw_buf__format(&text, "  - {id: m%d}\n", m);
    dw_buf__put(&text, "bars: [{material: m0, length: 6 m, price: 48}]\noffcuts:\n");
    for (int m = 0; m < 5; m++)
        dw_buf__format(&text, "  - {number: o%d, material: m%d, length: 118}\n", m, m);
    dw_buf__put(&text, "posts:\n");
    for (int m = 0; m < 5; m++)
        dw_buf__format(
            &text, "  - {label: w%d, material: m%d, length: 10, at most: 90, worth: 1}\n", m, m);
    struct dw_job *job = read_job(text.text);
    struct dw_post_list *list = find(job, NULL);
    assert_true(list->several);
    assert_int_equal(list->worth, 50 * DW_MONEY_ONE);
    dw_post_list_free(list);
    dw_job_free(job);
    dw_buf__free(&text);
}

/* Of wishes that are equally dear, the one that stands first in the job comes first. */
static void test_equally_dear(void **state)
{
    (void)state;
    struct dw_job *job = read_job(HEAD "saw: {kerf: 2}\n"
                                       "offcuts: [{number: a, length: 500}, {number: b, length: "
                                       "500}, {number: c, length: 500}]\n"
                                       "posts:\n"
                                       "  - {label: hook, length: 400, worth: 9}\n"
                                       "  - {label: arm, length: 400, worth: 9}\n"
                                       "  - {label: stub, length: 400, worth: 8}\n"
                                       "  - {label: mast, length: 400, worth: 10}\n"
                                       "  - {label: spar, length: 400, worth: 10}\n");
    struct dw_post_list *list = find(job, NULL);
    const size_t order[] = {3, 4, 0}; /* mast, spar, hook; an arm would do as well as the hook */
    assert_int_equal(list->n, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(list->rows[i].n_could, 5);
        for (size_t k = 0; k < 3; k++)
            assert_int_equal(list->rows[i].could[k], order[k]);
        assert_int_equal(list->rows[i].could[3], 1);
        assert_int_equal(list->rows[i].could[4], 2);
    }
    dw_post_list_free(list);
    dw_job_free(job);
}

/* A bar that was cut without squaring leaves its far mill end, which is squared before a post is
 * measured: of 998 mm a post of 994 can't be made, one of 993 can. */
static void test_after_a_plan(void **state)
{
    (void)state;
    static const struct {
        const char *bar, *post;
        bool made;
    } rows[] = {
        {"6 m, price: 48, squaring: 0", "994", false},
        {"6 m, price: 48, squaring: 0", "993", true},
        {"6 m, price: 48, squaring: 0, ends: sawn", "998", true},
        {"6005 mm, price: 48, squaring: 5, ends: \"sawn, mill\"", "998", true},
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        struct dw_buf text = {0};
        dw_buf__format(&text,
                       "dropwise: 1\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2, squaring: 5}\n"
                       "materials: [{id: t}]\nbars: [{length: %s}]\n"
                       "parts: [{label: leg, length: 5000}]\n"
                       "posts: [{label: arm, length: %s, worth: 0}]\n",
                       rows[i].bar, rows[i].post);
        struct dw_job *job = read_job(text.text);
        struct dw_plan *plan = NULL;
        struct dw_post_list *list = NULL;
        assert_int_equal(dw_solve(job, NULL, NULL, &plan, NULL), DW_OK);
        assert_int_equal(plan->layouts[0].leftover, 998 * MM);
        struct dw_post_request request = {.plan = plan};
        job->parts[1].worth = 99 * DW_MONEY_ONE; /* wished for after the plan */
        assert_int_equal(dw_posts_find(job, &request, &list, NULL), DW_OK);
        assert_int_equal(list->rows[0].wish != DW_NONE, rows[i].made);
        dw_post_list_free(list);
        dw_plan_free(plan);
        dw_job_free(job);
        dw_buf__free(&text);
    }
}

/* A grip holds the last 40 mm: what is cut must leave them and a kerf, what is not cut need not. */
static void test_grip(void **state)
{
    (void)state;
    struct dw_job *job =
        read_job(HEAD "saw: {kerf: 2, grip: 40}\n"
                      "offcuts:\n"
                      "  - {number: a, length: 610}\n"
                      "  - {number: b, length: 600}\n"
                      "posts:\n"
                      "  - {label: arm, length: 400 to 600, at most: 9, worth: 9}\n");
    struct dw_post_list *list = find(job, NULL);
    for (size_t i = 0; i < list->n; i++) {
        bool a = strcmp(list->sources[list->rows[i].source].number, "a") == 0;
        assert_int_equal(list->rows[i].length, (a ? 568 : 600) * MM);
        assert_int_equal(list->rows[i].leftover, (a ? 40 : 0) * MM);
    }
    dw_post_list_free(list);
    dw_job_free(job);
}

/* --- against every choice ------------------------------------------------------------------------
 */

struct wish {
    dw_length min, max;
    int64_t count;
    dw_money worth;
};

/* 48 / 2 for 6 m: 40 000 / 10 000 a metre, from 300 mm on. */
static dw_money worth_of(dw_length length)
{
    return length >= 300 * MM ? length / MM * 40 : 0;
}

/* Gain of so many posts from an offcut with sawn ends, no grip, by hand; -1: they do not fit. */
static dw_money gain(dw_length offcut, const struct wish *wishes, const int64_t *made, size_t m)
{
    dw_length least = -2 * MM, most = -2 * MM;
    dw_money worth = 0;
    for (size_t j = 0; j < m; j++) {
        least += made[j] * (wishes[j].min + 2 * MM);
        most += made[j] * (wishes[j].max + 2 * MM);
        worth += made[j] * wishes[j].worth;
    }
    if (least > offcut)
        return -1;
    dw_length left = offcut - most > 2 * MM ? offcut - most - 2 * MM : 0;
    return worth + worth_of(left) - worth_of(offcut);
}

/* All that can be made of offcut i and those after it, every way of each tried. */
static dw_money best(size_t i, size_t n, const dw_length *offcuts, struct wish *wishes, size_t m)
{
    if (i == n)
        return 0;
    dw_money most = best(i + 1, n, offcuts, wishes, m);
    int64_t made[3] = {0}, have[3] = {0};
    for (size_t j = 0; j < m; j++)
        have[j] = wishes[j].count;
    for (made[0] = 0; made[0] <= have[0]; made[0]++)
        for (made[1] = 0; made[1] <= have[1]; made[1]++)
            for (made[2] = 0; made[2] <= have[2]; made[2]++) {
                dw_money g = made[0] + made[1] + made[2] ? gain(offcuts[i], wishes, made, m) : 0;
                if (g <= 0)
                    continue;
                for (size_t j = 0; j < m; j++)
                    wishes[j].count -= made[j];
                dw_money value = g + best(i + 1, n, offcuts, wishes, m);
                for (size_t j = 0; j < m; j++)
                    wishes[j].count += made[j];
                most = value > most ? value : most;
            }
    return most;
}

static void test_equals_brute_force(void **state)
{
    (void)state;
    struct shop dice = {.seed = 31};
    for (int round = 0; round < 150; round++) {
        size_t n = 1 + shop_draw(&dice, 5), m = 1 + shop_draw(&dice, 3);
        dw_length offcuts[5];
        struct wish wishes[3];
        struct dw_buf text = {0};
        dw_buf__put(&text, HEAD "saw: {kerf: 2}\noffcuts:\n");
        for (size_t i = 0; i < n; i++) {
            int64_t mm = 100 + (int64_t)shop_draw(&dice, 1500);
            offcuts[i] = mm * MM;
            dw_buf__format(&text, "  - {number: o%zu, length: %lld}\n", i, (long long)mm);
        }
        dw_buf__put(&text, "posts:\n");
        for (size_t j = 0; j < m; j++) {
            int64_t min = 100 + (int64_t)shop_draw(&dice, 600);
            int64_t max = min + (int64_t)shop_draw(&dice, 300);
            int64_t worth = (int64_t)shop_draw(&dice, 7);
            wishes[j] = (struct wish){min * MM, max * MM, 1 + (int64_t)shop_draw(&dice, 3),
                                      worth * DW_MONEY_ONE};
            dw_buf__format(&text,
                           "  - {label: w%zu, length: %lld to %lld mm, at most: %lld, worth: "
                           "%lld}\n",
                           j, (long long)min, (long long)max, (long long)wishes[j].count,
                           (long long)worth);
        }
        char *yaml = dw_buf__take(&text);
        struct dw_job *job = read_job(yaml);
        struct dw_post_list *list = find(job, NULL);
        dw_money want = best(0, n, offcuts, wishes, m);
        if (list->gain != want)
            print_message("%s", yaml);
        assert_int_equal(list->gain, want);
        dw_post_list_free(list);
        dw_job_free(job);
        free(yaml);
    }
}

/* The computed vector of a scaffold tube 48.3 x 4.0, 600 mm arm, 200 N: 0.50 mm, 21.05 MPa. */
static void test_load_check(void **state)
{
    (void)state;
    struct dw_job *job = read_job(HEAD "saw: {kerf: 2}\n"
                                       "offcuts:\n  - {number: a, length: 600}\n"
                                       "posts:\n"
                                       "  - {label: arm, length: 400 to 600, worth: 9}\n");
    struct dw_post_load load = {.load_n = 200, .safety = 2};
    struct dw_post_list *list = find(job, &load);
    struct dw_post_check check = list->rows[0].check;
    assert_true(check.done && check.fits);
    assert_true(fabs(check.droop_mm - 0.50) < 0.005);
    assert_true(fabs(check.stress_mpa - 21.05) < 0.005);
    assert_true(fabs(check.droop_most_mm - 6) < 1e-9);       /* a hundredth of the arm */
    assert_true(fabs(check.stress_most_mpa - 117.5) < 1e-9); /* 235 / 2 */
    /* scribd 338559492, table of hollow sections: 48.3 x 4 has I 13.8 cm4, W 5.70 cm3 */
    assert_true(fabs(check.inertia_mm4 - 138e3) < 500 && fabs(check.modulus_mm3 - 5700) < 5);
    assert_true(check.e_mpa == 210000 && check.yield_mpa == 235);
    dw_post_list_free(list);
    load.droop = 400 * 1000; /* 0.4 mm */
    list = find(job, &load);
    assert_false(list->rows[0].check.fits);
    dw_post_list_free(list);
    load = (struct dw_post_load){.load_n = 200, .safety = 12};
    list = find(job, &load);
    assert_false(list->rows[0].check.fits); /* 235 / 12 = 19.6 */
    dw_post_list_free(list);
    job->materials[0].alloy = "unobtainium";
    list = find(job, &load);
    assert_false(list->rows[0].check.done);
    assert_non_null(strstr(list->rows[0].check.why_not, "no minimum yield"));
    dw_post_list_free(list);
    load = (struct dw_post_load){.load_n = 200, .safety = 2, .e_mpa = 70000, .yield_mpa = 255};
    list = find(job, &load);
    assert_true(list->rows[0].check.done);
    assert_string_equal(list->rows[0].check.source, "as given");
    dw_post_list_free(list);
    dw_job_free(job);
}

/* The formula is that of a straight tube: whatever is curved is not judged by it. */
static void test_curved_is_not_judged(void **state)
{
    (void)state;
    struct dw_job *job = read_job(HEAD "saw: {kerf: 2}\n"
                                       "offcuts:\n  - {number: a, length: 600}\n"
                                       "posts:\n"
                                       "  - {label: arm, length: 400 to 600, worth: 9}\n");
    struct dw_post_load load = {.load_n = 200, .safety = 2, .e_mpa = 70000, .yield_mpa = 255};
    for (int how = 0; how < 2; how++) {
        job->materials[0].radius = how == 0 ? 600 * MM : 0;
        job->materials[0].end_bent = how == 1;
        struct dw_post_list *list = find(job, &load);
        assert_true(list->rows[0].wish != DW_NONE);
        assert_false(list->rows[0].check.done || list->rows[0].check.fits);
        assert_string_equal(list->rows[0].check.why_not, "the tube is curved");
        dw_post_list_free(list);
    }
    dw_job_free(job);
}

/* A typical slip: ksi, psi or GPa where MPa is asked for. */
static void test_figures_that_no_tube_has(void **state)
{
    (void)state;
    static const struct {
        struct dw_post_load load;
        const char *doubt; /* NULL: none */
    } rows[] = {
        {{.safety = 2}, NULL},
        {{.safety = 1.5, .yield_mpa = 100, .e_mpa = 40000}, NULL},
        {{.safety = 2, .yield_mpa = 1000, .e_mpa = 220000}, NULL},
        {{.safety = 1}, "safety 1:"},
        {{.safety = 1.49}, "safety 1.49:"},
        {{.safety = 2, .yield_mpa = 35}, "yield 35 MPa"},
        {{.safety = 2, .yield_mpa = 35000}, "yield 35000 MPa"},
        {{.safety = 2, .yield_mpa = 99.9}, "yield 99.9 MPa"},
        {{.safety = 2, .e_mpa = 10000}, "stiffness 10000 MPa"},
        {{.safety = 2, .e_mpa = 220001}, "stiffness 220001 MPa"},
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        struct dw_report report = {0};
        assert_int_equal(dw_posts_doubt(&rows[i].load, &report), DW_OK);
        assert_int_equal(report.n_remarks, rows[i].doubt ? 1 : 0);
        if (rows[i].doubt) {
            assert_int_equal(report.remarks[0].severity, DW_DOUBT);
            assert_non_null(strstr(report.remarks[0].what.text, rows[i].doubt));
        }
        dw_report_free(&report);
    }
    struct dw_report all = {0};
    struct dw_post_load wrong = {.safety = 1, .yield_mpa = 5, .e_mpa = 200};
    assert_int_equal(dw_posts_doubt(&wrong, &all), DW_OK);
    assert_int_equal(all.n_remarks, 3);
    dw_report_free(&all);
}

static void test_loads_as_text(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double newton;
    } good[] = {{"40 N", 40},
                {"40N", 40},
                {"4 kg", 39.2266},
                {"10 lbf", 44.482216152605},
                {"10 lb", 44.482216152605},
                {"1.5 kN", 1500}};
    static const char *const bad[] = {"", "4", "kg", "-4 kg", "4 g", "nan N", "1e9 kN", "0 N"};
    struct dw_post_load load;
    for (size_t i = 0; i < DW_COUNT(good); i++) {
        assert_int_equal(
            dw_posts_read(&(struct dw_post_asked){.load = good[i].text}, DW_UNIT_MM, &load, NULL),
            DW_OK);
        assert_true(fabs(load.load_n - good[i].newton) < 1e-9);
    }
    for (size_t i = 0; i < DW_COUNT(bad); i++)
        assert_int_not_equal(
            dw_posts_read(&(struct dw_post_asked){.load = bad[i]}, DW_UNIT_MM, &load, NULL), DW_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lengths_and_gains),
        cmocka_unit_test(test_book_values),
        cmocka_unit_test(test_several_of_one),
        cmocka_unit_test(test_too_many_ways),
        cmocka_unit_test(test_counts_that_can_not_be),
        cmocka_unit_test(test_equally_dear),
        cmocka_unit_test(test_after_a_plan),
        cmocka_unit_test(test_grip),
        cmocka_unit_test(test_equals_brute_force),
        cmocka_unit_test(test_load_check),
        cmocka_unit_test(test_curved_is_not_judged),
        cmocka_unit_test(test_figures_that_no_tube_has),
        cmocka_unit_test(test_loads_as_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
