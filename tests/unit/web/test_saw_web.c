/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page at the saw: bars ticked off, deliveries, a wrong cut, a true length, plans that were
 * held elsewhere. All figures are worked out by hand beside the check. */
#include "web_shop.h"

#include <dropwise/shelf.h>
#include "web/planned.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* --- a plan that was held elsewhere ------------------------------------------------------------
 */

/* One rail of 600 mm from a bar of 1000 mm. Squared at its one mill end: 4 mm. */
static const char short_job[] =
    "dropwise: 1\nname: Rail\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2, squaring: 4}\n"
    "rules: {keep: 300}\nmaterials: [{id: t}]\n"
    "bars: [{id: b, length: 1000, price: 9, ends: \"sawn, mill\"}]\n"
    "parts: [{label: rail, length: 600}]\n";

/* A stile that is measured on site. */
static const char stile_job[] =
    "dropwise: 1\nname: Stile\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\nmaterials: [{id: t}]\n"
    "bars: [{id: three, length: 3000, price: 9}]\n"
    "parts:\n  - {label: rail, length: 600}\n"
    "  - {label: stile, length: 1000, measure first: yes, allowance: 25}\n";

/* As `dropwise plan --hold` does it. */
static int64_t hold_elsewhere(const char *text)
{
    struct dw_job *job = NULL;
    struct dw_plan *plan = NULL;
    struct dw_report report = {0};
    struct dw_job_request request = {0};
    struct dw_job_source source = {.path = "rail.yaml", .text = text, .n = strlen(text)};
    int64_t id = 0, step = 0;
    assert_int_equal(dw_job_load(&source, &job, &report, NULL), DW_OK);
    dw_settings_default(&request.settings);
    assert_int_equal(dw_job_plan(job, &request, &plan, NULL), DW_OK);
    const struct dw_act act = {.when = "2026-03-01T08:00:00Z"};
    struct dw_shelf_hold how = {.digest = dw_job_digest(job), .again = true};
    assert_int_equal(
        dw_shelf_hold_plan(the_shop.app->ledger, &act, job, plan, &how, &id, &step, NULL), DW_OK);
    dw_plan_free(plan);
    dw_job_free(job);
    dw_report_free(&report);
    return id;
}

static json_t *held_plan(int64_t id, char path[64])
{
    snprintf(path, 64, "/api/held/%lld", (long long)id);
    return web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
}

/* Its only rail came out as 500 mm: a second bar, 9.00 again, is needed. */
static void test_held_elsewhere(void **state)
{
    (void)state;
    char path[64];
    int64_t id = hold_elsewhere(short_job);
    snprintf(path, sizeof path, "/api/held/%lld", (long long)id);
    json_t *held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    const json_t *bar = json_array_get(json_object_get(held, "bars"), 0);
    assert_int_equal(web_shop_number(bar, "trim_nm"), 0); /* the datum end is sawn already */
    assert_int_equal(web_shop_number(bar, "far_trim_nm"), INT64_C(4000000));
    assert_string_equal(web_shop_text(bar, "squaring"), "square the far end first, 4 mm off");
    assert_true(json_is_null(json_object_get(held, "plan")));
    /* 1000 = 4 squared off + 600 + 2 kerf + 394 left: the kerf is what the bar does not account for
     */
    assert_int_equal(web_shop_number(held, "kerf_nm"), INT64_C(2000000));
    assert_int_equal(web_shop_number(json_object_get(bar, "leftover"), "nm"), INT64_C(394000000));
    const json_t *mark = json_array_get(json_object_get(bar, "marks"), 0);
    assert_string_equal(web_shop_text(json_object_get(mark, "running"), "text"), "600 mm");
    assert_string_equal(web_shop_text(json_object_get(held, "document"), "format"),
                        "dropwise plan");
    json_decref(held);
    snprintf(path, sizeof path, "/api/held/%lld/miscut", (long long)id);
    const char *what = ",\"bar\":1,\"kind\":\"short\",\"piece\":1,\"length\":\"500\"";
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, path,
                              "{\"bar\":1,\"kind\":\"short\",\"piece\":1,\"length\":\"500\"}",
                              409));
    json_t *task = web_shop_work(path, stile_job, what); /* another job */
    assert_string_equal(web_shop_text(task, "state"), "failed");
    assert_non_null(strstr(web_shop_text(task, "error"), "this is not the job"));
    json_decref(task);
    task = web_shop_work(path, short_job, what);
    assert_string_equal(web_shop_text(task, "state"), "done");
    const json_t *result = json_object_get(task, "result");
    assert_string_equal(web_shop_text(result, "after"), "9.00");
    assert_true(web_shop_number(result, "held") > id);
    assert_int_equal(web_shop_number(result, "replaces"), id);
    json_decref(task);
}

