/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 200 processes killed with SIGKILL while they add, hold, cut and undo on one shelf, and 200 while
 * they copy it and put copies back. After each the file opens, everything checks, and no step that
 * was reported done is gone: each process tells through a pipe what it has finished. What lies in
 * the folder is the shelf and whole copies, nothing else. */
#include "tests/support/shop.h"

#include <dirent.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
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

/* Copies the shelf, books a little, puts the copy back, until it is killed. */
static void go_back(const char *path, uint64_t seed, int pipe_end)
{
    const struct dw_act act = {.when = "2026-03-01T08:00:00Z"};
    char copy[80];
    struct shop shop = {.seed = seed};
    struct dw_error error = {0};
    snprintf(copy, sizeof copy, "%s.copy", path);
    if (dw_ledger_open(path, DW_LEDGER_CREATE, 5000, &shop.ledger, &error) ||
        shop_prepare(&shop, &error))
        _exit(3);
    for (;;) {
        struct dw_restore how = {
            .path = path, .copy = copy, .act = act, .busy_ms = 5000, .lose_later = true};
        struct dw_restored done = {0};
        struct dw_report report = {0};
        error = (struct dw_error){0};
        unlink(copy);
        if (dw_ledger_backup(shop.ledger, copy, &error))
            _exit(4);
        for (int i = 0; i < 4; i++)
            (void)shop_step(&shop, NULL);
        if (dw_ledger_restore(&how, &done, &report, &error))
            _exit(5);
        unlink(done.kept);
        if (write(pipe_end, &done.step, sizeof done.step) != sizeof done.step)
            _exit(6);
        dw_restored_free(&done);
    }
}

/* Starts one, lets it work for so many microseconds, kills it; the last step that it told. */
static int64_t run_and_kill(const char *path, void (*job)(const char *, uint64_t, int),
                            uint64_t seed, long us)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(ends[0]);
        job(path, seed, ends[1]);
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
    if (dw_ledger_open(path, DW_LEDGER_CREATE, 0, &ledger, &error))
        fail_msg("%s: %s", path, error.text);
    dw_err err = dw_ledger_check(ledger, &report, &error);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    int64_t step = 0, undoable = 0;
    assert_int_equal(dw_ledger_last(ledger, &step, &undoable, &error), DW_OK);
    assert_true(step >= told);
    dw_ledger_close(ledger);
}

/* Each file is the shelf, what SQLite keeps beside it, or a copy that is whole; copies go. */
static int check_folder(const char *folder)
{
    int n = 0;
    DIR *files = opendir(folder);
    assert_non_null(files);
    for (struct dirent *entry = readdir(files); entry; entry = readdir(files)) {
        char path[400];
        const char *name = entry->d_name, *tail = name + strlen("shelf.db");
        snprintf(path, sizeof path, "%s/%s", folder, name);
        if (name[0] == '.' || strcmp(name, "shelf.db") == 0 || strcmp(name, "shelf.db-wal") == 0 ||
            strcmp(name, "shelf.db-shm") == 0)
            continue;
        if (strcmp(tail, ".copy") != 0 && strncmp(tail, ".before-", 8) != 0)
            fail_msg("left behind: %s", name);
        check(path, 0);
        assert_int_equal(unlink(path), 0);
        n++;
    }
    closedir(files);
    return n;
}

static void test_killed_while_copying(void **state)
{
    (void)state;
    char folder[] = "/tmp/dw_kill_XXXXXX", path[64], command[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    struct shop dice = {.seed = 815};
    int64_t told = 0;
    int copies = 0;
    for (int i = 0; i < KILLS; i++) {
        int64_t last = run_and_kill(path, go_back, 1 + shop_draw(&dice, 1u << 30),
                                    (long)shop_draw(&dice, 100000));
        told = last > told ? last : told;
        check(path, told);
        copies += check_folder(folder);
    }
    print_message("%d kills, up to step %lld, %d copies, all whole\n", KILLS, (long long)told,
                  copies);
    assert_true(told > KILLS / 4 && copies > KILLS / 8); /* it was killed at work */
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
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
        int64_t last = run_and_kill(path, work, 1 + shop_draw(&dice, 1u << 30),
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
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_killed_at_random_points),
                                       cmocka_unit_test(test_killed_while_copying)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
