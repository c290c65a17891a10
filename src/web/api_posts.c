/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Posts that the offcuts could become: of a plan, of the shelf as it stands, of a job's own list.
 */
#include "web/planned.h"

#include <dropwise/posts.h>

#include <dropwise/caution.h>

#include <stdlib.h>
#include <string.h>

#define BUSY_MS 5000

/* The work of a task. */
struct asking {
    struct dw_planned planned; /* where a plan was named: job and plan are its own */
    struct dw_job *job;        /* else of the text */
    struct dw_post_load load;
    bool shelf;
    bool bars;
};

static void free_asking(void *work)
{
    struct asking *asking = work;
    dw_planned__free(&asking->planned);
    dw_job_free(asking->job);
    free(asking);
}

/* --- the answer ------------------------------------------------------------------------------- */

static void put_figure(struct dw_out *out, const char *key, double value)
{
    char text[32];
    snprintf(text, sizeof text, "%.2f", value);
    dw_out__raw(out, key, text);
}

static void put_check(struct dw_out *out, const struct dw_post_check *check)
{
    if (!check->done && !check->why_not)
        return;
    dw_out__open(out, "check", '{');
    dw_out__yes(out, "done", check->done);
    if (check->done) {
        dw_out__yes(out, "fits", check->fits);
        put_figure(out, "droop_mm", check->droop_mm);
        put_figure(out, "droop_most_mm", check->droop_most_mm);
        put_figure(out, "stress_mpa", check->stress_mpa);
        put_figure(out, "stress_most_mpa", check->stress_most_mpa);
        put_figure(out, "e_mpa", check->e_mpa);
        put_figure(out, "inertia_mm4", check->inertia_mm4);
        put_figure(out, "modulus_mm3", check->modulus_mm3);
        put_figure(out, "yield_mpa", check->yield_mpa);
        dw_out__text(out, "source", check->source);
    } else {
        dw_out__text(out, "why_not", check->why_not);
    }
    dw_out__close(out, '{');
}

static void put_choice(struct dw_out *out, const struct dw_job *job,
                       const struct dw_post_list *list, const struct dw_post_choice *row)
{
    const struct dw_post_source *source = &list->sources[row->source];
    dw_out__open(out, NULL, '{');
    dw_out__int(out, "source", (int64_t)row->source);
    dw_out__text(out, "number", source->number);
    dw_out__text(out, "left_of", source->from);
    dw_out__text(out, "place", source->place);
    dw_out__text(out, "material", job->materials[source->material].id);
    dw_out__length(out, "length", source->length);
    dw_out__text(out, "post", row->wish == DW_NONE ? NULL : job->parts[row->wish].label);
    if (row->wish != DW_NONE) {
        dw_out__length(out, "cut", row->length);
        dw_out__length(out, "left", row->leftover);
        dw_out__money(out, "worth", row->worth);
        dw_out__money(out, "gain", row->gain);
        put_check(out, &row->check);
    }
    dw_out__open(out, "could", '[');
    for (size_t k = 0; k < row->n_could; k++)
        dw_out__text(out, NULL, job->parts[row->could[k]].label);
    dw_out__close(out, '[');
    dw_out__close(out, '{');
}

static void put_posts(struct dw_out *out, const struct dw_job *job, const struct dw_post_list *list,
                      const struct dw_report *doubts)
{
    int64_t n = 0, wishes = 0;
    for (size_t i = 0; i < list->n; i++)
        n += list->rows[i].wish != DW_NONE;
    for (size_t i = 0; i < job->n_parts; i++)
        wishes += job->parts[i].post;
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "currency", job->currency);
    dw_out__int(out, "wishes", wishes);
    dw_out__int(out, "posts", n);
    dw_out__int(out, "n_offcuts", (int64_t)list->n_sources);
    dw_out__yes(out, "several", list->several);
    dw_out__money(out, "worth", list->worth);
    dw_out__money(out, "gain", list->gain);
    dw_out__text(out, "formula", dw_posts_formula());
    dw_out__text(out, "caution", dw_caution_text(DW_CAUTION_LOAD));
    dw_out__open(out, "doubts", '[');
    for (size_t i = 0; i < doubts->n_remarks; i++)
        dw_out__text(out, NULL, doubts->remarks[i].what.text);
    dw_out__close(out, '[');
    dw_out__open(out, "offcuts", '[');
    for (size_t i = 0; i < list->n; i++)
        put_choice(out, job, list, &list->rows[i]);
    dw_out__close(out, '[');
    dw_out__close(out, '{');
}

