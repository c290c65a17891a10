/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sockets and HTTP, by libmicrohttpd: limits, time-outs, headers. */
#include "web/app.h"
#include "web/stream.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#define THREADS     4
#define CONNECTIONS 512 /* at once, over all threads, */
#define STRANGERS   384 /* of them from other computers: the rest stays for this one; */
#define AN_ADDRESS  32  /* of these from one address: a browser takes six */
#define IDLE_S      15  /* a connection that is silent so long is closed */
#define REQUEST_MS                                                                                 \
    30000 /* a request that takes so long to arrive, or to be fetched, is cut off                  \
           */
#define HEADER_MEMORY 32768 /* bytes for the headers of a connection */
#define WATCH_MS      500

/* One open connection, watched for those that trickle. */
struct line {
    struct dw_web *web;
    struct line *next;
    struct line *previous;
    int fd;
    char from[DW_WEB_FROM]; /* "" = this computer */
    int64_t since_ms;       /* end of its last request */
    bool stream;            /* it stays open: never too slow */
};

struct dw_web {
    struct dw_web_app app;
    struct MHD_Daemon *daemon;
    uint16_t port;
    pthread_mutex_t lock;
    int wake[2]; /* a pipe: closing it ends the watcher */
    bool watching;
    pthread_t watcher;
    struct line *lines;
    struct dw_web_streams streams;
};

/* What is kept between the calls for one request. A body that is too large is read to its end all
 * the same, and dropped: who sends it would not see an answer that came before. */
struct exchange {
    struct dw_buf body;
    bool too_large;
};

/* --- connections that trickle ----------------------------------------------------------------- */

static int64_t now_of(const struct dw_web *web)
{
    return web->app.hooks.now_ms(web->app.hooks.user);
}

/* "" for this computer, and for what is no address of the internet. */
static void write_from(const struct dw_web *web, const struct sockaddr *address,
                       char out[DW_WEB_FROM])
{
    struct sockaddr_in in;
    out[0] = '\0';
    if (!address || address->sa_family != AF_INET)
        return;
    memcpy(&in, address, sizeof in);
    if (!inet_ntop(AF_INET, &in.sin_addr, out, DW_WEB_FROM) || dw_gate__is_own(&web->app.gate, out))
        out[0] = '\0';
}

/* A stranger that takes all it can get leaves room for others, and for this computer. */
static enum MHD_Result may_connect(void *user, const struct sockaddr *address, socklen_t n)
{
    struct dw_web *web = user;
    char from[DW_WEB_FROM];
    size_t n_strangers = 0, n_same = 0;
    (void)n;
    write_from(web, address, from);
    if (!from[0])
        return MHD_YES;
    pthread_mutex_lock(&web->lock);
    for (const struct line *line = web->lines; line; line = line->next) {
        n_strangers += line->from[0] != '\0';
        n_same += strcmp(line->from, from) == 0;
    }
    pthread_mutex_unlock(&web->lock);
    return n_strangers < STRANGERS && n_same < AN_ADDRESS ? MHD_YES : MHD_NO;
}

static void on_connection(void *user, struct MHD_Connection *connection, void **socket_context,
                          enum MHD_ConnectionNotificationCode what)
{
    struct dw_web *web = user;
    struct line *line = *socket_context;
    if (what == MHD_CONNECTION_NOTIFY_STARTED) {
        const union MHD_ConnectionInfo *info =
            MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
        const union MHD_ConnectionInfo *peer =
            MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
        if (!info)
            return;
        *socket_context = line = calloc(1, sizeof *line);
        if (!line) { /* one that can't be watched */
            shutdown(info->connect_fd, SHUT_RDWR);
            return;
        }
        *line = (struct line){.web = web, .fd = info->connect_fd, .since_ms = now_of(web)};
        write_from(web, peer ? peer->client_addr : NULL, line->from);
        pthread_mutex_lock(&web->lock);
        line->next = web->lines;
        if (line->next)
            line->next->previous = line;
        web->lines = line;
        pthread_mutex_unlock(&web->lock);
    } else if (line) {
        pthread_mutex_lock(&web->lock);
        if (line->next)
            line->next->previous = line->previous;
        if (line->previous)
            line->previous->next = line->next;
        else if (web->lines == line)
            web->lines = line->next;
        pthread_mutex_unlock(&web->lock);
        free(line);
        *socket_context = NULL;
    }
}

static struct line *line_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info ? info->socket_context : NULL;
}

