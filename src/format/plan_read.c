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

static void print_pointer(struct dw_buf *buf, const struct dw_pointer *at)
{
    if (!at)
        return;
    print_pointer(buf, at->above);
    if (at->name)
        dw_buf__format(buf, "/%s", at->name);
    else
        dw_buf__format(buf, "/%zu", at->index);
}

bool dw_plan__refuse(struct dw_plan_reader *r, const struct dw_pointer *at, const char *format, ...)
{
    char text[384];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    struct dw_buf buf = {0};
    print_pointer(&buf, at);
    char *pointer = dw_buf__take(&buf);
    if (!pointer)
        dw_error__nomem(r->error);
    else
        dw_error__at(r->error, DW_ERR_INPUT, r->file, 0, 0, "%s: %s", *pointer ? pointer : "/",
                     text);
    free(pointer);
    return false;
}

void *dw_plan__room(struct dw_plan_reader *r, size_t count, size_t size)
{
    void *made = dw_plan_alloc(r->plan, count, size);
    if (!made)
        dw_error__nomem(r->error);
    return made;
}

/* --- values ------------------------------------------------------------------------------------
 */

static bool read_integer(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                         int64_t least, int64_t most, int64_t *out)
{
    int64_t number = 0;
    if (json_is_integer(value))
        number = json_integer_value(value);
    else if (!json_is_string(value) || !dw_out__digits(json_string_value(value), &number))
        return dw_plan__refuse(r, at, "a whole number is wanted");
    if (number < least || number > most)
        return dw_plan__refuse(
            r, at, "%" PRId64 " is out of range; %" PRId64 " to %" PRId64 " is possible", number,
            least, most);
    *out = number;
    return true;
}

bool dw_plan__members_are(struct dw_plan_reader *r, const struct dw_pointer *at,
                          const json_t *object, const char *const *names, size_t n)
{
    if (!json_is_object(object))
        return dw_plan__refuse(r, at, "an object is wanted");
    for (size_t i = 0; i < n; i++)
        if (!json_object_get(object, names[i]))
            return dw_plan__refuse(r, at, "member `%s` is missing", names[i]);
    const char *key = NULL;
    json_t *value = NULL;
    json_object_foreach((json_t *)object, key, value)
    {
        bool known = false;
        for (size_t i = 0; i < n && !known; i++)
            known = strcmp(key, names[i]) == 0;
        if (!known)
            return dw_plan__refuse(r, at, "member `%.60s` is not known", key);
    }
    return true;
}

static bool read_length(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                        const struct dw_member *member, dw_length *out)
{
    static const char *const names[] = {"nm", "text"};
    if (!dw_plan__members_are(r, at, value, names, DW_COUNT(names)))
        return false;
    struct dw_pointer nm = {at, "nm", 0};
    struct dw_pointer text = {at, "text", 0};
    const char *said = json_string_value(json_object_get(value, "text"));
    if (!said)
        return dw_plan__refuse(r, &text, "a string is wanted");
    if (!read_integer(r, &nm, json_object_get(value, "nm"), member->least, member->most, out))
        return false;
    return dw_plan__is_text_of(said, *out) ||
           dw_plan__refuse(r, &text, "\"%.48s\" is not the length in nm, %" PRId64, said, *out);
}

/* "-12.3450": digits, a point, two to four decimals. */
static bool read_money(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                       dw_money *out)
{
    const char *text = json_is_string(value) ? json_string_value(value) : "";
    const char *digit = text + (*text == '-');
    const char *point = strchr(text, '.');
    size_t whole = strspn(digit, "0123456789");
    size_t decimals = point ? strspn(point + 1, "0123456789") : 0;
    if (whole == 0 || whole > 18 || digit + whole != point || decimals < 2 || decimals > 4 ||
        point[1 + decimals] || (digit[0] == '0' && whole > 1))
        return dw_plan__refuse(
            r, at, "an amount is wanted, a string with two to four decimals: \"12.50\"");
    int64_t amount = 0;
    bool good = true;
    for (const char *c = digit; *c && good; c++)
        if (*c != '.')
            good = dw_mul__i64(amount, 10, &amount) && dw_add__i64(amount, *c - '0', &amount);
    for (size_t i = decimals; i < 4 && good; i++)
        good = dw_mul__i64(amount, 10, &amount);
    if (!good)
        return dw_plan__refuse(r, at, "the amount is out of range");
    *out = *text == '-' ? -amount : amount;
    return true;
}

static bool read_word(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                      const struct dw_member *member, unsigned *out)
{
    const char *text = json_is_string(value) ? json_string_value(value) : "";
    const struct dw_words *words = member->words;
    for (size_t i = 0; i < words->n; i++) {
        if (strcmp(text, words->words[i]) == 0) {
            *out = (unsigned)i;
            return true;
        }
    }
    struct dw_buf buf = {0};
    for (size_t i = 0; i < words->n; i++)
        dw_buf__format(&buf, "%s\"%s\"", i ? ", " : "", words->words[i]);
    char *list = dw_buf__take(&buf);
    dw_plan__refuse(r, at, "one of %s is wanted", list ? list : "its words");
    free(list);
    return false;
}

/* Texts reach terminals: no control characters. */
static bool read_text(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                      const char **out)
{
    *out = NULL;
    if (json_is_null(value))
        return true;
    if (!json_is_string(value))
        return dw_plan__refuse(r, at, "a string or null is wanted");
    size_t n = json_string_length(value);
    const char *text = json_string_value(value);
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)text[i] < 0x20 || text[i] == 0x7F)
            return dw_plan__refuse(r, at, "control characters are not allowed");
    char *copy = dw_plan__room(r, n + 1, 1);
    if (copy)
        memcpy(copy, text, n + 1);
    *out = copy;
    return copy != NULL;
}

