/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The exhaustive reference itself, against published optima and against jobs worked by hand. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "brute.h"

/* One material "tube", one order, keeping length 1 000 units, lengths in nm. */
static struct dw_job *new_job(size_t n_supplies, size_t n_parts)
{
    static const size_t tube[] = {0};
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    job->orders = dw_job_alloc(job, 1, sizeof *job->orders);
    job->materials = dw_job_alloc(job, 2, sizeof *job->materials);
    job->supplies = dw_job_alloc(job, n_supplies, sizeof *job->supplies);
    job->parts = dw_job_alloc(job, n_parts, sizeof *job->parts);
    assert_true(job->orders && job->materials && job->supplies && job->parts);
    job->n_orders = job->n_materials = 1;
    job->n_supplies = n_supplies;
    job->n_parts = n_parts;
    job->materials[0] = (struct dw_material){.id = "tube", .worth = {.keep = 1000}};
    for (size_t i = 0; i < n_supplies; i++)
        job->supplies[i] = (struct dw_supply){
            .id = "bar", .count = DW_UNLIMITED, .pack = 1, .tail_material = DW_NONE};
    for (size_t i = 0; i < n_parts; i++)
        job->parts[i] =
            (struct dw_part){.label = "part", .count = 1, .materials = tube, .n_materials = 1};
    return job;
}

static void set_bar(struct dw_job *job, size_t k, dw_length length, dw_money price)
{
    job->supplies[k].length = length;
    job->supplies[k].price = price;
}

static void set_part(struct dw_job *job, size_t i, dw_length length, int64_t count)
{
    job->parts[i].min = job->parts[i].max = length;
    job->parts[i].count = count;
}

#define NO_PLAN (-1)

/* Money of the cheapest plan of all materials, or NO_PLAN. */
static dw_money cheapest(const struct dw_job *job)
{
    const size_t all[] = {0, 1};
    struct brute brute = {0};
    assert_int_equal(brute_solve(&brute, job, all, job->n_materials), 0);
    dw_money money = brute.feasible ? brute.money : NO_PLAN;
    brute_free(&brute);
    return money;
}

/* Gilmore, Gomory 1961, their example with three stock lengths at three prices, as in MO-Book
 * (mobook.github.io), "Extra material: cutting stock": 5 at 6, 6 at 7, 9 at 10; 20 of 2, 10 of 3,
 * 20 of 4. Optimum 170. */
static void gilmore_gomory_1961(void **state)
{
    (void)state;
    struct dw_job *job = new_job(3, 3);
    set_bar(job, 0, 5, 6);
    set_bar(job, 1, 6, 7);
    set_bar(job, 2, 9, 10);
    set_part(job, 0, 2, 20);
    set_part(job, 1, 3, 10);
    set_part(job, 2, 4, 20);
    assert_int_equal(cheapest(job), 170);
    dw_job_free(job);
}

/* One bar length, bars counted. Delorme, Iori, Martello 2016, example 1; Goulimis
 * (arXiv:2004.01937) and Fieldhouse 1990 (from memory), whose LP bounds round up to one bar less;
 * Valerio de Carvalho 2002 (from memory). */
static void published_bar_counts(void **state)
{
    (void)state;
    static const struct {
        dw_length bar;
        struct {
            dw_length length;
            int64_t count;
        } parts[3];
        dw_money bars;
    } rows[] = {
        {9, {{4, 2}, {3, 2}, {2, 2}}, 2},
        {132, {{44, 2}, {33, 3}, {12, 6}}, 3},
        {30, {{15, 1}, {10, 2}, {6, 4}}, 3},
        {8, {{4, 5}, {3, 4}, {2, 8}}, 6},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct dw_job *job = new_job(1, 3);
        set_bar(job, 0, rows[i].bar, 1);
        for (size_t j = 0; j < 3; j++)
            set_part(job, j, rows[i].parts[j].length, rows[i].parts[j].count);
        assert_int_equal(cheapest(job), rows[i].bars);
        dw_job_free(job);
    }
}

