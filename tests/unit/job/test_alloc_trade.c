/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Take-off, order, quote, limits and choice of lengths with the k-th allocation of our own code
 * failing, for every k until none fails: out of memory, and nothing leaked. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "alloc_fail.h"
#include <dropwise/work.h>
#include "job/lengths.h"
#include "job/tables.h"
#include "job/trade.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Job c defeats decreasing fits (en.wikipedia.org, First-fit-decreasing bin packing, from memory;
 * by hand): 44 24 24 22 21 17 8 8 6 6 in bins of 61 are 3, by them 4, so that the choice of lengths
 * needs the solver. */
static const char job_text[] =
    "dropwise: 1\n"
    "unit: mm\n"
    "currency: EUR\n"
    "saw: {kerf: 2, squaring: 3, cost per cut: 0.20}\n"
    "rules: {keep: 300}\n"
    "materials: [{id: t42, outside: 42.4, wall: 2, density: 7850 kg/m3}]\n"
    "bars: [{id: six, material: t42, length: 6104, price: 30.00, pack: 5, supplier: yard}]\n"
    "suppliers: [{name: yard, valid until: 2027-01-01, freight: 9, small order under: 900,\n"
    "  small order charge: 5, cut charge: 1, cuts a pack: 1}]\n"
    "fittings:\n"
    "  - {id: tee, stops short: 1/2 OD, fits: t42, price: 3, supplier: yard}\n"
    "  - {id: big, fits: 50, fits with bushing: t42, bushing: tee}\n"
    "jobs:\n"
    "  - {name: a, parts: [{label: p, centres: 1200, both ends: tee, section: left},\n"
    "      {label: q, bent: {bend: {radius: 200, angle: 90}, straights: [300, 300]}},\n"
    "      {label: r, length: 500, end 1: mitre 45 short, end 2: big}]}\n"
    "  - {name: b, parts: [{label: s, length: 900, count: 3}]}\n"
    "  - {name: c, parts: [{length: 4398}, {length: 2398, count: 2}, {length: 2198},\n"
    "      {length: 2098}, {length: 1698}, {length: 798, count: 2}, {length: 598, count: 2}]}\n"
    "loose fittings: [{fitting: tee, count: 2, job: b}]\n"
    "sections: [{name: left, longest: 1000, weight: 1 kg, size: 9 x 9 x 9, door: 2 x 2,\n"
    "  van: 3 x 3 x 3, riser: 4 x 4}]\n"
    "quote: {charge: length used, markup: 10 %, tax: 20 %, valid days: 9,\n"
    "  labour: [{work: bench, hours: 1, rate: 40, job: a}]}\n";

static dw_err load(struct dw_job **job, struct dw_error *error)
{
    struct dw_job_source source = {.path = "job.yaml", .text = job_text, .n = sizeof job_text - 1};
    struct dw_report report = {0};
    dw_err err = dw_job_load(&source, job, &report, error);
    if (err == DW_ERR_INPUT)
        fail_msg("%s", report.remarks[report.n_remarks - 1].what.text);
    dw_report_free(&report);
    return err;
}

static struct dw_plan *plan_greedily(const struct dw_job *job)
{
    struct dw_settings settings;
    struct dw_plan *plan = NULL;
    dw_settings_default(&settings);
    settings.greedy = 1;
    settings.threads = 1;
    assert_int_equal(dw_solve(job, &settings, NULL, &plan, NULL), DW_OK);
    return plan;
}

/* The order as a file; as CSV all other tables too. */
static dw_err write_tables(const struct dw_job *job, const struct dw_plan *plan,
                           const struct dw_order_doc *order, const struct dw_quote_doc *quote,
                           const char *path, struct dw_error *error)
{
    const struct dw_table_wish wish = {.form = dw_tables__form_of(path)};
    struct dw_drawn_sheet drawn = {0};
    struct dw_tables tables = {0};
    char *bytes = NULL;
    size_t n = 0;
    dw_err err = dw_order_write(job, order, path, true, error);
    if (err || strcmp(wish.form, "csv") != 0)
        return err;
    err = dw_tables__quote(job, quote, DW_NONE, &wish, &tables, error);
    dw_tables__free(&tables);
    if (!err)
        err = dw_drawn_sheet_make(job, &drawn, error);
    if (!err)
        err = dw_tables__takeoff(job, &drawn, &wish, &tables, error);
    dw_tables__free(&tables);
    dw_drawn_sheet_free(&drawn);
    if (!err)
        err = dw_tables__plan(job, plan, &wish, &tables, error);
    if (!err)
        err = dw_tables__bytes(&tables, "pieces", &bytes, &n, error);
    free(bytes);
    dw_tables__free(&tables);
    return err;
}

