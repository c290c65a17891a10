/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words for completion and the form of an option, from the table of commands. */
#include "cli/commands/manual.h"

#include <string.h>

const struct dw_cli_command *dw_cli__topic(const struct dw_cli_command *program, const char *path)
{
    char first[64] = {0};
    size_t n = strcspn(path, " ");
    if (n >= sizeof first)
        return NULL;
    memcpy(first, path, n);
    const struct dw_cli_command *command = dw_cli__find(program, first);
    return command && path[n] == ' ' ? dw_cli__find(command, path + n + 1) : command;
}

void dw_cli__option_form(struct dw_buf *out, const struct dw_cli_option *option)
{
    if (option->letter)
        dw_buf__format(out, "-%c, ", option->letter);
    dw_buf__format(out, "--%s", option->name);
    if (option->value)
        dw_buf__format(out, " %s", option->value);
}

/* --- words for completion ------------------------------------------------------------------------
 */

static void put_word(struct dw_buf *out, const char *word, size_t n, const char *what)
{
    dw_buf__add(out, word, n);
    dw_buf__format(out, "\t%s\n", what);
}

static void put_choices(struct dw_buf *out, const struct dw_cli_option *option)
{
    const char *at = option->choices ? option->choices : "";
    while (*at) {
        size_t n = strcspn(at, " ");
        put_word(out, at, n, option->value ? option->value : "");
        at += n;
        at += strspn(at, " ");
    }
}

void dw_cli__words(struct dw_buf *out, const struct dw_cli_command *program, const char *topic,
                   const char *option_name)
{
    struct dw_cli_option option = {0};
    const struct dw_cli_command *command = topic ? dw_cli__topic(program, topic) : NULL;
    for (size_t i = 0; !topic && i < program->n_parts; i++) {
        command = program->parts[i];
        put_word(out, command->name, strlen(command->name), command->summary);
    }
    if (!topic || !command)
        return;
    for (size_t i = 0; !option_name && i < command->n_parts; i++)
        put_word(out, command->parts[i]->name, strlen(command->parts[i]->name),
                 command->parts[i]->summary);
    for (size_t i = 0; dw_cli__option(command, i, &option); i++) {
        if (option_name && strcmp(option_name, option.name) == 0)
            put_choices(out, &option);
        if (!option_name)
            dw_buf__format(out, "--%s\t%s\n", option.name, option.help);
    }
}
