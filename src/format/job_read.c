/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A whole job file. */
#include "format/fields.h"
#include "format/format.h"
#include "format/joint.h"
#include "format/shop.h"
#include "format/trade.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- settings of the job: they go into it, not into a row ------------------------------------- */

static bool read_unit(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    const struct dw_field own = {.names = field->names};
    (void)row;
    return dw_read__unit(reader, &own, value, &reader->job->unit);
}

static bool read_currency(struct dw_reader *reader, const struct dw_field *field,
                          const struct dw_node *value, void *row)
{
    const struct dw_field own = {.names = field->names};
    (void)row;
    return dw_read__currency(reader, &own, value, reader->job->currency);
}

static bool read_fractions(struct dw_reader *reader, const struct dw_field *field,
                           const struct dw_node *value, void *row)
{
    (void)row;
    static const struct {
        const char *word;
        int denominator;
    } words[] = {{"none", 0}, {"0", 0},   {"2", 2},   {"4", 4},
                 {"8", 8},    {"16", 16}, {"32", 32}, {"64", 64}};
    for (size_t i = 0; i < DW_COUNT(words); i++) {
        if (strcmp(value->text, words[i].word) == 0) {
            reader->job->denominator = words[i].denominator;
            return true;
        }
    }
    return dw_read__refuse(reader, field, value, 0,
                           "write the largest denominator, 2, 4, 8, 16, 32 or 64, or none");
}

/* --- saw and rules --------------------------------------------------------------------------- */

enum { SAW_KERF, SAW_RATE, SAW_BAR_COST, SAW_OFFCUT_COST, SAW_BAR_TIME, SAW_OFFCUT_TIME };

static const struct dw_field saw_fields[] = {
    [SAW_KERF] = {"kerf", dw_read__length0, offsetof(struct dw_saw, kerf), DW_MUST},
    [SAW_RATE] = {"rate|hourly rate", dw_read__money, offsetof(struct dw_saw, rate), DW_MAY},
    [SAW_BAR_COST] = {"cost per bar", dw_read__money, offsetof(struct dw_saw, bar_cost), DW_MAY},
    [SAW_OFFCUT_COST] = {"cost per offcut", dw_read__money, offsetof(struct dw_saw, offcut_cost),
                         DW_MAY},
    [SAW_BAR_TIME] = {"minutes per bar", dw_read__minutes, offsetof(struct dw_saw, bar_ms), DW_MAY},
    [SAW_OFFCUT_TIME] = {"minutes per offcut", dw_read__minutes, offsetof(struct dw_saw, offcut_ms),
                         DW_MAY},
    {"seconds per cut", dw_read__seconds, offsetof(struct dw_saw, cut_ms), DW_MAY},
    {"minutes per stop", dw_read__minutes, offsetof(struct dw_saw, stop_ms), DW_MAY},
    {"squaring|trim", dw_read__length0, offsetof(struct dw_saw, trim), DW_MAY},
    {"grip", dw_read__length0, offsetof(struct dw_saw, grip), DW_MAY},
    {"end allowance", dw_read__length0, offsetof(struct dw_saw, end_allowance), DW_MAY},
    {"cost per cut|cut cost", dw_read__money, offsetof(struct dw_saw, cut_cost), DW_MAY},
};
DW_FIELDS(saw, "saw", saw_fields);

/* money += time at the rate, rounded half up to 1/10 000. */
static bool add_time(dw_money *money, int64_t ms, dw_money rate)
{
    int64_t twice = 0;
    if (!dw_muldiv__i64(ms, 2 * rate, INT64_C(3600000), &twice))
        return false;
    return dw_add__i64(*money, (twice + 1) / 2, money) && *money <= DW_MONEY_MAX;
}

/* What is said of bars holds for offcuts too, unless something else is said of these. */
static void read_saw(struct dw_reader *reader, const struct dw_node *node)
{
    struct dw_saw *saw = &reader->job->saw;
    uint32_t given = 0;
    if (!dw_reader__map(reader, node, "the saw", saw_fields, DW_COUNT(saw_fields), saw, &given))
        return;
    if (!(given >> SAW_OFFCUT_COST & 1))
        saw->offcut_cost = saw->bar_cost;
    if (!(given >> SAW_OFFCUT_TIME & 1))
        saw->offcut_ms = saw->bar_ms;
    bool timed = saw->cut_ms > 0 || saw->bar_ms > 0 || saw->offcut_ms > 0;
    if (saw->rate > 0 && !timed)
        dw_reader__say(
            reader, DW_WRONG, node->at,
            "the saw: a `rate` an hour needs times: `seconds per cut`, `minutes per bar`");
    else if (timed && !(given >> SAW_RATE & 1))
        dw_reader__say(reader, DW_NOTE, node->at,
                       "the saw: without a `rate` its times are told and weigh nothing");
    if (!add_time(&saw->cut_cost, saw->cut_ms, saw->rate) ||
        !add_time(&saw->bar_cost, saw->bar_ms, saw->rate) ||
        !add_time(&saw->offcut_cost, saw->offcut_ms, saw->rate))
        dw_reader__say(reader, DW_WRONG, node->at,
                       "the saw: its time comes to too much money; is the `rate` that of an hour?");
}

