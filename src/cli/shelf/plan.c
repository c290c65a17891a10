/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf hold, release, cut, plans: plans and what they hold. */
#include "cli/shelf/parts.h"
#include "cli/reports/report.h"

#include "job/shelf_record.h"

#include <stdlib.h>
#include <string.h>

static const struct dw_cli_option act_options[] = {DW_CLI_ACT_OPTIONS};

/* --- hold ------------------------------------------------------------------------------------- */

/* The plan document brings along the pieces that it was made with; the ledger says whether they
 * are free still. */
static dw_err hold_plan(struct dw_cli_shelf *shelf, struct dw_job *job, int64_t *plan_id,
                        int64_t *step, struct dw_report *report, struct dw_error *error)
{
    struct dw_shelf_hold how = {.digest = dw_job_digest(job),
                                .again = dw_cli__has(shelf->args, "again")};
    struct dw_job_source source = {.path = shelf->args->operands[1]};
    struct dw_plan *plan = NULL;
    dw_err err = dw_job_verify(job, &source, &plan, NULL, report, error);
    if (!err)
        err = dw_shelf_hold_plan(shelf->ledger, &shelf->act, job, plan, &how, plan_id, step, error);
    dw_plan_free(plan);
    return err;
}

static enum dw_cli_status hold(struct dw_cli_shelf *shelf)
{
    struct dw_report report = {0};
    struct dw_job *job = NULL;
    struct dw_error error = {0};
    int64_t plan_id = 0, step = 0;
    enum dw_cli_status status = dw_cli__load(shelf->args, &job, &report);
    if (status == DW_CLI_DONE)
        status = dw_cli__shelf_not_twice(shelf, dw_job_digest(job));
    if (status == DW_CLI_DONE) {
        dw_err err = hold_plan(shelf, job, &plan_id, &step, &report, &error);
        status = dw_cli__status(err);
        if (report.n_wrong > 0)
            dw_cli__say_report(&report, SIZE_MAX);
        if (err)
            dw_cli__say_error(&error);
        if (err == DW_ERR_CHECK)
            dw_cli__complain("nothing is held: plan the job as it is now, `dropwise plan %s "
                             "--from-shelf --hold`",
                             shelf->args->operands[0]);
    }
    dw_job_free(job);
    dw_report_free(&report);
    if (status != DW_CLI_DONE)
        return status;
    char sentence[240];
    snprintf(sentence, sizeof sentence,
             "`dropwise shelf plans %lld --output FILE` writes the plan with its number, for the "
             "papers. Plan %lld holds:",
             (long long)plan_id, (long long)plan_id);
    return dw_cli__shelf_done(shelf, step, sentence,
                              json_pack("{s:I}", "plan", (json_int_t)plan_id));
}

static enum dw_cli_status run_hold(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_CREATE, hold);
}