static void refresh(struct dw_web *web, struct MHD_Connection *connection)
{
    struct line *line = line_of(connection);
    if (!line)
        return;
    pthread_mutex_lock(&web->lock);
    line->since_ms = now_of(web);
    line->stream = false;
    pthread_mutex_unlock(&web->lock);
}

/* A silent connection is closed by the library; one that sends a byte now and then by this. Whoever
 * listens is told here of steps that other programs made. */
static void *watch(void *user)
{
    struct dw_web *web = user;
    struct pollfd wake = {.fd = web->wake[0], .events = POLLIN};
    while (poll(&wake, 1, WATCH_MS) <= 0) {
        pthread_mutex_lock(&web->lock);
        int64_t now = now_of(web);
        for (struct line *line = web->lines; line; line = line->next)
            if (!line->stream && now - line->since_ms > REQUEST_MS)
                shutdown(line->fd, SHUT_RDWR);
        pthread_mutex_unlock(&web->lock);
        dw_app__look(&web->app);
        dw_streams__tick(&web->streams);
    }
    return NULL;
}

/* --- a request -------------------------------------------------------------------------------- */

static const char *header(struct MHD_Connection *connection, const char *name)
{
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

static enum MHD_Result add_query(void *user, enum MHD_ValueKind kind, const char *name,
                                 const char *value)
{
    (void)kind;
    struct dw_web_request *request = user;
    if (request->n_query == DW_WEB_QUERY_MAX)
        return MHD_NO;
    request->query[request->n_query++] = (struct dw_web_pair){name, value};
    return MHD_YES;
}

static enum dw_web_method method_of(const char *name)
{
    static const char *const names[] = {"GET", "POST", "PUT", "DELETE"};
    for (size_t i = 0; i < DW_COUNT(names); i++)
        if (strcmp(name, names[i]) == 0)
            return (enum dw_web_method)i;
    return strcmp(name, "HEAD") == 0 ? DW_WEB_GET : DW_WEB_OTHER;
}

static void add_headers(struct MHD_Response *response, const struct dw_web_reply *reply)
{
    static const char *const fixed[][2] = {
        {"Content-Security-Policy",
         "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
         "connect-src 'self'; form-action 'none'; frame-ancestors 'none'; base-uri 'none'"},
        {"X-Content-Type-Options", "nosniff"},
        {"X-Frame-Options", "DENY"},
        {"Referrer-Policy", "no-referrer"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Permissions-Policy", "camera=(self), geolocation=(), microphone=()"},
    };
    for (size_t i = 0; i < DW_COUNT(fixed); i++)
        MHD_add_response_header(response, fixed[i][0], fixed[i][1]);
    if (reply->type)
        MHD_add_response_header(response, "Content-Type", reply->type);
    MHD_add_response_header(response, "Cache-Control", reply->etag[0] ? "no-cache" : "no-store");
    if (reply->etag[0])
        MHD_add_response_header(response, "ETag", reply->etag);
    if (reply->gzip)
        MHD_add_response_header(response, "Content-Encoding", "gzip");
    if (reply->cookie[0])
        MHD_add_response_header(response, "Set-Cookie", reply->cookie);
    if (reply->retry)
        MHD_add_response_header(response, "Retry-After", "1");
    char text[96];
    snprintf(text, sizeof text, "inline; filename=\"%s\"", reply->file);
    if (reply->file[0])
        MHD_add_response_header(response, "Content-Disposition", text);
}

/* Sends the reply and frees it. */
static enum MHD_Result send_reply(struct MHD_Connection *connection, struct dw_web_reply *reply)
{
    /* The library asks for a pointer that it could write through, and does not. */
    union {
        const void *in;
        void *out;
    } bytes = {.in = reply->raw   ? (const void *)reply->raw
                     : reply->own ? (const void *)reply->own
                                  : (const void *)reply->buf.text};
    size_t n = reply->raw || reply->own ? reply->n : reply->buf.n;
    if (!bytes.in || n == 0)
        bytes.in = "";
    struct MHD_Response *response = MHD_create_response_from_buffer(
        n, bytes.out, reply->raw ? MHD_RESPMEM_PERSISTENT : MHD_RESPMEM_MUST_COPY);
    enum MHD_Result result = MHD_NO;
    if (response) {
        add_headers(response, reply);
        result = MHD_queue_response(connection, (unsigned)reply->status, response);
        MHD_destroy_response(response);
    }
    dw_web__reply_free(reply);
    return result;
}

/* The reply of a connection that stays open. */
static enum MHD_Result send_stream(struct dw_web *web, struct MHD_Connection *connection,
                                   struct dw_web_reply *reply)
{
    struct line *line = line_of(connection);
    struct MHD_Response *response = dw_streams__open(&web->streams, connection);
    enum MHD_Result result = MHD_NO;
    if (response) {
        if (line) {
            pthread_mutex_lock(&web->lock);
            line->stream = true;
            pthread_mutex_unlock(&web->lock);
        }
        add_headers(response, reply);
        result = MHD_queue_response(connection, (unsigned)reply->status, response);
        MHD_destroy_response(response);
    }
    dw_web__reply_free(reply);
    return result;
}

static enum MHD_Result refuse_size(struct MHD_Connection *connection)
{
    struct dw_web_reply reply = {.status = 413, .type = "application/json"};
    dw_buf__put(&reply.buf, "{\"error\":{\"code\":\"limit\",\"text\":\"the request is larger than "
                            "2 MiB\"}}");
    return send_reply(connection, &reply);
}

static enum MHD_Result refuse_memory(struct MHD_Connection *connection)
{
    struct dw_web_reply reply;
    dw_web__no_memory(&reply);
    return send_reply(connection, &reply);
}

static enum MHD_Result answer(struct dw_web *web, struct MHD_Connection *connection,
                              const char *path, const char *method, const struct dw_buf *body)
{
    const struct line *line = line_of(connection);
    struct dw_web_request request = {
        .method = method_of(method),
        .path = path,
        .from = line && line->from[0] ? line->from : NULL,
        .host = header(connection, "Host"),
        .origin = header(connection, "Origin"),
        .fetch_site = header(connection, "Sec-Fetch-Site"),
        .cookie = header(connection, "Cookie"),
        .token = header(connection, "X-Dropwise-Token"),
        .type = header(connection, "Content-Type"),
        .who = header(connection, "X-Dropwise-Who"),
        .if_none_match = header(connection, "If-None-Match"),
        .body = body->text,
        .n = body->n,
    };
    MHD_get_connection_values(connection, MHD_GET_ARGUMENT_KIND, add_query, &request);
    struct dw_web_reply reply = {0};
    dw_app__answer(&web->app, &request, &reply);
    return reply.stream ? send_stream(web, connection, &reply) : send_reply(connection, &reply);
}

static enum MHD_Result on_request(void *user, struct MHD_Connection *connection, const char *path,
                                  const char *method, const char *version, const char *upload,
                                  size_t *n_upload, void **state)
{
    (void)version;
    struct exchange *exchange = *state;
    if (!exchange) {
        const char *length = header(connection, "Content-Length");
        *state = exchange = calloc(1, sizeof *exchange);
        if (!exchange)
            return MHD_NO;
        exchange->too_large = length && (strlen(length) > 9 || atol(length) > DW_WEB_BODY_MAX);
        return exchange->too_large && header(connection, "Expect") ? refuse_size(connection)
                                                                   : MHD_YES;
    }
    if (*n_upload > 0) {
        if (exchange->body.n + *n_upload > DW_WEB_BODY_MAX)
            exchange->too_large = true;
        if (exchange->too_large)
            dw_buf__free(&exchange->body);
        else
            dw_buf__add(&exchange->body, upload, *n_upload);
        *n_upload = 0;
        return MHD_YES;
    }
    return exchange->too_large     ? refuse_size(connection)
           : exchange->body.failed ? refuse_memory(connection)
                                   : answer(user, connection, path, method, &exchange->body);
}

static void on_completed(void *user, struct MHD_Connection *connection, void **state,
                         enum MHD_RequestTerminationCode why)
{
    (void)why;
    struct exchange *exchange = *state;
    refresh(user, connection);
    if (!exchange)
        return;
    dw_buf__free(&exchange->body);
    free(exchange);
    *state = NULL;
}

static int hex_of(char c)
{
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
}

/* "%C3%A9" in place, save for %00, which would end the text early and stays as it is written. */
static size_t unescape(void *user, struct MHD_Connection *connection, char *text)
{
    (void)user;
    (void)connection;
    char *to = text;
    for (const char *at = text; *at; at++) {
        int high = *at == '%' ? hex_of(at[1]) : -1;
        int low = high >= 0 ? hex_of(at[2]) : -1;
        if (low >= 0 && high + low > 0) {
            *to++ = (char)(high * 16 + low);
            at += 2;
        } else {
            *to++ = *at;
        }
    }
    *to = '\0';
    return (size_t)(to - text);
}

/* --- start and stop --------------------------------------------------------------------------- */

static dw_err listen_on(const struct dw_web_options *options, int *fd, uint16_t *port,
                        struct dw_error *error)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(options->port)};
    socklen_t n = sizeof address;
    int yes = 1;
    if (inet_pton(AF_INET, options->lan ? "0.0.0.0" : "127.0.0.1", &address.sin_addr) != 1)
        return dw_error__set(error, DW_ERR_INTERNAL, "no address");
    *fd = socket(AF_INET, SOCK_STREAM, 0);
    if (*fd < 0)
        return dw_error__set(error, DW_ERR_IO, "no socket: %s", strerror(errno));
    setsockopt(*fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    if (bind(*fd, (struct sockaddr *)&address, sizeof address) != 0)
        return errno == EADDRINUSE
                   ? dw_error__set(error, DW_ERR_BUSY,
                                   "port %u is in use by another program: choose another one",
                                   (unsigned)options->port)
                   : dw_error__set(error, DW_ERR_IO, "port %u: %s", (unsigned)options->port,
                                   strerror(errno));
    if (listen(*fd, CONNECTIONS) != 0 || getsockname(*fd, (struct sockaddr *)&address, &n) != 0)
        return dw_error__set(error, DW_ERR_IO, "the port can't be opened: %s", strerror(errno));
    *port = ntohs(address.sin_port);
    return DW_OK;
}

static dw_err serve(struct dw_web *web, int fd, struct dw_error *error)
{
    web->daemon = MHD_start_daemon(
        MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, 0, may_connect, web, on_request,
        web, MHD_OPTION_LISTEN_SOCKET, fd, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)THREADS,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)IDLE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)HEADER_MEMORY,
        MHD_OPTION_NOTIFY_COMPLETED, on_completed, web, MHD_OPTION_NOTIFY_CONNECTION, on_connection,
        web, MHD_OPTION_UNESCAPE_CALLBACK, unescape, NULL, MHD_OPTION_STRICT_FOR_CLIENT, 1,
        MHD_OPTION_END);
    return web->daemon ? DW_OK
                       : dw_error__set(error, DW_ERR_IO,
                                       "the server can't be started on this "
                                       "computer");
}

