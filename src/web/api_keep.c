/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Looking after the shelf: its rules and materials, its table, labels, copy and check. */
#include "web/stock.h"

#include "job/paper.h"
#include "job/rules.h"
#include "model/model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BUSY_MS 5000

/* --- rules ------------------------------------------------------------------------------------ */

static void put_rules(struct dw_out *out, const struct dw_shelf_rules *rules)
{
    static const char *const forms[] = {[DW_RULE_COUNT] = "count",
                                        [DW_RULE_MONEY] = "money",
                                        [DW_RULE_SHARE] = "share",
                                        [DW_RULE_UNIT] = "unit",
                                        [DW_RULE_CURRENCY] = "currency"};
    const struct dw_rule *rule = NULL;
    dw_out__open(out, NULL, '{');
    dw_out__open(out, "rules", '[');
    for (size_t i = 0; (rule = dw_rule__at(i)); i++) {
        char text[DW_RULE_TEXT];
        dw_rule__print(rule, rules, text);
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "name", rule->name);
        dw_out__text(out, "form", forms[rule->form]);
        dw_out__text(out, "value", text);
        dw_out__text(out, "help", rule->help);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
    dw_out__close(out, '{');
}

static dw_err show_rules(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_shelf_rules rules;
    dw_err err = dw_ledger_rules(ledger, &rules, &call->error);
    if (!err)
        put_rules(&call->out, &rules);
    return err;
}

dw_err dw_api__rules(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, show_rules);
}

static dw_err read_rule(struct dw_web_call *call, const char *name, const json_t *value,
                        bool currency, struct dw_shelf_rules *rules)
{
    const struct dw_rule *rule = dw_rule__find(name, strlen(name));
    const char *text = json_string_value(value);
    if (!rule || !text)
        return dw_error__set(&call->error, DW_ERR_INPUT,
                             "there is no rule %.40s, or its value is no text", name);
    if ((rule->form == DW_RULE_CURRENCY) != currency)
        return DW_OK;
    dw_err err = dw_rule__read(rule, text, rules, &call->error);
    if (err)
        call->field = rule->name;
    return err;
}

/* Reads the rules that an object of the body names onto `rules`; the currency first, as amounts are
 * read in it. */
static dw_err read_rules(struct dw_web_call *call, const char *name, struct dw_shelf_rules *rules)
{
    json_t *object = json_object_get(call->body, name), *value = NULL;
    const char *key = NULL;
    if (!json_is_object(object))
        return dw_error__set(&call->error, DW_ERR_INPUT, "%s must be an object of rules", name);
    dw_err err = DW_OK;
    for (int pass = 0; pass < 2; pass++)
        json_object_foreach(object, key, value) err =
            err ? err : read_rule(call, key, value, pass == 0, rules);
    return err;
}

static dw_err set_rules(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_shelf_rules rules, seen;
    bool told = json_object_get(call->body, "seen") != NULL;
    dw_err err = dw_ledger_rules(ledger, &rules, &call->error);
    seen = rules;
    if (!err && told)
        err = read_rules(call, "seen", &seen);
    if (!err)
        err = read_rules(call, "rules", &rules);
    if (!err)
        err = dw_ledger_rules_set(ledger, told ? &seen : NULL, &rules, &call->error);
    return err ? err : show_rules(call, ledger);
}

/* {"rules": {"max-offcuts": "40"}, "seen": {"max-offcuts": "none"}}: refused if what was seen is no
 * longer so. */
dw_err dw_api__rules_set(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, set_rules);
}

/* --- materials -------------------------------------------------------------------------------- */

static void put_material(struct dw_out *out, const struct dw_material *material)
{
    dw_out__open(out, NULL, '{');
    dw_out__text(out, "id", material->id);
    dw_out__text(out, "name", material->name);
    dw_out__text(out, "alloy", material->alloy);
    dw_out__text(out, "finish", material->finish);
    dw_out__length(out, "outside", material->od);
    dw_out__length(out, "wall", material->wall);
    dw_out__length(out, "radius", material->radius);
    dw_out__close(out, '{');
}

static dw_err list_materials(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_material_list *known = NULL;
    struct dw_job *catalogue = NULL;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = dw_ledger_materials(ledger, &known, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__text(&call->out, "unit", dw_unit_name(catalogue->unit));
        dw_out__open(&call->out, "materials", '[');
        for (size_t i = 0; i < known->n; i++)
            put_material(&call->out, &known->rows[i]);
        dw_out__close(&call->out, '[');
        dw_out__close(&call->out, '{');
    }
    dw_material_list_free(known);
    dw_job_free(catalogue);
    return err;
}

dw_err dw_api__materials(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, list_materials);
}

static dw_err put_one(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_material material = {0};
    struct dw_job *catalogue = NULL;
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = dw_call__text(call, "id", true, &material.id);
    if (!err)
        err = dw_call__text(call, "name", false, &material.name);
    if (!err)
        err = dw_call__text(call, "alloy", false, &material.alloy);
    if (!err)
        err = dw_call__text(call, "finish", false, &material.finish);
    if (!err)
        err = dw_call__length(call, "outside", false, catalogue->unit, &material.od);
    if (!err)
        err = dw_call__length(call, "wall", false, catalogue->unit, &material.wall);
    if (!err)
        err = dw_call__length(call, "radius", false, catalogue->unit, &material.radius);
    if (!err)
        err = dw_ledger_material_put(ledger, &call->act, &material, &call->error);
    dw_job_free(catalogue);
    return err ? err : list_materials(call, ledger);
}

