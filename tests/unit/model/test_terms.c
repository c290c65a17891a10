/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is refused of fittings, sections, suppliers and quote terms; dates. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "model/model.h"

#include <string.h>

static const dw_length no_od[] = {0};

static struct dw_job *empty_job(void)
{
    static struct dw_order orders[1];
    struct dw_job *job = NULL;
    assert_int_equal(dw_job_new(&job, NULL), DW_OK);
    job->n_orders = 1;
    job->orders = orders;
    return job;
}

/* Exactly one wrong remark, holding `text`; NULL: none. */
static void expect(const struct dw_job *job, const char *text)
{
    struct dw_report report = {0};
    dw_err err = dw_terms_check(job, &report, NULL);
    if (!text) {
        if (report.n_wrong)
            fail_msg("%s", report.remarks[0].what.text);
        assert_int_equal(err, DW_OK);
    } else {
        assert_int_equal(err, DW_ERR_INPUT);
        bool found = false;
        for (size_t i = 0; i < report.n_remarks; i++)
            found |= report.remarks[i].severity == DW_WRONG &&
                     strstr(report.remarks[i].what.text, text) != NULL;
        if (!found || report.n_wrong != 1)
            fail_msg("wanted \"%s\", got %zu: \"%s\"", text, report.n_wrong,
                     report.n_remarks ? report.remarks[0].what.text : "");
    }
    dw_report_free(&report);
}

static void test_fittings(void **state)
{
    (void)state;
    struct dw_job *job = empty_job();
    const struct dw_fitting good = {.id = "tee", .joins = 1, .bushing = DW_NONE};
    struct dw_fitting fittings[2] = {good, good};
    fittings[1].id = "cross";
    job->n_fittings = 2;
    job->fittings = fittings;
    expect(job, NULL);
    fittings[1].id = "tee";
    expect(job, "listed twice");
    fittings[1] = good;
    fittings[1].id = "cross";
    fittings[1].take_out = -1;
    expect(job, "not negative");
    fittings[1].take_out = 0;
    fittings[1].half_ods = 5;
    expect(job, "0 to 2 outside diameters");
    fittings[1].half_ods = 0;
    fittings[1].from = DW_REF_INSIDE;
    expect(job, "centre or outside");
    fittings[1].from = DW_REF_CENTRE;
    fittings[1].joins = 0;
    expect(job, "1 to 100 ends");
    fittings[1].joins = 1;
    fittings[1].bushing = 1;
    expect(job, "another fitting");
    fittings[1].bushing = DW_NONE;
    fittings[1].n_ods = 1;
    fittings[1].ods = no_od;
    expect(job, "more than 0");
    fittings[1].n_ods = 0;
    struct dw_loose loose = {.fitting = 2, .count = 1};
    job->n_loose = 1;
    job->loose = &loose;
    expect(job, "fittings table");
    dw_job_free(job);
}

static void test_sections_and_suppliers(void **state)
{
    (void)state;
    struct dw_job *job = empty_job();
    struct dw_section section = {.name = "left", .door = {1, 1}};
    job->n_sections = 1;
    job->sections = &section;
    expect(job, "packed size");
    section.size[0] = 1;
    expect(job, "every side");
    section.size[1] = section.size[2] = 1;
    expect(job, NULL);
    section.longest = -1;
    expect(job, "a limit is not negative");
    section.longest = 0;
    struct dw_supplier supplier = {
        .name = "yard", .price_date = "2026-03-01", .valid_until = "2026-03-31"};
    job->n_suppliers = 1;
    job->suppliers = &supplier;
    expect(job, NULL);
    supplier.valid_until = "2026-02-29";
    expect(job, "dates are written");
    supplier.valid_until = "2026-02-28";
    expect(job, "can't end on");
    supplier.valid_until = NULL;
    supplier.freight = -1;
    expect(job, "charges are 0 or more");
    dw_job_free(job);
}

/* By definition (margin = (price - cost) / price): 100 % of the price leaves no cost; a markup of
 * 100 % is twice the cost. */
static void test_quote(void **state)
{
    (void)state;
    struct dw_job *job = empty_job();
    struct dw_quote_terms terms;
    dw_quote_terms_default(&terms);
    job->quote = &terms;
    expect(job, NULL);
    terms.uplift = DW_UPLIFT_MARKUP;
    terms.uplift_ppm = DW_PPM;
    expect(job, NULL);
    terms.uplift = DW_UPLIFT_MARGIN;
    expect(job, "margin is under 100 %");
    terms.uplift_ppm = DW_PPM - 1;
    expect(job, NULL);
    terms.waste = DW_WASTE_SHOP;
    expect(job, "shop bears no waste");
    terms.way = DW_CHARGE_PERCENT;
    expect(job, "offcuts are the shop's");
    terms.offcuts = DW_OWNER_SHOP;
    expect(job, NULL);
    terms.waste = DW_WASTE_BATCH;
    expect(job, "charge it twice");
    terms.waste = DW_WASTE_SHOP;
    terms.tax_ppm[DW_LINE_TUBE] = -2;
    expect(job, "tax on tube");
    terms.tax_ppm[DW_LINE_TUBE] = 0;
    struct dw_labour labour = {.milli_hours = 0, .rate = 1};
    terms.n_labour = 1;
    terms.labour = &labour;
    expect(job, "hours");
    dw_job_free(job);
}

static void test_dates(void **state)
{
    (void)state;
    char out[DW_DATE_TEXT];
    assert_true(dw_date__check("2024-02-29"));
    assert_false(dw_date__check("2023-02-29"));
    assert_false(dw_date__check("2100-02-29")); /* Gregorian: no leap year */
    assert_true(dw_date__check("2000-02-29"));
    assert_false(dw_date__check("2026-13-01"));
    assert_false(dw_date__check("2026-3-01"));
    assert_false(dw_date__check(NULL));
    assert_true(dw_date__add("2026-01-31", 30, out));
    assert_string_equal(out, "2026-03-02");
    assert_true(dw_date__add("2024-02-28", 1, out));
    assert_string_equal(out, "2024-02-29");
    assert_true(dw_date__add("1970-01-01", 20000, out)); /* known: day 20000 of the Unix epoch */
    assert_string_equal(out, "2024-10-04");
    assert_false(dw_date__add("9999-12-31", 1, out));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fittings),
        cmocka_unit_test(test_sections_and_suppliers),
        cmocka_unit_test(test_quote),
        cmocka_unit_test(test_dates),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
