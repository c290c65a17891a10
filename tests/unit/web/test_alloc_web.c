/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The application with the k-th allocation of our own code failing, for every k until none fails:
 * each request is answered, nothing leaks, and what was saved is whole. */
#include "alloc_fail.h"
#include "web_shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MOST 20000

/* A request built beforehand, so that nothing but the application allocates. */
static int ask(enum dw_web_method method, const char *path, const char *body)
{
    const struct dw_web_request request = {.method = method,
                                           .path = path,
                                           .host = "127.0.0.1:7410",
                                           .cookie = the_shop.cookie,
                                           .token = the_shop.token,
                                           .type = "application/json",
                                           .body = body,
                                           .n = body ? strlen(body) : 0};
    struct dw_web_reply reply;
    dw_app__answer(the_shop.app, &request, &reply);
    dw_web__reply_free(&reply);
    return reply.status;
}

static void fail_each(enum dw_web_method method, const char *path, const char *body, int status)
{
    int is = 0;
    long k = 0;
    bool saves = method == DW_WEB_PUT; /* a reply that fails when all is saved: then 409 */
    for (; k < MOST && is != status && !(saves && is == 409); k++) {
        long before = alloc_live();
        alloc_fail_at(k, false);
        is = ask(method, path, body);
        long asked = alloc_count();
        alloc_fail_at(-1, false);
        if (alloc_live() != before)
            fail_msg("%s: %ld blocks leaked at allocation %ld", path, alloc_live() - before, k);
        if (is != status && is != 503 && is != 500 && !(saves && is == 409))
            fail_msg("%s: %d at allocation %ld", path, is, k);
        if (asked <= k && is != status && is != 409)
            fail_msg("%s: %d though nothing failed", path, is);
    }
    assert_true(k > 1 && k < MOST);
}

static void test_reading(void **state)
{
    (void)state;
    assert_true(alloc_wrapped());
    fail_each(DW_WEB_POST, "/api/read",
              "{\"unit\":\"mm\",\"cells\":[[\"range\",\"14 to 20 in\"],[\"length\",\"6 m\"]]}",
              200);
    fail_each(DW_WEB_POST, "/api/table", "{\"text\":\"Part\\tLength (mm)\\tQty\\na\\t600\\t2\\n\"}",
              200);
    fail_each(DW_WEB_POST, "/api/open", "{\"text\":\"dropwise: 1\\nparts: [{length: 600}]\\n\"}",
              200);
}

static void test_drawn(void **state)
{
    (void)state;
    char *body =
        web_shop_body("text",
                      "dropwise: 1\nunit: mm\nsaw: {kerf: 2}\n"
                      "materials: [{id: t, outside: 42 mm}]\n"
                      "bars: [{length: 6 m, price: 9}]\nfittings: [{id: tee, take out: 9}]\n"
                      "sections: [{name: left, longest: 500, weight: 9 kg}]\n"
                      "parts: [{label: rail, centres: 600, both ends: tee, section: left}]\n",
                      NULL);
    fail_each(DW_WEB_POST, "/api/check", body, 200);
    fail_each(DW_WEB_POST, "/api/takeoff", body, 200);
    free(body);
}

static void test_documents(void **state)
{
    (void)state;
    fail_each(DW_WEB_PUT, "/api/documents/job/7", "{\"name\":\"a\",\"body\":\"b\",\"revision\":0}",
              200);
    fail_each(DW_WEB_GET, "/api/documents/job", NULL, 200);
    fail_each(DW_WEB_GET, "/api/documents/job/7", NULL, 200);
    fail_each(DW_WEB_PUT, "/api/documents/job/7", "{\"name\":\"a\",\"body\":\"c\",\"revision\":1}",
              200);
    fail_each(DW_WEB_POST, "/api/shelf",
              "{\"material\":\"t\",\"length\":\"1200 mm\",\"place\":\"rack\"}", 200);
    fail_each(DW_WEB_GET, "/api/shelf", NULL, 200);
    fail_each(DW_WEB_GET, "/api/materials", NULL, 200);
}

/* Looks at the shelf, and steps that are only tried: asked again, they give the same. */
static void test_shelf(void **state)
{
    (void)state;
    fail_each(DW_WEB_POST, "/api/materials", "{\"id\":\"t\",\"alloy\":\"S235\"}", 200);
    fail_each(DW_WEB_POST, "/api/import",
              "{\"text\":\"number,material,length (mm)\\nT1,t,500\\n\",\"dry\":true}", 200);
    fail_each(DW_WEB_POST, "/api/count",
              "{\"text\":\"number,length (mm)\\nC1,500\\n\",\"complete\":true,\"dry\":true}", 200);
    fail_each(DW_WEB_GET, "/api/shelf/C1", NULL, 200);
    fail_each(DW_WEB_GET, "/api/surplus", NULL, 200);
    fail_each(DW_WEB_GET, "/api/history", NULL, 200);
    fail_each(DW_WEB_GET, "/api/rules", NULL, 200);
    fail_each(DW_WEB_GET, "/api/shelf-table", NULL, 200);
    fail_each(DW_WEB_GET, "/api/shelf-file", NULL, 200);
    fail_each(DW_WEB_GET, "/api/shelf-check", NULL, 200);
    assert_int_equal(ask(DW_WEB_POST, "/api/move", "{\"numbers\":[\"C1\"],\"place\":\"a\"}"), 200);
    fail_each(DW_WEB_POST, "/api/move", "{\"numbers\":[\"C1\"],\"place\":\"b\"}", 200);
}

/* The plan is made with memory; showing, holding and cutting it are not. */
static void test_plans(void **state)
{
    (void)state;
    char *body = web_shop_body("text",
                               "dropwise: 1\nunit: mm\nsaw: {kerf: 2}\nrules: {keep: 300}\n"
                               "materials: [{id: t}]\n"
                               "bars: [{id: b, length: 6 m, price: 9}]\n"
                               "parts: [{label: rail, length: 600, count: 12}]\n",
                               NULL);
    json_t *reply = web_shop_json(&the_shop, DW_WEB_POST, "/api/plans", body, 202);
    json_decref(web_shop_follow(&the_shop, json_integer_value(json_object_get(reply, "task"))));
    json_decref(reply);
    free(body);
    fail_each(DW_WEB_GET, "/api/plans/1", NULL, 200);
    fail_each(DW_WEB_GET, "/api/plans/1/order", NULL, 200);
    fail_each(DW_WEB_GET, "/api/plans/1/papers/order.csv", NULL, 200);
    fail_each(DW_WEB_GET, "/api/plans/1/papers/plan.json", NULL, 200);
    fail_each(DW_WEB_GET, "/api/plans/1/papers/job.yaml", NULL, 200);
    fail_each(DW_WEB_GET, "/api/plans", NULL, 200);
    assert_int_equal(ask(DW_WEB_POST, "/api/plans/1/hold", "{}"), 200);
    fail_each(DW_WEB_GET, "/api/held", NULL, 200);
    fail_each(DW_WEB_GET, "/api/held/1", NULL, 200);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reading),   cmocka_unit_test(test_drawn),
        cmocka_unit_test(test_documents), cmocka_unit_test(test_shelf),
        cmocka_unit_test(test_plans),
    };
    return cmocka_run_group_tests(tests, web_shop_setup, web_shop_teardown);
}
