/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web_shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

static int64_t hook_now(void *user)
{
    return ((struct web_shop *)user)->now_ms;
}

static void hook_when(void *user, char out[DW_WEB_WHEN])
{
    (void)user;
    snprintf(out, DW_WEB_WHEN, "2026-03-01T14:05:00Z");
}

/* splitmix64 (Steele, Lea and Flood 2014), a byte of each number. */
static bool hook_random(void *user, unsigned char *out, size_t n)
{
    struct web_shop *shop = user;
    for (size_t i = 0; i < n; i++) {
        uint64_t z = (shop->seed += UINT64_C(0x9e3779b97f4a7c15));
        z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
        z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
        out[i] = (unsigned char)(z >> 56);
    }
    return true;
}

void web_shop_ready(struct web_shop *shop)
{
    *shop = (struct web_shop){.now_ms = 1000000};
    snprintf(shop->folder, sizeof shop->folder, "/tmp/dw_web_XXXXXX");
    assert_non_null(mkdtemp(shop->folder));
    snprintf(shop->path, sizeof shop->path, "%s/shelf.db", shop->folder);
    shop->options = (struct dw_web_options){
        .shelf = shop->path,
        .hooks = {.now_ms = hook_now, .when = hook_when, .random = hook_random, .user = shop}};
}

void web_shop_open(struct web_shop *shop)
{
    struct dw_error error = {0};
    web_shop_ready(shop);
    shop->app = calloc(1, sizeof *shop->app);
    assert_non_null(shop->app);
    if (dw_app__init(shop->app, &shop->options, &error) != DW_OK)
        fail_msg("%s", error.text);
    shop->app->gate.port = 7410;
    json_t *session = web_shop_json(shop, DW_WEB_GET, "/api/session", NULL, 200);
    snprintf(shop->token, sizeof shop->token, "%s",
             json_string_value(json_object_get(session, "token")));
    json_decref(session);
}

void web_shop_close(struct web_shop *shop)
{
    if (shop->app)
        dw_app__free(shop->app);
    free(shop->app);
    char command[128];
    snprintf(command, sizeof command, "rm -rf %s", shop->folder);
    assert_int_equal(system(command), 0);
}

struct web_shop the_shop;

int web_shop_setup(void **state)
{
    (void)state;
    web_shop_open(&the_shop);
    return 0;
}

int web_shop_teardown(void **state)
{
    (void)state;
    web_shop_close(&the_shop);
    return 0;
}

/* "name=value&name=value" after the path; the copies live in `text`. */
static void read_query(char *text, struct dw_web_request *request)
{
    for (char *at = strtok(text, "&"); at; at = strtok(NULL, "&")) {
        char *equals = strchr(at, '=');
        if (equals)
            *equals++ = '\0';
        request->query[request->n_query++] = (struct dw_web_pair){at, equals};
    }
}

/* *n: bytes of the reply. */
static int ask(struct web_shop *shop, enum dw_web_method method, const char *path, const char *body,
               char **out, size_t *n)
{
    char copy[512];
    snprintf(copy, sizeof copy, "%s", path);
    struct dw_web_request request = {
        .method = method,
        .path = copy,
        .host = "127.0.0.1:7410",
        .origin = "http://127.0.0.1:7410",
        .cookie = shop->cookie,
        .token = shop->token,
        .type = "application/json",
        .who = "Ren%C3%A9e",
        .body = body,
        .n = body ? strlen(body) : 0,
    };
    char *query = strchr(copy, '?');
    if (query) {
        *query++ = '\0';
        read_query(query, &request);
    }
    struct dw_web_reply reply;
    dw_app__answer(shop->app, &request, &reply);
    if (reply.cookie[0])
        snprintf(shop->cookie, sizeof shop->cookie, "%.*s", (int)strcspn(reply.cookie, ";"),
                 reply.cookie);
    if (out) {
        *n = reply.own ? reply.n : reply.buf.n;
        *out = calloc(*n + 1, 1);
        assert_non_null(*out);
        if (*n > 0)
            memcpy(*out, reply.own ? (const char *)reply.own : reply.buf.text, *n);
    }
    int status = reply.status;
    dw_web__reply_free(&reply);
    return status;
}

int web_shop_ask(struct web_shop *shop, enum dw_web_method method, const char *path,
                 const char *body, char **out)
{
    size_t n = 0;
    return ask(shop, method, path, body, out, &n);
}

char *web_shop_paper(struct web_shop *shop, const char *path)
{
    char file[128], line[200], block[4096];
    char *bytes = NULL;
    size_t n = 0, got = 0;
    struct dw_buf text = {0};
    if (ask(shop, DW_WEB_GET, path, NULL, &bytes, &n) != 200)
        fail_msg("%s: %.300s", path, bytes);
    snprintf(file, sizeof file, "%s/paper.pdf", shop->folder);
    assert_int_equal(dw_file__write(file, bytes, n, true, NULL), DW_OK);
    free(bytes);
    snprintf(line, sizeof line, "pdftotext -layout %s -", file);
    FILE *pipe = popen(line, "r");
    assert_non_null(pipe);
    while ((got = fread(block, 1, sizeof block, pipe)) > 0)
        dw_buf__add(&text, block, got);
    assert_int_equal(pclose(pipe), 0);
    remove(file);
    return dw_buf__take(&text);
}

json_t *web_shop_json(struct web_shop *shop, enum dw_web_method method, const char *path,
                      const char *body, int status)
{
    char *text = NULL;
    int is = web_shop_ask(shop, method, path, body, &text);
    if (is != status)
        fail_msg("%s: %d instead of %d: %s", path, is, status, text);
    json_t *json = json_loads(text, 0, NULL);
    free(text);
    return json;
}

json_t *web_shop_follow(struct web_shop *shop, int64_t task)
{
    char path[64];
    snprintf(path, sizeof path, "/api/tasks/%lld", (long long)task);
    for (int i = 0; i < 3000; i++) {
        json_t *state = web_shop_json(shop, DW_WEB_GET, path, NULL, 200);
        const char *word = json_string_value(json_object_get(state, "state"));
        if (strcmp(word, "done") == 0 || strcmp(word, "failed") == 0)
            return state;
        json_decref(state);
        nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    }
    fail_msg("the task does not end");
    return NULL;
}

char *web_shop_body(const char *name, const char *text, const char *more)
{
    struct dw_buf buf = {0};
    dw_buf__char(&buf, '{');
    dw_buf__json(&buf, name);
    dw_buf__char(&buf, ':');
    dw_buf__json(&buf, text);
    dw_buf__format(&buf, "%s}", more ? more : "");
    char *body = dw_buf__take(&buf);
    assert_non_null(body);
    return body;
}

const char *web_shop_text(const json_t *object, const char *name)
{
    const char *text = json_string_value(json_object_get(object, name));
    return text ? text : "";
}

int64_t web_shop_number(const json_t *object, const char *name)
{
    return json_integer_value(json_object_get(object, name));
}

json_t *web_shop_post(const char *path, const char *job, const char *more, int status)
{
    char *body = web_shop_body("text", job, more);
    json_t *reply = web_shop_json(&the_shop, DW_WEB_POST, path, body, status);
    free(body);
    return reply;
}

json_t *web_shop_work(const char *path, const char *job, const char *more)
{
    json_t *reply = web_shop_post(path, job, more, 202);
    json_t *task = web_shop_follow(&the_shop, web_shop_number(reply, "task"));
    json_decref(reply);
    return task;
}
