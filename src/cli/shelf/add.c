/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf add, material, import: what comes to the shelf. */
#include "cli/shelf/parts.h"

#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define COUNT_MOST 10000

/* --- add -------------------------------------------------------------------------------------- */

static bool read_ends(const char *text, enum dw_end ends[2])
{
    if (!text || dw_ends__read(text, strlen(text), ends))
        return true;
    dw_cli__complain("--ends %s: write mill or sawn for both ends, or as `sawn,mill` for datum "
                     "end and far end",
                     text);
    return false;
}

static bool read_value(struct dw_cli_shelf *shelf, dw_money *value)
{
    const char *text = dw_cli__value(shelf->args, "value");
    struct dw_error error = {0};
    if (!text || !dw_money_parse(text, strlen(text), shelf->page.currency, value, &error))
        return true;
    dw_cli__complain("--value %s: %s", text, error.text);
    return false;
}

/* The piece as the options describe it, without its length. */
static bool read_stock(struct dw_cli_shelf *shelf, struct dw_stock *stock)
{
    const struct dw_cli_args *args = shelf->args;
    const char *measured = dw_cli__value(args, "measured");
    const char *date = dw_cli__value(args, "date");
    bool bar = dw_cli__has(args, "bar");
    *stock = (struct dw_stock){
        .number = dw_cli__value(args, "number"),
        .material = args->operands[0],
        .kind = bar ? DW_KIND_BAR : DW_KIND_OFFCUT,
        .ends = {bar ? DW_END_MILL : DW_END_SAWN, bar ? DW_END_MILL : DW_END_SAWN},
        .place = dw_cli__value(args, "place"),
        .owner = dw_cli__value(args, "owner"),
        .mark = dw_cli__value(args, "mark"),
        .date = date ? date : shelf->today,
        .job = dw_cli__value(args, "job"),
        .remark = dw_cli__value(args, "remark"),
    };
    return read_ends(dw_cli__value(args, "ends"), stock->ends) &&
           read_value(shelf, &stock->value) &&
           (!measured || dw_cli__shelf_length(shelf, "--measured", measured, &stock->measured));
}

/* `41 1/4` without quotes is two words, of which the second would be a piece of a quarter inch. */
static bool check_lengths(const struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    for (size_t i = 2; i < args->n_operands; i++) {
        const char *text = args->operands[i];
        size_t n = strspn(text, "0123456789");
        bool fraction = n > 0 && text[n] == '/';
        bool unit = dw_unit_find(text, strlen(text)) != DW_UNIT_NONE;
        if (!fraction && !unit)
            continue;
        dw_cli__complain("length %s %s: quote a length of several words: \"%s %s\"",
                         args->operands[i - 1], text, args->operands[i - 1], text);
        return false;
    }
    return true;
}

/* Said of pieces that a job without a rule of its own would not keep. */
static void doubt_short(struct dw_cli_shelf *shelf, const struct dw_stock *pieces, size_t n)
{
    bool inches = shelf->page.length.unit == DW_UNIT_IN || shelf->page.length.unit == DW_UNIT_FT;
    dw_length keep = dw_worth__usual_keep(inches);
    for (size_t i = 0; i < n; i++) {
        if (pieces[i].kind == DW_KIND_BAR || pieces[i].length >= keep ||
            (i > 0 && pieces[i].length == pieces[i - 1].length))
            continue;
        dw_cli__complain("doubtful: a piece of %s is shorter than what is usually kept, %s",
                         dw_cli__fine(&shelf->page, pieces[i].length).text,
                         dw_cli__length(&shelf->page, keep).text);
    }
}

/* Every length as often as --count says. */
static bool read_pieces(struct dw_cli_shelf *shelf, struct dw_stock **out, size_t *n)
{
    const struct dw_cli_args *args = shelf->args;
    const char *count_text = dw_cli__value(args, "count");
    int64_t count = 1;
    struct dw_stock stock;
    if (count_text && !dw_cli__number("count", count_text, 1, COUNT_MOST, &count))
        return false;
    if (!read_stock(shelf, &stock))
        return false;
    size_t n_lengths = args->n_operands - 1;
    if (!check_lengths(shelf))
        return false;
    if (stock.number && n_lengths * (size_t)count > 1) {
        dw_cli__complain("--number names one piece, not %zu; leave it out to have them numbered",
                         n_lengths * (size_t)count);
        return false;
    }
    struct dw_stock *pieces = calloc(n_lengths * (size_t)count, sizeof *pieces);
    bool good = pieces != NULL;
    if (!good)
        dw_cli__complain("out of memory");
    *n = 0;
    for (size_t i = 0; good && i < n_lengths; i++) {
        good = dw_cli__shelf_length(shelf, "length", args->operands[1 + i], &stock.length);
        for (int64_t k = 0; good && k < count; k++)
            pieces[(*n)++] = stock;
    }
    *out = pieces;
    return good;
}

