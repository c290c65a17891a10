/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Storing a plan of the page with its job, and finding it again. */
#include "web/planned.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAME_MOST 200

/* --- writing ---------------------------------------------------------------------------------- */

static void put_cure(struct dw_out *out, const struct dw_job *job, const struct dw_cure *cure)
{
    static const char *const words[] = {"longer", "more", "any", "rule"};
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "kind", words[cure->kind]);
    if (cure->kind == DW_CURE_MORE)
        dw_out__text(out, "supply", job->supplies[cure->supply].id);
    else if (cure->kind != DW_CURE_RULE)
        dw_out__text(out, "material", job->materials[cure->material].id);
    else
        dw_out__money(out, "money", cure->money);
    dw_out__length(out, "length", cure->length);
    dw_out__int(out, "count", cure->count);
    dw_out__close(out, '{');
}

static void put_note(struct dw_out *out, const struct dw_planned_note *note)
{
    char digest[17];
    snprintf(digest, sizeof digest, "%016" PRIx64, note->digest);
    dw_out__text(out, "text", note->text);
    dw_out__text(out, "job", note->job_key);
    dw_out__int(out, "revision", note->job_revision);
    dw_out__yes(out, "shelf", note->shelf);
    dw_out__text(out, "digest", digest);
    dw_out__int(out, "time_ms", note->time_ms);
    dw_out__int(out, "took_ms", note->took_ms);
    dw_out__int(out, "replaces", note->replaces);
}

static void put_body(struct dw_out *out, const struct dw_planned_note *note,
                     const struct dw_job *job, const struct dw_cure *cures, size_t n_cures,
                     const char *plan)
{
    dw_out__open(out, NULL, '{');
    put_note(out, note);
    dw_out__open(out, "cures", '[');
    for (size_t i = 0; i < n_cures; i++)
        put_cure(out, job, &cures[i]);
    dw_out__close(out, '[');
    dw_out__text(out, "plan", plan);
    dw_out__close(out, '{');
}

/* The document's name tells a list what it wants to know, so that no body need be read:
 *   key of the job | value and currency | bars | status | name of the job */
static void print_name(char out[NAME_MOST], const struct dw_planned_note *note,
                       const struct dw_job *job, const struct dw_plan *plan)
{
    char money[DW_MONEY_TEXT];
    dw_money_print(money, plan->totals.value, job->currency, false);
    int n = snprintf(out, NAME_MOST, "%.64s|%s|%" PRId64 "|%s|%s",
                     note->job_key ? note->job_key : "", money, plan->totals.n_bars,
                     dw_status_word(plan->status), job->name ? job->name : "");
    if (n >= NAME_MOST)
        out[dw_utf8__check(out, NAME_MOST - 1)] = '\0';
}

static dw_err save_body(struct dw_ledger *ledger, const struct dw_act *act, const char *name,
                        const char *body, char **key, struct dw_error *error)
{
    struct dw_document_list *saved = NULL;
    struct dw_document document = {.kind = DW_STORE_PLAN, .name = name, .body = body};
    dw_err err = dw_ledger_document_save(ledger, act, &document, &saved, error);
    struct dw_buf copy = {0};
    if (!err) {
        dw_buf__put(&copy, saved->rows[0].key);
        *key = dw_buf__take(&copy);
        err = *key ? DW_OK : dw_error__nomem(error);
    }
    dw_document_list_free(saved);
    return err;
}

dw_err dw_planned__save(struct dw_ledger *ledger, const struct dw_act *act,
                        const struct dw_planned_note *note, const struct dw_job *job,
                        const struct dw_plan *plan, const struct dw_cure *cures, size_t n_cures,
                        char **key, struct dw_error *error)
{
    *key = NULL;
    char *document = NULL;
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .style = dw_job__style(job), .currency = job->currency};
    dw_err err = dw_plan_to_json(job, plan, &document, error);
    if (err)
        return err;
    put_body(&out, note, job, cures, n_cures, document);
    free(document);
    char *body = dw_buf__take(&buf);
    char name[NAME_MOST];
    print_name(name, note, job, plan);
    err = body ? save_body(ledger, act, name, body, key, error) : dw_error__nomem(error);
    free(body);
    return err;
}

/* --- reading ---------------------------------------------------------------------------------- */

static int64_t int_of(const json_t *object, const char *name)
{
    return json_integer_value(json_object_get(object, name));
}

static const char *text_of(const json_t *object, const char *name)
{
    return json_string_value(json_object_get(object, name));
}

