/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise posts: what each offcut could become. */
#include "cli/shelf/shelf.h"
#include <dropwise/posts.h>

#include <dropwise/caution.h>

#include <stdlib.h>
#include <string.h>

struct asking {
    const struct dw_cli_args *args;
    struct dw_cli_shelf shelf;
    struct dw_cli_page page;
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_post_request request;
    struct dw_post_list *list;
};

/* --- what is asked ---------------------------------------------------------------------------- */

static bool read_load(struct asking *ask)
{
    const struct dw_post_asked asked = {
        .load = dw_cli__value(ask->args, "load"),
        .droop = dw_cli__value(ask->args, "droop"),
        .safety = dw_cli__value(ask->args, "safety"),
        .stiffness = dw_cli__value(ask->args, "stiffness"),
        .yield = dw_cli__value(ask->args, "yield"),
    };
    struct dw_error error = {0};
    struct dw_report report = {0};
    if (dw_posts_read(&asked, ask->job->unit, &ask->request.load, &error))
        dw_cli__complain("--%s", error.text);
    else if (dw_posts_doubt(&ask->request.load, &report))
        dw_cli__complain("out of memory");
    dw_cli__say_report(&report, SIZE_MAX);
    dw_report_free(&report);
    return error.code == DW_OK;
}

/* The shelf is looked at when it is named or asked for; the plan is read with the same pieces. */
static enum dw_cli_status open_sources(struct asking *ask)
{
    const char *plan = dw_cli__value(ask->args, "plan");
    struct dw_error error = {0};
    struct dw_report report = {0};
    enum dw_cli_status status = DW_CLI_DONE;
    if (dw_cli__has(ask->args, "shelf") || dw_cli__has(ask->args, "from-shelf")) {
        status = dw_cli__shelf_open(ask->args, DW_LEDGER_READ, &ask->shelf);
        ask->request.ledger = ask->shelf.ledger;
    }
    if (status == DW_CLI_DONE && plan) {
        struct dw_job_source source = {.path = plan};
        dw_err err = dw_job_verify(ask->job, &source, &ask->plan, NULL, &report, &error);
        dw_cli__say_report(&report, 0);
        status = dw_cli__shelf_said(err, &error);
        ask->request.plan = ask->plan;
    }
    dw_report_free(&report);
    return status;
}

/* --- the answer for a person ------------------------------------------------------------------ */

static void put_source(struct dw_cli_table *table, const struct dw_post_source *source)
{
    if (source->number)
        dw_cli__cell(table, source->number);
    else
        dw_cli__cell_format(table, "left of %.60s", source->from);
}

static void put_could(struct asking *ask, struct dw_cli_table *table,
                      const struct dw_post_choice *row)
{
    struct dw_buf text = {0};
    for (size_t k = 0; k < row->n_could; k++)
        if (row->could[k] != row->wish)
            dw_buf__format(&text, "%s%s", text.n ? ", " : "", ask->job->parts[row->could[k]].label);
    if (row->wish == DW_NONE && row->n_could > 0)
        dw_buf__put(&text, "; worth more as it is, or no more wanted");
    dw_cli__cell_buf(table, &text);
}

