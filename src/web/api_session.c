/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sessions, and the address as a code for the phone. */
#include "web/app.h"

#include "job/paper.h"

#include <stdio.h>
#include <string.h>

static void put_session(struct dw_web_call *call, bool open)
{
    const struct dw_web_gate *gate = &call->app->gate;
    struct dw_out *out = &call->out;
    dw_out__open(out, NULL, '{');
    dw_out__yes(out, "open", open);
    dw_out__yes(out, "passphrase", gate->passphrase != NULL);
    dw_out__yes(out, "lan", gate->lan[0] != '\0');
    if (open)
        dw_out__text(out, "token", call->session.token);
    dw_out__close(out, '{');
}

static dw_err open_session(struct dw_web_call *call, const char *passphrase, size_t n)
{
    dw_err err = dw_gate__open(&call->app->gate, call->request->from, passphrase, n, &call->session,
                               &call->error);
    if (err)
        return err;
    snprintf(call->reply->cookie, sizeof call->reply->cookie,
             "dropwise=%s; Path=/; HttpOnly; SameSite=Strict", call->session.key);
    put_session(call, true);
    return DW_OK;
}

/* Without a passphrase a session is opened at once. */
dw_err dw_api__session_get(struct dw_web_call *call)
{
    bool there = dw_gate__session(&call->app->gate, call->request->cookie, &call->session);
    if (!there && !call->app->gate.passphrase)
        return open_session(call, NULL, 0);
    put_session(call, there);
    return DW_OK;
}

dw_err dw_api__session_open(struct dw_web_call *call)
{
    const char *passphrase = NULL;
    dw_err err = dw_call__text(call, "passphrase", call->app->gate.passphrase != NULL, &passphrase);
    return err ? err : open_session(call, passphrase, passphrase ? strlen(passphrase) : 0);
}

dw_err dw_api__session_close(struct dw_web_call *call)
{
    dw_gate__close(&call->app->gate, &call->session);
    snprintf(call->reply->cookie, sizeof call->reply->cookie,
             "dropwise=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0");
    put_session(call, false);
    return DW_OK;
}

/* The address of the page itself, without the passphrase. */
dw_err dw_api__address(struct dw_web_call *call)
{
    char text[96];
    struct dw_paper_file file = {0};
    const struct dw_web_gate *gate = &call->app->gate;
    snprintf(text, sizeof text, "http://%s:%u/", gate->lan[0] ? gate->lan : "127.0.0.1",
             (unsigned)gate->port);
    dw_err err = dw_paper__code(text, 40, &file, &call->error);
    call->reply->type = "image/svg+xml";
    call->reply->own = file.bytes;
    call->reply->n = file.n;
    return err;
}

/* What changes from now on, as server-sent events: the server keeps the connection open. */
dw_err dw_api__events(struct dw_web_call *call)
{
    call->reply->type = "text/event-stream";
    call->reply->stream = true;
    return DW_OK;
}