static enum dw_cli_status add_pieces(struct dw_cli_shelf *shelf)
{
    struct dw_stock *pieces = NULL;
    size_t n = 0;
    int64_t step = 0;
    struct dw_error error = {0};
    if (!read_pieces(shelf, &pieces, &n)) {
        free(pieces);
        return DW_CLI_REFUSED;
    }
    struct dw_report report = {0};
    doubt_short(shelf, pieces, n);
    dw_err err = dw_ledger_add(shelf->ledger, &shelf->act, pieces, n, &step, &error);
    if (!err)
        err = dw_shelf_doubt_values(pieces, n, &report, &error);
    dw_cli__say_report(&report, SIZE_MAX);
    dw_report_free(&report);
    free(pieces);
    if (err)
        return dw_cli__shelf_said(err, &error);
    char sentence[160];
    snprintf(sentence, sizeof sentence, "Added %s.",
             dw_cli__count((int64_t)n, "piece", "pieces").text);
    return dw_cli__shelf_done(shelf, step, sentence, NULL);
}

static const struct dw_cli_option add_options[] = {
    {"count", 'n', "N", NULL, "so many alike"},
    {"bar", 'b', NULL, NULL, "whole bars with mill ends; otherwise offcuts with sawn ends"},
    {"number", 0, "NUMBER", NULL, "its number; otherwise the next free one"},
    {"measured", 0, "LENGTH", NULL, "its true length where it differs from the nominal one"},
    {"ends", 0, "ENDS", NULL, "mill or sawn, or as sawn,mill for datum end and far end"},
    {"value", 0, "MONEY", NULL, "book value of one; otherwise 0"},
    {"place", 0, "PLACE", NULL, "where it lies"},
    {"owner", 0, "NAME", NULL, "client who owns it; otherwise the shop"},
    {"mark", 0, "MARK", NULL, "heat or lot mark"},
    {"date", 0, "DAY", NULL, "since when it is there; otherwise the day of the step"},
    {"job", 0, "NAME", NULL, "the job it came from"},
    {"remark", 0, "TEXT", NULL, "anything else"},
    DW_CLI_ACT_OPTIONS,
};

static enum dw_cli_status run_add(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_CREATE, add_pieces);
}

const struct dw_cli_command dw_cli__shelf_add = {
    .name = "add",
    .operands = "MATERIAL LENGTH...",
    .summary = "put offcuts or bars on the shelf",
    .about = "Adds a piece of MATERIAL for each LENGTH (or as many as --count says) and prints "
             "their numbers. The material must be known: `dropwise shelf material` enters one. "
             "The file of the shelf is made at first use.",
    .least = 2,
    .most = -1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(add_options),
    .options = add_options,
    .run = run_add,
};

/* --- material --------------------------------------------------------------------------------- */

static bool optional_length(const struct dw_cli_shelf *shelf, const char *option, dw_length *out)
{
    const char *text = dw_cli__value(shelf->args, option);
    char what[32];
    snprintf(what, sizeof what, "--%s", option);
    return !text || dw_cli__shelf_length(shelf, what, text, out);
}

