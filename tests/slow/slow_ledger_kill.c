/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 200 processes killed with SIGKILL while they add, hold, cut and undo on one shelf. After each
 * the file opens, everything checks, and no step that was reported done is gone: each process
 * tells through a pipe what it has finished. */
#include "tests/support/shop.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#define KILLS 200

/* Works until it is killed; writes the shelf's own count of steps after each one. */
static void work(const char *path, uint64_t seed, int pipe_end)
{
    struct shop shop = {.seed = seed};
    struct dw_error error = {0};
    if (dw_ledger_open(path, DW_LEDGER_CREATE, 5000, &shop.ledger, &error) ||
        shop_prepare(&shop, &error))
        _exit(3);
    for (;;) {
        error = (struct dw_error){0};
        dw_err err = shop_step(&shop, &error);
        if (err != DW_OK && err != DW_ERR_STATE && err != DW_ERR_HELD && err != DW_ERR_NOTFOUND)
            _exit(4);
        struct dw_history *history = NULL;
        if (dw_ledger_history(shop.ledger, NULL, 1, &history, &error))
            _exit(5);
        int64_t step = history->n ? history->rows[0].step : 0;
        dw_history_free(history);
        if (write(pipe_end, &step, sizeof step) != sizeof step)
            _exit(6);
    }
}

/* Starts one, lets it work for so many microseconds, kills it; the last step that it told. */
static int64_t run_and_kill(const char *path, uint64_t seed, long us)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(ends[0]);
        work(path, seed, ends[1]);
    }
    close(ends[1]);
    struct timespec wait = {.tv_sec = us / 1000000, .tv_nsec = us % 1000000 * 1000};
    nanosleep(&wait, NULL);
    assert_int_equal(kill(child, SIGKILL), 0);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    if (!WIFSIGNALED(status))
        print_message("ended by itself: %d\n", WEXITSTATUS(status));
    assert_true(WIFSIGNALED(status));
    int64_t step = 0, last = 0;
    while (read(ends[0], &step, sizeof step) == sizeof step)
        last = step;
    close(ends[0]);
    return last;
}

static void check(const char *path, int64_t told)
{
    struct dw_error error = {0};
    struct dw_ledger *ledger = NULL;
    struct dw_report report = {0};
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &ledger, &error), DW_OK);
    dw_err err = dw_ledger_check(ledger, &report, &error);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    struct dw_history *history = NULL;
    assert_int_equal(dw_ledger_history(ledger, NULL, 1, &history, &error), DW_OK);
    assert_true((history->n ? history->rows[0].step : 0) >= told);
    dw_history_free(history);
    dw_ledger_close(ledger);
}

static void test_killed_at_random_points(void **state)
{
    (void)state;
    char folder[] = "/tmp/dw_kill_XXXXXX", path[64], command[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    struct shop dice = {.seed = 4711};
    int64_t told = 0;
    for (int i = 0; i < KILLS; i++) {
        int64_t last = run_and_kill(path, 1 + shop_draw(&dice, 1u << 30),
                                    (long)shop_draw(&dice, i < 50 ? 20000 : 150000));
        told = last > told ? last : told;
        check(path, told);
    }
    print_message("%d kills, %lld steps, all in order\n", KILLS, (long long)told);
    assert_true(told > KILLS);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_killed_at_random_points)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
