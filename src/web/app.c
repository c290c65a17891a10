/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a request to a handler: the gate, the table of routes, the body, errors. */
#include "web/app.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BUSY_MS 5000 /* wait for another process that writes to the shelf */

/* --- life ------------------------------------------------------------------------------------- */

dw_err dw_app__init(struct dw_web_app *app, const struct dw_web_options *options,
                    struct dw_error *error)
{
    *app = (struct dw_web_app){.hooks = options->hooks, .step = -1};
    struct dw_web_options own = *options;
    own.hooks = app->hooks;
    dw_err err = dw_gate__init(&app->gate, &own, error);
    if (err)
        return err;
    app->gate.hooks = &app->hooks;
    if (pthread_mutex_init(&app->lock, NULL) != 0) {
        dw_gate__free(&app->gate);
        return dw_error__nomem(error);
    }
    struct dw_buf path = {0};
    dw_buf__put(&path, options->shelf);
    app->shelf = dw_buf__take(&path);
    err = dw_news__init(&app->news, error);
    if (!err)
        err = app->shelf
                  ? dw_ledger_open(app->shelf, DW_LEDGER_CREATE, BUSY_MS, &app->ledger, error)
                  : dw_error__nomem(error);
    if (!err)
        err = dw_tasks__init(&app->tasks, &app->hooks, app->shelf, &app->news, error);
    if (err)
        dw_app__free(app);
    return err;
}

void dw_app__look(struct dw_web_app *app)
{
    int64_t step = 0, undoable = 0;
    pthread_mutex_lock(&app->lock);
    bool news = !dw_ledger_last(app->ledger, &step, &undoable, NULL) && step != app->step;
    bool first = app->step < 0;
    if (news)
        app->step = step;
    pthread_mutex_unlock(&app->lock);
    if (news && !first)
        dw_news__tell(&app->news, DW_NEWS_SHELF, NULL, step);
}

void dw_app__free(struct dw_web_app *app)
{
    if (!app->gate.hooks)
        return;
    dw_tasks__free(&app->tasks);
    dw_ledger_close(app->ledger);
    free(app->shelf);
    dw_news__free(&app->news);
    pthread_mutex_destroy(&app->lock);
    dw_gate__free(&app->gate);
    *app = (struct dw_web_app){0};
}

/* --- the table -------------------------------------------------------------------------------- */

enum who_may { ANYONE, USER, WRITER };

static const struct route {
    const char *path;
    dw_web_handler *run;
    enum dw_web_method method;
    enum who_may who;
} routes[] = {
#define ROUTE_ROW(method, path, who, name) {path, dw_api__##name, DW_WEB_##method, who},
    DW_WEB_ROUTE_LIST(ROUTE_ROW)
#undef ROUTE_ROW
};

/* What a `*` may stand for: a step of the path that names something, never a place. */
static bool is_param(char c)
{
    return c != '/' && (unsigned char)c >= 0x20 && c != 0x7f;
}

/* Cost: O(|path|). */
static bool matches(const char *pattern, const char *path, char params[2][DW_WEB_PARAM_TEXT])
{
    size_t n_params = 0;
    while (*pattern && *path) {
        if (*pattern != '*') {
            if (*pattern++ != *path++)
                return false;
            continue;
        }
        size_t n = 0;
        while (is_param(path[n]))
            n++;
        if (n == 0 || n >= DW_WEB_PARAM_TEXT || n_params == 2)
            return false;
        memcpy(params[n_params], path, n);
        params[n_params++][n] = '\0';
        path += n;
        pattern++;
    }
    for (size_t i = 0; i < n_params; i++)
        if (dw_utf8__check(params[i], strlen(params[i])) != strlen(params[i]))
            return false;
    return *pattern == '\0' && *path == '\0';
}

/* NULL: no such path; *other: there is one, but not with this method. */
static const struct route *find_route(struct dw_web_call *call, bool *other)
{
    *other = false;
    for (size_t i = 0; i < DW_COUNT(routes); i++) {
        if (!matches(routes[i].path, call->request->path, call->params))
            continue;
        if (routes[i].method == call->request->method)
            return &routes[i];
        *other = true;
    }
    return NULL;
}

/* --- errors ----------------------------------------------------------------------------------- */