/* All that is made of a plan. */
static dw_err trade(const struct dw_job *job, const struct dw_plan *plan, const char *path,
                    struct dw_error *error)
{
    struct dw_order_doc *order = NULL;
    struct dw_quote_doc *quote = NULL;
    struct dw_limits *limits = NULL;
    dw_err err = dw_order_make(job, plan, "2027-02-01", &order, error);
    if (!err)
        err = dw_quote_make(job, plan, job->quote, "2027-02-01", &quote, error);
    if (!err)
        err = dw_limits_check(job, plan, &limits, error);
    if (!err)
        err = write_tables(job, plan, order, quote, path, error);
    if (!err) {
        assert_int_equal(order->n_notes, 2); /* prices of the past, a bar to spare */
        assert_int_equal(quote->charged + quote->shop, quote->spent);
        assert_int_equal(limits->n_breaches, 5);
    }
    dw_order_free(order);
    dw_quote_free(quote);
    dw_limits_free(limits);
    return err;
}

/* One attempt: DW_OK, or out of memory with nothing left behind. */
static void judge(dw_err err, const struct dw_error *error, long live)
{
    if (err != DW_OK && (err != DW_ERR_NOMEM || error->text[0] == '\0'))
        fail_msg("%s: \"%s\"", dw_err_name(err), error->text);
    assert_int_equal(alloc_live(), live);
}

static void test_load(void **state)
{
    (void)state;
    bool failed = true;
    for (long k = 0; failed; k++) {
        struct dw_error error = {0};
        struct dw_job *job = NULL;
        long live = alloc_live();
        alloc_fail_at(k, false);
        dw_err err = load(&job, &error);
        failed = alloc_count() > k;
        alloc_fail_at(-1, false);
        assert_true(failed || err == DW_OK);
        assert_true((job != NULL) == (err == DW_OK));
        dw_job_free(job);
        judge(err, &error, live);
        assert_true(k < 20000);
    }
}

static void test_trade(void **state)
{
    (void)state;
    static const char *const paths[] = {"/tmp/dropwise-alloc-order.csv",
                                        "/tmp/dropwise-alloc-order.xlsx"};
    struct dw_error error = {0};
    struct dw_job *job = NULL;
    assert_int_equal(load(&job, &error), DW_OK);
    struct dw_plan *plan = plan_greedily(job);
    for (int i = 0; i < 2; i++) {
        bool failed = true;
        for (long k = 0; failed; k++) {
            error = (struct dw_error){0};
            long live = alloc_live();
            alloc_fail_at(k, false);
            dw_err err = trade(job, plan, paths[i], &error);
            failed = alloc_count() > k;
            alloc_fail_at(-1, false);
            assert_true(failed || err == DW_OK);
            judge(err, &error, live);
            assert_true(k < 20000);
        }
        unlink(paths[i]);
    }
    dw_plan_free(plan);
    dw_job_free(job);
}

/* A failure that costs only a view of a bound may end well: every seventh k, up to what a whole run
 * asks for. */
static void test_lengths(void **state)
{
    (void)state;
    struct dw_settings settings;
    struct dw_error error = {0};
    struct dw_job *job = NULL;
    dw_settings_default(&settings);
    settings.threads = 1;
    assert_int_equal(load(&job, &error), DW_OK);
    long asked = 1;
    for (long k = 0; k <= asked; k += 7) {
        struct dw_lengths *lengths = NULL;
        long live = alloc_live();
        error = (struct dw_error){0};
        alloc_fail_at(k == 0 ? 1000000000 : k, false);
        dw_err err = dw_lengths_choose(job, 0, 1, &settings, NULL, &lengths, &error);
        asked = k == 0 ? alloc_count() : asked;
        alloc_fail_at(-1, false);
        dw_lengths_free(lengths);
        judge(err, &error, live);
    }
    assert_true(asked > 20);
    dw_job_free(job);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_load),
        cmocka_unit_test(test_trade),
        cmocka_unit_test(test_lengths),
    };
    if (!alloc_wrapped())
        return 77;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