/* A plan that the page stored when it did not yet keep what a plan of the shelf is made from. */
static void test_earlier_version(void **state)
{
    (void)state;
    const struct dw_act act = {.when = "2026-03-01T08:00:00Z"};
    struct dw_document_list *saved = NULL;
    struct dw_document old = {.kind = DW_STORE_PLAN,
                              .name = "|9.00|1|optimal|Rail",
                              .body = "{\"text\":\"x\",\"rest\":[],\"plan\":\"{}\"}"};
    char path[64];
    int64_t id = hold_elsewhere(short_job);
    struct dw_ledger *ledger = the_shop.app->ledger;
    assert_int_equal(dw_ledger_document_save(ledger, &act, &old, &saved, NULL), DW_OK);
    assert_int_equal(dw_planned__mark_held(ledger, &act, saved->rows[0].key, id, NULL), DW_OK);
    dw_document_list_free(saved);
    snprintf(path, sizeof path, "/api/held/%lld", (long long)id);
    json_t *held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    assert_non_null(strstr(web_shop_text(held, "unread"), "it can be looked at and saved"));
    assert_true(json_is_null(json_object_get(held, "plan")));
    json_decref(held);
    snprintf(path, sizeof path, "/api/held/%lld/miscut", (long long)id);
    json_t *task = web_shop_work(path, short_job,
                                 ",\"bar\":1,\"kind\":\"short\",\"piece\":1,\"length\":\"500\"");
    assert_string_equal(web_shop_text(task, "state"), "done"); /* of the job that is brought */
    json_decref(task);
}

/* Such a plan is not shown as a plan and has no papers, and says why; its document and its job are
 * given as they were stored. */
static void test_earlier_version_is_kept(void **state)
{
    (void)state;
    static const char *const bodies[] = {
        "{\"text\":\"the job\",\"rest\":[],\"plan\":\"{\\\"layouts\\\":[]}\"}",
        "{\"text\":\"the job\",\"shelf\":true,\"supplies\":[],\"plan\":\"{\\\"layouts\\\":[]}\"}"};
    static const struct {
        const char *tail;
        int status;
        const char *words;
    } asked[] = {{"", 409, "it can be looked at and saved"},
                 {"/check", 409, "it can be looked at and saved"},
                 {"/order", 409, "papers, order and quote need a plan of today"},
                 {"/papers/sheet.pdf", 409, "papers, order and quote need a plan of today"},
                 {"/papers/plan.json", 200, "{\"layouts\":[]}"},
                 {"/papers/job.yaml", 200, "the job"}};
    const struct dw_act act = {.when = "2026-03-01T08:00:00Z"};
    for (size_t i = 0; i < DW_COUNT(bodies); i++) {
        struct dw_document_list *saved = NULL;
        struct dw_document old = {
            .kind = DW_STORE_PLAN, .name = "|9.00|1|optimal|Rail", .body = bodies[i]};
        assert_int_equal(dw_ledger_document_save(the_shop.app->ledger, &act, &old, &saved, NULL),
                         DW_OK);
        for (size_t k = 0; k < DW_COUNT(asked); k++) {
            char path[96];
            char *reply = NULL;
            snprintf(path, sizeof path, "/api/plans/%s%s", saved->rows[0].key, asked[k].tail);
            assert_int_equal(web_shop_ask(&the_shop, DW_WEB_GET, path, NULL, &reply),
                             asked[k].status);
            assert_non_null(strstr(reply, asked[k].words));
            free(reply);
        }
        dw_document_list_free(saved);
    }
}

