/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values, objects and arrays of a plan document, read by the tables of their members. */
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
bool dw_plan__read_text(struct dw_plan_reader *r, const struct dw_pointer *at, const json_t *value,
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
bool dw_plan__read_reference(struct dw_plan_reader *r, const struct dw_pointer *at,
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
        return dw_plan__read_text(r, at, value, out);
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
        return dw_plan__read_reference(r, at, value, member->kind, out);
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
