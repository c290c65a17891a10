/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What surrounds a plan: lengths to carry, drawn parts, plan files, every form of paper,
 * holding. All figures are worked out by hand beside the check. */
#include "web_shop.h"

#include <dropwise/shelf.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* --- lengths to carry ------------------------------------------------------------------------- */

/* Two jobs of two pieces, no kerf. From 1000 mm alone: 10 + 2 x 10 = 30; from 1500 mm alone:
 * 14 + 14 = 28; from both: 10 + 14 = 24. */
static const char two_jobs[] =
    "dropwise: 1\nname: Past\nunit: mm\ncurrency: EUR\nsaw: {kerf: 0}\nrules: {keep: 300}\n"
    "materials: [{id: t}, {id: unused}]\n"
    "bars:\n"
    "  - {id: one, material: t, length: 1000, price: 10}\n"
    "  - {id: three halves, material: t, length: 1500, price: 14}\n"
    "jobs:\n"
    "  - {name: a, parts: [{label: leg, material: t, length: 500, count: 2}]}\n"
    "  - {name: b, parts: [{label: rail, material: t, length: 750, count: 2}]}\n";

static void check_lengths(const char *more, const char *value, size_t n_carry)
{
    json_t *task = web_shop_work("/api/lengths", two_jobs, more);
    assert_string_equal(web_shop_text(task, "state"), "done");
    const json_t *materials = json_object_get(json_object_get(task, "result"), "materials");
    assert_int_equal(json_array_size(materials), 1);
    const json_t *material = json_array_get(materials, 0);
    assert_string_equal(web_shop_text(material, "material"), "t");
    assert_string_equal(web_shop_text(material, "status"), "optimal");
    assert_string_equal(web_shop_text(material, "value"), value);
    assert_string_equal(web_shop_text(material, "bound"), value);
    assert_int_equal(json_array_size(json_object_get(material, "carry")), n_carry);
    assert_int_equal(web_shop_number(material, "jobs"), 2);
    json_decref(task);
}

static void test_lengths(void **state)
{
    (void)state;
    check_lengths(",\"most\":1", "28.00", 1);
    check_lengths(NULL, "24.00", 2);
    check_lengths(",\"material\":\"t\",\"most\":2", "24.00", 2);
}

static void test_lengths_refused(void **state)
{
    (void)state;
    json_decref(web_shop_post("/api/lengths", two_jobs, ",\"most\":0", 422));
    json_decref(web_shop_post("/api/lengths", two_jobs, ",\"most\":\"two\"", 422));
    json_decref(web_shop_post("/api/lengths", two_jobs, ",\"material\":\"brass\"", 422));
    json_decref(web_shop_post("/api/lengths", "dropwise: 1\n", NULL, 422));
    json_decref(web_shop_post("/api/lengths", "", NULL, 422));
    json_decref(web_shop_post("/api/lengths",
                              "dropwise: 1\nunit: mm\nsaw: {kerf: 0}\nmaterials: [{id: t}]\n"
                              "parts: [{label: leg, length: 500}]\n",
                              NULL, 409)); /* no bar to choose from */
}

/* --- drawn parts ------------------------------------------------------------------------------ */

/* 1000 mm centre to centre, at each end half the 42 mm of the tube it meets: 1000 - 2 x 21 =
 * 958 mm. Two rails, four ends, four tees. The section's limit of 900 mm is passed. */
static const char drawn_job[] =
    "dropwise: 1\nunit: mm\nsaw: {kerf: 2}\n"
    "materials: [{id: t, outside: 42 mm, wall: 2 mm, density: 7850 kg/m3}]\n"
    "bars: [{length: 6 m, price: 20}]\n"
    "fittings: [{id: tee, name: clamp tee, stops short: 1/2 OD, price: 3}]\n"
    "sections: [{name: left, longest: 900}]\n"
    "parts:\n"
    "  - {label: rail, centres: 1000, both ends: tee, count: 2, section: left}\n"
    "  - {label: post, length: 300, section: left}\n";

