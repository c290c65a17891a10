/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which stock lengths to carry: a task over all materials of a job. */
#include "web/app.h"

#include "job/lengths.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define TIME_DEFAULT_MS 10000
#define TIME_MOST_MS    (INT64_C(3600) * 1000)
#define MOST_DEFAULT    2

/* The work of the task. */
struct choosing {
    struct dw_job *job;
    struct dw_settings settings; /* its time is that of one material */
    int64_t most;
    size_t material; /* DW_NONE = all that have something to choose */
};

static void free_choosing(void *work)
{
    struct choosing *choosing = work;
    dw_job_free(choosing->job);
    free(choosing);
}

static bool is_asked(const struct choosing *choosing, size_t material)
{
    return choosing->material == DW_NONE ? dw_lengths__choosable(choosing->job, material)
                                         : choosing->material == material;
}

static dw_err run_choosing(void *work, const char *shelf, const struct dw_hooks *hooks,
                           char **result, struct dw_error *error)
{
    (void)shelf;
    const struct choosing *choosing = work;
    const struct dw_job *job = choosing->job;
    struct dw_buf buf = {0};
    struct dw_out out = {.buf = &buf, .style = dw_job__style(job), .currency = job->currency};
    const struct dw_record_out to = {.out = &out, .job = job, .version = DW_RECORD_ALL};
    dw_err err = DW_OK;
    dw_out__open(&out, NULL, '{');
    dw_out__text(&out, "currency", job->currency);
    dw_out__int(&out, "most", choosing->most);
    dw_out__open(&out, "materials", '[');
    for (size_t m = 0; !err && m < job->n_materials; m++) {
        struct dw_lengths *lengths = NULL;
        if (!is_asked(choosing, m))
            continue;
        err = dw_lengths_choose(job, m, (size_t)choosing->most, &choosing->settings, hooks,
                                &lengths, error);
        if (!err)
            dw_lengths__record(&to, NULL, m, lengths);
        dw_lengths_free(lengths);
    }
    dw_out__close(&out, '[');
    dw_out__close(&out, '{');
    *result = dw_buf__take(&buf);
    return err || *result ? err : dw_error__nomem(error);
}

/* --- starting it ------------------------------------------------------------------------------ */

static dw_err find_material(struct dw_web_call *call, struct choosing *choosing)
{
    const char *id = NULL;
    const struct dw_job *job = choosing->job;
    bool any = false;
    choosing->material = DW_NONE;
    dw_err err = dw_call__text(call, "material", false, &id);
    for (size_t m = 0; !err && m < job->n_materials; m++) {
        if (id && strcmp(job->materials[m].id, id) == 0)
            choosing->material = m;
        any = any || dw_lengths__choosable(job, m);
    }
    if (!err && id && choosing->material == DW_NONE)
        err = dw_error__set(&call->error, DW_ERR_INPUT, "`%.60s` is none of the materials", id);
    if (!err && !id && !any)
        err = dw_error__set(&call->error, DW_ERR_STATE,
                            "no material has both parts and new bars to choose from");
    return err;
}

static dw_err ready_choosing(struct dw_web_call *call, struct choosing *choosing)
{
    const char *text = NULL;
    dw_settings_default(&choosing->settings);
    choosing->settings.threads = 1;
    choosing->settings.time_ms = TIME_DEFAULT_MS;
    choosing->most = MOST_DEFAULT;
    dw_err err = dw_call__text(call, "text", true, &text);
    if (!err)
        err = dw_call__int(call, "most", false, 1, DW_LENGTHS_MOST, &choosing->most);
    if (!err)
        err = dw_call__int(call, "time_ms", false, 100, TIME_MOST_MS, &choosing->settings.time_ms);
    if (err)
        return err;
    err = dw_call__load(call, text, &choosing->job);
    return err ? err : find_material(call, choosing);
}

/* {"text": job, "most": 2, "material": id, "time_ms": 10000} */
dw_err dw_api__lengths(struct dw_web_call *call)
{
    struct choosing *choosing = calloc(1, sizeof *choosing);
    if (!choosing)
        return dw_error__nomem(&call->error);
    dw_err err = ready_choosing(call, choosing);
    if (err) {
        free_choosing(choosing);
        return err;
    }
    return dw_call__start(
        call, &(struct dw_task_work){.run = run_choosing, .free = free_choosing, .work = choosing});
}
