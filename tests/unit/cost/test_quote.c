/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quotes: what the jobs of a batch are charged is what was spent, to the last cent. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MM(x)  ((dw_length)(x)*DW_NM_PER_MM)
#define EUR(x) ((dw_money)((x)*10000 + 0.5))

/* --- a batch by hand
 * ------------------------------------------------------------------------------ */

static const size_t tube[] = {0};

/* One bar of 6000 mm at 60.00 with 10 mm trims; two jobs: A has 2 pieces of 1000, B one of 1990;
 * kerf
 * 5. S = 3990 + 10, U = 5980, so the last kerf counts. The 20 of trim by 2000 : 1990 are 10.025063
 * : 9.974937, to the nanometre: A uses 2020.025063, B 2004.974937, and 1975 is left, and kept. */
struct fixture {
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_material material;
    struct dw_supply supply;
    struct dw_part parts[2];
    struct dw_order orders[2];
    struct dw_piece pieces[2];
    struct dw_layout layout;
    struct dw_quote_terms terms;
};

static void set_up(struct fixture *f)
{
    *f = (struct fixture){0};
    assert_int_equal(dw_job_new(&f->job, NULL), DW_OK);
    assert_int_equal(dw_plan_new(&f->plan, NULL), DW_OK);
    memcpy(f->job->currency, "EUR", 4);
    f->job->saw = (struct dw_saw){.kerf = MM(5), .cut_cost = EUR(0.5)};
    f->material = (struct dw_material){.id = "t", .name = "rack tube", .worth.keep = MM(300)};
    f->supply = (struct dw_supply){.id = "six",
                                   .length = MM(6000),
                                   .price = EUR(60),
                                   .count = DW_UNLIMITED,
                                   .pack = 1,
                                   .trim = MM(10),
                                   .tail_material = DW_NONE};
    for (size_t i = 0; i < 2; i++)
        f->parts[i] = (struct dw_part){.label = i ? "b" : "a",
                                       .order = i,
                                       .min = MM(i ? 1990 : 1000),
                                       .max = MM(i ? 1990 : 1000),
                                       .count = i ? 1 : 2,
                                       .n_materials = 1,
                                       .materials = tube};
    f->orders[0] = (struct dw_order){.name = "A", .client = "trio"};
    f->orders[1] = (struct dw_order){.name = "B"};
    f->pieces[0] = (struct dw_piece){.use = DW_USE_PART, .length = MM(1000), .count = 2};
    f->pieces[1] = (struct dw_piece){.use = DW_USE_PART, .part = 1, .length = MM(1990), .count = 1};
    f->layout = (struct dw_layout){
        .count = 1, .n_pieces = 2, .pieces = f->pieces, .rest = DW_REST_KEPT, .leftover = MM(1975)};
    f->job->n_materials = f->job->n_supplies = 1;
    f->job->materials = &f->material;
    f->job->supplies = &f->supply;
    f->job->n_parts = f->job->n_orders = 2;
    f->job->parts = f->parts;
    f->job->orders = f->orders;
    f->plan->n_layouts = 1;
    f->plan->layouts = &f->layout;
    assert_int_equal(dw_plan_sum(f->job, f->plan, NULL), DW_OK);
    dw_quote_terms_default(&f->terms);
}

static void tear_down(struct fixture *f)
{
    dw_plan_free(f->plan);
    dw_job_free(f->job);
}

static struct dw_quote_doc *make(const struct fixture *f, const char *today)
{
    struct dw_quote_doc *doc = NULL;
    struct dw_error error = {0};
    if (dw_quote_make(f->job, f->plan, &f->terms, today, &doc, &error))
        fail_msg("%s", error.text);
    return doc;
}

static dw_money cost_of(const struct dw_quote_job *job, enum dw_line_kind kind)
{
    dw_money sum = 0;
    for (size_t i = 0; i < job->n_lines; i++)
        sum += job->lines[i].kind == kind ? job->lines[i].cost : 0;
    return sum;
}

/* 60.00 by 2020.025063 : 2004.974937 = 30.112.. : 29.887..; 5 cuts (2 squarings) of 0.50 by 2 : 1
 * pieces. */
