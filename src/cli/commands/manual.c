/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The manual page, words for completion and the form of an option, from the table of commands. */
#include "cli/commands/manual.h"

#include <dropwise/dropwise.h>
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

/* --- the manual page
 * ------------------------------------------------------------------------------- */

/* Text for troff: a backslash, a dash and a leading point or quote keep their plain meaning. */
static void put_troff(struct dw_buf *out, const char *text)
{
    for (bool start = true; *text; text++) {
        if (start && (*text == '.' || *text == '\''))
            dw_buf__put(out, "\\&");
        start = *text == '\n';
        if (*text == '\\')
            dw_buf__put(out, "\\e");
        else if (*text == '-')
            dw_buf__put(out, "\\-");
        else if (strncmp(text, "\n\n", 2) == 0)
            dw_buf__put(out, "\n.PP");
        else
            dw_buf__char(out, *text);
    }
}

static void put_manual_options(struct dw_buf *out, const struct dw_cli_command *command)
{
    struct dw_cli_option option = {0};
    for (size_t i = 0; dw_cli__option(command, i, &option); i++) {
        struct dw_buf form = {0};
        dw_cli__option_form(&form, &option);
        dw_buf__put(out, ".TP\n.B ");
        put_troff(out, form.n ? form.text : "");
        dw_buf__char(out, '\n');
        put_troff(out, option.help);
        if (option.choices)
            dw_buf__format(out, " (%s)", option.choices);
        dw_buf__put(out, ".\n");
        dw_buf__free(&form);
    }
}

static void put_manual_command(struct dw_buf *out, const struct dw_cli_command *command,
                               const char *before)
{
    dw_buf__put(out, ".SS ");
    if (*before)
        dw_buf__format(out, "%s ", before);
    put_troff(out, command->name);
    if (*command->operands)
        dw_buf__char(out, ' ');
    put_troff(out, command->operands);
    dw_buf__char(out, '\n');
    put_troff(out, command->about);
    dw_buf__char(out, '\n');
    put_manual_options(out, command);
    for (size_t i = 0; i < command->n_parts; i++)
        put_manual_command(out, command->parts[i], command->name);
}

static void put_manual_statuses(struct dw_buf *out)
{
#define STATUS_LINE(number, text) dw_buf__format(out, ".TP\n.B %d\n%s\n", number, text);
    DW_CLI_STATUS_LIST(STATUS_LINE)
#undef STATUS_LINE
}

void dw_cli__manual(struct dw_buf *out, const struct dw_cli_command *program)
{
    dw_buf__put(out, ".TH DROPWISE 1 \"\" \"dropwise " DW_VERSION "\" \"User Commands\"\n"
                     ".SH NAME\ndropwise \\- plan the cutting of tube from bars and offcuts\n"
                     ".SH SYNOPSIS\n.B dropwise\n.I COMMAND\n[\\fIOPTIONS\\fR] [\\fIOPERANDS\\fR]\n"
                     ".SH DESCRIPTION\n"
                     "Finds the cheapest way to cut a list of parts from the bars that a supplier "
                     "sells and the offcuts that lie on the shelf, proves how good that is, and "
                     "prints what to take, what to buy and where to saw.\n"
                     ".SH COMMANDS\n");
    for (size_t i = 0; i < program->n_parts; i++)
        put_manual_command(out, program->parts[i], "");
    dw_buf__put(out, ".SH EXIT STATUS\n");
    put_manual_statuses(out);
    dw_buf__put(out, ".SH ENVIRONMENT\n"
                     ".TP\n.B NO_COLOR\nWhen set and not empty, no colour is used.\n"
                     ".TP\n.B COLUMNS\nThe width to print in.\n"
                     ".TP\n.B LC_ALL\\fR, \\fBLC_CTYPE\\fR, \\fBLANG\nThe character set; outside "
                     "UTF\\-8 the output is plain ASCII.\n");
}
