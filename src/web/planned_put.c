/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan for the page: bars mark by mark, money, what is known of its worth. */
#include "web/planned.h"

#include <stdlib.h>

static const char *const source_words[] = {
    [DW_SOURCE_NEW] = "new", [DW_SOURCE_SHELF] = "bar", [DW_SOURCE_OFFCUT] = "offcut"};
static const char *const use_words[] = {[DW_USE_PART] = "part",
                                        [DW_USE_POST] = "post",
                                        [DW_USE_SURPLUS] = "surplus",
                                        [DW_USE_BEND_END] = "bend end"};
static const char *const rest_words[] = {
    [DW_REST_NONE] = "none", [DW_REST_SCRAP] = "scrap", [DW_REST_KEPT] = "kept"};
static const char *const status_words[] = {[DW_STATUS_OPTIMAL] = "cheapest",
                                           [DW_STATUS_WITHIN] = "within",
                                           [DW_STATUS_STOPPED] = "stopped",
                                           [DW_STATUS_INFEASIBLE] = "short"};
static const char *const proof_words[] = {
    [DW_PROOF_NONE] = "none", [DW_PROOF_DUALS] = "duals", [DW_PROOF_SEARCH] = "search"};

static void put_piece(struct dw_out *out, const struct dw_job *job, const struct dw_piece *piece)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "use", use_words[piece->use]);
    if (piece->part != DW_NONE) {
        const struct dw_part *part = &job->parts[piece->part];
        dw_out__int(out, "part", (int64_t)piece->part);
        dw_out__text(out, "label", part->label);
        dw_out__text(out, "section", part->section);
    }
    dw_out__length(out, "length", piece->length);
    dw_out__int(out, "count", piece->count);
    dw_out__close(out, '{');
}

/* Where each piece ends, from the squared datum end, counts written out; for the eye. */
static void put_marks(struct dw_out *out, const struct dw_job *job, const struct dw_layout *layout)
{
    size_t n = dw_layout_n_marks(layout);
    struct dw_mark *marks = calloc(n + 1, sizeof *marks);
    char text[DW_LENGTH_TEXT];
    if (!marks) {
        out->buf->failed = true;
        return;
    }
    dw_layout_marks(job, layout, marks);
    dw_out__open(out, "marks", '[');
    for (size_t i = 0; i < n; i++) {
        dw_length_print(text, marks[i].running, &out->style);
        dw_out__text(out, NULL, text);
    }
    dw_out__close(out, '[');
    free(marks);
}

static void put_layout(struct dw_out *out, const struct dw_job *job, const struct dw_layout *layout)
{
    const struct dw_supply *supply = &job->supplies[layout->supply];
    dw_out__open(out, NULL, '{');
    dw_out__int(out, "bar", layout->bar);
    dw_out__int(out, "count", layout->count);
    dw_out__text(out, "supply", supply->id);
    dw_out__text(out, "source", source_words[supply->source]);
    dw_out__text(out, "material", job->materials[supply->material].id);
    dw_out__text(out, "place", supply->place);
    dw_out__length(out, "length", supply->measured ? supply->measured : supply->length);
    dw_out__int(out, "trim_nm", supply->ends[0] == DW_END_MILL ? supply->trim : 0);
    dw_out__int(out, "far_trim_nm", supply->ends[1] == DW_END_MILL ? supply->trim : 0);
    dw_out__text(out, "rest", rest_words[layout->rest]);
    dw_out__length(out, "leftover", layout->leftover);
    dw_out__open(out, "pieces", '[');
    for (size_t i = 0; i < layout->n_pieces; i++)
        put_piece(out, job, &layout->pieces[i]);
    dw_out__close(out, '[');
    put_marks(out, job, layout);
    dw_out__close(out, '{');
}

static void put_take(struct dw_out *out, const struct dw_job *job, const struct dw_take *take)
{
    const struct dw_supply *supply = &job->supplies[take->supply];
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "supply", supply->id);
    dw_out__text(out, "source", source_words[supply->source]);
    dw_out__text(out, "material", job->materials[supply->material].id);
    dw_out__text(out, "place", supply->place);
    dw_out__text(out, "supplier", supply->supplier);
    dw_out__length(out, "length", supply->measured ? supply->measured : supply->length);
    dw_out__int(out, "used", take->used);
    dw_out__int(out, "bought", take->bought);
    dw_out__money(out, "money", take->money);
    dw_out__money(out, "paid", dw_take_paid(job, take));
    dw_out__text(out, "counted",
                 dw_take_paid(job, take) == take->money ? NULL
                                                        : dw_counted_as_reason(supply->counted));
    dw_out__close(out, '{');
}

static void put_shortage(struct dw_out *out, const struct dw_job *job,
                         const struct dw_shortage *shortage)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "label", job->parts[shortage->part].label);
    dw_out__length(out, "length", job->parts[shortage->part].min);
    dw_out__int(out, "missing", shortage->missing);
    dw_out__yes(out, "never", shortage->never);
    dw_out__close(out, '{');
}

