/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a supplier charges, how much is best bought, and that the verifier reckons it anew. Worked
 * by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <string.h>

#define MM(x)  ((dw_length)(x)*DW_NM_PER_MM)
#define EUR(x) ((dw_money)((x)*10000 + 0.5))

static const size_t tube[] = {0};

/* `used` bars of 3 m at 9.00 give one rail of 2.9 m each, 100 mm of them scrap; a bar of 2 m
 * at 4.00 gives none. Whole bars are worth a third of their price. */
struct fixture {
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_material material;
    struct dw_supply supplies[2];
    struct dw_part part;
    struct dw_supplier terms;
    struct dw_order orders[1];
    struct dw_piece piece;
    struct dw_layout layout;
    struct dw_group group;
    struct dw_fitting fitting;
    struct dw_loose loose;
};

static void set_up(struct fixture *f, int64_t used)
{
    *f = (struct fixture){0};
    assert_int_equal(dw_job_new(&f->job, NULL), DW_OK);
    assert_int_equal(dw_plan_new(&f->plan, NULL), DW_OK);
    memcpy(f->job->currency, "EUR", 4);
    f->material.id = "s48";
    f->material.worth =
        (struct dw_worth){.kind = DW_WORTH_RATE, .keep = MM(500), .rate = EUR(1), .per = MM(1000)};
    const struct dw_supply bar = {
        .count = DW_UNLIMITED, .pack = 1, .tail_material = DW_NONE, .supplier = "yard"};
    f->supplies[0] = f->supplies[1] = bar;
    f->supplies[0].id = "three";
    f->supplies[0].length = MM(3000);
    f->supplies[0].price = EUR(9);
    f->supplies[1].id = "two";
    f->supplies[1].length = MM(2000);
    f->supplies[1].price = EUR(4);
    f->part = (struct dw_part){.label = "rail",
                               .min = MM(2900),
                               .max = MM(2900),
                               .count = used,
                               .n_materials = 1,
                               .materials = tube};
    f->fitting = (struct dw_fitting){
        .id = "tee", .joins = 1, .bushing = DW_NONE, .price = EUR(2.5), .supplier = "yard"};
    f->loose = (struct dw_loose){.count = 2};
    f->terms.name = "yard";
    f->orders[0].name = "rack";
    f->job->n_materials = f->job->n_parts = f->job->n_orders = f->job->n_suppliers = 1;
    f->job->n_supplies = 2;
    f->job->materials = &f->material;
    f->job->supplies = f->supplies;
    f->job->parts = &f->part;
    f->job->orders = f->orders;
    f->job->suppliers = &f->terms;
    f->piece = (struct dw_piece){.use = DW_USE_PART, .length = MM(2900), .count = 1};
    f->layout = (struct dw_layout){.count = used,
                                   .n_pieces = 1,
                                   .pieces = &f->piece,
                                   .rest = DW_REST_SCRAP,
                                   .leftover = MM(100)};
    f->group = (struct dw_group){.n_materials = 1, .materials = tube, .method = "by hand"};
    f->plan->n_layouts = f->plan->n_groups = 1;
    f->plan->layouts = &f->layout;
    f->plan->groups = &f->group;
}

static void sum(struct fixture *f)
{
    f->plan->job_digest = dw_job_digest(f->job);
    assert_int_equal(dw_plan_sum(f->job, f->plan, NULL), DW_OK);
    f->group.value = f->plan->totals.value;
    f->group.status = f->plan->status = DW_STATUS_WITHIN;
    f->group.bound = f->plan->bound = 0;
}

static void tear_down(struct fixture *f)
{
    dw_plan_free(f->plan);
    dw_job_free(f->job);
}

static dw_err check(const struct fixture *f)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_plan_check(f->job, f->plan, &report, &error);
    dw_report_free(&report);
    return err;
}

static void add_fittings(struct fixture *f)
{
    f->job->n_fittings = f->job->n_loose = 1;
    f->job->fittings = &f->fitting;
    f->job->loose = &f->loose;
}

