/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise new: a job out of a list of parts, with what another job or the shelf says already. */
#include "cli/commands/kinds.h"
#include "cli/shelf/shelf.h"

#include "job/shop.h"

#include <dropwise/work.h>

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define JOB_BYTES ((size_t)8 * 1024 * 1024)

/* What a run of the command holds. */
struct making {
    const struct dw_cli_args *args;
    char *path;   /* of the job */
    char *folder; /* that it lies in, with its slash; "" for the current one */
    struct dw_buf text;
    struct dw_list_source list; /* and its bytes */
    char *bytes;
    char *columns; /* that are kept for such lists */
};

/* --- names ----------------------------------------------------------------------------------- */

static const char *base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/* "cut" of "lists/cut.xlsx". */
static void put_stem(struct dw_buf *out, const char *path)
{
    const char *name = base_name(path);
    const char *dot = strrchr(name, '.');
    dw_buf__add(out, name, dot && dot > name ? (size_t)(dot - name) : strlen(name));
}

static bool set_paths(struct making *making)
{
    const char *list = making->args->operands[0];
    const char *given = dw_cli__value(making->args, "output");
    struct dw_buf path = {0}, folder = {0};
    if (given)
        dw_buf__put(&path, given);
    else {
        dw_buf__add(&path, list, (size_t)(base_name(list) - list));
        put_stem(&path, list);
        dw_buf__put(&path, ".yaml");
    }
    making->path = dw_buf__take(&path);
    if (making->path)
        dw_buf__add(&folder, making->path, (size_t)(base_name(making->path) - making->path));
    dw_buf__put(&folder, "");
    making->folder = folder.n ? dw_buf__take(&folder) : calloc(1, 1);
    if (!making->path || !making->folder)
        dw_cli__complain("out of memory");
    return making->path && making->folder;
}

/* How the job names the list: as it lies in the job's folder, else by its whole path. */
static bool put_list_name(struct making *making)
{
    const char *list = making->args->operands[0];
    size_t n = (size_t)(base_name(list) - list);
    if (strlen(making->folder) == n && memcmp(list, making->folder, n) == 0) {
        dw_buf__json(&making->text, base_name(list));
        return true;
    }
    char *whole = realpath(list, NULL);
    if (!whole) {
        dw_cli__complain("%s: %s", list, strerror(errno));
        return false;
    }
    dw_buf__json(&making->text, whole);
    free(whole);
    return true;
}

/* --- as another job -------------------------------------------------------------------------- */

/* What belongs to one job alone. */
static bool is_own_key(const char *line, size_t n)
{
    static const char *const keys[] = {"dropwise", "name",  "client", "date",    "due",
                                       "parts",    "posts", "jobs",   "offcuts", "sections"};
    size_t length = 0;
    while (length < n && line[length] != ':')
        length++;
    while (length > 0 && (line[length - 1] == ' ' || line[length - 1] == '"'))
        length--;
    for (size_t i = 0; i < DW_COUNT(keys); i++)
        if (strlen(keys[i]) == length && memcmp(keys[i], line, length) == 0)
            return true;
    return false;
}