static const struct {
    dw_err err;
    int status;
    const char *word;
} statuses[] = {
    {DW_ERR_SYNTAX, 422, "input"},  {DW_ERR_INPUT, 422, "input"},
    {DW_ERR_RANGE, 422, "input"},   {DW_ERR_LIMIT, 413, "limit"},
    {DW_ERR_EXISTS, 409, "exists"}, {DW_ERR_NOTFOUND, 404, "missing"},
    {DW_ERR_BUSY, 503, "busy"},     {DW_ERR_HELD, 409, "held"},
    {DW_ERR_STATE, 409, "state"},   {DW_ERR_CHECK, 409, "check"},
    {DW_ERR_NOMEM, 503, "memory"},
};

/* Only what the user can mend is told in full; the rest by its kind. */
static void put_error(struct dw_web_call *call, int status, const char *word,
                      const struct dw_error *error)
{
    struct dw_web_reply *reply = call->reply;
    struct dw_report report = call->report;
    dw_buf__free(&reply->buf);
    free(reply->own);
    reply->own = NULL;
    reply->raw = NULL;
    reply->file[0] = '\0';
    reply->etag[0] = '\0';
    reply->status = status;
    reply->retry = status == 503;
    reply->type = "application/json";
    struct dw_out *out = &call->out;
    dw_out__open(out, NULL, '{');
    dw_out__open(out, "error", '{');
    dw_out__text(out, "code", word);
    dw_out__text(out, "text", error->text);
    if (call->field)
        dw_out__text(out, "field", call->field);
    if (error->line)
        dw_out__int(out, "line", error->line);
    if (error->column)
        dw_out__int(out, "column", error->column);
    dw_out__close(out, '{');
    if (report.n_remarks > 0)
        dw_call__put_remarks(out, &report);
    dw_out__close(out, '{');
}

static void put_failure(struct dw_web_call *call, dw_err err)
{
    for (size_t i = 0; i < DW_COUNT(statuses); i++)
        if (statuses[i].err == err) {
            put_error(call, statuses[i].status, statuses[i].word, &call->error);
            return;
        }
    struct dw_error plain = {.code = err};
    snprintf(plain.text, sizeof plain.text, "this did not work here: %s", dw_err_text(err));
    put_error(call, 500, "failure", &plain);
}

static void refuse(struct dw_web_call *call, int status, const char *word, const char *text)
{
    struct dw_error error = {0};
    snprintf(error.text, sizeof error.text, "%s", text);
    put_error(call, status, word, &error);
}

/* --- a call ----------------------------------------------------------------------------------- */

/* "Ren%C3%A9" to UTF-8; what can't be read is left out. */
static void read_who(const char *text, char out[201])
{
    size_t n = 0;
    for (; text && *text && n < 200; text++) {
        unsigned code = (unsigned char)*text;
        if (*text == '%' && sscanf(text + 1, "%2x", &code) == 1 && text[1] && text[2])
            text += 2;
        if (code >= 0x20 && code != 0x7f)
            out[n++] = (char)code;
    }
    out[n] = '\0';
    out[dw_utf8__check(out, n)] = '\0';
}

static void ready(struct dw_web_call *call)
{
    call->app->hooks.when(call->app->hooks.user, call->when);
    snprintf(call->today, sizeof call->today, "%.10s", call->when);
    read_who(call->request->who, call->who);
    call->act = (struct dw_act){.when = call->when, .who = call->who[0] ? call->who : NULL};
    call->out =
        (struct dw_out){.buf = &call->reply->buf, .style = {.unit = DW_UNIT_MM, .decimals = 6}};
}

static dw_err read_body(struct dw_web_call *call)
{
    const struct dw_web_request *request = call->request;
    json_error_t why;
    errno = 0; /* malloc sets it where Jansson blames the text, or takes half of a string */
    call->body =
        json_loadb(request->body ? request->body : "", request->n, JSON_REJECT_DUPLICATES, &why);
    if (errno == ENOMEM)
        return dw_error__nomem(&call->error);
    if (json_is_object(call->body))
        return DW_OK;
    return dw_error__at(&call->error, DW_ERR_SYNTAX, NULL, call->body ? 0 : why.line,
                        call->body ? 0 : why.column, "the body must be a JSON object: %s",
                        call->body ? "it is another value" : why.text);
}

