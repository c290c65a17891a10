/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading and writing files: whole or not at all. */
#include "base/base.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

/* Each test runs in an empty folder of its own. */
static int enter_folder(void **state)
{
    char *name = strdup("/tmp/dropwise-test.XXXXXX");
    *state = name;
    return name && mkdtemp(name) && chdir(name) == 0 ? 0 : -1;
}

static size_t count_files(void)
{
    DIR *folder = opendir(".");
    assert_non_null(folder);
    size_t n = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;)
        n += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(folder);
    return n;
}

static int leave_folder(void **state)
{
    DIR *folder = opendir(".");
    for (struct dirent *entry; folder && (entry = readdir(folder)) != NULL;)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            (void)remove(entry->d_name);
    if (folder)
        closedir(folder);
    int bad = chdir("/") != 0 || rmdir(*state) != 0;
    free(*state);
    return bad ? -1 : 0;
}

static void expect_content(const char *path, const char *content, size_t n)
{
    char *text = NULL;
    size_t length = 0;
    struct dw_error error = {0};
    assert_int_equal(dw_file__read(path, 1 << 20, &text, &length, &error), DW_OK);
    assert_int_equal(length, n);
    assert_memory_equal(text, content, n);
    assert_int_equal(text[n], '\0');
    free(text);
}

static void test_write_and_read(void **state)
{
    (void)state;
    struct dw_error error = {0};
    static char large[300000];
    for (size_t i = 0; i < sizeof large; i++)
        large[i] = (char)(i * 31 % 251);
    assert_int_equal(dw_file__write("plan.json", "{}\n", 3, false, &error), DW_OK);
    expect_content("plan.json", "{}\n", 3);
    assert_int_equal(dw_file__write("large", large, sizeof large, false, &error), DW_OK);
    expect_content("large", large, sizeof large);
    assert_int_equal(dw_file__write("empty", "", 0, false, &error), DW_OK);
    expect_content("empty", "", 0);
    assert_int_equal(count_files(), 3);
    struct stat there;
    assert_int_equal(stat("plan.json", &there), 0);
    assert_int_equal(there.st_mode & 07777, 0644);
    assert_int_equal(error.code, DW_OK);
}

static void test_no_replace(void **state)
{
    (void)state;
    struct dw_error error = {0};
    assert_int_equal(dw_file__write("plan.json", "old", 3, false, NULL), DW_OK);
    assert_int_equal(dw_file__write("plan.json", "new", 3, false, &error), DW_ERR_EXISTS);
    assert_int_equal(error.code, DW_ERR_EXISTS);
    assert_string_equal(error.file, "plan.json");
    expect_content("plan.json", "old", 3);
    /* a link that leads nowhere is something that exists, too */
    assert_int_equal(symlink("nowhere", "link"), 0);
    assert_int_equal(dw_file__write("link", "new", 3, false, NULL), DW_ERR_EXISTS);
    assert_int_equal(count_files(), 2);
    assert_int_equal(dw_file__write("plan.json", "newer", 5, true, NULL), DW_OK);
    expect_content("plan.json", "newer", 5);
    assert_int_equal(count_files(), 2);
}

/* Ready, but not there yet; then there, or gone without a trace. */
static void test_ready_and_place(void **state)
{
    (void)state;
    struct dw_file_ready ready;
    struct dw_error error = {0};
    assert_int_equal(dw_file__ready("plan.json", "new", 3, false, &ready, &error), DW_OK);
    assert_int_equal(access("plan.json", F_OK), -1);
    assert_int_equal(dw_file__place(&ready, &error), DW_OK);
    expect_content("plan.json", "new", 3);
    assert_int_equal(dw_file__place(&ready, &error), DW_OK);
    dw_file__drop(&ready);
    expect_content("plan.json", "new", 3);
    assert_int_equal(dw_file__ready("plan.json", "late", 4, false, &ready, &error), DW_ERR_EXISTS);
    assert_int_equal(dw_file__ready("plan.json", "late", 4, true, &ready, NULL), DW_OK);
    dw_file__drop(&ready);
    expect_content("plan.json", "new", 3);
    assert_int_equal(count_files(), 1);
    /* the name is taken in between */
    error = (struct dw_error){0};
    assert_int_equal(dw_file__ready("other", "mine", 4, false, &ready, &error), DW_OK);
    assert_int_equal(dw_file__write("other", "yours", 5, false, &error), DW_OK);
    assert_int_equal(dw_file__place(&ready, &error), DW_ERR_EXISTS);
    expect_content("other", "yours", 5);
    assert_int_equal(count_files(), 2);
}

/* Killed while the file is ready: nothing of it is there. */
static void test_killed_before_place(void **state)
{
    (void)state;
    assert_int_equal(dw_file__write("plan.json", "old", 3, false, NULL), DW_OK);
    for (int replace = 0; replace < 2; replace++) {
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            struct dw_file_ready ready;
            if (!dw_file__ready(replace ? "plan.json" : "new", "x", 1, replace, &ready, NULL))
                (void)raise(SIGKILL);
            _exit(1);
        }
        int status = -1;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFSIGNALED(status));
    }
    expect_content("plan.json", "old", 3);
    assert_int_equal(count_files(), 1);
}

/* What a writer that is gone left of the same path goes with the next one; what a living one has,
 * what belongs to another path or is somebody's own stays. */
