/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Order, quote and take-off are one document each: what the commands write with --json and what the
 * page is told is the same, and conforms to its schema in shared/, which asks for every member. */
#include "schema.h"
#include "web_shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define DATE "2031-01-07"

static char program[512];

static const char *const jobs[] = {"tests/unit/web/data/shown-1.yaml",
                                   "tests/unit/web/data/shown-2.yaml"};

static json_t *load(const char *path)
{
    json_error_t error;
    json_t *root = json_load_file(path, 0, &error);
    if (!root)
        fail_msg("%s:%d: %s", path, error.line, error.text);
    return root;
}

/* What a command on the job and the plan writes with --json. */
static json_t *ask_command(const char *command, const char *job, const char *more)
{
    char line[1400];
    snprintf(line, sizeof line, "%s %s %s %s --json 2>/dev/null", program, command, job, more);
    FILE *pipe = popen(line, "r");
    assert_non_null(pipe);
    json_error_t error;
    json_t *root = json_loadf(pipe, 0, &error);
    if (pclose(pipe) != 0 || !root)
        fail_msg("%s: %s", line, error.text);
    return root;
}

/* The text of a length is written with more decimals for a program than for the page. */
static void drop_texts(json_t *value)
{
    const char *key = NULL;
    json_t *inner = NULL;
    size_t i = 0;
    if (json_object_get(value, "nm"))
        json_object_del(value, "text");
    json_object_foreach(value, key, inner) drop_texts(inner);
    json_array_foreach(value, i, inner) drop_texts(inner);
}

/* --- the schema asks for every member ----------------------------------------------------------
 */

/* Members that only the private view has. */
static bool is_private(const char *key)
{
    static const char *const keys[] = {"rule",       "uplift",       "spent", "charged",
                                       "shop_bears", "shop_offcuts", "cost",  "paid"};
    for (size_t i = 0; i < DW_COUNT(keys); i++)
        if (strcmp(keys[i], key) == 0)
            return true;
    return false;
}

static size_t count_private(json_t *value)
{
    const char *key = NULL;
    json_t *inner = NULL;
    size_t i = 0, n = 0;
    json_object_foreach(value, key, inner) n += is_private(key) + count_private(inner);
    json_array_foreach(value, i, inner) n += count_private(inner);
    return n;
}

/* Takes each member of each object out in turn; returns how many there are. */
static size_t spoil(const json_t *schema, json_t *root, json_t *value)
{
    char why[256];
    const char *key = NULL;
    json_t *inner = NULL;
    size_t i = 0, n = 0;
    json_t *copy = json_is_object(value) ? json_copy(value) : NULL;
    json_object_foreach(copy, key, inner)
    {
        json_object_del(value, key);
        if (!is_private(key) && schema_check(schema, root, why, sizeof why))
            fail_msg("conforms without \"%s\"", key);
        json_object_set(value, key, inner);
        n += 1 + spoil(schema, root, inner);
    }
    if (copy) {
        json_object_set_new(value, "colour", json_string("red"));
        if (schema_check(schema, root, why, sizeof why))
            fail_msg("conforms with a member that is unknown");
        json_object_del(value, "colour");
    }
    json_array_foreach(value, i, inner) n += spoil(schema, root, inner);
    json_decref(copy);
    return n;
}

static void compare(const char *name, json_t *told, json_t *page, size_t least)
{
    char path[64], why[256] = "";
    snprintf(path, sizeof path, "shared/%s.schema.json", name);
    json_t *schema = load(path);
    if (!schema_check(schema, told, why, sizeof why))
        fail_msg("%s of the command: %s", name, why);
    if (!schema_check(schema, page, why, sizeof why))
        fail_msg("%s of the page: %s", name, why);
    json_t *copy = json_deep_copy(told);
    size_t n = spoil(schema, copy, copy);
    if (n < least)
        fail_msg("%s has %zu members alone", name, n);
    drop_texts(told);
    drop_texts(page);
    if (!json_equal(told, page)) {
        char *a = json_dumps(told, JSON_SORT_KEYS), *b = json_dumps(page, JSON_SORT_KEYS);
        fail_msg("%s\ncommand: %s\npage: %s", name, a, b);
    }
    json_decref(copy);
    json_decref(page);
    json_decref(told);
    json_decref(schema);
}

/* --- the outputs -------------------------------------------------------------------------------
 */

static json_t *ask_page(const char *key, const char *step)
{
    char path[128];
    snprintf(path, sizeof path, "/api/plans/%s/%s", key, step);
    return web_shop_json(&the_shop, DW_WEB_GET, path, NULL, 200);
}

/* Plans on the page; the plan document that it gives to `path`. Yours to free: its key. */
static char *make_plan(const char *text, const char *path)
{
    json_t *task = web_shop_work("/api/plans", text, ",\"time_ms\":5000");
    const json_t *result = json_object_get(task, "result");
    const char *key = json_string_value(json_object_get(result, "plan"));
    assert_non_null(key);
    json_t *document = ask_page(key, "papers/plan.json");
    assert_int_equal(json_dump_file(document, path, 0), 0);
    char *out = strdup(key);
    json_decref(document);
    json_decref(task);
    return out;
}

static void test_one_document(void **state)
{
    (void)state;
    char plan[128], more[256];
    snprintf(plan, sizeof plan, "%s/plan.json", the_shop.folder);
    for (size_t i = 0; i < DW_COUNT(jobs); i++) {
        char *text = NULL;
        size_t n = 0;
        assert_int_equal(dw_file__read(jobs[i], 1 << 20, &text, &n, NULL), DW_OK);
        char *key = make_plan(text, plan);
        compare("takeoff", ask_command("takeoff", jobs[i], ""),
                web_shop_post("/api/takeoff", text, NULL, 200), 20);
        snprintf(more, sizeof more, "%s --date " DATE, plan);
        compare("order", ask_command("order", jobs[i], more), ask_page(key, "order?date=" DATE),
                30);
        json_t *client = ask_page(key, "quote?date=" DATE);
        assert_int_equal(count_private(client), 0);
        compare("quote", ask_command("quote", jobs[i], more), client, 20);
        snprintf(more, sizeof more, "%s --private --date " DATE, plan);
        json_t *inside = ask_page(key, "quote?private=1&date=" DATE);
        assert_true(count_private(inside) >= 10); /* six, two of the job, one of each line */
        compare("quote", ask_command("quote", jobs[i], more), inside, 25);
        free(key);
        free(text);
        remove(plan);
    }
}

/* build/tests/unit/web/test_trade_json -> build/dropwise */
int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_one_document)};
    const char *end = argc > 0 ? strstr(argv[0], "/tests/unit/web/") : NULL;
    snprintf(program, sizeof program, "%.*s/dropwise", end ? (int)(end - argv[0]) : 5,
             end ? argv[0] : "build");
    return cmocka_run_group_tests(tests, web_shop_setup, web_shop_teardown);
}
