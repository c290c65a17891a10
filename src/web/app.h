/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The application behind the page: a request in, a reply out. Routes are in one table, app.c.
 *
 * How to add a route: write a handler, add X(method, path, who may, handler) to the list of its
 * file's subject below, and describe it in shared/openapi.yaml. */
#ifndef DW_WEB_APP_H
#define DW_WEB_APP_H

#include "web/gate.h"
#include "web/http.h"
#include "web/news.h"
#include "units/out.h"
#include "web/task.h"
#include "web/web.h"

#include <dropwise/shelf.h>

#include <jansson.h>
#include <pthread.h>

struct dw_web_app {
    struct dw_web_hooks hooks;
    struct dw_web_gate gate;
    char *shelf; /* path of the shelf file */
    struct dw_web_tasks tasks;
    pthread_mutex_t lock; /* of the ledger */
    struct dw_ledger *ledger;
    struct dw_web_news news; /* what changed, for those who listen */
    int64_t step;            /* the last of the shelf's that was told; under `lock` */
};

/* gate.port is set by the caller once it is known. Free what dw_app__init began in every case. */
dw_err dw_app__init(struct dw_web_app *app, const struct dw_web_options *options,
                    struct dw_error *error);
void dw_app__free(struct dw_web_app *app);

/* Tells if another step was made on the shelf, by whomever: called after what may have been one,
 * and now and then, since the command line writes to the same file. */
void dw_app__look(struct dw_web_app *app);

/* Answers a request. Called from several threads at once. Free the reply. */
void dw_app__answer(struct dw_web_app *app, const struct dw_web_request *request,
                    struct dw_web_reply *reply);

/* --- for the handlers ------------------------------------------------------------------------- */

#define DW_WEB_PARAM_TEXT 65

struct dw_web_call {
    struct dw_web_app *app;
    const struct dw_web_request *request;
    struct dw_web_reply *reply;
    struct dw_web_session session;     /* where the route asks for one */
    char params[2][DW_WEB_PARAM_TEXT]; /* what stands for the `*` of the path */
    json_t *body;                      /* an object, where the route takes one */
    char when[DW_WEB_WHEN];
    char today[11];
    char who[201];
    struct dw_act act;
    struct dw_out out;       /* onto the reply */
    struct dw_report report; /* remarks of what was refused */
    const char *field;       /* name of the member that is wrong; static, NULL = not one alone */
    struct dw_error error;
};

/* DW_OK: the reply is written (status 200 unless set). Else the error becomes the reply. */
typedef dw_err dw_web_handler(struct dw_web_call *call);

/* The shelf, for one call at a time. Give it back unless there was an error: the file was replaced
 * underneath. */
dw_err dw_call__shelf(struct dw_web_call *call, struct dw_ledger **out);
/* Is its file still the one that was opened? For who opens it once more. */
dw_err dw_call__same(struct dw_web_call *call);
void dw_call__shelf_end(struct dw_web_call *call);
/* Does the work of a call with the shelf and gives it back. */
dw_err dw_call__on_shelf(struct dw_web_call *call,
                         dw_err (*work)(struct dw_web_call *, struct dw_ledger *));

/* Begins a task: 202 {"task": 3}. The work is freed in every case. */
dw_err dw_call__start(struct dw_web_call *call, const struct dw_task_work *work);

/* Members of the body. DW_ERR_INPUT names what is missing or of another kind; `most` is a limit of
 * bytes. A text that may be missing is then NULL. */
dw_err dw_call__text(struct dw_web_call *call, const char *name, bool must, const char **out);
dw_err dw_call__int(struct dw_web_call *call, const char *name, bool must, int64_t least,
                    int64_t most, int64_t *out);
bool dw_call__yes(const struct dw_web_call *call, const char *name);
/* Loads a text of the call as a job; what is wrong goes into the call's report. Free *out. */
dw_err dw_call__load(struct dw_web_call *call, const char *text, struct dw_job **out);
/* The same with the member "text", which must be there. */
dw_err dw_call__job(struct dw_web_call *call, struct dw_job **out);
/* A length as it was written, in the unit `bare`; 0 if missing. */
dw_err dw_call__length(struct dw_web_call *call, const char *name, bool must, enum dw_unit bare,
                       dw_length *out);
/* An amount as it was written; 0 if missing. */
dw_err dw_call__money(struct dw_web_call *call, const char *name, const char *currency,
                      dw_money *out);
/* Refuses the member: DW_ERR_INPUT. `name` is static. */
dw_err dw_call__wrong(struct dw_web_call *call, const char *name, const char *text);
/* The i-th `*` of the path as a number. DW_ERR_NOTFOUND. */
dw_err dw_call__number(struct dw_web_call *call, size_t i, int64_t *out);

/* "remarks": [...] of a report. */
void dw_call__put_remarks(struct dw_out *out, const struct dw_report *report);

/* --- the routes ------------------------------------------------------------------------------- */

