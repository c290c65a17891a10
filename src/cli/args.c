/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Options and operands of one command. */
#include "cli/cli.h"

#include <dropwise/length.h>

#include <stdlib.h>
#include <string.h>

static bool find_option(const struct dw_cli_command *command, const char *name, size_t n,
                        char letter, struct dw_cli_option *out)
{
    for (size_t i = 0; dw_cli__option(command, i, out); i++) {
        if (letter && out->letter == letter)
            return true;
        if (!letter && strlen(out->name) == n && memcmp(out->name, name, n) == 0)
            return true;
    }
    return false;
}

/* The option nearest to a name that is none, if near enough to be meant. */
static bool nearest_option(const struct dw_cli_command *command, const char *name,
                           struct dw_cli_option *best)
{
    size_t best_distance = strlen(name) / 2 + 1;
    struct dw_cli_option option = {0};
    bool found = false;
    for (size_t i = 0; dw_cli__option(command, i, &option); i++) {
        size_t distance = dw_cli__distance(name, option.name);
        if (distance < best_distance) {
            best_distance = distance;
            *best = option;
            found = true;
        }
    }
    return found;
}

static void complain_unknown(const struct dw_cli_args *args, const char *word)
{
    char name[64] = {0};
    const char *start = word + strspn(word, "-");
    size_t n = strcspn(start, "=");
    if (n < sizeof name)
        memcpy(name, start, n);
    struct dw_cli_option near = {0};
    if (nearest_option(args->command, name, &near))
        dw_cli__complain("%s has no option %s; the nearest is --%s", args->path, word, near.name);
    else
        dw_cli__complain("%s has no option %s; see dropwise help %s", args->path, word, args->path);
}

/* What may be said of several things: files in which something is written, money paid for each
 * supply. */
static bool is_repeatable(const struct dw_cli_args *args, const char *name)
{
    static const char *const in_files[] = {"plan", "takeoff", "order", "quote"};
    bool files = false;
    for (size_t i = 0; i < DW_COUNT(in_files); i++)
        files = files || strcmp(args->path, in_files[i]) == 0;
    return (files && strcmp(name, "output") == 0) || strcmp(name, "paid") == 0 ||
           strcmp(name, "total") == 0;
}

static bool add_given(struct dw_cli_args *args, const struct dw_cli_option *option,
                      const char *value)
{
    for (size_t i = 0; i < args->n_given; i++)
        if (strcmp(args->given[i].option.name, option->name) == 0 &&
            !is_repeatable(args, option->name)) {
            dw_cli__complain("--%s is given twice", option->name);
            return false;
        }
    /* `inch` is `in` here as in files. */
    enum dw_unit unit = value && strcmp(option->name, "unit") == 0
                            ? dw_unit_find(value, strlen(value))
                            : DW_UNIT_NONE;
    if (unit != DW_UNIT_NONE)
        value = dw_unit_name(unit);
    if (value && option->choices && !dw_cli__is_choice(option->choices, value)) {
        dw_cli__complain("--%s %s: wanted is one of: %s", option->name, value, option->choices);
        return false;
    }
    args->given[args->n_given++] = (struct dw_cli_given){*option, value};
    return true;
}

/* Reads the long option argv[*at] and, if it takes one, its value. */
static bool read_long(struct dw_cli_args *args, size_t n, char **argv, size_t *at)
{
    const char *word = argv[*at];
    const char *name = word + 2;
    const char *equals = strchr(name, '=');
    struct dw_cli_option option = {0};
    if (!find_option(args->command, name, equals ? (size_t)(equals - name) : strlen(name), 0,
                     &option)) {
        complain_unknown(args, word);
        return false;
    }
    if (!option.value && equals) {
        dw_cli__complain("--%s takes no value", option.name);
        return false;
    }
    const char *value = equals ? equals + 1 : NULL;
    if (option.value && !value) {
        if (*at + 1 >= n) {
            dw_cli__complain("--%s wants a value: --%s %s", option.name, option.name, option.value);
            return false;
        }
        value = argv[++*at];
    }
    return add_given(args, &option, value);
}

