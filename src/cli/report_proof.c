/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How good a plan is and why that is known, in plain words; cautions. */
#include "cli/report.h"

#include <inttypes.h>

/* Names of a group's materials: "al38, al38-bent" */
static void put_group(struct dw_buf *buf, const struct dw_job *job, const struct dw_group *group)
{
    for (size_t i = 0; i < group->n_materials; i++) {
        if (i > 0)
            dw_buf__put(buf, ", ");
        dw_cli__clean(buf, job->materials[group->materials[i]].id);
    }
}

/* (value - bound) / bound in percent, rounded up so that it is never said too small: "1.3 %". */
static struct dw_cli_text gap_percent(dw_money value, dw_money bound)
{
    struct dw_cli_text out = {{0}};
    int64_t hundredths = 0;
    if (bound <= 0 || !dw_muldiv__i64(value - bound, 10000, bound, &hundredths))
        return out;
    hundredths++;
    snprintf(out.text, sizeof out.text, "%" PRId64 ".%02" PRId64 " %%", hundredths / 100,
             hundredths % 100);
    return out;
}

static void put_gap(struct dw_cli_page *page, struct dw_buf *text, const struct dw_group *group)
{
    if (group->proof == DW_PROOF_NONE || (group->bound <= 0 && group->value > 0)) {
        dw_buf__put(text, "valid, but it is not known yet how much cheaper a plan could be.");
        return;
    }
    dw_buf__format(text, "at most %s", dw_cli__money(page, group->value - group->bound).text);
    struct dw_cli_text percent = gap_percent(group->value, group->bound);
    if (percent.text[0])
        dw_buf__format(text, " (%s)", percent.text);
    dw_buf__format(text, " above the cheapest there can be: %s that none costs less than %s.",
                   group->proof == DW_PROOF_SEARCH ? "the search has shown"
                                                   : "the dual prices in the plan prove",
                   dw_cli__money(page, group->bound).text);
}

static const char *stop_cause(bool by_user)
{
    return by_user ? "stopped when you asked; " : "stopped by its limit of time or work; ";
}

static void put_open_group(struct dw_cli_page *page, const struct dw_job *job,
                           const struct dw_group *group, bool by_user)
{
    struct dw_buf text = {0};
    put_group(&text, job, group);
    dw_buf__put(&text, ": ");
    if (group->status == DW_STATUS_STOPPED)
        dw_buf__put(&text, stop_cause(by_user));
    put_gap(page, &text, group);
    dw_cli__fold_buf(page, DW_CLI_CARE, "  ", &text);
}

/* One line for all groups that are optimal for the same reason. */
static void put_optimal_groups(struct dw_cli_page *page, const struct dw_job *job,
                               const struct dw_plan *plan, bool by_search, const char *why)
{
    struct dw_buf text = {0};
    for (size_t g = 0; g < plan->n_groups; g++) {
        const struct dw_group *group = &plan->groups[g];
        if (group->status != DW_STATUS_OPTIMAL || (group->proof == DW_PROOF_SEARCH) != by_search)
            continue;
        dw_buf__put(&text, text.n > 0 ? "; " : "");
        put_group(&text, job, group);
    }
    if (text.n > 0) {
        dw_buf__format(&text, ": %s", why);
        dw_cli__fold_buf(page, DW_CLI_GOOD, "  ", &text);
    }
    dw_buf__free(&text);
}

void dw_cli__report_proof(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan, bool by_user)
{
    dw_cli__heading(page, "How good it is");
    if (plan->status == DW_STATUS_OPTIMAL)
        dw_cli__fold(page, DW_CLI_PLAIN, "  ",
                     "No cheaper plan exists for this job with these bars and prices.");
    put_optimal_groups(page, job, plan, false,
                       "cheapest, since the dual prices in the plan prove that nothing costs less; "
                       "dropwise verify proves it again.");
    put_optimal_groups(page, job, plan, true,
                       "cheapest, since the search through all other ways was completed.");
    for (size_t g = 0; g < plan->n_groups; g++)
        if (plan->groups[g].status == DW_STATUS_WITHIN ||
            plan->groups[g].status == DW_STATUS_STOPPED)
            put_open_group(page, job, &plan->groups[g], by_user);
}

void dw_cli__report_care(struct dw_cli_page *page, const struct dw_care *care,
                         enum dw_caution_place place)
{
    for (unsigned i = 0; i < DW_N_CAUTIONS; i++) {
        enum dw_caution caution = (enum dw_caution)i;
        if (!dw_care__shows(care, caution, place))
            continue;
        struct dw_buf text = {0}, clean = {0};
        dw_care__text(&text, care, caution, &page->length);
        dw_cli__clean(&clean, text.text ? text.text : "");
        clean.failed = clean.failed || text.failed;
        dw_cli__fold_buf(page, DW_CLI_CARE, "  ", &clean);
        dw_buf__free(&text);
    }
}

void dw_cli__report_end(struct dw_cli_page *page)
{
    if (!page->rounded)
        return;
    dw_cli__newline(page);
    dw_cli__fold(page, DW_CLI_QUIET, "", "~ marks a length that is rounded here.");
}