/* A percentage; the sign may be left out here, as in the option of that name. */
static bool read_few(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    struct dw_node signed_ = *value;
    char text[DW_KEY_TEXT];
    if (value->kind == DW_NODE_SCALAR && value->n > 0 && value->n + 2 < sizeof text &&
        strspn(value->text, "0123456789.,") == value->n) {
        snprintf(text, sizeof text, "%s%%", value->text);
        signed_.text = text;
        signed_.n++;
    }
    return dw_read__percent(reader, field, &signed_, row);
}

struct rules_row {
    struct dw_rules rules;
    struct dw_worth worth;
};

enum { RULE_KEEP, RULE_SCRAP };

static const struct dw_field rule_fields[] = {
    [RULE_KEEP] = {"keep", dw_read__length, offsetof(struct rules_row, worth.keep), DW_MAY},
    [RULE_SCRAP] = {"longest scrap", dw_read__length0, offsetof(struct rules_row, rules.scrap_max),
                    DW_MAY},
    {"leftover worth", dw_read__worth, offsetof(struct rules_row, worth), DW_MAY},
    {"most new offcuts", dw_read__cap, offsetof(struct rules_row, rules.max_new_offcuts), DW_MAY},
    {"most pieces", dw_read__cap1, offsetof(struct rules_row, rules.most_pieces), DW_MAY},
    {"few layouts", read_few, offsetof(struct rules_row, rules.few_layouts_ppm), DW_MAY},
};
DW_FIELDS(rules, "rules", rule_fields);

static void read_rules(struct dw_reader *reader, const struct dw_node *node)
{
    struct rules_row row = {.rules = reader->job->rules};
    uint32_t given = 0;
    dw_reader__map(reader, node, "the rules", rule_fields, DW_COUNT(rule_fields), &row, &given);
    row.rules.no_middling = given >> RULE_SCRAP & 1;
    reader->job->rules = row.rules;
    reader->worth = row.worth;
}

/* --- the file -------------------------------------------------------------------------------- */

struct top {
    const char *name;
    const char *date;
    struct dw_order order; /* what a job that lists no `jobs` says of its client */
    const struct dw_node *saw, *rules, *materials, *bars, *offcuts, *parts, *drawings, *posts,
        *jobs;
    const struct dw_node *fittings, *joints, *loose, *sections, *suppliers, *quote, *shop;
    bool blind; /* the shop could not be read: it may say what is missing */
};

enum { TOP_UNIT = 1, TOP_FRACTIONS, TOP_CURRENCY };

#define AT(member) offsetof(struct top, member)

/* In two passes: the first for what values depend on. */
static const struct dw_field top_fields[] = {
    {"dropwise", dw_read__version, 0, DW_MUST},
    [TOP_UNIT] = {"unit|units", read_unit, 0, DW_MAY},
    [TOP_FRACTIONS] = {"fractions", read_fractions, 0, DW_MAY},
    [TOP_CURRENCY] = {"currency", read_currency, 0, DW_MAY},
    {"name", dw_read__text, AT(name), DW_MAY},
    {"date", dw_read__date, AT(date), DW_MAY},
    {"client|customer", dw_read__text, AT(order.client), DW_MAY},
    {"due|due date", dw_read__date, AT(order.due), DW_MAY},
    {"address|client address", dw_read__lines, AT(order.address), DW_MAY},
    {"reference", dw_read__text, AT(order.reference), DW_MAY},
    {"scope", dw_read__remark, AT(order.scope), DW_MAY},
    {"language", dw_read__language, AT(order.language), DW_MAY},
    {"shop", dw_read__node, AT(shop), DW_MAY},
    {"saw", dw_read__node, AT(saw), DW_MAY},
    {"rules", dw_read__node, AT(rules), DW_MAY},
    {"materials", dw_read__node, AT(materials), DW_MUST},
    {"bars", dw_read__node, AT(bars), DW_MAY},
    {"offcuts", dw_read__node, AT(offcuts), DW_MAY},
    {"parts", dw_read__node, AT(parts), DW_MAY},
    {"drawings", dw_read__node, AT(drawings), DW_MAY},
    {"posts", dw_read__node, AT(posts), DW_MAY},
    {"jobs", dw_read__node, AT(jobs), DW_MAY},
    {"fittings", dw_read__node, AT(fittings), DW_MAY},
    {"joints", dw_read__node, AT(joints), DW_MAY},
    {"loose fittings", dw_read__node, AT(loose), DW_MAY},
    {"sections", dw_read__node, AT(sections), DW_MAY},
    {"suppliers", dw_read__node, AT(suppliers), DW_MAY},
    {"quote", dw_read__node, AT(quote), DW_MAY},
};
DW_FIELDS(top, "", top_fields);

