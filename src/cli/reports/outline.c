/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The chapters of a job as it was understood. */
#include "cli/reports/outline.h"

#include "cli/reports/report.h"

#include <inttypes.h>

void dw_cli__outline_title(struct dw_cli_page *page, const struct dw_job *job,
                           const struct dw_job_outline *outline)
{
    struct dw_buf text = {0};
    dw_cli__clean(&text, job->name ? job->name : "Job");
    dw_cli__fold_buf(page, DW_CLI_STRONG, "", &text);
    dw_buf__format(&text, "%s, ", dw_cli__count(outline->n_parts, "part", "parts").text);
    if (outline->n_posts > 0)
        dw_buf__format(&text, "up to %s, ", dw_cli__count(outline->n_posts, "post", "posts").text);
    dw_buf__format(&text, "%s of tube net", dw_cli__long(page, outline->net).text);
    if (job->n_orders > 1)
        dw_buf__format(&text, ", for %zu clients' jobs:", job->n_orders);
    for (size_t i = 0; job->n_orders > 1 && i < job->n_orders; i++) {
        dw_buf__put(&text, i > 0 ? ", " : " ");
        dw_cli__clean(&text, job->orders[i].name ? job->orders[i].name : "unnamed");
    }
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &text);
}

/* --- saw and rules -------------------------------------------------------------------------- */

static void put_rules(struct dw_cli_page *page, const struct dw_job *job)
{
    const struct dw_rules *rules = &job->rules;
    struct dw_buf text = {0};
    if (rules->max_new_offcuts != DW_UNLIMITED)
        dw_buf__format(&text, "keep at most %s. ",
                       dw_cli__count(rules->max_new_offcuts, "new offcut", "new offcuts").text);
    if (rules->no_middling)
        dw_buf__format(&text, "nothing is left between %s and the keeping length. ",
                       dw_cli__length(page, rules->scrap_max).text);
    if (rules->most_pieces != DW_UNLIMITED)
        dw_buf__format(&text, "a bar gives at most %s. ",
                       dw_cli__count(rules->most_pieces, "piece", "pieces").text);
    if (rules->few_layouts_ppm > 0)
        dw_buf__format(&text, "up to %s of the money is given up for fewer layouts. ",
                       dw_cli__percent(rules->few_layouts_ppm, 1000000).text);
    if (text.n > 0)
        dw_cli__fold_buf(page, DW_CLI_PLAIN, "  rules: ", &text);
    dw_buf__free(&text);
}

void dw_cli__outline_saw(struct dw_cli_page *page, const struct dw_job *job)
{
    struct dw_buf text = {0};
    dw_cli__heading(page, "Saw");
    dw_buf__format(&text, "kerf %s", dw_cli__fine(page, job->saw.kerf).text);
    if (job->saw.trim > 0)
        dw_buf__format(&text, ", %s squared off each mill end",
                       dw_cli__fine(page, job->saw.trim).text);
    if (job->saw.grip > 0)
        dw_buf__format(&text, ", grip %s", dw_cli__fine(page, job->saw.grip).text);
    if (job->saw.end_allowance > 0)
        dw_buf__format(&text, ", at least %s left behind the last cut of a bar that isn't measured",
                       dw_cli__fine(page, job->saw.end_allowance).text);
    if (job->saw.cut_cost > 0)
        dw_buf__format(&text, ", a cut costs %s", dw_cli__money(page, job->saw.cut_cost).text);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
    put_rules(page, job);
}

/* --- materials ------------------------------------------------------------------------------- */

static void put_kind(struct dw_cli_page *page, const struct dw_material *material,
                     struct dw_buf *text)
{
    if (material->od > 0 && material->wall > 0)
        dw_buf__format(text, "%s × %s", dw_cli__figure(page, material->od).text,
                       dw_cli__figure(page, material->wall).text);
    else if (material->od > 0)
        dw_buf__put(text, dw_cli__figure(page, material->od).text);
    if (material->radius > 0)
        dw_buf__format(text, "%srolled to radius %s", text->n > 0 ? ", " : "",
                       dw_cli__figure(page, material->radius).text);
    if (material->end_bent)
        dw_buf__put(text, text->n > 0 ? ", end-bent" : "end-bent");
}

