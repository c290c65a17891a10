/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The application behind the page, entered by calls from the script beside it (worker.js) where the
 * server is entered by requests: what dropwise.html has inside.
 *
 * Everything is in one thread and in one copy of the application: texts handed over live until the
 * next call of the same function. */
#include "web/app.h"

#include <emscripten.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SHELF "/shelf.db"

static struct dw_web_app app;
static struct dw_web_reply reply;
static char cookie[160];
static struct dw_error trouble;

/* --- what a browser gives --------------------------------------------------------------------- */

EM_JS(bool, js_random, (unsigned char *out, size_t n), {
    crypto.getRandomValues(HEAPU8.subarray(out, out + n));
    return true;
})

EM_JS(void, js_when, (char *out),
      { stringToUTF8(new Date().toISOString().slice(0, 19) + 'Z', out, 32); })

EM_JS(void, js_progress, (const void *progress, size_t n),
      { Module.progress(HEAPU8.slice(progress, progress + n)); })

static int64_t hook_now(void *user)
{
    (void)user;
    return (int64_t)emscripten_get_now();
}

static void hook_when(void *user, char out[DW_WEB_WHEN])
{
    (void)user;
    js_when(out);
}

static bool hook_random(void *user, unsigned char *out, size_t n)
{
    (void)user;
    return js_random(out, n);
}

static void hook_progress(void *user, const struct dw_progress *progress)
{
    (void)user;
    js_progress(progress, sizeof *progress);
}

/* --- life ------------------------------------------------------------------------------------- */

/* Opens the shelf that lies at /shelf.db, or begins one. NULL, or why not. */
EMSCRIPTEN_KEEPALIVE const char *dw_door_open(void)
{
    const struct dw_web_options options = {.shelf = SHELF,
                                           .hooks = {.now_ms = hook_now,
                                                     .when = hook_when,
                                                     .random = hook_random,
                                                     .progress = hook_progress}};
    trouble = (struct dw_error){0};
    cookie[0] = '\0';
    dw_err err = dw_app__init(&app, &options, &trouble);
    app.gate.port = 80;
    return err ? trouble.text : NULL;
}

EMSCRIPTEN_KEEPALIVE void dw_door_close(void)
{
    dw_web__reply_free(&reply);
    reply = (struct dw_web_reply){0};
    dw_app__free(&app);
}

/* The file is to be replaced: let go of it. Sessions and tasks stay. */
EMSCRIPTEN_KEEPALIVE void dw_door_shelf_off(void)
{
    dw_ledger_close(app.ledger);
    app.ledger = NULL;
}

/* Opens what lies there now. NULL, or why not. */
EMSCRIPTEN_KEEPALIVE const char *dw_door_shelf_on(void)
{
    trouble = (struct dw_error){0};
    dw_err err = dw_ledger_open(SHELF, DW_LEDGER_CREATE, 0, &app.ledger, &trouble);
    return err ? trouble.text : NULL;
}

/* --- a call ----------------------------------------------------------------------------------- */

static enum dw_web_method read_method(const char *word)
{
    static const char *const words[] = {"GET", "POST", "PUT", "DELETE"};
    for (size_t i = 0; i < DW_COUNT(words); i++)
        if (strcmp(words[i], word) == 0)
            return (enum dw_web_method)i;
    return DW_WEB_OTHER;
}

/* "name\0value\0name\0value\0", n bytes. */
static void read_query(const char *text, size_t n, struct dw_web_request *request)
{
    const char *end = text + n;
    while (text < end && request->n_query < DW_WEB_QUERY_MAX) {
        const char *value = text + strlen(text) + 1;
        request->query[request->n_query++] = (struct dw_web_pair){text, value};
        text = value + strlen(value) + 1;
    }
}

/* Answers; the status. Path and query come decoded, `who` as the page sends it; `token` and `who`
 * may be empty. */
EMSCRIPTEN_KEEPALIVE int dw_door_ask(const char *method, const char *path, const char *query,
                                     size_t n_query, const char *token, const char *who,
                                     const char *body, size_t n)
{
    struct dw_web_request request = {.method = read_method(method),
                                     .path = path,
                                     .host = "localhost",
                                     .cookie = cookie,
                                     .token = token,
                                     .type = "application/json",
                                     .who = who,
                                     .body = body,
                                     .n = n};
    read_query(query, n_query, &request);
    dw_web__reply_free(&reply);
    dw_app__answer(&app, &request, &reply);
    if (reply.cookie[0])
        snprintf(cookie, sizeof cookie, "%.*s", (int)strcspn(reply.cookie, ";"), reply.cookie);
    return reply.status;
}

EMSCRIPTEN_KEEPALIVE const char *dw_door_type(void)
{
    return reply.type;
}

EMSCRIPTEN_KEEPALIVE const char *dw_door_file(void)
{
    return reply.file;
}

EMSCRIPTEN_KEEPALIVE const void *dw_door_bytes(void)
{
    return reply.raw   ? (const void *)reply.raw
           : reply.own ? (const void *)reply.own
                       : (const void *)reply.buf.text;
}

EMSCRIPTEN_KEEPALIVE size_t dw_door_n(void)
{
    return reply.raw || reply.own ? reply.n : reply.buf.n;
}

/* --- tasks ------------------------------------------------------------------------------------ */

/* In the worker that plans: does what the last call began. The task's id, 0: nothing waited. */
EMSCRIPTEN_KEEPALIVE int dw_door_run(void)
{
    return dw_tasks__run_next(&app.tasks) ? (int)app.tasks.last_id : 0;
}

/* What came of it: its error (bytes of a struct, that the other side's dw_door_ended takes) ... */
EMSCRIPTEN_KEEPALIVE const void *dw_door_error(int id)
{
    struct dw_task_view view;
    trouble = (struct dw_error){0};
    if (dw_tasks__look(&app.tasks, id, &view, &trouble) == DW_OK) {
        trouble = view.error;
        free(view.result);
    }
    return &trouble;
}

EMSCRIPTEN_KEEPALIVE size_t dw_door_error_size(void)
{
    return sizeof trouble;
}

/* ... and its result. NULL: none. */
EMSCRIPTEN_KEEPALIVE const char *dw_door_result(int id)
{
    static char *result;
    struct dw_task_view view;
    free(result);
    result = NULL;
    if (dw_tasks__look(&app.tasks, id, &view, &trouble) == DW_OK)
        result = view.result;
    return result;
}

/* In the worker that answers. */
EMSCRIPTEN_KEEPALIVE void dw_door_begun(int id)
{
    dw_tasks__begun(&app.tasks, id);
}

EMSCRIPTEN_KEEPALIVE void dw_door_came(int id, const struct dw_progress *progress)
{
    dw_tasks__came(&app.tasks, id, progress);
}

EMSCRIPTEN_KEEPALIVE void dw_door_ended(int id, const char *result, const struct dw_error *error)
{
    dw_tasks__ended(&app.tasks, id, result, error);
}

EMSCRIPTEN_KEEPALIVE void dw_door_failed(int id, const char *why)
{
    struct dw_error error = {0};
    dw_error__set(&error, DW_ERR_STATE, "%s", why);
    dw_tasks__ended(&app.tasks, id, NULL, &error);
}
