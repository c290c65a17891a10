/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan out of its JSON document. What it says is taken as it is; whether it is right is for
 * dw_plan_check to say. Indices are checked here, so that nothing points outside the job. */
#include "format/format.h"
#include "format/plan_reader.h"
#include "format/tree.h"

#include <dropwise/terms.h>

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static bool read_take(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                      void *row)
{
    return dw_plan__read_object(r, at, value, &dw_take__members, NULL, 0, row);
}

static bool read_piece(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                       void *row)
{
    struct dw_piece *piece = row;
    const char *more[DW_SAW_MEMBERS];
    size_t n_more = 0;
    for (size_t i = 0; i < DW_SAW_MEMBERS && r->version >= 2; i++)
        if (json_object_get(value, dw_record__saw_names[i]))
            more[n_more++] = dw_record__saw_names[i];
    if (!dw_plan__read_object(r, at, value, &dw_piece__members, more, n_more, piece))
        return false;
    if ((piece->part == DW_NONE) != (piece->use == DW_USE_BEND_END))
        return dw_plan__refuse(r, at, "a bend end has no part, any other piece has one");
    return true;
}

/* What a piece says beyond its members is the job's to say. */
static bool check_saw(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                      const struct dw_layout *layout)
{
    struct dw_saw_difference found;
    if (!dw_plan__saw_compare(r->job, layout, json_object_get(value, "pieces"), &found)) {
        dw_error__nomem(r->error);
        return false;
    }
    if (!found.name)
        return true;
    struct dw_pointer pieces = {at, "pieces", 0};
    struct dw_pointer piece = {&pieces, NULL, found.piece};
    struct dw_pointer below = {&piece, found.name, 0};
    dw_plan__refuse(r, &below, "the job says %.200s: made before the job changed?", found.says);
    free(found.says);
    return false;
}

static bool read_layout(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                        void *row)
{
    static const char *const more[] = {"pieces"};
    struct dw_layout *layout = row;
    void *pieces = NULL;
    if (!dw_plan__read_object(r, at, value, &dw_layout__members, more, DW_COUNT(more), layout) ||
        !dw_plan__read_array(r, at, value, "pieces", sizeof(struct dw_piece), read_piece, &pieces,
                             &layout->n_pieces))
        return false;
    layout->pieces = pieces;
    if (layout->n_pieces == 0)
        return dw_plan__refuse(r, at, "a layout has at least one piece");
    return r->version < 2 || check_saw(r, at, value, layout);
}

static bool read_material(struct dw_plan_reader *r, const struct dw_pointer *at,
                          const json_t *value, void *row)
{
    return dw_plan__read_reference(r, at, value, DW_VALUE_MATERIAL, row);
}

static bool read_dual(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                      void *row)
{
    struct dw_dual *dual = row;
    if (!dw_plan__read_object(r, at, value, &dw_dual__members, NULL, 0, dual))
        return false;
    return dual->part != DW_NONE || dw_plan__refuse(r, at, "a dual belongs to a part");
}

static bool read_shortage(struct dw_plan_reader *r, const struct dw_pointer *at,
                          const json_t *value, void *row)
{
    struct dw_shortage *shortage = row;
    if (!dw_plan__read_object(r, at, value, &dw_shortage__members, NULL, 0, shortage))
        return false;
    return shortage->part != DW_NONE || dw_plan__refuse(r, at, "a shortage is of a part");
}

static bool read_certificate(struct dw_plan_reader *r, const struct dw_pointer *above,
                             const json_t *object, struct dw_certificate *certificate)
{
    static const char *const more[] = {"duals"};
    struct dw_pointer at = {above, "certificate", 0};
    const json_t *value = json_object_get(object, "certificate");
    void *rows = NULL;
    size_t n = 0;
    if (!dw_plan__read_object(r, &at, value, &dw_certificate__members, more, DW_COUNT(more),
                              certificate) ||
        !dw_plan__read_array(r, &at, value, "duals", sizeof(struct dw_dual), read_dual, &rows, &n))
        return false;
    size_t *parts = dw_plan__room(r, n, sizeof *parts);
    int64_t *duals = dw_plan__room(r, n, sizeof *duals);
    if (!parts || !duals)
        return false;
    const struct dw_dual *dual = rows;
    for (size_t i = 0; i < n; i++) {
        parts[i] = dual[i].part;
        duals[i] = dual[i].dual;
    }
    certificate->parts = parts;
    certificate->duals = duals;
    certificate->n_duals = n;
    return true;
}

