/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The solver's settings as options: everything follows from DW_SETTING_LIST. */
#include "cli/cli.h"

#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#define MS_PER_S        1000
#define PPM_PER_PERCENT 10000

#define SETTING_ROW(type, name, def, least, most, help)                                            \
    {#name, offsetof(struct dw_settings, name), least, most, help},
static const struct setting {
    const char *name;
    size_t offset;
    int64_t least;
    int64_t most;
    const char *help;
} settings_table[] = {DW_SETTING_LIST(SETTING_ROW)};
#undef SETTING_ROW

/* How a setting is written. */
struct setting_form {
    size_t n;           /* characters of the setting's name without its unit */
    const char *value;  /* what the value is called; NULL = a switch */
    const char *unit;   /* " of seconds" */
    const char *suffix; /* sign that may follow the number */
    int64_t scale;      /* units of the setting in one unit of the option */
};

static bool ends_with(const char *text, const char *end)
{
    size_t n = strlen(text);
    size_t m = strlen(end);
    return n >= m && strcmp(text + n - m, end) == 0;
}

static struct setting_form form_of(const struct setting *setting)
{
    size_t n = strlen(setting->name);
    if (ends_with(setting->name, "_ms"))
        return (struct setting_form){n - strlen("_ms"), "SECONDS", " of seconds", "s", MS_PER_S};
    if (ends_with(setting->name, "_ppm"))
        return (struct setting_form){n - strlen("_ppm"), "PERCENT", " of percent", "%",
                                     PPM_PER_PERCENT};
    bool is_switch = setting->least == 0 && setting->most == 1;
    return (struct setting_form){n, is_switch ? NULL : "N", "", "", 1};
}

size_t dw_cli__n_settings(void)
{
    return DW_COUNT(settings_table);
}

void dw_cli__setting_option(size_t i, struct dw_cli_option *out)
{
    struct setting_form form = form_of(&settings_table[i]);
    *out = (struct dw_cli_option){.value = form.value, .help = settings_table[i].help};
    for (size_t k = 0; k < form.n && k < sizeof out->name - 1; k++)
        out->name[k] = settings_table[i].name[k] == '_' ? '-' : settings_table[i].name[k];
}

/* A decimal number, exactly a whole one once multiplied by `scale`, a power of ten; `suffix` may
 * follow. */
static bool read_scaled(const char *text, const struct setting_form *form, int64_t *out)
{
    int64_t value = 0;
    const char *at = text;
    if (*at < '0' || *at > '9')
        return false;
    for (; *at >= '0' && *at <= '9'; at++)
        if (!dw_mul__i64(value, 10, &value) || !dw_add__i64(value, *at - '0', &value))
            return false;
    if (!dw_mul__i64(value, form->scale, &value))
        return false;
    if (*at == '.' || *at == ',') {
        int64_t place = form->scale;
        for (at++; *at >= '0' && *at <= '9'; at++) {
            place /= 10;
            if ((place == 0 && *at != '0') || !dw_add__i64(value, (*at - '0') * place, &value))
                return false;
        }
    }
    *out = value;
    at += strspn(at, " ");
    return *at == '\0' || strcmp(at, form->suffix) == 0;
}

static bool read_setting(const struct setting *setting, const char *name, const char *text,
                         struct dw_settings *settings)
{
    struct setting_form form = form_of(setting);
    int64_t value = 0;
    if (!read_scaled(text, &form, &value) || value < setting->least || value > setting->most) {
        dw_cli__complain("--%s %s: wanted is a number%s from %lld to %lld", name, text, form.unit,
                         (long long)(setting->least / form.scale),
                         (long long)(setting->most / form.scale));
        return false;
    }
    memcpy((char *)settings + setting->offset, &value, sizeof value);
    return true;
}

enum dw_cli_status dw_cli__settings(const struct dw_cli_args *args, struct dw_settings *settings)
{
    dw_settings_default(settings);
    for (size_t i = 0; i < DW_COUNT(settings_table); i++) {
        struct dw_cli_option option = {0};
        dw_cli__setting_option(i, &option);
        if (!dw_cli__has(args, option.name))
            continue;
        const char *text = option.value ? dw_cli__value(args, option.name) : "1";
        if (!read_setting(&settings_table[i], option.name, text, settings))
            return DW_CLI_REFUSED;
    }
    struct dw_error error = {0};
    if (dw_settings_check(settings, &error)) {
        dw_cli__say_error(&error);
        return DW_CLI_REFUSED;
    }
    return DW_CLI_DONE;
}