static bool is_inch(enum dw_unit unit)
{
    return unit == DW_UNIT_IN || unit == DW_UNIT_FT;
}

/* What the file leaves open is settled here, aloud. */
static void settle_defaults(struct dw_reader *reader, const struct dw_node *root, uint32_t given)
{
    struct dw_job *job = reader->job;
    if (!(given >> TOP_UNIT & 1))
        dw_reader__say(reader, DW_NOTE, root->at, "no `unit`: bare numbers are millimetres");
    if (!(given >> TOP_FRACTIONS & 1) && is_inch(job->unit))
        job->denominator = 64;
}

static void settle_keep(struct dw_reader *reader, const struct dw_node *root)
{
    const char *text = is_inch(reader->job->unit) ? "12 in" : "300 mm";
    bool missing = false;
    for (size_t i = 0; i < reader->job->n_materials; i++) {
        struct dw_worth *worth = &reader->job->materials[i].worth;
        missing |= worth->keep == 0;
        if (worth->keep == 0)
            worth->keep = dw_worth__usual_keep(is_inch(reader->job->unit));
    }
    if (missing)
        dw_reader__say(reader, DW_NOTE, root->at,
                       "no keeping length (`keep` under `rules`): leftovers from %s on are kept",
                       text);
}

/* What the job leaves open is as the shop has it. Its money is of its own currency. */
static void borrow(struct dw_reader *reader, struct top *top, uint32_t *given)
{
    struct dw_shop_lent lent = {0};
    struct dw_job *job = reader->job;
    if (!top->shop)
        return;
    top->blind = !dw_reader__shop(reader, top->shop, &lent);
    if (!(*given >> TOP_UNIT & 1) && lent.unit != DW_UNIT_NONE) {
        job->unit = lent.unit;
        *given |= UINT32_C(1) << TOP_UNIT;
    }
    if (!(*given >> TOP_CURRENCY & 1) && lent.currency[0])
        memcpy(job->currency, lent.currency, sizeof job->currency);
    if (lent.currency[0] && strcmp(job->currency, lent.currency) != 0)
        dw_reader__say(reader, DW_WRONG, top->shop->at,
                       "the shop's money is %s, the job's %s: its prices can't be used here",
                       lent.currency, job->currency);
    top->saw = dw_shop__lend(reader, top->saw, lent.saw, saw_fields, DW_COUNT(saw_fields));
    top->rules = dw_shop__lend(reader, top->rules, lent.rules, rule_fields, DW_COUNT(rule_fields));
    top->quote =
        dw_shop__lend(reader, top->quote, lent.quote, dw_fields__quote.fields, dw_fields__quote.n);
    top->suppliers = dw_shop__lend_list(reader, top->suppliers, lent.suppliers);
}

static void read_top(struct dw_reader *reader, const struct dw_node *root, struct top *top)
{
    uint32_t given = 0;
    dw_reader__map(reader, root, "the job", top_fields, DW_COUNT(top_fields), top, &given);
    reader->job->name = top->name;
    reader->job->date = top->date;
    borrow(reader, top, &given);
    if (!top->saw && !top->blind && root->kind == DW_NODE_MAP)
        dw_reader__say(reader, DW_WRONG, root->at, "the job: `saw` is missing");
    if (root->kind == DW_NODE_MAP)
        settle_defaults(reader, root, given);
}