/* --- the work --------------------------------------------------------------------------------- */

static dw_err run_posts(void *work, const char *shelf, const struct dw_hooks *hooks, char **out,
                        struct dw_error *error)
{
    (void)hooks;
    struct asking *asking = work;
    const struct dw_job *job = asking->job ? asking->job : asking->planned.job;
    struct dw_post_request request = {
        .plan = asking->planned.plan, .bars = asking->bars, .load = asking->load};
    struct dw_post_list *list = NULL;
    struct dw_report doubts = {0};
    dw_err err = dw_posts_doubt(&asking->load, &doubts);
    if (!err && asking->shelf)
        err = dw_ledger_open(shelf, DW_LEDGER_READ, BUSY_MS, &request.ledger, error);
    if (!err)
        err = dw_posts_find(job, &request, &list, error);
    if (!err) {
        struct dw_buf buf = {0};
        struct dw_out json = {.buf = &buf, .style = dw_job__style(job), .currency = job->currency};
        put_posts(&json, job, list, &doubts);
        *out = dw_buf__take(&buf);
        err = *out ? DW_OK : dw_error__nomem(error);
    }
    dw_report_free(&doubts);
    dw_post_list_free(list);
    dw_ledger_close(request.ledger);
    return err;
}

static dw_err load_plan(struct dw_web_call *call, const char *key, struct asking *asking)
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__shelf(call, &ledger);
    if (err)
        return err;
    err = dw_planned__load(ledger, key, &asking->planned, &call->error);
    dw_call__shelf_end(call);
    return err;
}

static dw_err read_load(struct dw_web_call *call, enum dw_unit unit, struct dw_post_load *load)
{
    static const char *const names[] = {"load", "droop", "safety", "stiffness", "yield"};
    struct dw_post_asked asked = {0};
    const char **texts[] = {&asked.load, &asked.droop, &asked.safety, &asked.stiffness,
                            &asked.yield};
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < DW_COUNT(texts); i++)
        err = dw_call__text(call, names[i], false, texts[i]);
    if (err)
        return err;
    err = dw_posts_read(&asked, unit, load, &call->error);
    for (size_t i = 0; err && i < DW_COUNT(names); i++)
        if (strncmp(call->error.text, names[i], strlen(names[i])) == 0)
            call->field = names[i];
    return err;
}

/* {"plan": key} or {"text": job}, with "shelf": true for what lies there, "bars": true for whole
 * bars too; "load", "droop", "safety", "stiffness", "yield" for a load check. A task. */
dw_err dw_api__posts(struct dw_web_call *call)
{
    const char *key = NULL;
    struct asking *asking = calloc(1, sizeof *asking);
    if (!asking)
        return dw_error__nomem(&call->error);
    asking->shelf = dw_call__yes(call, "shelf");
    asking->bars = dw_call__yes(call, "bars");
    dw_err err = dw_call__text(call, "plan", false, &key);
    if (!err)
        err = key ? load_plan(call, key, asking) : dw_call__job(call, &asking->job);
    const struct dw_job *job = asking->job ? asking->job : asking->planned.job;
    if (!err)
        err = read_load(call, job->unit, &asking->load);
    if (err) {
        free_asking(asking);
        return err;
    }
    struct dw_task_work work = {.run = run_posts, .free = free_asking, .work = asking};
    return dw_call__start(call, &work);
}
