/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/cli.h"

#include <dropwise/dropwise.h>
#include <string.h>

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    (void)args;
    static const char text[] = "dropwise " DW_VERSION "\n";
    return dw_cli__write(text, strlen(text));
}

const struct dw_cli_command dw_cli__cmd_version = {
    .name = "version",
    .operands = "",
    .summary = "print the version",
    .about = "Prints the name and version of the program.",
    .run = run,
};