static bool read_group(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                       void *row)
{
    static const char *const more[] = {"materials", "certificate", "shortages"};
    struct dw_group *group = row;
    void *materials = NULL, *shortages = NULL;
    if (!dw_plan__read_object(r, at, value, &dw_group__members, more, DW_COUNT(more), group) ||
        !dw_plan__read_array(r, at, value, "materials", sizeof(size_t), read_material, &materials,
                             &group->n_materials) ||
        !read_certificate(r, at, value, &group->certificate) ||
        !dw_plan__read_array(r, at, value, "shortages", sizeof(struct dw_shortage), read_shortage,
                             &shortages, &group->n_shortages))
        return false;
    group->materials = materials;
    group->shortages = shortages;
    return true;
}

/* --- the document ---------------------------------------------------------------------------- */

static bool read_digest(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                        uint64_t *out)
{
    const char *text = json_is_string(value) ? json_string_value(value) : "";
    if (strlen(text) != 16 || strspn(text, "0123456789abcdef") != 16)
        return dw_plan__refuse(r, at, "16 hexadecimal digits in lower case are wanted");
    *out = strtoull(text, NULL, 16);
    return true;
}

static bool read_job(struct dw_plan_reader *r, const json_t *root)
{
    static const char *const names[] = {"name", "digest", "currency"};
    struct dw_pointer at = {NULL, "job", 0};
    struct dw_pointer digest = {&at, "digest", 0};
    struct dw_pointer currency = {&at, "currency", 0};
    struct dw_pointer name = {&at, "name", 0};
    const json_t *object = json_object_get(root, "job");
    if (!dw_plan__members_are(r, &at, object, names, DW_COUNT(names)))
        return false;
    const json_t *code = json_object_get(object, "currency");
    const char *ignored = NULL;
    if (!json_is_string(code) || strcmp(json_string_value(code), r->job->currency) != 0)
        return dw_plan__refuse(r, &currency, "the job's money is in %s: made for another job?",
                               r->job->currency);
    return dw_plan__read_text(r, &name, json_object_get(object, "name"), &ignored) &&
           read_digest(r, &digest, json_object_get(object, "digest"), &r->plan->job_digest);
}

bool dw_plan__check_kind(struct dw_plan_reader *r, const json_t *root)
{
    r->version = 0;
    const json_t *format = json_object_get(root, "format");
    const json_t *version = json_object_get(root, "version");
    dw_err err = DW_OK;
    if (!json_is_string(format) || strcmp(json_string_value(format), DW_PLAN_FORMAT) != 0)
        err = dw_error__at(r->error, DW_ERR_SCHEMA, r->file, 0, 0,
                           "/format: this is no plan; a plan says \"format\": \"" DW_PLAN_FORMAT
                           "\"");
    else if (!json_is_integer(version) || json_integer_value(version) < 1 ||
             json_integer_value(version) > DW_PLAN_VERSION)
        err =
            dw_error__at(r->error, DW_ERR_SCHEMA, r->file, 0, 0,
                         "/version: this program reads versions 1 to %d of plans", DW_PLAN_VERSION);
    else
        r->version = (int)json_integer_value(version);
    return err == DW_OK;
}

static bool read_charge(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                        void *row)
{
    return dw_plan__read_object(r, at, value, &dw_charge__members, NULL, 0, row);
}

/* What suppliers charge; a document may have nothing of it. */
static bool read_order(struct dw_plan_reader *r, const json_t *root)
{
    static const char *const more[] = {"suppliers"};
    struct dw_pointer at = {NULL, "order", 0};
    const json_t *object = json_object_get(root, "order");
    void *charges = NULL;
    if (!object)
        return true;
    if (!dw_plan__read_object(r, &at, object, &dw_order_totals__members, more, DW_COUNT(more),
                              &r->plan->totals) ||
        !dw_plan__read_array(r, &at, object, "suppliers", sizeof(struct dw_charge), read_charge,
                             &charges, &r->plan->n_charges))
        return false;
    r->plan->charges = charges;
    return true;
}

