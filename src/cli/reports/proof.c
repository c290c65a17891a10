/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How good a plan is, in plain words: what is proved, what was searched, what is claimed; cautions.
 */
#include "cli/reports/report.h"

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

static void put_above(struct dw_cli_page *page, struct dw_buf *text, dw_money value, dw_money bound)
{
    dw_buf__format(text, "at most %s", dw_cli__money(page, value - bound).text);
    struct dw_cli_text percent = gap_percent(value, bound);
    if (percent.text[0])
        dw_buf__format(text, " (%s)", percent.text);
    dw_buf__put(text, " above the cheapest there can be");
}

/* What the duals prove where a search has gone beyond them. */
static void put_duals(struct dw_cli_page *page, struct dw_buf *text, const struct dw_group *group)
{
    if (group->certificate.n_duals > 0)
        dw_buf__format(text, "; the dual prices in the plan prove that none costs less than %s",
                       dw_cli__money(page, group->certificate.bound).text);
    dw_buf__char(text, '.');
}

/* Why the plan is not the cheapest that was found. */
static void put_given_up(struct dw_cli_page *page, struct dw_buf *text,
                         const struct dw_group *group)
{
    if (group->for_layouts > 0 && group->for_layouts == group->value - group->bound)
        dw_buf__put(text, " All of that was given up for fewer layouts.");
    else if (group->for_layouts > 0)
        dw_buf__format(text, " %s of the money was given up for fewer layouts.",
                       dw_cli__money(page, group->for_layouts).text);
}

static void put_gap(struct dw_cli_page *page, struct dw_buf *text, const struct dw_group *group)
{
    if (group->proof == DW_PROOF_NONE || (group->bound <= 0 && group->value > 0)) {
        dw_buf__put(text, "valid, but it is not known yet how much cheaper a plan could be.");
        return;
    }
    put_above(page, text, group->value, group->bound);
    bool by_search = group->proof == DW_PROOF_SEARCH;
    dw_buf__format(text, ": %s that none costs less than %s",
                   by_search ? "this program's search has shown"
                             : "the dual prices in the plan prove",
                   dw_cli__money(page, group->bound).text);
    if (by_search)
        put_duals(page, text, group);
    else
        dw_buf__char(text, '.');
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
    put_given_up(page, &text, group);
    dw_cli__fold_buf(page, DW_CLI_CARE, "  ", &text);
}

/* One line for all groups that are proved optimal in the same way. */
static void put_proved_groups(struct dw_cli_page *page, const struct dw_job *job,
                              const struct dw_plan *plan, enum dw_proof proof, const char *since)
{
    struct dw_buf text = {0};
    for (size_t g = 0; g < plan->n_groups; g++) {
        const struct dw_group *group = &plan->groups[g];
        if (group->status != DW_STATUS_OPTIMAL || group->proof != proof)
            continue;
        dw_buf__put(&text, text.n > 0 ? "; " : "");
        put_group(&text, job, group);
    }
    if (text.n > 0) {
        dw_buf__format(&text, ": cheapest, since %s; dropwise verify proves it again.", since);
        dw_cli__fold_buf(page, DW_CLI_GOOD, "  ", &text);
    }
    dw_buf__free(&text);
}

static void put_searched_group(struct dw_cli_page *page, const struct dw_job *job,
                               const struct dw_group *group)
{
    struct dw_buf text = {0};
    put_group(&text, job, group);
    dw_buf__put(&text, ": cheapest, since this program's search through all other ways was "
                       "completed");
    put_duals(page, &text, group);
    dw_cli__fold_buf(page, DW_CLI_GOOD, "  ", &text);
}

static bool is_proved(const struct dw_plan *plan)
{
    bool proved = plan->status == DW_STATUS_OPTIMAL;
    for (size_t g = 0; g < plan->n_groups; g++)
        proved = proved && plan->groups[g].proof != DW_PROOF_SEARCH;
    return proved;
}

