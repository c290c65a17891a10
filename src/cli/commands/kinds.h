/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Columns that were said once for a kind of list, for the commands that read lists. */
#ifndef DW_CLI_COMMANDS_KINDS_H
#define DW_CLI_COMMANDS_KINDS_H

#include "cli/cli.h"

#include <dropwise/list.h>

#define DW_CLI_LIST_BYTES ((size_t)64 * 1024 * 1024)

#define DW_CLI_COLUMNS_OPTIONS                                                                     \
    {"columns", 'c', "WHICH", NULL,                                                                \
     "which columns are which, by letter or heading: label=B,length=D,count=E; kept for lists "    \
     "with the same headings"},                                                                    \
    {                                                                                              \
        "forget", 0, NULL, NULL, "take columns by their headings again, and forget what is kept"   \
    }

/* The columns of --columns, or those that are kept for such lists, which is told; with --forget
 * those are forgotten. *own is to be freed. What is kept is a convenience: that it can't be read is
 * told, and no failure. */
const char *dw_cli__columns(const struct dw_cli_args *args, const struct dw_list_source *source,
                            char **own);
/* Keeps --columns for lists like this one, which was read, or forgets with --forget, and tells it.
 */
void dw_cli__columns_keep(const struct dw_cli_args *args, const struct dw_list_source *source,
                          const struct dw_list *list);

#endif