/* --- tube comes ---------------------------------------------------------------------------------
 */

/* One bar of 1000 mm for one rail, of which none is left to buy once it came out too short; then
 * 700 mm for 3.00 come. What is missing costs these 3.00: no cut costs anything, 700 - 602 = 98 mm
 * are scrap. */
static void test_rest(void **state)
{
    (void)state;
    static const char job[] =
        "dropwise: 1\nname: Rail\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\nrules: {keep: 300}\n"
        "materials: [{id: r40}]\nbars: [{id: b, length: 1000, price: 9, count: 1}]\n"
        "parts: [{label: rail, length: 600}]\n";
    char path[64], at[80];
    int64_t id = hold_elsewhere(job);
    json_decref(held_plan(id, path));
    snprintf(at, sizeof at, "%s/miscut", path);
    json_t *task =
        web_shop_work(at, job, ",\"bar\":1,\"kind\":\"short\",\"piece\":1,\"length\":\"500\"");
    assert_true(json_is_true(json_object_get(json_object_get(task, "result"), "short")));
    json_decref(task);
    json_t *held = held_plan(id, path);
    assert_int_equal(web_shop_number(held, "missing"), 1);
    assert_true(json_is_true(json_object_get(held, "open")));
    json_decref(held);
    snprintf(at, sizeof at, "%s/rest", path);
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, at, "{}", 409)); /* which job? */
    task = web_shop_work(at, job, NULL);
    const json_t *result = json_object_get(task, "result");
    assert_true(json_is_true(json_object_get(result, "short")));
    assert_int_equal(web_shop_number(result, "step"), 0);
    json_decref(task);
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/shelf",
                              "{\"material\":\"r40\",\"length\":\"700 mm\",\"value\":\"3.00\"}",
                              200));
    task = web_shop_work(at, job, NULL);
    assert_string_equal(web_shop_text(task, "state"), "done");
    result = json_object_get(task, "result");
    assert_true(json_is_false(json_object_get(result, "short")));
    assert_int_equal(web_shop_number(result, "replaces"), id);
    assert_string_equal(web_shop_text(result, "difference"), "3.00");
    held = held_plan(web_shop_number(result, "held"), path);
    assert_int_equal(web_shop_number(held, "replaces"), id);
    assert_int_equal(web_shop_number(held, "missing"), 0);
    json_decref(held);
    json_decref(task);
}

/* Two supplies of one delivery, each at its own price, a part of one of them: one step. */
static void test_delivery_of_rows(void **state)
{
    (void)state;
    static const char stand[] =
        "dropwise: 1\nname: Desk stand\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\n"
        "materials: [{id: d30}, {id: d40}]\n"
        "bars: [{id: thin, material: d30, length: 1000, price: 9},"
        " {id: wide, material: d40, length: 1000, price: 12}]\n"
        "parts: [{label: leg, material: d30, length: 900, count: 3},"
        " {label: foot, material: d40, length: 900}]\n";
    static const char *const refused[] = {
        "{\"rows\":[]}",
        "{\"rows\":{}}",
        "{\"rows\":[1]}",
        "{\"rows\":[{\"bars\":1}]}",
        "{\"rows\":[{\"supply\":\"thin\"}],\"supply\":\"wide\"}",
        "{\"rows\":[{\"supply\":\"thin\",\"bars\":1},{\"supply\":\"thin\",\"bars\":1}]}",
        "{\"rows\":[{\"supply\":\"thin\",\"paid\":\"-1\"}]}",
        "{\"rows\":[{\"supply\":\"thin\",\"bars\":0}]}"};
    char path[64], deliver[80];
    json_t *held = held_plan(hold_elsewhere(stand), path);
    assert_string_equal(web_shop_text(json_array_get(json_object_get(held, "buys"), 0), "each"),
                        "9.00");
    assert_string_equal(web_shop_text(held, "currency"), "EUR");
    json_decref(held);
    snprintf(deliver, sizeof deliver, "%s/deliver", path);
    for (size_t i = 0; i < DW_COUNT(refused); i++)
        json_decref(web_shop_json(&the_shop, DW_WEB_POST, deliver, refused[i], 422));
    json_t *step = web_shop_json(
        &the_shop, DW_WEB_POST, deliver,
        "{\"rows\":[{\"supply\":\"thin\",\"bars\":2,\"paid\":\"8.75\"},{\"supply\":\"wide\"}],"
        "\"place\":\"yard9\"}",
        200);
    held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    const json_t *buys = json_object_get(held, "buys");
    assert_int_equal(web_shop_number(json_array_get(buys, 0), "came"), 2);
    assert_int_equal(web_shop_number(json_array_get(buys, 1), "came"), 1);
    json_decref(held);
    json_t *list = web_shop_json(&the_shop, DW_WEB_GET, "/api/shelf?place=yard9", NULL, 200);
    const json_t *pieces = json_object_get(list, "pieces");
    assert_int_equal(json_array_size(pieces), 3);
    for (size_t i = 0; i < 3; i++) {
        const json_t *piece = json_array_get(pieces, i);
        bool thin = strcmp(web_shop_text(piece, "material"), "d30") == 0;
        assert_string_equal(web_shop_text(piece, "value"), thin ? "8.75" : "12.00");
    }
    json_decref(list);
    char undo[64];
    snprintf(undo, sizeof undo, "{\"step\":%lld}", (long long)web_shop_number(step, "step"));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/undo", undo, 200));
    held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(web_shop_number(json_array_get(json_object_get(held, "buys"), i), "came"),
                         0);
    json_decref(held);
    json_decref(step);
}

