/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shelf on the page: all that `dropwise shelf` does, good and bad; two people at once. */
#include "web_shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static int64_t number(const json_t *reply, const char *name)
{
    return json_integer_value(json_object_get(reply, name));
}

static const char *text(const json_t *reply, const char *name)
{
    const char *value = json_string_value(json_object_get(reply, name));
    return value ? value : "";
}

static const json_t *row(const json_t *reply, const char *list, size_t i)
{
    return json_array_get(json_object_get(reply, list), i);
}

static const char *length(const json_t *stock)
{
    return text(json_object_get(stock, "length"), "text");
}

static json_t *post(const char *path, const char *body, int status)
{
    return web_shop_json(&the_shop, DW_WEB_POST, path, body, status);
}

static json_t *get(const char *path, int status)
{
    return web_shop_json(&the_shop, DW_WEB_GET, path, NULL, status);
}

/* A request that is refused: which code, which field, and words that its text has. */
static void refused(enum dw_web_method method, const char *path, const char *body, int status,
                    const char *field, const char *words)
{
    json_t *reply = web_shop_json(&the_shop, method, path, body, status);
    const json_t *error = json_object_get(reply, "error");
    assert_string_equal(text(error, "field"), field);
    if (!strstr(text(error, "text"), words))
        fail_msg("\"%s\" does not say \"%s\"", text(error, "text"), words);
    json_decref(reply);
}

static int64_t pieces(const char *query)
{
    char path[128];
    snprintf(path, sizeof path, "/api/shelf?%s", query);
    json_t *reply = get(path, 200);
    int64_t n = number(reply, "n");
    json_decref(reply);
    return n;
}

static int64_t seen(void)
{
    json_t *reply = get("/api/shelf", 200);
    int64_t step = number(reply, "seen");
    json_decref(reply);
    return step;
}

/* --- materials, adding ------------------------------------------------------------------------ */

static void test_materials(void **state)
{
    (void)state;
    json_t *reply = post("/api/materials",
                         "{\"id\":\"al38\",\"name\":\"round tube\",\"alloy\":\"6061-T6\","
                         "\"outside\":\"38 mm\",\"wall\":\"2.5 mm\"}",
                         200);
    assert_string_equal(text(row(reply, "materials", 0), "alloy"), "6061-T6");
    json_decref(reply);
    refused(DW_WEB_POST, "/api/materials", "{\"id\":\"al38\",\"outside\":\"40 mm\"}", 409, "",
            "another outside diameter");
    refused(DW_WEB_POST, "/api/materials", "{\"id\":\"x\",\"wall\":\"thin\"}", 422, "wall",
            "wall: ");
    refused(DW_WEB_POST, "/api/materials", "{}", 422, "id", "id is missing");
}

/* What forms are told of a piece is what is read of one: a list in its place is refused there. */
static void test_what_is_told_is_read(void **state)
{
    (void)state;
    json_t *reply = get("/api/members", 200), *member = NULL;
    size_t i = 0, n = 0;
    json_array_foreach(json_object_get(reply, "piece"), i, member)
    {
        const char *name = text(member, "name");
        if (strcmp(text(member, "kind"), "yes") == 0)
            continue;
        json_t *body = json_pack("{s:s, s:s}", "material", "new to the shelf", "length", "1200");
        json_object_set_new(body, name, json_array());
        char *bytes = json_dumps(body, 0);
        refused(DW_WEB_POST, "/api/shelf", bytes, 422, name, "");
        free(bytes);
        json_decref(body);
        n++;
    }
    assert_int_equal(n, 15);
    json_decref(reply);
}

