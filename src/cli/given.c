/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which options were given, and their values. */
#include "cli/cli.h"

#include <string.h>

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