/* 22 bars are 198.00, two tees 5.00: goods 203.00. */
static void test_each_charge(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 22);
    add_fittings(&f);
    f.supplies[0].count = 22;
    f.supplies[1].count = 0;
    f.terms.cut_charge = EUR(5);
    f.terms.cuts_a_pack = 2;
    f.terms.cuts_free = 40;
    f.terms.minimum = EUR(240);
    f.terms.small_under = EUR(203.0001);
    f.terms.small_charge = EUR(25);
    f.terms.freight = EUR(30);
    f.terms.freight_free = EUR(203.0001);
    sum(&f);
    assert_int_equal(f.plan->n_charges, 1);
    const struct dw_charge *charge = &f.plan->charges[0];
    assert_int_equal(charge->goods, EUR(203));
    assert_int_equal(charge->cuts, 44);
    assert_int_equal(charge->cutting, EUR(20));
    assert_int_equal(charge->minimum, EUR(37));
    assert_int_equal(charge->small, EUR(25));
    assert_int_equal(charge->freight, EUR(30));
    assert_int_equal(charge->spare, 0);
    assert_int_equal(charge->group, 0);
    assert_int_equal(dw_charge_sum(charge), EUR(112));
    assert_int_equal(f.plan->totals.charges, EUR(112));
    assert_int_equal(f.plan->totals.value, EUR(198 + 112));
    assert_int_equal(check(&f), DW_OK);
    f.terms.cuts_free = 44;
    f.terms.minimum = f.terms.small_under = f.terms.freight_free = EUR(203);
    sum(&f);
    assert_int_equal(f.plan->totals.charges, 0);
    assert_int_equal(f.plan->n_charges, 1);
    f.terms.cuts_free = 43;
    f.terms.cut_minimum = EUR(8);
    sum(&f);
    assert_int_equal(f.plan->totals.charges, EUR(8));
    assert_int_equal(check(&f), DW_OK);
    tear_down(&f);
}

/* 4 bars are 36.00. To 40.00 it lacks 4.00: a bar of 2 m costs that and is worth 2.00; one of 3 m
 * costs 9.00 and is worth 3.00. */
static void test_bars_for_the_shelf(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 4);
    f.terms.minimum = EUR(40);
    sum(&f);
    assert_int_equal(f.plan->n_takes, 2);
    assert_int_equal(f.plan->takes[1].used, 0);
    assert_int_equal(f.plan->takes[1].bought, 1);
    assert_int_equal(f.plan->totals.charges, 0);
    assert_int_equal(f.plan->totals.spare, EUR(2));
    assert_int_equal(f.plan->totals.value, EUR(36 + 4 - 2));
    assert_int_equal(check(&f), DW_OK);
    /* Freight of 7.50 is free from 45.00: 3 m for 9.00 - 3.00, or three of 2 m for 12.00 - 6.00;
     * the one is fewer bars. */
    f.terms.minimum = 0;
    f.terms.freight = EUR(7.5);
    f.terms.freight_free = EUR(45);
    sum(&f);
    assert_int_equal(f.plan->n_takes, 1);
    assert_int_equal(f.plan->takes[0].bought, 5);
    assert_int_equal(f.plan->totals.value, EUR(36 + 6));
    assert_int_equal(check(&f), DW_OK);
    /* For 5.99 of freight none is bought. */
    f.terms.freight = EUR(5.99);
    sum(&f);
    assert_int_equal(f.plan->takes[0].bought, 4);
    assert_int_equal(f.plan->totals.value, EUR(36 + 5.99));
    tear_down(&f);
}

/* In packs of 3, 4 bars are two packs with two that stay whole: they were paid for, and are not
 * counted. A third pack is worth 9.00. */
static void test_packs(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 4);
    f.supplies[0].pack = 3;
    f.supplies[1].count = 0;
    f.terms.small_charge = EUR(1);
    f.terms.small_under = EUR(50);
    sum(&f);
    assert_int_equal(f.plan->takes[0].bought, 6);
    assert_int_equal(f.plan->totals.spare, 0);
    f.terms.small_charge = EUR(19);
    f.terms.small_under = EUR(60);
    sum(&f);
    assert_int_equal(f.plan->takes[0].bought, 9);
    assert_int_equal(f.plan->totals.spare, EUR(9));
    assert_int_equal(f.plan->totals.value, EUR(81 - 9));
    assert_int_equal(check(&f), DW_OK);
    tear_down(&f);
}

/* From 5 bars on each costs 6.00: with freight free from 30.00, five for four. */
static void test_price_break(void **state)
{
    (void)state;
    static const struct dw_price_break breaks[] = {{5, EUR(6)}};
    struct fixture f;
    set_up(&f, 4);
    f.supplies[0].breaks = breaks;
    f.supplies[0].n_breaks = 1;
    f.supplies[1].count = 0;
    f.terms.freight = EUR(10);
    f.terms.freight_free = EUR(30);
    sum(&f);
    assert_int_equal(f.plan->takes[0].bought, 5);
    assert_int_equal(f.plan->takes[0].money, EUR(30));
    assert_int_equal(f.plan->totals.value, EUR(30 - 3));
    assert_int_equal(check(&f), DW_OK);
    tear_down(&f);
}

