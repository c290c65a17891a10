/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Not enough tube: what is missing and what would cure it. */
#include "cli/reports/report.h"

#include <dropwise/work.h>

#include <inttypes.h>

static void add_shortage(struct dw_cli_page *page, const struct dw_job *job,
                         const struct dw_shortage *shortage, struct dw_cli_table *table)
{
    const struct dw_part *part = &job->parts[shortage->part];
    struct dw_buf text = {0};
    dw_cli__cell_format(table, "%" PRId64 " ×", shortage->missing);
    dw_cli__cell(table, dw_cli__figure(page, part->min).text);
    dw_cli__cell(table, part->label);
    dw_cli__cell(table, part->section);
    for (size_t i = 0; job->n_materials > 1 && i < part->n_materials; i++) {
        dw_buf__put(&text, i > 0 ? " or " : "");
        dw_buf__put(&text, job->materials[part->materials[i]].id);
    }
    dw_cli__cell_buf(table, &text);
    dw_cli__cell(table, !shortage->never ? "no bar is left"
                        : dw_job_barred(job, shortage->part)
                            ? "no bar that may be used is long enough"
                            : "no bar is long enough");
}

static void put_shortages(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan)
{
    struct dw_cli_text title = dw_cli__length_title(page);
    const struct dw_cli_column columns[] = {
        {.title = NULL},       {.title = title.text, .right = true},
        {.title = "part"},     {.title = "section"},
        {.title = "material"}, {.title = "why", .fold = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t g = 0; g < plan->n_groups; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages; i++)
            add_shortage(page, job, &plan->groups[g].shortages[i], &table);
    dw_cli__table_end(page, &table);
}

static int64_t missing_of(const struct dw_plan *plan, size_t part)
{
    for (size_t g = 0; g < plan->n_groups; g++)
        for (size_t i = 0; i < plan->groups[g].n_shortages; i++)
            if (plan->groups[g].shortages[i].part == part)
                return plan->groups[g].shortages[i].missing;
    return 0;
}

/* All others wait for more tube. */
static void put_made(struct dw_cli_page *page, const struct dw_job *job, const struct dw_plan *plan)
{
    struct dw_cli_text title = dw_cli__length_title(page);
    const struct dw_cli_column columns[] = {
        {.title = NULL},
        {.title = title.text, .right = true},
        {.title = "part"},
        {.title = "section"},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    bool any = false;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        int64_t made = part->post ? 0 : part->count - missing_of(plan, i);
        if (made == 0)
            continue;
        if (!any)
            dw_cli__heading(page, "Can be made from the tube at hand; the others wait");
        any = true;
        dw_cli__cell_format(&table, "%" PRId64 " ×", made);
        dw_cli__cell(&table, dw_cli__figure(page, part->min).text);
        dw_cli__cell(&table, part->label);
        dw_cli__cell(&table, part->section);
    }
    if (any)
        dw_cli__table_end(page, &table);
}

static void put_cure(struct dw_cli_page *page, const struct dw_job *job, const struct dw_cure *cure)
{
    struct dw_buf text = {0};
    switch (cure->kind) {
    case DW_CURE_LONGER:
        dw_buf__put(&text, "a bar of ");
        dw_cli__material(&text, job, cure->material);
        dw_buf__format(&text, " that is at least %s long once squared, or a joint in the part",
                       dw_cli__length(page, cure->length).text);
        break;
    case DW_CURE_MORE:
        dw_buf__format(&text, "%" PRId64 " more of ", cure->count);
        dw_cli__supply(&text, &job->supplies[cure->supply]);
        dw_buf__format(&text, " (%s)", dw_cli__length(page, cure->length).text);
        if (job->supplies[cure->supply].usage == DW_USAGE_NO)
            dw_buf__put(&text, ", which the job says not to use");
        break;
    case DW_CURE_ANY:
        dw_buf__put(&text, "more ");
        dw_cli__material(&text, job, cure->material);
        dw_buf__format(&text, ": %s, the longest needs %s",
                       dw_cli__count(cure->count, "piece is missing", "pieces are missing").text,
                       dw_cli__length(page, cure->length).text);
        break;
    case DW_CURE_RULE:
        dw_buf__format(&text, "without the rule `longest scrap` there is a plan at %s",
                       dw_cli__money(page, cure->money).text);
        if (cure->length > 0)
            dw_buf__format(&text, ", which leaves %s; with `longest scrap` at that it is allowed",
                           dw_cli__length(page, cure->length).text);
        break;
    }
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "  ", &text);
}

void dw_cli__report_short(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan, const struct dw_cure *cures, size_t n_cures)
{
    bool ruled = n_cures > 0 && cures[0].kind == DW_CURE_RULE;
    dw_cli__heading(page, ruled ? "The rule `longest scrap` allows no plan: none was written"
                                : "Not enough tube: no plan was written");
    if (!ruled) {
        put_shortages(page, job, plan);
        put_made(page, job, plan);
    }
    if (n_cures > 0)
        dw_cli__heading(page, "This would cure it");
    for (size_t i = 0; i < n_cures; i++)
        put_cure(page, job, &cures[i]);
}