static void test_whole_bars(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    struct dw_quote_doc *doc = make(&f, NULL);
    assert_int_equal(doc->spent, EUR(62.5));
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_TUBE), EUR(30.11));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_TUBE), EUR(29.89));
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_CUTS), EUR(1.67));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_CUTS), EUR(0.83));
    assert_int_equal(doc->shop, 0);
    assert_int_equal(doc->charged, doc->spent);
    assert_string_equal(doc->jobs[0].lines[0].text, "rack tube, whole bars for 2 pieces");
    assert_string_equal(doc->jobs[0].lines[0].quantity, "2000 mm");
    assert_string_equal(doc->jobs[0].client, "trio");
    assert_int_equal(doc->n_offcuts, 1);
    assert_int_equal(doc->offcuts[0].owner, 0); /* A uses more of the bar */
    assert_int_equal(doc->offcuts[0].cost, 0);
    assert_int_equal(doc->jobs[0].n_offcuts, 1);
    assert_int_equal(doc->jobs[0].offcuts[0].count, doc->offcuts[0].count);
    assert_int_equal(doc->jobs[1].n_offcuts, 0);
    assert_int_equal(doc->n_shop_offcuts, 0);
    dw_quote_free(doc);
    tear_down(&f);
}

/* The same of a bar at 10 000 000 000.00: 5 018 695 808.695.. : 4 981 304 191.304.. */
static void test_large_sums(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.supply.price = EUR(10000000000);
    assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
    struct dw_quote_doc *doc = make(&f, NULL);
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_TUBE), INT64_C(50186958087000));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_TUBE), INT64_C(49813041913000));
    dw_quote_free(doc);
    tear_down(&f);
}

/* A and B have a piece of 1000 each on every bar and use 1005 of it: half of the tube each, however
 * many layouts there are. 900 bars at 10.0001 are 9000.09, half of it 4500.045; in length used,
 * 2010 of 6000 mm without trims are 3015.03015, half of it 1507.515075. */
static void test_many_layouts(void **state)
{
    (void)state;
    enum { N = 900 };
    static const struct {
        enum dw_charge_way way;
        enum dw_waste_rule waste;
        double half; /* 1/10 000 */
    } cases[] = {{DW_CHARGE_BARS, DW_WASTE_BAR, 45000450},
                 {DW_CHARGE_BARS, DW_WASTE_BATCH, 45000450},
                 {DW_CHARGE_USED, DW_WASTE_BAR, 15075150.75},
                 {DW_CHARGE_USED, DW_WASTE_BATCH, 15075150.75}};
    struct fixture f;
    set_up(&f);
    f.job->saw.cut_cost = 0;
    f.supply.price = 100001;
    f.supply.trim = 0;
    f.parts[1].min = f.parts[1].max = MM(1000);
    f.parts[0].count = f.parts[1].count = N;
    f.pieces[0].count = 1;
    f.pieces[1].length = MM(1000);
    f.layout.leftover = MM(3990);
    struct dw_layout *layouts = dw_plan_alloc(f.plan, N, sizeof *layouts);
    assert_non_null(layouts);
    for (size_t i = 0; i < N; i++)
        layouts[i] = f.layout;
    f.plan->layouts = layouts;
    f.plan->n_layouts = N;
    assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        f.terms.way = cases[i].way;
        f.terms.waste = cases[i].waste;
        struct dw_quote_doc *doc = make(&f, NULL);
        assert_int_equal(doc->spent, EUR(9000.09));
        assert_int_equal(doc->charged, EUR(9000.09));
        for (size_t o = 0; o < 2; o++) {
            double is = (double)cost_of(&doc->jobs[o], DW_LINE_TUBE);
            if (fabs(is - cases[i].half) >= 100)
                fail_msg("case %zu: %.0f, not %.2f", i, is, cases[i].half);
        }
        dw_quote_free(doc);
    }
    tear_down(&f);
}