static void test_verifier(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 22);
    f.terms.freight = EUR(30);
    f.terms.minimum = EUR(240);
    sum(&f);
    assert_int_equal(check(&f), DW_OK);
    struct dw_charge right = f.plan->charges[0], *charge = f.plan->charges;
    dw_money *const amounts[] = {&charge->goods, &charge->cutting, &charge->minimum,
                                 &charge->small, &charge->freight, &charge->spare};
    for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++) {
        *amounts[i] += 1;
        assert_int_equal(check(&f), DW_ERR_CHECK);
        *charge = right;
    }
    charge->cuts = 1;
    assert_int_equal(check(&f), DW_ERR_CHECK);
    *charge = right;
    charge->group = DW_NONE;
    assert_int_equal(check(&f), DW_ERR_CHECK);
    *charge = right;
    charge->supplier = 1;
    assert_int_equal(check(&f), DW_ERR_CHECK);
    *charge = right;
    f.plan->n_charges = 0;
    assert_int_equal(check(&f), DW_ERR_CHECK);
    f.plan->n_charges = 1;
    f.plan->takes[0].bought -= 1; /* fewer than are cut */
    assert_int_equal(check(&f), DW_ERR_CHECK);
    f.plan->takes[0].bought += 1;
    assert_int_equal(check(&f), DW_OK);
    f.terms.freight = EUR(29);
    assert_int_equal(check(&f), DW_ERR_CHECK); /* another job */
    tear_down(&f);
}

/* A supplier of fittings alone charges in every plan, and is of no group. */
static void test_fittings_alone(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 2);
    add_fittings(&f);
    f.supplies[0].supplier = f.supplies[1].supplier = NULL;
    f.terms.freight = EUR(7);
    sum(&f);
    assert_int_equal(f.plan->n_charges, 1);
    assert_int_equal(f.plan->charges[0].group, DW_NONE);
    assert_int_equal(f.plan->totals.value, EUR(18 + 7));
    f.group.value = EUR(18);
    f.plan->bound = EUR(7);
    assert_int_equal(check(&f), DW_OK);
    f.loose.count = 1;
    f.plan->job_digest = dw_job_digest(f.job);
    assert_int_equal(check(&f), DW_ERR_CHECK); /* goods */
    tear_down(&f);
}

/* A plan held against terms that changed since is one of another job. */
static void test_terms_in_digest(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 2);
    add_fittings(&f);
    f.terms.freight = EUR(7);
    const uint64_t digest = dw_job_digest(f.job);
    int64_t *const figures[] = {&f.terms.minimum,     &f.terms.small_under, &f.terms.small_charge,
                                &f.terms.cut_charge,  &f.terms.cuts_a_pack, &f.terms.cuts_free,
                                &f.terms.cut_minimum, &f.terms.freight,     &f.terms.freight_free,
                                &f.fitting.price,     &f.fitting.joins,     &f.loose.count};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        ++*figures[i];
        assert_true(dw_job_digest(f.job) != digest);
        --*figures[i];
        assert_true(dw_job_digest(f.job) == digest);
    }
    tear_down(&f);
}

/* 18.00 of bars and a freight that leaves no room for them in 64 bits. */
static void test_sum_too_large(void **state)
{
    (void)state;
    struct fixture f;
    struct dw_error error = {0};
    set_up(&f, 2);
    f.terms.freight = INT64_MAX - EUR(18) + 1;
    assert_int_equal(dw_plan_sum(f.job, f.plan, &error), DW_ERR_RANGE);
    f.terms.freight--;
    assert_int_equal(dw_plan_sum(f.job, f.plan, &error), DW_OK);
    assert_int_equal(f.plan->totals.value, INT64_MAX);
    tear_down(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_charge),     cmocka_unit_test(test_bars_for_the_shelf),
        cmocka_unit_test(test_packs),           cmocka_unit_test(test_price_break),
        cmocka_unit_test(test_verifier),        cmocka_unit_test(test_fittings_alone),
        cmocka_unit_test(test_terms_in_digest), cmocka_unit_test(test_sum_too_large),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
