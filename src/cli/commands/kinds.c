/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is kept of the columns of lists, in the shop's folder beside the shelf. */
#include "cli/commands/kinds.h"
#include "cli/shelf/shelf.h"

#include "job/list_kinds.h"

#include <stdlib.h>

#define FILE_NAME "lists"

/* Writes what is kept anew and tells it, if that changes it. */
static void change(const struct dw_list_source *source, const struct dw_list *list,
                   const char *told)
{
    struct dw_error error = {0};
    bool changed = false;
    char *path = dw_cli__shop_path(FILE_NAME, list != NULL);
    if (path && dw_list_kinds__keep(path, source, list, &changed, &error) != DW_OK)
        dw_cli__say_error(&error);
    if (changed)
        dw_cli__complain("%s", told);
    free(path);
}

const char *dw_cli__columns(const struct dw_cli_args *args, const struct dw_list_source *source,
                            char **own)
{
    struct dw_error error = {0};
    *own = NULL;
    if (dw_cli__has(args, "forget"))
        change(source, NULL, "columns forgotten that were kept for lists with these headings");
    if (dw_cli__has(args, "columns") || dw_cli__has(args, "forget"))
        return dw_cli__value(args, "columns");
    char *path = dw_cli__shop_path(FILE_NAME, false);
    if (path && dw_list_kinds__recall(path, source, own, &error) != DW_OK)
        dw_cli__say_error(&error);
    free(path);
    if (*own)
        dw_cli__complain(
            "columns %s, as was said of a list with these headings; --forget takes that "
            "back",
            *own);
    return *own;
}

void dw_cli__columns_keep(const struct dw_cli_args *args, const struct dw_list_source *source,
                          const struct dw_list *list)
{
    struct dw_list_source said = *source;
    said.columns = dw_cli__value(args, "columns");
    if (said.columns && !dw_cli__has(args, "forget"))
        change(&said, list, "columns kept for lists with these headings");
}
