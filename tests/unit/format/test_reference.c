/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every snippet of shared/FORMAT.md is valid: a YAML block is a job, or becomes one with the keys
 * of `base` that it leaves out; the table is one that a job can name. */
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

static const struct {
    const char *key;
    const char *line;
} base[] = {
    {"dropwise:", "dropwise: 1\n"},
    {"unit:", "unit: mm\n"},
    {"currency:", "currency: EUR\n"},
    {"saw:", "saw: {kerf: 2}\n"},
    {"rules:", "rules: {keep: 350}\n"},
    {"materials:", "materials: [{id: al38}]\n"},
    {"bars:", "bars: [{length: 6 m, price: 37.20}]\n"},
};

static char *read_text(const char *path)
{
    char *text = calloc(1, 1 << 16);
    FILE *in = fopen(path, "r");
    assert_non_null(text);
    assert_non_null(in);
    assert_true(fread(text, 1, (1 << 16) - 1, in) > 0);
    fclose(in);
    return text;
}

/* Does a line of the block begin with the key? */
static int has_key(const char *block, const char *key)
{
    size_t n = strlen(key);
    for (const char *line = block; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncmp(line, key, n) == 0)
            return 1;
        if (!*line)
            return 0;
    }
    return 0;
}

static void read_job(const char *text, const char *folder)
{
    struct dw_job *job = NULL;
    struct dw_report report = {0};
    struct dw_error error = {0};
    dw_err err = dw_job_read_text(text, strlen(text), "FORMAT.md", folder, &job, &report, &error);
    for (size_t i = 0; i < report.n_remarks; i++)
        if (report.remarks[i].severity == DW_WRONG)
            print_message("%d:%d: %s\n%s", report.remarks[i].what.line,
                          report.remarks[i].what.column, report.remarks[i].what.text, text);
    dw_report_free(&report);
    dw_job_free(job);
    assert_int_equal(err, DW_OK);
}

static void check_yaml(const char *block)
{
    char text[1 << 13] = "";
    for (size_t i = 0; i < sizeof base / sizeof *base; i++)
        if (!has_key(block, base[i].key))
            strcat(text, base[i].line);
    strcat(text, block);
    if (!has_key(block, "parts:"))
        strcat(text, "parts: [{label: a, length: 500}]\n");
    read_job(text, NULL);
}

static void check_table(const char *block)
{
    char folder[] = "/tmp/dropwise-test-XXXXXX";
    assert_non_null(mkdtemp(folder));
    char path[64];
    snprintf(path, sizeof path, "%s/list.csv", folder);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    assert_true(fputs(block, out) >= 0);
    fclose(out);
    char text[1024] = "";
    for (size_t i = 0; i < sizeof base / sizeof *base; i++)
        strcat(text, base[i].line);
    strcat(text, "parts: list.csv\n");
    read_job(text, folder);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
}

/* Calls `check` for each block between ```kind and ```; returns how many there were. */
static int each_block(char *page, const char *kind, void (*check)(const char *block))
{
    int n = 0;
    char fence[16];
    snprintf(fence, sizeof fence, "```%s\n", kind);
    for (char *at = page; (at = strstr(at, fence));) {
        at += strlen(fence);
        char *end = strstr(at, "```");
        assert_non_null(end);
        *end = '\0';
        check(at);
        at = end + 1;
        n++;
    }
    return n;
}

static void test_snippets(void **state)
{
    (void)state;
    char *page = read_text("shared/FORMAT.md");
    assert_true(each_block(page, "yaml", check_yaml) >= 7);
    free(page);
    page = read_text("shared/FORMAT.md");
    assert_int_equal(each_block(page, "csv", check_table), 1);
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_snippets),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
