/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise COMMAND [PART] [OPTIONS] [OPERANDS]: the table of commands, and which of them runs. */
#include "cli/cli.h"

#include <locale.h>
#include <string.h>

static const struct dw_cli_command *const commands[] = {
#define DW_CLI_COMMAND_ROW(name) &dw_cli__cmd_##name,
    DW_CLI_COMMAND_LIST(DW_CLI_COMMAND_ROW)
#undef DW_CLI_COMMAND_ROW
};

static const struct dw_cli_command program = {
    .name = "", .n_parts = DW_COUNT(commands), .parts = commands};

static enum dw_cli_status run_help(const char *topic)
{
    const char *operands[] = {topic};
    struct dw_cli_args args = {.program = &program,
                               .command = &dw_cli__cmd_help,
                               .path = dw_cli__cmd_help.name,
                               .n_operands = topic ? 1 : 0,
                               .operands = operands};
    return dw_cli__cmd_help.run(&args);
}

static bool asks_help(size_t n, char **argv)
{
    for (size_t i = 0; i < n && strcmp(argv[i], "--") != 0; i++)
        if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
            return true;
    return false;
}

static enum dw_cli_status refuse_command(const struct dw_cli_command *parent, const char *name)
{
    const char *near = dw_cli__nearest(parent, name);
    const char *under = parent->name;
    const char *gap = *under ? " " : "";
    if (near)
        dw_cli__complain("there is no command %s%s%s; the nearest is %s%s%s", under, gap, name,
                         under, gap, near);
    else
        dw_cli__complain("there is no command %s%s%s; see dropwise help", under, gap, name);
    return DW_CLI_REFUSED;
}

static enum dw_cli_status run_command(const struct dw_cli_command *command, const char *path,
                                      size_t n, char **argv)
{
    if (asks_help(n, argv))
        return run_help(path);
    struct dw_cli_args args = {0};
    enum dw_cli_status status = dw_cli__args_read(&program, command, path, n, argv, &args);
    if (status == DW_CLI_DONE)
        status = dw_cli__usual_read(&args);
    if (status == DW_CLI_DONE)
        status = command->run(&args);
    dw_cli__args_free(&args);
    return status;
}

/* A command with parts of its own: the next word is one of them. */
static enum dw_cli_status run_part(const struct dw_cli_command *command, size_t n, char **argv)
{
    if (n == 0 || argv[0][0] == '-') {
        bool asked = asks_help(n, argv);
        if (!asked)
            dw_cli__complain("%s wants one of its commands; see dropwise help %s", command->name,
                             command->name);
        return asked ? run_help(command->name) : DW_CLI_REFUSED;
    }
    const struct dw_cli_command *part = dw_cli__find(command, argv[0]);
    if (!part)
        return refuse_command(command, argv[0]);
    char path[64];
    snprintf(path, sizeof path, "%s %s", command->name, part->name);
    return run_command(part, path, n - 1, argv + 1);
}

int main(int argc, char **argv)
{
    setlocale(LC_CTYPE, "");
    if (argc < 2) {
        (void)run_help(NULL);
        return DW_CLI_REFUSED;
    }
    const char *name = argv[1];
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0)
        return (int)run_help(argc > 2 ? argv[2] : NULL);
    if (strcmp(name, "--version") == 0 || strcmp(name, "-V") == 0)
        name = "version";
    const struct dw_cli_command *command = dw_cli__find(&program, name);
    if (!command)
        return (int)refuse_command(&program, name);
    size_t n = (size_t)argc - 2;
    if (command->n_parts > 0)
        return (int)run_part(command, n, argv + 2);
    return (int)run_command(command, command->name, n, argv + 2);
}