/* 60.00 x 4025 / 6000 = 40.25 by 2020.025063 : 2004.974937 = 20.2003 : 20.0497; 19.75 is left. */
static void test_length_used(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.terms.way = DW_CHARGE_USED;
    f.terms.offcuts = DW_OWNER_SHOP;
    f.terms.waste = DW_WASTE_BATCH;
    struct dw_quote_doc *doc = make(&f, NULL);
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_TUBE), EUR(20.2));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_TUBE), EUR(20.05));
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_WASTE), 0);
    /* 2010 and 10.025 of the 20 mm of trim */
    assert_string_equal(doc->jobs[0].lines[0].quantity, "~2020.03 mm");
    assert_int_equal(doc->shop, EUR(19.75));
    assert_int_equal(doc->offcuts[0].owner, DW_NONE);
    assert_int_equal(doc->offcuts[0].cost, EUR(19.75));
    assert_int_equal(doc->n_shop_offcuts, 1);
    assert_int_equal(doc->shop_offcuts[0].cost, EUR(19.75));
    assert_int_equal(doc->jobs[0].n_offcuts + doc->jobs[1].n_offcuts, 0);
    dw_quote_free(doc);
    f.terms.offcuts = DW_OWNER_CLIENT; /* then the batch pays what is left as well */
    doc = make(&f, NULL);
    assert_int_equal(doc->shop, 0);
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_TUBE), EUR(20.2));
    /* 19.75 by 2020.025063 : 2004.974937 = 9.9119 : 9.8381 */
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_WASTE), EUR(9.91));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_WASTE), EUR(9.84));
    dw_quote_free(doc);
    tear_down(&f);
}

/* A is cut from one bar of 60.00, squared at both ends: 2 x (1000 + 5) + 20 = 2030 used. B is cut
 * from another of 30.00 that was sawn before: 1990 + 5 = 1995. By batch 90.00 x 2030 / 4025
 * = 45.391.. and 90.00 x 1995 / 4025 = 44.608..; without the squared ends it would be 45.169..
 * and 44.831. */
static void test_batch_counts_squared_ends(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    struct dw_supply supplies[2] = {f.supply, f.supply};
    struct dw_layout layouts[2] = {f.layout, f.layout};
    supplies[1].id = "sawn";
    supplies[1].price = EUR(30);
    supplies[1].ends[0] = supplies[1].ends[1] = DW_END_SAWN;
    f.job->supplies = supplies;
    f.job->n_supplies = 2;
    layouts[0].n_pieces = layouts[1].n_pieces = 1;
    layouts[0].leftover = MM(3970);
    layouts[1].supply = 1;
    layouts[1].pieces = &f.pieces[1];
    layouts[1].leftover = MM(4005);
    f.plan->layouts = layouts;
    f.plan->n_layouts = 2;
    assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
    f.terms.way = DW_CHARGE_BARS;
    f.terms.waste = DW_WASTE_BATCH;
    struct dw_quote_doc *doc = make(&f, NULL);
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_TUBE), EUR(45.39));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_TUBE), EUR(44.61));
    dw_quote_free(doc);
    tear_down(&f);
}

/* Pieces 2000 : 1990 of 6000 at 60.00 = 20.00 : 19.90, and 10 %: 22.00, 21.89; the shop 16.11. */
static void test_percentage(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.terms.way = DW_CHARGE_PERCENT;
    f.terms.percent_ppm = 100000;
    f.terms.offcuts = DW_OWNER_SHOP;
    f.terms.waste = DW_WASTE_SHOP;
    struct dw_quote_doc *doc = make(&f, NULL);
    assert_int_equal(cost_of(&doc->jobs[0], DW_LINE_TUBE), EUR(22));
    assert_int_equal(cost_of(&doc->jobs[1], DW_LINE_TUBE), EUR(21.89));
    assert_int_equal(doc->shop, EUR(16.11));
    assert_string_equal(doc->jobs[1].lines[0].text, "rack tube, with 10 % for waste");
    dw_quote_free(doc);
    f.terms.percent_ppm = 2000000; /* 200 %: the shop gains */
    doc = make(&f, NULL);
    assert_int_equal(doc->shop, -EUR(59.7));
    dw_quote_free(doc);
    tear_down(&f);
}

/* Tax of one line whose price is `cents`, at `ppm`. */
static dw_money tax_of(struct fixture *f, int64_t cents, int64_t ppm)
{
    const struct dw_labour labour = {
        .text = "bench work", .milli_hours = 1000, .rate = cents * 100, .net = true};
    f->terms.n_labour = 1;
    f->terms.labour = &labour;
    f->terms.tax_ppm[DW_LINE_LABOUR] = ppm;
    struct dw_quote_doc *doc = make(f, NULL);
    const struct dw_quote_job *job = &doc->jobs[0];
    const struct dw_quote_line *line = &job->lines[job->n_lines - 1];
    assert_int_equal(line->kind, DW_LINE_LABOUR);
    assert_int_equal(line->price, cents * 100);
    dw_money tax = line->tax;
    dw_quote_free(doc);
    return tax;
}