static dw_err start_all(struct dw_web *web, const struct dw_web_options *options,
                        struct dw_error *error)
{
    int fd = -1;
    dw_err err = dw_app__init(&web->app, options, error);
    if (!err)
        err = listen_on(options, &fd, &web->port, error);
    web->app.gate.port = web->port;
    if (!err)
        err = dw_streams__init(&web->streams, &web->app.news, &web->app.hooks, error);
    if (!err && pthread_create(&web->watcher, NULL, watch, web) != 0)
        err = dw_error__set(error, DW_ERR_BUSY, "no more threads can be started");
    web->watching = !err;
    if (!err)
        err = serve(web, fd, error);
    if (err && fd >= 0)
        close(fd);
    return err;
}

dw_err dw_web__start(const struct dw_web_options *options, struct dw_web **out,
                     struct dw_error *error)
{
    *out = NULL;
    struct dw_web *web = calloc(1, sizeof *web);
    if (!web || pthread_mutex_init(&web->lock, NULL) != 0) {
        free(web);
        return dw_error__nomem(error);
    }
    if (pipe(web->wake) != 0) {
        pthread_mutex_destroy(&web->lock);
        free(web);
        return dw_error__set(error, DW_ERR_IO, "no pipe: %s", strerror(errno));
    }
    dw_err err = start_all(web, options, error);
    if (err)
        dw_web__stop(web);
    else
        *out = web;
    return err;
}

uint16_t dw_web__port(const struct dw_web *web)
{
    return web->port;
}

void dw_web__stop(struct dw_web *web)
{
    if (!web)
        return;
    dw_streams__end(&web->streams);
    if (web->daemon)
        MHD_stop_daemon(web->daemon);
    close(web->wake[1]); /* poll() sees the end of the pipe */
    if (web->watching)
        pthread_join(web->watcher, NULL);
    close(web->wake[0]);
    dw_app__free(&web->app);
    dw_streams__free(&web->streams);
    pthread_mutex_destroy(&web->lock);
    free(web);
}
