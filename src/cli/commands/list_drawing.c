/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise list of a drawing: its parts, and what each entity was taken for. */
#include "cli/commands/list_drawing.h"
#include "cli/terminal/json.h"

#include "job/sketched.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

/* What a run of the command holds. */
struct drawn_list {
    const struct dw_cli_args *args;
    struct dw_cli_page *page;
    struct dw_report report;
    struct dw_sketched *sketched;
};

/* --- JSON ---------------------------------------------------------------------------------------
 */

static json_t *part_json(const struct dw_sketched_part *part)
{
    return json_pack("{s:o, s:I, s:o, s:I, s:o, s:[o, o]}", "label", dw_cli__json_text(part->label),
                     "count", (json_int_t)part->count, "layer", dw_cli__json_text(part->layer),
                     "length nm", (json_int_t)part->length, "shape", dw_cli__json_text(part->shape),
                     "ends", dw_cli__json_text(part->ends[0]), dw_cli__json_text(part->ends[1]));
}

static json_t *entity_json(const struct dw_sketched_entity *entity)
{
    return json_pack("{s:i, s:o, s:o, s:o, s:s, s:I, s:o}", "line", entity->line, "handle",
                     dw_cli__json_text(entity->handle), "type", dw_cli__json_text(entity->type),
                     "layer", dw_cli__json_text(entity->layer), "role", entity->role, "count",
                     (json_int_t)entity->count, "parts", dw_cli__json_text(entity->parts));
}

static enum dw_cli_status print_json(const struct drawn_list *state)
{
    const struct dw_sketched *sketched = state->sketched;
    json_t *parts = json_array(), *entities = json_array();
    bool good = parts && entities;
    for (size_t i = 0; good && sketched && i < sketched->n_parts; i++)
        good = json_array_append_new(parts, part_json(&sketched->parts[i])) == 0;
    for (size_t i = 0; good && sketched && i < sketched->n_entities; i++)
        good = json_array_append_new(entities, entity_json(&sketched->entities[i])) == 0;
    if (!good) {
        json_decref(parts);
        json_decref(entities);
        return dw_cli__json_write(NULL);
    }
    return dw_cli__json_write(
        json_pack("{s:s, s:i, s:s, s:o, s:o, s:o, s:I}", "format", "dropwise drawing", "version", 1,
                  "unit", sketched ? dw_unit_name(sketched->unit) : "", "parts", parts, "entities",
                  entities, "remarks", dw_cli__json_remarks(&state->report), "taken",
                  (json_int_t)(sketched ? sketched->n_taken : 0)));
}

/* --- page ------------------------------------------------------------------------------------ */

static void put_clean(struct dw_cli_table *table, const char *text)
{
    struct dw_buf cell = {0};
    dw_cli__clean(&cell, text);
    dw_cli__cell_buf(table, &cell);
}