static void test_adding(void **state)
{
    (void)state;
    json_t *reply =
        post("/api/shelf",
             "{\"material\":\"al38\",\"length\":\"1200\",\"count\":2,\"place\":\"rack 1\","
             "\"date\":\"2025-01-31\",\"owner\":\"Brass Band\",\"ends\":\"sawn,mill\","
             "\"measured\":\"1199.5\",\"mark\":\"lot 7\",\"remark\":\"scratched\"}",
             200);
    const json_t *first = row(reply, "shelf", 0);
    assert_int_equal(json_array_size(json_object_get(reply, "shelf")), 2);
    assert_string_equal(text(first, "number"), "C1");
    assert_string_equal(length(first), "1199.5 mm");
    assert_string_equal(text(first, "owner"), "Brass Band");
    assert_string_equal(json_string_value(json_array_get(json_object_get(first, "ends"), 1)),
                        "mill");
    json_decref(reply);
    json_decref(post(
        "/api/shelf",
        "{\"material\":\"al38\",\"length\":\"2 ft\",\"number\":\"K-07\",\"unit\":\"in\"}", 200));
    refused(DW_WEB_POST, "/api/shelf", "{\"material\":\"al38\"}", 422, "length", "is missing");
    refused(DW_WEB_POST, "/api/shelf", "{\"material\":\"al38\",\"length\":\"long\"}", 422, "length",
            "length: ");
    refused(DW_WEB_POST, "/api/shelf", "{\"material\":\"al38\",\"length\":\"9\",\"ends\":\"torn\"}",
            422, "ends", "mill");
    refused(DW_WEB_POST, "/api/shelf", "{\"material\":\"al38\",\"length\":\"9\",\"count\":0}", 422,
            "count", "from 1 to 1000");
    refused(DW_WEB_POST, "/api/shelf",
            "{\"material\":\"al38\",\"length\":\"9\",\"number\":\"K-07\"}", 409, "number",
            "a piece K-07 already");
    refused(DW_WEB_POST, "/api/shelf",
            "{\"material\":\"al38\",\"length\":\"9\",\"number\":\"K-08\",\"count\":2}", 422,
            "number", "leave it out");
}

static void test_finding(void **state)
{
    (void)state;
    assert_int_equal(pieces(""), 3);
    assert_int_equal(pieces("at_least=610"), 2); /* 2 ft are 609.6 mm */
    assert_int_equal(pieces("at_least=609&allow=1"), 2);
    assert_int_equal(pieces("at_least=609"), 3);
    assert_int_equal(pieces("owner=Brass Band"), 2);
    assert_int_equal(pieces("shop=1"), 1);
    assert_int_equal(pieces("before=2025-02-01"), 2);
    assert_int_equal(pieces("kind=bar"), 0);
    assert_int_equal(pieces("place=rack 1&free=1"), 2);
    refused(DW_WEB_GET, "/api/shelf?at_least=long", NULL, 422, "at_least", "");
    refused(DW_WEB_GET, "/api/shelf?allow=-1", NULL, 422, "allow", "");
    refused(DW_WEB_GET, "/api/shelf/C99", NULL, 404, "", "there is no piece C99");
    refused(DW_WEB_GET, "/api/history?last=none", NULL, 422, "", "1 to 1000");
}

/* --- two people ------------------------------------------------------------------------------- */

static void test_stale_steps(void **state)
{
    (void)state;
    char body[160];
    int64_t then = seen();
    json_decref(post("/api/move", "{\"numbers\":[\"C1\",\"C2\"],\"place\":\"rack 2\"}", 200));
    snprintf(body, sizeof body, "{\"numbers\":[\"K-07\",\"C1\"],\"place\":\"yard\",\"seen\":%lld}",
             (long long)then);
    refused(DW_WEB_POST, "/api/move", body, 409, "",
            "C1 was changed in the meantime: move by Ren\u00e9e");
    assert_int_equal(pieces("place=yard"), 0); /* none of them was */
    snprintf(body, sizeof body, "{\"numbers\":[\"C1\"],\"seen\":%lld}", (long long)then);
    refused(DW_WEB_POST, "/api/scrap", body, 409, "", "place rack 2");
    /* what nobody touched since may go, and so may C1 once it was looked at */
    snprintf(body, sizeof body, "{\"numbers\":[\"K-07\"],\"place\":\"yard\",\"seen\":%lld}",
             (long long)then);
    json_decref(post("/api/move", body, 200));
    snprintf(body, sizeof body, "{\"numbers\":[\"C1\"],\"place\":\"rack 1\",\"seen\":%lld}",
             (long long)seen());
    json_decref(post("/api/move", body, 200));
    refused(DW_WEB_POST, "/api/move", "{\"numbers\":[],\"place\":\"a\"}", 422, "", "1 to 10000");
    refused(DW_WEB_POST, "/api/move", "{\"numbers\":[7],\"place\":\"a\"}", 422, "", "a text");
    refused(DW_WEB_POST, "/api/move", "{\"numbers\":[\"C1\"]}", 422, "place", "is missing");
    refused(DW_WEB_POST, "/api/scrap", "{\"numbers\":[\"C1\",\"C9\"]}", 404, "", "no piece \"C9\"");
}

