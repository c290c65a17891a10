/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which options were given, or are usual here, and their values. */
#include "cli/cli.h"

#include <string.h>

static const char *const usual_names[] = {
#define USUAL_NAME(name, text) text,
    DW_CLI_USUAL_LIST(USUAL_NAME)
#undef USUAL_NAME
};

const char *dw_cli__usual_name(size_t key)
{
    return usual_names[key];
}

bool dw_cli__usual_key(const char *name, size_t n, size_t *key)
{
    for (size_t i = 0; i < DW_COUNT(usual_names); i++)
        if (strlen(usual_names[i]) == n && memcmp(usual_names[i], name, n) == 0) {
            *key = i;
            return true;
        }
    return false;
}

const char *dw_cli__usual(const struct dw_cli_args *args, const char *name)
{
    size_t key = 0;
    return dw_cli__usual_key(name, strlen(name), &key) ? args->usual.values[key] : NULL;
}

bool dw_cli__is_choice(const char *choices, const char *value)
{
    size_t n = strlen(value);
    for (const char *at = choices; n > 0 && *at;) {
        size_t length = strcspn(at, " ");
        if (length == n && memcmp(at, value, n) == 0)
            return true;
        at += length;
        at += strspn(at, " ");
    }
    return false;
}

static const struct dw_cli_given *last_given(const struct dw_cli_args *args, const char *name)
{
    for (size_t i = args->n_given; i > 0; i--)
        if (strcmp(args->given[i - 1].option.name, name) == 0)
            return &args->given[i - 1];
    return NULL;
}

bool dw_cli__has(const struct dw_cli_args *args, const char *name)
{
    return last_given(args, name) != NULL;
}

const char *dw_cli__value(const struct dw_cli_args *args, const char *name)
{
    const struct dw_cli_given *given = last_given(args, name);
    return given ? given->value : dw_cli__usual(args, name);
}

bool dw_cli__number(const char *option, const char *text, int64_t least, int64_t most, int64_t *out)
{
    int64_t value = 0;
    const char *at = text;
    bool good = *at >= '0' && *at <= '9';
    for (; good && *at >= '0' && *at <= '9'; at++)
        good = dw_mul__i64(value, 10, &value) && dw_add__i64(value, *at - '0', &value);
    if (!good || *at != '\0' || value < least || value > most) {
        dw_cli__complain("--%s %s: wanted is a whole number from %lld to %lld", option, text,
                         (long long)least, (long long)most);
        return false;
    }
    *out = value;
    return true;
}