static void put_parts(const struct drawn_list *state)
{
    static const struct dw_cli_column columns[] = {
        {.title = "part", .own_line = true},
        {.title = "count", .say = "count", .right = true},
        {.title = "centre line", .say = "centre line", .right = true},
        {.title = "layer", .say = "layer"},
        {.title = "ends, bends", .fold = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t i = 0; i < state->sketched->n_parts; i++) {
        const struct dw_sketched_part *part = &state->sketched->parts[i];
        struct dw_buf what = {0};
        put_clean(&table, part->label);
        dw_cli__cell_format(&table, "%lld", (long long)part->count);
        dw_cli__cell(&table, dw_cli__fine(state->page, part->length).text);
        put_clean(&table, part->layer);
        dw_cli__clean(&what, part->ends[0]);
        dw_buf__put(&what, "; ");
        dw_cli__clean(&what, part->ends[1]);
        if (part->bent)
            dw_buf__format(&what, "; %s", part->shape);
        dw_cli__cell_buf(&table, &what);
    }
    if (table.n_cells > 0)
        dw_cli__heading(state->page, "Parts");
    dw_cli__table_end(state->page, &table);
}

/* Those that are taken, or the others. */
static void put_entities(const struct drawn_list *state, bool taken)
{
    static const struct dw_cli_column columns[] = {
        {.title = "line", .say = "line", .right = true},
        {.title = "handle", .say = "handle"},
        {.title = "entity", .own_line = true},
        {.title = "count", .right = true},
        {.title = "layer", .say = "layer"},
        {.title = "what it is", .fold = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t i = 0; i < state->sketched->n_entities; i++) {
        const struct dw_sketched_entity *entity = &state->sketched->entities[i];
        if ((entity->parts[0] != '\0') != taken)
            continue;
        dw_cli__cell_format(&table, "%d", entity->line);
        put_clean(&table, taken ? entity->handle : "");
        put_clean(&table, entity->type);
        dw_cli__cell_format(&table, taken ? "" : "%zu", entity->count);
        put_clean(&table, entity->layer);
        put_clean(&table, taken ? entity->parts : entity->role);
    }
    if (table.n_cells > 0)
        dw_cli__heading(state->page, taken ? "Taken" : "Not taken");
    dw_cli__table_end(state->page, &table);
}

static enum dw_cli_status print_page(const struct drawn_list *state)
{
    const struct dw_sketched *sketched = state->sketched;
    struct dw_buf line = {0};
    int64_t n = 0;
    for (size_t i = 0; i < sketched->n_parts; i++)
        n += sketched->parts[i].count;
    dw_cli__clean(&line, state->args->operands[0]);
    dw_buf__format(&line, ": %s taken, ",
                   dw_cli__count((int64_t)sketched->n_taken, "entity", "entities").text);
    dw_buf__format(&line, "%s, drawn in %s", dw_cli__count(n, "tube", "tubes").text,
                   dw_unit_name(sketched->unit));
    dw_cli__fold_buf(state->page, DW_CLI_STRONG, "", &line);
    put_parts(state);
    put_entities(state, true);
    put_entities(state, false);
    return dw_cli__page_end(state->page);
}

/* --- the command ----------------------------------------------------------------------------- */

static enum dw_cli_status write_table(const struct drawn_list *state)
{
    char *text = NULL;
    size_t n = 0;
    struct dw_error error = {0};
    if (!dw_cli__value(state->args, "output"))
        return DW_CLI_DONE;
    dw_err err = dw_sketched__csv(state->sketched, &text, &n, &error);
    if (err)
        dw_cli__say_error(&error);
    enum dw_cli_status status = err ? dw_cli__status(err) : dw_cli__put_out(state->args, text, n);
    free(text);
    return status;
}

static enum dw_cli_status refuse_options(const struct dw_cli_args *args)
{
    static const char *const options[] = {"sheet", "columns"};
    const char *what = dw_cli__value(args, "what");
    for (size_t i = 0; i < DW_COUNT(options); i++)
        if (dw_cli__has(args, options[i])) {
            dw_cli__complain("--%s: a drawing has no sheets and columns; --layers chooses what is "
                             "read of it",
                             options[i]);
            return DW_CLI_REFUSED;
        }
    if (!what || strcmp(what, "parts") == 0)
        return DW_CLI_DONE;
    dw_cli__complain("--what %s: a drawing holds parts", what);
    return DW_CLI_REFUSED;
}

enum dw_cli_status dw_cli__list_drawing(const struct dw_cli_args *args, struct dw_cli_page *page,
                                        const char *name, const char *text, size_t n)
{
    const char *given = dw_cli__value(args, "unit");
    bool says = dw_sketched__unit(text, n) != DW_UNIT_NONE; /* then --unit is for the page alone */
    const struct dw_sketched_source source = {
        .name = name,
        .text = text,
        .n = n,
        .unit = given && !says ? dw_unit_find(given, strlen(given)) : DW_UNIT_NONE,
        .layers = dw_cli__value(args, "layers"),
        .one_tube = dw_cli__has(args, "one-tube")};
    struct drawn_list state = {.args = args, .page = page};
    struct dw_error error = {0};
    enum dw_cli_status status = refuse_options(args);
    if (status != DW_CLI_DONE)
        return status;
    dw_err err = dw_sketched__read(&source, &state.sketched, &state.report, &error);
    status = state.report.n_wrong > 0 ? DW_CLI_REFUSED : dw_cli__status(err);
    if (err && state.report.n_wrong == 0)
        dw_cli__say_error(&error);
    dw_cli__say_report(&state.report, SIZE_MAX);
    if (status == DW_CLI_DONE)
        status = write_table(&state);
    enum dw_cli_status shown = DW_CLI_DONE;
    if (dw_cli__to_stdout(args))
        shown = status;
    else if (dw_cli__has(args, "json") && (state.sketched || state.report.n_wrong > 0))
        shown = print_json(&state);
    else if (state.sketched)
        shown = print_page(&state);
    dw_sketched__free(state.sketched);
    dw_report_free(&state.report);
    return status == DW_CLI_DONE ? shown : status;
}
