/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "schema.h"

#include <jansson.h>
#include <regex.h>
#include <stdio.h>
#include <string.h>

struct check {
    const json_t *root;
    char path[256];
    char *why; /* NULL: asked quietly, for anyOf */
    size_t n;
};

static bool holds(struct check *c, const json_t *schema, const json_t *value);

static bool fail(struct check *c, const char *what)
{
    if (c->why && !c->why[0])
        snprintf(c->why, c->n, "%s: %s", c->path, what);
    return false;
}

static bool is_type(const char *name, const json_t *value)
{
    return (strcmp(name, "object") == 0 && json_is_object(value)) ||
           (strcmp(name, "array") == 0 && json_is_array(value)) ||
           (strcmp(name, "string") == 0 && json_is_string(value)) ||
           (strcmp(name, "number") == 0 && json_is_number(value)) ||
           (strcmp(name, "integer") == 0 && json_is_integer(value)) ||
           (strcmp(name, "boolean") == 0 && json_is_boolean(value)) ||
           (strcmp(name, "null") == 0 && json_is_null(value));
}

static bool check_type(const json_t *type, const json_t *value)
{
    if (json_is_string(type))
        return is_type(json_string_value(type), value);
    for (size_t i = 0; i < json_array_size(type); i++)
        if (is_type(json_string_value(json_array_get(type, i)), value))
            return true;
    return false;
}

static bool is_one_of(const json_t *values, const json_t *value)
{
    for (size_t i = 0; i < json_array_size(values); i++)
        if (json_equal(json_array_get(values, i), value))
            return true;
    return false;
}

static bool matches(const char *pattern, const json_t *value)
{
    regex_t regex;
    if (!json_is_string(value))
        return true;
    if (regcomp(&regex, pattern, REG_EXTENDED | REG_NOSUB) != 0)
        return false;
    bool found = regexec(&regex, json_string_value(value), 0, NULL, 0) == 0;
    regfree(&regex);
    return found;
}

/* How many of the schemas hold. */
static size_t count_holding(struct check *c, const json_t *schemas, const json_t *value)
{
    size_t n = 0;
    char *why = c->why;
    c->why = NULL;
    for (size_t i = 0; i < json_array_size(schemas); i++)
        n += holds(c, json_array_get(schemas, i), value);
    c->why = why;
    return n;
}

static bool below(struct check *c, const char *name, const json_t *schema, const json_t *value)
{
    size_t used = strlen(c->path);
    snprintf(c->path + used, sizeof c->path - used, "/%s", name);
    bool good = holds(c, schema, value);
    c->path[used] = '\0';
    return good;
}

static bool check_properties(struct check *c, const json_t *schema, const json_t *value)
{
    const json_t *properties = json_object_get(schema, "properties");
    bool closed = json_is_false(json_object_get(schema, "additionalProperties"));
    const char *key = NULL;
    json_t *member = NULL;
    json_object_foreach((json_t *)value, key, member)
    {
        const json_t *of = json_object_get(properties, key);
        if (!of && closed)
            return fail(c, key);
        if (of && !below(c, key, of, member))
            return false;
    }
    return true;
}

static bool check_required(struct check *c, const json_t *names, const json_t *value)
{
    for (size_t i = 0; json_is_object(value) && i < json_array_size(names); i++)
        if (!json_object_get(value, json_string_value(json_array_get(names, i))))
            return fail(c, json_string_value(json_array_get(names, i)));
    return true;
}

static bool check_items(struct check *c, const json_t *schema, const json_t *value)
{
    for (size_t i = 0; json_is_array(value) && i < json_array_size(value); i++) {
        char name[24];
        snprintf(name, sizeof name, "%zu", i);
        if (!below(c, name, schema, json_array_get(value, i)))
            return false;
    }
    return true;
}

static bool check_ref(struct check *c, const char *ref, const json_t *value)
{
    static const char prefix[] = "#/$defs/";
    const json_t *defs = json_object_get(c->root, "$defs");
    const json_t *schema = json_object_get(defs, ref + strlen(prefix));
    return schema ? holds(c, schema, value) : fail(c, ref);
}

static bool check_number(const char *keyword, const json_t *limit, const json_t *value)
{
    if (json_is_array(value) && strcmp(keyword, "minItems") == 0)
        return (json_int_t)json_array_size(value) >= json_integer_value(limit);
    if (json_is_array(value) && strcmp(keyword, "maxItems") == 0)
        return (json_int_t)json_array_size(value) <= json_integer_value(limit);
    if (json_is_number(value) && strcmp(keyword, "minimum") == 0)
        return json_number_value(value) >= json_number_value(limit);
    if (json_is_number(value) && strcmp(keyword, "maximum") == 0)
        return json_number_value(value) <= json_number_value(limit);
    return true;
}

static bool is_word(const char *keyword, const char *words)
{
    size_t n = strlen(keyword);
    for (const char *at = words; (at = strstr(at, keyword)); at += n)
        if ((at == words || at[-1] == ' ') && (at[n] == ' ' || at[n] == '\0'))
            return true;
    return false;
}

static bool check_keyword(struct check *c, const char *keyword, const json_t *with,
                          const json_t *schema, const json_t *value)
{
    if (is_word(keyword, "description title $schema $defs additionalProperties"))
        return true;
    if (is_word(keyword, "minItems maxItems minimum maximum"))
        return check_number(keyword, with, value) || fail(c, keyword);
    if (strcmp(keyword, "$ref") == 0)
        return check_ref(c, json_string_value(with), value);
    if (strcmp(keyword, "type") == 0)
        return check_type(with, value) || fail(c, "wrong type");
    if (strcmp(keyword, "const") == 0)
        return json_equal(with, value) || fail(c, "another constant is wanted");
    if (strcmp(keyword, "enum") == 0)
        return is_one_of(with, value) || fail(c, "none of the words");
    if (strcmp(keyword, "pattern") == 0)
        return matches(json_string_value(with), value) || fail(c, "not of the pattern");
    if (strcmp(keyword, "required") == 0)
        return check_required(c, with, value);
    if (strcmp(keyword, "properties") == 0)
        return check_properties(c, schema, value);
    if (strcmp(keyword, "items") == 0)
        return check_items(c, with, value);
    if (strcmp(keyword, "anyOf") == 0)
        return count_holding(c, with, value) > 0 || fail(c, "none of anyOf");
    if (strcmp(keyword, "oneOf") == 0)
        return count_holding(c, with, value) == 1 || fail(c, "not one of oneOf");
    return fail(c, keyword);
}

static bool holds(struct check *c, const json_t *schema, const json_t *value)
{
    const char *keyword = NULL;
    json_t *with = NULL;
    json_object_foreach((json_t *)schema, keyword, with)
    {
        if (!check_keyword(c, keyword, with, schema, value))
            return false;
    }
    return json_is_object(schema) || fail(c, "no schema");
}

bool schema_check(const struct json_t *schema, const struct json_t *value, char *why, size_t n)
{
    struct check c = {.root = schema, .why = why, .n = n};
    why[0] = '\0';
    return holds(&c, schema, value);
}
