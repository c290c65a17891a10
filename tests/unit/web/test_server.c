/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The server on the loopback address: HTTP (RFC 9110, RFC 9112) well and badly spoken, headers,
 * limits, and an end in good order. */
#include "web_line.h"
#include "web_shop.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <netinet/in.h>
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cmocka.h>

static struct web_shop shop;
static struct dw_web *web;
static char reply[1 << 17];

static int setup(void **state)
{
    (void)state;
    struct dw_error error = {0};
    web_shop_ready(&shop);
    if (dw_web__start(&shop.options, &web, &error) != DW_OK) {
        print_message("%s\n", error.text);
        return -1;
    }
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    dw_web__stop(web);
    web_shop_close(&shop);
    return 0;
}

/* `form` has the port as its one argument. */
static int ask(const char *form)
{
    char request[1024];
    int n = snprintf(request, sizeof request, form, (unsigned)dw_web__port(web)); /* NOLINT */
    return web_line_ask(dw_web__port(web), request, (size_t)n, reply, sizeof reply);
}

#define HOST "Host: 127.0.0.1:%u\r\n"

static void must_say(const char *header)
{
    if (!strstr(reply, header))
        fail_msg("no %s in\n%.900s", header, reply);
}

static void test_headers(void **state)
{
    (void)state;
    assert_int_equal(ask("GET / HTTP/1.1\r\n" HOST "\r\n"), 200);
    must_say("Content-Type: text/html; charset=utf-8\r\n");
    must_say("Content-Encoding: gzip\r\n");
    must_say("X-Content-Type-Options: nosniff\r\n");
    must_say("Referrer-Policy: no-referrer\r\n");
    must_say("Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; "
             "img-src 'self' data:; connect-src 'self'; form-action 'none'; frame-ancestors "
             "'none'; base-uri 'none'\r\n");
    must_say("Cache-Control: no-cache\r\n");
    assert_null(strstr(reply, "Access-Control"));
    assert_null(strstr(reply, "Server:"));
    assert_int_equal(ask("GET /api/session HTTP/1.1\r\n" HOST "\r\n"), 200);
    must_say("HttpOnly; SameSite=Strict\r\n");
    must_say("Cache-Control: no-store\r\n");
    must_say("Content-Security-Policy: default-src 'none'");
    assert_int_equal(ask("GET /nothing HTTP/1.1\r\n" HOST "\r\n"), 404);
    must_say("X-Content-Type-Options: nosniff\r\n");
}

static void test_spoken_badly(void **state)
{
    (void)state;
    static const struct {
        const char *form;
        int status; /* -1: any refusal, or a hang-up */
    } cases[] = {
        {"GET / HTTP/1.1\r\n\r\n", -1}, /* RFC 9112, 3.2: a request without Host is refused */
        {"GET / HTTP/1.1\r\nHost: shop.example\r\n\r\n", 421},
        {"GET http://shop.example/ HTTP/1.1\r\nHost: shop.example:%u\r\n\r\n", 421},
        {"HEAD / HTTP/1.1\r\n" HOST "\r\n", 200},
        {"OPTIONS / HTTP/1.1\r\n" HOST "\r\n", 405},
        {"TRACE /api/session HTTP/1.1\r\n" HOST "\r\n", 405},
        {"POST /api/session HTTP/1.1\r\n" HOST "Content-Length: -5\r\n\r\n", -1},
        {"POST /api/session HTTP/1.1\r\n" HOST "Content-Length: 99999999999999999999\r\n\r\n", -1},
        {"POST /api/session HTTP/1.1\r\n" HOST
         "Transfer-Encoding: chunked\r\n\r\nffffffffffffffffff\r\n",
         -1},
        {"POST /api/session HTTP/1.1\r\n" HOST "Content-Type: application/json\r\n"
         "Content-Length: 2\r\n\r\n{}",
         200},
        {"G%%00T / HTTP/1.1\r\n" HOST "\r\n", -1},
        {"GET /%%00/../../etc/passwd HTTP/1.1\r\n" HOST "\r\n", 404},
        {"GET /%%2e%%2e/%%2e%%2e/etc/passwd HTTP/1.1\r\n" HOST "\r\n", 404},
        {"GET /api/shelf/%%ff%%fe HTTP/1.1\r\n" HOST "\r\n", 404},
    };
    for (size_t i = 0; i < DW_COUNT(cases); i++) {
        int status = ask(cases[i].form);
        bool good = cases[i].status == -1 ? status != 200 : status == cases[i].status;
        if (!good)
            fail_msg("case %zu: %d\n%.300s", i, status, reply);
        assert_null(strstr(reply, "root:"));
    }
    assert_int_equal(ask("GET / HTTP/1.1\r\n" HOST "\r\n"), 200); /* still there */
}

