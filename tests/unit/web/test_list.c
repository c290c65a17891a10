/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A list that is brought to the page as a file: its bytes, its rows, what is refused. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "base/base.h"
#include "web/base64.h"
#include "web_shop.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void expect_bytes(const char *text, const char *bytes)
{
    char *out = NULL;
    size_t n = 0;
    assert_true(dw_base64__read(text, &out, &n));
    assert_int_equal(n, strlen(bytes));
    assert_string_equal(out, bytes);
    free(out);
}

static void expect_none(const char *text)
{
    char *out = NULL;
    size_t n = 0;
    assert_false(dw_base64__read(text, &out, &n));
    assert_null(out);
    assert_int_equal(n, 0);
}

/* RFC 4648, section 10; and what is none: another length, other letters, padding within, bits that
 * are left over (3.5). */
static void test_base64(void **state)
{
    (void)state;
    expect_bytes("", "");
    expect_bytes("Zg==", "f");
    expect_bytes("Zm8=", "fo");
    expect_bytes("Zm9v", "foo");
    expect_bytes("Zm9vYg==", "foob");
    expect_bytes("Zm9vYmE=", "fooba");
    expect_bytes("Zm9vYmFy", "foobar");
    expect_bytes("+/+/", "\xFB\xFF\xBF");
    expect_none("Zg=");
    expect_none("Zg");
    expect_none("Z===");
    expect_none("Zm9v!A==");
    expect_none("Zg==Zg==");
    expect_none("Zh==");
    expect_none("Zm9=");
    expect_none("-_-_");
}

/* As base64 by its definition, three bytes in four letters; yours to free. */
static char *encode(const char *bytes, size_t n)
{
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    struct dw_buf out = {0};
    for (size_t i = 0; i < n; i += 3) {
        uint32_t three = 0;
        for (size_t k = 0; k < 3; k++)
            three = three << 8 | (i + k < n ? (unsigned char)bytes[i + k] : 0);
        for (size_t k = 0; k < 4; k++)
            dw_buf__char(&out, i + k > n ? '=' : letters[three >> (18 - 6 * k) & 63]);
    }
    dw_buf__put(&out, "");
    return n ? dw_buf__take(&out) : strdup("");
}

/* Posts a file of tests/lists/data, or these bytes, and expects the status. */
static json_t *bring(const char *name, const char *bytes, size_t n, const char *more, int status)
{
    char path[256];
    char *own = NULL;
    snprintf(path, sizeof path, "tests/lists/data/%s", name);
    if (!bytes)
        assert_int_equal(dw_file__read(path, 1 << 20, &own, &n, NULL), DW_OK);
    char *text = encode(bytes ? bytes : own, n);
    struct dw_buf body = {0};
    dw_buf__format(&body, "{\"bytes\":\"%s\",\"name\":\"%s\"%s}", text, name, more);
    char *request = dw_buf__take(&body);
    json_t *reply = web_shop_json(&the_shop, DW_WEB_POST, "/api/table", request, status);
    free(request);
    free(text);
    free(own);
    return reply;
}

static const char *cell(const json_t *reply, size_t row, size_t column)
{
    const json_t *rows = json_object_get(json_object_get(reply, "table"), "rows");
    return json_string_value(json_array_get(json_array_get(rows, row), column));
}

/* The same parts as by the command, which tests/lists/cases.json has. */
static void test_workbook(void **state)
{
    (void)state;
    static const char *const names[] = {"plain.xlsx", "libreoffice-merged.ods",
                                        "numbers-as-text.xlsx"};
    static const char *const lengths[] = {"1180.5 mm", "1180.5 mm", "1180,5 mm"};
    for (size_t i = 0; i < DW_COUNT(names); i++) {
        json_t *reply = bring(names[i], NULL, 0, "", 200);
        const json_t *columns = json_object_get(json_object_get(reply, "table"), "columns");
        size_t at = 0;
        while (strcmp(json_string_value(json_array_get(columns, at)), "length") != 0)
            at++;
        assert_string_equal(cell(reply, 0, at), lengths[i]);
        if (i == 2) /* 1.240 of a list that writes commas has one reading on the page too */
            assert_string_equal(cell(reply, 1, at), "1240 mm");
        json_decref(reply);
    }
}

static void test_sheet_and_columns(void **state)
{
    (void)state;
    json_t *reply = bring("two-sheets.xlsx", NULL, 0, "", 422);
    assert_non_null(
        strstr(web_shop_text(json_object_get(reply, "error"), "text"), "both look like"));
    json_decref(reply);
    reply = bring("two-sheets.xlsx", NULL, 0, ",\"sheet\":\"Desk\"", 200);
    assert_string_equal(cell(reply, 0, 0), "leg");
    assert_string_equal(web_shop_text(json_object_get(reply, "table"), "sheet"), "Desk");
    json_decref(reply);
    reply = bring("no-heading.csv", NULL, 0, ",\"columns\":\"label=A,length=B,count=C\"", 200);
    assert_string_equal(cell(reply, 2, 0), "brace");
    json_decref(reply);
}

/* A remark names the file and the row; what is no list is refused, and nothing is taken. */
static void test_refused(void **state)
{
    (void)state;
    static const char bomb[] = "PK\003\004 but nothing else";
    json_t *reply = bring("became-a-date.xlsx", NULL, 0, "", 200);
    const json_t *remark = json_array_get(json_object_get(reply, "remarks"), 0);
    assert_int_equal(web_shop_number(remark, "line"), 3);
    assert_string_equal(web_shop_text(remark, "severity"), "wrong");
    json_decref(reply);
    json_decref(bring("broken.xlsx", bomb, sizeof bomb - 1, "", 422));
    json_decref(bring("zero.csv", "a\0b", 3, "", 422));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/table", "{\"bytes\":\"Zg\"}", 422));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/table", "{\"bytes\":7}", 422));
    json_decref(web_shop_json(&the_shop, DW_WEB_POST, "/api/table", "{}", 422));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_base64),
        cmocka_unit_test(test_workbook),
        cmocka_unit_test(test_sheet_and_columns),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests(tests, web_shop_setup, web_shop_teardown);
}
