/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The queue of long work and its workers. */
#include "web/task.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int64_t clock_of(const struct dw_web_tasks *tasks)
{
    return tasks->hooks->now_ms(tasks->hooks->user);
}

/* --- hooks of a running task ------------------------------------------------------------------ */

static int64_t hook_now(void *user)
{
    return clock_of(((struct dw_task *)user)->tasks);
}

static bool hook_stop(void *user)
{
    return atomic_load(&((struct dw_task *)user)->stop);
}

static void hook_progress(void *user, const struct dw_progress *progress)
{
    struct dw_task *task = user;
    pthread_mutex_lock(&task->tasks->lock);
    task->progress = *progress;
    task->known = true;
    pthread_mutex_unlock(&task->tasks->lock);
    const struct dw_web_hooks *hooks = task->tasks->hooks;
    if (hooks->progress)
        hooks->progress(hooks->user, progress);
}

/* --- slots, under the lock -------------------------------------------------------------------- */

static void drop_work(struct dw_task *task)
{
    if (task->work.free)
        task->work.free(task->work.work);
    task->work = (struct dw_task_work){0};
}

static void clear(struct dw_task *task)
{
    drop_work(task);
    free(task->result);
    task->result = NULL;
    task->state = DW_TASK_FREE;
    task->known = false;
    task->error = (struct dw_error){0};
}

static struct dw_task *find(struct dw_web_tasks *tasks, int64_t id)
{
    for (size_t i = 0; i < DW_TASK_SLOTS; i++)
        if (tasks->slots[i].state != DW_TASK_FREE && tasks->slots[i].id == id)
            return &tasks->slots[i];
    return NULL;
}

static bool is_over(const struct dw_task *task)
{
    return task->state == DW_TASK_DONE || task->state == DW_TASK_FAILED;
}

/* A free slot, else the one that ended first; NULL: all are at work or waiting. */
static struct dw_task *find_room(struct dw_web_tasks *tasks)
{
    struct dw_task *room = NULL;
    size_t n_waiting = 0;
    for (size_t i = 0; i < DW_TASK_SLOTS; i++) {
        struct dw_task *task = &tasks->slots[i];
        n_waiting += task->state == DW_TASK_WAITS;
        bool better = task->state == DW_TASK_FREE
                          ? !room || room->state != DW_TASK_FREE
                          : is_over(task) && (!room || (is_over(room) && task->id < room->id));
        if (better)
            room = task;
    }
    return n_waiting < DW_TASK_WAITING ? room : NULL;
}

static struct dw_task *next_waiting(struct dw_web_tasks *tasks)
{
    struct dw_task *next = NULL;
    for (size_t i = 0; i < DW_TASK_SLOTS; i++) {
        struct dw_task *task = &tasks->slots[i];
        if (task->state == DW_TASK_WAITS && (!next || task->id < next->id))
            next = task;
    }
    return next;
}

/* --- workers ---------------------------------------------------------------------------------- */

/* Runs one task; the lock is held before and after, not between. */
static void run_task(struct dw_web_tasks *tasks, struct dw_task *task)
{
    struct dw_hooks hooks = {hook_now, hook_stop, hook_progress, task};
    struct dw_error error = {0};
    char *result = NULL;
    task->state = DW_TASK_RUNS;
    task->began_ms = clock_of(tasks);
    pthread_mutex_unlock(&tasks->lock);
    dw_err err = task->work.run(task->work.work, tasks->shelf, &hooks, &result, &error);
    pthread_mutex_lock(&tasks->lock);
    task->ended_ms = clock_of(tasks);
    task->result = result;
    task->error = error;
    task->error.code = err;
    task->state = err ? DW_TASK_FAILED : DW_TASK_DONE;
    drop_work(task);
    if (task->about[0])
        dw_news__tell(tasks->told, DW_NEWS_PLANS, task->about, 0);
}

static void *work(void *user)
{
    struct dw_web_tasks *tasks = user;
    pthread_mutex_lock(&tasks->lock);
    while (!tasks->ending) {
        struct dw_task *task = next_waiting(tasks);
        if (task)
            run_task(tasks, task);
        else
            pthread_cond_wait(&tasks->news, &tasks->lock);
    }
    pthread_mutex_unlock(&tasks->lock);
    return NULL;
}

/* --- face ------------------------------------------------------------------------------------- */

dw_err dw_tasks__init(struct dw_web_tasks *tasks, const struct dw_web_hooks *hooks,
                      const char *shelf, struct dw_web_news *told, struct dw_error *error)
{
    tasks->hooks = NULL;
    tasks->told = told;
    if (pthread_mutex_init(&tasks->lock, NULL) != 0)
        return dw_error__nomem(error);
    if (pthread_cond_init(&tasks->news, NULL) != 0) {
        pthread_mutex_destroy(&tasks->lock);
        return dw_error__nomem(error);
    }
    tasks->hooks = hooks;
    tasks->shelf = shelf;
    for (size_t i = 0; i < DW_TASK_SLOTS; i++)
        tasks->slots[i].tasks = tasks;
    while (!hooks->progress && tasks->n_workers < DW_TASK_WORKERS) {
        if (pthread_create(&tasks->workers[tasks->n_workers], NULL, work, tasks) != 0) {
            dw_tasks__free(tasks);
            return dw_error__set(error, DW_ERR_BUSY, "no more threads can be started");
        }
        tasks->n_workers++;
    }
    return DW_OK;
}