/* Sends `n_blocks` blocks of 64 KiB as a body, all of them before it looks for an answer. */
static void send_body(const char *way, const char *lead, int n_blocks, const char *end)
{
    char head[256];
    static char block[65536];
    memset(block, 'a', sizeof block);
    int fd = web_line_open(dw_web__port(web));
    int n = snprintf(head, sizeof head,
                     "POST /api/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nContent-Type: "
                     "application/json\r\n%s\r\n\r\n",
                     (unsigned)dw_web__port(web), way);
    assert_true(web_line_send(fd, head, (size_t)n));
    for (int i = 0; i < n_blocks; i++)
        assert_true(web_line_send(fd, lead, strlen(lead)) &&
                    web_line_send(fd, block, sizeof block) &&
                    web_line_send(fd, lead + (*lead ? 5 : 0), *lead ? 2 : 0));
    assert_true(web_line_send(fd, end, strlen(end)));
    web_line_read(fd, reply, sizeof reply, 10000);
    web_line_close(fd);
}

/* A body over the limit is refused in words, however it comes, and to who has sent all of it; what
 * is not sent for lack of leave is refused at once. */
static void test_too_large(void **state)
{
    (void)state;
    static const char words[] = "the request is larger than 2 MiB";
    send_body("Transfer-Encoding: chunked", "10000\r\n", 40, "0\r\n\r\n"); /* 2.5 MiB */
    assert_int_equal(strncmp(reply, "HTTP/1.1 413", 12), 0);
    must_say(words);
    send_body("Content-Length: 13107200", "", 200, ""); /* 12.5 MiB */
    assert_int_equal(strncmp(reply, "HTTP/1.1 413", 12), 0);
    must_say(words);
    assert_int_equal(ask("POST /api/session HTTP/1.1\r\n" HOST "Content-Length: 2097153\r\n"
                         "Expect: 100-continue\r\n\r\n"),
                     413);
    must_say(words);
    send_body("Content-Length: 2097152", "", 32, ""); /* no more than the limit: read */
    must_say("the body must be a JSON object");
    assert_int_equal(ask("GET / HTTP/1.1\r\n" HOST "\r\n"), 200);
}

/* Headers without end are cut off at their limit. */
static void test_long_headers(void **state)
{
    (void)state;
    static char block[65536];
    memset(block, 'a', sizeof block);
    int fd = web_line_open(dw_web__port(web));
    assert_true(web_line_send(fd, "GET / HTTP/1.1\r\nX-Long: ", 24));
    bool open = web_line_send(fd, block, sizeof block);
    web_line_read(fd, reply, sizeof reply, 3000);
    assert_true(!open || strncmp(reply, "HTTP/1.1 4", 10) == 0);
    web_line_close(fd);
    assert_int_equal(ask("GET / HTTP/1.1\r\n" HOST "\r\n"), 200);
}

/* Several requests sent at once on one connection are answered in turn. */
static void test_pipeline(void **state)
{
    (void)state;
    char request[256];
    int n = snprintf(request, sizeof request, "GET /nothing HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n",
                     (unsigned)dw_web__port(web));
    int fd = web_line_open(dw_web__port(web));
    for (int i = 0; i < 5; i++)
        assert_true(web_line_send(fd, request, (size_t)n));
    size_t got = 0, n_replies = 0;
    while (n_replies < 5 && got < sizeof reply - 4096) {
        size_t now = web_line_read(fd, reply + got, sizeof reply - got, 2000);
        if (now == 0)
            break;
        for (const char *at = reply + got; (at = strstr(at, "HTTP/1.1 404")); at++)
            n_replies++;
        got += now;
    }
    assert_int_equal(n_replies, 5);
    web_line_close(fd);
}

#define TRICKLERS 140

/* Others are served while many hold their lines open: without a word, or with a byte now and then
 * of a header, or of a body. */