/* From memory: HMRC, VAT Notice 700, 17.5.1: tax of a line may be taken to the nearest 1p, 86.76p
 * is 87p. Streamlined Sales and Use Tax Agreement, section 324: tax is carried to the third decimal
 * place and goes up to the next cent where that is greater than four. */
static void test_tax_rounding(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    assert_int_equal(tax_of(&f, 482, 180000), EUR(0.87)); /* 4.82 at 18 % = 0.8676 */
    static const int64_t rates[] = {82500, 50000, 72500, 190000, 200000, 77777};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        for (int64_t cents = 1; cents < 400; cents += 7) {
            int64_t thousandths = cents * rates[r] / 100000; /* cut off behind the third place */
            int64_t want = thousandths / 10 + (thousandths % 10 > 4);
            assert_int_equal(tax_of(&f, cents, rates[r]), want * 100);
        }
    tear_down(&f);
}

/* Markup, tax and rounding per printed line: the page adds up. */
static void test_page(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    const struct dw_labour labour[] = {
        {.text = "bench work", .order = 0, .milli_hours = 2500, .rate = EUR(33.33)},
        {.text = "delivery", .order = 0, .milli_hours = 250, .rate = EUR(40), .net = true}};
    f.terms.n_labour = 2;
    f.terms.labour = labour;
    f.terms.uplift = DW_UPLIFT_MARKUP;
    f.terms.uplift_ppm = 500000;
    f.terms.tax_ppm[DW_LINE_TUBE] = 82500; /* 8.25 % */
    f.terms.valid_days = 30;
    struct dw_quote_doc *doc = make(&f, "2026-01-31");
    const struct dw_quote_job *a = &doc->jobs[0];
    assert_int_equal(a->n_lines, 4);
    assert_int_equal(a->lines[0].price, EUR(45.17)); /* 30.11 x 1.5 = 45.165 */
    assert_int_equal(a->lines[0].tax, EUR(3.73));    /* 45.17 x 0.0825 = 3.7265 */
    assert_int_equal(a->lines[1].price, EUR(2.51));  /* 1.67 x 1.5 = 2.505 */
    assert_int_equal(a->lines[1].tax, 0);
    assert_int_equal(a->lines[2].cost, EUR(83.33)); /* 2.5 h x 33.33 = 83.325 */
    assert_int_equal(a->lines[2].price, EUR(125));  /* 83.33 x 1.5 = 124.995 */
    assert_string_equal(a->lines[2].quantity, "2.5 h");
    assert_int_equal(a->lines[3].price, EUR(10)); /* net: no markup */
    assert_int_equal(a->price, EUR(45.17 + 2.51 + 125 + 10));
    assert_int_equal(a->total, a->price + EUR(3.73));
    assert_int_equal(a->charged, EUR(30.11 + 1.67)); /* labour is not spent on tube */
    assert_string_equal(doc->valid_until, "2026-03-02");
    assert_string_equal(doc->uplift, "markup of 50 % on cost (a margin of 33.33 %)");
    dw_quote_free(doc);
    f.terms.round_to = EUR(0.05);
    f.terms.uplift = DW_UPLIFT_MARGIN;
    f.terms.uplift_ppm = 350000;
    doc = make(&f, "2026-01-31");
    assert_int_equal(doc->jobs[0].lines[0].price, EUR(46.3)); /* 30.11 / 0.65 = 46.323 */
    dw_quote_free(doc);
    tear_down(&f);
}

static void refused(const struct fixture *f, const char *today, const char *text)
{
    struct dw_quote_doc *doc = NULL;
    struct dw_error error = {0};
    assert_int_equal(dw_quote_make(f->job, f->plan, &f->terms, today, &doc, &error), DW_ERR_INPUT);
    assert_null(doc);
    if (!strstr(error.text, text))
        fail_msg("\"%s\" is not in \"%s\"", text, error.text);
}

