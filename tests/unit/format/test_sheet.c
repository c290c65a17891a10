/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables for spreadsheets: exact CSV, and nothing that runs as a formula. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "format/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct dw_sheet_column columns[] = {{"text", 20}, {"number", 10}};

static struct dw_sheet_cell text_cell(const char *text)
{
    return (struct dw_sheet_cell){.kind = DW_SHEET_TEXT, .text = text};
}

static void expect(const char *text, const char *cell)
{
    struct dw_sheet_cell cells[2] = {text_cell(text), {.kind = DW_SHEET_EMPTY}};
    const struct dw_sheet sheet = {
        .name = "s", .n_columns = 2, .columns = columns, .n_rows = 1, .cells = cells};
    char wanted[256];
    snprintf(wanted, sizeof wanted, "\xEF\xBB\xBFtext,number\r\n%s,\r\n", cell);
    char *out = NULL;
    size_t n = 0;
    assert_int_equal(dw_sheet__csv(&sheet, &out, &n, NULL), DW_OK);
    assert_string_equal(out, wanted);
    assert_int_equal(n, strlen(wanted));
    free(out);
}

/* RFC 4180, 2.5 to 2.7; OWASP, "CSV Injection": cells that begin with = + - @, tab (0x09), carriage
 * return (0x0D), line feed. */
static void test_csv_text(void **state)
{
    (void)state;
    expect("rail", "rail");
    expect("a, b", "\"a, b\"");
    expect("a; b", "\"a; b\"");
    expect("1\" tube", "\"1\"\" tube\"");
    expect("two\nlines", "\"two\nlines\"");
    expect("=1+1", "\"'=1+1\"");
    expect("=HYPERLINK(\"x\")", "\"'=HYPERLINK(\"\"x\"\")\"");
    expect("+1", "\"'+1\"");
    expect("-1", "\"'-1\"");
    expect("@SUM(A1)", "\"'@SUM(A1)\"");
    expect("\t=1", "\"'\t=1\"");
    expect("\r=1", "\"'\r=1\"");
    expect("\n=1", "\"'\n=1\"");
    expect("a=1", "a=1");
    expect("", "");
    expect("Röhre 38×2", "Röhre 38×2");
}

static void expect_number(int64_t value, int decimals, int shown, const char *wanted)
{
    struct dw_sheet_cell cells[2] = {
        {.kind = DW_SHEET_EMPTY},
        {.kind = DW_SHEET_NUMBER, .value = value, .decimals = decimals, .shown = shown}};
    const struct dw_sheet sheet = {
        .name = "s", .n_columns = 2, .columns = columns, .n_rows = 1, .cells = cells};
    char *out = NULL;
    size_t n = 0;
    assert_int_equal(dw_sheet__csv(&sheet, &out, &n, NULL), DW_OK);
    const char *row = strstr(out, "\r\n,") + 3;
    assert_memory_equal(row, wanted, strlen(wanted));
    assert_memory_equal(row + strlen(wanted), "\r\n", 2);
    free(out);
}

/* A negative number is a number: it is not escaped. */
static void test_csv_numbers(void **state)
{
    (void)state;
    expect_number(125000, 4, 2, "12.50");
    expect_number(123450, 4, 2, "12.345");
    expect_number(-125000, 4, 0, "-12.5");
    expect_number(-1, 4, 2, "-0.0001");
    expect_number(10000, 4, 0, "1");
    expect_number(0, 4, 3, "0.000");
    expect_number(7, 0, 0, "7");
    expect_number(INT64_MIN, 4, 4, "-922337203685477.5808");
}

static char *read_all(const char *path, size_t *n)
{
    char *bytes = NULL;
    assert_int_equal(dw_file__read(path, 1 << 20, &bytes, n, NULL), DW_OK);
    return bytes;
}

static void test_xlsx_file(void **state)
{
    (void)state;
    char folder[] = "/tmp/dropwise-sheet-XXXXXX";
    assert_non_null(mkdtemp(folder));
    char path[64];
    char again[64];
    snprintf(path, sizeof path, "%s/a.xlsx", folder);
    snprintf(again, sizeof again, "%s/b.xlsx", folder);
    struct dw_sheet_cell cells[2] = {
        text_cell("=1+1"), {.kind = DW_SHEET_NUMBER, .value = 123450, .decimals = 4, .shown = 2}};
    const struct dw_sheet sheet = {
        .name = "order", .n_columns = 2, .columns = columns, .n_rows = 1, .cells = cells};
    assert_int_equal(dw_sheet__xlsx(&sheet, path, "2026-03-01", false, NULL), DW_OK);
    assert_int_equal(dw_sheet__xlsx(&sheet, again, "2026-03-01", false, NULL), DW_OK);
    size_t n = 0;
    size_t n_again = 0;
    char *bytes = read_all(path, &n);
    char *bytes_again = read_all(again, &n_again);
    assert_memory_equal(bytes, "PK\003\004", 4); /* a ZIP archive, APPNOTE 4.3.7 */
    assert_int_equal(n, n_again);
    assert_memory_equal(bytes, bytes_again, n);
    free(bytes);
    free(bytes_again);
    struct dw_error error = {0};
    assert_int_equal(dw_sheet__xlsx(&sheet, path, NULL, false, &error), DW_ERR_EXISTS);
    assert_int_equal(dw_sheet__xlsx(&sheet, path, NULL, true, NULL), DW_OK);
    unlink(path);
    unlink(again);
    assert_int_equal(rmdir(folder), 0); /* nothing else was left there */
    assert_int_equal(dw_sheet__xlsx(&sheet, path, NULL, false, NULL), DW_ERR_NOTFOUND);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_csv_text),
        cmocka_unit_test(test_csv_numbers),
        cmocka_unit_test(test_xlsx_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
