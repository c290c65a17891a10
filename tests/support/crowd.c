/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/support/crowd.h"
#include "tests/support/shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

/* Exit status of a process that only ever found the shelf busy: on a loaded machine no fault. */
#define NOTHING_DONE 5

/* The promise: each piece that this process holds for its plan is held by that plan alone. The
 * table can't hold two plans for a piece, so what is asked is that the bars of an open plan are
 * held by it or cut: dw_ledger_check does so for all plans. */
static void work(const char *path, uint64_t seed, int seconds)
{
    struct shop shop = {.seed = seed};
    struct dw_error error = {0};
    int64_t done = 0;
    time_t end = time(NULL) + seconds;
    if (dw_ledger_open(path, DW_LEDGER_CREATE, 10000, &shop.ledger, &error) ||
        shop_prepare(&shop, &error)) {
        fprintf(stderr, "%s\n", error.text);
        _exit(3);
    }
    while (time(NULL) < end) {
        error = (struct dw_error){0};
        dw_err err = shop_step(&shop, &error);
        bool clear = (err == DW_ERR_BUSY && strstr(error.text, "busy")) ||
                     (err == DW_ERR_HELD && strstr(error.text, "held by plan")) ||
                     (err == DW_ERR_STATE && !strstr(error.text, "refused by the ledger")) ||
                     err == DW_ERR_NOTFOUND || err == DW_OK ||
                     (err == DW_ERR_HELD && strstr(error.text, "holds it")) ||
                     (err == DW_ERR_INPUT && strstr(error.text, "shorter than"));
        if (!clear) {
            fprintf(stderr, "%s: %s: %s\n", shop.last, dw_err_name(err), error.text);
            _exit(4);
        }
        done += err == DW_OK;
    }
    dw_ledger_close(shop.ledger);
    _exit(done > 0 ? 0 : NOTHING_DONE);
}

static void check(const char *path)
{
    struct dw_error error = {0};
    struct dw_ledger *ledger = NULL;
    struct dw_report report = {0};
    struct dw_history *history = NULL;
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_READ, 0, &ledger, &error), DW_OK);
    dw_err err = dw_ledger_check(ledger, &report, &error);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    assert_int_equal(dw_ledger_history(ledger, NULL, 1, &history, &error), DW_OK);
    print_message("%lld steps\n", (long long)history->rows[0].step);
    dw_history_free(history);
    dw_ledger_close(ledger);
}

void crowd_run(int n_processes, int seconds)
{
    char folder[] = "/tmp/dw_crowd_XXXXXX", path[64], command[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    for (int i = 0; i < n_processes; i++) {
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0)
            work(path, 1000003u * (unsigned)(i + 1), seconds);
    }
    int bad = 0, idle = 0, status = 0;
    for (int i = 0; i < n_processes; i++) {
        assert_true(wait(&status) > 0);
        if (WIFEXITED(status) && WEXITSTATUS(status) == NOTHING_DONE)
            idle++;
        else
            bad += status != 0;
    }
    assert_int_equal(bad, 0);
    assert_true(idle < n_processes);
    check(path);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
}