/* Who may: ANYONE with a session or without, USER with one, WRITER with one and its token. The body
 * of POST and PUT is a JSON object. X(method, path, who may, handler) */
#define DW_WEB_ROUTE_LIST(X)                                                                       \
    X(GET, "/api/session", ANYONE, session_get)                                                    \
    X(POST, "/api/session", ANYONE, session_open)                                                  \
    X(DELETE, "/api/session", WRITER, session_close)                                               \
    X(GET, "/api/events", USER, events)                                                            \
    X(GET, "/api/address.svg", USER, address)                                                      \
    X(POST, "/api/read", WRITER, read)                                                             \
    X(POST, "/api/table", WRITER, table)                                                           \
    X(POST, "/api/check", WRITER, check)                                                           \
    X(POST, "/api/open", WRITER, open)                                                             \
    X(GET, "/api/members", USER, members)                                                          \
    X(GET, "/api/documents/*", USER, documents)                                                    \
    X(POST, "/api/documents/*", WRITER, document_add)                                              \
    X(GET, "/api/documents/*/*", USER, document)                                                   \
    X(PUT, "/api/documents/*/*", WRITER, document_save)                                            \
    X(DELETE, "/api/documents/*/*", WRITER, document_drop)                                         \
    X(GET, "/api/tasks/*", USER, task)                                                             \
    X(POST, "/api/tasks/*/stop", WRITER, task_stop)                                                \
    X(GET, "/api/plans", USER, plans)                                                              \
    X(POST, "/api/plans", WRITER, plan_start)                                                      \
    X(GET, "/api/plans/*", USER, plan)                                                             \
    X(POST, "/api/plans/*/hold", WRITER, plan_hold)                                                \
    X(GET, "/api/plans/*/check", USER, plan_check)                                                 \
    X(GET, "/api/plans/*/order", USER, plan_order)                                                 \
    X(GET, "/api/plans/*/quote", USER, plan_quote)                                                 \
    X(GET, "/api/plans/*/papers/*", USER, plan_paper)                                              \
    X(GET, "/api/stocks", USER, stocks)                                                            \
    X(POST, "/api/verify", WRITER, verify)                                                         \
    X(POST, "/api/takeoff", WRITER, takeoff)                                                       \
    X(POST, "/api/pictures", WRITER, pictures)                                                     \
    X(POST, "/api/lengths", WRITER, lengths)                                                       \
    X(GET, "/api/held", USER, held_list)                                                           \
    X(GET, "/api/held/*", USER, held)                                                              \
    X(POST, "/api/held/*/cut", WRITER, held_cut)                                                   \
    X(POST, "/api/held/*/deliver", WRITER, held_deliver)                                           \
    X(POST, "/api/held/*/miscut", WRITER, held_miscut)                                             \
    X(POST, "/api/held/*/release", WRITER, held_release)                                           \
    X(POST, "/api/held/*/rest", WRITER, held_rest)                                                 \
    X(POST, "/api/held/*/true", WRITER, held_true)                                                 \
    X(GET, "/api/shelf", USER, shelf_list)                                                         \
    X(POST, "/api/shelf", WRITER, shelf_add)                                                       \
    X(GET, "/api/shelf/*", USER, shelf_piece)                                                      \
    X(POST, "/api/move", WRITER, move)                                                             \
    X(POST, "/api/scrap", WRITER, scrap)                                                           \
    X(POST, "/api/import", WRITER, import)                                                         \
    X(POST, "/api/count", WRITER, count)                                                           \
    X(GET, "/api/surplus", USER, surplus)                                                          \
    X(GET, "/api/history", USER, history)                                                          \
    X(GET, "/api/rules", USER, rules)                                                              \
    X(PUT, "/api/rules", WRITER, rules_set)                                                        \
    X(GET, "/api/shelf-table", USER, shelf_table)                                                  \
    X(GET, "/api/shelf-labels", USER, shelf_labels)                                                \
    X(GET, "/api/shelf-file", USER, shelf_file)                                                    \
    X(GET, "/api/shelf-check", USER, shelf_check)                                                  \
    X(POST, "/api/posts", WRITER, posts)                                                           \
    X(GET, "/api/materials", USER, materials)                                                      \
    X(POST, "/api/materials", WRITER, material_put)                                                \
    X(POST, "/api/undo", WRITER, undo)

#define DW_WEB_ROUTE_DECLARE(method, path, who, name) dw_web_handler dw_api__##name;
DW_WEB_ROUTE_LIST(DW_WEB_ROUTE_DECLARE)
#undef DW_WEB_ROUTE_DECLARE

/* --- what the page is made of ----------------------------------------------------------------- */

/* Written from src/web/page by src/web/embed.sh. */
struct dw_web_asset {
    const char *path;
    const char *type;
    const char *etag;
    const unsigned char *bytes; /* length n, gzip */
    size_t n;
};
extern const struct dw_web_asset dw_web__assets[];
extern const size_t dw_web__n_assets;

#endif
