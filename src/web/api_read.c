/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What was typed or pasted, and what is understood of it. */
#include "web/base64.h"
#include "web/stock.h"

#include "job/pasted.h"

#include "model/model.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CELLS_MOST 5000

/* "unit": "in", "fractions": 32, "currency": "EUR" of the body. */
static dw_err read_style(struct dw_web_call *call)
{
    const char *unit = NULL, *currency = NULL;
    int64_t denominator = 64;
    dw_err err = dw_call__text(call, "unit", false, &unit);
    if (!err)
        err = dw_call__text(call, "currency", false, &currency);
    if (!err)
        err = dw_call__int(call, "fractions", false, 0, 64, &denominator);
    if (err)
        return err;
    enum dw_unit found = unit ? dw_unit_find(unit, strlen(unit)) : DW_UNIT_MM;
    if (found == DW_UNIT_NONE)
        return dw_error__set(&call->error, DW_ERR_INPUT, "unit must be mm, cm, m, in or ft");
    if (denominator & (denominator - 1))
        return dw_error__set(&call->error, DW_ERR_INPUT, "fractions must be a power of two");
    if (currency && strcmp(currency, "XXX") != 0 && !dw_currency_find(currency))
        return dw_error__set(&call->error, DW_ERR_INPUT, "%.8s is no currency of ISO 4217",
                             currency);
    call->out.style.unit = found;
    call->out.style.denominator = (int)denominator;
    call->out.currency = currency ? currency : "XXX";
    return DW_OK;
}

/* --- cells ------------------------------------------------------------------------------------ */

static dw_err read_cell(struct dw_out *out, const char *kind, const char *text, struct dw_buf *says,
                        struct dw_error *why)
{
    size_t n = strlen(text);
    dw_length lo = 0, hi = 0;
    dw_money money = 0;
    char print[DW_LENGTH_TEXT];
    dw_err err = DW_OK;
    if (strcmp(kind, "money") == 0) {
        err = dw_money_parse(text, n, out->currency, &money, why);
        if (!err && dw_money_print(print, money, out->currency, false) > 0)
            dw_buf__put(says, print);
        return err;
    }
    if (strcmp(kind, "range") == 0)
        err = dw_range_parse(text, n, out->style.unit, &lo, &hi, why);
    else
        err = dw_length_parse(text, n, out->style.unit, &lo, why);
    if (err)
        return err;
    dw_length_print(print, lo, &out->style);
    dw_buf__put(says, print);
    if (strcmp(kind, "range") == 0 && hi != lo) {
        dw_length_print(print, hi, &out->style);
        dw_buf__format(says, " to %s", print);
    }
    return DW_OK;
}

static void put_cell(struct dw_out *out, const char *kind, const char *text)
{
    struct dw_error why = {0};
    struct dw_buf says = {0};
    dw_err err = read_cell(out, kind, text, &says, &why);
    dw_out__open(out, NULL, '{');
    dw_out__yes(out, "good", !err);
    dw_out__text(out, "says", err || says.failed ? why.text : says.text);
    if (err && why.column)
        dw_out__int(out, "column", why.column);
    dw_out__close(out, '{');
    out->buf->failed = out->buf->failed || says.failed;
    dw_buf__free(&says);
}

/* {"unit": "in", "cells": [["length", "8'-5/8\""], ...]}: each read as it stands. */
dw_err dw_api__read(struct dw_web_call *call)
{
    struct dw_out *out = &call->out;
    const json_t *cells = json_object_get(call->body, "cells");
    dw_err err = read_style(call);
    if (err)
        return err;
    if (!json_is_array(cells) || json_array_size(cells) > CELLS_MOST)
        return dw_error__set(&call->error, DW_ERR_INPUT,
                             "cells must be a list of at most %d pairs of kind and text",
                             CELLS_MOST);
    dw_out__open(out, NULL, '{');
    dw_out__open(out, "cells", '[');
    for (size_t i = 0; i < json_array_size(cells); i++) {
        const json_t *cell = json_array_get(cells, i);
        const char *kind = json_string_value(json_array_get(cell, 0));
        const char *text = json_string_value(json_array_get(cell, 1));
        put_cell(out, kind ? kind : "length", text ? text : "");
    }
    dw_out__close(out, '[');
    dw_out__close(out, '{');
    return DW_OK;
}

/* --- a table, a job as text ------------------------------------------------------------------- */

/* *json, what was read, with the remarks on it; frees it. */
static dw_err put_tree(struct dw_web_call *call, dw_err err, const char *name, char *json)
{
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__raw(&call->out, name, json);
        dw_call__put_remarks(&call->out, &call->report);
        dw_out__close(&call->out, '{');
    }
    free(json);
    return err;
}

