/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs and tables broken off anywhere, or with one character changed: they are read or refused
 * with a place inside the text, and nothing else happens. */
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

#define DATA "tests/unit/format/data/"

static const char table_job[] = "dropwise: 1\n"
                                "unit: mm\n"
                                "saw: {kerf: 1}\n"
                                "rules: {keep: 300}\n"
                                "materials: [{id: A}, {id: B}]\n"
                                "bars: [{material: A, length: 6 m, price: 3}]\n"
                                "parts: list.csv\n";

static char *read_file(const char *path, size_t *n)
{
    FILE *in = fopen(path, "r");
    char *text = calloc(1, 1 << 16);
    assert_non_null(in);
    assert_non_null(text);
    *n = fread(text, 1, (1 << 16) - 1, in);
    assert_true(*n > 0);
    fclose(in);
    return text;
}

static int count_lines(const char *text, size_t n)
{
    int lines = 1;
    for (size_t i = 0; i < n; i++)
        lines += text[i] == '\n' || text[i] == '\r';
    return lines;
}

/* `lines` is the most that any of the texts has. */
static void check(const char *text, size_t n, const char *folder, int lines)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    char *copy = malloc(n + 1); /* no byte more, for the sanitizers to watch */
    assert_non_null(copy);
    memcpy(copy, text, n);
    copy[n] = '\0';
    dw_err err = dw_job_read_text(copy, n, "job.yaml", folder, &job, &report, &error);
    assert_true(err == DW_OK || err == DW_ERR_INPUT);
    assert_true((err == DW_OK) == (job != NULL));
    assert_true((err == DW_OK) == (report.n_wrong == 0));
    for (size_t i = 0; i < report.n_remarks; i++) {
        const struct dw_error *what = &report.remarks[i].what;
        assert_true(what->text[0] && !strchr(what->text, '\n'));
        assert_in_range(what->line, 1, lines);
        assert_in_range(what->column, 1, n + 4096);
    }
    dw_report_free(&report);
    dw_job_free(job);
    free(copy);
}

static void test_job_broken_off(void **state)
{
    (void)state;
    size_t n = 0;
    char *text = read_file(DATA "good-full/job.yaml", &n);
    int lines = count_lines(text, n);
    for (size_t i = 0; i <= n; i += 3)
        check(text, i, NULL, lines);
    free(text);
}

static void test_job_one_wrong(void **state)
{
    (void)state;
    static const char puts[] = "\"'{}[]:,#-\n&*|>%x0 ";
    size_t n = 0;
    char *text = read_file(DATA "good-full/job.yaml", &n);
    int lines = count_lines(text, n) + 1;
    for (size_t i = 0; i < n; i += 2) {
        char kept = text[i];
        text[i] = puts[(i / 2) % (sizeof puts - 1)];
        check(text, n, NULL, lines);
        text[i] = kept;
    }
    free(text);
}

static void write_file(const char *path, const char *text, size_t n)
{
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    assert_int_equal(fwrite(text, 1, n, out), n);
    assert_int_equal(fclose(out), 0);
}

static void test_table(void **state)
{
    (void)state;
    static const char puts[] = "\"',;\t\n\rx0 ";
    char folder[] = "/tmp/dropwise-test-XXXXXX";
    char path[64];
    size_t n = 0;
    char *text = read_file(DATA "good-spreadsheets/parts.csv", &n);
    int lines = count_lines(text, n) + 9;
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/list.csv", folder);
    for (size_t i = 0; i < n; i++) {
        write_file(path, text, i);
        check(table_job, strlen(table_job), folder, lines);
        char kept = text[i];
        text[i] = puts[i % (sizeof puts - 1)];
        write_file(path, text, n);
        check(table_job, strlen(table_job), folder, lines);
        text[i] = kept;
    }
    free(text);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_job_broken_off),
        cmocka_unit_test(test_job_one_wrong),
        cmocka_unit_test(test_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