/* Four bearers of 2000 mm take two bars, a pack has three: one comes first, then the others, of
 * which one is to spare. */
static void test_delivery(void **state)
{
    (void)state;
    static const char tray[] = "dropwise: 1\nname: Cable tray\nunit: mm\nsaw: {kerf: 2}\n"
                               "materials: [{id: box30}]\n"
                               "bars: [{id: six, length: 6000, price: 30, pack: 3}]\n"
                               "parts: [{label: bearer, length: 2000, count: 4}]\n";
    char path[64], deliver[80];
    int64_t id = hold_elsewhere(tray);
    snprintf(path, sizeof path, "/api/held/%lld", (long long)id);
    snprintf(deliver, sizeof deliver, "%s/deliver", path);
    const char *refused[] = {"{\"supply\":\"eight\"}", "{\"bars\":1}",
                             "{\"supply\":\"six\",\"bars\":4}",
                             "{\"supply\":\"six\",\"paid\":\"-1\"}"};
    const int status[] = {404, 422, 409, 422};
    for (size_t i = 0; i < DW_COUNT(refused); i++)
        json_decref(web_shop_json(&the_shop, DW_WEB_POST, deliver, refused[i], status[i]));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, deliver,
                              "{\"supply\":\"six\",\"bars\":1,\"paid\":\"28.50\"}", 200));
    json_t *held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    const json_t *bars = json_object_get(held, "bars");
    assert_int_equal(json_array_size(bars), 2);
    assert_true(json_is_true(json_object_get(json_array_get(bars, 0), "here")));
    assert_true(json_is_false(json_object_get(json_array_get(bars, 1), "here")));
    const json_t *buy = json_array_get(json_object_get(held, "buys"), 0);
    assert_int_equal(web_shop_number(buy, "bought"), 3);
    assert_int_equal(web_shop_number(buy, "came"), 1);
    json_decref(held);
    json_t *step = web_shop_json(&the_shop, DW_WEB_POST, deliver, "{}", 200);
    const json_t *shelf = json_object_get(step, "shelf"); /* the one to spare */
    assert_int_equal(json_array_size(shelf), 1);
    assert_string_equal(web_shop_text(json_array_get(shelf, 0), "kind"), "bar");
    json_decref(step);
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, deliver, "{}", 409));
}

