/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The queue of long work: bounded, stoppable, ended in good order. */
#include "web/task.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static atomic_int n_freed;
static atomic_int n_running;
static atomic_int most_running;

static int64_t clock_ms(void *user)
{
    (void)user;
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static const struct dw_web_hooks hooks = {.now_ms = clock_ms};

static void pause_ms(long ms)
{
    nanosleep(&(struct timespec){.tv_nsec = ms * 1000000L}, NULL);
}

/* Works until it is stopped, as a solver does. */
static dw_err until_stopped(void *work, const char *shelf, const struct dw_hooks *at, char **result,
                            struct dw_error *error)
{
    (void)shelf;
    (void)error;
    int running = atomic_fetch_add(&n_running, 1) + 1;
    if (running > atomic_load(&most_running))
        atomic_store(&most_running, running);
    struct dw_progress progress = {.n_groups = 3, .value = 125000};
    at->progress(at->user, &progress);
    while (!at->stop(at->user))
        pause_ms(1);
    struct dw_buf buf = {0};
    dw_buf__format(&buf, "%d", *(int *)work);
    *result = dw_buf__take(&buf);
    atomic_fetch_sub(&n_running, 1);
    return DW_OK;
}

static dw_err at_once(void *work, const char *shelf, const struct dw_hooks *at, char **result,
                      struct dw_error *error)
{
    (void)work;
    (void)shelf;
    (void)at;
    (void)result;
    return dw_error__set(error, DW_ERR_STATE, "as it should");
}

static void free_work(void *work)
{
    free(work);
    atomic_fetch_add(&n_freed, 1);
}

static dw_err add(struct dw_web_tasks *tasks, int number, int64_t *id)
{
    int *work = malloc(sizeof *work);
    assert_non_null(work);
    *work = number;
    struct dw_task_work new_work = {.run = until_stopped, .free = free_work, .work = work};
    return dw_tasks__add(tasks, &new_work, id, NULL);
}

static struct dw_task_view wait_for(struct dw_web_tasks *tasks, int64_t id,
                                    enum dw_task_state state)
{
    struct dw_task_view view = {0};
    for (int i = 0; i < 5000; i++) {
        assert_int_equal(dw_tasks__look(tasks, id, &view, NULL), DW_OK);
        if (view.state == state)
            return view;
        free(view.result);
        pause_ms(1);
    }
    fail_msg("task %lld stays in state %d", (long long)id, (int)view.state);
    return view;
}

static struct dw_web_tasks *open_tasks(void)
{
    struct dw_web_tasks *tasks = calloc(1, sizeof *tasks);
    assert_non_null(tasks);
    assert_int_equal(dw_tasks__init(tasks, &hooks, "nowhere", NULL, NULL), DW_OK);
    atomic_store(&n_freed, 0);
    atomic_store(&most_running, 0);
    return tasks;
}

static void test_bounded(void **state)
{
    (void)state;
    struct dw_web_tasks *tasks = open_tasks();
    const int most = DW_TASK_WORKERS + DW_TASK_WAITING;
    int64_t ids[DW_TASK_WORKERS + DW_TASK_WAITING];
    for (int i = 0; i < DW_TASK_WORKERS; i++) {
        assert_int_equal(add(tasks, i, &ids[i]), DW_OK);
        struct dw_task_view view = wait_for(tasks, ids[i], DW_TASK_RUNS);
        free(view.result);
    }
    for (int i = DW_TASK_WORKERS; i < most; i++)
        assert_int_equal(add(tasks, i, &ids[i]), DW_OK);
    int64_t id = 0;
    assert_int_equal(add(tasks, 99, &id), DW_ERR_BUSY);
    assert_int_equal(atomic_load(&n_freed), 1); /* what was refused */
    assert_int_equal(dw_tasks__stop(tasks, ids[0], NULL), DW_OK);
    struct dw_task_view view = wait_for(tasks, ids[0], DW_TASK_DONE);
    assert_string_equal(view.result, "0");
    assert_true(view.known);
    assert_int_equal(view.progress.value, 125000);
    free(view.result);
    view = wait_for(tasks, ids[DW_TASK_WORKERS], DW_TASK_RUNS); /* the first that waited */
    free(view.result);
    assert_int_equal(add(tasks, 100, &id), DW_OK);
    dw_tasks__free(tasks); /* stops what runs, drops what waits */
    assert_int_equal(atomic_load(&n_running), 0);
    assert_int_equal(atomic_load(&most_running), DW_TASK_WORKERS);
    assert_int_equal(atomic_load(&n_freed), most + 2);
    free(tasks);
}

static void test_stop_while_waiting(void **state)
{
    (void)state;
    struct dw_web_tasks *tasks = open_tasks();
    int64_t ids[DW_TASK_WORKERS + 1];
    for (int i = 0; i <= DW_TASK_WORKERS; i++)
        assert_int_equal(add(tasks, i, &ids[i]), DW_OK);
    for (int i = DW_TASK_WORKERS; i >= 0; i--)
        assert_int_equal(dw_tasks__stop(tasks, ids[i], NULL), DW_OK);
    for (int i = 0; i <= DW_TASK_WORKERS; i++) {
        struct dw_task_view view = wait_for(tasks, ids[i], DW_TASK_DONE);
        assert_true(view.stopping);
        free(view.result);
    }
    dw_tasks__free(tasks);
    free(tasks);
}

/* Finished tasks are forgotten, the oldest first; one that runs never is. */
static void test_forgotten(void **state)
{
    (void)state;
    struct dw_web_tasks *tasks = open_tasks();
    struct dw_task_work quick = {.run = at_once};
    struct dw_task_view view = {0};
    int64_t first = 0, id = 0, running = 0;
    assert_int_equal(add(tasks, 1, &running), DW_OK);
    assert_int_equal(dw_tasks__add(tasks, &quick, &first, NULL), DW_OK);
    view = wait_for(tasks, first, DW_TASK_FAILED);
    assert_string_equal(view.error.text, "as it should");
    assert_string_equal(view.result, "null");
    free(view.result);
    for (int i = 0; i < DW_TASK_SLOTS; i++) {
        assert_int_equal(dw_tasks__add(tasks, &quick, &id, NULL), DW_OK);
        view = wait_for(tasks, id, DW_TASK_FAILED);
        free(view.result);
    }
    assert_int_equal(dw_tasks__look(tasks, first, &view, NULL), DW_ERR_NOTFOUND);
    assert_int_equal(dw_tasks__stop(tasks, first, NULL), DW_ERR_NOTFOUND);
    assert_int_equal(dw_tasks__look(tasks, 0, &view, NULL), DW_ERR_NOTFOUND);
    view = wait_for(tasks, running, DW_TASK_RUNS);
    free(view.result);
    dw_tasks__free(tasks);
    free(tasks);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bounded),
        cmocka_unit_test(test_stop_while_waiting),
        cmocka_unit_test(test_forgotten),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
