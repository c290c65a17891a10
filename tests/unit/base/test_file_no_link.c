/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing on a file system that has neither hard links nor files without a name, as on FAT
 * (link(2): EPERM, open(2): EOPNOTSUPP). */
#define _GNU_SOURCE /* O_TMPFILE */
#include "base/base.h"

#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static int n_links;
static bool appears; /* another program makes the file just before the link */

/* These stand before the C library's when this program is linked. */
int open(const char *path, int flags, ...)
{
    va_list args;
    va_start(args, flags);
    mode_t mode = flags & O_CREAT ? va_arg(args, mode_t) : 0;
    va_end(args);
    if ((flags & O_TMPFILE) != O_TMPFILE)
        return openat(AT_FDCWD, path, flags, mode);
    errno = EOPNOTSUPP;
    return -1;
}

int link(const char *from, const char *to)
{
    (void)from;
    n_links++;
    int fd = appears ? open(to, O_WRONLY | O_CREAT, 0644) : -1;
    if (fd >= 0)
        close(fd);
    errno = EPERM;
    return -1;
}

static void test_no_link(void **state)
{
    (void)state;
    char folder[] = "/tmp/dropwise-test.XXXXXX";
    assert_non_null(mkdtemp(folder));
    assert_int_equal(chdir(folder), 0);
    struct dw_error error = {0};
    assert_int_equal(dw_file__write("plan.json", "{}", 2, false, &error), DW_OK);
    assert_int_equal(n_links, 1);
    char *text = NULL;
    size_t n = 0;
    assert_int_equal(dw_file__read("plan.json", 10, &text, &n, NULL), DW_OK);
    assert_string_equal(text, "{}");
    free(text);
    assert_int_equal(dw_file__write("plan.json", "no", 2, false, NULL), DW_ERR_EXISTS);
    assert_int_equal(n_links, 1);
    appears = true;
    assert_int_equal(dw_file__write("other", "no", 2, false, NULL), DW_ERR_EXISTS);
    assert_int_equal(n_links, 2);
    assert_int_equal(dw_file__read("other", 10, &text, &n, NULL), DW_OK);
    assert_int_equal(n, 0);
    free(text);
    assert_int_equal(remove("other"), 0);
    assert_int_equal(remove("plan.json"), 0);
    assert_int_equal(chdir("/"), 0);
    assert_int_equal(rmdir(folder), 0); /* nothing else was left in it */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_no_link)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