/* Two bars are bought, one comes: the page's sheet tells the other. */
static void test_sheet_to_come(void **state)
{
    (void)state;
    static const char tray[] = "dropwise: 1\nname: Lamp tray\nunit: mm\nsaw: {kerf: 2}\n"
                               "materials: [{id: box20}]\n"
                               "bars: [{id: six, length: 6000, price: 30}]\n"
                               "parts: [{label: bearer, length: 4000, count: 2}]\n";
    char sheet[96], path[96];
    json_t *task = web_shop_work("/api/plans", tray, ",\"time_ms\":5000");
    const char *key = web_shop_text(json_object_get(task, "result"), "plan");
    snprintf(sheet, sizeof sheet, "/api/plans/%s/papers/sheet.pdf", key);
    snprintf(path, sizeof path, "/api/plans/%s/hold", key);
    char *free_text = web_shop_paper(&the_shop, sheet);
    assert_null(strstr(free_text, "still to come")); /* nobody has bought them yet */
    json_t *hold = web_shop_json(&the_shop, DW_WEB_POST, path, "{}", 200);
    char *held = web_shop_paper(&the_shop, sheet);
    assert_non_null(strstr(held, "box20, still to come"));
    snprintf(path, sizeof path, "/api/held/%lld/deliver", (long long)web_shop_number(hold, "held"));
    json_decref(
        web_shop_json(&the_shop, DW_WEB_POST, path, "{\"supply\":\"six\",\"bars\":1}", 200));
    char *some = web_shop_paper(&the_shop, sheet);
    assert_non_null(strstr(some, "box20, 1 of them still to come"));
    assert_non_null(strstr(some, "still to come: bar 2"));
    json_decref(hold);
    json_decref(task);
    free(some);
    free(held);
    free(free_text);
}

/* --- the wrong bar -----------------------------------------------------------------------------
 */

/* The stay was to come from K1, which was paid with 1.00, and is cut from K2, paid with 5.00, of
 * which nothing is kept: 4.00 more. Nothing is left to cut, K1 goes back. */
static void test_wrong_bar(void **state)
{
    (void)state;
    static const char stay[] = "dropwise: 1\nname: Stay\nunit: mm\ncurrency: EUR\nsaw: {kerf: 2}\n"
                               "rules: {keep: 300}\nmaterials: [{id: st25}]\n"
                               "bars: [{id: b, length: 1000, price: 9}]\n"
                               "parts: [{label: stay, length: 600}]\n";
    static const char *const pieces[] = {
        "{\"material\":\"st25\",\"length\":\"700 mm\",\"number\":\"K1\",\"value\":\"1.00\"}",
        "{\"material\":\"st25\",\"length\":\"800 mm\",\"number\":\"K2\",\"value\":\"5.00\"}"};
    char path[96];
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/materials", "{\"id\":\"st25\"}", 200));
    for (size_t i = 0; i < DW_COUNT(pieces); i++)
        json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/shelf", pieces[i], 200));
    json_t *task = web_shop_work("/api/plans", stay, ",\"shelf\":true,\"time_ms\":5000");
    snprintf(path, sizeof path, "/api/plans/%s/hold",
             web_shop_text(json_object_get(task, "result"), "plan"));
    json_decref(task);
    json_t *hold = web_shop_json(&the_shop, DW_WEB_POST, path, "{}", 200);
    snprintf(path, sizeof path, "/api/held/%lld/miscut", (long long)web_shop_number(hold, "held"));
    json_decref(hold);
    json_t *begun = web_shop_json(&the_shop, DW_WEB_POST, path,
                                  "{\"bar\":1,\"kind\":\"wrong bar\",\"number\":\"K2\"}", 202);
    task = web_shop_follow(&the_shop, web_shop_number(begun, "task"));
    json_decref(begun);
    const json_t *result = json_object_get(task, "result"), *back = json_object_get(result, "back");
    assert_true(json_is_true(json_object_get(result, "finished")));
    assert_string_equal(web_shop_text(result, "difference"), "4.00");
    assert_string_equal(web_shop_text(result, "revalued"), "0.00");
    assert_int_equal(json_array_size(back), 1);
    assert_string_equal(json_string_value(json_array_get(back, 0)), "K1");
    json_decref(task);
}

/* --- units, bent bars --------------------------------------------------------------------------
 */

