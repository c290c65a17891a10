/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the handlers share. */
#include "web/app.h"

#include <stdlib.h>
#include <string.h>

const char *dw_web__query(const struct dw_web_request *request, const char *name)
{
    for (size_t i = 0; i < request->n_query; i++)
        if (strcmp(request->query[i].name, name) == 0)
            return request->query[i].value;
    return NULL;
}

dw_err dw_call__shelf(struct dw_web_call *call, struct dw_ledger **out)
{
    pthread_mutex_lock(&call->app->lock);
    *out = call->app->ledger;
    dw_err err = dw_ledger_same(*out, &call->error);
    if (err)
        pthread_mutex_unlock(&call->app->lock);
    return err;
}

void dw_call__shelf_end(struct dw_web_call *call)
{
    pthread_mutex_unlock(&call->app->lock);
}

dw_err dw_call__on_shelf(struct dw_web_call *call,
                         dw_err (*work)(struct dw_web_call *, struct dw_ledger *))
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = work(call, ledger);
    dw_call__shelf_end(call);
    return err;
}

dw_err dw_call__same(struct dw_web_call *call)
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__shelf(call, &ledger);
    if (!err)
        dw_call__shelf_end(call);
    return err;
}

dw_err dw_call__start(struct dw_web_call *call, const struct dw_task_work *work)
{
    int64_t id = 0;
    dw_err err = dw_call__same(call);
    if (err && work->free)
        work->free(work->work);
    else if (!err)
        err = dw_tasks__add(&call->app->tasks, work, &id, &call->error);
    if (err)
        return err;
    call->reply->status = 202;
    dw_out__open(&call->out, NULL, '{');
    dw_out__int(&call->out, "task", id);
    dw_out__close(&call->out, '{');
    return DW_OK;
}

dw_err dw_call__wrong(struct dw_web_call *call, const char *name, const char *text)
{
    call->field = name;
    return dw_error__set(&call->error, DW_ERR_INPUT, "%s", text);
}

dw_err dw_call__text(struct dw_web_call *call, const char *name, bool must, const char **out)
{
    const json_t *value = json_object_get(call->body, name);
    *out = json_string_value(value);
    bool missing = !value || json_is_null(value) || (*out && !**out);
    const char *what = NULL;
    if (missing)
        what = must ? "is missing" : NULL;
    else if (!*out)
        what = "must be a text";
    else if (strlen(*out) != json_string_length(value))
        what = "has a zero character";
    if (missing)
        *out = NULL;
    if (!what)
        return DW_OK;
    call->field = name;
    return dw_error__set(&call->error, DW_ERR_INPUT, "%s %s", name, what);
}

dw_err dw_call__load(struct dw_web_call *call, const char *text, struct dw_job **out)
{
    struct dw_job_source source = {.path = "job", .text = text, .n = strlen(text)};
    return dw_job_load(&source, out, &call->report, &call->error);
}

dw_err dw_call__job(struct dw_web_call *call, struct dw_job **out)
{
    const char *text = NULL;
    dw_err err = dw_call__text(call, "text", true, &text);
    return err ? err : dw_call__load(call, text, out);
}

dw_err dw_call__int(struct dw_web_call *call, const char *name, bool must, int64_t least,
                    int64_t most, int64_t *out)
{
    const json_t *value = json_object_get(call->body, name);
    bool missing = !value || json_is_null(value);
    if (missing && !must)
        return DW_OK;
    int64_t number = json_integer_value(value);
    if (json_is_integer(value) && number >= least && number <= most) {
        *out = number;
        return DW_OK;
    }
    call->field = name;
    if (missing)
        return dw_error__set(&call->error, DW_ERR_INPUT, "%s is missing", name);
    return dw_error__set(&call->error, DW_ERR_INPUT, "%s must be a whole number from %lld to %lld",
                         name, (long long)least, (long long)most);
}

bool dw_call__yes(const struct dw_web_call *call, const char *name)
{
    return json_is_true(json_object_get(call->body, name));
}

dw_err dw_call__length(struct dw_web_call *call, const char *name, bool must, enum dw_unit bare,
                       dw_length *out)
{
    const char *text = NULL;
    struct dw_error why = {0};
    *out = 0;
    dw_err err = dw_call__text(call, name, must, &text);
    if (!err && text && (err = dw_length_parse(text, strlen(text), bare, out, &why))) {
        call->field = name;
        dw_error__at(&call->error, err, NULL, 0, why.column, "%s: %s", name, why.text);
    }
    return err;
}

dw_err dw_call__money(struct dw_web_call *call, const char *name, const char *currency,
                      dw_money *out)
{
    const char *text = NULL;
    struct dw_error why = {0};
    *out = 0;
    dw_err err = dw_call__text(call, name, false, &text);
    if (!err && text && (err = dw_money_parse(text, strlen(text), currency, out, &why))) {
        call->field = name;
        dw_error__at(&call->error, err, NULL, 0, why.column, "%s: %s", name, why.text);
    }
    return err;
}

dw_err dw_call__number(struct dw_web_call *call, size_t i, int64_t *out)
{
    const char *text = call->params[i];
    *out = 0;
    for (size_t k = 0; text[k]; k++) {
        if (text[k] < '0' || text[k] > '9' || k >= 15)
            return dw_error__set(&call->error, DW_ERR_NOTFOUND, "there is no number %s", text);
        *out = *out * 10 + (text[k] - '0');
    }
    return DW_OK;
}

void dw_call__put_remarks(struct dw_out *out, const struct dw_report *report)
{
    dw_out__open(out, "remarks", '[');
    for (size_t i = 0; i < report->n_remarks; i++) {
        const struct dw_remark *remark = &report->remarks[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "severity", dw_severity_word(remark->severity));
        dw_out__text(out, "text", remark->what.text);
        if (remark->what.file[0])
            dw_out__text(out, "file", remark->what.file);
        if (remark->what.line)
            dw_out__int(out, "line", remark->what.line);
        if (remark->what.column)
            dw_out__int(out, "column", remark->what.column);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}
