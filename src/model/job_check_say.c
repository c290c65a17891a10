/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of dw_job_check share: remarks, quantities within their limits, ids that differ.
 */
#include "model/check.h"

#include <assert.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void dw_check__say(struct dw_check *check, enum dw_severity severity, const struct dw_place *at,
                   const char *format, ...)
{
    char text[sizeof((struct dw_error *)0)->text];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    struct dw_place none = {0};
    if (!at)
        at = &none;
    dw_err err =
        dw_report__add(check->report, severity, at->file, at->line, at->column, "%s", text);
    if (err != DW_OK)
        check->err = err;
}

struct dw_check_text dw_check__length(const struct dw_check *check, dw_length nm)
{
    struct dw_check_text out = {0};
    static_assert(sizeof out.text >= DW_LENGTH_TEXT, "room for a length");
    struct dw_length_style style = {
        .unit = check->job->unit, .denominator = check->job->denominator, .decimals = 4};
    dw_length_print(out.text, nm, &style);
    return out;
}

struct dw_check_text dw_check__money(const struct dw_check *check, dw_money amount)
{
    struct dw_check_text out = {0};
    static_assert(sizeof out.text >= DW_MONEY_TEXT, "room for an amount");
    dw_money_print(out.text, amount, check->job->currency, false);
    return out;
}

bool dw_check__length_in(struct dw_check *check, const struct dw_place *at, const char *what,
                         const char *id, dw_length value, dw_length least, dw_length most)
{
    if (value >= least && value <= most)
        return true;
    const char *of = id ? " of " : "";
    const char *give = least > 0 ? "more than 0" : "0 or more";
    if (!id)
        id = "";
    if (value < least)
        dw_check__say(check, DW_WRONG, at, "%s%s%s is %s; give %s", what, of, id,
                      value < 0 ? "negative" : "0", give);
    else
        dw_check__say(check, DW_WRONG, at, "%s%s%s is %s; the most is %s", what, of, id,
                      dw_check__length(check, value).text, dw_check__length(check, most).text);
    return false;
}

bool dw_check__money_in(struct dw_check *check, const struct dw_place *at, const char *what,
                        const char *id, dw_money value)
{
    if (value >= 0 && value <= DW_MONEY_MAX)
        return true;
    const char *open = id ? " of " : "";
    if (value < 0)
        dw_check__say(check, DW_WRONG, at, "%s%s%s is negative; give 0 or more", what, open,
                      id ? id : "");
    else
        dw_check__say(check, DW_WRONG, at,
                      "%s%s%s is larger than can be reckoned with; the most is %s", what, open,
                      id ? id : "", dw_check__money(check, DW_MONEY_MAX).text);
    return false;
}

const char *dw_check__name(const char *id)
{
    return id ? id : "?";
}

static int compare_ids(const void *a, const void *b)
{
    const struct dw_check_id *x = a, *y = b;
    int order = strcmp(x->id ? x->id : "", y->id ? y->id : "");
    return order ? order : (x->index > y->index) - (x->index < y->index);
}

static int compare_index(const void *a, const void *b)
{
    const struct dw_check_id *x = a, *y = b;
    return (x->index > y->index) - (x->index < y->index);
}

void dw_check__ids(struct dw_check *check, const char *what, struct dw_check_id *ids, size_t n)
{
    if (n == 0)
        return;
    qsort(ids, n, sizeof *ids, compare_ids);
    size_t n_bad = 0;
    for (size_t i = 0; i < n; i++) {
        bool empty = !ids[i].id || !*ids[i].id;
        if (empty || (i > 0 && ids[i - 1].id && strcmp(ids[i].id, ids[i - 1].id) == 0))
            ids[n_bad++] = ids[i];
    }
    qsort(ids, n_bad, sizeof *ids, compare_index);
    for (size_t i = 0; i < n_bad; i++) {
        if (!ids[i].id || !*ids[i].id)
            dw_check__say(check, DW_WRONG, ids[i].at, "a %s has no id; name it", what);
        else
            dw_check__say(check, DW_WRONG, ids[i].at,
                          "two of the %s ids are \"%s\"; each must differ", what, ids[i].id);
    }
}
