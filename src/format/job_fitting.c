/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The table of fittings, and loose ones. */
#include "format/fields.h"
#include "format/trade.h"

#include <string.h>

void *dw_trade__list(struct dw_reader *reader, const struct dw_node *list, const char *what,
                     size_t size, size_t *n)
{
    *n = 0;
    if (list->kind != DW_NODE_LIST || list->n_items == 0) {
        dw_reader__say(reader, DW_WRONG, list->at, "%s are a list of `- key: value` lines", what);
        return NULL;
    }
    if (list->n_items > DW_TRADE_LIMIT) {
        dw_reader__say(reader, DW_WRONG, list->at, "%s: at most %d are allowed", what,
                       DW_TRADE_LIMIT);
        return NULL;
    }
    void *rows = dw_arena__alloc(reader->job->arena, list->n_items, size);
    reader->no_memory |= rows == NULL;
    *n = rows ? list->n_items : 0;
    return rows;
}

/* --- values of a fitting --------------------------------------------------------------------- */

struct fitting_row {
    struct dw_fitting fitting;
    const struct dw_node *bushing;
};

#define AT(member) offsetof(struct fitting_row, fitting.member)

static bool read_from(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    struct dw_fitting *fitting = &((struct fitting_row *)row)->fitting;
    bool outside = strcmp(value->text, dw_reference_word(DW_REF_OUTSIDE)) == 0;
    fitting->from = outside ? DW_REF_OUTSIDE : DW_REF_CENTRE;
    return outside || strcmp(value->text, dw_reference_word(DW_REF_CENTRE)) == 0 ||
           dw_read__refuse(reader, field, value, 0,
                           "write centre or outside: from where the take-out counts");
}

static bool read_stop(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    static const char *const words[] = {"0", "1/2", "1", "1 1/2", "2"};
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, value->text, value->n);
    size_t n = strlen(folded);
    if (n > 3 && strcmp(folded + n - 3, " od") == 0)
        folded[n - 3] = '\0';
    for (size_t i = 0; i < DW_COUNT(words); i++) {
        if (strcmp(folded, words[i]) == 0) {
            ((struct fitting_row *)row)->fitting.half_ods = (int64_t)i;
            return true;
        }
    }
    return dw_read__refuse(reader, field, value, 0,
                           "write how many outside diameters short of the centre the tube stops: "
                           "1/2 OD, 1 OD");
}

/* An outside diameter, or a material that has one. */
static bool read_od(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, dw_length *out)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    size_t material = dw_reader__find_material(reader, text, n);
    struct dw_field one = {field->names, NULL, 0, DW_MAY};
    if (material == DW_NONE)
        return dw_read__length(reader, &one, value, out);
    *out = reader->job->materials[material].od;
    return *out > 0 || dw_read__refuse(reader, field, value, 0,
                                       "material `%.60s` has no outside diameter", value->text);
}

static bool read_ods(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, size_t *n, const dw_length **out)
{
    bool list = value->kind == DW_NODE_LIST;
    size_t most = list ? value->n_items : 1;
    dw_length *ods = dw_arena__alloc(reader->job->arena, most, sizeof *ods);
    bool good = ods != NULL;
    reader->no_memory |= !good;
    for (size_t i = 0; ods && i < most; i++)
        good &= read_od(reader, field, list ? value->items[i] : value, &ods[i]);
    *n = good ? most : 0;
    *out = ods;
    return good;
}

static bool read_fits(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    struct dw_fitting *fitting = &((struct fitting_row *)row)->fitting;
    return read_ods(reader, field, value, &fitting->n_ods, &fitting->ods);
}

static bool read_bushed(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, void *row)
{
    struct dw_fitting *fitting = &((struct fitting_row *)row)->fitting;
    return read_ods(reader, field, value, &fitting->n_bushed, &fitting->bushed);
}

static const struct dw_field bushing_field = {"bushing", NULL, 0, DW_MAY};

static const struct dw_field fitting_fields[] = {
    {"id|fitting", dw_read__text, AT(id), DW_MUST},
    {"name", dw_read__text, AT(name), DW_MAY},
    {"take out|deduct|allowance", dw_read__length0, AT(take_out), DW_MAY},
    {"from|counted from", read_from, 0, DW_MAY},
    {"insert|goes in", dw_read__length0, AT(insert), DW_MAY},
    {"overhang", dw_read__length0, AT(overhang), DW_MAY},
    {"stops short", read_stop, 0, DW_MAY},
    {"joins|ends", dw_read__count, AT(joins), DW_MAY},
    {"fits|takes", read_fits, 0, DW_MAY},
    {"fits with bushing|takes with bushing", read_bushed, 0, DW_MAY},
    {"bushing", dw_read__node, offsetof(struct fitting_row, bushing), DW_MAY},
    {"price", dw_read__money, AT(price), DW_MAY},
    {"supplier", dw_read__text, AT(supplier), DW_MAY},
    {"item number|order code", dw_read__text, AT(item), DW_MAY},
    {"date|price date", dw_read__date, AT(date), DW_MAY},
};
static const struct dw_choice fitting_choices[] = {
    {"from", &dw_reference__words, DW_REF_CENTRE, DW_REF_OUTSIDE + 1}};
