/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the shelf offers to a plan, and holding what the plan takes. */
#include "cli/shelf/from_shelf.h"
#include "cli/reports/paper.h"

bool dw_cli__from_shelf_asked(const struct dw_cli_args *args)
{
    return dw_cli__has(args, "from-shelf") || dw_cli__has(args, "shelf") ||
           dw_cli__has(args, "hold");
}

enum dw_cli_status dw_cli__from_shelf_supply(const struct dw_cli_args *args, struct dw_job *job,
                                             struct dw_cli_from_shelf *from)
{
    *from = (struct dw_cli_from_shelf){.used = dw_cli__from_shelf_asked(args)};
    if (!from->used)
        return DW_CLI_DONE;
    bool hold = dw_cli__has(args, "hold");
    enum dw_cli_status status =
        dw_cli__shelf_open(args, hold ? DW_LEDGER_CREATE : DW_LEDGER_READ, &from->shelf);
    if (status != DW_CLI_DONE)
        return status;
    if (hold)
        status = dw_cli__shelf_not_twice(&from->shelf, dw_job_digest(job));
    if (status != DW_CLI_DONE)
        return status;
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_shelf_request request = {.today = from->shelf.today};
    dw_err err = dw_shelf_supply(job, from->shelf.ledger, &request, &from->found, &report, &error);
    dw_cli__say_report(&report, SIZE_MAX);
    dw_report_free(&report);
    return dw_cli__shelf_said(err, &error);
}

bool dw_cli__from_shelf_holds(const struct dw_cli_from_shelf *from)
{
    return from->used && dw_cli__has(from->shelf.args, "hold");
}

enum dw_cli_status dw_cli__from_shelf_hold(struct dw_cli_from_shelf *from, const struct dw_job *job,
                                           struct dw_plan *plan)
{
    const struct dw_cli_args *args = from->shelf.args;
    if (!dw_cli__from_shelf_holds(from) || plan->status == DW_STATUS_INFEASIBLE)
        return DW_CLI_DONE;
    struct dw_error error = {0};
    struct dw_shelf_hold how = {.digest = from->found.digest,
                                .again = dw_cli__has(args, "again"),
                                .path = dw_cli__document(args),
                                .replace = dw_cli__has(args, "replace")};
    dw_err err = dw_shelf_hold_plan(from->shelf.ledger, &from->shelf.act, job, plan, &how,
                                    &from->plan, &from->step, &error);
    if (!err && dw_cli__has(args, "json"))
        dw_cli__complain("held as plan %lld", (long long)from->plan);
    enum dw_cli_status status = dw_cli__shelf_said(err, &error);
    if (err && from->plan)
        dw_cli__complain("plan %lld is held all the same: `dropwise shelf plans %lld --output "
                         "FILE` writes its document",
                         (long long)from->plan, (long long)from->plan);
    return status;
}

void dw_cli__from_shelf_report(const struct dw_cli_from_shelf *from, struct dw_cli_page *page)
{
    if (!from->used)
        return;
    struct dw_buf text = {0};
    dw_buf__format(&text, "The shelf offered %s.",
                   dw_cli__count((int64_t)from->found.n_added, "piece", "pieces").text);
    if (from->found.n_foreign > 0)
        dw_buf__format(&text, " Left out: %zu that another client owns.", from->found.n_foreign);
    if (from->found.n_raised > 0)
        dw_buf__format(&text,
                       " %zu counted dearer than booked, since most of it would come back as an "
                       "offcut.",
                       from->found.n_raised);
    if (from->plan)
        dw_buf__format(&text,
                       " It holds for plan %lld what is to be taken; `dropwise shelf cut %lld BAR` "
                       "books each bar at the saw.",
                       (long long)from->plan, (long long)from->plan);
    dw_cli__newline(page);
    dw_cli__fold_buf(page, DW_CLI_PLAIN, "", &text);
}

void dw_cli__from_shelf_end(struct dw_cli_from_shelf *from)
{
    if (from->used)
        dw_cli__shelf_close(&from->shelf);
}