static void put_worth(struct dw_cli_page *page, const struct dw_worth *worth, struct dw_buf *text)
{
    switch (worth->kind) {
    case DW_WORTH_NONE:
        dw_buf__put(text, "nothing");
        break;
    case DW_WORTH_RATE:
        dw_buf__format(text, "%s per %s", dw_cli__amount(page, worth->rate).text,
                       dw_cli__length(page, worth->per).text);
        break;
    case DW_WORTH_SHARE:
        dw_buf__format(text, "%s of new", dw_cli__percent(worth->share, 1000000).text);
        break;
    case DW_WORTH_CLASSES:
        dw_buf__put(text, dw_cli__count((int64_t)worth->n_classes, "class", "classes").text);
        break;
    }
}

/* "al48 with al38: 66 parts, 76.726 m net, at least 13 bars" */
static void put_groups(struct dw_cli_page *page, const struct dw_job *job,
                       const struct dw_job_outline *outline)
{
    struct dw_buf text = {0};
    for (size_t g = 0; g < outline->n_groups; g++) {
        const struct dw_job_group *group = &outline->groups[g];
        if (group->n_parts == 0)
            continue;
        for (size_t m = 0; m < job->n_materials; m++) {
            if (outline->group_of[m] != g)
                continue;
            dw_buf__put(&text, text.n > 0 ? " with " : "");
            dw_cli__clean(&text, job->materials[m].id);
        }
        dw_buf__format(&text, ": %s, %s net, at least %s",
                       dw_cli__count(group->n_parts, "part", "parts").text,
                       dw_cli__long(page, group->net).text,
                       dw_cli__count(group->least_bars, "bar", "bars").text);
        dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
    }
}