static void test_refusals(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.terms.uplift = DW_UPLIFT_MARGIN;
    f.terms.uplift_ppm = DW_PPM;
    refused(&f, NULL, "margin is under 100 %");
    f.terms.uplift_ppm = 0;
    f.terms.waste = DW_WASTE_SHOP;
    refused(&f, NULL, "shop bears no waste");
    f.terms.waste = DW_WASTE_BAR;
    f.terms.round_to = 50;
    refused(&f, NULL, "smallest coin");
    f.terms.round_to = 0;
    f.terms.valid_days = 30;
    refused(&f, NULL, "needs its date");
    refused(&f, "2026-02-30", "no date");
    tear_down(&f);
}

/* --- random batches
 * -------------------------------------------------------------------------------- */

static uint64_t seed;
static int64_t pick(int64_t least, int64_t most)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return least + (int64_t)((seed >> 33) % (uint64_t)(most - least + 1));
}

#define MOST_ORDERS 6
#define MOST_PARTS  24

static void *room(struct dw_job *job, size_t n, size_t size)
{
    void *out = dw_job_alloc(job, n, size);
    assert_non_null(out);
    return out;
}

static void random_supplies(struct dw_job *job)
{
    job->n_materials = (size_t)pick(1, 3);
    job->materials = room(job, job->n_materials, sizeof *job->materials);
    job->n_supplies = (size_t)pick((int64_t)job->n_materials, 7);
    job->supplies = room(job, job->n_supplies, sizeof *job->supplies);
    for (size_t m = 0; m < job->n_materials; m++) {
        job->materials[m].id = "m";
        job->materials[m].worth =
            (struct dw_worth){.kind = DW_WORTH_SHARE, .keep = MM(300), .share = pick(0, 1000000)};
    }
    for (size_t k = 0; k < job->n_supplies; k++) {
        struct dw_supply *supply = &job->supplies[k];
        *supply = (struct dw_supply){.id = "s",
                                     .material = k < job->n_materials ? k : 0,
                                     .source = (enum dw_source)(k < 3 ? 0 : pick(0, 2)),
                                     .length = pick(2000000, 7000000) * 1000,
                                     .price = pick(0, 700000),
                                     .count = DW_UNLIMITED,
                                     .pack = 1,
                                     .ends = {DW_END_MILL, (enum dw_end)pick(0, 1)},
                                     .trim = pick(0, 12000) * 1000,
                                     .tail_material = DW_NONE};
        if (supply->source == DW_SOURCE_NEW) {
            struct dw_price_break *breaks = room(job, 1, sizeof *breaks);
            *breaks = (struct dw_price_break){.from = pick(2, 9), .price = supply->price * 9 / 10};
            supply->pack = pick(1, 5);
            supply->n_breaks = (size_t)pick(0, 1);
            supply->breaks = breaks;
            supply->supplier = pick(0, 1) ? "yard" : NULL;
        }
    }
}

static void random_parts(struct dw_job *job)
{
    job->n_orders = (size_t)pick(1, MOST_ORDERS);
    job->orders = room(job, job->n_orders, sizeof *job->orders);
    job->n_parts = MOST_PARTS;
    job->parts = room(job, job->n_parts, sizeof *job->parts);
    for (size_t i = 0; i < job->n_parts; i++)
        job->parts[i] = (struct dw_part){.label = "p",
                                         .order = (size_t)pick(0, (int64_t)job->n_orders - 1),
                                         .count = 1,
                                         .n_materials = 1,
                                         .materials = tube,
                                         .post = pick(0, 5) == 0,
                                         .worth = pick(0, 30000)};
    job->n_fittings = 1;
    job->fittings = room(job, 1, sizeof *job->fittings);
    job->fittings[0] = (struct dw_fitting){
        .id = "f", .joins = 1, .bushing = DW_NONE, .price = pick(0, 50000), .supplier = "yard"};
    job->n_loose = (size_t)pick(0, 3);
    job->loose = room(job, 3, sizeof *job->loose);
    for (size_t i = 0; i < job->n_loose; i++)
        job->loose[i] = (struct dw_loose){.order = (size_t)pick(0, (int64_t)job->n_orders - 1),
                                          .count = pick(1, 9)};
    job->n_suppliers = 1;
    job->suppliers = room(job, 1, sizeof *job->suppliers);
    job->suppliers[0] = (struct dw_supplier){.name = "yard",
                                             .minimum = pick(0, 1) * pick(0, 5000000),
                                             .cut_charge = pick(0, 50000),
                                             .cuts_a_pack = pick(0, 2),
                                             .freight = pick(0, 1) * pick(0, 500000)};
}