static void put_group(struct dw_out *out, const struct dw_job *job, const struct dw_group *group)
{
    dw_out__open(out, NULL, '{');
    dw_out__open(out, "materials", '[');
    for (size_t i = 0; i < group->n_materials; i++)
        dw_out__text(out, NULL, job->materials[group->materials[i]].id);
    dw_out__close(out, '[');
    dw_out__text(out, "status", status_words[group->status]);
    dw_out__text(out, "proof", proof_words[group->proof]);
    dw_out__money(out, "value", group->value);
    dw_out__money(out, "bound", group->bound);
    dw_out__text(out, "method", group->method);
    dw_out__open(out, "shortages", '[');
    for (size_t i = 0; i < group->n_shortages; i++)
        put_shortage(out, job, &group->shortages[i]);
    dw_out__close(out, '[');
    dw_out__close(out, '{');
}

static void put_totals(struct dw_out *out, const struct dw_job *job, const struct dw_plan *plan)
{
    const struct dw_totals *totals = &plan->totals;
    dw_money paid = 0;
    if (!dw_plan__paid(job, plan, &paid))
        out->buf->failed = true;
    dw_out__open(out, "totals", '{');
    dw_out__money(out, "bars", totals->bars);
    dw_out__money(out, "taken", totals->taken);
    dw_out__money(out, "taken_paid", paid);
    dw_out__money(out, "cuts", totals->cuts);
    dw_out__money(out, "kept", totals->kept);
    dw_out__money(out, "posts", totals->posts);
    dw_out__money(out, "value", totals->value);
    dw_out__int(out, "n_bars", totals->n_bars);
    dw_out__int(out, "n_cuts", totals->n_cuts);
    dw_out__int(out, "n_kept", totals->n_kept);
    dw_out__length(out, "in", totals->in);
    dw_out__length(out, "in_parts", totals->in_parts);
    dw_out__length(out, "in_posts", totals->in_posts);
    dw_out__length(out, "in_kept", totals->in_kept);
    dw_out__length(out, "in_scrap", totals->in_scrap);
    dw_out__length(out, "in_trim", totals->in_trim);
    dw_out__length(out, "in_chips", totals->in_chips);
    dw_out__close(out, '{');
}

static void put_parts(struct dw_out *out, const struct dw_job *job)
{
    dw_out__open(out, "parts", '[');
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "label", part->label);
        dw_out__text(out, "section", part->section);
        dw_out__text(out, "written", part->written);
        dw_out__text(out, "remark", part->remark);
        dw_out__length(out, "length", part->min);
        dw_out__int(out, "count", part->count);
        dw_out__yes(out, "post", part->post);
        dw_out__yes(out, "measure_first", part->measure_first);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static void put_clients(struct dw_out *out, const struct dw_job *job)
{
    dw_out__open(out, "clients", '[');
    for (size_t i = 0; i < job->n_orders; i++) {
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "name", job->orders[i].name);
        dw_out__text(out, "client", job->orders[i].client);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
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
    dw_out__int(out, "replaces", planned->note.replaces);
    if (planned->held)
        dw_out__int(out, "held", planned->held);
    else
        dw_out__null(out, "held");
    put_rules(out, job);
    dw_out__text(out, "currency", job->currency);
    dw_out__text(out, "unit", dw_unit_name(job->unit));
    dw_out__int(out, "kerf_nm", job->saw.kerf);
    dw_out__text(out, "status", status_words[planned->plan->status]);
    dw_out__money(out, "value", planned->plan->totals.value);
    dw_out__money(out, "bound", planned->plan->bound);
}

void dw_planned__put(struct dw_out *out, const struct dw_planned *planned)
{
    const struct dw_job *job = planned->job;
    const struct dw_plan *plan = planned->plan;
    char *cures = json_dumps(json_object_get(planned->body, "cures"), JSON_COMPACT);
    out->style = dw_job__style(job);
    out->currency = job->currency;
    dw_out__open(out, NULL, '{');
    put_head(out, planned);
    put_totals(out, job, plan);
    dw_out__open(out, "takes", '[');
    for (size_t i = 0; i < plan->n_takes; i++)
        put_take(out, job, &plan->takes[i]);
    dw_out__close(out, '[');
    dw_out__open(out, "layouts", '[');
    for (size_t i = 0; i < plan->n_layouts; i++)
        put_layout(out, job, &plan->layouts[i]);
    dw_out__close(out, '[');
    dw_out__open(out, "groups", '[');
    for (size_t i = 0; i < plan->n_groups; i++)
        put_group(out, job, &plan->groups[i]);
    dw_out__close(out, '[');
    put_parts(out, job);
    put_clients(out, job);
    dw_out__raw(out, "cures", cures ? cures : "[]");
    dw_call__put_remarks(out, &planned->report);
    dw_out__close(out, '{');
    free(cures);
}
