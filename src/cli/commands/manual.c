/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The manual pages, made from the table of commands: one of the program, one of each command. */
#include "cli/commands/manual.h"

#include <dropwise/version.h>

#include <ctype.h>
#include <string.h>

#define FOLD 72 /* columns of the source of a page */

/* X(name, text): every variable that the program reads. */
#define ENVIRONMENT_LIST(X)                                                                        \
    X("DROPWISE_SHELF", "The shelf's file, where \\-\\-shelf does not name one.")                  \
    X("XDG_CONFIG_HOME\\fR, \\fBXDG_CONFIG_DIRS",                                                  \
      "Folders of the file of settings; otherwise ~/.config, then /etc/xdg.")                      \
    X("XDG_DATA_HOME", "Folder of the shelf's file; otherwise ~/.local/share.")                    \
    X("HOME", "What ~ means here.")                                                                \
    X("LOGNAME\\fR, \\fBUSER", "Who did a step on the shelf, where \\-\\-who does not say it.")    \
    X("COLUMNS", "The width to print in, where \\-\\-width does not say it.")                      \
    X("NO_COLOR", "When set and not empty, no colour is used.")                                    \
    X("SOURCE_DATE_EPOCH", "What counts as now on papers, so that one can be made again.")         \
    X("TERM", "The terminal; a dumb one gets no colour.")                                          \
    X("LC_ALL\\fR, \\fBLC_CTYPE\\fR, \\fBLANG",                                                    \
      "The character set; outside UTF\\-8 the output is plain ASCII.")                             \
    X("NOTIFY_SOCKET", "Set by a service manager: serve tells it when the page can be opened.")

#define FILES_LIST(X)                                                                              \
    X("~/.local/share/dropwise/shelf.db", "The shelf, with the jobs and plans of the page.")       \
    X("~/.config/dropwise/settings\\fR, \\fB/etc/xdg/dropwise/settings",                           \
      "What holds for all commands that have such an option; the first file that there is "        \
      "counts.")

/* Text for troff, folded: a backslash, a dash and a point or quote at the start of a line keep
 * their plain meaning, an empty line begins a paragraph. */
static void put_troff(struct dw_buf *out, const char *text)
{
    size_t column = 0;
    for (; *text; text++) {
        if (strncmp(text, "\n\n", 2) == 0) {
            dw_buf__put(out, "\n.PP\n");
            column = 0;
            text++;
            continue;
        }
        bool gap = *text == ' ' || *text == '\n';
        if (gap && column > FOLD - 1 - strcspn(text + 1, " \n")) {
            dw_buf__char(out, '\n');
            column = 0;
            continue;
        }
        if (column == 0 && (*text == '.' || *text == '\''))
            dw_buf__put(out, "\\&");
        if (*text == '\\')
            dw_buf__put(out, "\\e");
        else if (*text == '-')
            dw_buf__put(out, "\\-");
        else
            dw_buf__char(out, gap ? ' ' : *text);
        column++;
    }
}

static void put_upper(struct dw_buf *out, const char *text)
{
    for (; *text; text++)
        dw_buf__char(out, (char)toupper((unsigned char)*text));
}

static void put_head(struct dw_buf *out, const char *name, const char *summary)
{
    dw_buf__put(out, ".TH DROPWISE");
    dw_buf__put(out, *name ? "\\-" : "");
    put_upper(out, name);
    dw_buf__put(out, " 1 " DW_VERSION_DATE " \"dropwise " DW_VERSION "\" \"User Commands\"\n"
                     ".SH NAME\ndropwise");
    dw_buf__put(out, *name ? "\\-" : "");
    dw_buf__format(out, "%s \\- ", name);
    put_troff(out, summary);
    dw_buf__char(out, '\n');
}

/* --- one command ------------------------------------------------------------------------------ */

static void put_usage(struct dw_buf *out, const struct dw_cli_command *command, const char *path)
{
    struct dw_cli_option option = {0};
    dw_buf__format(out, ".B dropwise %s\n", path);
    if (dw_cli__option(command, 0, &option))
        dw_buf__put(out, "[\\fIOPTIONS\\fR]\n");
    if (command->n_parts > 0)
        dw_buf__put(out, ".I COMMAND\n\\&...\n");
    else if (*command->operands) {
        dw_buf__put(out, ".I ");
        put_troff(out, command->operands);
        dw_buf__char(out, '\n');
    }
}

static void put_options(struct dw_buf *out, const struct dw_cli_command *command)
{
    struct dw_cli_option option = {0};
    for (size_t i = 0; dw_cli__option(command, i, &option); i++) {
        struct dw_buf text = {0};
        dw_buf__put(&text, option.help);
        if (option.choices)
            dw_buf__format(&text, " (%s)", option.choices);
        dw_buf__put(out, ".TP\n\\fB");
        if (option.letter)
            dw_buf__format(out, "\\-%c\\fR, \\fB", option.letter);
        dw_buf__put(out, "\\-\\-");
        put_troff(out, option.name);
        dw_buf__put(out, "\\fR");
        if (option.value)
            dw_buf__format(out, " \\fI%s\\fR", option.value);
        dw_buf__char(out, '\n');
        put_troff(out, text.n ? text.text : "");
        dw_buf__put(out, ".\n");
        dw_buf__free(&text);
    }
}