static void test_rules(void **state)
{
    (void)state;
    json_t *reply = get("/api/rules", 200);
    assert_string_equal(text(row(reply, "rules", 0), "name"), "max-offcuts");
    assert_string_equal(text(row(reply, "rules", 0), "value"), "none");
    json_decref(reply);
    reply = web_shop_json(&the_shop, DW_WEB_PUT, "/api/rules",
                          "{\"rules\":{\"favour-old\":\"0.50\",\"currency\":\"EUR\","
                          "\"max-offcuts\":\"2\",\"book-share\":\"80 %\"},"
                          "\"seen\":{\"max-offcuts\":\"none\"}}",
                          200);
    assert_string_equal(text(row(reply, "rules", 2), "value"), "0.50 EUR");
    assert_string_equal(text(row(reply, "rules", 3), "value"), "80 %");
    json_decref(reply);
    refused(DW_WEB_PUT, "/api/rules",
            "{\"rules\":{\"max-offcuts\":\"9\"},\"seen\":{\"max-offcuts\":\"none\"}}", 409, "",
            "changed in the meantime");
    refused(DW_WEB_PUT, "/api/rules", "{\"rules\":{\"max-offcuts\":\"many\"}}", 422, "max-offcuts",
            "whole number");
    refused(DW_WEB_PUT, "/api/rules", "{\"rules\":{\"book-share\":\"101\"}}", 422, "book-share",
            "0 to 100");
    refused(DW_WEB_PUT, "/api/rules", "{\"rules\":{\"colour\":\"red\"}}", 422, "",
            "no rule colour");
    refused(DW_WEB_PUT, "/api/rules", "{\"rules\":{\"unit\":\"furlong\"}}", 422, "unit", "mm cm m");
    refused(DW_WEB_PUT, "/api/rules", "{}", 422, "", "an object of rules");
}

/* --- tables ----------------------------------------------------------------------------------- */

#define TABLE                                                                                      \
    "number,material,length (mm),value,place\\nT1,al38,500,1.00,rack 3\\n,al38,450,0.80,rack 3\\n"

static void test_import(void **state)
{
    (void)state;
    int64_t before = pieces(""), then = seen();
    json_t *reply = post("/api/import", "{\"text\":\"" TABLE "\",\"dry\":true}", 200);
    assert_int_equal(number(reply, "n"), 2);
    assert_string_equal(text(row(reply, "pieces", 1), "number"), "T1");
    assert_string_equal(length(row(reply, "pieces", 0)), "450 mm");
    json_decref(reply);
    assert_int_equal(pieces(""), before); /* nothing was added by looking */
    assert_int_equal(seen(), then);
    json_decref(post("/api/import", "{\"text\":\"" TABLE "\"}", 200));
    assert_int_equal(pieces(""), before + 2);
    refused(DW_WEB_POST, "/api/import", "{\"text\":\"" TABLE "\",\"dry\":true}", 409, "",
            "a piece T1 already");
    reply = post("/api/import",
                 "{\"text\":\"number,material,length\\nT2,al38,5OO\\nT3,brass,500\\n\"}", 422);
    size_t n_wrong = 0;
    for (size_t i = 0; i < json_array_size(json_object_get(reply, "remarks")); i++) {
        const json_t *remark = row(reply, "remarks", i);
        if (strcmp(text(remark, "severity"), "wrong") != 0)
            continue; /* in which unit bare numbers are is a note */
        assert_int_equal(number(remark, "line"), 2 + (int64_t)n_wrong);
        assert_int_equal(number(remark, "column"), n_wrong == 0 ? 10 : 4);
        n_wrong++;
    }
    assert_int_equal(n_wrong, 2);
    json_decref(reply);
    refused(DW_WEB_POST, "/api/import", "{}", 422, "text", "is missing");
    json_decref(post("/api/import", "{\"text\":\"\\u0001\"}", 422));
}