/* The shop has millimetres, the job another unit; a bar of 10 ft gives two feet of 20 in, 508 mm,
 * and the saw takes 1/8 in. */
static void check_unit(const char *unit, const char *of_bar, const char *of_piece, const char *mark)
{
    char path[64], job[256];
    snprintf(job, sizeof job,
             "dropwise: 1\nname: Pan stand\nunit: %s\nsaw: {kerf: 1/8 in}\n"
             "materials: [{id: st32, name: steel 32 x 2}]\n"
             "bars: [{id: ten, length: 10 ft, price: 8}]\n"
             "parts: [{label: foot, length: 20 in, count: 2}]\n",
             unit);
    json_t *held = held_plan(hold_elsewhere(job), path);
    const json_t *bar = json_array_get(json_object_get(held, "bars"), 0);
    const json_t *piece = json_array_get(json_object_get(bar, "pieces"), 0);
    assert_string_equal(web_shop_text(held, "unit"), unit);
    assert_string_equal(web_shop_text(json_object_get(bar, "length"), "text"), of_bar);
    assert_string_equal(web_shop_text(json_object_get(piece, "length"), "text"), of_piece);
    const json_t *second = json_array_get(json_object_get(bar, "marks"), 1);
    assert_string_equal(web_shop_text(json_object_get(second, "running"), "text"), mark);
    json_decref(held);
}

static void test_unit_of_document(void **state)
{
    (void)state;
    check_unit("in", "120 in", "20 in", "40 1/8 in"); /* 20 + 1/8 + 20 */
    check_unit("ft", "10'-0\"", "1'-8\"", "3'-4 1/8\"");
    check_unit("cm", "304.8 cm", "50.8 cm", "~101.918 cm"); /* 101.9175 */
}

/* Two mill ends, of which the bent one is the datum end: 4 mm are squared off the far end alone. */
static void check_bent(const char *parts)
{
    char path[64], job[512];
    snprintf(job, sizeof job,
             "dropwise: 1\nname: Music arm\nunit: mm\nsaw: {kerf: 2, squaring: 4}\n"
             "materials: [{id: cane, end bent: yes}, {id: t}]\n"
             "bars: [{id: swan, material: cane, tail material: t, bend: 300, length: 1500, "
             "price: 12}]\nparts: [%s]\n",
             parts);
    json_t *held = held_plan(hold_elsewhere(job), path);
    const json_t *bar = json_array_get(json_object_get(held, "bars"), 0);
    assert_int_equal(web_shop_number(bar, "trim_nm"), 0);
    assert_int_equal(web_shop_number(bar, "far_trim_nm"), INT64_C(4000000));
    assert_non_null(strstr(web_shop_text(bar, "squaring"), "square the far end first, 4 mm off"));
    assert_non_null(strstr(web_shop_text(bar, "squaring"), "the bent end is the datum end"));
    json_decref(held);
}

static void test_bent(void **state)
{
    (void)state;
    check_bent("{label: arm, material: cane, length: 900}");
    check_bent("{label: stay, material: t, length: 900}"); /* the end of the bend is scrap */
}

/* --- several bars ------------------------------------------------------------------------------
 */

/* Four legs of 600 mm, each of a bar of 1000 mm. */
static void test_cut_bars(void **state)
{
    (void)state;
    static const char stall[] = "dropwise: 1\nname: Stall leg\nunit: mm\nsaw: {kerf: 2}\n"
                                "materials: [{id: t}]\nbars: [{id: b, length: 1000, price: 9}]\n"
                                "parts: [{label: leg, length: 600, count: 4}]\n";
    char path[64], cut[80], undo[64];
    json_decref(held_plan(hold_elsewhere(stall), path));
    snprintf(cut, sizeof cut, "%s/cut", path);
    const char *refused[] = {"{}", "{\"bars\":[]}", "{\"bars\":[1,0]}",
                             "{\"bars\":[1],\"all\":true}", "{\"bars\":[1,5]}"};
    const int status[] = {422, 422, 422, 422, 404};
    for (size_t i = 0; i < DW_COUNT(refused); i++)
        json_decref(web_shop_json(&the_shop, DW_WEB_POST, cut, refused[i], status[i]));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, cut, "{\"bars\":[1,3]}", 200));
    json_t *step = web_shop_json(&the_shop, DW_WEB_POST, cut, "{\"all\":true}", 200);
    json_t *held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    for (size_t i = 0; i < 4; i++)
        assert_true(
            json_is_true(json_object_get(json_array_get(json_object_get(held, "bars"), i), "cut")));
    json_decref(held);
    snprintf(undo, sizeof undo, "{\"step\":%lld}", (long long)web_shop_number(step, "step"));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/undo", undo, 200));
    held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    for (size_t i = 0; i < 4; i++) /* bars 2 and 4 are back, both of them by one undo */
        assert_int_equal(
            json_is_true(json_object_get(json_array_get(json_object_get(held, "bars"), i), "cut")),
            i % 2 == 0);
    json_decref(held);
    json_decref(step);
}