static bool read_index(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                       size_t count, const char *what, size_t *out)
{
    int64_t index = 0;
    if (!read_integer(r, at, value, INT64_MIN, INT64_MAX, &index))
        return false;
    if (index < 0 || (uint64_t)index >= count)
        return dw_plan__refuse(r, at,
                               "no %s has index %" PRId64 "; there are %zu: made for another job?",
                               what, index, count);
    *out = (size_t)index;
    return true;
}

/* An index with the name that the job has for it: a plan of another job shows at once. */
static bool read_reference(struct dw_plan_reader *r, const struct dw_pointer *at,
                           const json_t *value, enum dw_value_kind kind, size_t *out)
{
    const struct dw_job *job = r->job;
    bool part = kind == DW_VALUE_PART;
    bool supply = kind == DW_VALUE_SUPPLY;
    bool supplier = kind == DW_VALUE_SUPPLIER;
    const char *const names[] = {"index", part ? "label" : supplier ? "name" : "id"};
    const char *what = part ? "part" : supply ? "supply" : supplier ? "supplier" : "material";
    size_t count = part       ? job->n_parts
                   : supply   ? job->n_supplies
                   : supplier ? job->n_suppliers
                              : job->n_materials;
    if (!dw_plan__members_are(r, at, value, names, DW_COUNT(names)))
        return false;
    struct dw_pointer at_index = {at, names[0], 0};
    struct dw_pointer at_name = {at, names[1], 0};
    if (!read_index(r, &at_index, json_object_get(value, names[0]), count, what, out))
        return false;
    const char *wanted = part       ? job->parts[*out].label
                         : supply   ? job->supplies[*out].id
                         : supplier ? job->suppliers[*out].name
                                    : job->materials[*out].id;
    const json_t *name = json_object_get(value, names[1]);
    const char *given = json_is_string(name) ? json_string_value(name) : NULL;
    if ((!given && !json_is_null(name)) ||
        (given ? !wanted || strcmp(given, wanted) != 0 : !!wanted))
        return dw_plan__refuse(r, &at_name, "%s %zu of the job is `%.60s`: made for another job?",
                               what, *out, wanted ? wanted : "");
    return true;
}

static bool read_member(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
                        const struct dw_member *member, void *out)
{
    switch (member->kind) {
    case DW_VALUE_INTEGER:
        return read_integer(r, at, value, member->least, member->most, out);
    case DW_VALUE_LENGTH:
        return read_length(r, at, value, member, out);
    case DW_VALUE_MONEY:
        return read_money(r, at, value, out);
    case DW_VALUE_WORD:
        return read_word(r, at, value, member, out);
    case DW_VALUE_TEXT:
        return read_text(r, at, value, out);
    case DW_VALUE_YES:
        *(bool *)out = json_is_true(value);
        return json_is_boolean(value) || dw_plan__refuse(r, at, "true or false is wanted");
    case DW_VALUE_ANGLE:
        return dw_plan__refuse(r, at, "angles are not read");
    case DW_VALUE_GROUP:
        return read_index(r, at, value, r->plan->n_groups, "group", out);
    case DW_VALUE_GROUP_OR_NONE:
        *(size_t *)out = DW_NONE;
        return json_is_null(value) || read_index(r, at, value, r->plan->n_groups, "group", out);
    default:
        *(size_t *)out = DW_NONE;
        if (member->kind != DW_VALUE_SUPPLY && member->kind != DW_VALUE_SUPPLIER &&
            json_is_null(value))
            return true;
        return read_reference(r, at, value, member->kind, out);
    }
}

#define MEMBER_MAX 24 /* members of an object */

bool dw_plan__read_object(struct dw_plan_reader *r, const struct dw_pointer *at,
                          const json_t *object, const struct dw_member_table *table,
                          const char *const *more, size_t n_more, void *row)
{
    const char *names[MEMBER_MAX];
    size_t n = 0;
    for (size_t i = 0; i < table->n; i++)
        if (table->members[i].since <= r->version)
            names[n++] = table->members[i].name;
    for (size_t i = 0; i < n_more; i++)
        names[n++] = more[i];
    bool good = dw_plan__members_are(r, at, object, names, n);
    for (size_t i = 0; i < table->n && good; i++) {
        const struct dw_member *member = &table->members[i];
        if (member->since > r->version)
            continue;
        struct dw_pointer below = {at, member->name, 0};
        good = read_member(r, &below, json_object_get(object, member->name), member,
                           (char *)row + member->offset);
    }
    return good;
}

/* --- arrays -------------------------------------------------------------------------------------
 */

bool dw_plan__read_array(struct dw_plan_reader *r, const struct dw_pointer *above,
                         const json_t *object, const char *name, size_t size, dw_plan_row *read,
                         void **rows, size_t *n)
{
    struct dw_pointer at = {above, name, 0};
    const json_t *array = json_object_get(object, name);
    if (!json_is_array(array))
        return dw_plan__refuse(r, &at, "an array is wanted");
    size_t count = json_array_size(array);
    *rows = dw_plan__room(r, count, size);
    bool good = *rows != NULL;
    for (size_t i = 0; i < count && good; i++) {
        struct dw_pointer below = {&at, NULL, i};
        good = read(r, &below, json_array_get(array, i), (char *)*rows + i * size);
    }
    *n = good ? count : 0;
    return good;
}

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
    return read_reference(r, at, value, DW_VALUE_MATERIAL, row);
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
    return read_text(r, &name, json_object_get(object, "name"), &ignored) &&
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