/* The book has T1 at 500 mm on rack 3, and a nameless one of 450 mm; the count finds T1 shorter and
 * the other one gone. */
static void test_count(void **state)
{
    (void)state;
    char body[256];
    const char *count = "{\"text\":\"number,length\\nT1,498.5\\n\",\"complete\":true,"
                        "\"place\":\"rack 3\",\"seen\":%lld%s}";
    snprintf(body, sizeof body, count, (long long)seen(), ",\"dry\":true");
    json_t *reply = post("/api/count", body, 200);
    assert_int_equal(number(reply, "n"), 2);
    const json_t *lost = row(reply, "differences", 0), *shorter = row(reply, "differences", 1);
    assert_string_equal(text(json_object_get(lost, "counted"), "state"), "lost");
    assert_string_equal(text(json_object_get(lost, "booked"), "state"), "shelf");
    assert_string_equal(length(json_object_get(shorter, "counted")), "498.5 mm");
    assert_string_equal(length(json_object_get(shorter, "booked")), "500 mm");
    int64_t then = number(reply, "seen");
    json_decref(reply);
    /* somebody puts a piece there after the look: it must not be booked as lost unseen */
    json_decref(post("/api/shelf",
                     "{\"material\":\"al38\",\"length\":\"700\",\"number\":\"T9\","
                     "\"place\":\"rack 3\"}",
                     200));
    snprintf(body, sizeof body, count, (long long)then, "");
    refused(DW_WEB_POST, "/api/count", body, 409, "", "T9 was changed in the meantime: add");
    json_decref(post("/api/move", "{\"numbers\":[\"T9\"],\"place\":\"rack 4\"}", 200));
    snprintf(body, sizeof body, count, (long long)seen(), "");
    reply = post("/api/count", body, 200);
    assert_int_equal(number(reply, "n"), 2);
    assert_true(number(reply, "step") > then);
    json_decref(reply);
    assert_int_equal(pieces("place=rack 3"), 1);
    reply = post("/api/count", "{\"number\":\"T1\",\"length\":\"19 1/2 in\",\"dry\":true}", 200);
    assert_int_equal(number(reply, "n"), 1);
    json_decref(reply);
    refused(DW_WEB_POST, "/api/count", "{\"number\":\"T1\"}", 422, "length", "is missing");
    refused(DW_WEB_POST, "/api/count", "{\"text\":\"number,length\\nX,1\\n\"}", 404, "", "X");
}

/* Two offcuts of the shop may stay: of K-07, T1 and T9 the one of least value goes; those without a
 * value are equal, and of them the one with the older date, then the lower number. */
static void test_surplus(void **state)
{
    (void)state;
    json_t *reply = get("/api/surplus", 200);
    assert_int_equal(number(reply, "n"), 1);
    assert_int_equal(number(reply, "too_old"), 0);
    assert_string_equal(text(row(reply, "pieces", 0), "number"), "K-07");
    json_decref(reply);
    json_decref(post("/api/scrap", "{\"numbers\":[\"K-07\"]}", 200));
    reply = get("/api/surplus", 200);
    assert_int_equal(number(reply, "n"), 0);
    json_decref(reply);
    reply = get("/api/history?last=3", 200);
    const json_t *last = row(reply, "history", 2);
    assert_string_equal(text(last, "what"), "scrap");
    assert_int_equal(number(reply, "undoable"), number(last, "step"));
    assert_string_equal(text(json_object_get(reply, "undo"), "what"), "K-07 thrown away");
    assert_string_equal(text(json_object_get(reply, "undo"), "who"), "Ren\xC3\xA9"
                                                                     "e");
    json_decref(reply);
    json_decref(post("/api/undo", "{\"step\":1}", 409));
    reply = post("/api/undo", "{}", 200);
    assert_string_equal(text(reply, "what"), "K-07 thrown away");
    assert_non_null(strstr(text(reply, "told"), "K-07 thrown away, by Ren\xC3\xA9"
                                                "e, "));
    json_decref(reply);
    assert_int_equal(pieces("number=K-07"), 1);
}