static void test_takeoff(void **state)
{
    (void)state;
    json_t *reply = web_shop_post("/api/takeoff", drawn_job, NULL, 200);
    assert_int_equal(json_array_size(json_object_get(reply, "parts")), 1);
    const json_t *part = json_array_get(json_object_get(reply, "parts"), 0);
    assert_string_equal(web_shop_text(part, "label"), "rail");
    assert_int_equal(web_shop_number(json_object_get(part, "cut"), "nm"), INT64_C(958000000));
    int64_t sum = 0;
    size_t i = 0;
    json_t *step = NULL;
    json_array_foreach(json_object_get(part, "steps"), i, step) sum +=
        web_shop_number(json_object_get(step, "amount"), "nm");
    assert_int_equal(sum, INT64_C(958000000)); /* the steps add up to the cut */
    const json_t *fitting = json_array_get(json_object_get(reply, "fittings"), 0);
    assert_string_equal(web_shop_text(fitting, "name"), "clamp tee");
    assert_int_equal(web_shop_number(fitting, "count"), 4);
    const json_t *section = json_array_get(json_object_get(reply, "sections"), 0);
    assert_int_equal(web_shop_number(section, "pieces"), 3);
    assert_int_equal(json_array_size(json_object_get(section, "over")), 1);
    assert_int_equal(json_array_size(json_object_get(section, "unjudged")), 0);
    json_decref(reply);
    json_decref(web_shop_post("/api/takeoff", "dropwise: 1\n", NULL, 422));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/takeoff", "{}", 422));
}

/* The first remark that is a doubt. */
static const json_t *doubt_of(const json_t *reply)
{
    size_t i = 0;
    json_t *remark = NULL;
    json_array_foreach(json_object_get(reply, "remarks"), i, remark)
    {
        if (strcmp(web_shop_text(remark, "severity"), "doubt") == 0)
            return remark;
    }
    return NULL;
}

/* 958 is 58 over 900: said when the job is checked, and with its plan. */
static void test_limits(void **state)
{
    (void)state;
    static const char over[] =
        "section left: rail is 958 mm long, 58 mm over the longest piece of 900 mm";
    json_t *reply = web_shop_post("/api/check", drawn_job, NULL, 200);
    const json_t *remark = doubt_of(reply);
    assert_string_equal(web_shop_text(remark, "text"), over);
    assert_int_equal(web_shop_number(remark, "line"), 7);
    assert_int_equal(web_shop_number(remark, "column"), 12);
    json_decref(reply);
    json_t *task = web_shop_work("/api/plans", drawn_job, NULL);
    char path[64];
    snprintf(path, sizeof path, "/api/plans/%s",
             web_shop_text(json_object_get(task, "result"), "plan"));
    json_t *plan = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    assert_string_equal(web_shop_text(doubt_of(plan), "text"), over);
    json_decref(plan);
    json_decref(task);
}

/* --- plan files and papers -------------------------------------------------------------------- */

/* One rail of 600 mm from a bar of 1000 mm. Squared at its one mill end: 4 mm. */
static const char short_job[] =
    "dropwise: 1\nname: Rail\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2, squaring: 4}\n"
    "rules: {keep: 300}\nmaterials: [{id: t}]\n"
    "bars: [{id: b, length: 1000, price: 9, ends: \"sawn, mill\"}]\n"
    "parts: [{label: rail, length: 600}]\n";

static char *plan_of(const char *job)
{
    json_t *task = web_shop_work("/api/plans", job, ",\"time_ms\":5000");
    struct dw_buf path = {0};
    dw_buf__format(&path, "/api/plans/%s", web_shop_text(json_object_get(task, "result"), "plan"));
    json_decref(task);
    return dw_buf__take(&path);
}