/* Copies the blocks of a job, from one key at the margin to the next, but for those. */
static void copy_blocks(struct dw_buf *out, const char *text)
{
    bool own = false;
    for (const char *at = text; *at;) {
        size_t n = strcspn(at, "\n");
        bool key = n > 0 && ((*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z'));
        bool mark = n >= 3 && (strncmp(at, "---", 3) == 0 || strncmp(at, "...", 3) == 0);
        own = key ? is_own_key(at, n) : own;
        if (!own && !mark) {
            dw_buf__add(out, at, n);
            dw_buf__char(out, '\n');
        }
        at += n + (at[n] == '\n');
    }
}

static enum dw_cli_status put_like(struct making *making, const char *like)
{
    static const char *const said[] = {"kerf", "keep", "bar", "currency"};
    struct dw_error error = {0};
    char *text = NULL;
    size_t n = 0;
    for (size_t i = 0; i < DW_COUNT(said); i++) {
        if (!dw_cli__has(making->args, said[i]))
            continue;
        dw_cli__complain("--%s: the job of --like says that already; change it in the new one",
                         said[i]);
        return DW_CLI_REFUSED;
    }
    if (strcmp(like, making->path) == 0) {
        dw_cli__complain("--output %s: that is the job of --like; name another", like);
        return DW_CLI_REFUSED;
    }
    dw_err err = dw_file__read_regular(like, JOB_BYTES, &text, &n, &error);
    if (err) {
        dw_cli__say_error(&error);
        return dw_cli__file_status(err);
    }
    copy_blocks(&making->text, text);
    free(text);
    return DW_CLI_DONE;
}

/* --- from the options and the shelf ---------------------------------------------------------- */

/* What the shelf knows of the shop; nothing where there is no shelf. */
static enum dw_cli_status open_shelf(struct making *making, struct dw_cli_shelf *shelf)
{
    enum dw_cli_status status = dw_cli__shelf_ready(making->args, DW_LEDGER_READ, shelf);
    if (status != DW_CLI_DONE ||
        (access(shelf->path, F_OK) != 0 && !dw_cli__has(making->args, "shelf")))
        return status;
    dw_cli__shelf_close(shelf);
    return dw_cli__shelf_open(making->args, DW_LEDGER_READ, shelf);
}

static void put_length(struct dw_buf *out, const char *key, dw_length length)
{
    static const struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 6};
    char text[DW_LENGTH_TEXT];
    if (length == 0)
        return;
    dw_length_print(text, length, &style);
    dw_buf__format(out, ", %s: %s", key, text);
}

static bool put_materials(struct making *making, const struct dw_job *catalogue)
{
    const char *wanted = dw_cli__value(making->args, "material");
    size_t n_known = catalogue ? catalogue->n_materials : 0;
    bool found = false;
    if (!wanted && n_known == 0) {
        dw_cli__complain("new: name the tube with --material ID, or a job of the same kind with "
                         "--like");
        return false;
    }
    dw_buf__put(&making->text, "materials:\n");
    for (size_t i = 0; i < n_known; i++) {
        const struct dw_material *material = &catalogue->materials[i];
        if (wanted && strcmp(wanted, material->id) != 0)
            continue;
        found = true;
        dw_buf__put(&making->text, "  - {id: ");
        dw_buf__json(&making->text, material->id);
        put_length(&making->text, "outside", material->od);
        put_length(&making->text, "wall", material->wall);
        put_length(&making->text, "rolled radius", material->radius);
        if (material->alloy) {
            dw_buf__put(&making->text, ", alloy: ");
            dw_buf__json(&making->text, material->alloy);
        }
        dw_buf__put(&making->text, "}\n");
    }
    if (wanted && !found) {
        dw_buf__put(&making->text, "  - {id: ");
        dw_buf__json(&making->text, wanted);
        dw_buf__put(&making->text, "}\n");
    }
    return true;
}

/* "6 m=58.20; 3 m=31": bars that can be bought. */
static bool put_bars(struct making *making)
{
    const char *bars = dw_cli__value(making->args, "bar");
    const char *material = dw_cli__value(making->args, "material");
    if (!bars)
        return true;
    dw_buf__put(&making->text, "bars:\n");
    for (const char *at = bars; *at;) {
        size_t n = strcspn(at, ";");
        const char *equals = memchr(at, '=', n);
        if (!equals) {
            dw_cli__complain("--bar %.60s: write it as LENGTH=PRICE, several with a semicolon "
                             "between",
                             bars);
            return false;
        }
        dw_buf__put(&making->text, "  - {length: ");
        size_t blank = strspn(at, " ");
        at += blank;
        n -= blank;
        dw_buf__json_n(&making->text, at, (size_t)(equals - at));
        dw_buf__put(&making->text, ", price: ");
        dw_buf__json_n(&making->text, equals + 1, (size_t)(at + n - equals - 1));
        if (material) {
            dw_buf__put(&making->text, ", material: ");
            dw_buf__json(&making->text, material);
        }
        dw_buf__put(&making->text, "}\n");
        at += n + (at[n] == ';');
    }
    return true;
}

/* The saw of the shop that is kept with the shelf. */
static void put_kept_saw(struct making *making, const struct dw_job *shop)
{
    static const struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 6};
    const struct dw_saw *saw = &shop->saw;
    char money[DW_MONEY_TEXT], kerf[DW_LENGTH_TEXT];
    dw_length_print(kerf, saw->kerf, &style);
    dw_buf__format(&making->text, "saw: {kerf: %s", kerf);
    put_length(&making->text, "squaring", saw->trim);
    put_length(&making->text, "grip", saw->grip);
    if (saw->cut_cost > 0 && dw_money_print(money, saw->cut_cost, shop->currency, false) > 0)
        dw_buf__format(&making->text, ", cost per cut: %s", money);
    dw_buf__put(&making->text, "}\n");
}