/* slashgear.com/1866963: four 2 ft pieces do not come out of 8 ft with a 1/8 in kerf. By hand: six
 * of 1 m not out of 6 m with 3 mm; five of 48 in not out of 240 in, but out of a bar that measures
 * 241 (5 x 48 + 4 x 1/8 = 240 1/2). */
static void kerf_traps(void **state)
{
    (void)state;
    const dw_length inch = DW_NM_PER_IN, mm = DW_NM_PER_MM;
    struct dw_job *job = new_job(1, 1);
    set_bar(job, 0, 96 * inch, 1);
    set_part(job, 0, 24 * inch, 4);
    assert_int_equal(cheapest(job), 1);
    job->saw.kerf = inch / 8;
    assert_int_equal(cheapest(job), 2);
    set_bar(job, 0, 6000 * mm, 1);
    set_part(job, 0, 1000 * mm, 6);
    job->saw.kerf = 3 * mm;
    assert_int_equal(cheapest(job), 2);
    set_part(job, 0, 1000 * mm, 5);
    assert_int_equal(cheapest(job), 1);
    set_bar(job, 0, 240 * inch, 1);
    set_part(job, 0, 48 * inch, 5);
    job->saw.kerf = inch / 8;
    assert_int_equal(cheapest(job), 2);
    job->supplies[0].measured = 241 * inch;
    assert_int_equal(cheapest(job), 1);
    dw_job_free(job);
}

/* By hand: a bar of 10 at 100, a piece of 6. */
static void leftovers_cuts_and_trims(void **state)
{
    (void)state;
    struct dw_job *job = new_job(1, 1);
    struct dw_worth *worth = &job->materials[0].worth;
    set_bar(job, 0, 10, 100);
    set_part(job, 0, 6, 1);
    assert_int_equal(cheapest(job), 100);
    *worth = (struct dw_worth){.kind = DW_WORTH_RATE, .keep = 3, .rate = 5, .per = 1};
    assert_int_equal(cheapest(job), 100 - 4 * 5);
    worth->rate = 50; /* capped at 100 / 10 a length */
    assert_int_equal(cheapest(job), 100 - 4 * 10);
    worth->rate = 5;
    job->saw.kerf = 1;
    job->saw.cut_cost = 7;
    assert_int_equal(cheapest(job), 100 + 7 - 3 * 5);
    job->supplies[0].trim = 1; /* U = 8, the leftover of 1 is scrap, two squaring cuts */
    assert_int_equal(cheapest(job), 100 + 7 + 14);
    job->supplies[0].trim = 0;
    set_part(job, 0, 10, 1); /* nothing left, nothing to cut */
    assert_int_equal(cheapest(job), 100);
    job->saw.grip = 1; /* ... but the grip holds the end */
    assert_int_equal(cheapest(job), NO_PLAN);
    set_part(job, 0, 8, 1); /* rem 2 = kerf + grip */
    assert_int_equal(cheapest(job), 107);
    dw_job_free(job);
}

/* By hand: two pieces that need a bar each, at 10 a bar. */
static void packs_breaks_and_supply(void **state)
{
    (void)state;
    static const struct dw_price_break breaks[] = {{3, 5}};
    struct dw_job *job = new_job(1, 1);
    struct dw_supply *bar = &job->supplies[0];
    set_bar(job, 0, 10, 10);
    set_part(job, 0, 6, 2);
    assert_int_equal(cheapest(job), 20);
    bar->pack = 3;
    assert_int_equal(cheapest(job), 30);
    bar->pack = 1;
    bar->breaks = breaks;
    bar->n_breaks = 1;
    assert_int_equal(cheapest(job), 15); /* three bars at 5 */
    bar->count = 2;
    assert_int_equal(cheapest(job), 20); /* the third is not to be had */
    bar->count = 1;
    assert_int_equal(cheapest(job), NO_PLAN);
    dw_job_free(job);
}