static const struct dw_cli_option hold_options[] = {
    {"again", 0, NULL, NULL, "hold it though a plan of this job is held already"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_hold = {
    .name = "hold",
    .operands = "JOB PLAN.json",
    .summary = "hold for a plan the pieces that it takes",
    .about =
        "Enters a plan that `dropwise plan JOB --from-shelf -o PLAN.json` made and holds its "
        "pieces, all or none. A piece that another plan has, or that is gone or has "
        "changed, is refused: plan again; so is a plan of a job that has changed since, and a job "
        "that an open plan holds already. `dropwise plan --hold` does both in one. Make the "
        "papers from what `dropwise shelf plans PLAN --output FILE` writes: that carries the "
        "plan's number.",
    .least = 2,
    .most = 2,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(hold_options),
    .options = hold_options,
    .run = run_hold,
};

/* --- release ---------------------------------------------------------------------------------- */

static enum dw_cli_status release(struct dw_cli_shelf *shelf)
{
    struct dw_error error = {0};
    int64_t plan = 0, step = 0;
    if (!dw_cli__shelf_number("plan", shelf->args->operands[0], &plan))
        return DW_CLI_REFUSED;
    dw_err err = dw_ledger_release(shelf->ledger, &shelf->act, plan, &step, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    char sentence[160];
    snprintf(sentence, sizeof sentence, "Plan %lld is closed. Back on the shelf:", (long long)plan);
    return dw_cli__shelf_done(shelf, step, sentence, NULL);
}

static enum dw_cli_status run_release(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, release);
}

const struct dw_cli_command dw_cli__shelf_release = {
    .name = "release",
    .operands = "PLAN",
    .summary = "close a plan: what it holds and has not cut is free again",
    .about = "PLAN is the plan's number, see `dropwise shelf plans`. What was cut stays cut.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(act_options),
    .options = act_options,
    .run = run_release,
};

/* --- cut -------------------------------------------------------------------------------------- */

static bool read_bars(const struct dw_cli_args *args, int64_t **bars, size_t *n)
{
    *bars = calloc(args->n_operands, sizeof **bars);
    *n = 0;
    for (size_t i = 1; *bars && i < args->n_operands; i++)
        if (!dw_cli__shelf_number("bar", args->operands[i], &(*bars)[(*n)++]))
            return false;
    if (!*bars)
        dw_cli__complain("out of memory");
    return *bars != NULL;
}

/* n 0: all that are not cut yet. */
static enum dw_cli_status cut_bars(struct dw_cli_shelf *shelf, int64_t plan, const int64_t *bars,
                                   size_t n)
{
    struct dw_error error = {0};
    int64_t step = 0;
    size_t n_cut = 0;
    dw_err err = dw_ledger_cut_bars(shelf->ledger, &shelf->act, plan, bars, n,
                                    dw_cli__value(shelf->args, "place"), &n_cut, &step, &error);
    if (err) {
        dw_cli__say_error(&error);
        if (n > 1)
            dw_cli__complain("none of the bars is booked");
        return dw_cli__status(err);
    }
    struct dw_held_list *list = NULL;
    struct dw_care care = {0};
    err = dw_ledger_plan(shelf->ledger, plan, &list, &error);
    if (err)
        return dw_cli__shelf_told(shelf, dw_cli__shelf_said(err, &error), step);
    dw_held__care(&care, shelf->job, list->rows[0].bars, list->rows[0].n_bars);
    char sentence[160];
    snprintf(sentence, sizeof sentence, "Plan %lld: %s booked as cut.", (long long)plan,
             dw_cli__count((int64_t)n_cut, "bar", "bars").text);
    shelf->care = &care;
    enum dw_cli_status status =
        dw_cli__shelf_done(shelf, step, sentence, json_pack("{s:I}", "bars", (json_int_t)n_cut));
    shelf->care = NULL;
    dw_held_list_free(list);
    return status;
}

static enum dw_cli_status cut(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    int64_t plan = 0, *bars = NULL;
    size_t n = 0;
    bool all = dw_cli__has(args, "all");
    if (!dw_cli__shelf_number("plan", args->operands[0], &plan))
        return DW_CLI_REFUSED;
    if (all == (args->n_operands > 1)) {
        dw_cli__complain("shelf cut wants the numbers of the bars that were cut, or --all");
        return DW_CLI_REFUSED;
    }
    bool good = all || read_bars(args, &bars, &n);
    enum dw_cli_status status = good ? cut_bars(shelf, plan, bars, n) : DW_CLI_REFUSED;
    free(bars);
    return status;
}

static enum dw_cli_status run_cut(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_WRITE, cut);
}

static const struct dw_cli_option cut_options[] = {
    {"all", 'a', NULL, NULL, "all bars of the plan that are not cut yet"},
    {"place", 0, "PLACE", NULL, "where the offcuts are put"},
    DW_CLI_ACT_OPTIONS,
};

const struct dw_cli_command dw_cli__shelf_cut = {
    .name = "cut",
    .operands = "PLAN [BAR...]",
    .summary = "book bars as cut, as they were planned",
    .about = "PLAN and BAR are the numbers that `dropwise shelf plans PLAN` shows. The bar is used "
             "up, what is kept of it comes to the shelf under a number of its own: write that on "
             "the piece, and copy the mark to it before the cut that removes it. Several bars "
             "are one step, all or none, and one undo. A bar that did not come out as planned is "
             "for `dropwise miscut`.",
    .least = 1,
    .most = -1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(cut_options),
    .options = cut_options,
    .run = run_cut,
};

/* --- plans ------------------------------------------------------------------------------------ */

static json_t *plan_json(const struct dw_cli_shelf *shelf, const struct dw_held_plan *plan)
{
    json_t *object =
        json_pack("{s:I, s:o, s:s, s:b, s:I, s:I, s:I, s:o}", "plan", (json_int_t)plan->id, "job",
                  dw_cli__json_text(plan->job), "when", plan->when, "open", (int)plan->open, "bars",
                  (json_int_t)plan->n_bars, "cut", (json_int_t)plan->n_cut, "missing",
                  (json_int_t)plan->n_missing, "money", dw_cli__money_json(shelf, plan->value));
    json_object_set_new(object, "replaces",
                        plan->replaces ? json_integer((json_int_t)plan->replaces) : json_null());
    return object;
}

/* A plan is done when all of its pieces are there, not when all of its bars are gone. */
static void put_state(struct dw_cli_table *table, const struct dw_held_plan *plan)
{
    bool cut = plan->n_cut == (int64_t)plan->n_bars;
    if (cut && plan->open && plan->n_missing > 0)
        dw_cli__cell_format(table, "%s missing",
                            dw_cli__count(plan->n_missing, "piece", "pieces").text);
    else
        dw_cli__cell(table, cut && plan->n_missing == 0 ? "done" : plan->open ? "open" : "closed");
}

static enum dw_cli_status list_plans(struct dw_cli_shelf *shelf)
{
    static const struct dw_cli_column columns[] = {
        {.title = "plan", .right = true}, {.title = "job", .fold = true},  {.title = "when"},
        {.title = "bars", .right = true}, {.title = "cut", .right = true}, {.title = "state"},
    };
    struct dw_held_list *list = NULL;
    struct dw_error error = {0};
    dw_err err = dw_ledger_plans(shelf->ledger, !dw_cli__has(shelf->args, "all"), &list, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    json_t *array = json_array();
    for (size_t i = 0; i < list->n; i++) {
        const struct dw_held_plan *plan = &list->rows[i];
        dw_cli__cell_format(&table, "%lld", (long long)plan->id);
        dw_cli__cell(&table, plan->job);
        dw_cli__cell(&table, plan->when);
        dw_cli__cell_format(&table, "%zu", plan->n_bars);
        dw_cli__cell_format(&table, "%lld", (long long)plan->n_cut);
        put_state(&table, plan);
        json_array_append_new(array, plan_json(shelf, plan));
    }
    dw_cli__table_end(&shelf->page, &table);
    if (list->n == 0)
        dw_cli__fold(&shelf->page, DW_CLI_PLAIN, "", "No plan is open.");
    dw_held_list_free(list);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "plans", array);
    return dw_cli__shelf_end(shelf, document);
}

/* "leg 1200 mm x 2, arm 300 mm" */
static void put_pieces(struct dw_cli_shelf *shelf, struct dw_cli_table *table,
                       const struct dw_held_bar *bar)
{
    struct dw_buf text = {0};
    for (size_t i = 0; i < bar->n_pieces; i++) {
        const struct dw_held_piece *piece = &bar->pieces[i];
        dw_buf__format(&text, "%s%s %s", i ? ", " : "", piece->label ? piece->label : "bend end",
                       dw_cli__length(&shelf->page, piece->length).text);
        if (piece->count > 1)
            dw_buf__format(&text, " x %lld", (long long)piece->count);
    }
    dw_cli__cell_buf(table, &text);
}

static json_t *bar_json(const struct dw_cli_shelf *shelf, const struct dw_held_bar *bar)
{
    struct dw_buf buf = {0};
    struct dw_out out = dw_cli__shelf_out(shelf, &buf);
    const struct dw_record_out to = {.out = &out, .version = DW_RECORD_ALL};
    dw_out__open(&out, NULL, '{');
    dw_held__put_bar(&to, bar);
    dw_out__close(&out, '{');
    return dw_cli__json_take(&buf);
}

static json_t *buys_json(const struct dw_cli_shelf *shelf, const struct dw_held_plan *plan)
{
    json_t *buys = json_array();
    for (size_t i = 0; i < plan->n_buys; i++) {
        const struct dw_held_buy *buy = &plan->buys[i];
        json_array_append_new(
            buys, json_pack("{s:s, s:o, s:s, s:o, s:I, s:I, s:I, s:o}", "supply", buy->supply,
                            "supplier", dw_cli__json_text(buy->supplier), "material", buy->material,
                            "length", dw_cli__length_json(shelf, buy->length), "pack",
                            (json_int_t)buy->pack, "bought", (json_int_t)buy->bought, "came",
                            (json_int_t)buy->came, "money", dw_cli__money_json(shelf, buy->money)));
    }
    return buys;
}

/* "Still to come: 3 of 4 of 6 m, from Quay Metals." */
static void put_coming(struct dw_cli_shelf *shelf, const struct dw_held_plan *plan)
{
    struct dw_buf text = {0};
    for (size_t i = 0; plan->open && i < plan->n_buys; i++) {
        const struct dw_held_buy *buy = &plan->buys[i];
        if (buy->came >= buy->bought)
            continue;
        dw_buf__format(&text, "%s%s of %s", text.n ? "; " : "Still to come: ",
                       dw_cli__count(buy->bought - buy->came, "bar", "bars").text, buy->supply);
        if (buy->supplier)
            dw_buf__format(&text, ", from %s", buy->supplier);
    }
    if (text.n == 0)
        return;
    dw_buf__format(&text, ". `dropwise shelf deliver %lld` books what comes.", (long long)plan->id);
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &text);
}

