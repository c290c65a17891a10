/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What changed, for whoever listens: told once to all, at the moment it is there to be read. */
#ifndef DW_WEB_NEWS_H
#define DW_WEB_NEWS_H

#include "base/base.h"

#include <pthread.h>

#define DW_NEWS_KEPT 128 /* who is further behind is told that anything may have changed */
#define DW_NEWS_KEY  65
#define DW_NEWS_LINE 160 /* bytes of one as it is sent, its 0 counted */

/* X(name, word): what changed. Of a job its key and revision are told, of plans the job's key. */
#define DW_NEWS_LIST(X)                                                                            \
    X(DW_NEWS_ALL, "all")                                                                          \
    X(DW_NEWS_JOB, "job")                                                                          \
    X(DW_NEWS_SETTINGS, "settings")                                                                \
    X(DW_NEWS_PLANS, "plans")                                                                      \
    X(DW_NEWS_SHELF, "shelf")

enum dw_news_kind {
#define DW_NEWS_ENUM(name, word) name,
    DW_NEWS_LIST(DW_NEWS_ENUM)
#undef DW_NEWS_ENUM
};

struct dw_news_item {
    enum dw_news_kind kind;
    char key[DW_NEWS_KEY];
    int64_t revision;
};

struct dw_web_news {
    pthread_mutex_t lock;
    bool ready;
    int64_t n;                               /* told so far; the last DW_NEWS_KEPT are kept */
    struct dw_news_item items[DW_NEWS_KEPT]; /* number i at i % DW_NEWS_KEPT */
    void (*wake)(void *user);                /* called after each, outside the lock; may be NULL */
    void *user;
};

dw_err dw_news__init(struct dw_web_news *news, struct dw_error *error);
void dw_news__free(struct dw_web_news *news);

/* key NULL: of none in particular. Called from any thread. */
void dw_news__tell(struct dw_web_news *news, enum dw_news_kind kind, const char *key,
                   int64_t revision);

/* How many were told: where somebody who comes now begins. */
int64_t dw_news__now(struct dw_web_news *news);

/* The next one after *seen as an event of text/event-stream (HTML Living Standard, "Server-sent
 * events"), terminated; *seen goes on. The number of bytes, 0: there is none. */
size_t dw_news__next(struct dw_web_news *news, int64_t *seen, char out[DW_NEWS_LINE]);

#endif