static dw_err damaged(struct dw_error *error)
{
    return dw_error__set(error, DW_ERR_SCHEMA, "the stored plan can't be read");
}

static void read_note(struct dw_planned *planned)
{
    const json_t *body = planned->body;
    const char *digest = text_of(body, "digest");
    planned->note = (struct dw_planned_note){
        .text = text_of(body, "text"),
        .job_key = text_of(body, "job"),
        .job_revision = int_of(body, "revision"),
        .shelf = json_is_true(json_object_get(body, "shelf")),
        .digest = digest ? strtoull(digest, NULL, 16) : 0,
        .time_ms = int_of(body, "time_ms"),
        .took_ms = int_of(body, "took_ms"),
        .replaces = int_of(body, "replaces"),
    };
}

static dw_err read_body(struct dw_planned *planned, struct dw_error *error)
{
    const char *text = planned->note.text, *plan = text_of(planned->body, "plan");
    if (!text || !plan)
        return damaged(error);
    if (json_object_get(planned->body, "rest") ||
        (json_object_get(planned->body, "supplies") && planned->note.shelf)) {
        planned->older = plan;
        return dw_error__set(error, DW_ERR_STATE,
                             "an earlier version of the program stored this plan without the shelf "
                             "that it was made from: it can be looked at and saved, but papers, "
                             "order and quote need a plan of today");
    }
    struct dw_job_source source = {.path = "job", .text = text, .n = strlen(text)};
    dw_err err = dw_job_load(&source, &planned->job, &planned->report, error);
    if (!err)
        err = dw_plan_bring(plan, strlen(plan), "plan", planned->job, error);
    if (!err)
        err = dw_plan_from_json(plan, strlen(plan), "plan", planned->job, &planned->plan, error);
    if (!err) {
        planned->plan->number = planned->held;
        planned->plan->replaces = planned->note.replaces;
    }
    return err;
}

static dw_err find_held(struct dw_ledger *ledger, const char *key, int64_t *held,
                        struct dw_error *error)
{
    struct dw_document_list *list = NULL;
    dw_err err = dw_ledger_documents(ledger, DW_STORE_HELD, &list, error);
    *held = 0;
    for (size_t i = 0; !err && i < list->n; i++)
        if (list->rows[i].name && strcmp(list->rows[i].name, key) == 0)
            *held = strtoll(list->rows[i].key, NULL, 10);
    dw_document_list_free(list);
    return err;
}

dw_err dw_planned__load(struct dw_ledger *ledger, const char *key, struct dw_planned *out,
                        struct dw_error *error)
{
    *out = (struct dw_planned){0};
    dw_err err = dw_ledger_document(ledger, DW_STORE_PLAN, key, &out->list, error);
    if (!err)
        err = find_held(ledger, key, &out->held, error);
    if (err)
        return err;
    out->body = json_loads(out->list->rows[0].body, 0, NULL);
    if (!out->body)
        return damaged(error);
    read_note(out);
    return read_body(out, error);
}

void dw_planned__free(struct dw_planned *planned)
{
    dw_plan_free(planned->plan);
    dw_job_free(planned->job);
    dw_report_free(&planned->report);
    json_decref(planned->body);
    dw_document_list_free(planned->list);
    *planned = (struct dw_planned){0};
}

/* --- held plans ------------------------------------------------------------------------------- */

dw_err dw_planned__of_held(struct dw_ledger *ledger, int64_t held, char **key,
                           struct dw_error *error)
{
    struct dw_document_list *list = NULL;
    char number[24];
    *key = NULL;
    snprintf(number, sizeof number, "%" PRId64, held);
    dw_err err = dw_ledger_document(ledger, DW_STORE_HELD, number, &list, NULL);
    if (err == DW_ERR_NOTFOUND)
        return dw_error__set(error, err, "plan %s was not held from this page", number);
    if (err)
        return dw_error__set(error, err, "%s", dw_err_text(err));
    struct dw_buf copy = {0};
    dw_buf__put(&copy, list->rows[0].name ? list->rows[0].name : "");
    *key = dw_buf__take(&copy);
    dw_document_list_free(list);
    return *key ? DW_OK : dw_error__nomem(error);
}

dw_err dw_planned__mark_held(struct dw_ledger *ledger, const struct dw_act *act, const char *key,
                             int64_t held, struct dw_error *error)
{
    char number[24];
    snprintf(number, sizeof number, "%" PRId64, held);
    struct dw_document document = {.kind = DW_STORE_HELD, .key = number, .name = key, .body = "{}"};
    return dw_ledger_document_save(ledger, act, &document, NULL, error);
}