/* Pieces that did not come out, and how they are planned. */
static void put_missing(struct dw_cli_shelf *shelf, const struct dw_held_plan *plan)
{
    struct dw_buf text = {0};
    if (!plan->open || plan->n_missing == 0)
        return;
    dw_buf__format(&text,
                   "%s of bars that are cut did not come out. When there is tube for it, `dropwise "
                   "plan JOB --hold --rest-of %lld` plans what is left of the job.",
                   dw_cli__count(plan->n_missing, "piece", "pieces").text, (long long)plan->id);
    dw_cli__fold_buf(&shelf->page, DW_CLI_CARE, "", &text);
}

static enum dw_cli_status show_plan(struct dw_cli_shelf *shelf)
{
    static const struct dw_cli_column columns[] = {
        {.title = "bar", .right = true},    {.title = "from"},
        {.title = "length", .right = true}, {.title = "pieces", .fold = true},
        {.title = "left", .right = true},   {.title = ""},
    };
    struct dw_held_list *list = NULL;
    struct dw_error error = {0};
    int64_t id = 0;
    if (!dw_cli__shelf_number("plan", shelf->args->operands[0], &id))
        return DW_CLI_REFUSED;
    dw_err err = dw_ledger_plan(shelf->ledger, id, &list, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    const struct dw_held_plan *plan = &list->rows[0];
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    struct dw_care care = {0};
    json_t *bars = json_array();
    dw_held__care(&care, shelf->job, plan->bars, plan->n_bars);
    dw_cli__report_care(&shelf->page, &care, DW_AT_SAW);
    for (size_t i = 0; i < plan->n_bars; i++) {
        const struct dw_held_bar *bar = &plan->bars[i];
        dw_cli__cell_format(&table, "%lld", (long long)bar->bar);
        dw_cli__cell(&table, bar->number ? bar->number : bar->supply);
        dw_cli__cell(&table, dw_cli__length(&shelf->page, bar->length).text);
        put_pieces(shelf, &table, bar);
        dw_cli__cell(&table, bar->leftover ? dw_cli__length(&shelf->page, bar->leftover).text : "");
        dw_cli__cell(&table, bar->cut ? "cut" : bar->number ? "here" : "to come");
        json_array_append_new(bars, bar_json(shelf, bar));
    }
    dw_cli__table_end(&shelf->page, &table);
    put_coming(shelf, plan);
    put_missing(shelf, plan);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "plan", plan_json(shelf, plan));
    json_object_set_new(document, "bars", bars);
    json_object_set_new(document, "buys", buys_json(shelf, plan));
    json_object_set_new(document, "cautions", dw_cli__json_care(shelf->job, &care, DW_AT_SAW));
    dw_held_list_free(list);
    return dw_cli__shelf_end(shelf, document);
}