DW_FIELDS_CHOOSE(fitting, "fitting", fitting_fields, fitting_choices);

static size_t find_fitting(const struct dw_job *job, const char *text, size_t n)
{
    for (size_t i = 0; i < job->n_fittings; i++) {
        const char *id = job->fittings[i].id;
        if (id && strlen(id) == n && memcmp(id, text, n) == 0)
            return i;
    }
    return DW_NONE;
}

size_t dw_trade__fitting(struct dw_reader *reader, const struct dw_field *field,
                         const struct dw_node *value)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return DW_NONE;
    size_t found = find_fitting(reader->job, text, n);
    if (found == DW_NONE)
        dw_read__refuse(reader, field, value, 0,
                        "`%.*s` is none of the fittings; add it under `fittings`",
                        n < 60 ? (int)n : 60, text);
    return found;
}

/* A bushing may stand below the fitting that needs it: ids first, then who refers to whom. */
void dw_reader__fittings(struct dw_reader *reader, const struct dw_node *list)
{
    struct dw_job *job = reader->job;
    size_t n = 0;
    struct dw_fitting *fittings = dw_trade__list(reader, list, "fittings", sizeof *fittings, &n);
    const struct dw_node **bushings =
        dw_arena__alloc(reader->tree, n, sizeof(const struct dw_node *));
    reader->no_memory |= bushings == NULL;
    if (!fittings || !bushings)
        return;
    for (size_t i = 0; i < n; i++) {
        struct fitting_row row = {.fitting = {.joins = 1, .bushing = DW_NONE}};
        dw_reader__map(reader, list->items[i], "a fitting", fitting_fields,
                       DW_COUNT(fitting_fields), &row, NULL);
        row.fitting.at = list->items[i]->at;
        if (!row.fitting.id) /* refused already; every fitting has a name to find it by */
            continue;
        bushings[job->n_fittings] = row.bushing;
        fittings[job->n_fittings++] = row.fitting;
        job->fittings = fittings;
    }
    for (size_t i = 0; i < job->n_fittings; i++) {
        if (bushings[i])
            fittings[i].bushing = dw_trade__fitting(reader, &bushing_field, bushings[i]);
    }
}

/* --- loose fittings -------------------------------------------------------------------------- */

size_t dw_trade__order(struct dw_reader *reader, const char *name, const char *what,
                       struct dw_place at)
{
    const struct dw_job *job = reader->job;
    if (!name && job->n_orders == 1)
        return 0;
    for (size_t i = 0; name && i < job->n_orders; i++) {
        if (job->orders[i].name && strcmp(job->orders[i].name, name) == 0)
            return i;
    }
    if (name)
        dw_reader__say(reader, DW_WRONG, at, "%s: there is no job `%.60s`", what, name);
    else
        dw_reader__say(reader, DW_WRONG, at,
                       "%s: `job` is missing; say which of the jobs it is for", what);
    return DW_NONE;
}

struct loose_row {
    const struct dw_node *fitting;
    int64_t count;
    const char *order;
};

static const struct dw_field loose_fields[] = {
    {"fitting|id", dw_read__node, offsetof(struct loose_row, fitting), DW_MUST},
    {"count|qty", dw_read__count, offsetof(struct loose_row, count), DW_MUST},
    {"job|order", dw_read__text, offsetof(struct loose_row, order), DW_MAY},
};
DW_FIELDS(loose, "loose_fitting", loose_fields);

void dw_reader__loose(struct dw_reader *reader, const struct dw_node *list)
{
    size_t n = 0;
    struct dw_loose *loose = dw_trade__list(reader, list, "loose fittings", sizeof *loose, &n);
    for (size_t i = 0; i < n; i++) {
        struct loose_row row = {0};
        struct dw_place at = list->items[i]->at;
        if (!dw_reader__map(reader, list->items[i], "a loose fitting", loose_fields,
                            DW_COUNT(loose_fields), &row, NULL))
            continue;
        loose[i].fitting = dw_trade__fitting(reader, &loose_fields[0], row.fitting);
        loose[i].order = dw_trade__order(reader, row.order, "a loose fitting", at);
        loose[i].count = row.count;
        loose[i].at = at;
    }
    reader->job->loose = loose;
    reader->job->n_loose = n;
}