static void test_trickling_lines(void **state)
{
    (void)state;
    int fds[TRICKLERS];
    char head[256];
    int n = snprintf(head, sizeof head,
                     "POST /api/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nContent-Length: 1000\r\n"
                     "Content-Type: application/json\r\n\r\n",
                     (unsigned)dw_web__port(web));
    for (size_t i = 0; i < TRICKLERS; i++) {
        fds[i] = web_line_open(dw_web__port(web));
        assert_true(fds[i] >= 0);
        if (i % 3 == 1)
            web_line_send(fds[i], "GET / HT", 8);
        else if (i % 3 == 2)
            web_line_send(fds[i], head, (size_t)n);
    }
    for (int round = 0; round < 20; round++) {
        for (size_t i = 0; i < TRICKLERS; i++)
            if (i % 3 != 0)
                web_line_send(fds[i], "x", 1);
        assert_int_equal(ask("GET /app.js HTTP/1.1\r\n" HOST "Connection: close\r\n\r\n"), 200);
    }
    for (size_t i = 0; i < TRICKLERS; i++)
        web_line_close(fds[i]);
}

/* An address of this computer that is not its loopback: whoever comes from there is a stranger to a
 * server that takes another one for its own. */
static bool find_address(struct sockaddr_in *out)
{
    struct ifaddrs *list = NULL;
    bool found = false;
    if (getifaddrs(&list) != 0)
        return false;
    for (const struct ifaddrs *at = list; at && !found; at = at->ifa_next) {
        if (!at->ifa_addr || at->ifa_addr->sa_family != AF_INET)
            continue;
        memcpy(out, at->ifa_addr, sizeof *out);
        found = ntohl(out->sin_addr.s_addr) >> 24 != 127;
    }
    freeifaddrs(list);
    return found;
}

/* Asks for the page on a line of the stranger's, which stays open; 0: it was hung up on. */
static int ask_as_stranger(int fd, uint16_t port)
{
    char request[128], answer[65536];
    int n = snprintf(request, sizeof request, "GET /nothing HTTP/1.1\r\nHost: 127.0.0.1:%u\r\n\r\n",
                     (unsigned)port);
    web_line_send(fd, request, (size_t)n);
    web_line_read(fd, answer, sizeof answer, 10000);
    return strncmp(answer, "HTTP/1.1 ", 9) == 0 ? atoi(answer + 9) : 0;
}

/* A stranger gets 32 lines; a 33rd is hung up on, while this computer is served. */
static void test_lines_of_an_address(void **state)
{
    (void)state;
    enum { MOST = 32 };
    struct sockaddr_in address;
    struct web_shop own;
    struct dw_web *lan = NULL;
    int fds[MOST + 1];
    if (!find_address(&address))
        skip();
    web_shop_ready(&own);
    own.options.lan = "192.0.2.1"; /* an example's address, nobody has it */
    own.options.passphrase = "nine copper kettles";
    assert_int_equal(dw_web__start(&own.options, &lan, NULL), DW_OK);
    address.sin_port = htons(dw_web__port(lan));
    for (size_t i = 0; i <= MOST; i++) {
        fds[i] = socket(AF_INET, SOCK_STREAM, 0);
        assert_int_equal(connect(fds[i], (struct sockaddr *)&address, sizeof address), 0);
        int status = ask_as_stranger(fds[i], dw_web__port(lan));
        if (status != (i < MOST ? 404 : 0))
            fail_msg("line %zu: %d", i + 1, status);
    }
    int fd = web_line_open(dw_web__port(lan));
    assert_int_equal(ask_as_stranger(fd, dw_web__port(lan)), 404);
    web_line_close(fd);
    for (size_t i = 0; i <= MOST; i++)
        close(fds[i]);
    dw_web__stop(lan);
    web_shop_close(&own);
}

static void *ask_many(void *user)
{
    int *n_good = user;
    char mine[8192], request[256];
    int n = snprintf(request, sizeof request,
                     "GET /api/session HTTP/1.1\r\nHost: 127.0.0.1:%u\r\nConnection: close\r\n\r\n",
                     (unsigned)dw_web__port(web));
    for (int i = 0; i < 50; i++)
        *n_good += web_line_ask(dw_web__port(web), request, (size_t)n, mine, sizeof mine) == 200;
    return NULL;
}

