/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Orders: money of the plan to the last digit, packs, breaks, and suppliers' charges. */
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

/* One material; a yard that sells 6 m bars in packs of 5 with a break at 10, and 3 m bars singly; a
 * shelf bar; fittings of the yard and of nobody. */
struct fixture {
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_material material;
    struct dw_price_break breaks[1];
    struct dw_supply supplies[3];
    struct dw_part parts[1];
    struct dw_drawn drawn;
    struct dw_fitting fittings[2];
    struct dw_loose loose;
    struct dw_supplier terms;
    struct dw_order orders[1];
    struct dw_piece piece;
    struct dw_layout layouts[3];
};

static void set_up(struct fixture *f, int64_t six, int64_t three, int64_t shelf)
{
    *f = (struct fixture){0};
    assert_int_equal(dw_job_new(&f->job, NULL), DW_OK);
    assert_int_equal(dw_plan_new(&f->plan, NULL), DW_OK);
    memcpy(f->job->currency, "EUR", 4);
    f->material =
        (struct dw_material){.id = "s48", .od = 48300000, .wall = 4000000, .density_g_m3 = 7850000};
    f->breaks[0] = (struct dw_price_break){.from = 10, .price = EUR(18)};
    const struct dw_supply bar = {.count = DW_UNLIMITED, .pack = 1, .tail_material = DW_NONE};
    f->supplies[0] = f->supplies[1] = f->supplies[2] = bar;
    f->supplies[0].id = "six";
    f->supplies[0].length = MM(6000);
    f->supplies[0].price = EUR(20);
    f->supplies[0].pack = 5;
    f->supplies[0].n_breaks = 1;
    f->supplies[0].breaks = f->breaks;
    f->supplies[0].supplier = "yard";
    f->supplies[1].id = "three";
    f->supplies[1].length = MM(3000);
    f->supplies[1].price = EUR(11.2345);
    f->supplies[1].supplier = "yard";
    f->supplies[2].id = "old";
    f->supplies[2].length = MM(6000);
    f->supplies[2].price = EUR(7);
    f->supplies[2].source = DW_SOURCE_SHELF;
    f->drawn = (struct dw_drawn){.size = MM(1000), .ends = {{.fitting = 0}, {.fitting = DW_NONE}}};
    f->parts[0] = (struct dw_part){.label = "P",
                                   .min = MM(1000),
                                   .max = MM(1000),
                                   .count = six + three + shelf,
                                   .n_materials = 1,
                                   .materials = tube,
                                   .drawn = &f->drawn};
    f->fittings[0] = (struct dw_fitting){.id = "tee",
                                         .joins = 2,
                                         .bushing = DW_NONE,
                                         .price = EUR(2.5),
                                         .supplier = "yard",
                                         .date = "2026-01-15"};
    f->fittings[1] =
        (struct dw_fitting){.id = "foot", .joins = 1, .bushing = DW_NONE, .price = EUR(1)};
    f->loose = (struct dw_loose){.fitting = 1, .count = 4};
    f->terms = (struct dw_supplier){.name = "yard", .price_date = "2026-02-01"};
    f->job->n_materials = f->job->n_parts = f->job->n_orders = 1;
    f->job->materials = &f->material;
    f->job->parts = f->parts;
    f->job->orders = f->orders;
    f->job->n_supplies = 3;
    f->job->supplies = f->supplies;
    f->job->n_fittings = 2;
    f->job->fittings = f->fittings;
    f->job->n_loose = 1;
    f->job->loose = &f->loose;
    f->job->n_suppliers = 1;
    f->job->suppliers = &f->terms;
    f->piece = (struct dw_piece){.use = DW_USE_PART, .length = MM(1000), .count = 1};
    const int64_t counts[] = {six, three, shelf};
    for (size_t i = 0; i < 3; i++) {
        if (counts[i] == 0)
            continue;
        f->layouts[f->plan->n_layouts++] =
            (struct dw_layout){.supply = i,
                               .count = counts[i],
                               .n_pieces = 1,
                               .pieces = &f->piece,
                               .rest = DW_REST_SCRAP,
                               .leftover = f->supplies[i].length - MM(1000)};
    }
    f->plan->layouts = f->layouts;
    assert_int_equal(dw_plan_sum(f->job, f->plan, NULL), DW_OK);
}

