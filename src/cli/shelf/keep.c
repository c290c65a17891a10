/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise shelf rules, backup, check: looking after the ledger itself. */
#include "cli/shelf/parts.h"
#include "job/rules.h"

#include <stdlib.h>
#include <string.h>

/* --- rules ------------------------------------------------------------------------------------ */

static bool read_setting(const char *text, struct dw_shelf_rules *all)
{
    size_t n = strcspn(text, "=");
    const struct dw_rule *rule = dw_rule__find(text, n);
    struct dw_error error = {0};
    if (!rule)
        dw_cli__complain("%s: there is no such rule; see dropwise shelf rules", text);
    else if (dw_rule__read(rule, text[n] == '=' ? text + n + 1 : "", all, &error))
        dw_cli__complain("%s", error.text);
    return rule && error.code == DW_OK;
}

static enum dw_cli_status show_rules(struct dw_cli_shelf *shelf, struct dw_shelf_rules *all)
{
    static const struct dw_cli_column columns[] = {
        {.title = "rule"}, {.title = "is"}, {.title = "meaning", .fold = true}};
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns};
    json_t *object = json_object();
    const struct dw_rule *rule = NULL;
    for (size_t i = 0; (rule = dw_rule__at(i)); i++) {
        char text[DW_RULE_TEXT];
        dw_rule__print(rule, all, text);
        dw_cli__cell(&table, rule->name);
        dw_cli__cell(&table, text);
        dw_cli__cell(&table, rule->help);
        if (rule->form != DW_RULE_CURRENCY)
            json_object_set_new(object, rule->name, json_string(text));
    }
    dw_cli__table_end(&shelf->page, &table);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "rules", object);
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status keep_rules(struct dw_cli_shelf *shelf)
{
    const struct dw_cli_args *args = shelf->args;
    struct dw_shelf_rules all;
    struct dw_error error = {0};
    dw_err err = dw_ledger_rules(shelf->ledger, &all, &error);
    for (size_t i = 0; !err && i < args->n_operands; i++)
        if (!read_setting(args->operands[i], &all))
            return DW_CLI_REFUSED;
    if (!err && args->n_operands > 0)
        err = dw_ledger_rules_set(shelf->ledger, NULL, &all, &error);
    return err ? dw_cli__shelf_said(err, &error) : show_rules(shelf, &all);
}

static enum dw_cli_status run_rules(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_CREATE, keep_rules);
}

static const struct dw_cli_option shelf_options[] = {DW_CLI_SHELF_OPTION};

const struct dw_cli_command dw_cli__shelf_rules = {
    .name = "rules",
    .operands = "[RULE=VALUE...]",
    .summary = "show or set how this shop keeps its shelf",
    .about = "max-offcuts=40, max-age-days=365 (or none), favour-old=0.50, book-share=80, unit=in, "
             "currency=EUR. Plans count a piece at its book value times the share, less favour-old "
             "for each 30 days that it has lain.",
    .least = 0,
    .most = -1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(shelf_options),
    .options = shelf_options,
    .run = run_rules,
};

/* --- backup ----------------------------------------------------------------------------------- */

static enum dw_cli_status back_up(struct dw_cli_shelf *shelf)
{
    struct dw_error error = {0};
    const char *to = shelf->args->operands[0];
    dw_err err = dw_ledger_backup(shelf->ledger, to, &error);
    if (err)
        return dw_cli__shelf_said(err, &error);
    struct dw_buf text = {0};
    dw_buf__put(&text, "Copied to ");
    dw_cli__clean(&text, to);
    dw_buf__put(&text, ".");
    dw_cli__fold_buf(&shelf->page, DW_CLI_PLAIN, "", &text);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "file", json_string(to));
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status run_backup(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, back_up);
}

const struct dw_cli_command dw_cli__shelf_backup = {
    .name = "backup",
    .operands = "FILE",
    .summary = "copy the shelf's file, also while others use it",
    .about = "The copy is one file, appears whole or not at all, and overwrites nothing. "
             "`dropwise shelf restore` goes back to it.",
    .least = 1,
    .most = 1,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(shelf_options),
    .options = shelf_options,
    .run = run_backup,
};

/* --- check ------------------------------------------------------------------------------------ */

static void put_balance(struct dw_cli_shelf *shelf, const struct dw_balance *b, json_t *object)
{
    static const struct dw_cli_column columns[] = {{.title = "tube"},
                                                   {.title = "length", .right = true}};
    const struct {
        const char *name;
        const char *key;
        dw_length length;
    } rows[] = {
        {"brought in", "in", b->in},
        {"corrected by counts", "corrected", b->corrected},
        {"in parts", "parts", b->parts},
        {"in posts", "posts", b->posts},
        {"on the shelf", "on_shelf", b->on_shelf},
        {"held for plans", "held", b->held},
        {"scrap", "scrap", b->scrap},
        {"squaring trim", "trim", b->trim},
        {"chips", "chips", b->chips},
        {"lost", "lost", b->lost},
    };
    struct dw_cli_table table = {.n_columns = DW_COUNT(columns), .columns = columns, .indent = 2};
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        dw_cli__cell(&table, rows[i].name);
        dw_cli__cell(&table, dw_cli__fine(&shelf->page, rows[i].length).text);
        json_object_set_new(object, rows[i].key, dw_cli__length_json(shelf, rows[i].length));
    }
    dw_cli__table_end(&shelf->page, &table);
}

static enum dw_cli_status check(struct dw_cli_shelf *shelf)
{
    struct dw_report report = {0};
    struct dw_balance balance = {0};
    struct dw_error error = {0};
    dw_err err = dw_ledger_check(shelf->ledger, &report, &error);
    dw_cli__say_report(&report, SIZE_MAX);
    if (!err)
        err = dw_ledger_balance(shelf->ledger, &balance, &error);
    if (err)
        dw_cli__say_error(&error);
    enum dw_cli_status status = err ? DW_CLI_FAILED : DW_CLI_DONE;
    dw_report_free(&report);
    if (err)
        return status;
    json_t *lengths = json_object();
    dw_cli__fold(&shelf->page, DW_CLI_GOOD, "",
                 "In order: the file is sound, history and state agree, every length is "
                 "accounted for.");
    put_balance(shelf, &balance, lengths);
    json_t *document = dw_cli__shelf_document(shelf);
    json_object_set_new(document, "balance", lengths);
    return dw_cli__shelf_end(shelf, document);
}

static enum dw_cli_status run_check(const struct dw_cli_args *args)
{
    return dw_cli__shelf_run(args, DW_LEDGER_READ, check);
}

const struct dw_cli_command dw_cli__shelf_check = {
    .name = "check",
    .operands = "",
    .summary = "check the ledger: soundness of the file, history, and the balance of lengths",
    .about = "Brought in plus corrected is in parts, posts, on the shelf, held, scrap, trim, chips "
             "or lost, to the nanometre. Each step carries a hash (SHA-256) of the step before it "
             "and of all that it wrote: a row that was changed, added or taken away by other "
             "means is told by its piece, bar, plan or step.",
    .least = 0,
    .most = 0,
    .shared = DW_CLI_PAGE | DW_CLI_JSON,
    .n_options = DW_COUNT(shelf_options),
    .options = shelf_options,
    .run = run_check,
};