static void test_many_at_once(void **state)
{
    (void)state;
    pthread_t threads[8];
    int good[8] = {0};
    for (size_t i = 0; i < 8; i++)
        assert_int_equal(pthread_create(&threads[i], NULL, ask_many, &good[i]), 0);
    for (size_t i = 0; i < 8; i++) {
        pthread_join(threads[i], NULL);
        assert_int_equal(good[i], 50);
    }
}

static void test_refused_starts(void **state)
{
    (void)state;
    struct dw_web *other = NULL;
    struct dw_error error = {0};
    struct dw_web_options options = shop.options;
    options.port = dw_web__port(web);
    assert_int_equal(dw_web__start(&options, &other, &error), DW_ERR_BUSY);
    assert_null(other);
    assert_non_null(strstr(error.text, "is in use by another program"));
    char path[128];
    snprintf(path, sizeof path, "%s/none/shelf.db", shop.folder);
    options = shop.options;
    options.shelf = path;
    error = (struct dw_error){0};
    assert_int_equal(dw_web__start(&options, &other, &error), DW_ERR_IO);
    options = shop.options;
    options.lan = "192.168.7.20";
    error = (struct dw_error){0};
    assert_int_equal(dw_web__start(&options, &other, &error), DW_ERR_INPUT);
    dw_web__stop(NULL);
}

/* Copies what stands behind `lead` in the last reply, up to one of `ends`. */
static void take(char *out, size_t room, const char *lead, const char *ends)
{
    const char *at = strstr(reply, lead);
    assert_non_null(at);
    at += strlen(lead);
    snprintf(out, room, "%.*s", (int)strcspn(at, ends), at);
}

/* A document that one connection saves is told to the one that listens, which stays open; others
 * are answered meanwhile, and the server ends though somebody listens (teardown). */
static void test_listening(void **state)
{
    (void)state;
    char cookie[160], token[80], request[700];
    unsigned port = dw_web__port(web);
    assert_int_equal(ask("GET /api/events HTTP/1.1\r\n" HOST "\r\n"), 401);
    assert_int_equal(ask("GET /api/session HTTP/1.1\r\n" HOST "\r\n"), 200);
    take(cookie, sizeof cookie, "Set-Cookie: ", ";\r");
    take(token, sizeof token, "\"token\":\"", "\"");
    int fd = web_line_open((uint16_t)port);
    int n = snprintf(request, sizeof request,
                     "GET /api/events HTTP/1.1\r\n" HOST "Cookie: %s\r\n\r\n", port, cookie);
    assert_true(web_line_send(fd, request, (size_t)n));
    web_line_read(fd, reply, sizeof reply, 1000);
    must_say("Content-Type: text/event-stream\r\n");
    if (!strstr(reply, "retry: 1000\n\n")) {
        web_line_read(fd, reply, sizeof reply, 300);
        must_say("retry: 1000\n\n");
    }
    static const char body[] = "{\"name\":\"Rack\",\"body\":\"{}\"}";
    n = snprintf(request, sizeof request,
                 "POST /api/documents/job HTTP/1.1\r\n" HOST "Cookie: %s\r\nX-Dropwise-Token: "
                 "%s\r\nContent-Type: application/json\r\nContent-Length: %zu\r\n\r\n%s",
                 port, cookie, token, sizeof body - 1, body);
    assert_int_equal(web_line_ask((uint16_t)port, request, (size_t)n, reply, sizeof reply), 200);
    web_line_read(fd, reply, sizeof reply, 300);
    must_say("data: {\"what\":\"job\",\"key\":\"1\",\"revision\":1}\n\n");
    web_line_close(fd);
    fd = web_line_open((uint16_t)port); /* this one is left to the end */
    n = snprintf(request, sizeof request, "GET /api/events HTTP/1.1\r\n" HOST "Cookie: %s\r\n\r\n",
                 port, cookie);
    assert_true(web_line_send(fd, request, (size_t)n));
    web_line_read(fd, reply, sizeof reply, 1000);
    assert_int_equal(ask("GET /api/session HTTP/1.1\r\n" HOST "\r\n"), 200);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_headers),        cmocka_unit_test(test_spoken_badly),
        cmocka_unit_test(test_too_large),      cmocka_unit_test(test_long_headers),
        cmocka_unit_test(test_pipeline),       cmocka_unit_test(test_trickling_lines),
        cmocka_unit_test(test_many_at_once),   cmocka_unit_test(test_lines_of_an_address),
        cmocka_unit_test(test_refused_starts), cmocka_unit_test(test_listening),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