/* By hand: a piece of 6 and a post of 3 to 5 from a bar of 10 at 10, kerf 1. */
static void posts_ranges_and_rules(void **state)
{
    (void)state;
    struct dw_job *job = new_job(1, 2);
    struct dw_part *post = &job->parts[1];
    job->saw.kerf = 1;
    set_bar(job, 0, 10, 10);
    set_part(job, 0, 6, 1);
    *post = (struct dw_part){.label = "post",
                             .min = 2,
                             .max = 4,
                             .count = 2,
                             .materials = post->materials,
                             .n_materials = 1,
                             .post = true,
                             .worth = 4};
    assert_int_equal(cheapest(job), 10 - 4); /* 6 + 1 + 3: one post, stretched or not */
    job->saw.cut_cost = 2;
    assert_int_equal(cheapest(job), 10 - 4 + 2); /* stretched to the end of the bar: one cut */
    post->max = 2;
    assert_int_equal(cheapest(job), 10 - 4 + 4); /* two cuts */
    post->worth = 12; /* worth a bar of its own: 2 + 1 + 2 + 1, two cuts */
    assert_int_equal(cheapest(job), 10 + 4 - 12);
    post->worth = 18;
    assert_int_equal(cheapest(job), 10 + 4 - 18 + 10 + 2 - 18);
    dw_job_free(job);
    job = new_job(2, 1); /* leftovers of 3 to 4 are middling: the dearer bar leaves 5 */
    set_bar(job, 0, 10, 10);
    set_bar(job, 1, 11, 13);
    set_part(job, 0, 6, 1);
    job->materials[0].worth.keep = 5;
    job->rules.no_middling = true;
    job->rules.scrap_max = 2;
    assert_int_equal(cheapest(job), 13);
    job->parts[0].max = 8; /* or the piece is stretched */
    assert_int_equal(cheapest(job), 10);
    dw_job_free(job);
}

/* By hand: two offcuts worth 3 each may be kept, a cap lets one. */
static void a_cap_on_new_offcuts(void **state)
{
    (void)state;
    static const struct dw_worth_class classes[] = {{4, 3}};
    struct dw_job *job = new_job(1, 1);
    set_bar(job, 0, 10, 10);
    set_part(job, 0, 6, 2);
    job->materials[0].worth =
        (struct dw_worth){.kind = DW_WORTH_CLASSES, .keep = 4, .classes = classes, .n_classes = 1};
    assert_int_equal(cheapest(job), 20 - 6);
    job->rules.max_new_offcuts = 1;
    assert_int_equal(cheapest(job), 20 - 3);
    job->rules.max_new_offcuts = 0;
    assert_int_equal(cheapest(job), 20);
    dw_job_free(job);
}

/* By hand: an end-bent bar of 10 at 8, bend 3, straight tail; straight bars of 10 at 9. Kerf 1. */
static void end_bent_bars(void **state)
{
    (void)state;
    static const size_t bent[] = {1};
    struct dw_job *job = new_job(2, 2);
    job->n_materials = 2;
    job->materials[1] =
        (struct dw_material){.id = "bow", .end_bent = true, .worth = {.keep = 1000}};
    job->saw.kerf = 1;
    set_bar(job, 0, 10, 9);
    set_bar(job, 1, 10, 8);
    job->supplies[1].material = 1;
    job->supplies[1].bend = 3;
    job->supplies[1].tail_material = 0;
    set_part(job, 0, 4, 1);
    set_part(job, 1, 5, 1);
    job->parts[1].materials = bent;
    assert_int_equal(cheapest(job), 8); /* 5 + 1 + 4 */
    set_part(job, 1, 6, 1);
    assert_int_equal(cheapest(job), 16); /* a bar each; 3 + 1 + 4 behind the bend end */
    set_part(job, 0, 7, 1);
    assert_int_equal(cheapest(job), 17); /* 7 goes behind no bend */
    set_part(job, 1, 2, 1);
    assert_int_equal(cheapest(job), NO_PLAN); /* shorter than the bend */
    job->parts[1].max = 3;
    assert_int_equal(cheapest(job), 17); /* 3 + 1 + 7 is more than 10 */
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gilmore_gomory_1961),
        cmocka_unit_test(published_bar_counts),
        cmocka_unit_test(kerf_traps),
        cmocka_unit_test(leftovers_cuts_and_trims),
        cmocka_unit_test(packs_breaks_and_supply),
        cmocka_unit_test(posts_ranges_and_rules),
        cmocka_unit_test(a_cap_on_new_offcuts),
        cmocka_unit_test(end_bent_bars),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