static struct dw_job *random_job(void)
{
    static const char currencies[][4] = {"EUR", "JPY", "BHD", "CLF"};
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    memcpy(job->currency, currencies[pick(0, 3)], 4);
    job->saw = (struct dw_saw){.kerf = pick(0, 3500) * 1000, .cut_cost = pick(0, 9999)};
    random_supplies(job);
    random_parts(job);
    return job;
}

/* Pieces of any length until the bar is full or one wills: money cares for nothing else. */
static void random_layout(struct dw_job *job, struct dw_layout *layout)
{
    struct dw_piece *pieces = room(job, 12, sizeof *pieces);
    layout->supply = (size_t)pick(0, (int64_t)job->n_supplies - 1);
    layout->pieces = pieces;
    layout->count = pick(1, 6);
    dw_length rem = dw_supply_usable(&job->supplies[layout->supply]);
    int64_t n = pick(1, 12);
    for (int64_t i = 0; i < n; i++) {
        struct dw_piece piece = {.part = (size_t)pick(0, MOST_PARTS - 1), .count = pick(1, 2)};
        piece.length = pick(50000, 900000) * 1000;
        bool post = job->parts[piece.part].post;
        piece.use = post ? DW_USE_POST : pick(0, 9) ? DW_USE_PART : DW_USE_SURPLUS;
        dw_length need = piece.count * (piece.length + job->saw.kerf);
        if (need > rem)
            break;
        rem -= need;
        pieces[layout->n_pieces++] = piece;
    }
    layout->leftover = rem;
    layout->rest = rem == 0 ? DW_REST_NONE : rem >= MM(300) ? DW_REST_KEPT : DW_REST_SCRAP;
}

static struct dw_plan *random_plan(struct dw_job *job)
{
    struct dw_plan *plan = NULL;
    assert_int_equal(dw_plan_new(&plan, NULL), DW_OK);
    size_t n = (size_t)pick(1, 8);
    plan->layouts = dw_plan_alloc(plan, n, sizeof *plan->layouts);
    assert_non_null(plan->layouts);
    plan->n_layouts = n;
    for (size_t i = 0; i < n; i++)
        random_layout(job, &plan->layouts[i]);
    assert_int_equal(dw_plan_sum(job, plan, NULL), DW_OK);
    return plan;
}

/* What was spent, from the sums of plan and order alone. */
static dw_money spent_on(const struct dw_job *job, const struct dw_plan *plan)
{
    struct dw_order_doc *order = NULL;
    assert_int_equal(dw_order_make(job, plan, NULL, &order, NULL), DW_OK);
    const struct dw_totals *t = &plan->totals;
    dw_money sum = t->bars + t->taken + t->cuts + order->fittings + order->charges;
    dw_order_free(order);
    return dw_money_round(sum, job->currency);
}

static dw_money unit_of(const char *currency)
{
    dw_money unit = DW_MONEY_ONE;
    for (int i = 0; i < dw_currency_find(currency)->decimals; i++)
        unit /= 10;
    return unit;
}

/* Every amount in whole minor units, every sum that of what is printed. */
static void check_sums(const struct dw_job *job, const struct dw_quote_doc *doc)
{
    dw_money unit = unit_of(job->currency);
    dw_money charged = 0;
    for (size_t o = 0; o < doc->n_jobs; o++) {
        const struct dw_quote_job *j = &doc->jobs[o];
        dw_money cost = 0, price = 0, tax = 0;
        for (size_t i = 0; i < j->n_lines; i++) {
            const struct dw_quote_line *line = &j->lines[i];
            assert_true(line->cost >= 0);
            assert_int_equal(line->cost % unit, 0);
            assert_int_equal(line->price % unit, 0);
            assert_int_equal(line->tax % unit, 0);
            cost += line->cost;
            price += line->price;
            tax += line->tax;
        }
        assert_int_equal(j->cost, cost);
        assert_int_equal(j->charged, cost); /* no labour here */
        assert_int_equal(j->price, price);
        assert_int_equal(j->total, price + tax);
        charged += j->charged;
    }
    assert_int_equal(doc->charged, charged);
    assert_int_equal(doc->charged + doc->shop, doc->spent);
}