/* The bytes of a file come as base64, those of a text as they are. *own is to be freed. */
static dw_err read_brought(struct dw_web_call *call, struct dw_pasted *pasted, char **own)
{
    const char *bytes = NULL;
    dw_err err = dw_call__text(call, "bytes", false, &bytes);
    if (!err && !bytes)
        err = dw_call__text(call, "text", true, &pasted->text);
    if (err || !bytes) {
        pasted->n = pasted->text ? strlen(pasted->text) : 0;
        return err;
    }
    bool good = dw_base64__read(bytes, own, &pasted->n);
    pasted->text = *own;
    if (!good && pasted->n > 0)
        return dw_error__nomem(&call->error);
    return good ? DW_OK : dw_call__wrong(call, "bytes", "bytes must be base64 (RFC 4648)");
}

/* {"unit": "mm", "text": "label\tlength\t...", "what": "parts", "columns": "length=B"}: rows of a
 * spreadsheet; or {"bytes": "UEsDB...", "name": "cut.xlsx", "sheet": "Frame", ...}: a list as a
 * file. */
dw_err dw_api__table(struct dw_web_call *call)
{
    struct dw_pasted pasted = {.what = NULL};
    char *json = NULL, *own = NULL;
    dw_err err = read_style(call);
    if (!err)
        err = dw_call__text(call, "what", false, &pasted.what);
    if (!err)
        err = dw_call__text(call, "columns", false, &pasted.columns);
    if (!err)
        err = dw_call__text(call, "name", false, &pasted.name);
    if (!err)
        err = dw_call__text(call, "sheet", false, &pasted.sheet);
    if (!err)
        err = read_brought(call, &pasted, &own);
    pasted.what = pasted.what ? pasted.what : "parts";
    pasted.unit = call->out.style.unit;
    if (!err)
        err = dw_pasted__table(&pasted, &json, &call->report, &call->error);
    free(own);
    return put_tree(call, err, "table", json);
}

/* {"text": "dropwise: 1\n..."}: a job file, to be edited on the page. */
dw_err dw_api__open(struct dw_web_call *call)
{
    const char *text = NULL;
    char *json = NULL;
    dw_err err = dw_call__text(call, "text", true, &text);
    if (!err)
        err = dw_pasted__job(text, strlen(text), &json, &call->report, &call->error);
    return put_tree(call, err, "job", json);
}

/* What can be given of each record of a job, and of a piece of the shelf: forms are made of it. */
dw_err dw_api__members(struct dw_web_call *call)
{
    dw_out__open(&call->out, NULL, '{');
    dw_pasted__fields(&call->out, "records");
    dw_stock__put_given(&call->out, "piece");
    dw_out__close(&call->out, '{');
    return DW_OK;
}

/* --- a whole job ------------------------------------------------------------------------------ */

static void put_part(struct dw_out *out, const struct dw_part *part)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "label", part->label);
    dw_out__length(out, "least", part->min);
    if (part->max != part->min)
        dw_out__length(out, "most", part->max);
    dw_out__int(out, "count", part->count);
    dw_out__yes(out, "post", part->post);
    dw_out__int(out, "line", part->at.line);
    dw_out__close(out, '{');
}

/* A group of materials that are planned together. */
static void put_group(struct dw_out *out, const struct dw_job *job,
                      const struct dw_job_outline *outline, size_t g)
{
    const struct dw_job_group *group = &outline->groups[g];
    dw_out__open(out, NULL, '{');
    dw_out__open(out, "materials", '[');
    for (size_t m = 0; m < job->n_materials; m++)
        if (outline->group_of[m] == g)
            dw_out__text(out, NULL, job->materials[m].id);
    dw_out__close(out, '[');
    dw_out__int(out, "n_parts", group->n_parts);
    dw_out__int(out, "n_posts", group->n_posts);
    dw_out__length(out, "net", group->net);
    dw_out__int(out, "least_bars", group->least_bars);
    dw_out__close(out, '{');
}

static dw_err put_outline(struct dw_web_call *call, const struct dw_job *job)
{
    struct dw_out *out = &call->out;
    struct dw_job_outline outline = {0};
    dw_err err = dw_job_outline_make(job, &outline, &call->error);
    if (!err) {
        out->style = dw_job__style(job);
        dw_out__int(out, "n_parts", outline.n_parts);
        dw_out__int(out, "n_posts", outline.n_posts);
        dw_out__length(out, "net", outline.net);
        dw_out__open(out, "groups", '[');
        for (size_t g = 0; g < outline.n_groups; g++)
            put_group(out, job, &outline, g);
        dw_out__close(out, '[');
        dw_out__open(out, "parts", '[');
        for (size_t i = 0; i < job->n_parts; i++)
            put_part(out, &job->parts[i]);
        dw_out__close(out, '[');
    }
    dw_job_outline_free(&outline);
    return err;
}

/* {"text": ...}: a whole job; good or not, the remarks say with line and column. */
dw_err dw_api__check(struct dw_web_call *call)
{
    struct dw_job *job = NULL;
    dw_err err = dw_call__job(call, &job);
    bool good = !err;
    if (err == DW_ERR_INPUT && call->report.n_wrong > 0)
        err = DW_OK;
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__yes(&call->out, "good", good);
        dw_call__put_remarks(&call->out, &call->report);
        if (good)
            err = put_outline(call, job);
        dw_out__close(&call->out, '{');
    }
    dw_job_free(job);
    return err;
}