static enum dw_cli_status list_materials(struct dw_cli_shelf *shelf)
{
    static const struct dw_cli_column columns[] = {
        {.title = "material"},
        {.title = "alloy"},
        {.title = "outside diameter", .right = true},
        {.title = "wall", .right = true},
        {.title = "radius", .right = true},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    json_t *array = json_array();
    for (size_t i = 0; i < shelf->job->n_materials; i++) {
        const struct dw_material *m = &shelf->job->materials[i];
        const dw_length lengths[] = {m->od, m->wall, m->radius};
        dw_cli__cell(&table, m->id);
        dw_cli__cell(&table, m->alloy);
        for (size_t k = 0; k < DW_COUNT(lengths); k++)
            dw_cli__cell(&table, lengths[k] ? dw_cli__length(&shelf->page, lengths[k]).text : "");
        json_array_append_new(array, json_pack("{s:s, s:o, s:o, s:o}", "id", m->id, "alloy",
                                               dw_cli__json_text(m->alloy), "od",
                                               dw_cli__length_json(shelf, m->od), "wall",
                                               dw_cli__length_json(shelf, m->wall)));
    }
    dw_cli__table_end(&shelf->page, &table);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "materials", array);
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status put_material(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    if (args->n_operands == 0)
        return list_materials(shelf);
    struct dw_error error = {0};
    struct dw_material material = {.id = args->operands[0],
                                   .name = dw_cli__value(args, "name"),
                                   .alloy = dw_cli__value(args, "alloy"),
                                   .finish = dw_cli__value(args, "finish")};
    if (!optional_length(shelf, "od", &material.od) ||
        !optional_length(shelf, "wall", &material.wall) ||
        !optional_length(shelf, "radius", &material.radius))
        return DW_CLI_REFUSED;
    const char *doubt = dw_material__doubt(&material);
    if (doubt)
        dw_cli__complain("doubtful: %s has %s; is its unit right?", material.id, doubt);
    dw_err err = dw_ledger_material_put(shelf->ledger, &shelf->act, &material, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    struct dw_buf text = {0};
    dw_buf__format(&text, "The shelf knows the material %s.", material.id);
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &text);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "material", json_string(material.id));
    return dw_cli__shelf_end(shelf, document);
}

static const struct dw_cli_option material_options[] = {
    {"name", 0, "TEXT", NULL, "what it is called in full"},
    {"alloy", 0, "NAME", NULL, "as S235 or 6061-T6: for load checks of posts"},
    {"finish", 0, "NAME", NULL, "surface"},
    {"od", 0, "LENGTH", NULL, "outside diameter"},
    {"wall", 0, "LENGTH", NULL, "wall thickness"},
    {"radius", 0, "LENGTH", NULL, "centre-line radius of rolled tube"},
    DW_CLI_ACT_OPTIONS,
};

static enum dw_cli_status run_material(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_CREATE, put_material);
}

const struct dw_cli_command dw_cli__shelf_material = {
    .name = "material",
    .operands = "[ID]",
    .summary = "enter a material, or list those that are known",
    .about = "Enters the material ID, or fills in what was not known of it: use the id that your "
             "jobs use. A material that is known otherwise (another diameter or wall) is refused: "
             "pieces of one material are interchangeable. Holding a plan enters its materials "
             "too.",
    .least = 0,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(material_options),
    .options = material_options,
    .run = run_material,
};

/* --- import ----------------------------------------------------------------------------------- */

static enum dw_cli_status import_table(struct dw_cli_shelf *shelf)
{
    struct dw_report report = {0};
    struct dw_error error = {0};
    int64_t step = 0;
    const struct dw_shelf_table table = {
        .path = shelf->args->operands[0],
        .bare = dw_cli__value(shelf->args, "unit") ? shelf->page.length.unit : DW_UNIT_NONE};
    dw_err err = dw_shelf_import(shelf->ledger, &shelf->act, &table, &step, &report, &error);
    enum dw_cli_status status = dw_cli__status(err);
    dw_cli__say_report(&report, SIZE_MAX);
    if (err && report.n_wrong == 0)
        dw_cli__say_error(&error);
    dw_report_free(&report);
    return err ? status : dw_cli__shelf_done(shelf, step, "Added from the table:", NULL);
}

static const struct dw_cli_option import_options[] = {DW_CLI_ACT_OPTIONS};

static enum dw_cli_status run_import(const struct dw_cli_args *args)
{
    enum dw_cli_status status = dw_cli__there(args->operands[0]);
    return status == DW_CLI_DONE ? dw_cli__shelf_run(args, DW_LEDGER_CREATE, import_table) : status;
}

const struct dw_cli_command dw_cli__shelf_import = {
    .name = "import",
    .operands = "TABLE.csv",
    .summary = "add the pieces of a table, all or none",
    .about = "Reads a list as a spreadsheet has it (XLSX, ODS, CSV, TSV): columns number, "
             "material, kind "
             "(bar or offcut), length, measured, ends, value, count, place, owner, mark, date, "
             "job, remark in any order. Mistakes are told with line and column, and then nothing "
             "is added. Bare lengths take the unit in the header, of --unit, or of the shop.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(import_options),
    .options = import_options,
    .run = run_import,
};