static char *fetch(const char *path, const char *step, int status)
{
    char whole[160], *bytes = NULL;
    snprintf(whole, sizeof whole, "%s%s", path, step);
    int is = web_shop_ask(&the_shop, DW_WEB_GET, whole, NULL, &bytes);
    if (is != status)
        fail_msg("%s: %d instead of %d: %.200s", whole, is, status, bytes);
    return bytes;
}

static void test_every_form(void **state)
{
    (void)state;
    static const struct {
        const char *step;
        int status;
        const char *begins;
    } cases[] = {
        {"/papers/sheet.pdf", 200, "%PDF-"},
        {"/papers/sheet.svg", 200, "<?xml"},
        {"/papers/sheet.png?dpi=40", 200, "\x89PNG"},
        {"/papers/sheet.pdf?paper=letter&order=plan&number=Q7&date=2026-04-01", 200, "%PDF-"},
        {"/papers/sheet.svg?count=1", 200, "{\"pages\":1}"},
        {"/papers/sheet.svg?page=2", 404, "{\"error\""},
        {"/papers/sheet.svg?page=x", 422, "{\"error\""},
        {"/papers/sheet.pdf?order=sideways", 422, "{\"error\""},
        {"/papers/sheet.pdf?number=12345678901234567890123456789012345678901", 422, "{\"error\""},
        {"/papers/sheet.pdf?date=tomorrow", 422, "{\"error\""},
        {"/order?date=2026-02-30", 422, "{\"error\""},
        {"/order?date=2026-04-01", 200, "{\"format\":\"dropwise order\""},
        {"/papers/sheet.png?dpi=9999", 422, "{\"error\""},
        {"/papers/labels.svg?skip=3&which=parts", 200, "<?xml"},
        {"/papers/labels.pdf?stock=none", 404, "{\"error\""},
        {"/papers/order.pdf", 200, "%PDF-"},
        {"/papers/order.csv", 200, "\xEF\xBB\xBFsupplier,kind,item"},
        {"/papers/order.xlsx", 200, "PK"},
        {"/papers/plan.xlsx", 200, "PK"},
        {"/papers/plan.csv", 200,
         "\xEF\xBB\xBF"
         "bar,last alike,bars"},
        {"/papers/pieces.csv", 200,
         "\xEF\xBB\xBF"
         "bar,bars,supply,piece"},
        {"/papers/pieces.xlsx", 404, "{\"error\""},
        {"/papers/money.csv", 200, "\xEF\xBB\xBFwhat,money"},
        {"/papers/takeoff.xlsx", 200, "PK"},
        {"/papers/sections.csv", 200, "\xEF\xBB\xBFsection,pieces"},
        {"/papers/plan.xlsx?paper=letter", 200, "PK"},
        {"/papers/quote.xlsx", 409, "{\"error\""},
        {"/papers/sheet.csv", 404, "{\"error\""},
        {"/papers/quote.pdf", 409, "{\"error\""}, /* no terms in the job */
        {"/papers/plan.json", 200, "{"},
        {"/papers/job.yaml", 200, "dropwise: 1\nname: Rail"},
        {"/papers/job.json", 404, "{\"error\""},
        {"/papers/sheet", 404, "{\"error\""},
        {"/papers/.pdf", 404, "{\"error\""},
    };
    char *path = plan_of(short_job);
    for (size_t i = 0; i < DW_COUNT(cases); i++) {
        char *bytes = fetch(path, cases[i].step, cases[i].status);
        if (strncmp(bytes, cases[i].begins, strlen(cases[i].begins)) != 0)
            fail_msg("%s begins with %.20s", cases[i].step, bytes);
        free(bytes);
    }
    free(path);
    json_t *stocks = web_shop_json(&the_shop, DW_WEB_GET, "/api/stocks", NULL, 200);
    assert_true(json_array_size(json_object_get(stocks, "stocks")) > 1);
    json_decref(stocks);
}