static void tear_down(struct fixture *f)
{
    dw_plan_free(f->plan);
    dw_job_free(f->job);
}

static struct dw_order_doc *make(const struct fixture *f, const char *today)
{
    struct dw_order_doc *doc = NULL;
    struct dw_error error = {0};
    if (dw_order_make(f->job, f->plan, today, &doc, &error))
        fail_msg("%s", error.text);
    return doc;
}

static const struct dw_order_line *find(const struct dw_order_doc *doc, enum dw_order_kind kind)
{
    for (size_t i = 0; i < doc->suppliers[0].n_lines; i++) {
        if (doc->suppliers[0].lines[i].kind == kind)
            return &doc->suppliers[0].lines[i];
    }
    return NULL;
}

static void test_bars_and_fittings(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 4, 3, 2);
    struct dw_order_doc *doc = make(&f, NULL);
    assert_int_equal(doc->n_suppliers, 2);
    const struct dw_order_supplier *yard = &doc->suppliers[0];
    assert_string_equal(yard->name, "yard");
    assert_int_equal(yard->n_lines, 3);
    const struct dw_order_line *six = &yard->lines[0];
    assert_string_equal(six->item, "six");
    assert_string_equal(six->text, "48.3 x 4 mm tube, 6000 mm bars");
    assert_int_equal(six->quantity, 5); /* 4 cut, a pack of 5 paid */
    assert_int_equal(six->packs, 1);
    assert_int_equal(six->spare, 1);
    assert_int_equal(six->unit_price, EUR(20));
    assert_int_equal(six->money, EUR(100));
    assert_string_equal(six->date, "2026-02-01");
    /* EN 39 (aljazera.com), 4.37 kg/m: 30 m */
    assert_in_range(six->weight_mg, 130900000, 131200000);
    assert_int_equal(yard->lines[1].money, 3 * EUR(11.2345));
    assert_int_equal(yard->lines[2].quantity, 5); /* 9 ends, 2 a tee, rounded up */
    assert_int_equal(yard->lines[2].money, EUR(12.5));
    assert_string_equal(yard->lines[2].date, "2026-01-15");
    assert_null(doc->suppliers[1].name);
    assert_int_equal(doc->suppliers[1].total, EUR(4));
    assert_int_equal(doc->bars, f.plan->totals.bars); /* the shelf bar is not bought */
    assert_int_equal(doc->total, EUR(100) + 3 * EUR(11.2345) + EUR(12.5) + EUR(4));
    assert_int_equal(doc->n_notes, 1);
    assert_non_null(strstr(doc->notes[0], "six: 1 bar more than the plan cuts"));
    dw_order_free(doc);
    tear_down(&f);
}

/* 9 bars of 20 in packs of 5 are 10 bars: at the break of 10 they cost 18 each. */
static void test_break(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 9, 0, 0);
    struct dw_order_doc *doc = make(&f, NULL);
    assert_int_equal(doc->suppliers[0].lines[0].quantity, 10);
    assert_int_equal(doc->suppliers[0].lines[0].unit_price, EUR(18));
    assert_int_equal(doc->bars, EUR(180));
    assert_int_equal(doc->bars, f.plan->totals.bars);
    dw_order_free(doc);
    tear_down(&f);
}

/* jinlongli.me: the first 20 cuts are free, then they are charged, at least GBP 15; a
 * conduit maker's GBP 25 surcharge under GBP 250 (cutterwell.co.uk). */
