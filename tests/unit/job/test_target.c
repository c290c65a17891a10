/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a plan may be written: said before it is searched for. */
#include <dropwise/work.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[64], path[96];

static int set_up(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/dw_target_XXXXXX");
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/plan.json", folder);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    unlink(path);
    return rmdir(folder);
}

/* The error names the path, and no line or column of it. */
static void refuses(const char *name, bool replace, dw_err err, const char *words)
{
    struct dw_error error = {0};
    assert_int_equal(dw_job_target(name, replace, &error), err);
    assert_string_equal(error.file, name);
    assert_int_equal(error.line, 0);
    assert_int_equal(error.column, 0);
    if (!strstr(error.text, words))
        fail_msg("%s", error.text);
}

static void test_files(void **state)
{
    (void)state;
    char below[128], words[160];
    assert_int_equal(dw_job_target(path, false, NULL), DW_OK);
    refuses(folder, true, DW_ERR_INPUT, "this is a folder; name a file in it");
    snprintf(below, sizeof below, "%s/none/plan.json", folder);
    snprintf(words, sizeof words, "there is no folder %s/none to write it to", folder);
    refuses(below, false, DW_ERR_NOTFOUND, words);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fclose(file);
    refuses(path, false, DW_ERR_EXISTS, "the file exists; choose another name");
    assert_int_equal(dw_job_target(path, true, NULL), DW_OK);
    snprintf(below, sizeof below, "%s/plan.json", path); /* below a file */
    refuses(below, false, DW_ERR_NOTFOUND, "there is no folder");
}

/* A name alone is in the folder that one is in; a file of the root is in a folder too. */
static void test_folders(void **state)
{
    (void)state;
    char before[512];
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(folder), 0);
    assert_int_equal(dw_job_target("plan.json", false, NULL), DW_OK);
    assert_int_equal(chdir(before), 0);
    dw_err err = dw_job_target("/dw_target_that_is_not_there.json", false, NULL);
    assert_int_equal(err, access("/", W_OK) == 0 ? DW_OK : DW_ERR_IO);
    if (access("/", W_OK) != 0)
        refuses("/dw_target_that_is_not_there.json", false, DW_ERR_IO,
                "the folder / can't be written to");
}

/* By somebody who isn't allowed to everything, as root is. */
static void test_read_only(void **state)
{
    (void)state;
    assert_int_equal(chmod(folder, 0555), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct dw_error error = {0};
        if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
            _exit(2);
        dw_err err = dw_job_target(path, false, &error);
        bool right = err == DW_ERR_IO && strcmp(error.file, path) == 0 && error.line == 0 &&
                     error.column == 0 && strstr(error.text, "can't be written to");
        _exit(right ? 0 : 1);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    assert_int_equal(chmod(folder, 0700), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_files, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_folders, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_read_only, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