/* The plan document with the job it was made from, as two files; then one money spoiled. */
static void test_verify(void **state)
{
    (void)state;
    char *path = plan_of(short_job);
    char *document = fetch(path, "/papers/plan.json", 200);
    struct dw_buf more = {0};
    dw_buf__put(&more, ",\"plan\":");
    dw_buf__json(&more, document);
    dw_buf__put(&more, ",\"keep\":true");
    json_t *reply = web_shop_post("/api/verify", short_job, more.text, 200);
    assert_true(json_is_true(json_object_get(reply, "good")));
    assert_string_equal(web_shop_text(reply, "proven bound"), "9.00");
    assert_true(json_is_true(json_object_get(reply, "settled")));
    assert_string_equal(web_shop_text(json_object_get(reply, "claimed"), "status"), "optimal");
    char kept[64];
    snprintf(kept, sizeof kept, "/api/plans/%s", web_shop_text(reply, "plan"));
    assert_string_not_equal(kept, path);
    json_decref(reply);
    json_t *plan = web_shop_json(&the_shop, DW_WEB_GET, kept, NULL, 200);
    assert_string_equal(web_shop_text(plan, "value"), "9.00");
    json_decref(plan);
    char *at = strstr(more.text, "9.00");
    assert_non_null(at);
    at[0] = '8';
    reply = web_shop_post("/api/verify", short_job, more.text, 200);
    assert_true(json_is_false(json_object_get(reply, "good")));
    assert_true(json_is_null(json_object_get(reply, "proven bound"))); /* of a wrong plan nothing */
    assert_true(json_is_false(json_object_get(reply, "settled")));
    assert_true(json_array_size(json_object_get(reply, "remarks")) > 0);
    assert_true(json_is_null(json_object_get(reply, "plan"))); /* it is not kept */
    json_decref(reply);
    dw_buf__free(&more);
    json_decref(web_shop_post("/api/verify", short_job, ",\"plan\":\"{}\"", 422));
    json_decref(web_shop_post("/api/verify", short_job, ",\"plan\":\"\"", 422));
    json_decref(web_shop_post("/api/verify", "", ",\"plan\":\"{}\"", 422));
    free(document);
    free(path);
}

/* What the page is told of a plan is what its document says, in the same words; lengths are whole
 * millimetres here and money has two decimals, so that the texts are the same too. */
static void same_as_document(const char *path, const char *document)
{
    static const char *const apart[] = {"format", "version", "job", "shelf"};
    json_t *told = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    json_t *says = json_loads(document, 0, NULL);
    assert_non_null(says);
    for (size_t i = 0; i < DW_COUNT(apart); i++)
        json_object_del(says, apart[i]);
    const char *key = NULL;
    json_t *value = NULL;
    assert_true(json_object_size(says) >= 8);
    json_object_foreach(says, key, value)
    {
        if (!json_equal(value, json_object_get(told, key)))
            fail_msg("%s is not as in the document", key);
    }
    json_decref(told);
    json_decref(says);
}

/* An offcut of 700 mm at 1.00, long enough for the rail of 600 mm with its squaring, against a bar
 * at 9.00: the plan takes it. Job and plan as two downloads hold without this shelf. */
static void test_download_brings_shelf(void **state)
{
    (void)state;
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/materials", "{\"id\":\"t\"}", 200));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/shelf",
                              "{\"number\":\"C77\",\"material\":\"t\",\"length\":\"700 mm\","
                              "\"value\":\"1.00\",\"ends\":\"sawn\"}",
                              200));
    json_t *task = web_shop_work("/api/plans", short_job, ",\"shelf\":true,\"time_ms\":5000");
    char path[64];
    snprintf(path, sizeof path, "/api/plans/%s",
             web_shop_text(json_object_get(task, "result"), "plan"));
    json_decref(task);
    char *document = fetch(path, "/papers/plan.json", 200);
    char *written = fetch(path, "/papers/job.yaml", 200);
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_job_source job_file = {.path = "job.yaml", .text = written, .n = strlen(written)};
    struct dw_job_source plan_file = {.path = "plan.json", .text = document, .n = strlen(document)};
    assert_int_equal(dw_job_load(&job_file, &job, &report, &error), DW_OK);
    if (dw_job_verify(job, &plan_file, &plan, NULL, &report, &error) != DW_OK)
        fail_msg("%s", error.text);
    assert_string_equal(job->supplies[plan->layouts[0].supply].id, "C77");
    dw_plan_free(plan);
    dw_job_free(job);
    dw_report_free(&report);
    same_as_document(path, document);
    free(document);
    free(written);
    json_decref(
        web_shop_json(&the_shop, DW_WEB_POST, "/api/scrap", "{\"numbers\":[\"C77\"]}", 200));
}

