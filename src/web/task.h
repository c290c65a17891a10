/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Long work off the threads that answer: a bounded queue, a few workers, progress, a stop. Where
 * there are no threads, what waits is run by the caller, or elsewhere, which then says what came of
 * it. */
#ifndef DW_WEB_TASK_H
#define DW_WEB_TASK_H

#include "web/news.h"
#include "web/web.h"

#include <dropwise/work.h>

#include <pthread.h>
#include <stdatomic.h>

#define DW_TASK_WORKERS 2
#define DW_TASK_WAITING 8  /* more are refused */
#define DW_TASK_SLOTS   64 /* tasks that are remembered, the finished ones with them */

enum dw_task_state { DW_TASK_FREE, DW_TASK_WAITS, DW_TASK_RUNS, DW_TASK_DONE, DW_TASK_FAILED };

/* What is to be done. `run` is called on a worker with hooks that carry the stop and the progress;
 * its *result (JSON, may stay NULL) is then the task's. `shelf` is the path of the shelf file,
 * which it opens by itself. */
struct dw_task_work {
    dw_err (*run)(void *work, const char *shelf, const struct dw_hooks *hooks, char **result,
                  struct dw_error *error);
    void (*free)(void *work);
    void *work;
    const char *about; /* key of the job that it plans, NULL: nothing in particular; copied */
};

struct dw_task {
    int64_t id;
    enum dw_task_state state;
    struct dw_task_work work;
    char about[DW_NEWS_KEY];
    atomic_bool stop;
    int64_t began_ms, ended_ms;
    bool known; /* progress has come */
    struct dw_progress progress;
    char *result;
    struct dw_error error;
    struct dw_web_tasks *tasks;
};

struct dw_web_tasks {
    const struct dw_web_hooks *hooks;
    const char *shelf;
    struct dw_web_news *told; /* hears of the ends of tasks that are about a job */
    pthread_mutex_t lock;
    pthread_cond_t news;
    bool ending;
    int64_t last_id;
    size_t n_workers;
    pthread_t workers[DW_TASK_WORKERS];
    struct dw_task slots[DW_TASK_SLOTS];
};

dw_err dw_tasks__init(struct dw_web_tasks *tasks, const struct dw_web_hooks *hooks,
                      const char *shelf, struct dw_web_news *told, struct dw_error *error);
/* Stops what runs, drops what waits, waits for the workers. */
void dw_tasks__free(struct dw_web_tasks *tasks);

/* Takes the work over, also when it fails. DW_ERR_BUSY: the queue is full. */
dw_err dw_tasks__add(struct dw_web_tasks *tasks, const struct dw_task_work *work, int64_t *id,
                     struct dw_error *error);
/* DW_ERR_NOTFOUND: never heard of, or forgotten. What was found so far is the result. */
dw_err dw_tasks__stop(struct dw_web_tasks *tasks, int64_t id, struct dw_error *error);

/* The tasks about a job that wait or run, the oldest first: at most `most` ids. Their number. */
size_t dw_tasks__about(struct dw_web_tasks *tasks, const char *about, int64_t *ids, size_t most);

struct dw_task_view {
    enum dw_task_state state;
    bool stopping;
    int64_t elapsed_ms;
    bool known;
    struct dw_progress progress;
    char *result; /* yours to free */
    struct dw_error error;
};
dw_err dw_tasks__look(struct dw_web_tasks *tasks, int64_t id, struct dw_task_view *out,
                      struct dw_error *error);

/* --- without threads -------------------------------------------------------------------------- */

/* Runs the task that waited longest, here and now. false: none waits. */
bool dw_tasks__run_next(struct dw_web_tasks *tasks);

/* Of a task that runs elsewhere: it has begun (its own work is dropped), has come so far, has
 * ended. `result` may be NULL; `error` tells why it failed, its code DW_OK that it did not. An id
 * that is not known is passed over. */
void dw_tasks__begun(struct dw_web_tasks *tasks, int64_t id);
void dw_tasks__came(struct dw_web_tasks *tasks, int64_t id, const struct dw_progress *progress);
void dw_tasks__ended(struct dw_web_tasks *tasks, int64_t id, const char *result,
                     const struct dw_error *error);

#endif
