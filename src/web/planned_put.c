/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan for the page: the records of the plan, and of the job what they point to, in the words of
 * the plan document; beside them what a page shows and a document does not say. */
#include "web/planned.h"

#include "model/caution.h"
#include "model/record.h"
#include "model/saw.h"
#include <dropwise/terms.h>

#include <stdlib.h>

/* Where each piece ends, from the squared datum end, counts written out; for the eye. */
static void put_marks(const struct dw_record_out *to, const struct dw_layout *layout)
{
    size_t n = dw_layout_n_marks(layout);
    struct dw_mark *marks = calloc(n + 1, sizeof *marks);
    if (!marks) {
        to->out->buf->failed = true;
        return;
    }
    dw_layout_marks(to->job, layout, marks);
    dw_out__open(to->out, NULL, '[');
    for (size_t i = 0; i < n; i++)
        dw_record__object(to, NULL, &dw_mark__members, &marks[i]);
    dw_out__close(to->out, '[');
    free(marks);
}

void dw_planned__put_squaring(struct dw_out *out, const struct dw_supply *supply)
{
    struct dw_buf buf = {0};
    dw_saw__bar(&buf, supply, &out->style);
    dw_out__text(out, "squaring", buf.n ? buf.text : NULL);
    dw_out__int(out, "trim_nm", dw_supply_squared(supply, 0) ? supply->trim : 0);
    dw_out__int(out, "far_trim_nm", dw_supply_squared(supply, 1) ? supply->trim : 0);
    out->buf->failed = out->buf->failed || buf.failed;
    dw_buf__free(&buf);
}

/* A row for each layout. */
static void put_squarings(const struct dw_record_out *to, const struct dw_plan *plan)
{
    dw_out__open(to->out, "squarings", '[');
    for (size_t i = 0; i < plan->n_layouts; i++) {
        dw_out__open(to->out, NULL, '{');
        dw_planned__put_squaring(to->out, &to->job->supplies[plan->layouts[i].supply]);
        dw_out__close(to->out, '{');
    }
    dw_out__close(to->out, '[');
}

/* The supplies that the plan takes, in the order of its takes. */
static void put_supplies(const struct dw_record_out *to, const struct dw_plan *plan)
{
    dw_out__open(to->out, "supplies", '[');
    for (size_t i = 0; i < plan->n_takes; i++)
        dw_record__supply(to, NULL, &to->job->supplies[plan->takes[i].supply]);
    dw_out__close(to->out, '[');
}

/* How papers name each material. */
static void put_tubes(struct dw_out *out, const struct dw_job *job)
{
    dw_out__open(out, "tubes", '[');
    for (size_t i = 0; i < job->n_materials; i++) {
        struct dw_buf text = {0};
        dw_material__say(&text, &job->materials[i]);
        dw_out__text(out, NULL, text.text);
        out->buf->failed = out->buf->failed || text.failed;
        dw_buf__free(&text);
    }
    dw_out__close(out, '[');
}

void dw_planned__put_job(struct dw_out *out, const struct dw_planned *planned)
{
    const struct dw_job *job = planned->job;
    const struct dw_record_out record = {.out = out, .job = job, .version = DW_RECORD_ALL};
    const struct dw_record_out *to = &record;
    put_supplies(to, planned->plan);
    dw_out__open(to->out, "parts", '[');
    for (size_t i = 0; i < job->n_parts; i++)
        dw_record__part(to, NULL, &job->parts[i]);
    dw_out__close(to->out, '[');
    dw_record__rows(to, "clients", &dw_order__members, job->orders, job->n_orders,
                    sizeof *job->orders);
    dw_record__rows(to, "materials", &dw_material__members, job->materials, job->n_materials,
                    sizeof *job->materials);
    put_tubes(out, job);
    dw_record__rows(to, "sections", &dw_section__members, job->sections, job->n_sections,
                    sizeof *job->sections);
}

void dw_planned__put_proven(struct dw_out *out, const struct dw_job *job,
                            const struct dw_plan *plan, const struct dw_plan_proven *proven)
{
    const struct dw_record_out to = {.out = out, .job = job, .version = DW_RECORD_ALL};
    out->currency = job->currency;
    dw_out__yes(out, "good", proven);
    dw_out__money(out, "value", plan->totals.value);
    dw_out__text(out, "currency", job->currency);
    dw_record__proven(&to, plan, proven);
}

