/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fittings, drawn parts, sections, suppliers and quote terms as a job file says them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MM(x) ((dw_length)((x)*1000000.0 + 0.5))

static const char head[] = "dropwise: 1\n"
                           "unit: mm\n"
                           "currency: EUR\n"
                           "saw: {kerf: 2.5}\n"
                           "materials:\n"
                           "  - {id: t42, outside: 42.4, wall: 2, density: 7850 kg/m3}\n"
                           "bars:\n"
                           "  - {id: six, length: 6000, price: 20, supplier: yard}\n"
                           "fittings:\n"
                           "  - {id: tee, stops short: 1/2 OD, fits: [t42, 48.3], price: 3.50,\n"
                           "     supplier: yard, date: 2026-02-01}\n"
                           "  - {id: corner, take out: 57, insert: 35.8, from: outside, joins: 3,\n"
                           "     fits: 48.3, fits with bushing: t42, bushing: sleeve}\n"
                           "  - {id: sleeve}\n"
                           "  - {id: foot, fits: 30}\n";

/* Reads head + tail. With `wrong` it is refused, and one of the reasons holds that text. */
static struct dw_job *read_job(const char *tail, const char *wrong)
{
    char text[8192];
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    int n = snprintf(text, sizeof text, "%s%s", head, tail);
    dw_err err = dw_job_read_text(text, (size_t)n, "job", NULL, &job, &report, NULL);
    bool found = false;
    for (size_t i = 0; i < report.n_remarks; i++) {
        const struct dw_remark *remark = &report.remarks[i];
        if (remark->severity != DW_WRONG)
            continue;
        found |= wrong && strstr(remark->what.text, wrong) != NULL;
        if (!wrong)
            fail_msg("%s", remark->what.text);
    }
    if (wrong ? !err || !found : err != DW_OK)
        fail_msg("wanted \"%s\", got \"%s\"", wrong ? wrong : "no mistake",
                 report.n_remarks ? report.remarks[0].what.text : "nothing");
    dw_report_free(&report);
    return job;
}

static const struct dw_part *part(const struct dw_job *job, const char *label)
{
    for (size_t i = 0; i < job->n_parts; i++) {
        if (strcmp(job->parts[i].label, label) == 0)
            return &job->parts[i];
    }
    fail_msg("no part %s", label);
    return NULL;
}

static void test_drawn(void **state)
{
    (void)state;
    struct dw_job *job = read_job(
        "parts:\n"
        "  - {label: a, centres: 1000, both ends: tee}\n"
        "  - {label: b, outside: 1000, both ends: tee}\n"
        "  - {label: c, clear: 1000, end 1: {fitting: tee, meets: 48.3 mm}, end 2: free}\n"
        "  - {label: d, length: 600, both ends: mitre 45 short point}\n"
        "  - {label: e, length: 600, count: 2, end 1: {fitting: tee, mitre: 45, to: long point}}\n"
        "  - {label: f, offset: {set: 300, angle: 30}, end 1: corner}\n"
        "  - {label: g, bent: {bend: {radius: 200, angle: 90}, straights: [300, 400]}}\n"
        "  - {label: h, bent: {bends: [{radius: 200, of: inside, angle: 90},\n"
        "       {chord: 300, rise: 50}], straights: [300, 500, 400], straights to: apex}}\n"
        "  - {label: i, centres: 1000, end 1: tee, measure first: yes, allowance: 20}\n"
        "loose fittings:\n"
        "  - {fitting: foot, count: 4}\n",
        NULL);
    assert_int_equal(part(job, "a")->min, MM(957.6));
    assert_int_equal(part(job, "a")->max, MM(957.6));
    assert_int_equal(part(job, "b")->min, MM(915.2));
    assert_int_equal(part(job, "c")->min, MM(1000));
    assert_int_equal(part(job, "d")->min, MM(684.8));
    assert_int_equal(part(job, "e")->min, MM(600));
    assert_int_equal(part(job, "f")->min, MM(600 + 21.2 - 57 + 35.8));
    assert_int_equal(part(job, "g")->min, 700000000 + 314159265);
    assert_int_equal(part(job, "i")->min, MM(998.8));
    assert_null(part(job, "e")->drawn->bends);
    assert_int_equal(part(job, "h")->takeoff->n_steps, 7);
    int64_t counts[4] = {0};
    assert_int_equal(dw_fittings_count(job, 0, counts, NULL), DW_OK);
    assert_int_equal(counts[0], 2 + 2 + 1 + 2 + 1); /* a b c e i */
    assert_int_equal(counts[1], 1);
    assert_int_equal(counts[2], 1); /* the sleeve of f */
    assert_int_equal(counts[3], 4);
    dw_job_free(job);
}