void dw_tasks__free(struct dw_web_tasks *tasks)
{
    if (!tasks->hooks)
        return;
    pthread_mutex_lock(&tasks->lock);
    tasks->ending = true;
    for (size_t i = 0; i < DW_TASK_SLOTS; i++)
        atomic_store(&tasks->slots[i].stop, true);
    pthread_cond_broadcast(&tasks->news);
    pthread_mutex_unlock(&tasks->lock);
    for (size_t i = 0; i < tasks->n_workers; i++)
        pthread_join(tasks->workers[i], NULL);
    for (size_t i = 0; i < DW_TASK_SLOTS; i++)
        clear(&tasks->slots[i]);
    pthread_cond_destroy(&tasks->news);
    pthread_mutex_destroy(&tasks->lock);
    tasks->hooks = NULL;
}

dw_err dw_tasks__add(struct dw_web_tasks *tasks, const struct dw_task_work *new_work, int64_t *id,
                     struct dw_error *error)
{
    dw_err err = DW_OK;
    pthread_mutex_lock(&tasks->lock);
    struct dw_task *task = find_room(tasks);
    if (task) {
        clear(task);
        atomic_store(&task->stop, false);
        task->id = *id = ++tasks->last_id;
        task->work = *new_work;
        snprintf(task->about, sizeof task->about, "%s", new_work->about ? new_work->about : "");
        task->state = DW_TASK_WAITS;
        pthread_cond_signal(&tasks->news);
    } else {
        err = dw_error__set(error, DW_ERR_BUSY,
                            "too many plans are being made at once: try again in a moment");
    }
    pthread_mutex_unlock(&tasks->lock);
    if (err && new_work->free)
        new_work->free(new_work->work);
    return err;
}

static dw_err unknown(int64_t id, struct dw_error *error)
{
    return dw_error__set(error, DW_ERR_NOTFOUND, "task %lld is not known (any more)",
                         (long long)id);
}

dw_err dw_tasks__stop(struct dw_web_tasks *tasks, int64_t id, struct dw_error *error)
{
    pthread_mutex_lock(&tasks->lock);
    struct dw_task *task = find(tasks, id);
    if (task)
        atomic_store(&task->stop, true);
    pthread_mutex_unlock(&tasks->lock);
    return task ? DW_OK : unknown(id, error);
}

size_t dw_tasks__about(struct dw_web_tasks *tasks, const char *about, int64_t *ids, size_t most)
{
    size_t n = 0;
    pthread_mutex_lock(&tasks->lock);
    for (size_t i = 0; i < DW_TASK_SLOTS && n < most; i++) {
        const struct dw_task *task = &tasks->slots[i];
        bool open = task->state == DW_TASK_WAITS || task->state == DW_TASK_RUNS;
        if (!open || strcmp(task->about, about) != 0)
            continue;
        size_t at = n++;
        for (; at > 0 && ids[at - 1] > task->id; at--)
            ids[at] = ids[at - 1];
        ids[at] = task->id;
    }
    pthread_mutex_unlock(&tasks->lock);
    return n;
}

dw_err dw_tasks__look(struct dw_web_tasks *tasks, int64_t id, struct dw_task_view *out,
                      struct dw_error *error)
{
    dw_err err = DW_OK;
    *out = (struct dw_task_view){0};
    pthread_mutex_lock(&tasks->lock);
    const struct dw_task *task = find(tasks, id);
    if (task) {
        struct dw_buf copy = {0};
        dw_buf__put(&copy, task->result ? task->result : "null");
        *out = (struct dw_task_view){
            .state = task->state,
            .stopping = atomic_load(&task->stop),
            .known = task->known,
            .progress = task->progress,
            .error = task->error,
            .result = dw_buf__take(&copy),
        };
        if (task->state == DW_TASK_RUNS)
            out->elapsed_ms = clock_of(tasks) - task->began_ms;
        else if (is_over(task))
            out->elapsed_ms = task->ended_ms - task->began_ms;
        err = out->result ? DW_OK : dw_error__nomem(error);
    } else {
        err = unknown(id, error);
    }
    pthread_mutex_unlock(&tasks->lock);
    return err;
}

/* --- without threads -------------------------------------------------------------------------- */

bool dw_tasks__run_next(struct dw_web_tasks *tasks)
{
    pthread_mutex_lock(&tasks->lock);
    struct dw_task *task = next_waiting(tasks);
    if (task)
        run_task(tasks, task);
    pthread_mutex_unlock(&tasks->lock);
    return task != NULL;
}

void dw_tasks__begun(struct dw_web_tasks *tasks, int64_t id)
{
    struct dw_task *task = find(tasks, id);
    if (!task || task->state != DW_TASK_WAITS)
        return;
    drop_work(task);
    task->state = DW_TASK_RUNS;
    task->began_ms = clock_of(tasks);
}

void dw_tasks__came(struct dw_web_tasks *tasks, int64_t id, const struct dw_progress *progress)
{
    struct dw_task *task = find(tasks, id);
    if (!task || task->state != DW_TASK_RUNS)
        return;
    task->progress = *progress;
    task->known = true;
}

void dw_tasks__ended(struct dw_web_tasks *tasks, int64_t id, const char *result,
                     const struct dw_error *error)
{
    struct dw_task *task = find(tasks, id);
    struct dw_buf copy = {0};
    if (!task || task->state != DW_TASK_RUNS)
        return;
    if (result)
        dw_buf__put(&copy, result);
    task->result = result ? dw_buf__take(&copy) : NULL;
    task->error = *error;
    if (result && !task->result)
        dw_error__nomem(&task->error);
    task->ended_ms = clock_of(tasks);
    task->state = task->error.code ? DW_TASK_FAILED : DW_TASK_DONE;
}
