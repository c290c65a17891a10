/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A server's application on a fresh shelf, asked without sockets. */
#ifndef WEB_SHOP_H
#define WEB_SHOP_H

#include "web/app.h"

#include "job/store.h"

struct web_shop {
    char folder[64];
    char path[96];
    int64_t now_ms;
    _Atomic uint64_t seed; /* of the random bytes */
    struct dw_web_options options;
    struct dw_web_app *app;
    char cookie[160];
    char token[DW_WEB_KEY_TEXT];
};

/* A folder, options with a clock that stands still and bytes that are the same each time. */
void web_shop_ready(struct web_shop *shop);
/* The same with the application, at port 7410, and a session. */
void web_shop_open(struct web_shop *shop);
void web_shop_close(struct web_shop *shop);

/* The shop of a test program, and its group fixture. */
extern struct web_shop the_shop;
int web_shop_setup(void **state);
int web_shop_teardown(void **state);

/* A request of the shop's own page; body NULL: none. *reply is the body, yours to free. */
int web_shop_ask(struct web_shop *shop, enum dw_web_method method, const char *path,
                 const char *body, char **reply);
/* Writes a paper of the page to a file in the shop's folder, and reads its text (pdftotext): yours
 * to free. */
char *web_shop_paper(struct web_shop *shop, const char *path);
/* Asks and expects the status; returns the reply as JSON (NULL if it is none). */
json_t *web_shop_json(struct web_shop *shop, enum dw_web_method method, const char *path,
                      const char *body, int status);
/* Follows a task to its end: "done" or "failed" with all that is told of it. */
json_t *web_shop_follow(struct web_shop *shop, int64_t task);
/* A member's text, "" if it has none; its number, 0 if it is none. */
const char *web_shop_text(const json_t *object, const char *name);
int64_t web_shop_number(const json_t *object, const char *name);
/* Posts {"text": job, ...} to the shop of the program, and expects the status. */
json_t *web_shop_post(const char *path, const char *job, const char *more, int status);
/* The same, and follows the task that begins: all that is told at its end. */
json_t *web_shop_work(const char *path, const char *job, const char *more);
/* {"text": <text>, ...}: more is appended as it stands. Yours to free. */
char *web_shop_body(const char *name, const char *text, const char *more);

#endif