static void put_saw(struct making *making, const struct dw_job *shop, const char *kerf)
{
    if (!kerf) {
        put_kept_saw(making, shop);
        return;
    }
    dw_buf__put(&making->text, "saw: {kerf: ");
    dw_buf__json(&making->text, kerf);
    dw_buf__put(&making->text, "}\n");
}

static bool put_shop(struct making *making, const struct dw_job *catalogue,
                     const struct dw_job *shop)
{
    const struct dw_cli_args *args = making->args;
    const char *unit = dw_cli__value(args, "unit"), *currency = dw_cli__value(args, "currency");
    const char *kerf = dw_cli__value(args, "kerf"), *keep = dw_cli__value(args, "keep");
    if (!kerf && (!shop || shop->saw.kerf == 0)) {
        dw_cli__complain("new: say what one cut takes with --kerf, or name a job of the same saw "
                         "with --like, or keep a shop with `dropwise shop set`");
        return false;
    }
    dw_buf__format(&making->text, "unit: %s\n",
                   unit        ? unit
                   : catalogue ? dw_unit_name(catalogue->unit)
                               : "mm");
    if (!currency && !kerf && strcmp(shop->currency, "XXX") != 0)
        currency = shop->currency; /* of what a cut costs */
    if (!currency && catalogue && strcmp(catalogue->currency, "XXX") != 0)
        currency = catalogue->currency;
    if (currency) {
        dw_buf__put(&making->text, "currency: ");
        dw_buf__json(&making->text, currency);
        dw_buf__char(&making->text, '\n');
    }
    put_saw(making, shop, kerf);
    if (keep) {
        dw_buf__put(&making->text, "rules: {keep: ");
        dw_buf__json(&making->text, keep);
        dw_buf__put(&making->text, "}\n");
    }
    return put_materials(making, catalogue) && put_bars(making);
}

static enum dw_cli_status put_own(struct making *making)
{
    struct dw_cli_shelf shelf = {0};
    struct dw_job *shop = NULL;
    struct dw_error error = {0};
    enum dw_cli_status status = open_shelf(making, &shelf);
    dw_err err =
        status == DW_CLI_DONE && shelf.ledger ? dw_shop__kept(shelf.ledger, &shop, &error) : DW_OK;
    if (err) {
        dw_cli__say_error(&error);
        status = dw_cli__status(err);
    }
    if (status == DW_CLI_DONE && !put_shop(making, shelf.job, shop))
        status = DW_CLI_REFUSED;
    dw_job_free(shop);
    dw_cli__shelf_close(&shelf);
    return status;
}

/* --- the job --------------------------------------------------------------------------------- */

static bool put_parts(struct making *making)
{
    const char *columns = dw_cli__columns(making->args, &making->list, &making->columns);
    const struct {
        const char *key, *value;
    } options[] = {{"sheet", dw_cli__value(making->args, "sheet")},
                   {"columns", columns},
                   {"material", dw_cli__value(making->args, "material")}};
    dw_buf__put(&making->text, "parts: {file: ");
    if (!put_list_name(making))
        return false;
    for (size_t i = 0; i < DW_COUNT(options); i++) {
        if (!options[i].value)
            continue;
        dw_buf__format(&making->text, ", %s: ", options[i].key);
        dw_buf__json(&making->text, options[i].value);
    }
    dw_buf__put(&making->text, "}\n");
    return true;
}

static enum dw_cli_status make_text(struct making *making)
{
    const char *like = dw_cli__value(making->args, "like");
    struct dw_buf stem = {0};
    put_stem(&stem, making->args->operands[0]);
    dw_buf__put(&making->text, "dropwise: 1\nname: ");
    dw_buf__json_n(&making->text, stem.n ? stem.text : "", stem.n);
    dw_buf__char(&making->text, '\n');
    dw_buf__free(&stem);
    enum dw_cli_status status = like ? put_like(making, like) : put_own(making);
    if (status == DW_CLI_DONE && !put_parts(making))
        status = DW_CLI_REFUSED;
    if (status == DW_CLI_DONE && making->text.failed) {
        dw_cli__complain("out of memory");
        status = DW_CLI_FAILED;
    }
    return status;
}