/* What another did is taken back by its number only. */
static void test_undo_of_another(void **state)
{
    (void)state;
    const struct dw_act bo = {.when = "2026-03-01T08:00:00Z", .who = "Bo"};
    const char *const numbers[] = {"K-07"};
    int64_t step = 0;
    char body[40];
    assert_int_equal(dw_ledger_scrap(the_shop.app->ledger, &bo, numbers, 1, &step, NULL), DW_OK);
    json_t *reply = post("/api/undo", "{}", 409);
    assert_non_null(strstr(text(json_object_get(reply, "error"), "text"), "by Bo"));
    json_decref(reply);
    snprintf(body, sizeof body, "{\"step\":%lld}", (long long)step);
    reply = post("/api/undo", body, 200);
    assert_string_equal(text(reply, "who"), "Bo");
    json_decref(reply);
    assert_int_equal(pieces("number=K-07"), 1);
}

/* --- files ------------------------------------------------------------------------------------ */

static void test_files(void **state)
{
    (void)state;
    char *table = NULL, *pdf = NULL, *copy = NULL;
    assert_int_equal(web_shop_ask(&the_shop, DW_WEB_GET, "/api/shelf-table", NULL, &table), 200);
    assert_non_null(strstr(table, "K-07,al38,offcut,609.6,"));
    free(table);
    assert_int_equal(web_shop_ask(&the_shop, DW_WEB_GET, "/api/shelf-labels", NULL, &pdf), 200);
    assert_memory_equal(pdf, "%PDF-", 5);
    free(pdf);
    json_decref(get("/api/shelf-labels?number=C99", 404));
    json_decref(get("/api/shelf-labels?place=nowhere", 409));
    json_decref(get("/api/shelf-labels?stock=napkin", 404));
    assert_int_equal(web_shop_ask(&the_shop, DW_WEB_GET, "/api/shelf-file", NULL, &copy), 200);
    assert_string_equal(copy, "SQLite format 3"); /* SQLite, "Database File Format", 1.3.1 */
    free(copy);
    json_t *reply = get("/api/shelf-check", 200);
    assert_true(json_is_true(json_object_get(reply, "good")));
    const json_t *on_shelf = row(reply, "balance", 4);
    assert_string_equal(text(on_shelf, "name"), "on the shelf");
    /* 2 x 1199.5 + 609.6 + 498.5 + 700 */
    assert_string_equal(length(on_shelf), "4207.1 mm");
    json_decref(reply);
}

/* --- posts ------------------------------------------------------------------------------------ */

static const char wishes[] = "dropwise: 1\\nunit: mm\\ncurrency: EUR\\nsaw: {kerf: 2}\\n"
                             "rules: {keep: 400}\\n"
                             "materials: [{id: al38, alloy: 6061-T6, outside: 38, wall: 2.5}]\\n"
                             "posts: [{label: arm, length: 450 to 500, at most: 1, worth: 4}]\\n";