/* {"id", "name", "alloy", "finish", "outside", "wall", "radius"}: enters it, or fills in what was
 * not known of it. */
dw_err dw_api__material_put(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, put_one);
}

/* --- files ------------------------------------------------------------------------------------ */

static void reply_file(struct dw_web_call *call, const char *type, unsigned char *bytes, size_t n,
                       const char *ending)
{
    call->reply->own = bytes;
    call->reply->n = n;
    call->reply->type = type;
    snprintf(call->reply->file, sizeof call->reply->file, "shelf-%.10s%s", call->today, ending);
}

static dw_err export(struct dw_web_call *call, struct dw_ledger *ledger)
{
    char *text = NULL;
    dw_err err =
        dw_shelf_export(ledger, dw_web__query(call->request, "all") != NULL, &text, &call->error);
    if (!err)
        reply_file(call, "text/csv; charset=utf-8", (unsigned char *)text, strlen(text), ".csv");
    return err;
}

/* ?all=1: used, scrapped and lost pieces too. */
dw_err dw_api__shelf_table(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, export);
}

static dw_err draw_labels(struct dw_web_call *call, struct dw_ledger *ledger)
{
    const char *number = dw_stock__query(call, "number"), *text = NULL;
    struct dw_labels_request labels = {.stock = dw_stock__query(call, "stock")};
    const struct dw_paper_request request = {.form = "pdf", .date = call->today};
    const struct dw_stock_query query = {.only_offcuts = true,
                                         .place = dw_stock__query(call, "place")};
    struct dw_paper_pages pages = {0};
    struct dw_stock_list *list = NULL;
    struct dw_job *catalogue = NULL;
    if (!labels.stock)
        dw_paper__stock(0, &labels.stock, &text);
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    if (!err)
        err = number ? dw_shelf_pick(ledger, &number, 1, &list, &call->error)
                     : dw_ledger_list(ledger, &query, &list, &call->error);
    if (!err)
        err = dw_paper__shelf_labels(catalogue, list, &labels, &request, &pages, &call->error);
    if (!err && pages.n_files == 0)
        err = dw_error__set(&call->error, DW_ERR_STATE, "there is nothing to label");
    if (!err) {
        reply_file(call, "application/pdf", pages.files[0].bytes, pages.files[0].n, "-labels.pdf");
        pages.files[0] = (struct dw_paper_file){0};
    }
    dw_paper__free(&pages);
    dw_stock_list_free(list);
    dw_job_free(catalogue);
    return err;
}

/* ?number=C18, or all offcuts, at ?place=; &stock=a4-21 */
dw_err dw_api__shelf_labels(struct dw_web_call *call)
{
    return dw_call__on_shelf(call, draw_labels);
}

/* What may take a while has a connection of its own, so that nobody waits for it. */
static dw_err on_own(struct dw_web_call *call,
                     dw_err (*work)(struct dw_web_call *, struct dw_ledger *))
{
    struct dw_ledger *ledger = NULL;
    dw_err err = dw_call__same(call);
    if (!err)
        err = dw_ledger_open(call->app->shelf, DW_LEDGER_READ, BUSY_MS, &ledger, &call->error);
    if (!err)
        err = work(call, ledger);
    dw_ledger_close(ledger);
    return err;
}

static dw_err back_up(struct dw_web_call *call, struct dw_ledger *ledger)
{
    unsigned char *bytes = NULL;
    size_t n = 0;
    dw_err err = dw_ledger_image(ledger, &bytes, &n, &call->error);
    if (!err)
        reply_file(call, "application/vnd.sqlite3", bytes, n, ".db");
    return err;
}

dw_err dw_api__shelf_file(struct dw_web_call *call)
{
    return on_own(call, back_up);
}

/* --- check ------------------------------------------------------------------------------------ */

static void put_balance(struct dw_out *out, const struct dw_balance *b)
{
    const struct {
        const char *name;
        dw_length length;
    } rows[] = {
        {"brought in", b->in},         {"corrected by counts", b->corrected},
        {"in parts", b->parts},        {"in posts", b->posts},
        {"on the shelf", b->on_shelf}, {"held for plans", b->held},
        {"scrap", b->scrap},           {"squaring trim", b->trim},
        {"chips", b->chips},           {"lost", b->lost},
    };
    dw_out__open(out, "balance", '[');
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        dw_out__open(out, NULL, '{');
        dw_out__text(out, "name", rows[i].name);
        dw_out__length(out, "length", rows[i].length);
        dw_out__close(out, '{');
    }
    dw_out__close(out, '[');
}

static dw_err check(struct dw_web_call *call, struct dw_ledger *ledger)
{
    struct dw_balance balance = {0};
    struct dw_job *catalogue = NULL;
    struct dw_report report = {0};
    struct dw_error why = {0};
    dw_err err = dw_stock__ready(call, ledger, &catalogue);
    dw_err found = err ? err : dw_ledger_check(ledger, &report, &why);
    if (found && found != DW_ERR_CHECK)
        err = err ? err : dw_error__set(&call->error, found, "%s", why.text);
    if (!err)
        err = dw_ledger_balance(ledger, &balance, &call->error);
    if (!err) {
        dw_out__open(&call->out, NULL, '{');
        dw_out__yes(&call->out, "good", found == DW_OK);
        dw_call__put_remarks(&call->out, &report);
        put_balance(&call->out, &balance);
        dw_out__close(&call->out, '{');
    }
    dw_report_free(&report);
    dw_job_free(catalogue);
    return err;
}

/* Soundness of the file, history, and the balance of lengths. */
dw_err dw_api__shelf_check(struct dw_web_call *call)
{
    return on_own(call, check);
}