/* True if all but the parts is right, so that the parts can be checked against it. */
static bool read_ground(struct dw_reader *reader, const struct dw_node *root, const struct top *top)
{
    if (top->saw)
        read_saw(reader, top->saw);
    if (top->rules)
        read_rules(reader, top->rules);
    if (top->materials)
        dw_reader__materials(reader, top->materials);
    settle_keep(reader, root);
    if (top->bars)
        dw_reader__bars(reader, top->bars);
    if (top->offcuts)
        dw_reader__offcuts(reader, top->offcuts);
    dw_reader__finish_supplies(reader);
    if (top->fittings)
        dw_reader__fittings(reader, top->fittings);
    if (top->joints)
        dw_reader__joints(reader, top->joints);
    if (top->suppliers)
        dw_reader__suppliers(reader, top->suppliers);
    return reader->report->n_wrong == 0;
}

static void read_parts(struct dw_reader *reader, const struct dw_node *root, const struct top *top)
{
    reader->loose_order = DW_NONE;
    if (top->jobs)
        dw_reader__orders(reader, top->jobs);
    struct dw_order order = top->order;
    order.name = top->name;
    if (!top->jobs && (order.client || order.due || order.address || order.reference ||
                       order.scope || order.language))
        reader->loose_order = dw_reader__add_order(reader, &order);
    if (top->parts)
        dw_reader__parts(reader, top->parts, DW_NONE);
    if (top->drawings)
        dw_reader__drawings(reader, top->drawings);
    if (top->posts)
        dw_reader__posts(reader, top->posts, DW_NONE);
    if (!top->parts && !top->drawings && !top->jobs && !top->posts && root->kind == DW_NODE_MAP)
        dw_reader__say(reader, DW_WRONG, root->at, "the job: `parts` is missing");
    dw_reader__finish_parts(reader);
}

/* What needs the orders; then the cut lengths of drawn parts. */
static void read_trade(struct dw_reader *reader, const struct top *top)
{
    dw_reader__unused_joints(reader);
    if (top->loose)
        dw_reader__loose(reader, top->loose);
    if (top->sections)
        dw_reader__sections(reader, top->sections);
    if (top->quote)
        dw_reader__quote(reader, top->quote);
    dw_err err = dw_job_takeoff(reader->job, reader->report, NULL);
    reader->no_memory |= err == DW_ERR_NOMEM;
}

/* A mistake in a bar hides what the parts need of it: then the parts are read, not checked. */
static dw_err read_tree(struct dw_reader *reader, const struct dw_node *root,
                        struct dw_error *error)
{
    struct top top = {0};
    read_top(reader, root, &top);
    bool ground = read_ground(reader, root, &top);
    read_parts(reader, root, &top);
    if (!reader->no_memory)
        read_trade(reader, &top);
    if (ground && !reader->no_memory && reader->report->n_wrong == 0)
        dw_reader__raise_supplies(reader);
    if (reader->no_memory)
        return dw_error__nomem(error);
    if (reader->report->n_wrong == 0 && reader->job->n_parts == 0)
        dw_reader__say(reader, DW_WRONG, root->at, "the job: there are no parts in it");
    if (ground && reader->job->n_parts > 0) {
        dw_err err = dw_job_check(reader->job, reader->report, NULL);
        if (err != DW_OK && err != DW_ERR_INPUT)
            return dw_error__set(error, err, "%s", dw_err_text(err));
    }
    return DW_OK;
}

static dw_err refuse_job(const struct dw_report *report, const char *name, struct dw_error *error)
{
    if (report->n_remarks == 0)
        return dw_error__nomem(error);
    return dw_error__at(error, DW_ERR_INPUT, name, 0, 0, "%zu mistake%s in the job",
                        report->n_wrong, report->n_wrong == 1 ? "" : "s");
}

static dw_err read_job(struct dw_reader *reader, const char *text, size_t n, struct dw_error *error)
{
    struct dw_node *root = NULL;
    dw_err err =
        dw_yaml__parse(reader->tree, text, n, reader->job->file, reader->report, &root, error);
    if (err == DW_OK && root)
        err = read_tree(reader, root, error);
    if (dw_report__sort(reader->report, reader->job->file))
        reader->no_memory = true;
    if (err == DW_OK && reader->no_memory)
        err = dw_error__nomem(error);
    if (err == DW_OK && reader->report->n_wrong > 0)
        err = refuse_job(reader->report, reader->job->file, error);
    return err;
}