static void test_posts(void **state)
{
    (void)state;
    char body[512];
    snprintf(body, sizeof body,
             "{\"text\":\"%s\",\"shelf\":true,\"load\":\"4 kg\",\"safety\":\"1\"}", wishes);
    json_t *reply = post("/api/posts", body, 202);
    json_t *task = web_shop_follow(&the_shop, number(reply, "task"));
    const json_t *result = json_object_get(task, "result");
    assert_int_equal(number(result, "posts"), 1);
    const json_t *first = row(result, "offcuts", 0);
    assert_string_equal(text(first, "post"), "arm");
    const json_t *check = json_object_get(first, "check");
    assert_true(json_is_true(json_object_get(check, "done")));
    /* 35 ksi; pi / 64 (38^4 - 33^4), and that by 19 */
    static const struct {
        const char *key;
        double value;
    } figures[] = {{"e_mpa", 68900},
                   {"yield_mpa", 241.32},
                   {"inertia_mm4", 44140.11},
                   {"modulus_mm3", 2323.16}};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        assert_float_equal(json_real_value(json_object_get(check, figures[i].key)),
                           figures[i].value, 0.011);
    assert_int_equal(json_array_size(json_object_get(result, "doubts")), 1); /* a factor of 1 */
    assert_true(json_array_size(json_object_get(result, "offcuts")) == 3);   /* not the client's */
    json_decref(task);
    json_decref(reply);
    snprintf(body, sizeof body, "{\"text\":\"%s\",\"shelf\":true,\"load\":\"heavy\"}", wishes);
    refused(DW_WEB_POST, "/api/posts", body, 422, "load", "40 N");
    snprintf(body, sizeof body, "{\"text\":\"%s\",\"safety\":\"0.5\"}", wishes);
    refused(DW_WEB_POST, "/api/posts", body, 422, "safety", "1 to 100");
    refused(DW_WEB_POST, "/api/posts", "{}", 422, "text", "is missing");
    refused(DW_WEB_POST, "/api/posts", "{\"plan\":\"none\"}", 404, "", "");
}

/* One bar of 6 m for four legs of 900 mm: what is kept of it is named by the bar it is left of. The
 * shelf's three offcuts come before it when they are asked for too. */
static void test_posts_of_a_plan(void **state)
{
    (void)state;
    char body[640], path[160];
    snprintf(body, sizeof body,
             "{\"text\":\"%sbars: [{id: six, length: 6 m, price: 30}]\\n"
             "parts: [{label: leg, length: 900, count: 4}]\\n\"}",
             wishes);
    json_t *reply = post("/api/plans", body, 202);
    json_t *task = web_shop_follow(&the_shop, number(reply, "task"));
    snprintf(path, sizeof path, "%s", text(json_object_get(task, "result"), "plan"));
    json_decref(task);
    json_decref(reply);
    for (int shelf = 0; shelf < 2; shelf++) {
        snprintf(body, sizeof body, "{\"plan\":\"%.60s\",\"shelf\":%s}", path,
                 shelf ? "true" : "false");
        reply = post("/api/posts", body, 202);
        task = web_shop_follow(&the_shop, number(reply, "task"));
        const json_t *offcuts = json_object_get(json_object_get(task, "result"), "offcuts");
        size_t n = 0;
        for (size_t i = 0; i < json_array_size(offcuts); i++)
            n += strcmp(text(json_array_get(offcuts, i), "left_of"), "six") == 0;
        assert_int_equal(n, 1);
        assert_int_equal(json_array_size(offcuts), shelf ? 4 : 1);
        json_decref(task);
        json_decref(reply);
    }
}

/* --- a copy, and another file ----------------------------------------------------------------- */

/* Used by the book and brought back: the page is told what that means. */
static void test_brought_back(void **state)
{
    (void)state;
    json_decref(post("/api/scrap", "{\"numbers\":[\"K-07\"]}", 200));
    json_t *reply = post("/api/count", "{\"text\":\"number,length\\nK-07,600\\n\"}", 200);
    assert_int_equal(number(reply, "n"), 0);
    const json_t *remark = NULL; /* the last one: the first say how the table was read */
    for (size_t i = 0; row(reply, "remarks", i); i++)
        remark = row(reply, "remarks", i);
    assert_string_equal(text(remark, "severity"), "doubt");
    assert_non_null(strstr(text(remark, "text"), "gone by the book"));
    json_decref(reply);
    assert_int_equal(pieces("number=K-07"), 0);
    reply = post("/api/count", "{\"number\":\"K-07\",\"length\":\"609.6 mm\"}", 200);
    assert_int_equal(number(reply, "n"), 1);
    assert_non_null(strstr(text(row(reply, "remarks", 0), "text"), "on the shelf again"));
    json_decref(reply);
    assert_int_equal(pieces("number=K-07"), 1);
}

