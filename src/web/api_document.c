/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs and settings as documents of the shelf file. */
#include "web/app.h"

#include "job/store.h"

#include <string.h>

/* What a user may read and write; plans are written by the program alone. */
static dw_err check_kind(struct dw_web_call *call)
{
    static const char *const kinds[] = {DW_STORE_JOB, DW_STORE_SETTINGS};
    for (size_t i = 0; i < DW_COUNT(kinds); i++)
        if (strcmp(call->params[0], kinds[i]) == 0)
            return DW_OK;
    return dw_error__set(&call->error, DW_ERR_NOTFOUND, "there are no documents %s",
                         call->params[0]);
}

static void put_document(struct dw_out *out, const struct dw_document *document)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "key", document->key);
    dw_out__text(out, "name", document->name);
    dw_out__int(out, "revision", document->revision);
    dw_out__text(out, "when", document->when);
    dw_out__text(out, "who", document->who);
    if (document->body)
        dw_out__text(out, "body", document->body);
    dw_out__close(out, '{');
}

dw_err dw_api__documents(struct dw_web_call *call)
{
    struct dw_ledger *ledger = NULL;
    struct dw_document_list *list = NULL;
    dw_err err = check_kind(call);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_ledger_documents(ledger, call->params[0], &list, &call->error);
    dw_call__shelf_end(call);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__open(&call->out, "documents", '[');
        for (size_t i = 0; i < list->n; i++)
            put_document(&call->out, &list->rows[i]);
        dw_out__close(&call->out, '[');
        dw_out__close(&call->out, '{');
    }
    dw_document_list_free(list);
    return err;
}

/* Whoever has the document open, or the list that it stands in, reads it anew. */
static void tell(struct dw_web_call *call, const char *key, int64_t revision)
{
    bool job = strcmp(call->params[0], DW_STORE_JOB) == 0;
    dw_news__tell(&call->app->news, job ? DW_NEWS_JOB : DW_NEWS_SETTINGS, key, revision);
}

static dw_err show(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_document_list *list = NULL;
    dw_err err = dw_ledger_document(ledger, call->params[0], call->params[1], &list, &call->error);
    if (!err)
        put_document(&call->out, &list->rows[0]);
    dw_document_list_free(list);
    return err;
}

dw_err dw_api__document(struct dw_web_call *call)
{
    struct dw_ledger *ledger = NULL;
    dw_err err = check_kind(call);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = show(call, ledger);
    dw_call__shelf_end(call);
    return err;
}

static dw_err save(struct dw_web_call *call, const char *key)
{
    struct dw_ledger *ledger = NULL;
    struct dw_document_list *saved = NULL;
    struct dw_document document = {.kind = call->params[0], .key = key};
    dw_err err = check_kind(call);
    if (!err)
        err = dw_call__text(call, "name", false, &document.name);
    if (!err)
        err = dw_call__text(call, "body", true, &document.body);
    if (!err)
        err = dw_call__int(call, "revision", key != NULL, 0, INT64_MAX, &document.revision);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_ledger_document_save(ledger, &call->act, &document, &saved, &call->error);
    dw_call__shelf_end(call);
    if (!err) {
        put_document(&call->out, &saved->rows[0]);
        tell(call, saved->rows[0].key, saved->rows[0].revision);
    }
    dw_document_list_free(saved);
    return err;
}

dw_err dw_api__document_add(struct dw_web_call *call)
{
    return save(call, NULL);
}

/* A document that another one saved meanwhile is refused: state. The page then reads it and shows
 * what changed. */
dw_err dw_api__document_save(struct dw_web_call *call)
{
    return save(call, call->params[1]);
}

dw_err dw_api__document_drop(struct dw_web_call *call)
{
    struct dw_ledger *ledger = NULL;
    int64_t revision = 0;
    const char *text = dw_web__query(call->request, "revision");
    for (size_t i = 0; text && i < 15 && text[i] >= '0' && text[i] <= '9'; i++)
        revision = revision * 10 + (text[i] - '0');
    dw_err err = check_kind(call);
    if (!err)
        err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_ledger_document_drop(ledger, call->params[0], call->params[1], revision, &call->error);
    dw_call__shelf_end(call);
    if (!err)
        tell(call, call->params[1], 0);
    dw_out__open(&call->out, NULL, '{');
    dw_out__close(&call->out, '{');
    return err;
}
