/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Work in a child process: what it sends, its errors, and the ways in which it may die. */
#include "base/apart.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#define MUCH (3 * 1000 * 1000) /* more than a pipe holds */

static dw_err send_much(struct dw_apart *to, void *user, struct dw_error *error)
{
    (void)error;
    for (int i = 0; i < MUCH / 1000; i++) {
        char block[1000];
        memset(block, 'a' + i % 26, sizeof block);
        dw_apart__send(to, block, sizeof block);
    }
    *(int *)user = 1; /* in the child's memory alone */
    return DW_OK;
}

static void test_bytes_come_back(void **state)
{
    (void)state;
    struct dw_buf all = {0};
    int touched = 0;
    assert_int_equal(dw_apart__run(send_much, &touched, &all, NULL), DW_OK);
    assert_int_equal(all.n, MUCH);
    for (size_t i = 0; i < all.n; i++)
        if (all.text[i] != 'a' + (int)(i / 1000 % 26))
            fail_msg("byte %zu is %c", i, all.text[i]);
    assert_int_equal(touched, 0);
    dw_buf__free(&all);
}

static dw_err send_nothing(struct dw_apart *to, void *user, struct dw_error *error)
{
    (void)to;
    (void)user;
    (void)error;
    return DW_OK;
}

static dw_err refuse(struct dw_apart *to, void *user, struct dw_error *error)
{
    dw_apart__send(to, "half", 4);
    return dw_error__at(error, DW_ERR_RANGE, "job.yaml", 3, 7, "%s is too much", (char *)user);
}

static dw_err give_up(struct dw_apart *to, void *user, struct dw_error *error)
{
    (void)user;
    dw_error__set(error, DW_ERR_IO, "given up");
    dw_apart__give_up(to, DW_ERR_IO, error);
}

static void test_errors_come_back(void **state)
{
    (void)state;
    struct dw_buf all = {0};
    struct dw_error error = {0};
    char what[] = "900 dpi";
    assert_int_equal(dw_apart__run(send_nothing, NULL, &all, &error), DW_OK);
    assert_int_equal(all.n, 0);
    assert_int_equal(error.code, DW_OK);
    assert_int_equal(dw_apart__run(refuse, what, &all, &error), DW_ERR_RANGE);
    assert_string_equal(error.text, "900 dpi is too much");
    assert_string_equal(error.file, "job.yaml");
    assert_int_equal(error.line, 3);
    assert_int_equal(error.column, 7);
    dw_buf__free(&all);
    assert_int_equal(dw_apart__run(give_up, NULL, &all, &error), DW_ERR_IO);
    assert_string_equal(error.text, "900 dpi is too much"); /* the first stays */
    dw_buf__free(&all);
    assert_int_equal(dw_apart__run(give_up, NULL, &all, NULL), DW_ERR_IO);
    dw_buf__free(&all);
}

/* As a library does it that has no memory: by a signal, or by an end that looks well. */
static dw_err die(struct dw_apart *to, void *user, struct dw_error *error)
{
    (void)error;
    const int *number = user;
    dw_apart__send(to, "almost all of it", 16);
    fprintf(stderr, "a library's last words");
    if (*number > 0)
        raise(*number);
    _exit(0);
}

static void test_deaths(void **state)
{
    (void)state;
    int numbers[] = {SIGABRT, SIGKILL, SIGTRAP, SIGALRM, 0};
    for (size_t i = 0; i < DW_COUNT(numbers); i++) {
        struct dw_buf all = {0};
        struct dw_error error = {0};
        if (dw_apart__run(die, &numbers[i], &all, &error) != DW_ERR_NOMEM)
            fail_msg("signal %d: %s", numbers[i], error.text);
        assert_string_equal(error.text, "out of memory");
        dw_buf__free(&all);
    }
}

static void nothing(int number)
{
    (void)number;
}

/* A caller that ignores its children, blocks alarms or catches them, and has a child of its own. */
static void test_callers_signals(void **state)
{
    (void)state;
    struct dw_buf all = {0};
    struct sigaction ignored = {.sa_handler = SIG_IGN}, caught = {.sa_handler = nothing}, before;
    sigset_t alarms;
    int number = SIGALRM, status = 0;
    pid_t own = fork();
    if (own == 0)
        _exit(7);
    assert_int_equal(dw_apart__run(send_nothing, NULL, &all, NULL), DW_OK);
    assert_int_equal(waitpid(own, &status, 0), own);
    assert_int_equal(WEXITSTATUS(status), 7);
    sigaction(SIGCHLD, &ignored, &before);
    assert_int_equal(dw_apart__run(send_much, &status, &all, NULL), DW_OK);
    assert_int_equal(all.n, MUCH);
    sigaction(SIGCHLD, &before, NULL);
    dw_buf__free(&all);
    sigaction(SIGALRM, &caught, NULL);
    sigemptyset(&alarms);
    sigaddset(&alarms, SIGALRM);
    sigprocmask(SIG_BLOCK, &alarms, NULL);
    assert_int_equal(dw_apart__run(die, &number, &all, NULL), DW_ERR_NOMEM);
    sigprocmask(SIG_UNBLOCK, &alarms, NULL);
    dw_buf__free(&all);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bytes_come_back),
        cmocka_unit_test(test_errors_come_back),
        cmocka_unit_test(test_deaths),
        cmocka_unit_test(test_callers_signals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
