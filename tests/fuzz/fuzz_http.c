/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any request to the application: the first byte chooses method and what is wrong with the headers,
 * then come path, query and body, each ended by a line end. Every reply must be one of those that
 * are documented, and its body JSON where it says so. */
#include "web/app.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static struct dw_web_app app;
static char folder[] = "/tmp/dropwise-fuzz.XXXXXX";
static char path[sizeof folder + sizeof "/shelf.db-wal"];
static char cookie[160];
static char token[DW_WEB_KEY_TEXT];
static unsigned char counter;

/* Fonts that the library behind the papers keeps until the program ends. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig.so";
}

static void must(bool holds)
{
    if (!holds)
        abort();
}

static int64_t hook_now(void *user)
{
    (void)user;
    return 1000;
}

static void hook_when(void *user, char out[DW_WEB_WHEN])
{
    (void)user;
    memcpy(out, "2026-03-01T14:05:00Z", sizeof "2026-03-01T14:05:00Z");
}

static bool hook_random(void *user, unsigned char *out, size_t n)
{
    (void)user;
    for (size_t i = 0; i < n; i++)
        out[i] = counter++;
    return true;
}

static void clean_up(void)
{
    static const char *const endings[] = {"", "-wal", "-shm"};
    dw_app__free(&app);
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        snprintf(path, sizeof path, "%s/shelf.db%s", folder, endings[i]);
        (void)unlink(path);
    }
    (void)rmdir(folder);
}

static void enter(void)
{
    const struct dw_web_request request = {
        .method = DW_WEB_GET, .path = "/api/session", .host = "localhost:7410"};
    struct dw_web_reply reply;
    dw_app__answer(&app, &request, &reply);
    must(reply.status == 200);
    snprintf(cookie, sizeof cookie, "%.*s", (int)strcspn(reply.cookie, ";"), reply.cookie);
    json_t *json = json_loadb(reply.buf.text, reply.buf.n, 0, NULL);
    snprintf(token, sizeof token, "%s", json_string_value(json_object_get(json, "token")));
    json_decref(json);
    dw_web__reply_free(&reply);
}

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc;
    (void)argv;
    must(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    struct dw_web_options options = {
        .shelf = path, .hooks = {.now_ms = hook_now, .when = hook_when, .random = hook_random}};
    must(dw_app__init(&app, &options, NULL) == DW_OK);
    app.gate.port = 7410;
    enter();
    return atexit(clean_up);
}

/* The next line of the input, terminated, in a block of its own. */
static char *next_line(const uint8_t **at, size_t *left)
{
    const uint8_t *end = memchr(*at, '\n', *left);
    size_t n = end ? (size_t)(end - *at) : *left;
    char *line = malloc(n + 1);
    must(line != NULL);
    memcpy(line, *at, n);
    line[n] = '\0';
    *at += n + (end != NULL);
    *left -= n + (end != NULL);
    return line;
}

static void read_query(char *text, struct dw_web_request *request)
{
    for (char *at = strtok(text, "&"); at && request->n_query < DW_WEB_QUERY_MAX;
         at = strtok(NULL, "&")) {
        char *equals = strchr(at, '=');
        if (equals)
            *equals++ = '\0';
        request->query[request->n_query++] = (struct dw_web_pair){at, equals};
    }
}

static void check(const struct dw_web_reply *reply)
{
    static const int statuses[] = {200, 202, 304, 401, 403, 404, 405, 409, 413, 415, 421, 422, 503};
    bool known = false;
    for (size_t i = 0; i < sizeof statuses / sizeof statuses[0]; i++)
        known = known || statuses[i] == reply->status;
    must(known);
    if (reply->type && strcmp(reply->type, "application/json") == 0) {
        json_t *json = json_loadb(reply->buf.text ? reply->buf.text : "", reply->buf.n,
                                  JSON_REJECT_DUPLICATES, NULL);
        must(json_is_object(json));
        must((reply->status < 400) == (json_object_get(json, "error") == NULL) ||
             json_object_get(json, "state") != NULL);
        json_decref(json);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    uint8_t kind = *data++;
    size--;
    char *where = next_line(&data, &size);
    char *query = next_line(&data, &size);
    struct dw_web_request request = {
        .method = (enum dw_web_method)(kind % 5),
        .path = where,
        .host = kind & 64 ? where : "localhost:7410",
        .origin = kind & 128 ? query : NULL,
        .cookie = cookie,
        .token = token,
        .type = "application/json; charset=utf-8",
        .who = kind & 32 ? query : NULL,
        .body = (const char *)data,
        .n = size,
    };
    char *copy = strdup(query);
    must(copy != NULL);
    if (!(kind & 32))
        read_query(copy, &request);
    struct dw_web_reply reply;
    dw_app__answer(&app, &request, &reply);
    check(&reply);
    dw_web__reply_free(&reply);
    if (strcmp(where, "/api/session") == 0)
        enter();
    free(copy);
    free(query);
    free(where);
    return 0;
}