/* A job that can't be read is not written. */
static enum dw_cli_status write_job(struct making *making)
{
    struct dw_job_source source = {.path = making->path,
                                   .text = making->text.text,
                                   .n = making->text.n,
                                   .folder = making->folder};
    struct dw_report report = {0};
    struct dw_error error = {0};
    struct dw_job *job = NULL;
    dw_err err = dw_job_load(&source, &job, &report, &error);
    dw_cli__say_report(&report, SIZE_MAX);
    bool printed = strcmp(making->path, "-") == 0;
    if (!err && !printed)
        err = dw_file__write(making->path, making->text.text, making->text.n,
                             dw_cli__has(making->args, "replace"), &error);
    if (err && report.n_wrong == 0)
        dw_cli__say_error(&error);
    enum dw_cli_status status = dw_cli__status(err);
    if (!err && printed)
        status = dw_cli__write(making->text.text, making->text.n);
    else if (!err) {
        int64_t n = 0;
        for (size_t i = 0; i < job->n_parts; i++)
            n += job->parts[i].count;
        struct dw_buf line = {0};
        dw_cli__clean(&line, making->path);
        dw_buf__format(&line, ": %s in %s. Next: dropwise plan ",
                       dw_cli__count(n, "part", "parts").text,
                       dw_cli__count((int64_t)job->n_parts, "row", "rows").text);
        dw_cli__clean(&line, making->path);
        dw_buf__char(&line, '\n');
        status = line.failed ? DW_CLI_FAILED : dw_cli__write(line.text, line.n);
        dw_buf__free(&line);
    }
    dw_job_free(job);
    dw_report_free(&report);
    return status;
}

static enum dw_cli_status read_list(struct making *making)
{
    struct dw_error error = {0};
    making->list = (struct dw_list_source){.kind = DW_TABLE_PARTS,
                                           .name = making->args->operands[0],
                                           .sheet = dw_cli__value(making->args, "sheet"),
                                           .unit = DW_UNIT_MM};
    dw_err err = dw_file__read_regular(making->list.name, DW_CLI_LIST_BYTES, &making->bytes,
                                       &making->list.n, &error);
    making->list.text = making->bytes;
    if (err)
        dw_cli__say_error(&error);
    return dw_cli__file_status(err);
}

/* The job was read with them: they are right for such lists. */
static void keep_columns(const struct making *making)
{
    struct dw_list *list = NULL;
    struct dw_report report = {0};
    struct dw_list_source source = making->list;
    source.columns = dw_cli__value(making->args, "columns");
    if (dw_list_read(&source, &list, &report, NULL) == DW_OK)
        dw_cli__columns_keep(making->args, &making->list, list);
    dw_list_free(list);
    dw_report_free(&report);
}

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    struct making making = {.args = args};
    enum dw_cli_status status = read_list(&making);
    if (status == DW_CLI_DONE && !set_paths(&making))
        status = DW_CLI_FAILED;
    if (status == DW_CLI_DONE)
        status = make_text(&making);
    if (status == DW_CLI_DONE)
        status = write_job(&making);
    if (status == DW_CLI_DONE)
        keep_columns(&making);
    free(making.bytes);
    free(making.columns);
    free(making.path);
    free(making.folder);
    dw_buf__free(&making.text);
    return status;
}

static const struct dw_cli_option options[] = {
    DW_CLI_OUTPUT_OPTIONS("JOB.yaml", "where the job goes, - prints it; otherwise beside the list"),
    {"like", 'l', "JOB", NULL, "take saw, rules, materials, bars and prices from this job"},
    {"material", 'm', "ID", NULL, "the tube of rows that name none"},
    {"kerf", 0, "LENGTH", NULL,
     "width that one cut removes; otherwise that of the shop kept with the shelf"},
    {"keep", 0, "LENGTH", NULL, "leftovers from this length on are kept"},
    {"bar", 'b', "LENGTH=PRICE", NULL, "bars that can be bought, several with a semicolon between"},
    {"currency", 0, "CODE", NULL, "currency of prices; otherwise the shelf's"},
    {"sheet", 's', "NAME", NULL,
     "the sheet of a workbook; otherwise the one that looks like a list"},
    DW_CLI_COLUMNS_OPTIONS,
    {"shelf", 0, "FILE", NULL, "the shelf's file; otherwise the one in your data folder"},
};

const struct dw_cli_command dw_cli__cmd_new = {
    .name = "new",
    .operands = "LIST",
    .summary = "make a job of a list of parts",
    .about =
        "Writes a job whose parts are those of LIST, a workbook (.xlsx, .ods), a CSV or TSV file; "
        "the list stays where it is and the job names it. Everything else comes from the job of "
        "--like; without that, unit, currency and materials are the shelf's, and the saw and the "
        "bars those of the options. What is doubtful in the list is said; a list that can't be "
        "read makes no job.\n\n"
        "What --sheet and --columns say is kept in the job, for the next time that the list "
        "changes.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE,
    .n_options = DW_COUNT(options),
    .options = options,
    .run = run,
};