static bool read_plan(struct dw_plan_reader *r, const json_t *root)
{
    static const char *const needed[] = {"format", "version", "job",   "totals",
                                         "takes",  "layouts", "groups"};
    static const char *const optional[] = {"shelf",    "rest",  "remarks",
                                           "cautions", "order", "compared"};
    const char *more[DW_COUNT(needed) + DW_COUNT(optional)];
    size_t n_more = DW_COUNT(needed);
    memcpy(more, needed, sizeof needed);
    for (size_t i = 0; i < DW_COUNT(optional); i++)
        if (json_object_get(root, optional[i]))
            more[n_more++] = optional[i];
    struct dw_plan *plan = r->plan;
    struct dw_pointer totals = {NULL, "totals", 0};
    void *groups = NULL, *layouts = NULL, *takes = NULL;
    if (!dw_plan__check_kind(r, root) ||
        !dw_plan__read_object(r, NULL, root, &dw_plan__members, more, n_more, plan) ||
        !read_job(r, root) ||
        !dw_plan__read_object(r, &totals, json_object_get(root, "totals"), &dw_totals__members,
                              NULL, 0, &plan->totals) ||
        !dw_plan__read_array(r, NULL, root, "groups", sizeof(struct dw_group), read_group, &groups,
                             &plan->n_groups) ||
        !dw_plan__read_array(r, NULL, root, "layouts", sizeof(struct dw_layout), read_layout,
                             &layouts, &plan->n_layouts) ||
        !dw_plan__read_array(r, NULL, root, "takes", sizeof(struct dw_take), read_take, &takes,
                             &plan->n_takes) ||
        !read_order(r, root))
        return false;
    plan->groups = groups;
    plan->layouts = layouts;
    plan->takes = takes;
    if (r->version < 2)
        dw_plan__number_bars(plan);
    return true;
}

struct feed {
    const char *text;
    size_t n;
    size_t at;
    bool no_memory;
};

/* Jansson 2.14 blames the text where an allocation fails, or goes on with half of a string, but
 * malloc sets errno. It is looked at from byte to byte, for each number sets it anew. */
static size_t feed_byte(void *buffer, size_t size, void *user)
{
    struct feed *feed = user;
    feed->no_memory = feed->no_memory || errno == ENOMEM;
    if (feed->no_memory || feed->at == feed->n || size == 0)
        return 0;
    *(char *)buffer = feed->text[feed->at++];
    return 1;
}

json_t *dw_plan__parse(const char *text, size_t n, const char *name, struct dw_error *error)
{
    json_error_t found;
    struct feed feed = {.text = text, .n = n};
    errno = 0;
    json_t *root = json_load_callback(feed_byte, &feed, JSON_REJECT_DUPLICATES, &found);
    bool no_memory = feed.no_memory || errno == ENOMEM;
    if (root && !no_memory)
        return root;
    json_decref(root);
    if (no_memory)
        dw_error__nomem(error);
    else
        dw_error__at(error, DW_ERR_SYNTAX, name, found.line > 0 ? found.line : 0,
                     found.column > 0 ? found.column : 0, "not well-formed JSON: %s", found.text);
    return NULL;
}

dw_err dw_plan_from_json(const char *text, size_t n, const char *name, const struct dw_job *job,
                         struct dw_plan **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_error first = {0};
    struct dw_plan_reader r = {.job = job, .file = name, .error = &first};
    if (n > DW_FILE_LIMIT)
        return dw_error__at(error, DW_ERR_LIMIT, name, 0, 0,
                            "the plan is larger than the limit of %zu bytes", DW_FILE_LIMIT);
    json_t *root = dw_plan__parse(text, n, name, &first);
    if (root && dw_plan_new(&r.plan, &first) == DW_OK && read_plan(&r, root))
        *out = r.plan;
    else
        dw_plan_free(r.plan);
    json_decref(root);
    return *out ? DW_OK
                : dw_error__at(error, first.code, first.file, first.line, first.column, "%s",
                               first.text);
}

dw_err dw_plan_read(const char *path, const struct dw_job *job, struct dw_plan **out,
                    struct dw_error *error)
{
    *out = NULL;
    char *text = NULL;
    size_t n = 0;
    dw_err err = dw_file__read(path, DW_FILE_LIMIT, &text, &n, error);
    if (err == DW_OK)
        err = dw_plan_from_json(text, n, path, job, out, error);
    free(text);
    return err;
}