/* Reads the short options in argv[*at], the last of which may take a value. */
static bool read_short(struct dw_cli_args *args, size_t n, char **argv, size_t *at)
{
    for (const char *letter = argv[*at] + 1; *letter; letter++) {
        struct dw_cli_option option = {0};
        if (!find_option(args->command, NULL, 0, *letter, &option)) {
            complain_unknown(args, argv[*at]);
            return false;
        }
        const char *value = NULL;
        if (option.value && letter[1])
            value = letter + 1;
        else if (option.value && *at + 1 < n)
            value = argv[++*at];
        else if (option.value) {
            dw_cli__complain("-%c wants a value: -%c %s", option.letter, option.letter,
                             option.value);
            return false;
        }
        if (!add_given(args, &option, value))
            return false;
        if (value)
            break;
    }
    return true;
}

static bool read_words(struct dw_cli_args *args, size_t n, char **argv)
{
    bool options = true;
    for (size_t at = 0; at < n; at++) {
        const char *word = argv[at];
        if (options && strcmp(word, "--") == 0)
            options = false;
        else if (options && strncmp(word, "--", 2) == 0) {
            if (!read_long(args, n, argv, &at))
                return false;
        } else if (options && word[0] == '-' && word[1] != '\0') {
            if (!read_short(args, n, argv, &at))
                return false;
        } else {
            args->operands[args->n_operands++] = word;
        }
    }
    return true;
}

static bool check_operands(const struct dw_cli_args *args)
{
    const struct dw_cli_command *command = args->command;
    size_t least = (size_t)command->least;
    bool too_many = command->most >= 0 && args->n_operands > (size_t)command->most;
    if (args->n_operands >= least && !too_many)
        return true;
    if (too_many)
        dw_cli__complain("%s: one operand too many: %s; usage: dropwise %s %s", args->path,
                         args->operands[command->most], args->path, command->operands);
    else
        dw_cli__complain("%s wants more; usage: dropwise %s %s", args->path, args->path,
                         command->operands);
    return false;
}

static bool is_output(const struct dw_cli_given *given)
{
    const char *name = given->option.name;
    return given->value && strcmp(given->value, "-") != 0 &&
           (strcmp(name, "output") == 0 || strcmp(name, "sheet") == 0 ||
            strcmp(name, "table") == 0);
}

bool dw_cli__writes_over(const struct dw_cli_args *args, const char *path)
{
    for (size_t i = 0; i < args->n_given; i++) {
        const struct dw_cli_given *given = &args->given[i];
        if (!is_output(given) || !dw_file__same(given->value, path))
            continue;
        dw_cli__complain("--%s %s: that is the file that is read; name another", given->option.name,
                         given->value);
        return true;
    }
    return false;
}

/* No two outputs go to one file. */
static bool check_apart(const struct dw_cli_args *args)
{
    for (size_t i = 0; i < args->n_given; i++)
        for (size_t k = 0; k < i && is_output(&args->given[i]); k++) {
            if (!is_output(&args->given[k]) ||
                !dw_file__same(args->given[k].value, args->given[i].value))
                continue;
            dw_cli__complain("--%s %s: that file is named twice", args->given[i].option.name,
                             args->given[i].value);
            return false;
        }
    return true;
}

/* A file that is read is not written over, whatever --replace says. */
static bool check_outputs(const struct dw_cli_args *args)
{
    static const char *const read[] = {"like", "shelf", "rest-of"};
    for (size_t k = 0; k < args->n_operands; k++)
        if (dw_cli__writes_over(args, args->operands[k]))
            return false;
    for (size_t k = 0; k < DW_COUNT(read); k++)
        if (dw_cli__has(args, read[k]) && dw_cli__writes_over(args, dw_cli__value(args, read[k])))
            return false;
    return check_apart(args);
}

enum dw_cli_status dw_cli__args_read(const struct dw_cli_command *program,
                                     const struct dw_cli_command *command, const char *path,
                                     size_t n, char **argv, struct dw_cli_args *args)
{
    *args = (struct dw_cli_args){.program = program, .command = command, .path = path};
    /* Short options share a word, but each takes at least one character of it. */
    size_t letters = 1;
    for (size_t i = 0; i < n; i++)
        letters += strlen(argv[i]);
    args->operands = calloc(n + 1, sizeof *args->operands);
    args->given = calloc(letters + n, sizeof *args->given);
    if (!args->operands || !args->given) {
        dw_cli__complain("out of memory");
        return DW_CLI_FAILED;
    }
    return read_words(args, n, argv) && check_operands(args) && check_outputs(args)
               ? DW_CLI_DONE
               : DW_CLI_REFUSED;
}

void dw_cli__args_free(struct dw_cli_args *args)
{
    free(args->operands);
    free(args->given);
    free(args->usual.text);
    *args = (struct dw_cli_args){0};
}