/* A shop alone, its sections read as those of a job would be. */
static dw_err read_shop(struct dw_reader *reader, const char *text, size_t n,
                        struct dw_error *error)
{
    struct dw_node *root = NULL;
    struct dw_shop_lent lent = {0};
    struct top top = {0};
    dw_err err =
        dw_yaml__parse(reader->tree, text, n, reader->job->file, reader->report, &root, error);
    if (err == DW_OK && root && root->kind != DW_NODE_MAP)
        dw_reader__say(reader, DW_WRONG, root->at, "a shop is written as `key: value` lines");
    else if (err == DW_OK && root && dw_reader__shop(reader, root, &lent)) {
        reader->job->unit = lent.unit ? lent.unit : DW_UNIT_MM;
        memcpy(reader->job->currency, lent.currency[0] ? lent.currency : "XXX", 4);
        top = (struct top){.saw = lent.saw, .rules = lent.rules, .suppliers = lent.suppliers};
        read_ground(reader, root, &top);
        if (lent.quote)
            dw_reader__quote(reader, lent.quote);
    }
    if (dw_report__sort(reader->report, reader->job->file))
        reader->no_memory = true;
    if (err == DW_OK && reader->no_memory)
        err = dw_error__nomem(error);
    if (err == DW_OK && reader->report->n_wrong > 0)
        err =
            dw_error__at(error, DW_ERR_INPUT, reader->job->file, 0, 0, "%zu mistake%s in the shop",
                         reader->report->n_wrong, reader->report->n_wrong == 1 ? "" : "s");
    return err;
}

static void free_reader(struct dw_reader *reader)
{
    free(reader->supplies);
    free(reader->parts);
    free(reader->orders);
}

/* Reads a text with `read` into a new job. */
static dw_err read_text(dw_err (*read)(struct dw_reader *, const char *, size_t, struct dw_error *),
                        const char *text, size_t n, const char *name, struct dw_reader reader,
                        struct dw_job **out, struct dw_error *error)
{
    struct dw_job *job = NULL;
    dw_err err = dw_job_new(&job, error);
    if (err != DW_OK)
        return err;
    reader.job = job;
    reader.tree = dw_arena__new();
    job->file = dw_job_text(job, name);
    err = reader.tree && job->file ? read(&reader, text, n, error) : dw_error__nomem(error);
    dw_arena__free(reader.tree);
    free_reader(&reader);
    if (err == DW_OK)
        *out = job;
    else
        dw_job_free(job);
    return err;
}

dw_err dw_job_read_text(const char *text, size_t n, const char *name, const char *folder,
                        struct dw_job **out, struct dw_report *report, struct dw_error *error)
{
    *out = NULL;
    if (n > DW_JOB_LIMIT)
        return dw_error__at(error, DW_ERR_LIMIT, name, 0, 0,
                            "the job is larger than the limit of %zu bytes; put long lists in "
                            "tables (CSV)",
                            DW_JOB_LIMIT);
    return read_text(read_job, text, n, name,
                     (struct dw_reader){.report = report, .folder = folder}, out, error);
}

dw_err dw_shop_read_text(const char *text, size_t n, const char *name, const char *folder,
                         struct dw_job **out, struct dw_report *report, struct dw_error *error)
{
    *out = NULL;
    if (n > DW_JOB_LIMIT)
        return dw_error__at(error, DW_ERR_LIMIT, name, 0, 0, "the shop is larger than %zu bytes",
                            DW_JOB_LIMIT);
    return read_text(
        read_shop, text, n, name,
        (struct dw_reader){.report = report, .folder = folder, .logo_kept = folder == NULL}, out,
        error);
}

dw_err dw_reader__rename(struct dw_arena *arena, const struct dw_node *root, struct dw_error *error)
{
    struct dw_report report = {0};
    struct dw_reader reader = {.tree = arena, .report = &report, .rename = true};
    struct dw_error why = {0}; /* of the job, which does not matter here */
    dw_err err = dw_job_new(&reader.job, error);
    if (!err && read_tree(&reader, root, &why) == DW_ERR_NOMEM)
        err = dw_error__nomem(error);
    dw_report_free(&report);
    free_reader(&reader);
    dw_job_free(reader.job);
    return err;
}

/* The folder part of a path, "" if there is none. NULL without memory; free it. */
static char *folder_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    size_t n = slash ? (size_t)(slash - path) + (slash == path) : 0;
    struct dw_buf buf = {0};
    dw_buf__add(&buf, path, n);
    return dw_buf__take(&buf);
}

dw_err dw_job_read(const char *path, struct dw_job **out, struct dw_report *report,
                   struct dw_error *error)
{
    *out = NULL;
    char *text = NULL;
    size_t n = 0;
    dw_err err = dw_file__read(path, DW_FILE_LIMIT, &text, &n, error);
    if (err != DW_OK)
        return err;
    char *folder = folder_of(path);
    err = folder ? dw_job_read_text(text, n, path, folder, out, report, error)
                 : dw_error__nomem(error);
    free(folder);
    free(text);
    return err;
}