/* Put back while the page runs: it goes on, and refuses what was decided on the shelf as it was. */
static void test_put_back_underneath(void **state)
{
    (void)state;
    char copy[120], body[80];
    snprintf(copy, sizeof copy, "%s/copy.db", the_shop.folder);
    assert_int_equal(dw_ledger_backup(the_shop.app->ledger, copy, NULL), DW_OK);
    json_decref(post("/api/scrap", "{\"numbers\":[\"K-07\"]}", 200));
    json_t *reply = get("/api/shelf", 200);
    snprintf(body, sizeof body, "{\"numbers\":[\"T1\"],\"place\":\"yard\",\"seen\":%lld}",
             (long long)number(reply, "seen"));
    json_decref(reply);
    struct dw_restore how = {.path = the_shop.path,
                             .copy = copy,
                             .act = {.when = "2026-03-01", .who = "Bo"},
                             .lose_later = true};
    struct dw_restored done = {0};
    struct dw_report report = {0};
    assert_int_equal(dw_ledger_restore(&how, &done, &report, NULL), DW_OK);
    dw_restored_free(&done);
    dw_report_free(&report);
    assert_int_equal(pieces("number=K-07"), 1);
    reply = get("/api/history?last=1", 200);
    const json_t *put_back = row(reply, "history", 0);
    assert_string_equal(text(put_back, "what"), "restore");
    assert_string_equal(text(put_back, "told"), "the shelf put back from a copy up to step 17");
    assert_true(json_is_null(json_object_get(put_back, "number")));
    json_decref(reply);
    refused(DW_WEB_POST, "/api/move", body, 409, "",
            "the shelf put back from a copy up to step 17, by Bo");
    json_decref(post("/api/move", "{\"numbers\":[\"T1\"],\"place\":\"yard\"}", 200));
}

/* Another file in its place: every way to the shelf is closed until the page is started again. */
static void test_replaced_underneath(void **state)
{
    (void)state;
    char copy[120], body[512];
    static const char *const looks[] = {"/api/shelf", "/api/history", "/api/shelf-check",
                                        "/api/shelf-file", "/api/documents/job"};
    snprintf(copy, sizeof copy, "%s/copy.db", the_shop.folder);
    assert_int_equal(rename(copy, the_shop.path), 0);
    for (size_t i = 0; i < DW_COUNT(looks); i++)
        refused(DW_WEB_GET, looks[i], NULL, 409, "", "replaced by another");
    refused(DW_WEB_POST, "/api/scrap", "{\"numbers\":[\"K-07\"]}", 409, "", "replaced by another");
    snprintf(body, sizeof body, "{\"text\":\"%s\",\"shelf\":true,\"load\":\"4 kg\"}", wishes);
    refused(DW_WEB_POST, "/api/posts", body, 409, "", "replaced by another");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_materials),
        cmocka_unit_test(test_what_is_told_is_read),
        cmocka_unit_test(test_adding),
        cmocka_unit_test(test_finding),
        cmocka_unit_test(test_stale_steps),
        cmocka_unit_test(test_rules),
        cmocka_unit_test(test_import),
        cmocka_unit_test(test_count),
        cmocka_unit_test(test_surplus),
        cmocka_unit_test(test_undo_of_another),
        cmocka_unit_test(test_files),
        cmocka_unit_test(test_posts),
        cmocka_unit_test(test_posts_of_a_plan),
        cmocka_unit_test(test_brought_back),
        cmocka_unit_test(test_put_back_underneath),
        cmocka_unit_test(test_replaced_underneath),
    };
    return cmocka_run_group_tests(tests, web_shop_setup, web_shop_teardown);
}