static void test_leftovers_go(void **state)
{
    (void)state;
    static const char *const names[] = {"plan.json.abc123.dropwise", "plan.json.abc124.dropwise",
                                        "plan.json.backup", "plan.json.abc1234.dropwise",
                                        "other.json.abc123.dropwise"};
    int living = -1;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        int fd = open(names[i], O_WRONLY | O_CREAT | O_EXCL, 0644);
        assert_true(fd >= 0);
        if (i == 1 && flock(fd, LOCK_EX) == 0)
            living = fd;
        else
            close(fd);
    }
    assert_int_equal(dw_file__write("plan.json", "new", 3, true, NULL), DW_OK);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        assert_int_equal(access(names[i], F_OK), i == 0 ? -1 : 0);
    close(living);
    assert_int_equal(dw_file__write("plan.json", "newer", 5, true, NULL), DW_OK);
    assert_int_equal(access(names[1], F_OK), -1);
    expect_content("plan.json", "newer", 5);
    assert_int_equal(count_files(), 4);
}

static void test_write_failures(void **state)
{
    (void)state;
    struct dw_error error = {0};
    assert_int_equal(dw_file__write("none/plan.json", "x", 1, false, &error), DW_ERR_NOTFOUND);
    assert_string_equal(error.file, "none/plan.json");
    assert_non_null(strstr(error.text, strerror(ENOENT)));
    assert_int_equal(mkdir("folder", 0700), 0);
    assert_int_equal(dw_file__write("folder", "x", 1, true, NULL), DW_ERR_IO);
    assert_int_equal(dw_file__write("", "x", 1, true, NULL), DW_ERR_NOTFOUND);
    assert_int_equal(count_files(), 1);
}

/* The disk is full half way (here: a limit on file size): the old file stays, no rest lies about.
 */
static void test_full_disk(void **state)
{
    (void)state;
    static char large[100000];
    assert_int_equal(dw_file__write("plan.json", "old", 3, false, NULL), DW_OK);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        const struct rlimit limit = {.rlim_cur = 4096, .rlim_max = 4096};
        (void)signal(SIGXFSZ, SIG_IGN);
        bool limited = setrlimit(RLIMIT_FSIZE, &limit) == 0;
        dw_err err = dw_file__write("plan.json", large, sizeof large, true, NULL);
        dw_err other = dw_file__write("other", large, sizeof large, false, NULL);
        _exit(limited && err == DW_ERR_IO && other == DW_ERR_IO ? 0 : 1);
    }
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    expect_content("plan.json", "old", 3);
    assert_int_equal(count_files(), 1);
}

/* Of writers at once that may not replace, one wins; readers see a whole file or none. */
static void test_writers_at_once(void **state)
{
    (void)state;
    enum { WRITERS = 8, SIZE = 50000 };
    pid_t children[WRITERS];
    for (int i = 0; i < WRITERS; i++) {
        children[i] = fork();
        assert_true(children[i] >= 0);
        if (children[i] == 0) {
            static char mine[SIZE];
            memset(mine, 'a' + i, SIZE);
            dw_err err = dw_file__write("plan.json", mine, SIZE, false, NULL);
            _exit(err == DW_OK ? 10 : err == DW_ERR_EXISTS ? 20 : 1);
        }
    }
    int n_won = 0, n_refused = 0;
    for (int i = 0; i < WRITERS; i++) {
        int status = -1;
        assert_int_equal(waitpid(children[i], &status, 0), children[i]);
        n_won += WIFEXITED(status) && WEXITSTATUS(status) == 10;
        n_refused += WIFEXITED(status) && WEXITSTATUS(status) == 20;
    }
    assert_int_equal(n_won, 1);
    assert_int_equal(n_refused, WRITERS - 1);
    char *text = NULL;
    size_t n = 0;
    assert_int_equal(dw_file__read("plan.json", SIZE, &text, &n, NULL), DW_OK);
    assert_int_equal(n, SIZE);
    for (size_t i = 1; i < n; i++)
        assert_int_equal(text[i], text[0]);
    free(text);
    assert_int_equal(count_files(), 1);
}

/* A program that was started without a standard input: the first file has its number. */
static void test_without_standard_input(void **state)
{
    (void)state;
    int kept = dup(0);
    char *text = NULL;
    size_t n = 0;
    struct dw_error error = {0};
    assert_true(kept > 0);
    close(0);
    dw_err written = dw_file__write("plan.json", "{}\n", 3, false, &error);
    dw_err special = dw_file__write("/dev/null", "{}\n", 3, true, &error);
    dw_err read = dw_file__read("plan.json", 100, &text, &n, &error);
    assert_int_equal(dup2(kept, 0), 0);
    close(kept);
    assert_int_equal(written, DW_OK);
    assert_int_equal(special, DW_OK);
    assert_int_equal(read, DW_OK);
    assert_int_equal(n, 3);
    free(text);
}

static void test_read_failures(void **state)
{
    (void)state;
    char *text = "unset";
    size_t n = 77;
    struct dw_error error = {0};
    assert_int_equal(dw_file__read("none", 100, &text, &n, &error), DW_ERR_NOTFOUND);
    assert_true(text == NULL && n == 0);
    assert_string_equal(error.file, "none");
    assert_non_null(strstr(error.text, strerror(ENOENT)));
    assert_int_equal(dw_file__read(".", 100, &text, &n, NULL), DW_ERR_IO);
    assert_true(text == NULL && n == 0);
    assert_int_equal(dw_file__write("ten", "0123456789", 10, false, NULL), DW_OK);
    struct dw_error limit = {0};
    assert_int_equal(dw_file__read("ten", 9, &text, &n, &limit), DW_ERR_LIMIT);
    assert_true(text == NULL && n == 0);
    assert_non_null(strstr(limit.text, "9 bytes"));
    assert_int_equal(dw_file__read("ten", 10, &text, &n, NULL), DW_OK);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_write_and_read, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_no_replace, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_ready_and_place, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_killed_before_place, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_leftovers_go, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_write_failures, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_full_disk, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_writers_at_once, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_without_standard_input, enter_folder, leave_folder),
        cmocka_unit_test_setup_teardown(test_read_failures, enter_folder, leave_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