/* The tube of a job charged by length used or by its pieces, once more and in another way: in
 * floating point, straight from the layouts. */
static double tube_by_length(const struct dw_job *job, const struct dw_plan *plan, size_t order,
                             bool pieces_only)
{
    double sum = 0;
    for (size_t i = 0; i < plan->n_layouts; i++) {
        const struct dw_layout *layout = &plan->layouts[i];
        const struct dw_supply *supply = &job->supplies[layout->supply];
        double mine = 0, my_pieces = 0, pieces = 0, money = 0;
        double trims = (double)(supply->length - dw_supply_usable(supply));
        for (size_t p = 0; p < layout->n_pieces; p++) {
            const struct dw_piece *piece = &layout->pieces[p];
            double length = (double)piece->count * (double)piece->length;
            bool is_mine = job->parts[piece->part].order == order;
            if (piece->use == DW_USE_SURPLUS)
                continue;
            pieces += length;
            my_pieces += is_mine ? length : 0;
            if (!pieces_only)
                length += (double)piece->count * (double)job->saw.kerf;
            mine += is_mine ? length : 0;
        }
        for (size_t t = 0; t < plan->n_takes; t++) {
            if (plan->takes[t].supply == layout->supply)
                money = (double)plan->takes[t].money / (double)plan->takes[t].bought;
        }
        if (!pieces_only && pieces > 0)
            mine += trims * my_pieces / pieces;
        sum += (double)layout->count * money * mine / (double)supply->length;
    }
    return sum;
}

static void check_tube(const struct dw_job *job, const struct dw_plan *plan,
                       const struct dw_quote_terms *terms, const struct dw_quote_doc *doc)
{
    dw_money unit = unit_of(job->currency);
    double tolerance = (double)unit * 3 * (double)job->n_materials;
    double factor = terms->way == DW_CHARGE_PERCENT ? 1 + (double)terms->percent_ppm / 1e6 : 1;
    for (size_t o = 0; o < doc->n_jobs && terms->way != DW_CHARGE_BARS; o++) {
        double wanted = factor * tube_by_length(job, plan, o, terms->way == DW_CHARGE_PERCENT);
        double got = (double)cost_of(&doc->jobs[o], DW_LINE_TUBE);
        if (fabs(got - wanted) > tolerance + 100)
            fail_msg("job %zu is charged %.0f, not %.0f", o, got, wanted);
    }
}

static bool nobody_cut(const struct dw_plan *plan)
{
    for (size_t i = 0; i < plan->n_layouts; i++) {
        for (size_t p = 0; p < plan->layouts[i].n_pieces; p++) {
            if (plan->layouts[i].pieces[p].use != DW_USE_SURPLUS)
                return false;
        }
    }
    return true;
}

/* Every client pays when all materials have somebody who uses them. */
static bool all_used(const struct dw_job *job, const struct dw_plan *plan)
{
    for (size_t i = 0; i < plan->n_layouts; i++) {
        bool used = false;
        size_t material = job->supplies[plan->layouts[i].supply].material;
        for (size_t k = 0; k < plan->n_layouts; k++) {
            if (job->supplies[plan->layouts[k].supply].material != material)
                continue;
            for (size_t p = 0; p < plan->layouts[k].n_pieces; p++)
                used |= plan->layouts[k].pieces[p].use != DW_USE_SURPLUS;
        }
        if (!used)
            return false;
    }
    return !nobody_cut(plan);
}

static const struct {
    enum dw_charge_way way;
    enum dw_owner offcuts;
    enum dw_waste_rule waste;
} ways[] = {
    {DW_CHARGE_BARS, DW_OWNER_CLIENT, DW_WASTE_BAR},
    {DW_CHARGE_BARS, DW_OWNER_CLIENT, DW_WASTE_BATCH},
    {DW_CHARGE_BARS, DW_OWNER_SHOP, DW_WASTE_BAR},
    {DW_CHARGE_USED, DW_OWNER_CLIENT, DW_WASTE_BAR},
    {DW_CHARGE_USED, DW_OWNER_CLIENT, DW_WASTE_BATCH},
    {DW_CHARGE_USED, DW_OWNER_SHOP, DW_WASTE_BAR},
    {DW_CHARGE_USED, DW_OWNER_SHOP, DW_WASTE_BATCH},
    {DW_CHARGE_USED, DW_OWNER_SHOP, DW_WASTE_SHOP},
    {DW_CHARGE_PERCENT, DW_OWNER_SHOP, DW_WASTE_SHOP},
};