/* --- holding --------------------------------------------------------------------------------- */

/* A plan of a job of the page; its path. */
static void plan_of_page(const char *job, const char *key, int revision, char path[64])
{
    char more[96];
    snprintf(more, sizeof more, ",\"job\":\"%s\",\"revision\":%d,\"time_ms\":5000", key, revision);
    json_t *task = web_shop_work("/api/plans", job, more);
    const char *plan = web_shop_text(json_object_get(task, "result"), "plan");
    snprintf(path, 64, "/api/plans/%s/hold", plan);
    json_decref(task);
}

static void hold_is(const char *path, const char *body, int status, const char *words)
{
    json_t *reply = web_shop_json(&the_shop, DW_WEB_POST, path, body, status);
    if (words)
        assert_non_null(strstr(web_shop_text(json_object_get(reply, "error"), "text"), words));
    json_decref(reply);
}

/* Neither a job that is held already nor one that was changed since is held, unless it is meant. */
static void test_hold_twice_and_changed(void **state)
{
    (void)state;
    static const char bench[] = "dropwise: 1\nname: Desk leg\nunit: mm\nsaw: {kerf: 2}\n"
                                "materials: [{id: box40}]\n"
                                "bars: [{id: six, length: 6000, price: 30}]\n"
                                "parts: [{label: leg, length: 710, count: 4}]\n";
    char first[64], second[64], third[64], at[64];
    json_t *saved = web_shop_json(&the_shop, DW_WEB_POST, "/api/documents/job",
                                  "{\"name\":\"Desk leg\",\"body\":\"one\"}", 200);
    const char *key = web_shop_text(saved, "key");
    plan_of_page(bench, key, 1, first);
    plan_of_page(bench, key, 1, second);
    plan_of_page(bench, key, 1, third);
    hold_is(first, "{}", 200, NULL);
    hold_is(second, "{}", 409, "holds this job already");
    hold_is(second, "{\"again\":true}", 200, NULL);
    snprintf(at, sizeof at, "/api/documents/job/%s", key);
    json_decref(web_shop_json(&the_shop, DW_WEB_PUT, at,
                              "{\"name\":\"Desk leg\",\"body\":\"two\",\"revision\":1}", 200));
    hold_is(third, "{}", 409, "the job was changed after this plan was made");
    hold_is(third, "{\"again\":true}", 409, "the job was changed after this plan was made");
    json_decref(saved);
}

/* --- tables that a job names --------------------------------------------------------------------
 */

static void check_table(const char *what, const char *text, const char *expected)
{
    char more[64];
    snprintf(more, sizeof more, ",\"unit\":\"mm\",\"what\":\"%s\"", what);
    json_t *reply = web_shop_post("/api/table", text, more, 200);
    json_t *table = json_object_get(reply, "table");
    json_t *shown = json_pack("{s:O, s:O}", "columns", json_object_get(table, "columns"), "rows",
                              json_object_get(table, "rows"));
    char *is = json_dumps(shown, JSON_COMPACT);
    json_decref(shown);
    assert_string_equal(is, expected);
    free(is);
    json_decref(reply);
}

