/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What changed, kept for a while and written as events. */
#include "web/news.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static const char *const words[] = {
#define NEWS_WORD(name, word) [name] = word,
    DW_NEWS_LIST(NEWS_WORD)
#undef NEWS_WORD
};

dw_err dw_news__init(struct dw_web_news *news, struct dw_error *error)
{
    *news = (struct dw_web_news){0};
    if (pthread_mutex_init(&news->lock, NULL) != 0)
        return dw_error__nomem(error);
    news->ready = true;
    return DW_OK;
}

void dw_news__free(struct dw_web_news *news)
{
    if (news->ready)
        pthread_mutex_destroy(&news->lock);
    news->ready = false;
}

void dw_news__tell(struct dw_web_news *news, enum dw_news_kind kind, const char *key,
                   int64_t revision)
{
    pthread_mutex_lock(&news->lock);
    struct dw_news_item *item = &news->items[news->n++ % DW_NEWS_KEPT];
    *item = (struct dw_news_item){.kind = kind, .revision = revision};
    snprintf(item->key, sizeof item->key, "%s", key ? key : "");
    void (*wake)(void *) = news->wake;
    void *user = news->user;
    pthread_mutex_unlock(&news->lock);
    if (wake)
        wake(user);
}

int64_t dw_news__now(struct dw_web_news *news)
{
    pthread_mutex_lock(&news->lock);
    int64_t n = news->n;
    pthread_mutex_unlock(&news->lock);
    return n;
}

/* Keys of documents are letters, digits, points and dashes; what else stands there is not told. */
static bool is_plain(const char *key)
{
    return key[strspn(key, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-")] ==
           '\0';
}

size_t dw_news__next(struct dw_web_news *news, int64_t *seen, char out[DW_NEWS_LINE])
{
    struct dw_news_item item = {.kind = DW_NEWS_ALL};
    pthread_mutex_lock(&news->lock);
    bool any = *seen < news->n;
    if (any && news->n - *seen > DW_NEWS_KEPT)
        *seen = news->n;
    else if (any)
        item = news->items[(*seen)++ % DW_NEWS_KEPT];
    pthread_mutex_unlock(&news->lock);
    if (!any)
        return 0;
    int n = snprintf(out, DW_NEWS_LINE,
                     "data: {\"what\":\"%s\",\"key\":\"%s\",\"revision\":%" PRId64 "}\n\n",
                     words[item.kind], is_plain(item.key) ? item.key : "", item.revision);
    return n > 0 ? (size_t)n : 0;
}