static void test_batches_add_up(void **state)
{
    (void)state;
    seed = 20260301;
    for (int round = 0; round < 1000; round++) {
        struct dw_job *job = random_job();
        struct dw_plan *plan = random_plan(job);
        dw_money spent = spent_on(job, plan);
        for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
            struct dw_quote_terms terms;
            struct dw_quote_doc *doc = NULL;
            struct dw_error error = {0};
            dw_quote_terms_default(&terms);
            terms.way = ways[i].way;
            terms.offcuts = ways[i].offcuts;
            terms.waste = ways[i].waste;
            terms.percent_ppm = terms.way == DW_CHARGE_PERCENT ? pick(0, 300000) : 0;
            terms.uplift = (enum dw_uplift)pick(0, 2);
            terms.uplift_ppm = pick(0, 900000);
            for (int k = 0; k < DW_N_LINE_KINDS; k++)
                terms.tax_ppm[k] = pick(0, 1) ? pick(0, 250000) : DW_NO_TAX;
            if (dw_quote_make(job, plan, &terms, NULL, &doc, &error))
                fail_msg("round %d: %s", round, error.text);
            assert_int_equal(doc->spent, spent);
            check_sums(job, doc);
            check_tube(job, plan, &terms, doc);
            if (ways[i].offcuts == DW_OWNER_CLIENT && all_used(job, plan))
                assert_int_equal(doc->charged, spent);
            dw_quote_free(doc);
        }
        dw_plan_free(plan);
        dw_job_free(job);
    }
}

/* Two of 1000 and one of 1990 with two kerfs take 4000 mm: a bar of 4020 less its trims holds them
 * to the last nanometre, one that is a nanometre shorter does not. */
static void test_a_bar_overfilled_by_a_nanometre(void **state)
{
    (void)state;
    struct fixture f;
    set_up(&f);
    f.supply.length = MM(4020);
    f.layout.rest = DW_REST_NONE;
    f.layout.leftover = 0;
    assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
    for (dw_length over = 0; over < 2; over++) {
        struct dw_quote_doc *doc = NULL;
        struct dw_error error = {0};
        f.supply.length = MM(4020) - over;
        dw_err err = dw_quote_make(f.job, f.plan, &f.terms, NULL, &doc, &error);
        assert_int_equal(err, over ? DW_ERR_CHECK : DW_OK);
        if (over)
            assert_non_null(strstr(error.text, "six: the pieces don't fit the bar"));
        dw_quote_free(doc);
    }
    tear_down(&f);
}

/* A piece that the job lists without a book value: the plan counts a price, the client is charged
 * nothing for it. */
static void test_no_planning_price_is_charged(void **state)
{
    (void)state;
    for (int given = 0; given < 2; given++) {
        struct fixture f;
        struct dw_quote_doc *doc = NULL;
        set_up(&f);
        f.supply.source = DW_SOURCE_SHELF;
        f.supply.count = 1;
        f.supply.by_rules = !given;
        assert_int_equal(dw_plan_sum(f.job, f.plan, NULL), DW_OK);
        assert_int_equal(f.plan->totals.taken, EUR(60));
        assert_int_equal(dw_quote_make(f.job, f.plan, &f.terms, NULL, &doc, NULL), DW_OK);
        /* three cuts and two squaring cuts, 0.50 each, and the bar if it was paid */
        assert_int_equal(doc->spent, EUR(2.5) + (given ? EUR(60) : 0));
        assert_string_equal(dw_supply_paid_from(&f.supply),
                            given ? "given in the job file" : "no book value is given");
        dw_quote_free(doc);
        tear_down(&f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_large_sums),
        cmocka_unit_test(test_many_layouts),
        cmocka_unit_test(test_whole_bars),
        cmocka_unit_test(test_length_used),
        cmocka_unit_test(test_percentage),
        cmocka_unit_test(test_page),
        cmocka_unit_test(test_tax_rounding),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_a_bar_overfilled_by_a_nanometre),
        cmocka_unit_test(test_no_planning_price_is_charged),
        cmocka_unit_test(test_batches_add_up),
        cmocka_unit_test(test_batch_counts_squared_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