/* A part of a command: `dropwise shelf add`. */
static void put_part(struct dw_buf *out, const struct dw_cli_command *command,
                     const struct dw_cli_command *part)
{
    dw_buf__format(out, ".SS %s %s", command->name, part->name);
    if (*part->operands)
        dw_buf__char(out, ' ');
    put_troff(out, part->operands);
    dw_buf__char(out, '\n');
    put_troff(out, part->about);
    dw_buf__char(out, '\n');
    put_options(out, part);
}

static void put_examples(struct dw_buf *out, const char *topic)
{
    const struct dw_cli_example *example = NULL;
    bool first = true;
    for (size_t i = 0; (example = dw_cli__example(i)) != NULL; i++) {
        if (topic && strcmp(example->command, topic) != 0)
            continue;
        if (first)
            dw_buf__put(out, ".SH EXAMPLES\n");
        first = false;
        dw_buf__put(out, ".TP\n.B ");
        const char *line = example->line;
        for (; *line; line++)
            dw_buf__format(out, *line == '-' ? "\\-" : *line == '\'' ? "\\(aq" : "%c", *line);
        dw_buf__char(out, '\n');
        put_troff(out, example->what);
        dw_buf__put(out, ".\n");
    }
}

static void put_command(struct dw_buf *out, const struct dw_cli_command *command)
{
    struct dw_cli_option option = {0};
    put_head(out, command->name, command->summary);
    dw_buf__put(out, ".SH SYNOPSIS\n");
    put_usage(out, command, command->name);
    dw_buf__put(out, ".SH DESCRIPTION\n");
    put_troff(out, command->about);
    dw_buf__char(out, '\n');
    if (dw_cli__option(command, 0, &option))
        dw_buf__put(out, ".SH OPTIONS\n");
    put_options(out, command);
    if (command->n_parts > 0)
        dw_buf__put(out, ".SH COMMANDS\n");
    for (size_t i = 0; i < command->n_parts; i++)
        put_part(out, command, command->parts[i]);
    put_examples(out, command->name);
    dw_buf__put(out, ".SH SEE ALSO\n.BR dropwise (1),\n.BR dropwise\\-job (5)\n");
}

/* --- the program ------------------------------------------------------------------------------ */

static void put_pairs(struct dw_buf *out)
{
    dw_buf__put(out, ".SH EXIT STATUS\n");
#define STATUS_LINE(number, text) dw_buf__put(out, ".TP\n.B " #number "\n" text "\n");
    DW_CLI_STATUS_LIST(STATUS_LINE)
#undef STATUS_LINE
#define PAIR(name, text) dw_buf__put(out, ".TP\n\\fB" name "\\fR\n" text "\n");
    dw_buf__put(out, ".SH ENVIRONMENT\n");
    ENVIRONMENT_LIST(PAIR)
    dw_buf__put(out, ".SH FILES\n");
    FILES_LIST(PAIR)
#undef PAIR
    dw_buf__put(out, ".IP\nIts lines are\n.IR \"key\" \" = \" \"value\" ;\n"
                     "one that begins with # is a remark. Keys are " DW_CLI_USUAL_WORDS ".\n"
                     "What is given with a command goes before; DROPWISE_SHELF does too.\n");
}

static void put_program(struct dw_buf *out, const struct dw_cli_command *program)
{
    put_head(out, "", "plan the cutting of tube from bars and offcuts");
    dw_buf__put(out, ".SH SYNOPSIS\n.B dropwise\n.I COMMAND\n[\\fIOPTIONS\\fR] [\\fIOPERANDS\\fR]\n"
                     ".SH DESCRIPTION\n");
    put_troff(out, "Finds the cheapest way to cut a list of parts from the bars that a supplier "
                   "sells and the offcuts that lie on the shelf, proves how good that is, and "
                   "prints what to take, what to buy and where to saw.\n\n"
                   "Each command has a page of its own; a job file is described in "
                   "dropwise-job(5).");
    dw_buf__put(out, "\n.SH COMMANDS\n");
    for (size_t i = 0; i < program->n_parts; i++) {
        dw_buf__format(out, ".TP\n.BR dropwise\\-%s (1)\n", program->parts[i]->name);
        put_troff(out, program->parts[i]->summary);
        dw_buf__put(out, ".\n");
    }
    put_pairs(out);
    dw_buf__put(out, ".SH EXAMPLES\n.TP\n.B dropwise check rack.yaml\nRead a job back.\n"
                     ".TP\n.B dropwise plan rack.yaml \\-\\-output rack.json\n"
                     "Plan it, and keep the plan.\n"
                     ".TP\n.B dropwise serve\nDo all of it in a browser.\n"
                     ".SH CAUTIONS\n");
    put_troff(out,
              "The program works out lengths; it does not see the saw, the tube or what hangs "
              "on it. Measure the first piece of a length before the rest is cut. What carries "
              "people or hangs over them is for local codes and a licensed professional.");
    dw_buf__put(out, "\n.SH SEE ALSO\n.BR dropwise\\-job (5)\n");
}

void dw_cli__manual(struct dw_buf *out, const struct dw_cli_command *program,
                    const struct dw_cli_command *command)
{
    if (command)
        put_command(out, command);
    else
        put_program(out, program);
}