/* --- measured first ----------------------------------------------------------------------------
 */

/* Rail and stile are on one bar, the stile last. Once the rail is cut 3000 - 600 - 2 = 2398 mm are
 * left in the saw, enough for 1100 mm: the bar is paid before and after, so it costs nothing. */
static void test_true_length(void **state)
{
    (void)state;
    char path[64], at[80], undo[64];
    int64_t id = hold_elsewhere(stile_job);
    json_decref(held_plan(id, path));
    snprintf(at, sizeof at, "%s/true", path);
    const char *refused[] = {",\"bar\":1",
                             ",\"bar\":1,\"lengths\":[]",
                             ",\"bar\":1,\"lengths\":[{\"piece\":2}]",
                             ",\"bar\":1,\"lengths\":[{\"length\":\"1100\"}]",
                             ",\"bar\":1,\"lengths\":[{\"piece\":2,\"length\":\"long\"}]",
                             ",\"lengths\":[{\"piece\":2,\"length\":\"1100\"}]"};
    for (size_t i = 0; i < DW_COUNT(refused); i++)
        json_decref(web_shop_post(at, stile_job, refused[i], 422));
    json_t *task =
        web_shop_work(at, stile_job, ",\"bar\":1,\"lengths\":[{\"piece\":1,\"length\":\"590\"}]");
    assert_string_equal(web_shop_text(task, "state"), "failed");
    assert_non_null(strstr(web_shop_text(task, "error"), "is not one to be measured first"));
    json_decref(task);
    task = web_shop_work(at, stile_job,
                         ",\"bar\":1,\"done\":1,\"lengths\":[{\"piece\":2,\"length\":\"1100\"}]");
    assert_string_equal(web_shop_text(task, "state"), "done");
    const json_t *result = json_object_get(task, "result");
    assert_int_equal(web_shop_number(result, "replaces"), id);
    assert_string_equal(web_shop_text(result, "before"), "9.00");
    assert_string_equal(web_shop_text(result, "difference"), "0.00");
    assert_int_equal(web_shop_number(result, "locked"), 1);
    const json_t *off = json_array_get(json_object_get(result, "shelf"), 0);
    assert_int_equal(json_array_size(json_object_get(result, "shelf")), 1);
    assert_string_equal(web_shop_text(json_object_get(off, "length"), "text"), "2398 mm");
    json_t *held = held_plan(web_shop_number(result, "held"), at);
    const json_t *bar = json_array_get(json_object_get(held, "bars"), 0);
    const json_t *piece = json_array_get(json_object_get(bar, "pieces"), 0);
    assert_int_equal(json_array_size(json_object_get(held, "bars")), 1);
    assert_string_equal(web_shop_text(json_object_get(bar, "length"), "text"), "2398 mm");
    assert_string_equal(web_shop_text(json_object_get(piece, "length"), "text"), "1100 mm");
    json_decref(held);
    snprintf(undo, sizeof undo, "{\"step\":%lld}", (long long)web_shop_number(result, "step"));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/undo", undo, 200));
    held = web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
    assert_true(json_is_true(json_object_get(held, "open"))); /* all of it by one undo */
    assert_true(
        json_is_false(json_object_get(json_array_get(json_object_get(held, "bars"), 0), "cut")));
    json_decref(held);
    json_decref(task);
}

