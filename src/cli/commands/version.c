/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise version: what this is, and under which terms. */
#include "cli/cli.h"

#include <dropwise/dropwise.h>
#include <string.h>

static enum dw_cli_status run(const struct dw_cli_args *args)
{
    (void)args;
    static const char text[] =
        "dropwise " DW_VERSION "\n"
        "Copyright Dropwise contributors. Licence: GPL-3.0-or-later.\n"
        "No warranty, as far as the law permits: check a plan before you cut.\n";
    return dw_cli__write(text, strlen(text));
}

const struct dw_cli_command dw_cli__cmd_version = {
    .name = "version",
    .operands = "",
    .summary = "print the version and the licence",
    .about =
        "Prints the name and version of the program, its licence, and that it has no warranty.",
    .run = run,
};
