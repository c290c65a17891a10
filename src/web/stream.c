/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Server-sent events over libmicrohttpd: a connection with nothing to say is suspended. */
#include "web/stream.h"

#include <microhttpd.h>
#include <stdlib.h>
#include <string.h>

#define QUIET_MS 5000 /* after so long without news a sign of life is sent */
#define BLOCK    1024

/* First of all: how soon a browser comes again when the connection breaks. */
static const char hello[] = "retry: 1000\n\n";
static const char life[] = ":\n\n";

struct dw_web_stream {
    struct dw_web_streams *streams;
    struct dw_web_stream *next;
    struct dw_web_stream *previous;
    struct MHD_Connection *connection;
    int64_t seen;    /* of the news */
    int64_t sent_ms; /* when something was last sent */
    bool begun;
    bool asleep; /* suspended */
};

static int64_t now_of(const struct dw_web_streams *streams)
{
    return streams->hooks->now_ms(streams->hooks->user);
}

/* Under the lock. */
static void rouse(struct dw_web_stream *stream)
{
    if (stream->asleep)
        MHD_resume_connection(stream->connection);
    stream->asleep = false;
}

static void wake(void *user)
{
    struct dw_web_streams *streams = user;
    pthread_mutex_lock(&streams->lock);
    for (struct dw_web_stream *stream = streams->first; stream; stream = stream->next)
        rouse(stream);
    pthread_mutex_unlock(&streams->lock);
}

/* What is to be said now; "" is nothing. */
static size_t speak(struct dw_web_stream *stream, int64_t now, char out[DW_NEWS_LINE])
{
    size_t n = 0;
    if (!stream->begun) {
        n = sizeof hello - 1;
        memcpy(out, hello, n);
        stream->begun = true;
    } else {
        n = dw_news__next(stream->streams->news, &stream->seen, out);
        if (n == 0 && now - stream->sent_ms >= QUIET_MS) {
            n = sizeof life - 1;
            memcpy(out, life, n);
        }
    }
    return n;
}

/* The lock is held from the look at the news to the suspension, so that no news falls between. */
static ssize_t read_stream(void *user, uint64_t at, char *out, size_t room)
{
    struct dw_web_stream *stream = user;
    struct dw_web_streams *streams = stream->streams;
    char line[DW_NEWS_LINE];
    ssize_t result = 0;
    (void)at;
    pthread_mutex_lock(&streams->lock);
    int64_t now = now_of(streams);
    if (streams->ending || room < sizeof line) {
        result = MHD_CONTENT_READER_END_OF_STREAM;
    } else {
        size_t n = speak(stream, now, line);
        memcpy(out, line, n);
        result = (ssize_t)n;
        if (n > 0)
            stream->sent_ms = now;
        stream->asleep = n == 0;
        if (stream->asleep)
            MHD_suspend_connection(stream->connection);
    }
    pthread_mutex_unlock(&streams->lock);
    return result;
}

static void free_stream(void *user)
{
    struct dw_web_stream *stream = user;
    struct dw_web_streams *streams = stream->streams;
    pthread_mutex_lock(&streams->lock);
    if (stream->next)
        stream->next->previous = stream->previous;
    if (stream->previous)
        stream->previous->next = stream->next;
    else
        streams->first = stream->next;
    pthread_mutex_unlock(&streams->lock);
    free(stream);
}

dw_err dw_streams__init(struct dw_web_streams *streams, struct dw_web_news *news,
                        const struct dw_web_hooks *hooks, struct dw_error *error)
{
    *streams = (struct dw_web_streams){.news = news, .hooks = hooks};
    if (pthread_mutex_init(&streams->lock, NULL) != 0)
        return dw_error__nomem(error);
    streams->ready = true;
    news->user = streams;
    news->wake = wake;
    return DW_OK;
}

void dw_streams__free(struct dw_web_streams *streams)
{
    if (streams->ready)
        pthread_mutex_destroy(&streams->lock);
    streams->ready = false;
}

struct MHD_Response *dw_streams__open(struct dw_web_streams *streams,
                                      struct MHD_Connection *connection)
{
    struct dw_web_stream *stream = calloc(1, sizeof *stream);
    if (!stream)
        return NULL;
    *stream = (struct dw_web_stream){.streams = streams,
                                     .connection = connection,
                                     .seen = dw_news__now(streams->news),
                                     .sent_ms = now_of(streams)};
    pthread_mutex_lock(&streams->lock);
    stream->next = streams->first;
    if (stream->next)
        stream->next->previous = stream;
    streams->first = stream;
    pthread_mutex_unlock(&streams->lock);
    struct MHD_Response *response = MHD_create_response_from_callback(
        MHD_SIZE_UNKNOWN, BLOCK, read_stream, stream, free_stream);
    if (!response)
        free_stream(stream);
    return response;
}

void dw_streams__tick(struct dw_web_streams *streams)
{
    pthread_mutex_lock(&streams->lock);
    int64_t now = now_of(streams);
    for (struct dw_web_stream *stream = streams->first; stream; stream = stream->next)
        if (now - stream->sent_ms >= QUIET_MS)
            rouse(stream);
    pthread_mutex_unlock(&streams->lock);
}

void dw_streams__end(struct dw_web_streams *streams)
{
    if (!streams->ready)
        return;
    pthread_mutex_lock(&streams->lock);
    streams->ending = true;
    pthread_mutex_unlock(&streams->lock);
    wake(streams);
}
