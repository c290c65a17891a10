/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Connections that stay open and hear what changed. One that waits takes no thread. */
#ifndef DW_WEB_STREAM_H
#define DW_WEB_STREAM_H

#include "web/news.h"
#include "web/web.h"

struct MHD_Connection;
struct MHD_Response;
struct dw_web_stream;

struct dw_web_streams {
    pthread_mutex_t lock;
    bool ready;
    bool ending;
    struct dw_web_news *news;
    const struct dw_web_hooks *hooks;
    struct dw_web_stream *first;
};

/* From here on the streams are woken by what is told to `news`. */
dw_err dw_streams__init(struct dw_web_streams *streams, struct dw_web_news *news,
                        const struct dw_web_hooks *hooks, struct dw_error *error);
/* After the daemon has ended. */
void dw_streams__free(struct dw_web_streams *streams);

/* The reply that tells a connection what changes from now on; NULL: no memory. */
struct MHD_Response *dw_streams__open(struct dw_web_streams *streams,
                                      struct MHD_Connection *connection);

/* Now and then: a sign of life for those that heard nothing for a while, by which the ones that are
 * gone are found. */
void dw_streams__tick(struct dw_web_streams *streams);
/* Ends them all: before the daemon is stopped. */
void dw_streams__end(struct dw_web_streams *streams);

#endif