static void test_tables(void **state)
{
    (void)state;
    check_table("offcuts", "number,length (in),place\n41,24 3/8,bin 2\n",
                "{\"columns\":[\"id\",\"length\",\"place\"],\"rows\":[[\"41\",\"24 3/8 "
                "in\",\"bin 2\"]]}");
    check_table("bars", "id;length;price\nsix;6 m;37,20\n",
                "{\"columns\":[\"id\",\"length\",\"price\"],\"rows\":[[\"six\",\"6 "
                "m\",\"37,20\"]]}");
    check_table("posts", "label\tlength\tat most\tworth\nhook\t200\t2\t1.00\n",
                "{\"columns\":[\"label\",\"length\",\"at "
                "most\",\"worth\"],\"rows\":[[\"hook\",\"200\",\"2\",\"1.00\"]]}");
    json_decref(web_shop_post("/api/table", "a,b\n1,2\n", ",\"what\":\"wheels\"", 422));
    json_decref(web_shop_post("/api/table", "six;6 m;37,20\n", ",\"what\":\"bars\"", 422));
}

/* Two rails of 958 mm and a post of 300 mm, a kerf of 2 mm each, out of 6000 + 2 mm: one bar. */
static void test_groups(void **state)
{
    (void)state;
    json_t *reply = web_shop_post("/api/check", drawn_job, NULL, 200);
    const json_t *group = json_array_get(json_object_get(reply, "groups"), 0);
    assert_int_equal(web_shop_number(group, "n_parts"), 3);
    assert_int_equal(web_shop_number(json_object_get(group, "net"), "nm"), INT64_C(2216000000));
    assert_int_equal(web_shop_number(group, "least_bars"), 1);
    json_decref(reply);
}

/* --- a job to be edited --------------------------------------------------------------------------
 */

/* Keys get the names that the page knows, values stay as they are; a wrong job is opened too. */
static void test_open(void **state)
{
    (void)state;
    json_t *reply =
        web_shop_post("/api/open",
                      "Units: mm\nsaw: {kerf: 0x}\nmaterials: [{id: t}]\n"
                      "parts: [{name: leg, cut_length: 24 3/8, Qty: 3, wheels: 4},\n"
                      "        {qty: 1, count: 2},\n"
                      "        {label: sill, length: 500, End-1: {miter: 45, to: long point}}]\n",
                      NULL, 200);
    char *is = json_dumps(json_object_get(reply, "job"), JSON_COMPACT);
    assert_string_equal(is,
                        "{\"unit\":\"mm\",\"saw\":{\"kerf\":\"0x\"},\"materials\":[{\"id\":\"t\"}],"
                        "\"parts\":[{\"label\":\"leg\","
                        "\"length\":\"24 3/8\",\"count\":\"3\",\"wheels\":\"4\"},{\"qty\":\"1\","
                        "\"count\":\"2\"},{\"label\":\"sill\",\"length\":\"500\",\"end "
                        "1\":{\"mitre\":\"45\",\"to\":\"long point\"}}]}");
    free(is);
    json_decref(reply);
    json_decref(web_shop_post("/api/open", "parts: [", NULL, 422));
    /* A key that is given twice is a mistake; what is written has it once. */
    reply = web_shop_post("/api/open", "unit: mm\nunit: in\nsaw: {kerf: 1, kerf: 2}\n", NULL, 200);
    is = json_dumps(json_object_get(reply, "job"), JSON_COMPACT);
    assert_string_equal(is, "{\"unit\":\"mm\",\"saw\":{\"kerf\":\"1\"}}");
    free(is);
    json_decref(reply);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lengths),
        cmocka_unit_test(test_lengths_refused),
        cmocka_unit_test(test_takeoff),
        cmocka_unit_test(test_every_form),
        cmocka_unit_test(test_verify),
        cmocka_unit_test(test_download_brings_shelf),
        cmocka_unit_test(test_hold_twice_and_changed),
        cmocka_unit_test(test_tables),
        cmocka_unit_test(test_open),
        cmocka_unit_test(test_groups),
        cmocka_unit_test(test_limits),
    };
    return cmocka_run_group_tests(tests, web_shop_setup, web_shop_teardown);
}