void dw_cli__report_proof(struct dw_cli_page *page, const struct dw_job *job,
                          const struct dw_plan *plan, bool by_user)
{
    dw_cli__heading(page, "How good it is");
    if (is_proved(plan))
        dw_cli__fold(page, DW_CLI_PLAIN, "  ",
                     "Proved: no cheaper plan exists for this job with these bars and prices.");
    else if (plan->status == DW_STATUS_OPTIMAL)
        dw_cli__fold(page, DW_CLI_PLAIN, "  ",
                     "Searched: no cheaper plan exists for this job with these bars and prices.");
    put_proved_groups(page, job, plan, DW_PROOF_DUALS,
                      "the dual prices in the plan prove that nothing costs less");
    put_proved_groups(page, job, plan, DW_PROOF_NONE,
                      "no plan can earn more by its posts and leftovers");
    for (size_t g = 0; g < plan->n_groups; g++) {
        const struct dw_group *group = &plan->groups[g];
        if (group->status == DW_STATUS_OPTIMAL && group->proof == DW_PROOF_SEARCH)
            put_searched_group(page, job, group);
        if (group->status == DW_STATUS_WITHIN || group->status == DW_STATUS_STOPPED)
            put_open_group(page, job, group, by_user);
    }
}

/* --- a plan that is brought --------------------------------------------------------------------
 */

/* What is claimed of a group beyond what is proved of it. */
static void put_claim(struct dw_cli_page *page, struct dw_buf *text, const struct dw_group *group,
                      const struct dw_group_proven *proven)
{
    const char *claim = NULL;
    if (group->status == DW_STATUS_INFEASIBLE)
        claim = group->proof == DW_PROOF_SEARCH
                    ? "the search was completed and there is no way to cut it"
                    : "no way to cut it was found";
    else if (group->status == DW_STATUS_OPTIMAL)
        claim = "the search through all other ways was completed and no cheaper plan exists";
    if (claim)
        dw_buf__format(text, " Its maker claims that %s; that is not proved here.", claim);
    else if (group->bound > proven->bound)
        dw_buf__format(text,
                       " Its maker claims that a search has shown that none costs less than %s; "
                       "that is not proved here.",
                       dw_cli__money(page, group->bound).text);
}

static void put_bound(struct dw_cli_page *page, struct dw_buf *text, dw_money value, dw_money bound)
{
    if (bound <= 0 && value > 0) {
        dw_buf__put(text, " how much cheaper a plan could be is not proved.");
        return;
    }
    dw_buf__format(text, " proved: nothing costs less than %s, so this is ",
                   dw_cli__money(page, bound).text);
    put_above(page, text, value, bound);
    dw_buf__char(text, '.');
}

static void put_proven_group(struct dw_cli_page *page, const struct dw_job *job,
                             const struct dw_group *group, const struct dw_group_proven *proven)
{
    struct dw_buf text = {0};
    put_group(&text, job, group);
    dw_buf__char(&text, ':');
    if (proven->settled)
        dw_buf__put(&text, group->status == DW_STATUS_INFEASIBLE
                               ? " proved: it can't be cut, since no bar gives one of its parts."
                               : " proved: no cheaper plan exists.");
    else if (group->status != DW_STATUS_INFEASIBLE)
        put_bound(page, &text, group->value, proven->bound);
    if (!proven->settled)
        put_claim(page, &text, group, proven);
    dw_cli__fold_buf(page, proven->settled ? DW_CLI_GOOD : DW_CLI_CARE, "  ", &text);
}

void dw_cli__report_proven(struct dw_cli_page *page, const struct dw_job *job,
                           const struct dw_plan *plan, const struct dw_plan_proven *proven)
{
    dw_cli__heading(page, "How good it is");
    if (proven->settled && plan->status != DW_STATUS_INFEASIBLE)
        dw_cli__fold(page, DW_CLI_GOOD, "  ",
                     "Proved: no cheaper plan exists for this job with these bars and prices.");
    else
        for (size_t g = 0; g < plan->n_groups; g++)
            put_proven_group(page, job, &plan->groups[g], &proven->groups[g]);
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