static void test_terms(void **state)
{
    (void)state;
    struct dw_job *job = read_job(
        "jobs:\n"
        "  - {name: trio, parts: [{label: a, length: 500, section: left}]}\n"
        "  - {name: stall, parts: [{label: b, length: 700}]}\n"
        "sections:\n"
        "  - {name: left, longest: 1.8 m, weight: 44 lb, carries: 2.5 kg, size: 48 x 24 x 30 in,\n"
        "     door: 800 x 2000, van: 2 x 1.2 x 1 m, riser: 6 x 4 ft}\n"
        "suppliers:\n"
        "  - {name: yard, least order: 50, small order under: 250, small order charge: 25,\n"
        "     cut charge: 5, cuts a pack: 1, free cuts: 20, least cut charge: 15, freight: 30,\n"
        "     free freight from: 300, prices of: 2026-02-01, valid until: 2026-03-01}\n"
        "quote:\n"
        "  charge: length plus percentage\n"
        "  percentage: 12.5 %\n"
        "  margin: 35 %\n"
        "  tax: {tube: 8.25 %, labour: none}\n"
        "  tax name: sales tax\n"
        "  round to: 0.05\n"
        "  valid days: 30\n"
        "  labour: [{work: bench, hours: 2.5, rate: 40, job: stall, no markup: yes}]\n",
        NULL);
    const struct dw_section *section = &job->sections[0];
    assert_int_equal(section->longest, MM(1800));
    assert_int_equal(section->weight_mg, 19958064);
    assert_int_equal(section->added_mg, 2500000);
    assert_int_equal(section->size[0], 48 * DW_NM_PER_IN);
    assert_int_equal(section->size[2], 30 * DW_NM_PER_IN);
    assert_int_equal(section->door[1], MM(2000));
    assert_int_equal(section->van[1], MM(1200));
    assert_int_equal(section->riser[0], 72 * DW_NM_PER_IN);
    const struct dw_supplier *yard = &job->suppliers[0];
    assert_int_equal(yard->cuts_free, 20);
    assert_int_equal(yard->freight_free, 3000000);
    assert_string_equal(yard->valid_until, "2026-03-01");
    const struct dw_quote_terms *quote = job->quote;
    assert_int_equal(quote->way, DW_CHARGE_PERCENT);
    assert_int_equal(quote->percent_ppm, 125000);
    assert_int_equal(quote->offcuts, DW_OWNER_SHOP);
    assert_int_equal(quote->waste, DW_WASTE_SHOP);
    assert_int_equal(quote->uplift, DW_UPLIFT_MARGIN);
    assert_int_equal(quote->uplift_ppm, 350000);
    assert_int_equal(quote->tax_ppm[DW_LINE_TUBE], 82500);
    assert_int_equal(quote->tax_ppm[DW_LINE_LABOUR], DW_NO_TAX);
    assert_int_equal(quote->round_to, 500);
    assert_int_equal(quote->labour[0].milli_hours, 2500);
    assert_int_equal(quote->labour[0].order, 1);
    assert_true(quote->labour[0].net);
    dw_job_free(job);
    job = read_job("parts: [{label: a, length: 500}]\n"
                   "quote: {charge: length used, tax: 8.875 %, markup: 150 %}\n",
                   NULL);
    assert_int_equal(job->quote->waste, DW_WASTE_BATCH);
    assert_int_equal(job->quote->tax_ppm[DW_LINE_DELIVERY], 88750);
    assert_int_equal(job->quote->uplift_ppm, 1500000);
    dw_job_free(job);
}

static void test_refusals(void **state)
{
    (void)state;
    static const char *const table[][2] = {
        {"parts: [{label: a}]\n", "`length` is missing"},
        {"parts: [{label: a, length: 5, centres: 5}]\n", "give one of length, centres"},
        {"parts: [{label: a, centres: 900, end 1: elbow}]\n", "`elbow` is none of the fittings"},
        {"parts: [{label: a, centres: 900, end 1: foot}]\n", "takes no tube of 42.4 mm"},
        {"parts: [{label: a, centres: 30, both ends: tee}]\n", "nothing is left to cut"},
        {"parts: [{label: a, length: 900, end 1: mitre 45}]\n", "to which point the length runs"},
        {"parts: [{label: a, length: 900, end 1: {mitre: 45}}]\n", "a `mitre` goes with"},
        {"parts: [{label: a, length: 900, both ends: tee, end 1: tee}]\n", "not all of them"},
        {"parts: [{label: a, bent: {bend: {radius: 10, angle: 90}}}]\n", "tighter than the tube"},
        {"parts: [{label: a, bent: {bend: {radius: 100, angle: 90}, straights: [1]}}]\n",
         "1 bend have 2 straights"},
        {"parts: [{label: a, bent: {bend: {radius: 100, angle: 400}}}]\n", "under 360"},
        {"parts: [{label: a, length: 5}]\nsections: [{name: x, size: 3 x 4 mm}]\n",
         "write three sizes"},
        {"parts: [{label: a, length: 5}]\nsections: [{name: x, weight: 20}]\n", "has its unit"},
        {"parts: [{label: a, length: 5}]\nsections: [{name: x, door: 800 x 2000}]\n",
         "packed size"},
        {"parts: [{label: a, length: 5}]\nquote: {charge: bars}\n", "write whole bars"},
        {"parts: [{label: a, length: 5}]\nquote: {charge: whole bars, margin: 100 %}\n",
         "margin is under 100 %"},
        {"parts: [{label: a, length: 5}]\nquote: {charge: whole bars, margin: 5 %, markup: 5 %}\n",
         "not both"},
        {"parts: [{label: a, length: 5}]\nquote: {charge: whole bars, margin: 35}\n", "with its %"},
        {"parts: [{label: a, length: 5}]\nquote: {charge: whole bars, margin: \"1,250 %\"}\n",
         "no number here"},
        {"parts: [{label: a, length: 5}]\nquote: {charge: whole bars, percentage: 5 %}\n",
         "goes with"},
        {"parts: [{label: a, length: 5}]\nloose fittings: [{fitting: foot, count: 1, job: x}]\n",
         "there is no job `x`"},
        {"parts: [{label: a, length: 5}]\nsuppliers: [{name: yard, valid until: soon}]\n",
         "no date"},
    };
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        assert_null(read_job(table[i][0], table[i][1]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_drawn),
        cmocka_unit_test(test_terms),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