static void put_choices(struct asking *ask)
{
    static const struct dw_cli_column columns[] = {
        {.title = "offcut"},
        {.title = "place"},
        {.title = "length", .right = true},
        {.title = "becomes"},
        {.title = "cut to", .right = true},
        {.title = "worth", .right = true},
        {.title = "left", .right = true},
        {.title = "could also be", .fold = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    for (size_t i = 0; i < ask->list->n; i++) {
        const struct dw_post_choice *row = &ask->list->rows[i];
        const struct dw_post_source *source = &ask->list->sources[row->source];
        bool made = row->wish != DW_NONE;
        bool more = i > 0 && row[-1].source == row->source; /* posts of one offcut */
        put_source(&table, source);
        dw_cli__cell(&table, more ? "" : source->place);
        dw_cli__cell(&table, more ? "" : dw_cli__length(&ask->page, source->length).text);
        dw_cli__cell(&table, made ? ask->job->parts[row->wish].label : "");
        dw_cli__cell(&table, made ? dw_cli__length(&ask->page, row->length).text : "");
        dw_cli__cell(&table, made ? dw_cli__amount(&ask->page, row->worth).text : "");
        dw_cli__cell(&table, row->leftover ? dw_cli__length(&ask->page, row->leftover).text : "");
        put_could(ask, &table, row);
    }
    dw_cli__table_end(&ask->page, &table);
}

/* What each material was judged by, each once. */
static void put_figures(struct asking *ask)
{
    for (size_t i = 0; i < ask->list->n; i++) {
        const struct dw_post_check *check = &ask->list->rows[i].check;
        size_t material = ask->list->sources[ask->list->rows[i].source].material;
        bool told = !check->done;
        for (size_t k = 0; !told && k < i; k++)
            told = ask->list->rows[k].check.done &&
                   ask->list->sources[ask->list->rows[k].source].material == material;
        if (told)
            continue;
        struct dw_buf text = {0};
        dw_buf__format(&text, "%s: E %.0f MPa, I %.4g cm4, Z %.4g cm3, minimum yield %.1f MPa, %s",
                       ask->job->materials[material].id, check->e_mpa, check->inertia_mm4 / 1e4,
                       check->modulus_mm3 / 1e3, check->yield_mpa, check->source);
        dw_cli__fold_buf(&ask->page, DW_CLI_PLAIN, "", &text);
    }
}

static void put_checks(struct asking *ask)
{
    static const struct dw_cli_column columns[] = {
        {.title = "offcut"},
        {.title = "as"},
        {.title = "droop, mm", .right = true, .say = "droop, mm: "},
        {.title = "most", .right = true, .say = "allowed: "},
        {.title = "stress, MPa", .right = true, .say = "stress, MPa: "},
        {.title = "most", .right = true, .say = "allowed: "},
        {.title = "", .fold = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    for (size_t i = 0; i < ask->list->n; i++) {
        const struct dw_post_choice *row = &ask->list->rows[i];
        const struct dw_post_check *check = &row->check;
        if (row->wish == DW_NONE)
            continue;
        put_source(&table, &ask->list->sources[row->source]);
        dw_cli__cell(&table, ask->job->parts[row->wish].label);
        const double figures[] = {check->droop_mm, check->droop_most_mm, check->stress_mpa,
                                  check->stress_most_mpa};
        for (size_t k = 0; k < DW_COUNT(figures); k++)
            if (check->done)
                dw_cli__cell_format(&table, k < 2 ? "%.2f" : "%.1f", figures[k]);
            else
                dw_cli__cell(&table, "");
        if (check->done)
            dw_cli__cell(&table, check->fits ? "within" : "TOO MUCH");
        else
            dw_cli__cell_format(&table, "not checked: %s", check->why_not);
    }
    dw_cli__heading(&ask->page, "Load check, the post held at one end");
    dw_cli__table_end(&ask->page, &table);
    dw_cli__newline(&ask->page);
    struct dw_buf text = {0};
    dw_buf__format(&text, "With %.1f N at the free end; %s. Stress allowed: minimum yield / %g.",
                   ask->request.load.load_n, dw_posts_formula(), ask->request.load.safety);
    dw_cli__fold_buf(&ask->page, DW_CLI_PLAIN, "", &text);
    put_figures(ask);
}

static void put_title(struct asking *ask, int64_t n)
{
    struct dw_buf text = {0};
    if (ask->list->n == 0)
        dw_buf__put(&text, "There are no offcuts to make posts of.");
    else if (n == 0)
        dw_buf__put(&text, "No offcut is worth more as a post than as it is.");
    else {
        dw_buf__format(&text, "%s of ", dw_cli__count(n, "post", "posts").text);
        dw_buf__put(&text, dw_cli__count((int64_t)ask->list->n_sources, "offcut", "offcuts").text);
        dw_buf__format(&text, ", worth %s: ", dw_cli__money(&ask->page, ask->list->worth).text);
        dw_buf__format(&text, "%s more than the offcuts are worth. No choice %sgains more.",
                       dw_cli__money(&ask->page, ask->list->gain).text,
                       ask->list->several ? "" : "of one post an offcut ");
    }
    dw_cli__fold_buf(&ask->page, DW_CLI_STRONG, "", &text);
}

static enum dw_cli_status print_page(struct asking *ask)
{
    int64_t n = 0;
    for (size_t i = 0; i < ask->list->n; i++)
        n += ask->list->rows[i].wish != DW_NONE;
    put_title(ask, n);
    if (ask->list->n > 0) {
        dw_cli__newline(&ask->page);
        put_choices(ask);
    }
    if (ask->request.load.load_n > 0 && n > 0)
        put_checks(ask);
    dw_cli__newline(&ask->page);
    dw_cli__fold(&ask->page, DW_CLI_CARE, "", dw_caution_text(DW_CAUTION_LOAD));
    return dw_cli__page_end(&ask->page);
}

/* --- the answer for a program ----------------------------------------------------------------- */

static json_t *check_json(const struct dw_post_check *check)
{
    if (!check->done)
        return check->why_not ? json_pack("{s:b, s:s}", "done", 0, "why_not", check->why_not)
                              : json_null();
    return json_pack("{s:b, s:b, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:s, s:s}", "done", 1,
                     "fits", (int)check->fits, "droop_mm", check->droop_mm, "droop_most_mm",
                     check->droop_most_mm, "stress_mpa", check->stress_mpa, "stress_most_mpa",
                     check->stress_most_mpa, "e_mpa", check->e_mpa, "inertia_mm4",
                     check->inertia_mm4, "modulus_mm3", check->modulus_mm3, "yield_mpa",
                     check->yield_mpa, "yield_source", check->source, "formula",
                     dw_posts_formula());
}

static json_t *choice_json(const struct asking *ask, const struct dw_post_choice *row)
{
    const struct dw_post_source *source = &ask->list->sources[row->source];
    bool made = row->wish != DW_NONE;
    json_t *could = json_array();
    for (size_t k = 0; k < row->n_could; k++)
        json_array_append_new(could, json_string(ask->job->parts[row->could[k]].label));
    json_t *object = json_pack(
        "{s:o, s:o, s:o, s:s, s:I, s:o, s:o}", "number", dw_cli__json_text(source->number),
        "left_of", dw_cli__json_text(source->from), "place", dw_cli__json_text(source->place),
        "material", ask->job->materials[source->material].id, "length_nm",
        (json_int_t)source->length, "could", could, "post",
        dw_cli__json_text(made ? ask->job->parts[row->wish].label : NULL));
    if (made) {
        json_object_set_new(object, "cut_nm", json_integer((json_int_t)row->length));
        json_object_set_new(object, "left_nm", json_integer((json_int_t)row->leftover));
        json_object_set_new(object, "worth",
                            json_string(dw_cli__amount(&ask->page, row->worth).text));
        json_object_set_new(object, "gain",
                            json_string(dw_cli__amount(&ask->page, row->gain).text));
        json_object_set_new(object, "check", check_json(&row->check));
    }
    return object;
}

static enum dw_cli_status print_json(const struct asking *ask)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < ask->list->n; i++)
        json_array_append_new(rows, choice_json(ask, &ask->list->rows[i]));
    return dw_cli__json_write(json_pack(
        "{s:s, s:i, s:s, s:s, s:s, s:o}", "format", "dropwise posts", "version", 2, "currency",
        ask->job->currency, "worth", dw_cli__amount(&ask->page, ask->list->worth).text, "caution",
        dw_caution_text(DW_CAUTION_LOAD), "offcuts", rows));
}

/* --- the command ------------------------------------------------------------------------------ */

static enum dw_cli_status answer(struct asking *ask)
{
    struct dw_error error = {0};
    dw_err err = dw_posts_find(ask->job, &ask->request, &ask->list, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    return dw_cli__has(ask->args, "json") ? print_json(ask) : print_page(ask);
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct asking ask = {.args = args, .request = {.bars = dw_cli__has(args, "bars")}};
    struct dw_report report = {0};
    enum dw_cli_status status = dw_cli__page_init(args, &ask.page);
    if (status == DW_CLI_DONE)
        status = dw_cli__load(args, &ask.job, &report);
    if (status == DW_CLI_DONE)
        status = dw_cli__page_job(args, ask.job, &ask.page);
    if (status == DW_CLI_DONE && !read_load(&ask))
        status = DW_CLI_REFUSED;
    if (status == DW_CLI_DONE)
        status = open_sources(&ask);
    if (status == DW_CLI_DONE)
        status = answer(&ask);
    dw_post_list_free(ask.list);
    dw_plan_free(ask.plan);
    dw_job_free(ask.job);
    dw_report_free(&report);
    dw_cli__shelf_close(&ask.shelf);
    dw_cli__page_free(&ask.page);
    return status;
}

static const struct dw_cli_option options[] = {
    {"plan", 0, "PLAN.json", NULL, "take the offcuts that this plan of the job leaves"},
    {"from-shelf", 0, NULL, NULL, "take the shop's offcuts on the shelf"},
    DW_CLI_SHELF_OPTION,
    {"bars", 0, NULL, NULL, "whole bars on the shelf too"},
    {"load", 0, "LOAD", NULL, "check each post with this load at its free end: 40 N, 4 kg, 10 lbf"},
    {"droop", 0, "LENGTH", NULL, "most that it may droop; otherwise a hundredth of its length"},
    {"safety", 0, "N", NULL, "stress allowed is the minimum yield divided by this; otherwise 2"},
    {"stiffness", 0, "MPA", NULL, "modulus of elasticity; otherwise that of the alloy"},
    {"yield", 0, "MPA", NULL, "minimum yield; otherwise that of the alloy"},
};

const struct dw_cli_command dw_cli__cmd_posts = {
    .name = "posts",
    .operands = "JOB",
    .summary = "say which posts the offcuts could become, and which choice is best",
    .about =
        "The posts are those of JOB, which may be a shop's list of nothing but posts: length "
        "range, material, how many, worth. The offcuts are those on the shelf, those that a plan "
        "leaves, or else those that the job lists. Each becomes one or several posts or stays; the "
        "choice that gains most over keeping the offcuts is found and proven. An offcut counts at "
        "its book value, or at what the rules make a leftover of its length worth where none is "
        "known. Where there are too many ways to weigh, each becomes one post at most.\n\n"
        "--load adds a load check as an aid: droop and stress of a straight tube that is held at "
        "one end. Curved tube is not checked. Minimum yields are known of S235, A500 A to D "
        "(round) and 6061-T6; for another alloy give --stiffness and --yield. It is never an "
        "approval.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
