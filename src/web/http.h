/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A request as the routes see it, and the reply to it: no socket in sight. */
#ifndef DW_WEB_HTTP_H
#define DW_WEB_HTTP_H

#include "base/base.h"

#define DW_WEB_BODY_MAX  (2 * 1024 * 1024) /* bytes of a request's body */
#define DW_WEB_QUERY_MAX 12
#define DW_WEB_FROM      46 /* an address as text, its 0 counted */

enum dw_web_method { DW_WEB_GET, DW_WEB_POST, DW_WEB_PUT, DW_WEB_DELETE, DW_WEB_OTHER };

struct dw_web_pair {
    const char *name;
    const char *value; /* NULL: given without one */
};

/* Headers are NULL when they were not sent. */
struct dw_web_request {
    enum dw_web_method method;
    const char *path;
    const char *from; /* address of who asks; NULL = this computer */
    const char *host;
    const char *origin;
    const char *fetch_site;
    const char *cookie;
    const char *token;
    const char *type;
    const char *who; /* percent-encoded */
    const char *if_none_match;
    size_t n_query;
    struct dw_web_pair query[DW_WEB_QUERY_MAX];
    const char *body; /* length n, not terminated */
    size_t n;
};

/* Value of a query argument; NULL if it was not given. */
const char *dw_web__query(const struct dw_web_request *request, const char *name);

struct dw_web_reply {
    int status;
    const char *type;         /* static */
    struct dw_buf buf;        /* the body, or */
    const unsigned char *raw; /* a body that lives elsewhere for good, length n */
    unsigned char *own;       /* or one that was made, length n: free it */
    size_t n;
    bool stream;      /* no body: the connection stays open and hears what changes */
    bool gzip;        /* raw is compressed */
    char etag[24];    /* "" = not to be kept by the browser */
    char cookie[160]; /* "" = none */
    char file[64];    /* name to save it under; "" = shown in the page */
    bool retry;       /* busy: worth trying again */
};
void dw_web__reply_free(struct dw_web_reply *reply);
/* The reply that takes no memory. */
void dw_web__no_memory(struct dw_web_reply *reply);

#endif
