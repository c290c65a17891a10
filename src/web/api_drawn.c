/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From drawn dimensions to cut lengths, fittings and sections. */
#include "web/app.h"

#include "job/drawn.h"
#include "model/caution.h"

#include <string.h>

static void put_weight(struct dw_out *out, const char *key, int64_t mg)
{
    char text[DW_WEIGHT_TEXT];
    if (mg < 0)
        dw_out__null(out, key);
    else if (dw_weight_print(text, mg, out->style.unit) > 0)
        dw_out__text(out, key, text);
}

static void put_part(struct dw_out *out, const struct dw_part *part)
{
    const struct dw_takeoff *takeoff = part->takeoff;
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "label", part->label);
    dw_out__int(out, "line", part->at.line);
    dw_out__int(out, "count", part->count);
    dw_out__length(out, "cut", takeoff->cut);
    dw_out__yes(out, "rounded", takeoff->rounded);
    dw_out__length(out, "allowance", part->allowance);
    dw_out__open(out, "steps", '[');
    for (size_t i = 0; i < takeoff->n_steps; i++) {
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "text", takeoff->steps[i].text);
        dw_out__length(out, "amount", takeoff->steps[i].amount);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
    dw_out__close(out, '{');
}

static void put_fittings(struct dw_out *out, const struct dw_job *job, const int64_t *counts)
{
    dw_out__open(out, "fittings", '[');
    for (size_t i = 0; i < job->n_orders * job->n_fittings; i++) {
        if (!counts[i])
            continue;
        const struct dw_fitting *fitting = &job->fittings[i % job->n_fittings];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "job", job->orders[i / job->n_fittings].name);
        dw_out__text(out, "fitting", fitting->id);
        dw_out__text(out, "name", fitting->name);
        dw_out__int(out, "count", counts[i]);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

/* Texts of a section's limits that are passed, or of those that can't be judged. */
static void put_breaches(struct dw_out *out, const char *key, const struct dw_limits *limits,
                         size_t section, bool judged)
{
    dw_out__open(out, key, '[');
    for (size_t i = 0; i < limits->n_breaches; i++) {
        const struct dw_breach *breach = &limits->breaches[i];
        if (breach->section == section && (breach->by > 0) == judged)
            dw_out__text(out, NULL, breach->text);
    }
    dw_out__close(out, '[');
}

static void put_sections(struct dw_out *out, const struct dw_limits *limits)
{
    dw_out__open(out, "sections", '[');
    for (size_t i = 0; i < limits->n_loads; i++) {
        const struct dw_section_load *load = &limits->loads[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "name", load->name);
        dw_out__int(out, "pieces", load->n_pieces);
        dw_out__length(out, "longest", load->longest);
        put_weight(out, "weight", load->weight_mg);
        put_breaches(out, "over", limits, i, true);
        put_breaches(out, "unjudged", limits, i, false);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static void put_sheet(struct dw_out *out, const struct dw_job *job,
                      const struct dw_drawn_sheet *sheet)
{
    out->style = dw_job__style(job);
    dw_out__open(out, NULL, '{');
    dw_out__open(out, "parts", '[');
    for (size_t i = 0; i < job->n_parts; i++)
        if (job->parts[i].takeoff)
            put_part(out, &job->parts[i]);
    dw_out__close(out, '[');
    put_fittings(out, job, sheet->fittings);
    put_sections(out, sheet->limits);
    dw_care__put(out, "cautions", &(const struct dw_care){0}, DW_AT_DRAWN);
    dw_out__close(out, '{');
}

/* {"text": job} */
dw_err dw_api__takeoff(struct dw_web_call *call)
{
    const char *text = NULL;
    struct dw_job *job = NULL;
    struct dw_drawn_sheet sheet = {0};
    dw_err err = dw_call__text(call, "text", true, &text);
    if (err)
        return err;
    struct dw_job_source source = {.path = "job", .text = text, .n = strlen(text)};
    err = dw_job__load(&source, &job, &call->report, &call->error);
    if (!err)
        err = dw_job__drawn(job, &sheet, &call->error);
    if (!err)
        put_sheet(&call->out, job, &sheet);
    dw_job__drawn_free(&sheet);
    dw_job_free(job);
    return err;
}