/* Writes the document of a plan as the shelf keeps it. */
static enum dw_cli_status write_document(struct dw_cli_shelf *shelf, const char *path)
{
    struct dw_held_list *list = NULL;
    struct dw_error error = {0};
    int64_t id = 0;
    if (!dw_cli__shelf_number("plan", shelf->args->operands[0], &id))
        return DW_CLI_REFUSED;
    dw_err err = dw_ledger_plan(shelf->ledger, id, &list, &error);
    const char *text = err ? NULL : list->rows[0].document;
    if (!err && !text)
        err = dw_error__set(&error, DW_ERR_NOTFOUND, "plan %lld was held without a document",
                            (long long)id);
    if (!err)
        err = dw_file__write(path, text, strlen(text), dw_cli__has(shelf->args, "replace"), &error);
    dw_held_list_free(list);
    return dw_cli__shelf_said(err, &error);
}

static enum dw_cli_status plans(struct dw_cli_shelf *shelf)
{
    const char *path = dw_cli__value(shelf->args, "output");
    if (!shelf->args->n_operands && path) {
        dw_cli__complain("shelf plans --output: name the plan whose document it is to be");
        return DW_CLI_REFUSED;
    }
    enum dw_cli_status status = path ? write_document(shelf, path) : DW_CLI_DONE;
    if (status != DW_CLI_DONE)
        return status;
    return shelf->args->n_operands ? show_plan(shelf) : list_plans(shelf);
}

static enum dw_cli_status run_plans(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, plans);
}

static const struct dw_cli_option plans_options[] = {
    {"all", 'a', NULL, NULL, "closed ones too"},
    DW_CLI_OUTPUT_OPTIONS("PLAN.json", "write the document of PLAN to this file"),
    DW_CLI_SHELF_OPTION,
};

const struct dw_cli_command dw_cli__shelf_plans = {
    .name = "plans",
    .operands = "[PLAN]",
    .summary = "list the plans that hold something, or the bars of one",
    .about = "With PLAN, its bars in cutting order with the numbers that `dropwise shelf cut` and "
             "`dropwise miscut` want; with --output, its plan document goes to a file, from which "
             "its papers can be made.",
    .least = 0,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(plans_options),
    .options = plans_options,
    .run = run_plans,
};