void dw_cli__outline_materials(struct dw_cli_page *page, const struct dw_job *job,
                               const struct dw_job_outline *outline)
{
    static const struct dw_cli_column columns[] = {
        {.title = "id"},
        {.title = "name"},
        {.title = "size", .fold = true},
        {.title = "keep from", .right = true, .say = "keep from"},
        {.title = "leftover worth", .say = "worth"},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    struct dw_buf text = {0};
    dw_cli__heading(page, "Materials");
    for (size_t m = 0; m < job->n_materials; m++) {
        const struct dw_material *material = &job->materials[m];
        dw_cli__cell(&table, material->id);
        dw_cli__cell(&table, material->name);
        put_kind(page, material, &text);
        dw_cli__cell_buf(&table, &text);
        dw_cli__cell(&table, dw_cli__length(page, material->worth.keep).text);
        put_worth(page, &material->worth, &text);
        dw_cli__cell_buf(&table, &text);
    }
    dw_cli__table_end(page, &table);
    dw_cli__newline(page);
    put_groups(page, job, outline);
}

/* --- bars and offcuts ----------------------------------------------------------------------------
 */

static void put_terms(struct dw_cli_page *page, const struct dw_supply *supply, struct dw_buf *text)
{
    const char *where = supply->source == DW_SOURCE_NEW ? supply->supplier : supply->place;
    if (where)
        dw_buf__put(text, where);
    if (supply->pack > 1)
        dw_buf__format(text, "%spacks of %" PRId64, text->n ? ", " : "", supply->pack);
    for (size_t i = 0; i < supply->n_breaks; i++)
        dw_buf__format(text, "%sfrom %" PRId64 " %s", text->n ? ", " : "", supply->breaks[i].from,
                       dw_cli__amount(page, supply->breaks[i].price).text);
    if (supply->measured > 0)
        dw_buf__format(text, "%smeasured %s", text->n ? ", " : "",
                       dw_cli__figure(page, supply->measured).text);
    if (supply->bend > 0)
        dw_buf__format(text, "%sbend %s", text->n ? ", " : "",
                       dw_cli__figure(page, supply->bend).text);
    if (supply->usage == DW_USAGE_NO)
        dw_buf__format(text, "%snot to be used this time", text->n ? ", " : "");
}

void dw_cli__outline_supplies(struct dw_cli_page *page, const struct dw_job *job)
{
    struct dw_cli_text title = dw_cli__length_title(page);
    char each[16];
    snprintf(each, sizeof each, "%s each", dw_cli__money_title(page));
    const struct dw_cli_column columns[] = {
        {.title = "bars", .right = true},
        {.title = title.text, .right = true, .point = true},
        {.title = "name"},
        {.title = "material"},
        {.title = "terms", .fold = true},
        {.title = each, .right = true, .point = true, .say = "each"},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    struct dw_buf text = {0};
    dw_cli__heading(page, "Bars and offcuts");
    for (size_t k = 0; k < job->n_supplies; k++) {
        const struct dw_supply *supply = &job->supplies[k];
        if (supply->usage == DW_USAGE_NO)
            dw_cli__cell(&table, "none");
        else if (supply->count == DW_UNLIMITED)
            dw_cli__cell(&table, "any");
        else
            dw_cli__cell_format(&table, "%" PRId64, supply->count);
        dw_cli__cell(&table, dw_cli__figure(page, supply->length).text);
        dw_cli__supply(&text, supply);
        dw_cli__cell_buf(&table, &text);
        dw_cli__cell(&table, job->n_materials > 1 ? job->materials[supply->material].id : NULL);
        put_terms(page, supply, &text);
        dw_cli__cell_buf(&table, &text);
        dw_cli__cell(&table, dw_cli__amount(page, supply->price).text);
    }
    dw_cli__table_end(page, &table);
}

/* --- parts ---------------------------------------------------------------------------------------
 */

static void put_read(struct dw_cli_page *page, const struct dw_part *part, struct dw_buf *text)
{
    if (part->max > part->min)
        dw_buf__format(text, "%s to ", dw_cli__figure(page, part->min).text);
    dw_buf__put(text, dw_cli__length(page, part->max).text);
}

static void put_label(struct dw_cli_page *page, const struct dw_part *part, struct dw_buf *text)
{
    dw_buf__put(text, part->label ? part->label : "");
    if (part->post)
        dw_buf__format(text, ", post worth %s", dw_cli__amount(page, part->worth).text);
    if (part->priority)
        dw_buf__put(text, ", goes first where tube is short");
    if (part->measure_first)
        dw_buf__format(text, ", measure first, %s allowed",
                       dw_cli__fine(page, part->allowance).text);
}

static void add_part(struct dw_cli_page *page, const struct dw_job *job, const struct dw_part *part,
                     struct dw_cli_table *table)
{
    struct dw_buf text = {0};
    dw_cli__cell_format(table, "%" PRId64 " ×", part->count);
    put_label(page, part, &text);
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, part->section);
    dw_cli__cell(table, job->n_orders > 1 ? job->orders[part->order].name : NULL);
    for (size_t i = 0; job->n_materials > 1 && i < part->n_materials; i++) {
        dw_buf__put(&text, i > 0 ? " or " : "");
        dw_buf__put(&text, job->materials[part->materials[i]].id);
    }
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, part->drawn ? "as drawn" : part->written);
    put_read(page, part, &text);
    dw_cli__cell_buf(table, &text);
}

void dw_cli__outline_parts(struct dw_cli_page *page, const struct dw_job *job)
{
    static const struct dw_cli_column columns[] = {
        {.title = NULL, .right = true},
        {.title = "part", .fold = true},
        {.title = "section"},
        {.title = "for"},
        {.title = "material"},
        {.title = "written", .right = true, .own_line = true},
        {.title = "read as", .right = true, .say = "read as"},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    dw_cli__heading(page, "Parts");
    for (size_t i = 0; i < job->n_parts; i++)
        add_part(page, job, &job->parts[i], &table);
    dw_cli__table_end(page, &table);
}

void dw_cli__outline_notes(struct dw_cli_page *page, const struct dw_report *report)
{
    bool first = true;
    for (size_t i = 0; i < report->n_remarks; i++) {
        const struct dw_error *what = &report->remarks[i].what;
        if (report->remarks[i].severity != DW_NOTE)
            continue;
        if (first)
            dw_cli__heading(page, "How it was taken");
        first = false;
        struct dw_buf text = {0};
        dw_cli__clean(&text, what->file);
        if (what->line > 0)
            dw_buf__format(&text, ":%d:%d", what->line, what->column);
        dw_buf__put(&text, ": ");
        dw_cli__clean(&text, what->text);
        dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
    }
}