static void test_charges(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 0, 22, 0);
    f.supplies[1].price = EUR(9);
    f.supplies[1].count = 22; /* none to be had beyond need */
    f.terms.cut_charge = EUR(5);
    f.terms.cuts_a_pack = 1;
    f.terms.cuts_free = 20;
    f.terms.cut_minimum = EUR(15);
    f.terms.small_under = EUR(250);
    f.terms.small_charge = EUR(25);
    f.terms.freight = EUR(30);
    f.terms.freight_free = EUR(300);
    f.terms.minimum = EUR(240);
    assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
    struct dw_order_doc *doc = make(&f, NULL);
    /* 22 bars x 9 = 198, 11 tees x 2.5 = 27.5: goods 225.5 */
    assert_int_equal(doc->suppliers[0].goods, EUR(225.5));
    assert_int_equal(find(doc, DW_ORDER_CUTS)->quantity, 22);
    assert_int_equal(find(doc, DW_ORDER_CUTS)->money, EUR(15)); /* 2 x 5 is under the least */
    assert_int_equal(find(doc, DW_ORDER_MINIMUM)->money, EUR(14.5));
    assert_int_equal(find(doc, DW_ORDER_SMALL)->money, EUR(25));
    assert_int_equal(find(doc, DW_ORDER_FREIGHT)->money, EUR(30));
    assert_int_equal(doc->charges, EUR(15 + 14.5 + 25 + 30));
    assert_int_equal(doc->charges, f.plan->totals.charges);
    assert_int_equal(doc->bars, EUR(198));
    dw_order_free(doc);
    struct dw_error error = {0};
    f.plan->charges[0].goods += 1;
    assert_int_equal(dw_order_make(f.job, f.plan, NULL, &doc, &error), DW_ERR_CHECK);
    f.plan->charges[0].goods -= 1;
    f.plan->charges[0].freight += 1;
    assert_int_equal(dw_order_make(f.job, f.plan, NULL, &doc, &error), DW_ERR_CHECK);
    f.plan->charges[0].freight -= 1;
    f.terms.cuts_free = 22;
    f.terms.freight_free = EUR(225.5);
    f.terms.minimum = f.terms.small_under = EUR(225.5);
    assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
    doc = make(&f, NULL);
    assert_int_equal(find(doc, DW_ORDER_CUTS)->money, 0);
    assert_int_equal(doc->charges, 0);
    dw_order_free(doc);
    tear_down(&f);
}

static void test_validity(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 0, 1, 0);
    f.terms.valid_until = "2026-03-01";
    struct dw_order_doc *doc = make(&f, "2026-03-01");
    assert_false(doc->suppliers[0].expired);
    assert_int_equal(doc->n_notes, 0);
    dw_order_free(doc);
    doc = make(&f, "2026-03-02");
    assert_true(doc->suppliers[0].expired);
    assert_string_equal(doc->notes[0],
                        "yard: the prices held until 2026-03-01; ask again before ordering");
    dw_order_free(doc);
    struct dw_error error = {0};
    assert_int_equal(dw_order_make(f.job, f.plan, "1 March", &doc, &error), DW_ERR_INPUT);
    assert_null(doc);
    tear_down(&f);
}

/* An order never prices anew: a plan whose money is not its prices is refused. */
static void test_tampered_plan(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f, 0, 3, 0);
    struct dw_order_doc *doc = NULL;
    f.plan->takes[0].money += 1;
    assert_int_equal(dw_order_make(f.job, f.plan, NULL, &doc, NULL), DW_ERR_CHECK);
    f.plan->takes[0].money += 2;
    assert_int_equal(dw_order_make(f.job, f.plan, NULL, &doc, NULL), DW_ERR_CHECK);
    f.plan->takes[0].money -= 3;
    f.plan->status = DW_STATUS_INFEASIBLE;
    assert_int_equal(dw_order_make(f.job, f.plan, NULL, &doc, NULL), DW_ERR_STATE);
    assert_null(doc);
    tear_down(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bars_and_fittings), cmocka_unit_test(test_break),
        cmocka_unit_test(test_charges),           cmocka_unit_test(test_validity),
        cmocka_unit_test(test_tampered_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