static bool is_json(const char *type)
{
    static const char json[] = "application/json";
    return type && strncmp(type, json, sizeof json - 1) == 0 &&
           (type[sizeof json - 1] == '\0' || type[sizeof json - 1] == ';');
}

/* What a route asks of who calls it; false: refused. */
static bool may_enter(struct dw_web_call *call, const struct route *route)
{
    const struct dw_web_request *request = call->request;
    if (route->who == ANYONE)
        return true;
    if (!dw_gate__session(&call->app->gate, request->cookie, &call->session)) {
        refuse(call, 401, "session", "there is no session, or it has lapsed");
        return false;
    }
    if (route->who == WRITER && !dw_gate__token(&call->session, request->token)) {
        refuse(call, 403, "token", "the session's token is missing or another one's");
        return false;
    }
    return true;
}

static void run_route(struct dw_web_call *call, const struct route *route)
{
    if (!may_enter(call, route))
        return;
    bool takes_body = route->method == DW_WEB_POST || route->method == DW_WEB_PUT;
    if (takes_body && !is_json(call->request->type)) {
        refuse(call, 415, "type", "the body must be application/json");
        return;
    }
    call->reply->status = 200;
    call->reply->type = "application/json";
    dw_err err = takes_body ? read_body(call) : DW_OK;
    if (!err)
        err = route->run(call);
    if (!err && call->reply->buf.failed)
        err = dw_error__nomem(&call->error);
    if (err)
        put_failure(call, err);
    else if (route->who == WRITER)
        dw_app__look(call->app);
}

static void answer_api(struct dw_web_call *call)
{
    bool other = false;
    const struct route *route = find_route(call, &other);
    if (route)
        run_route(call, route);
    else if (other)
        refuse(call, 405, "method", "this can't be done with it");
    else
        refuse(call, 404, "missing", "there is no such thing");
}

static void answer_asset(struct dw_web_call *call)
{
    const char *path = call->request->path;
    if (call->request->method != DW_WEB_GET) {
        refuse(call, 405, "method", "this can't be done with it");
        return;
    }
    for (size_t i = 0; i < dw_web__n_assets; i++) {
        const struct dw_web_asset *asset = &dw_web__assets[i];
        if (strcmp(asset->path, path) != 0)
            continue;
        struct dw_web_reply *reply = call->reply;
        const char *known = call->request->if_none_match;
        reply->status = known && strcmp(known, asset->etag) == 0 ? 304 : 200;
        reply->type = asset->type;
        snprintf(reply->etag, sizeof reply->etag, "%s", asset->etag);
        if (reply->status == 200) {
            reply->gzip = true;
            reply->raw = asset->bytes;
            reply->n = asset->n;
        }
        return;
    }
    refuse(call, 404, "missing", "there is no such page");
}

void dw_app__answer(struct dw_web_app *app, const struct dw_web_request *request,
                    struct dw_web_reply *reply)
{
    *reply = (struct dw_web_reply){0};
    struct dw_web_call call = {.app = app, .request = request, .reply = reply};
    ready(&call);
    if (!dw_gate__host(&app->gate, request->host))
        refuse(&call, 421, "host", "this server does not answer to that name");
    else if (strncmp(request->path, "/api/", 5) != 0)
        answer_asset(&call);
    else if (!dw_gate__origin(&app->gate, request))
        refuse(&call, 403, "origin", "another site's page may not ask this");
    else
        answer_api(&call);
    json_decref(call.body);
    dw_report_free(&call.report);
    if (reply->buf.failed) {
        dw_web__reply_free(reply);
        dw_web__no_memory(reply);
    }
}

void dw_web__no_memory(struct dw_web_reply *reply)
{
    static const char text[] = "{\"error\":{\"code\":\"memory\",\"text\":\"out of memory\"}}";
    *reply = (struct dw_web_reply){.status = 503,
                                   .type = "application/json",
                                   .raw = (const unsigned char *)text,
                                   .n = sizeof text - 1,
                                   .retry = true};
}

void dw_web__reply_free(struct dw_web_reply *reply)
{
    dw_buf__free(&reply->buf);
    free(reply->own);
    reply->own = NULL;
}