/* The rules that a comparison shows. The keeping length is that of each material, said once where
 * they agree. */
static void put_rules(struct dw_out *out, const struct dw_job *job)
{
    struct dw_buf keep = {0};
    char text[DW_LENGTH_TEXT];
    for (size_t i = 0; i < job->n_materials; i++) {
        if (i > 0 && job->materials[i].worth.keep == job->materials[i - 1].worth.keep)
            continue;
        dw_length_print(text, job->materials[i].worth.keep, &out->style);
        dw_buf__format(&keep, "%s%s", i ? ", " : "", text);
    }
    dw_out__open(out, "rules", '{');
    dw_out__text(out, "keep", keep.n ? keep.text : "");
    if (job->rules.max_new_offcuts == DW_UNLIMITED)
        dw_out__text(out, "most", "any");
    else
        dw_out__int(out, "most", job->rules.max_new_offcuts);
    dw_out__close(out, '{');
    out->buf->failed = out->buf->failed || keep.failed;
    dw_buf__free(&keep);
}

static void put_head(struct dw_out *out, const struct dw_planned *planned)
{
    const struct dw_document *document = &planned->list->rows[0];
    const struct dw_job *job = planned->job;
    dw_out__text(out, "key", document->key);
    dw_out__text(out, "name", job->name);
    dw_out__text(out, "when", document->when);
    dw_out__text(out, "who", document->who);
    dw_out__text(out, "job", planned->note.job_key);
    dw_out__int(out, "revision", planned->note.job_revision);
    dw_out__yes(out, "shelf", planned->note.shelf);
    dw_out__int(out, "time_ms", planned->note.time_ms);
    dw_out__int(out, "took_ms", planned->note.took_ms);
    if (planned->held)
        dw_out__int(out, "held", planned->held);
    else
        dw_out__null(out, "held");
    put_rules(out, job);
    dw_out__text(out, "currency", job->currency);
    dw_out__text(out, "unit", dw_unit_name(job->unit));
    dw_out__int(out, "kerf_nm", job->saw.kerf);
    dw_out__money(out, "value", planned->plan->totals.value);
}

/* Why a piece of the shelf does not count what was paid for it: a row for each take. */
static void put_reasons(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan)
{
    dw_out__open(out, "reasons", '[');
    for (size_t i = 0; i < plan->n_takes; i++) {
        dw_out__text(out, NULL, dw_supply_reason(&job->supplies[plan->takes[i].supply]));
    }
    dw_out__close(out, '[');
}

/* What was paid for the pieces of the shelf that the plan takes; totals say what it counts. */
static void put_paid(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan)
{
    dw_money paid = 0;
    if (!dw_plan__paid(job, plan, &paid))
        out->buf->failed = true;
    dw_out__money(out, "taken_paid", paid);
}

void dw_planned__put(struct dw_out *out, const struct dw_planned *planned)
{
    const struct dw_job *job = planned->job;
    const struct dw_plan *plan = planned->plan;
    const struct dw_record_out to = {.out = out, .job = job, .version = DW_RECORD_ALL};
    struct dw_care care = {0};
    char *cures = json_dumps(json_object_get(planned->body, "cures"), JSON_COMPACT);
    out->style = dw_job__style(job);
    out->currency = job->currency;
    dw_out__open(out, NULL, '{');
    put_head(out, planned);
    dw_record__plan(&to, plan);
    put_paid(out, job, plan);
    put_reasons(out, job, plan);
    dw_out__open(out, "marks", '[');
    for (size_t i = 0; i < plan->n_layouts; i++)
        put_marks(&to, &plan->layouts[i]);
    dw_out__close(out, '[');
    put_squarings(&to, plan);
    dw_planned__put_job(out, planned);
    dw_care__plan(&care, job, plan);
    dw_care__put(out, "cautions", &care, DW_AT_SAW);
    dw_saw_time__put(out, job, plan);
    dw_out__raw(out, "cures", cures ? cures : "[]");
    dw_call__put_remarks(out, &planned->report);
    dw_out__close(out, '{');
    free(cures);
}