/* --- a bar of no value -------------------------------------------------------------------------
 */

static void test_doubt(void **state)
{
    (void)state;
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/materials", "{\"id\":\"al38\"}", 200));
    json_t *step = web_shop_json(&the_shop, DW_WEB_POST, "/api/shelf",
                                 "{\"material\":\"al38\",\"length\":\"6 m\",\"bar\":true}", 200);
    const json_t *remarks = json_object_get(step, "remarks");
    assert_int_equal(json_array_size(remarks), 1);
    assert_string_equal(web_shop_text(json_array_get(remarks, 0), "severity"), "doubt");
    json_decref(step);
    step = web_shop_json(
        &the_shop, DW_WEB_POST, "/api/shelf",
        "{\"material\":\"al38\",\"length\":\"6 m\",\"bar\":true,\"value\":\"30.00\"}", 200);
    assert_int_equal(json_array_size(json_object_get(step, "remarks")), 0);
    json_decref(step);
}

/* The number of a rest is told before the cut, and is the one that the rest then has; looking at
 * the plan books nothing. A number that another piece got meanwhile is refused, and nothing is
 * booked. */
static void test_promised_number(void **state)
{
    (void)state;
    char path[64], cut[80], body[120], number[40];
    int64_t id = hold_elsewhere(short_job), before = 0, after = 0, undoable = 0;
    assert_int_equal(dw_ledger_last(the_shop.app->ledger, &before, &undoable, NULL), DW_OK);
    json_t *held = held_plan(id, path);
    assert_int_equal(dw_ledger_last(the_shop.app->ledger, &after, &undoable, NULL), DW_OK);
    assert_int_equal(after, before);
    const json_t *bar = json_array_get(json_object_get(held, "bars"), 0);
    snprintf(number, sizeof number, "%s", web_shop_text(bar, "rest_number"));
    assert_int_equal(number[0], 'C');
    assert_true(json_is_null(json_object_get(bar, "number"))); /* the bar has not come */
    json_decref(held);
    snprintf(cut, sizeof cut, "%s/cut", path);
    json_decref(
        web_shop_json(&the_shop, DW_WEB_POST, cut, "{\"all\":true,\"number\":\"C1\"}", 422));
    snprintf(body, sizeof body, "{\"number\":\"%s\",\"material\":\"t\",\"length\":\"500 mm\"}",
             number);
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/shelf", body, 200));
    snprintf(body, sizeof body, "{\"bar\":1,\"number\":\"%s\"}", number);
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, cut, body, 409));
    held = held_plan(id, path);
    bar = json_array_get(json_object_get(held, "bars"), 0);
    assert_false(json_is_true(json_object_get(bar, "cut")));
    assert_string_not_equal(web_shop_text(bar, "rest_number"), number);
    snprintf(number, sizeof number, "%s", web_shop_text(bar, "rest_number"));
    json_decref(held);
    snprintf(body, sizeof body, "{\"bar\":1,\"number\":\"%s\"}", number);
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, cut, body, 200));
    held = held_plan(id, path);
    bar = json_array_get(json_object_get(held, "bars"), 0);
    const json_t *left = json_array_get(json_object_get(bar, "left"), 0);
    assert_string_equal(web_shop_text(left, "number"), number);
    assert_null(json_object_get(bar, "rest_number"));
    json_decref(held);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_held_elsewhere),
        cmocka_unit_test(test_delivery),
        cmocka_unit_test(test_sheet_to_come),
        cmocka_unit_test(test_earlier_version),
        cmocka_unit_test(test_earlier_version_is_kept),
        cmocka_unit_test(test_rest),
        cmocka_unit_test(test_delivery_of_rows),
        cmocka_unit_test(test_wrong_bar),
        cmocka_unit_test(test_unit_of_document),
        cmocka_unit_test(test_bent),
        cmocka_unit_test(test_cut_bars),
        cmocka_unit_test(test_true_length),
        cmocka_unit_test(test_doubt),
        cmocka_unit_test(test_promised_number),
    };
    return cmocka_run_group_tests(tests, web_shop_setup, web_shop_teardown);
}
