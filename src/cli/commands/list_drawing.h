/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dropwise list of a drawing. */
#ifndef DW_CLI_COMMANDS_LIST_DRAWING_H
#define DW_CLI_COMMANDS_LIST_DRAWING_H

#include "cli/terminal/page.h"

/* Lists text[0..n), a drawing called `name`, as the command's options say; frees neither text nor
 * page. */
enum dw_cli_status dw_cli__list_drawing(const struct dw_cli_args *args, struct dw_cli_page *page,
                                        const char *name, const char *text, size_t n);

#endif
