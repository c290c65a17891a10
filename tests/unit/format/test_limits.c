/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Input that is too large is refused up front, and large input below the limits is read whole. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/files.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char head[] = "dropwise: 1\n"
                           "unit: mm\n"
                           "saw: {kerf: 1}\n"
                           "rules: {keep: 300}\n"
                           "materials: [{id: A}]\n"
                           "bars: [{length: 6 m, price: 3}]\n";

/* A text that is built up; it never fails without failing the test. */
struct text {
    char *at;
    size_t n;
    FILE *out;
};

static FILE *open_text(struct text *text, const char *first)
{
    *text = (struct text){0};
    text->out = open_memstream(&text->at, &text->n);
    assert_non_null(text->out);
    fputs(first, text->out);
    return text->out;
}

/* Reads the text as a job; frees it. What went wrong first stands in `what`. */
static dw_err read_text(struct text *text, const char *folder, struct dw_error *what,
                        size_t *n_parts)
{
    assert_int_equal(fclose(text->out), 0);
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_job_read_text(text->at, text->n, "job", folder, &job, &report, &error);
    *what = error;
    for (size_t i = report.n_remarks; i-- > 0;)
        if (report.remarks[i].severity == DW_WRONG)
            *what = report.remarks[i].what;
    *n_parts = job ? job->n_parts : 0;
    dw_report_free(&report);
    dw_job_free(job);
    free(text->at);
    return err;
}

static void expect(struct text *text, const char *folder, dw_err err, int line, const char *wrong)
{
    struct dw_error what = {0};
    size_t n_parts = 0;
    assert_int_equal(read_text(text, folder, &what, &n_parts), err);
    assert_string_equal(what.text, wrong);
    assert_int_equal(what.line, line);
}

static void test_job_size(void **state)
{
    (void)state;
    struct text text;
    FILE *out = open_text(&text, head);
    for (int i = 0; i < 9 << 10; i++)
        fprintf(out, "# %01020d\n", i);
    expect(&text, NULL, DW_ERR_LIMIT, 0,
           "the job is larger than the limit of 8388608 bytes; put long lists in tables (CSV)");
}

static void test_job_values(void **state)
{
    (void)state;
    struct text text;
    FILE *out = open_text(&text, head);
    fputs("parts: [", out);
    for (int i = 0; i < 1500000; i++)
        fputs("a,", out);
    expect(&text, NULL, DW_ERR_INPUT, 1, "the file holds more than 1500000 values; split the job");
}

static void test_materials(void **state)
{
    (void)state;
    struct text text;
    FILE *out = open_text(&text, "dropwise: 1\nunit: mm\nsaw: {kerf: 1}\nmaterials:\n");
    for (int i = 0; i < 1001; i++)
        fprintf(out, "  - {id: m%d}\n", i);
    fputs("parts: []\n", out);
    expect(&text, NULL, DW_ERR_INPUT, 5, "at most 1000 materials are allowed");
}

/* A folder with a table in it. */
struct folder {
    char path[32];
    char table[48];
};

static FILE *open_table(struct folder *folder)
{
    *folder = (struct folder){.path = "/tmp/dropwise-test-XXXXXX"};
    assert_non_null(mkdtemp(folder->path));
    snprintf(folder->table, sizeof folder->table, "%s/list.csv", folder->path);
    FILE *out = fopen(folder->table, "w");
    assert_non_null(out);
    fputs("label,length,count\n", out);
    return out;
}

static void remove_table(const struct folder *folder)
{
    assert_int_equal(unlink(folder->table), 0);
    assert_int_equal(rmdir(folder->path), 0);
}

static void test_table_rows(void **state)
{
    (void)state;
    struct folder folder;
    FILE *table = open_table(&folder);
    for (int i = 0; i < 100000; i++)
        fprintf(table, "p%d,%d,2\n", i, 500 + i % 700);
    assert_int_equal(fflush(table), 0);
    struct text text;
    struct dw_error what = {0};
    size_t n_parts = 0;
    fputs("parts: list.csv\n", open_text(&text, head));
    assert_int_equal(read_text(&text, folder.path, &what, &n_parts), DW_OK);
    assert_int_equal(n_parts, 100000);
    fputs("one more,500,2\n", table);
    assert_int_equal(fclose(table), 0);
    fputs("parts: list.csv\n", open_text(&text, head));
    expect(&text, folder.path, DW_ERR_INPUT, 100002, "more than 100000 rows");
    remove_table(&folder);
}

static void test_table_cells(void **state)
{
    (void)state;
    struct folder folder;
    FILE *table = open_table(&folder);
    for (int i = 0; i < 100000; i++)
        fputc(',', table);
    assert_int_equal(fclose(table), 0);
    struct text text;
    fputs("parts: list.csv\n", open_text(&text, head));
    expect(&text, folder.path, DW_ERR_INPUT, 2,
           "the row has more cells than any table has columns");
    remove_table(&folder);
}

static void test_table_columns(void **state)
{
    (void)state;
    struct folder folder;
    FILE *table = open_table(&folder);
    assert_int_equal(fclose(table), 0);
    table = fopen(folder.table, "w");
    assert_non_null(table);
    for (int i = 0; i < 101; i++)
        fprintf(table, "c%d,", i);
    assert_int_equal(fclose(table), 0);
    struct text text;
    fputs("parts: list.csv\n", open_text(&text, head));
    expect(&text, folder.path, DW_ERR_INPUT, 1, "more than 100 columns");
    remove_table(&folder);
}

static void test_many_tables(void **state)
{
    (void)state;
    struct folder folder;
    FILE *table = open_table(&folder);
    fputs("a,500,1\n", table);
    assert_int_equal(fclose(table), 0);
    struct text text;
    FILE *out = open_text(&text, head);
    fputs("parts:\n", out);
    for (int i = 0; i < 102; i++)
        fputs("  - list.csv\n", out);
    expect(&text, folder.path, DW_ERR_INPUT, 108, "more than 100 tables");
    remove_table(&folder);
}

static void test_files_not_allowed(void **state)
{
    (void)state;
    struct text text;
    fputs("parts: list.csv\n", open_text(&text, head));
    expect(&text, NULL, DW_ERR_INPUT, 7, "a file can't be named here; write each part as a row");
}

/* More mistakes than a report holds: all are counted. */
static void test_many_mistakes(void **state)
{
    (void)state;
    struct text text;
    FILE *out = open_text(&text, head);
    fputs("parts:\n", out);
    for (int i = 0; i < 1500; i++)
        fputs("  - {label: a, length: x}\n", out);
    assert_int_equal(fclose(out), 0);
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    assert_int_equal(dw_job_read_text(text.at, text.n, "job", NULL, &job, &report, &error),
                     DW_ERR_INPUT);
    assert_string_equal(error.text, "1500 mistakes in the job");
    assert_int_equal(report.n_wrong, 1500);
    assert_int_equal(report.n_remarks, DW_REPORT_MAX);
    assert_int_equal(report.n_dropped, 500);
    dw_report_free(&report);
    free(text.at);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_job_size),      cmocka_unit_test(test_job_values),
        cmocka_unit_test(test_materials),     cmocka_unit_test(test_table_rows),
        cmocka_unit_test(test_table_cells),   cmocka_unit_test(test_table_columns),
        cmocka_unit_test(test_many_tables),   cmocka_unit_test(test_files_not_allowed),
        cmocka_unit_test(test_many_mistakes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
