/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables for spreadsheets: exact CSV, and nothing that runs as a formula. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "format/sheet.h"
#include "format/sheet_name.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

/* A ZIP archive, APPNOTE 4.3.7; the same book is the same file, another day's is not. What is in it
 * is read back by tests/scripts/tables.py. */
static void test_xlsx_bytes(void **state)
{
    (void)state;
    struct dw_sheet_cell cells[2] = {
        text_cell("=1+1"), {.kind = DW_SHEET_NUMBER, .value = 123450, .decimals = 4, .shown = 2}};
    const struct dw_sheet sheet = {
        .name = "order", .n_columns = 2, .columns = columns, .n_rows = 1, .cells = cells};
    struct dw_book book = {.date = "2026-03-01", .n_sheets = 1, .sheets = &sheet};
    char *one = NULL, *two = NULL, *other = NULL;
    size_t n_one = 0, n_two = 0, n_other = 0;
    assert_int_equal(dw_book__xlsx(&book, &one, &n_one, NULL), DW_OK);
    assert_int_equal(dw_book__xlsx(&book, &two, &n_two, NULL), DW_OK);
    book.date = "2026-03-02";
    assert_int_equal(dw_book__xlsx(&book, &other, &n_other, NULL), DW_OK);
    assert_memory_equal(one, "PK\003\004", 4);
    assert_int_equal(n_one, n_two);
    assert_memory_equal(one, two, n_one);
    assert_true(n_one != n_other || memcmp(one, other, n_one) != 0);
    free(one);
    free(two);
    free(other);
}

/* Rows of a sheet: Excel specifications and limits, 1 048 576. One more is refused before it is
 * made. */
static void test_xlsx_rows(void **state)
{
    (void)state;
    const struct dw_sheet sheet = {
        .name = "long", .n_columns = 2, .columns = columns, .n_rows = 1048576};
    const struct dw_book book = {.n_sheets = 1, .sheets = &sheet};
    struct dw_error error = {0};
    char *bytes = NULL;
    size_t n = 0;
    assert_int_equal(dw_book__xlsx(&book, &bytes, &n, &error), DW_ERR_LIMIT);
    assert_null(bytes);
}

/* Names of sheets: at most 31 characters, none of []:*?/\, no apostrophe at an end, not "History",
 * none twice without regard to case (Excel's rules for worksheet names). */
static void test_names(void **state)
{
    (void)state;
    static const struct {
        const char *text, *name;
    } cases[] = {
        {"Quay Metals", "Quay Metals"},
        {"quay metals", "quay metals 2"},
        {"a[b]:c*d?e/f\\g", "a-b--c-d-e-f-g"},
        {"'yard'", "-yard-"},
        {"'", "-"},
        {"History", "-istory"},
        {"", "sheet"},
        {NULL, "sheet 2"},
        {"0123456789012345678901234567890123", "0123456789012345678901234567890"},
        {"012345678901234567890123456789012", "01234567890123456789012345678 2"},
        {"Tuyauterie \u00c9toile", "Tuyauterie \u00c9toile"},
        {"tuyauterie \u00e9toile", "tuyauterie \u00e9toile 2"},
        {"one\ntwo", "one-two"},
    };
    char names[DW_COUNT(cases)][DW_SHEET_NAME];
    for (size_t i = 0; i < DW_COUNT(cases); i++) {
        dw_sheet__name(names[i], cases[i].text, names, i);
        assert_string_equal(names[i], cases[i].name);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_csv_text),   cmocka_unit_test(test_csv_numbers),
        cmocka_unit_test(test_xlsx_bytes), cmocka_unit_test(test_xlsx_rows),
        cmocka_unit_test(test_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
